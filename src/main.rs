//! The `platewright` command: reads the command line, runs it, prints what it says.

use std::io::{self, IsTerminal as _, Write};
use std::process::ExitCode;

use clap::Parser as _;
use platewright::cli::{self, Terminals, args::Cli};

fn main() -> ExitCode {
    let cli = Cli::parse();
    let outcome = cli::run(
        &cli,
        Terminals {
            out: io::stdout().is_terminal(),
            err: io::stderr().is_terminal(),
        },
    );
    // A reader that closed its end early has all it wanted: not an error.
    let _ = io::stderr().write_all(outcome.remarks.as_bytes());
    let mut out = io::stdout().lock();
    match out
        .write_all(outcome.results.as_bytes())
        .and_then(|()| out.flush())
    {
        Err(e) if e.kind() != io::ErrorKind::BrokenPipe => {
            let _ = writeln!(io::stderr(), "error: cannot write the result: {e}");
            ExitCode::from(3)
        }
        _ => outcome.status.into(),
    }
}
