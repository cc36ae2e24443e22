//! The clearance family, C101 and on: what is near what, as findings; places are in the engine frame.

use std::sync::Arc;

use crate::geom::Point;
use crate::params::Loaded;
use crate::surroundings::Near;

use super::{Finding, Sense, Verdict};

/// Findings of a job's surroundings.
#[must_use]
pub fn findings(near: &[Arc<Near>], loaded: &Loaded) -> Vec<Finding> {
    near.iter().map(|n| finding(n, loaded)).collect()
}

fn finding(n: &Near, loaded: &Loaded) -> Finding {
    let g = &n.gap;
    let part = |body: &str, solid: &str| {
        if solid.is_empty() || body.contains(solid) || solid == body {
            body.to_owned()
        } else {
            format!("{body} ({solid})")
        }
    };
    let [x, y, z] = g.first_at_mm;
    Finding {
        rule: n.rule,
        title: n.title,
        on: g.first.clone(),
        at: g.second.clone(),
        what: format!(
            "gap from {} to {} at x {x:.1}, y {y:.1}, z {z:.1} of the engine",
            part(&g.first, &g.first_solid),
            part(&g.second, &g.second_solid)
        ),
        measured: g.gap_mm,
        limit: g.limit_mm,
        unit: "mm",
        sense: Sense::AtLeast,
        margin: g.margin_mm(),
        verdict: if g.holds() {
            Verdict::Holds
        } else {
            Verdict::Fails
        },
        reason: None,
        places: vec![Point::new(x, y)],
        source: g.source.clone().into(),
        mend: if g.holds() {
            None
        } else {
            n.advice().or_else(|| {
                Some(format!(
                    "make {:.2} mm of room between the two",
                    -g.margin_mm()
                ))
            })
        },
        spot: loaded
            .job
            .placed
            .iter()
            .find(|p| p.id == g.first || p.id == g.second)
            .map(|p| p.spot)
            .or_else(|| {
                loaded
                    .job
                    .hoses
                    .iter()
                    .find(|h| g.second == format!("hose {}", h.id))
                    .map(|h| h.spot)
            })
            .unwrap_or(crate::diag::Spot::NOWHERE),
    }
}
