//! `drive`: the belt drive alone.

use crate::drive::report;
use crate::export::write_file;
use crate::package::drive_picture;
use crate::project;
use crate::report::json_text;

use super::args::{DriveArgs, Format};
use super::{Outcome, Status, remarks};

pub(super) fn run(args: &DriveArgs, colour: bool) -> Outcome {
    let project = match project::open_variant(&args.job.job, args.job.variant.as_deref(), None) {
        Ok(p) => p,
        Err(failure) => return Outcome::bad_input(&failure, colour),
    };
    let mut remarks = remarks(&project.diags, project.sources(), colour);
    let Some((_, analysis)) = &project.drive else {
        remarks.push_str("error: the job has no [drive]\n");
        return Outcome {
            remarks,
            status: Status::BadInput,
            ..Outcome::default()
        };
    };
    if let Some(path) = &args.picture {
        let svg = drive_picture(&project).map(|p| p.svg).unwrap_or_default();
        if let Err(e) = write_file(path, svg.as_bytes()) {
            return Outcome::complaint(e, Status::CannotWrite);
        }
    }
    let fails = analysis
        .judgements
        .iter()
        .any(|j| !j.holds && j.rule.weight == crate::drive::Weight::Must);
    Outcome {
        results: match args.job.format {
            Format::Text => report::write(analysis),
            // An analysis holds numbers, strings and lists only.
            Format::Json => json_text(&serde_json::to_value(analysis).unwrap_or_default()),
        },
        remarks,
        status: if fails { Status::Fails } else { Status::Holds },
    }
}
