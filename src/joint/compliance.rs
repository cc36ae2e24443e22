//! How far a screw stretches and the clamped parts give under a newton (VDI 2230-1).

use std::f64::consts::PI;

use crate::tables::HeadStyle;
use crate::tables::property_class::BOLT_E_MPA;

use super::length::StackReport;
use super::stack::{End, Stack};

/// Length of shank that stands for the head, in diameters: hexagon and socket (VDI 2230-1 5.1.1, from memory).
const HEAD_HEX_D: f64 = 0.5;
/// The same for a cylindrical socket head.
const HEAD_SOCKET_D: f64 = 0.4;
/// Length of engaged screw thread that counts as loaded, in diameters (VDI 2230-1 5.1.1, from memory).
const ENGAGED_D: f64 = 0.5;
/// Length that stands for the thread of a tapped hole, in diameters (VDI 2230-1 5.1.1, from memory).
const TAPPED_D: f64 = 0.33;
/// Length that stands for a nut, in diameters (VDI 2230-1 5.1.1, from memory).
const NUT_D: f64 = 0.4;

/// Widest substitutional part for which VDI 2230-1 measured its cone angle, in head diameters.
const WIDEST_RATIO: f64 = 6.0;

/// Least diameter difference that is a taper and not a cylinder, mm: below it the taper's
/// closed form loses its digits, and the cylinder's is exact to the same order.
const TAPER_MM: f64 = 1e-6;

/// Compliance of the screw, mm/N: head, shank, free thread, engaged thread, mating thread.
#[must_use]
pub fn screw_compliance(stack: &Stack, report: &StackReport) -> f64 {
    let t = &stack.screw.thread;
    let d = t.d_mm;
    let (shank, root) = (
        BOLT_E_MPA * t.shank_area_mm2(),
        BOLT_E_MPA * t.root_area_mm2(),
    );
    let head = match stack.screw.head.style {
        HeadStyle::HexFlange | HeadStyle::Hex => HEAD_HEX_D,
        HeadStyle::SocketCap | HeadStyle::Countersunk => HEAD_SOCKET_D,
    };
    let mating = match &stack.end {
        End::Tapped(h) => TAPPED_D * d / (h.metal.e_mpa * t.shank_area_mm2()),
        End::Nut(_) => NUT_D * d / shank,
    };
    let free = (report.grip_mm - report.shank_mm).max(0.0);
    head * d / shank + report.shank_mm / shank + free / root + ENGAGED_D * d / root + mating
}

/// Tangent of the half angle of the cone of pressure under a head (VDI 2230-1 5.1.2, from memory).
///
/// `grip_mm` clamped length, `bearing_mm` diameter of the bearing face, `outer_mm` diameter of
/// the clamped parts.
#[must_use]
pub fn cone_tangent(grip_mm: f64, bearing_mm: f64, outer_mm: f64, tapped: bool) -> f64 {
    let length = grip_mm / bearing_mm;
    let width = (outer_mm / bearing_mm).clamp(1.0, WIDEST_RATIO);
    let tangent = if tapped {
        0.348 + 0.013 * length.ln() + 0.193 * width.ln()
    } else {
        0.362 + 0.032 * (0.5 * length).ln() + 0.153 * width.ln()
    };
    // Very thin plates lie outside the measured range; a cylinder is the limit.
    tangent.max(0.0)
}

/// The cone or double cone of pressure through the clamped layers.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Cone {
    top_mm: f64,
    bottom_mm: Option<f64>,
    grip_mm: f64,
    tangent: f64,
}

impl Cone {
    pub(super) fn of(stack: &Stack) -> Self {
        let grip_mm = stack.grip_mm();
        let top_mm = stack.screw.head.bearing_dia_mm;
        let bottom_mm = match &stack.end {
            End::Tapped(_) => None,
            End::Nut(n) => Some(n.bearing_dia_mm),
        };
        let outer = stack
            .layers
            .iter()
            .map(|l| l.outer_mm)
            .fold(f64::INFINITY, f64::min);
        Self {
            top_mm,
            bottom_mm,
            grip_mm,
            tangent: cone_tangent(grip_mm, top_mm, outer, bottom_mm.is_none()),
        }
    }

