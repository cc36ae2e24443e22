//! `compare`: what changed between two jobs, two released packages, or a package and its job today.

use std::path::Path;

use crate::export::{self, ShopFile};
use crate::manifest::{Difference, Manifest, NAME};
use crate::package::{self, Formats};
use crate::project::{self, Project, variants};
use crate::report::{compare, json_text};

use super::args::{CompareArgs, Format, JobArgs};
use super::{Outcome, Status, opened, remarks, variants_of};

/// A package: its manifest, and its files as they stand.
type Package = (Manifest, Vec<ShopFile>);

pub(super) fn run(args: &CompareArgs, colour: bool, terminal: bool) -> Outcome {
    match (is_package(&args.old), is_package(&args.new)) {
        (false, false) => jobs(args, colour),
        (true, true) => both(args, package(&args.old), package(&args.new)),
        (true, false) => {
            let old = package(&args.old);
            let new = as_package(args, &args.new, old.as_ref().ok(), colour, terminal);
            both(args, old, new)
        }
        (false, true) => {
            let new = package(&args.new);
            let old = as_package(args, &args.old, new.as_ref().ok(), colour, terminal);
            both(args, old, new)
        }
    }
}

/// A folder, or the manifest in it, means the released package.
fn is_package(path: &Path) -> bool {
    path.is_dir() || path.file_name().is_some_and(|n| n == NAME)
}

fn package(path: &Path) -> Result<Package, Outcome> {
    let folder = if path.is_dir() {
        path
    } else {
        match path.parent() {
            Some(p) if !p.as_os_str().is_empty() => p,
            _ => Path::new("."),
        }
    };
    let files = export::read_set(folder).map_err(|e| Outcome::complaint(e, Status::BadInput))?;
    match Manifest::read(&files) {
        Ok(m) => Ok((m, files)),
        Err(e) => Err(Outcome::complaint(
            format!("`{}` cannot be compared: {e}", folder.display()),
            Status::BadInput,
        )),
    }
}

/// What a job would release today, with the choices of the package it is held against.
fn as_package(
    args: &CompareArgs,
    path: &Path,
    like: Option<&Package>,
    colour: bool,
    terminal: bool,
) -> Result<Package, Outcome> {
    let Some((like, _)) = like else {
        // The package's own fault is reported; the job is not worth computing for it.
        return Err(Outcome {
            status: Status::BadInput,
            ..Outcome::default()
        });
    };
    let job = JobArgs {
        job: path.to_path_buf(),
        variant: (like.variant != variants::BASE).then(|| like.variant.clone()),
        format: args.format,
    };
    let project = opened(&job, !like.options.strength, terminal)
        .map_err(|failure| Outcome::bad_input(&failure, colour))?;
    let files = package::files(
        &project,
        variants_of(path, &project).as_ref(),
        Formats::of(&like.options),
    )
    .map_err(|e| {
        Outcome::complaint(
            format!("the job's package cannot be made: {e}"),
            Status::CannotWrite,
        )
    })?;
    match Manifest::read(&files) {
        Ok(m) => Ok((m, files)),
        Err(e) => Err(Outcome::complaint(e, Status::CannotWrite)),
    }
}

/// Two packages against each other; a released file that was altered since counts as a failure.
fn both(
    args: &CompareArgs,
    old: Result<Package, Outcome>,
    new: Result<Package, Outcome>,
) -> Outcome {
    let (old, new) = match (old, new) {
        (Ok(a), Ok(b)) => (a, b),
        (a, b) => {
            // Faults of both sides at once.
            let faults: Vec<Outcome> = [a.err(), b.err()].into_iter().flatten().collect();
            return Outcome {
                remarks: faults.iter().map(|o| o.remarks.as_str()).collect(),
                status: faults.first().map_or(Status::BadInput, |o| o.status),
                ..Outcome::default()
            };
        }
    };
    let d = Difference::between((&old.0, &old.1), (&new.0, &new.1));
    Outcome {
        results: match args.format {
            Format::Text => d.text(),
            // A difference holds strings only.
            Format::Json => json_text(&serde_json::to_value(&d).unwrap_or_default()),
        },
        remarks: String::new(),
        status: if d.altered() {
            Status::Fails
        } else {
            Status::Holds
        },
    }
}

fn jobs(args: &CompareArgs, colour: bool) -> Outcome {
    let (old, new) = match (project::open(&args.old), project::open(&args.new)) {
        (Ok(a), Ok(b)) => (a, b),
        (a, b) => {
            // Faults of both files at once.
            let mut outcome = Outcome {
                status: Status::BadInput,
                ..Outcome::default()
            };
            for failure in [a.err(), b.err()].into_iter().flatten() {
                outcome
                    .remarks
                    .push_str(&Outcome::bad_input(&failure, colour).remarks);
            }
            return outcome;
        }
    };
    let c = compare::compare(&old, &new);
    let said = |p: &Project| remarks(&p.diags, p.sources(), colour);
    Outcome {
        results: match args.format {
            Format::Text => c.text(),
            // A comparison holds strings and finite numbers only.
            Format::Json => json_text(&serde_json::to_value(&c).unwrap_or_default()),
        },
        remarks: said(&old) + &said(&new),
        status: Status::Holds,
    }
}
