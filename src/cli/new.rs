//! `new`: start a job folder from the demo.

use std::fmt::Write as _;

use crate::export::{Existing, ExportError, ShopFile, write_set};
use crate::params::lookup::BUILT_IN;

use super::args::NewArgs;
use super::{Outcome, Status};

/// The demo job a new one starts from.
const STARTER: &str = "jobs/forwarder.toml";

pub(super) fn run(args: &NewArgs) -> Outcome {
    let Some(stem) = args.folder.file_name().and_then(|n| n.to_str()) else {
        return Outcome::complaint(
            format!("`{}` is not a folder name", args.folder.display()),
            Status::BadInput,
        );
    };
    let Some((_, job)) = BUILT_IN.iter().find(|(name, _)| *name == STARTER) else {
        return Outcome::complaint("the program carries no demo job", Status::BadInput);
    };
    // The job stands beside the folders it draws from, so that every file the
    // user may want to change is his own copy.
    let mut files = vec![ShopFile::new(format!("{stem}.toml"), *job)];
    for (name, text) in BUILT_IN {
        if !name.starts_with("jobs/") {
            files.push(ShopFile::new(*name, *text));
        }
    }
    files.sort_by(|a, b| a.name.cmp(&b.name));
    match write_set(&args.folder, &files, Existing::Keep) {
        Ok(_) => {
            let mut results = String::new();
            let _ = writeln!(results, "started {}", args.folder.display());
            for f in &files {
                let _ = writeln!(results, "  {}", f.name);
            }
            let _ = writeln!(
                results,
                "next: platewright check {}",
                args.folder.join(format!("{stem}.toml")).display()
            );
            Outcome {
                results,
                ..Outcome::default()
            }
        }
        Err(e) => {
            let mut outcome = Outcome::complaint(&e, Status::CannotWrite);
            if matches!(e, ExportError::TargetDiffers { .. }) {
                outcome
                    .remarks
                    .push_str("a new job needs a folder of its own: give another name\n");
            }
            outcome
        }
    }
}
