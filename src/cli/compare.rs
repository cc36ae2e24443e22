//! `compare`: what changed between two jobs or two revisions of one.

use crate::diag::Diag;
use crate::project::{self, Project};
use crate::report::{compare, json_text};

use super::args::{CompareArgs, Format};
use super::{Outcome, Status, remarks};

pub(super) fn run(args: &CompareArgs, colour: bool) -> Outcome {
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
    let said = |p: &Project| -> String {
        let diags: &[Diag] = &p.diags;
        remarks(diags, p.sources(), colour)
    };
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
