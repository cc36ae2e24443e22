//! `check`: lay the job out, judge it, write nothing.

use crate::report::paint::Paint;
use crate::report::{self, check};

use super::args::{CheckArgs, Format};
use super::{Outcome, Status, opened, remarks};

pub(super) fn run(args: &CheckArgs, colour: bool, paint: Paint, terminal: bool) -> Outcome {
    let project = match opened(&args.job, args.no_strength, terminal) {
        Ok(p) => p,
        Err(failure) => return Outcome::bad_input(&failure, colour),
    };
    let holds = check::Tally::of(&project.findings).releasable();
    Outcome {
        results: match args.job.format {
            Format::Text => check::text(&project, args.all, paint),
            Format::Json => report::json_text(&check::json(&project)),
        },
        remarks: remarks(&project.diags, project.sources(), colour),
        status: if holds { Status::Holds } else { Status::Fails },
    }
}
