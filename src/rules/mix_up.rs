//! H311: a plate that can be bolted on wrongly says which way it goes on.

use std::fmt::Write as _;

use crate::mixup;

use super::{Bench, Finding, Measured, Rule, Sense};

/// The rule.
pub const RULE: Rule = Rule {
    id: "H311",
    title: "which way up is marked",
    source: "common practice, no source",
    page: "\
## What it checks
Every way a plate's mounting holes also go over bolts they are not made for, within the clearance of
the holes: turned over, turned in its plane, on other bolts of the block, or in another plate's place.
A plate that has such a way carries an engraved mark: its number, which face looks forward, and an
arrow that points up.

## Why
What can be bolted on wrongly will be. The belt then finds it, or the customer.

## Limit and source
No wrong way without a mark (common practice, no source). The ways are found exactly: a rigid motion
that brings every hole's centre within its clearance of a bolt. A slot counts over its whole length.
That the plate would strike something there, or rock on faces of different height, is told beside it
and does not count as safe.

## Bad
    [[process]]
    id = \"jet\"
    engraves = false        # and the plate's two holes fit turned over

## Good
    engraves = true         # the mark is placed by the program, on free metal of the front face
",
    firm_at: None,
    check,
};

/// Most ways told of in one finding.
const TOLD: usize = 3;

fn check(rule: &Rule, bench: &Bench<'_>, out: &mut Vec<Finding>) {
    let made = bench.made;
    let marked = matches!(made.way_up, Some(Ok(_)));
    let ways = made.mixups.len();
    let mut what = if ways == 0 {
        "wrong ways to bolt it on".to_owned()
    } else if marked {
        format!("wrong ways to bolt it on without a mark ({ways} fit, and it is marked)")
    } else {
        format!(
            "wrong ways to bolt it on without a mark: {}",
            mixup::told(&made.mixups, TOLD)
        )
    };
    if let Some(Err(why)) = &made.way_up {
        let _ = write!(what, " ({why})");
    }
    out.push(rule.judge(
        &made.plate.id,
        Measured {
            at: String::new(),
            what,
            measured: if marked { 0.0 } else { ways as f64 },
            limit: 0.0,
            unit: "",
            sense: Sense::AtMost,
            places: Vec::new(),
            mend: Some(
                "have it engraved or stamped, give it room for a mark, or move one hole by more than \
                 twice its clearance so that it fits one way only"
                    .to_owned(),
            ),
            spot: made.spot,
        },
    ));
}
