//! Rod readings on the mock-up: gaps at the rims, or groove by groove, become offset and tilt.
//!
//! A straight rod lies on the front face of the reference pulley and passes
//! over the other pulley. A gap is air between the rod and that pulley, so it
//! counts towards the engine; a pulley that stands proud reads below zero (the
//! rod then lies on it and the gap is at the reference).

use serde::Serialize;

use super::mount::{Drive, Fault, Stand};

/// Standard deviation of a gap, mm: a blade and a rod held by hand.
///
/// Common practice, no source.
pub const GAP_SD_MM: f64 = 0.1;

/// Groove pitch of the PK profile, mm.
///
/// Source: ISO 9982, e = 3.56 mm.
pub const GROOVE_PITCH_MM: f64 = 3.56;

/// A gap beyond this is no misalignment any more but a mistake, mm.
///
/// Common practice, no source: brackets mocked up from drawings come within a few mm.
const UNLIKELY_GAP_MM: f64 = 30.0;

/// One rod reading.
#[derive(Debug, Clone, PartialEq)]
pub struct RodReading {
    /// The pulley it was taken at.
    pub pulley: String,
    /// What was read.
    pub gaps: Gaps,
    /// Direction of the rod at the pulley, from its near to its far rim, deg from +X; away from the reference pulley when absent.
    pub direction_deg: Option<f64>,
    /// Standard deviation of each gap, mm.
    pub sd_mm: f64,
}

/// What was read with the rod.
#[derive(Debug, Clone, PartialEq)]
pub enum Gaps {
    /// Rod to front face at the near and the far rim, mm.
    Rims {
        /// At the rim nearer the reference.
        near_mm: f64,
        /// At the far rim.
        far_mm: f64,
    },
    /// Rod to grooves, near and far side, mm.
    Grooves {
        /// Number of grooves on the pulley.
        count: usize,
        /// Groove (1 is the front one), near gap, far gap.
        read: Vec<(usize, f64, f64)>,
    },
}

/// How a pulley stands by its readings.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ReadStand {
    /// The pulley.
    pub pulley: String,
    /// How it stands.
    pub stand: Stand,
    /// Standard deviation of the offset, mm.
    pub offset_sd_mm: f64,
    /// Standard deviation of a read tilt, deg.
    pub tilt_sd_deg: f64,
    /// Whether rods in two directions were read; with one, the tilt across it is taken as none.
    pub tilt_is_whole: bool,
}

