//! Thread stripping: shear areas at the worst 6g/6H limits and what they hold.

use std::f64::consts::PI;

use serde::Serialize;

use crate::tables::{PropertyClass, Thread};

/// Shear strength of bolt steel over its tensile strength (VDI 2230-1: 0.6 to 0.65; the lower, from memory).
pub const BOLT_SHEAR_RATIO: f64 = 0.6;

/// Shear area of the internal thread per mm of engagement, worst 6g screw in worst 6H hole, mm²/mm
/// (ASME B1.1 / FED-STD-H28).
#[must_use]
pub fn internal_area_per_mm(t: &Thread) -> f64 {
    let (d, d2) = (t.screw_major_min_mm(), t.hole_pitch_max_mm());
    PI * d / t.pitch_mm * (0.5 * t.pitch_mm + (d - d2) / 3.0_f64.sqrt())
}

/// Shear area of the external thread per mm of engagement, worst limits, mm²/mm (ASME B1.1 / FED-STD-H28).
#[must_use]
pub fn external_area_per_mm(t: &Thread) -> f64 {
    let (d1, d2) = (t.hole_minor_max_mm(), t.screw_pitch_min_mm());
    PI * d1 / t.pitch_mm * (0.5 * t.pitch_mm + (d2 - d1) / 3.0_f64.sqrt())
}

/// Shear area of the internal thread per mm at basic size, π·d·0.875, mm²/mm (ISO 68-1 geometry).
///
/// Larger than a toleranced thread has: for comparison only.
#[must_use]
pub fn internal_area_basic_per_mm(t: &Thread) -> f64 {
    PI * t.d_mm * 0.875
}

/// Factors of Alexander (SAE 770420; VDI 2230-1 5.5.5, from memory) on the shear areas.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct StripFactors {
    /// Dilation of the boss or nut.
    pub c1: f64,
    /// Bending of the screw's threads.
    pub c2: f64,
    /// Bending of the hole's threads.
    pub c3: f64,
}

impl StripFactors {
    /// Factors for a strength ratio `rs` (hole over screw) and a boss `width_ratio` diameters across.
    ///
    /// Valid for a boss at least 1.4 diameters across; a thinner one takes the value there.
    #[must_use]
    pub fn new(rs: f64, width_ratio: f64) -> Self {
        let w = width_ratio.clamp(1.4, 1.9);
        let c1 = 3.8 * w - w * w - 2.61;
        let c2 = if rs <= 1.0 {
            0.897
        } else {
            let r = rs.min(2.2);
            5.594 - 13.682 * r + 14.107 * r.powi(2) - 6.057 * r.powi(3) + 0.9353 * r.powi(4)
        };
        let c3 = if rs >= 1.0 {
            0.897
        } else {
            let r = rs.max(0.4);
            0.728 + 1.769 * r - 2.896 * r.powi(2) + 1.296 * r.powi(3)
        };
        Self {
            c1: c1.min(1.0),
            c2,
            c3,
        }
    }
}

/// What the threads of a tapped hole hold.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StripReport {
    /// Engaged length that carries, mm.
    pub carrying_mm: f64,
    /// Force that strips the hole's thread, factors not applied, N.
    pub hole_n: f64,
    /// Force that strips the screw's thread, factors not applied, N.
    pub screw_n: f64,
    /// Alexander's factors.
    pub factors: StripFactors,
    /// Force at which the weaker thread strips, factors applied, N.
    pub strip_n: f64,
    /// Force at which the screw breaks, Rm,min·As, N.
    pub break_n: f64,
    /// Engaged carrying length at which both are equal, mm.
    pub break_first_mm: f64,
}

/// What the threads hold over `carrying_mm` of engagement in a metal of shear strength `shear_mpa`,
/// in a boss `width_ratio` thread diameters across.
#[must_use]
pub fn strip(
    t: &Thread,
    class: &PropertyClass,
    strength_factor: f64,
    carrying_mm: f64,
    shear_mpa: f64,
    width_ratio: f64,
) -> StripReport {
    let hole_per_mm = internal_area_per_mm(t) * shear_mpa;
    let screw_per_mm = external_area_per_mm(t) * BOLT_SHEAR_RATIO * class.rm_min_mpa;
    let factors = StripFactors::new(hole_per_mm / screw_per_mm, width_ratio);
    let per_mm =
        (hole_per_mm * factors.c1 * factors.c3).min(screw_per_mm * factors.c1 * factors.c2);
    let break_n = class.rm_min_mpa * t.stress_area_mm2 * strength_factor;
    StripReport {
        carrying_mm,
        hole_n: hole_per_mm * carrying_mm,
        screw_n: screw_per_mm * carrying_mm,
        factors,
        strip_n: per_mm * carrying_mm,
        break_n,
        break_first_mm: break_n / per_mm,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn alexander_factors_are_continuous_and_reach_one() {
        // At a strength ratio of 1 both bending factors are 0.897 (VDI 2230-1).
        let f = StripFactors::new(1.0, 3.0);
        assert!((f.c1 - 1.0).abs() < 1e-12);
        let near = StripFactors::new(1.0 - 1e-9, 3.0);
        assert!((near.c3 - 0.897).abs() < 1e-3, "{}", near.c3);
        let above = StripFactors::new(1.0 + 1e-9, 3.0);
        assert!((above.c2 - 0.897).abs() < 1e-3, "{}", above.c2);
    }
}
