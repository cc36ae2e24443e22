//! H303: metal between any two openings.

use crate::feature::Shape;
use crate::geom::{Gap, Path};
use crate::tol;

use super::openings::Opening;
use super::{Bench, Finding, Measured, Rule, Sense, openings};

/// The rule.
pub const RULE: Rule = Rule {
    id: "H303",
    title: "ligament between openings",
    source: "the shop file's least web for the process (common practice, no source)",
    page: "\
## What it checks
The least metal between every two openings: holes at their widest, slots, windows, pockets, grooves.
Openings that run into one another measure zero. What lies on a pocket's or groove's floor belongs
there and is not measured against it; what stands on a ring groove's island is measured to the
groove. Between openings in opposite faces the metal counts along its shortest way; where one lies
under the other it is a floor, and rule H309 judges it.

## Why
A thin bridge burns away under a beam, chatters under a cutter and cracks in service.

## Limit and source
The process's least web from the shop file, the larger of `least-web` and its share of the
thickness: the shop's own rule (common practice, no source).

## Bad
Two 11 mm holes 14 mm apart: 3 mm of metal between them in a 15 mm plate.

## Good
The same holes 26 mm apart.
",
    firm_at: Some(0.0),
    check,
};

/// Least metal between two openings whatever the shop says, mm: thinner is burr, not metal
/// (common practice, no source).
pub const LEAST_METAL_MM: f64 = 0.1;

/// Least web of a process in this plate, mm.
#[must_use]
pub fn least_web_mm(bench: &Bench<'_>) -> f64 {
    let p = bench.process;
    p.least_web_mm
        .max(p.least_web_per_thickness * bench.made.plate.thickness_mm)
        .max(LEAST_METAL_MM)
}

fn check(rule: &Rule, bench: &Bench<'_>, out: &mut Vec<Finding>) {
    let (all, sites) = openings::of(bench.made);
    let limit = least_web_mm(bench);
    for (i, a) in all.iter().enumerate() {
        let nearest = all
            .iter()
            .enumerate()
            .skip(i + 1)
            .filter(|(j, _)| !sites.lies_on(i, *j) && !sites.lies_on(*j, i))
            .filter_map(|(_, b)| Some((metal_between(a, b)?, b)))
            .min_by(|x, y| x.0.distance.total_cmp(&y.0.distance));
        if let Some((gap, b)) = nearest {
            out.push(rule.judge(
                &bench.made.plate.id,
                Measured {
                    at: a.id().to_owned(),
                    what: format!("`{}` to `{}`", a.id(), b.id()),
                    measured: gap.distance,
                    limit,
                    unit: "mm",
                    sense: Sense::AtLeast,
                    places: vec![gap.a, gap.b],
                    mend: Some(if gap.distance > tol::SNAP_MM {
                        format!(
                            "move them {:.2} mm apart or make one smaller",
                            limit - gap.distance
                        )
                    } else {
                        format!(
                            "they run into one another: leave at least {limit:.2} mm between them"
                        )
                    }),
                    spot: a.spot,
                },
            ));
        }
    }
}

/// Metal between two openings of which neither lies on the other's floor.
///
/// `None` where one lies under the other: what is between them is a floor.
fn metal_between(a: &Opening<'_>, b: &Opening<'_>) -> Option<Gap> {
    let upright = a.between_mm(b);
    let gap = a.path.gap(&b.path);
    if !a.covers(b) {
        return Some(Gap {
            distance: gap.distance.hypot(upright),
            ..gap
        });
    }
    if upright > tol::SNAP_MM {
        return None;
    }
    // Within a groove's ring an opening may stand on the island.
    [(a, b), (b, a)]
        .into_iter()
        .find_map(|(inner, outer)| from_island(inner, outer))
        .or(Some(Gap {
            distance: 0.0,
            ..gap
        }))
}

/// Metal between an opening on a groove's island and the groove.
fn from_island(inner: &Opening<'_>, outer: &Opening<'_>) -> Option<Gap> {
    let Shape::Groove {
        centre, inner_mm, ..
    } = &outer.feature.shape
    else {
        return None;
    };
    let island = Path::circle(*centre, 0.5 * inner_mm);
    let starts = inner.path.segments.first()?.from();
    let gap = island.gap(&inner.path);
    (island.contains(starts) && gap.distance > tol::SNAP_MM).then_some(gap)
}
