//! H304: metal between an opening and the outline.

use crate::geom::{Path, Point, Segment};
use crate::tol;

use super::ligament::least_web_mm;
use super::{Bench, Finding, Measured, Rule, Sense, openings};

/// The rule.
pub const RULE: Rule = Rule {
    id: "H304",
    title: "wall to the outline",
    source: "the shop file's least web for the process (common practice, no source)",
    page: "\
## What it checks
The least metal between every opening, at its widest, and the plate's outline. What hangs out of the
outline counts below zero, by as much as it hangs out (on curves to an eighth of their length).

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
    firm_at: Some(0.0),
    check,
};

fn check(rule: &Rule, bench: &Bench<'_>, out: &mut Vec<Finding>) {
    let outline = &bench.made.plate.outline;
    let limit = least_web_mm(bench);
    for o in openings::of(bench.made).0 {
        let (measured, places) = metal_to_edge(outline, &o.path);
        out.push(rule.judge(
            &bench.made.plate.id,
            Measured {
                at: o.id().to_owned(),
                what: format!("`{}` to the outline", o.id()),
                measured,
                limit,
                unit: "mm",
                sense: Sense::AtLeast,
                places,
                mend: Some(if measured > 0.0 {
                    format!(
                        "add {:.2} mm of metal there: a larger boss or a wider web",
                        limit - measured
                    )
                } else {
                    "it runs through the outline: move it, or draw the outline round it".to_owned()
                }),
                spot: o.spot,
            },
        ));
    }
}

/// Metal between an opening and the outline, mm; what hangs out counts below zero.
fn metal_to_edge(outline: &Path, opening: &Path) -> (f64, Vec<Point>) {
    let gap = opening.gap(outline);
    let starts_inside = opening
        .segments
        .first()
        .is_some_and(|s| outline.contains(s.from()));
    if starts_inside && gap.distance > tol::SNAP_MM {
        return (gap.distance, vec![gap.a, gap.b]);
    }
    // It crosses the outline or lies off the plate: the point farthest out tells how far.
    let farthest = opening
        .segments
        .iter()
        .flat_map(farthest_points)
        .map(|p| (outline.signed_distance(p), p))
        .min_by(|a, b| a.0.total_cmp(&b.0));
    match farthest {
        Some((inside_mm, p)) => (inside_mm.min(0.0), vec![p, outline.nearest(p)]),
        None => (0.0, vec![gap.a]),
    }
}

/// Points of a piece among which the one farthest from the metal is sought: eighths of it.
fn farthest_points(s: &Segment) -> impl Iterator<Item = Point> + '_ {
    (0..8).map(|k| s.at(f64::from(k) / 8.0))
}