/// Makes stands of the readings; pulleys without a reading are not listed.
///
/// # Errors
///
/// Every fault of the drive or the readings.
pub fn stands(drive: &Drive, readings: &[RodReading]) -> Result<Vec<ReadStand>, Vec<Fault>> {
    drive.check()?;
    let mut faults = Vec::new();
    for r in readings {
        check(drive, r, &mut faults);
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    let Some(reference) = drive.reference() else {
        return Ok(Vec::new());
    };
    let mut list = Vec::new();
    for (index, pulley) in drive.pulleys.iter().enumerate() {
        let mine: Vec<&RodReading> = readings
            .iter()
            .filter(|r| r.pulley == pulley.name)
            .collect();
        if !mine.is_empty() {
            list.push(stand_of(drive, reference, index, &mine));
        }
    }
    Ok(list)
}

/// Checks one reading.
fn check(drive: &Drive, r: &RodReading, faults: &mut Vec<Fault>) {
    let Some(index) = drive.pulley(&r.pulley) else {
        faults.push(Fault::Unknown {
            what: "pulley",
            name: r.pulley.clone(),
            place: "a rod reading".to_owned(),
        });
        return;
    };
    if drive.reference() == Some(index) {
        faults.push(Fault::BadNumber {
            what: format!("a rod reading at {}", r.pulley),
            wanted: "taken at another pulley: this one is the reference the rod lies on",
        });
    }
    let gaps: Vec<f64> = match &r.gaps {
        Gaps::Rims { near_mm, far_mm } => vec![*near_mm, *far_mm],
        Gaps::Grooves { count, read } => {
            if read.is_empty() {
                faults.push(Fault::BadNumber {
                    what: format!("the groove readings at {}", r.pulley),
                    wanted: "one at least",
                });
            }
            if read.iter().any(|(g, _, _)| *g == 0 || g > count) {
                faults.push(Fault::BadNumber {
                    what: format!("a groove number at {}", r.pulley),
                    wanted: "from 1 to the number of grooves",
                });
            }
            read.iter().flat_map(|(_, n, f)| [*n, *f]).collect()
        }
    };
    for gap in gaps {
        if !gap.is_finite() {
            faults.push(Fault::BadNumber {
                what: format!("a gap at {}", r.pulley),
                wanted: "a number",
            });
        } else if gap.abs() > UNLIKELY_GAP_MM {
            faults.push(Fault::Unlikely {
                pulley: r.pulley.clone(),
                gap_mm: format!("{gap:.2}"),
                hint: "more than a mock-up can be out; check the unit, and what the rod lay on",
            });
        }
    }
    let numbers = [r.sd_mm, r.direction_deg.unwrap_or(0.0)];
    if !numbers.iter().all(|v| v.is_finite()) || r.sd_mm <= 0.0 {
        faults.push(Fault::BadNumber {
            what: format!("the uncertainty or direction at {}", r.pulley),
            wanted: "a number, the uncertainty above 0",
        });
    }
}

/// The stand of one pulley from its readings.
///
/// With the rod along the unit direction u, sin(tilt along u) = (near − far) / 2r,
/// and the axis leans against it: a · u = −sin. Two or more directions give
/// both components by least squares.
fn stand_of(drive: &Drive, reference: usize, index: usize, readings: &[&RodReading]) -> ReadStand {
    let (from, pulley) = (&drive.pulleys[reference], &drive.pulleys[index]);
    let line = (pulley.centre.y - from.centre.y).atan2(pulley.centre.x - from.centre.x);
    let (mut uu, mut uv, mut vv, mut ul, mut vl) = (0.0, 0.0, 0.0, 0.0, 0.0);
    let mut gaps: Vec<(f64, f64, bool)> = Vec::new();
    let mut tilt_weight = 0.0;
    for r in readings {
        let (near, far, sd, at_face) = reduced(r);
        let (sin_u, cos_u) = r.direction_deg.map_or(line, f64::to_radians).sin_cos();
        let lean = -((near - far) / (2.0 * pulley.rim_radius_mm)).clamp(-1.0, 1.0);
        let weight = 1.0 / (sd * sd);
        uu += weight * cos_u * cos_u;
        uv += weight * cos_u * sin_u;
        vv += weight * sin_u * sin_u;
        ul += weight * cos_u * lean;
        vl += weight * sin_u * lean;
        tilt_weight += weight;
        gaps.push((0.5 * (near + far), weight, at_face));
    }
    let det = uu * vv - uv * uv;
    // Directions within a degree of each other tell nothing across.
    let tilt_is_whole = det > (uu + vv) * (uu + vv) * 3e-4;
    let (ax, ay) = if tilt_is_whole {
        ((ul * vv - vl * uv) / det, (vl * uu - ul * uv) / det)
    } else {
        // Least tilt that explains the readings: along the rod only.
        let trace = uu + vv;
        (ul / trace, vl / trace)
    };
    let flat = ax.hypot(ay).min(1.0);
    let az = (1.0 - flat * flat).sqrt();
    // Rod plane before the reference's rib plane, less the gap, less the way from face to rib plane.
    let rod = from.face_mm;
    let total: f64 = gaps.iter().map(|g| g.1).sum();
    let offset = gaps
        .iter()
        .map(|(gap, w, at_face)| w * (rod - gap - if *at_face { pulley.face_mm * az } else { 0.0 }))
        .sum::<f64>()
        / total;
    let gap_sd = (1.0 / total).sqrt();
    ReadStand {
        pulley: pulley.name.clone(),
        stand: Stand {
            offset_mm: offset,
            axis: [ax, ay, az],
        },
        offset_sd_mm: gap_sd / 2.0_f64.sqrt(),
        tilt_sd_deg: ((2.0 / tilt_weight).sqrt() / (2.0 * pulley.rim_radius_mm)).to_degrees(),
        tilt_is_whole,
    }
}

/// Near gap, far gap, their deviation, and whether they are to the face (else to the rib plane's middle).
fn reduced(r: &RodReading) -> (f64, f64, f64, bool) {
    match &r.gaps {
        Gaps::Rims { near_mm, far_mm } => (*near_mm, *far_mm, r.sd_mm, true),
        Gaps::Grooves { count, read } => {
            let middle = 0.5 * (*count as f64 + 1.0);
            let n = read.len().max(1) as f64;
            let mean = |pick: &dyn Fn(&(usize, f64, f64)) -> f64| {
                read.iter()
                    .map(|g| pick(g) - (g.0 as f64 - middle) * GROOVE_PITCH_MM)
                    .sum::<f64>()
                    / n
            };
            (mean(&|g| g.1), mean(&|g| g.2), r.sd_mm / n.sqrt(), false)
        }
    }
}
