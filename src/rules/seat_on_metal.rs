//! H307: what bears on the plate lies on metal.

use crate::feature::{Face, Shape};
use crate::geom::{Path, Point, Segment};

use super::{Bench, Finding, Measured, Rule, Sense, openings};

/// The rule.
pub const RULE: Rule = Rule {
    id: "H307",
    title: "seat on metal",
    source: "full bearing of head, washer, ear or spacer (common practice, no source)",
    page: "\
## What it checks
Every head, nut, ear, pad and spacer that bears on a face of the plate: the least metal round its
edge, to the outline and to any other opening in that face.

## Why
A head that overhangs an edge or a window bends its bolt, marks the plate and loses its preload.

## Limit and source
Zero: the whole seat on metal (common practice, no source). Along a slot only the sides and the
outline count; what the slot itself takes away is the joint's matter.

## Bad
A 22 mm flange head on an 18 mm boss.

## Good
The boss from the rule: seat plus 1 mm all round.
",
    firm_at: None,
    check,
};

fn check(rule: &Rule, bench: &Bench<'_>, out: &mut Vec<Finding>) {
    let plate = &bench.made.plate;
    let (all, _) = openings::of(bench.made);
    for hole in &bench.made.holes {
        let id = hole.name.clone();
        for (face, seat) in [(Face::Front, &hole.front), (Face::Back, &hole.back)] {
            let Some(seat) = seat else { continue };
            let radius = 0.5 * seat.diameter_mm;
            let line = hole.slot.map_or(
                Segment::Line {
                    from: hole.at,
                    to: hole.at,
                },
                |track| track.centre_line(),
            );
            let (measured, places) = spare_metal(&plate.outline, &all, &id, face, &line, radius);
            out.push(rule.judge(
                &plate.id,
                Measured {
                    at: id.clone(),
                    what: format!(
                        "metal round {} ({:.1} mm) at `{id}`, {} face",
                        seat.what,
                        seat.diameter_mm,
                        if face == Face::Front { "front" } else { "back" }
                    ),
                    measured,
                    limit: 0.0,
                    unit: "mm",
                    sense: Sense::AtLeast,
                    places,
                    mend: Some(format!(
                        "make the boss at least {:.1} mm in diameter, or move the opening beside it",
                        2.0 * (radius - measured.min(0.0) + crate::layout::seat::SEAT_RIM_MM)
                    )),
                    spot: bench.made.spot_of(&id),
                },
            ));
        }
    }
}

/// Metal between the edge of a seat that moves along `line` and the outline or another opening of the face.
fn spare_metal(
    outline: &Path,
    all: &[openings::Opening<'_>],
    own: &str,
    face: Face,
    line: &Segment,
    radius: f64,
) -> (f64, Vec<Point>) {
    let rim = outline.gap_to_segment(line);
    let on = outline.contains(line.from()) && outline.contains(line.to());
    let inside = if on { 1.0 } else { -1.0 };
    let mut least = (inside * rim.distance - radius, vec![rim.b, rim.a]);
    for o in all {
        if o.id() == own || !opens_on(o, face) {
            continue;
        }
        let gap = o.path.gap_to_segment(line);
        let outside = if o.path.contains(line.from()) {
            -1.0
        } else {
            1.0
        };
        let spare = outside * gap.distance - radius;
        if spare < least.0 {
            least = (spare, vec![gap.b, gap.a]);
        }
    }
    least
}

fn opens_on(o: &openings::Opening<'_>, face: Face) -> bool {
    match &o.feature.shape {
        Shape::Hole(h) => h.diameter_at(face).is_some(),
        Shape::Pocket { face: f, .. } | Shape::Groove { face: f, .. } => *f == face,
        _ => true,
    }
}
