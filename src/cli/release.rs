//! `release`: check, then write the shop package whole or not at all.

use std::path::Path;

use crate::export::{Existing, ExportError, ShopFile, Written, dxf, read_set, step, write_set};
use crate::manifest::{Difference, Manifest};
use crate::package::{self, Formats};
use crate::project;
use crate::report::paint::Paint;
use crate::report::{self, check};

use super::args::{DxfVersion, Format, ReleaseArgs, StepProtocol};
use super::{Outcome, Status, opened, remarks, variants_of};

pub(super) fn run(args: &ReleaseArgs, colour: bool, paint: Paint, terminal: bool) -> Outcome {
    let project = match opened(&args.job, args.no_strength, terminal) {
        Ok(p) => p,
        Err(failure) => return Outcome::bad_input(&failure, colour),
    };
    let mut remarks = remarks(&project.diags, project.sources(), colour);
    let tally = check::Tally::of(&project.findings);
    if !tally.releasable() {
        remarks.push_str(
            "not released: a rule fails. Mend it, or list it in the job under [[deviation]] with \
             the reason.\n",
        );
        return Outcome {
            results: match args.job.format {
                Format::Text => check::text(&project, false, paint),
                Format::Json => report::json_text(&check::json(&project)),
            },
            remarks,
            status: Status::Fails,
        };
    }
    let formats = Formats {
        dxf: match args.dxf {
            DxfVersion::R2000 => dxf::Version::R2000,
            DxfVersion::R12 => dxf::Version::R12,
        },
        step: match args.step {
            StepProtocol::Ap242 => step::Schema::Ap242,
            StepProtocol::Ap214 => step::Schema::Ap214,
        },
    };
    let files = match package::files(
        &project,
        variants_of(&args.job.job, &project).as_ref(),
        formats,
    ) {
        Ok(f) => f,
        Err(e) => {
            let mut outcome = Outcome::complaint(
                format!("the package cannot be made, nothing was written: {e}"),
                Status::CannotWrite,
            );
            outcome.remarks.insert_str(0, &remarks);
            return outcome;
        }
    };
    let folder = args.out.join(project.package_name());
    let existing = if args.force {
        Existing::Replace
    } else {
        Existing::Keep
    };
    let written = match write_set(&folder, &files, existing) {
        Ok(w) => w,
        Err(e) => {
            let differs = matches!(e, ExportError::TargetDiffers { .. });
            let difference = if differs {
                since_release(&folder, &files)
            } else {
                None
            };
            if difference.as_ref().is_some_and(Difference::is_none) {
                Written::Unchanged
            } else {
                let mut outcome = Outcome::complaint(&e, Status::CannotWrite);
                outcome.remarks.insert_str(0, &remarks);
                if let Some(d) = difference {
                    outcome.remarks.push_str(&d.text());
                }
                if differs {
                    outcome.remarks.push_str(
                        "this revision was released with other content: give the job a new \
                         revision, or replace it with --force\n",
                    );
                }
                return outcome;
            }
        }
    };
    Outcome {
        results: match args.job.format {
            Format::Text => text(&project, &folder, &files, written),
            Format::Json => report::json_text(&serde_json::json!({
                "job": project.loaded.job.name,
                "revision": project.loaded.job.revision,
                "folder": folder.display().to_string(),
                "files": files.iter().map(|f| f.name.as_str()).collect::<Vec<_>>(),
                "tally": tally,
            })),
        },
        remarks,
        status: Status::Holds,
    }
}

/// What is different from the package that stands in `folder`; none where that is no released package.
fn since_release(folder: &Path, files: &[ShopFile]) -> Option<Difference> {
    let there = read_set(folder).ok()?;
    let (old, new) = (Manifest::read(&there).ok()?, Manifest::read(files).ok()?);
    Some(Difference::between((&old, &there), (&new, files)))
}

fn text(project: &project::Project, folder: &Path, files: &[ShopFile], written: Written) -> String {
    use std::fmt::Write as _;
    let job = &project.loaded.job;
    let tally = check::Tally::of(&project.findings);
    let mut out = String::new();
    let _ = writeln!(
        out,
        "{}, revision {}: {}",
        job.name,
        job.revision,
        check::sentence(tally)
    );
    let _ = writeln!(
        out,
        "{} {} files in {}",
        match written {
            Written::Created => "wrote",
            Written::Unchanged => "unchanged:",
            Written::Replaced => "replaced",
        },
        files.len(),
        folder.display()
    );
    for f in files {
        let _ = writeln!(out, "  {}", f.name);
    }
    out
}
