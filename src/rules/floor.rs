//! H309: metal under every blind feature.

use crate::feature::{Depth, Mouth, Shape};

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
and groove.

## Why
A skin under a blind feature bulges, breaks through or tears off with the bolt head.

## Limit and source
1.5 mm or 15 % of the thickness, whichever is more (common practice, no source).

## Bad
A 10.6 mm counterbore in a 12 mm plate: 1.4 mm left under the head.

## Good
The same in a 15 mm plate.
",
    check,
};

fn check(rule: &Rule, bench: &Bench<'_>, out: &mut Vec<Finding>) {
    let plate = &bench.made.plate;
    let t = plate.thickness_mm;
    let limit = LEAST_MM.max(PER_THICKNESS * t);
    for f in &plate.features {
        let mut judge = |depth: f64, what: &str| {
            out.push(rule.judge(
                &plate.id,
                Measured {
                    at: f.id.clone(),
                    what: format!("metal under {what} of `{}`", f.id),
                    measured: t - depth,
                    limit,
                    unit: "mm",
                    sense: Sense::AtLeast,
                    places: f.centroid().into_iter().collect(),
                    mend: Some(format!(
                        "make it at most {:.2} mm deep, or use thicker stock",
                        t - limit
                    )),
                    spot: bench.made.spot_of(&f.id),
                },
            ));
        };
        match &f.shape {
            Shape::Hole(h) => {
                if let Depth::Blind {
                    depth_mm, floor, ..
                } = h.depth
                {
                    judge(depth_mm + floor.point_mm(0.5 * h.diameter_mm), "the bore");
                }
                if let Some(m) = h.mouth {
                    let name = match m {
                        Mouth::Counterbore { .. } => "the counterbore",
                        Mouth::Countersink { .. } => "the countersink",
                    };
                    judge(m.depth_mm(h.diameter_mm), name);
                }
            }
            Shape::Pocket { depth_mm, .. } => judge(*depth_mm, "the pocket"),
            Shape::Groove { depth_mm, .. } => judge(*depth_mm, "the groove"),
            _ => {}
        }
    }
}
