//! H309: metal under every blind feature.

use crate::feature::{Depth, Face, Hole, Mouth, Shape};
use crate::plate::sites::Sites;

use super::openings::{self, Opening};
use super::{Bench, Finding, Measured, Rule, Sense};

/// Least floor as a share of the plate's thickness (common practice, no source).
pub const PER_THICKNESS: f64 = 0.15;

/// Least floor whatever the thickness, mm (common practice, no source).
pub const LEAST_MM: f64 = 1.5;

/// The rule.
pub const RULE: Rule = Rule {
    id: "H309",
    title: "floor under blind features",
    source: "1.5 mm and 15 % of the thickness (common practice, no source)",
    page: "\
## What it checks
The metal left under every blind hole (its drill point counted), counterbore, countersink, pocket
and groove: to the other face, or to what is cut from there, whichever is nearer. What lies on a
pocket's floor counts from that floor.

## Why
A skin under a blind feature bulges, breaks through or tears off with the bolt head.

## Limit and source
1.5 mm or 15 % of the thickness, whichever is more (common practice, no source).

## Bad
A 10.6 mm counterbore in a 12 mm plate: 1.4 mm left under the head.

## Good
The same in a 15 mm plate.
",
    firm_at: Some(0.0),
    check,
};

fn check(rule: &Rule, bench: &Bench<'_>, out: &mut Vec<Finding>) {
    let plate = &bench.made.plate;
    let limit = LEAST_MM.max(PER_THICKNESS * plate.thickness_mm);
    let (all, sites) = openings::of(bench.made);
    for (i, o) in all.iter().enumerate() {
        let mut judge = |left: f64, what: String| {
            out.push(rule.judge(
                &plate.id,
                Measured {
                    at: o.id().to_owned(),
                    what,
                    measured: left,
                    limit,
                    unit: "mm",
                    sense: Sense::AtLeast,
                    places: o.feature.centroid().into_iter().collect(),
                    mend: Some(format!(
                        "make it {:.2} mm shallower, or use thicker stock",
                        limit - left
                    )),
                    spot: o.spot,
                },
            ));
        };
        if let Some((name, face)) = blind(&o.feature.shape) {
            let (left, under) = left_under(&all, &sites, i, face);
            let id = o.id();
            judge(
                left,
                match under {
                    Some(other) => format!("metal between {name} of `{id}` and `{other}`"),
                    None => format!("metal under {name} of `{id}`"),
                },
            );
        }
        if let Shape::Hole(h) = &o.feature.shape
            && let Some(m) = h.mouth
        {
            let name = match m {
                Mouth::Counterbore { .. } => "the counterbore",
                Mouth::Countersink { .. } => "the countersink",
            };
            judge(
                sites.thickness_mm(i) - m.depth_mm(h.diameter_mm),
                format!("metal under {name} of `{}`", o.id()),
            );
        }
    }
}

/// What a blind feature is called, and the face it is cut from.
const fn blind(shape: &Shape) -> Option<(&'static str, Face)> {
    match shape {
        Shape::Hole(Hole {
            depth: Depth::Blind { from, .. },
            ..
        }) => Some(("the bore", *from)),
        Shape::Pocket { face, .. } => Some(("the pocket", *face)),
        Shape::Groove { face, .. } => Some(("the groove", *face)),
        _ => None,
    }
}

/// Metal left under a blind feature, mm, and what lies under it where it is not the other face.
fn left_under<'a>(
    all: &'a [Opening<'_>],
    sites: &Sites,
    i: usize,
    face: Face,
) -> (f64, Option<&'a str>) {
    let Some(o) = all.get(i) else {
        return (0.0, None);
    };
    let to_face = match face {
        Face::Front => o.low_mm - sites.surface_mm(i, Face::Back),
        Face::Back => sites.surface_mm(i, Face::Front) - o.high_mm,
    };
    let mut least = (to_face, None);
    for (j, other) in all.iter().enumerate() {
        if i == j || sites.lies_on(i, j) || sites.lies_on(j, i) || !o.covers(other) {
            continue;
        }
        let between = match face {
            Face::Front => o.low_mm - other.high_mm,
            Face::Back => other.low_mm - o.high_mm,
        };
        // What reaches the same height cuts into it, which is another rule's.
        if between > 0.0 && between < least.0 {
            least = (between, Some(other.id()));
        }
    }
    least
}