    /// Diameter under pressure `z` mm below the head, in endlessly wide parts.
    pub(super) fn diameter(&self, z: f64) -> f64 {
        let from_top = self.top_mm + 2.0 * z * self.tangent;
        self.bottom_mm.map_or(from_top, |b| {
            from_top.min(b + 2.0 * (self.grip_mm - z) * self.tangent)
        })
    }

    /// Depths within `from..to` where the diameter of a part `outer` wide stops or starts to taper.
    fn breaks(&self, from: f64, to: f64, outer: f64) -> Vec<f64> {
        let mut all = vec![from, to];
        if self.tangent > 0.0 {
            let k = 2.0 * self.tangent;
            all.push((outer - self.top_mm) / k);
            if let Some(b) = self.bottom_mm {
                all.push(self.grip_mm - (outer - b) / k);
                all.push((b + k * self.grip_mm - self.top_mm) / (2.0 * k));
            }
        }
        all.retain(|z| (from..=to).contains(z));
        all.sort_by(f64::total_cmp);
        all
    }
}

/// Compliance of the clamped parts, mm/N.
#[must_use]
pub fn parts_compliance(stack: &Stack) -> f64 {
    let cone = Cone::of(stack);
    let mut z = 0.0;
    let mut total = 0.0;
    for layer in &stack.layers {
        let to = z + layer.clamped_mm();
        let at = |h: f64| cone.diameter(h).min(layer.outer_mm);
        for pair in cone.breaks(z, to, layer.outer_mm).windows(2) {
            if let [a, b] = *pair {
                total += frustum_compliance(at(a), at(b), b - a, layer.hole_mm, layer.metal.e_mpa);
            }
        }
        z = to;
    }
    total
}

/// Compliance of a hollow frustum under axial load, mm/N.
///
/// End diameters and hole in mm, height in mm, `e_mpa` Young's modulus. Closed
/// form of ∫dz/(E·A(z)); with tan 30° it is Shigley's eq. 8-19.
#[must_use]
pub fn frustum_compliance(d_a: f64, d_b: f64, height_mm: f64, hole_mm: f64, e_mpa: f64) -> f64 {
    if (d_b - d_a).abs() < TAPER_MM {
        let d = 0.5 * (d_a + d_b);
        return height_mm / (e_mpa * PI / 4.0 * (d * d - hole_mm * hole_mm));
    }
    let slope = (d_b - d_a) / height_mm;
    let log = ((d_b - hole_mm) * (d_a + hole_mm) / ((d_b + hole_mm) * (d_a - hole_mm))).ln();
    4.0 / (PI * e_mpa * slope) * log / (2.0 * hole_mm)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_frustum_at_30_degrees_is_shigleys_formula() {
        // Shigley 10e eq. 8-20: k = 0.5774·π·E·d / ln{[(1.155t + D − d)(D + d)]/[(1.155t + D + d)(D − d)]}.
        let (d, big, t, e) = (12.0, 18.0, 14.0, 207_000.0);
        let tan = 30.0_f64.to_radians().tan();
        let c = frustum_compliance(big, big + 2.0 * t * tan, t, d, e);
        let k = tan * PI * e * d
            / (((2.0 * tan * t + big - d) * (big + d)) / ((2.0 * tan * t + big + d) * (big - d)))
                .ln();
        assert!((c * k - 1.0).abs() < 1e-12);
    }

    #[test]
    fn a_frustum_that_barely_tapers_is_a_tube() {
        let tube = frustum_compliance(20.0, 20.0, 10.0, 11.0, 70_000.0);
        let taper = frustum_compliance(20.0, 20.0 + 1e-5, 10.0, 11.0, 70_000.0);
        assert!((tube / taper - 1.0).abs() < 1e-5);
    }

    #[test]
    fn a_frustum_cut_in_two_gives_the_sum() {
        let whole = frustum_compliance(15.0, 25.0, 10.0, 11.0, 70_000.0);
        let parts = frustum_compliance(15.0, 19.0, 4.0, 11.0, 70_000.0)
            + frustum_compliance(19.0, 25.0, 6.0, 11.0, 70_000.0);
        assert!((whole / parts - 1.0).abs() < 1e-12);
    }
}
