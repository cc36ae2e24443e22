//! H301: metal from a hole's centre to the outline, in hole diameters.

use crate::feature::{Shape, SlotTrack};
use crate::geom::{Gap, Path, Point};

use super::{Bench, Finding, Measured, Rule, Sense, openings};

/// Least distance from a round hole's centre to an edge, in hole diameters.
///
/// EN 1993-1-8:2005 Table 3.3: end and edge distance e1, e2 at least 1.2 d0.
pub const ROUND: f64 = 1.2;

/// Least distance from a slot's centre line to an edge, in slot widths.
///
/// EN 1993-1-8:2005 Table 3.3: slotted holes e3, e4 at least 1.5 d0.
pub const SLOTTED: f64 = 1.5;

/// The rule.
pub const RULE: Rule = Rule {
    id: "H301",
    title: "edge distance",
    source: "EN 1993-1-8:2005 Table 3.3: e1, e2 >= 1.2 d0; slots e3, e4 >= 1.5 d0",
    page: "\
## What it checks
The distance from the centre of every bolt hole, in every direction, to the plate's outline; for a
slot, from its whole centre line.

## Why
A bolt pulls sideways on its hole. With too little metal beside it the edge tears out before the
bolt or the rest of the plate is loaded.

## Limit and source
1.2 hole diameters for a round hole, 1.5 slot widths for a slot: EN 1993-1-8:2005 Table 3.3. A tapped
hole counts with its nominal thread diameter. Lightening windows are not bolt holes and are judged
by the wall rule.

## Bad
    holes = [{ take = \"block.A1\", boss = 20 }]   # M10: 11 mm hole, 10 mm to the edge, 13.2 mm needed

## Good
    holes = [\"block.A1\"]                         # the boss follows from the rule
",
    firm_at: None,
    check,
};

fn check(rule: &Rule, bench: &Bench<'_>, out: &mut Vec<Finding>) {
    let plate = &bench.made.plate;
    for o in openings::of(bench.made).0 {
        let (gap, size, factor) = match &o.feature.shape {
            Shape::Hole(h) => {
                let size = bench
                    .made
                    .bolt_mm(&o.feature.id)
                    .unwrap_or(h.diameter_mm)
                    .max(h.diameter_mm);
                (centre_gap(&plate.outline, h.centre), size, ROUND)
            }
            Shape::Slot(s) => (track_gap(&plate.outline, &s.track), s.width_mm, SLOTTED),
            _ => continue,
        };
        let limit = factor * size;
        out.push(rule.judge(
            &plate.id,
            Measured {
                at: o.feature.id.clone(),
                what: format!("centre of `{}` to the outline", o.feature.id),
                measured: gap.distance,
                limit,
                unit: "mm",
                sense: Sense::AtLeast,
                places: vec![gap.a, gap.b],
                mend: Some(format!(
                    "make its boss at least {:.1} mm in diameter, or move it {:.2} mm inwards",
                    2.0 * limit,
                    limit - gap.distance
                )),
                spot: o.spot,
            },
        ));
    }
}

/// From a hole's centre to the outline; below zero where it lies off the plate.
fn centre_gap(outline: &Path, centre: Point) -> Gap {
    let gap = outline.gap_to_point(centre);
    if outline.contains(centre) {
        gap
    } else {
        Gap {
            distance: -gap.distance,
            ..gap
        }
    }
}

/// From a slot's centre line to the outline; below zero where an end lies off the plate.
fn track_gap(outline: &Path, track: &SlotTrack) -> Gap {
    let line = track.centre_line();
    let gap = outline.gap_to_segment(&line);
    if outline.contains(line.from()) && outline.contains(line.to()) {
        gap
    } else {
        Gap {
            distance: -gap.distance,
            ..gap
        }
    }
}
