//! H304: metal between an opening and the outline.

use super::ligament::least_web_mm;
use super::{Bench, Finding, Measured, Rule, Sense, openings};

/// The rule.
pub const RULE: Rule = Rule {
    id: "H304",
    title: "wall to the outline",
    source: "the shop file's least web for the process (common practice, no source)",
    page: "\
## What it checks
The least metal between every opening, at its widest, and the plate's outline.

## Why
A thin wall burns away under a beam, bends away from a cutter and cracks in service.

## Limit and source
The process's least web from the shop file: the shop's own rule (common practice, no source). Bolt
holes must also keep their edge distance.

## Bad
A 15 mm counterbore in a 20 mm boss: 2.5 mm of wall, 4 mm needed.

## Good
The same counterbore in a 24 mm boss.
",
    check,
};

fn check(rule: &Rule, bench: &Bench<'_>, out: &mut Vec<Finding>) {
    let outline = &bench.made.plate.outline;
    let limit = least_web_mm(bench);
    for o in openings::of(bench.made) {
        let gap = o.path.gap(outline);
        let inside = o
            .path
            .segments
            .first()
            .is_some_and(|s| outline.contains(s.from()));
        let measured = if inside { gap.distance } else { -gap.distance };
        out.push(rule.judge(
            &bench.made.plate.id,
            Measured {
                at: o.id().to_owned(),
                what: format!("`{}` to the outline", o.id()),
                measured,
                limit,
                unit: "mm",
                sense: Sense::AtLeast,
                places: vec![gap.a, gap.b],
                mend: Some(format!(
                    "add {:.2} mm of metal there: a larger boss or a wider web",
                    limit - measured
                )),
                spot: o.spot,
            },
        ));
    }
}
