//! The command line: one file per command; each answers an [`Outcome`] and prints nothing itself.

mod adapt;
pub mod args;
mod check;
mod compare;
mod drive;
mod explain;
mod fit;
mod measure;
mod new;
mod progress;
mod release;
mod schema;
mod shim;

use std::path::Path;
use std::process::ExitCode;

use clap::CommandFactory as _;
use rayon::prelude::*;

use crate::diag::{Diag, Sources, render};
use crate::package::Variants;
use crate::params::{self, Failure};
use crate::project::{self, Project, variants::Fleet};
use crate::report::fit::Matrix;
use crate::report::paint::Paint;
use crate::strength::Silent;

use args::{Cli, ColorWhen, Command, JobArgs};

/// What a command has to say and how it ends.
#[derive(Debug, Default)]
pub struct Outcome {
    /// Results, for standard output.
    pub results: String,
    /// Everything else, for standard error.
    pub remarks: String,
    /// Exit status.
    pub status: Status,
}

/// Exit status of the program.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Status {
    /// Every rule holds.
    #[default]
    Holds,
    /// A rule fails.
    Fails,
    /// The input cannot be used.
    BadInput,
    /// A file cannot be written.
    CannotWrite,
}

impl Status {
    /// The status as the shell sees it: 0, 1, 2 or 3.
    #[must_use]
    pub const fn code(self) -> u8 {
        match self {
            Self::Holds => 0,
            Self::Fails => 1,
            Self::BadInput => 2,
            Self::CannotWrite => 3,
        }
    }
}

impl From<Status> for ExitCode {
    fn from(status: Status) -> Self {
        Self::from(status.code())
    }
}

impl Outcome {
    /// Input that cannot be used: every finding with its place.
    fn bad_input(failure: &Failure, colour: bool) -> Self {
        Self {
            remarks: remarks(&failure.findings, &failure.sources, colour),
            status: Status::BadInput,
            ..Self::default()
        }
    }

    /// A plain complaint with a status.
    fn complaint(text: impl std::fmt::Display, status: Status) -> Self {
        Self {
            remarks: format!("error: {text}\n"),
            status,
            ..Self::default()
        }
    }
}

/// Opens a job with or without strength; the bar shows on a `terminal` only.
fn opened(job: &JobArgs, no_strength: bool, terminal: bool) -> Result<Project, Failure> {
    let variant = job.variant.as_deref();
    if no_strength {
        return project::open_variant(&job.job, variant, None);
    }
    match progress::Bar::new(terminal) {
        Some(mut bar) => project::open_variant(&job.job, variant, Some(&mut bar)),
        None => project::open_variant(&job.job, variant, Some(&mut Silent)),
    }
}

/// What a package of `project` holds of the job's other variants; none for a job without.
fn variants_of(job: &Path, project: &Project) -> Option<Variants> {
    // A project holds one variant's view; the fleet starts from the files again.
    let loaded = params::open(job, &project::disk()).ok()?;
    if loaded.job.variants.is_empty() {
        return None;
    }
    let fleet = Fleet::of(loaded);
    let outcomes = fleet.judge_all(&|| {});
    let matrix = Matrix::of(&fleet, &outcomes);
    let others: Vec<(Vec<String>, Result<Project, Failure>)> = fleet
        .alike()
        .into_par_iter()
        .map(|places| (fleet.names(&places), places))
        .filter(|(names, _)| *names != project.alike)
        .filter_map(|(names, places)| Some((names, fleet.project(*places.first()?, None))))
        .collect();
    let mut variants = Variants {
        matrix,
        others: Vec::new(),
        faulty: Vec::new(),
    };
    for (names, built) in others {
        match built {
            Ok(p) => variants.others.push(p),
            Err(_) => variants.faulty.extend(names),
        }
    }
    Some(variants)
}

/// Findings as text, with a tally.
fn remarks(diags: &[Diag], sources: &Sources, colour: bool) -> String {
    if diags.is_empty() {
        return String::new();
    }
    let mut text = render::text(diags, sources, colour);
    text.push_str(&render::tally(diags));
    text.push('\n');
    text
}

/// Which streams somebody looks at.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Terminals {
    /// Whether standard output is a terminal.
    pub out: bool,
    /// Whether standard error is a terminal.
    pub err: bool,
}

/// Runs a command.
#[must_use]
pub fn run(cli: &Cli, terminals: Terminals) -> Outcome {
    let wanted = std::env::var_os("NO_COLOR").is_none_or(|v| v.is_empty());
    let shown = |terminal: bool| match cli.color {
        ColorWhen::Always => true,
        ColorWhen::Never => false,
        ColorWhen::Auto => terminal && wanted,
    };
    let (colour, paint) = (shown(terminals.err), Paint::new(shown(terminals.out)));
    let terminal = terminals.err;
    match &cli.command {
        Command::New(a) => new::run(a),
        Command::Check(a) => check::run(a, colour, paint, terminal),
        Command::Release(a) => release::run(a, colour, paint, terminal),
        Command::Drive(a) => drive::run(a, colour),
        Command::Adapt(a) => adapt::run(a, colour),
        Command::Fit(a) => fit::run(a, colour, terminal),
        Command::Compare(a) => compare::run(a, colour, terminal),
        Command::Measure(a) => measure::run(a, colour),
        Command::Shim(a) => shim::run(a, colour),
        Command::Schema(a) => schema::run(a),
        Command::Explain(a) => explain::run(a),
        Command::Completions { shell } => {
            let mut bytes = Vec::new();
            clap_complete::generate(*shell, &mut Cli::command(), "platewright", &mut bytes);
            printed(&bytes)
        }
        Command::Man => {
            let mut bytes = Vec::new();
            match clap_mangen::Man::new(Cli::command()).render(&mut bytes) {
                Ok(()) => printed(&bytes),
                Err(e) => Outcome::complaint(e, Status::CannotWrite),
            }
        }
    }
}

fn printed(bytes: &[u8]) -> Outcome {
    Outcome {
        results: String::from_utf8_lossy(bytes).into_owned(),
        ..Outcome::default()
    }
}
