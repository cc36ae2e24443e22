//! H303: metal between any two openings.

use crate::feature::Shape;
use crate::geom::{Gap, Path};

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
Openings that run into one another measure zero. A hole through a pocket's floor or through the
island of a ring groove belongs there and is measured against that pocket's or groove's wall only.

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
    check,
};

/// Least web of a process in this plate, mm.
#[must_use]
pub fn least_web_mm(bench: &Bench<'_>) -> f64 {
    let p = bench.process;
    p.least_web_mm
        .max(p.least_web_per_thickness * bench.made.plate.thickness_mm)
}

fn check(rule: &Rule, bench: &Bench<'_>, out: &mut Vec<Finding>) {
    let all = openings::of(bench.made);
    let limit = least_web_mm(bench);
    for (i, a) in all.iter().enumerate() {
        let nearest = all[i + 1..]
            .iter()
            .filter_map(|b| Some((wall_between(a, b)?, b)))
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
                    mend: Some(format!(
                        "move them {:.2} mm apart or make one smaller",
                        limit - gap.distance
                    )),
                    spot: a.spot,
                },
            ));
        }
    }
}

/// Metal between two openings; `None` where one rightly lies inside the other.
fn wall_between(a: &Opening<'_>, b: &Opening<'_>) -> Option<Gap> {
    let gap = a.path.gap(&b.path);
    let inside = |inner: &Path, outer: &Path| {
        inner
            .segments
            .first()
            .is_some_and(|s| outer.contains(s.from()))
    };
    let (inner, outer) = if inside(&b.path, &a.path) {
        (b, a)
    } else if inside(&a.path, &b.path) {
        (a, b)
    } else {
        return Some(gap);
    };
    match &outer.feature.shape {
        Shape::Pocket { .. } if gap.distance > 0.0 => None,
        Shape::Groove {
            centre, inner_mm, ..
        } => Some(Path::circle(*centre, 0.5 * inner_mm).gap(&inner.path)).map(|g| {
            let within = inner
                .path
                .segments
                .first()
                .is_some_and(|s| s.from().distance(*centre) < 0.5 * inner_mm);
            if within {
                g
            } else {
                Gap { distance: 0.0, ..g }
            }
        }),
        _ => Some(Gap {
            distance: 0.0,
            ..gap
        }),
    }
}
