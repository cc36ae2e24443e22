//! Plates that several variants share: one set of holes, each telling whose it is.

use std::collections::{BTreeMap, BTreeSet};

use crate::layout::{Layout, PlateHole, PlatePlace};
use crate::tol;

use super::View;

/// Every plate with the holes of all variants that use it.
///
/// Holes that coincide in place, size and purpose are one hole; each tells its
/// variants where it does not serve all of them.
pub(super) fn places(views: &[View], layouts: &[&Layout]) -> BTreeMap<String, PlatePlace> {
    let mut out: BTreeMap<String, PlatePlace> = BTreeMap::new();
    // For each plate the builds that use it, and for each of its holes too.
    let mut users: BTreeMap<&str, (BTreeSet<usize>, Vec<BTreeSet<usize>>)> = BTreeMap::new();
    for (build, layout) in layouts.iter().enumerate() {
        for place in &layout.plates {
            let shared = out.entry(place.id.clone()).or_insert_with(|| PlatePlace {
                holes: Vec::new(),
                ..place.clone()
            });
            let (plate_users, hole_users) = users.entry(&place.id).or_default();
            plate_users.insert(build);
            for hole in &place.holes {
                if let Some(same) = shared.holes.iter().position(|h| is_same(h, hole)) {
                    merge(&mut shared.holes[same], hole);
                    hole_users[same].insert(build);
                } else {
                    let mut own = hole.clone();
                    if shared.holes.iter().any(|h| h.name == own.name) {
                        let first = views.iter().find(|v| v.build == build);
                        let first = first.map_or("", |v| v.name.as_str());
                        own.name = format!("{} of {first}", own.name);
                    }
                    shared.holes.push(own);
                    hole_users.push(BTreeSet::from([build]));
                }
            }
        }
    }
    for place in out.values_mut() {
        let Some((all, each)) = users.get(place.id.as_str()) else {
            continue;
        };
        for (hole, mine) in place.holes.iter_mut().zip(each) {
            if mine != all {
                hole.variants = views
                    .iter()
                    .filter(|v| mine.contains(&v.build))
                    .map(|v| v.name.clone())
                    .collect();
            }
        }
    }
    out
}

/// Whether two holes are one when both are in a plate.
pub(super) fn is_same(a: &PlateHole, b: &PlateHole) -> bool {
    a.at.distance(b.at) <= tol::INPUT_GRID_MM
        && a.made == b.made
        && a.thread == b.thread
        && (a.diameter_mm - b.diameter_mm).abs() <= tol::RULE_MM
        && a.slot == b.slot
        && a.counterbore == b.counterbore
}

/// One hole for two: metal and seats of the wider.
fn merge(into: &mut PlateHole, other: &PlateHole) {
    into.boss_mm = into.boss_mm.max(other.boss_mm);
    for (mine, theirs) in [
        (&mut into.front, &other.front),
        (&mut into.back, &other.back),
    ] {
        let wider = theirs
            .as_ref()
            .is_some_and(|t| mine.as_ref().is_none_or(|m| t.diameter_mm > m.diameter_mm));
        if wider {
            mine.clone_from(theirs);
        }
    }
}
