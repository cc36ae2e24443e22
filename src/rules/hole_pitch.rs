//! H302: distance between two bolt holes' centres, in hole diameters.

use super::{Bench, Finding, Measured, Rule, Sense, openings};

/// Least pitch in hole diameters.
///
/// EN 1993-1-8:2005 Table 3.3: p1 at least 2.2 d0 (p2, across the force, at
/// least 2.4 d0; a bracket's force turns with the engine, so which of the two
/// applies is not known: the lower one gates, since both leave a full ligament).
pub const PITCH: f64 = 2.2;

/// The rule.
pub const RULE: Rule = Rule {
    id: "H302",
    title: "hole pitch",
    source: "EN 1993-1-8:2005 Table 3.3: p1 >= 2.2 d0",
    page: "\
## What it checks
Centre to centre of every two round holes of a plate, against the larger of the two.

## Why
Between two close holes a narrow bridge carries both bolts and cracks first; washers and sockets
also need the room.

## Limit and source
2.2 hole diameters: EN 1993-1-8:2005 Table 3.3, p1. A tapped hole counts with its nominal thread diameter.

## Bad
    { id = \"d1\", kind = \"hole\", at = [0, 0], diameter = 11 }
    { id = \"d2\", kind = \"hole\", at = [20, 0], diameter = 11 }   # 20 mm apart, 24.2 mm needed

## Good
    { id = \"d2\", kind = \"hole\", at = [25, 0], diameter = 11 }
",
    firm_at: None,
    check,
};

fn check(rule: &Rule, bench: &Bench<'_>, out: &mut Vec<Finding>) {
    let (all, _) = openings::of(bench.made);
    let size = |o: &openings::Opening<'_>, d: f64| bench.made.bolt_mm(o.id()).unwrap_or(d).max(d);
    for (i, a) in all.iter().enumerate() {
        let Some((ca, da)) = a.round() else { continue };
        // Only the nearest neighbour is worth a line.
        let nearest = all[i + 1..]
            .iter()
            .filter_map(|b| b.round().map(|(cb, db)| (b, cb, db)))
            .map(|(b, cb, db)| {
                let limit = PITCH * size(a, da).max(size(b, db));
                (ca.distance(cb) - limit, b, cb, limit)
            })
            .min_by(|x, y| x.0.total_cmp(&y.0));
        if let Some((_, b, cb, limit)) = nearest {
            let measured = ca.distance(cb);
            out.push(rule.judge(
                &bench.made.plate.id,
                Measured {
                    at: a.id().to_owned(),
                    what: format!("`{}` to `{}`, centres", a.id(), b.id()),
                    measured,
                    limit,
                    unit: "mm",
                    sense: Sense::AtLeast,
                    places: vec![ca, cb],
                    mend: Some(format!("move them {:.2} mm apart", limit - measured)),
                    spot: a.spot,
                },
            ));
        }
    }
}
