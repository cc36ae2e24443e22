//! H308: every feature lies inside the outline.

use super::{Bench, Finding, Measured, Rule, Sense};
use crate::feature::Shape;
use crate::geom::Point;

/// The rule.
pub const RULE: Rule = Rule {
    id: "H308",
    title: "feature inside the outline",
    source: "geometry",
    page: "\
## What it checks
That every engraved mark lies on the plate, clear of its openings. Holes, slots and windows are
measured against the outline by the wall rule, which fails for one that hangs out.

## Why
What is engraved off the part is cut into the table or lost.

## Limit and source
All of it inside; plain geometry.

## Bad
A part number that runs over the edge.

## Good
The same text, smaller or moved.
",
    firm_at: None,
    check,
};

fn check(rule: &Rule, bench: &Bench<'_>, out: &mut Vec<Finding>) {
    let plate = &bench.made.plate;
    let region = plate.region();
    for f in &plate.features {
        let Shape::Mark(mark) = &f.shape else {
            continue;
        };
        let off = |p: &&Point| !region.contains(**p);
        let outside: Vec<Point> = mark.strokes.iter().flatten().filter(off).copied().collect();
        out.push(rule.judge(
            &plate.id,
            Measured {
                at: f.id.clone(),
                what: format!("points of mark `{}` off the metal", f.id),
                measured: outside.len() as f64,
                limit: 0.0,
                unit: "",
                sense: Sense::AtMost,
                places: outside,
                mend: Some("move the mark or make it smaller".to_owned()),
                spot: bench.made.spot_of(&f.id),
            },
        ));
    }
}
