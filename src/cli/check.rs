//! `check`: lay the job out, judge it, write nothing.

use crate::project;
use crate::report::{self, check};

use super::args::{CheckArgs, Format};
use super::{Outcome, Status, remarks};

pub(super) fn run(args: &CheckArgs, colour: bool) -> Outcome {
    let project = match project::open_variant(&args.job.job, args.job.variant.as_deref()) {
        Ok(p) => p,
        Err(failure) => return Outcome::bad_input(&failure, colour),
    };
    let holds = check::Tally::of(&project.findings).releasable();
    Outcome {
        results: match args.job.format {
            Format::Text => check::text(&project, args.all),
            Format::Json => report::json_text(&check::json(&project)),
        },
        remarks: remarks(&project.diags, project.sources(), colour),
        status: if holds { Status::Holds } else { Status::Fails },
    }
}
