//! Which holes a process cannot make, so that they are centre-marked and drilled afterwards.

use std::collections::BTreeMap;

use crate::feature::{Depth, Mouth, Purpose, Shape};
use crate::params::shop::{Method, Process};
use crate::plate::Plate;

/// Holes of a plate the process cannot make, with the reason.
///
/// A process that machines drills what it does not mill. A beam or jet cuts a
/// plain through hole down to its least diameter; it neither taps, reams,
/// counterbores nor drills to a depth, and plasma leaves no bore a thread or pin could use
/// (common practice, no source).
#[must_use]
pub(super) fn by_process(plate: &Plate, process: &Process) -> BTreeMap<String, String> {
    let mut marked = BTreeMap::new();
    if process.machines || process.method == Method::Milling {
        return marked;
    }
    let least = process
        .least_hole_mm
        .max(process.least_hole_per_thickness * plate.thickness_mm);
    for f in &plate.features {
        let Shape::Hole(h) = &f.shape else { continue };
        let reason = match (&h.purpose, h.depth) {
            (Purpose::Tapped { thread, .. }, _) => {
                format!("drill {:.1} and tap {thread}", h.diameter_mm)
            }
            (Purpose::Dowel { tolerance }, _) => {
                format!("drill and ream {:.1} {tolerance}", h.diameter_mm)
            }
            (_, Depth::Blind { depth_mm, .. }) => {
                format!("drill {:.1}, {depth_mm:.1} deep", h.diameter_mm)
            }
            _ if h.mouth.is_some() => match h.mouth {
                Some(Mouth::Counterbore {
                    diameter_mm,
                    depth_mm,
                    ..
                }) => format!(
                    "drill {:.1} and counterbore {diameter_mm:.1}, {depth_mm:.1} deep",
                    h.diameter_mm
                ),
                Some(Mouth::Countersink {
                    diameter_mm,
                    angle_deg,
                    ..
                }) => format!(
                    "drill {:.1} and countersink {diameter_mm:.1}, {angle_deg:.0} deg",
                    h.diameter_mm
                ),
                None => continue,
            },
            _ if h.diameter_mm < least => format!(
                "drill {:.1}: below the {least:.1} mm this process cuts",
                h.diameter_mm
            ),
            _ => continue,
        };
        marked.insert(f.id.clone(), reason);
    }
    marked
}
