//! What a straight rod on the reference pulley's front face should find at every other pulley.

use std::collections::BTreeMap;

use crate::drive::Drive;
use crate::shim;

/// The rod at one pulley.
#[derive(Debug, Clone, PartialEq)]
pub struct AtPulley {
    /// The pulley.
    pub pulley: String,
    /// Air between rod and front face as designed, mm; below 0 where the pulley stands proud of the rod.
    pub gap_mm: f64,
    /// Every tolerance at its worst, mm either way.
    pub worst_mm: f64,
    /// Tolerances as root sum square, mm either way.
    pub rss_mm: f64,
    /// How far the gap may be off before a washer is due, mm either way.
    pub limit_mm: f64,
    /// How much the gaps at its two rims may differ, mm.
    pub rims_mm: f64,
    /// Whether something can be shimmed there.
    pub mounted: bool,
}

/// The rod's expected readings in the belt's order, and the pulley it lies on.
///
/// `line_up` is the same drive as the washers see it. A tolerance that shifts both pulleys alike does
/// not show under the rod.
#[must_use]
pub fn readings(drive: &Drive, line_up: &shim::Drive) -> (String, Vec<AtPulley>) {
    let front = |i: usize| drive.pulleys[i].rib_plane_z_mm + 0.5 * drive.pulleys[i].width_mm;
    let reference = drive.driver;
    let rows = line_up
        .pulleys
        .iter()
        .filter_map(|p| Some((p, drive.pulleys.iter().position(|q| q.id == p.name)?)))
        .filter(|&(_, i)| i != reference)
        .map(|(p, i)| {
            let mut parts: BTreeMap<&str, f64> = BTreeMap::new();
            for (k, sign) in [(reference, 1.0), (i, -1.0)] {
                for c in &drive.pulleys[k].contributors {
                    *parts.entry(&c.id).or_default() += sign * c.shift_mm;
                }
            }
            AtPulley {
                pulley: p.name.clone(),
                gap_mm: front(reference) - front(i),
                worst_mm: parts.values().map(|v| v.abs()).sum(),
                rss_mm: parts.values().map(|v| v * v).sum::<f64>().sqrt(),
                limit_mm: p.offset_limit_mm,
                rims_mm: 2.0 * p.rim_radius_mm * p.tilt_limit_deg.to_radians().tan(),
                mounted: p.mount.is_some(),
            }
        })
        .collect();
    (drive.pulleys[reference].id.clone(), rows)
}
