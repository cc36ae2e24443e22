//! Preload and tightening torque (VDI 2230-1), scatter, and what a wrench is set to.

use serde::Serialize;

use crate::tables::{Friction, Thread, Tightening};

/// Share of the yield strength that tightening uses up (VDI 2230-1 5.4.3).
pub const UTILISATION: f64 = 0.9;

/// Preload at which tightening stresses the screw to `utilisation` of `yield_mpa`, N.
///
/// F = ν·Rp0.2·As / √(1 + 3·[(3/2)·(d2/d0)·(P/(π·d2) + 1.155·µG)]²), d0 = (d2 + d3)/2 (VDI 2230-1:2003).
#[must_use]
pub fn assembly_preload_n(t: &Thread, yield_mpa: f64, utilisation: f64, mu_thread: f64) -> f64 {
    let d2 = t.d2_mm();
    let d0 = 0.5 * (d2 + t.d3_mm());
    let twist = 1.5 * (d2 / d0) * (t.pitch_mm / (std::f64::consts::PI * d2) + 1.155 * mu_thread);
    utilisation * yield_mpa * t.stress_area_exact_mm2() / (1.0 + 3.0 * twist * twist).sqrt()
}

/// Tightening torque for a preload, N·m.
///
/// M = F·[0.159·P + 0.577·d2·µG + (DKm/2)·µK] (VDI 2230-1:2003); `bearing_mean_mm` is
/// DKm = (dW + Dh)/2, the mean diameter of the head's friction ring.
#[must_use]
pub fn torque_nm(
    t: &Thread,
    preload_n: f64,
    mu_thread: f64,
    mu_head: f64,
    bearing_mean_mm: f64,
) -> f64 {
    1e-3 * preload_n
        * (0.159 * t.pitch_mm + 0.577 * t.d2_mm() * mu_thread + 0.5 * bearing_mean_mm * mu_head)
}

/// The part of the tightening torque that twists the shank, N·m.
#[must_use]
pub fn thread_torque_nm(t: &Thread, preload_n: f64, mu_thread: f64) -> f64 {
    1e-3 * preload_n * (0.159 * t.pitch_mm + 0.577 * t.d2_mm() * mu_thread)
}

/// Torque by the short form T = K·F·d, N·m.
#[must_use]
pub fn torque_short_form_nm(k: f64, preload_n: f64, d_mm: f64) -> f64 {
    1e-3 * k * preload_n * d_mm
}

/// Preload of a joint that is taken apart again, 0.75 of the proof load, N (Shigley 10e eq. 8-31, from memory).
#[must_use]
pub fn reusable_preload_n(proof_mpa: f64, stress_area_mm2: f64) -> f64 {
    0.75 * proof_mpa * stress_area_mm2
}

/// What a shop sets on the wrench for a computed torque, N·m: down to its next mark, so that
/// rounding never overtightens.
///
/// Marks every 0.5 N·m below 10, 1 below 50, 5 below 200, 10 above (common practice, no source).
#[must_use]
pub fn wrench_setting_nm(torque_nm: f64) -> f64 {
    let step = if torque_nm < 10.0 {
        0.5
    } else if torque_nm < 50.0 {
        1.0
    } else if torque_nm < 200.0 {
        5.0
    } else {
        10.0
    };
    // A torque that misses a mark by rounding alone is that mark.
    ((torque_nm / step + 1e-9).floor() * step).max(0.0)
}

/// How a joint is tightened.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Assembly {
    /// Lubrication of thread and head: a row that acts on both.
    pub lubrication: Friction,
    /// Thread-locker, whose friction replaces the thread's.
    pub locker: Option<Friction>,
    /// Tightening method.
    pub method: Tightening,
    /// Share of the yield strength to tighten to; [`UTILISATION`] unless stated.
    pub utilisation: f64,
    /// A torque the user has fixed, N·m.
    pub fixed_torque_nm: Option<f64>,
}

/// Preload and torque of one joint.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PreloadReport {
    /// Friction in the thread, thread-locker counted.
    pub mu_thread: f64,
    /// Friction under the head.
    pub mu_head: f64,
    /// Mean diameter of the head's friction ring, mm.
    pub bearing_mean_mm: f64,
    /// Preload the yield utilisation allows, N.
    pub allowed_preload_n: f64,
    /// Torque for it, N·m.
    pub exact_torque_nm: f64,
    /// Torque on the sheet, N·m.
    pub torque_nm: f64,
    /// Least torque the wrench may deliver, N·m.
    pub torque_low_nm: f64,
    /// Greatest torque the wrench may deliver, N·m.
    pub torque_high_nm: f64,
    /// Preload at the sheet's torque and the middle friction: the greatest the design counts with, N.
    pub preload_max_n: f64,
    /// Tightening factor of the method: greatest over least preload.
    pub scatter: f64,
    /// Least preload after tightening, N.
    pub preload_min_n: f64,
    /// Preload at the sheet's torque with the least friction of the lubrication, N: for information.
    pub preload_slick_n: f64,
    /// Preload at the sheet's torque with the greatest friction of the lubrication, N: for information.
    pub preload_dry_n: f64,
    /// K of the short form T = K·F·d.
    pub k_factor: f64,
    /// What a thread-locker does to the torque for the same preload: torque with over without.
    pub locker_ratio: Option<f64>,
}

impl Assembly {
    /// Preload and torque of a screw of `yield_mpa` whose head rubs on a ring of mean diameter `bearing_mean_mm`.
    ///
    /// The torque is computed at the lubrication's middle friction and rounded
    /// down; the method's tightening factor then gives the least preload, as
    /// VDI 2230-1 5.4.3 does (F_Mmax = α_A·F_Mmin).
    #[must_use]
    pub fn preload(&self, t: &Thread, yield_mpa: f64, bearing_mean_mm: f64) -> PreloadReport {
        let thread_friction = self.locker.as_ref().unwrap_or(&self.lubrication);
        let (mu_thread, mu_head) = (thread_friction.mu_mean, self.lubrication.mu_mean);
        let allowed = assembly_preload_n(t, yield_mpa, self.utilisation, mu_thread);
        let exact = torque_nm(t, allowed, mu_thread, mu_head, bearing_mean_mm);
        let torque = self
            .fixed_torque_nm
            .unwrap_or_else(|| wrench_setting_nm(exact));
        let per_newton = |mu_g: f64, mu_k: f64| torque_nm(t, 1.0, mu_g, mu_k, bearing_mean_mm);
        let tolerance = 0.01 * self.method.torque_tolerance_percent.unwrap_or(0.0);
        let preload_max = torque / per_newton(mu_thread, mu_head);
        let plain = per_newton(self.lubrication.mu_mean, mu_head);
        PreloadReport {
            mu_thread,
            mu_head,
            bearing_mean_mm,
            allowed_preload_n: allowed,
            exact_torque_nm: exact,
            torque_nm: torque,
            torque_low_nm: torque * (1.0 - tolerance),
            torque_high_nm: torque * (1.0 + tolerance),
            preload_max_n: preload_max,
            scatter: self.method.scatter_max,
            preload_min_n: preload_max / self.method.scatter_max,
            preload_slick_n: torque / per_newton(thread_friction.mu_min, self.lubrication.mu_min),
            preload_dry_n: torque / per_newton(thread_friction.mu_max, self.lubrication.mu_max),
            k_factor: torque / (1e-3 * preload_max * t.d_mm),
            locker_ratio: self
                .locker
                .as_ref()
                .map(|_| per_newton(mu_thread, mu_head) / plain),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tables::{Frictions, Threads, Tightenings};

    fn assembly(locker: bool) -> Assembly {
        Assembly {
            lubrication: Frictions::standard().get("oiled").unwrap().clone(),
            locker: locker.then(|| Frictions::standard().get("thread-locker").unwrap().clone()),
            method: Tightenings::standard()
                .get("torque wrench")
                .unwrap()
                .clone(),
            utilisation: UTILISATION,
            fixed_torque_nm: None,
        }
    }

    #[test]
    fn a_wrench_is_never_set_above_the_computed_torque() {
        for (exact, set) in [
            (5.83, 5.5),
            (10.12, 10.0),
            (24.50, 24.0),
            (48.32, 48.0),
            (83.39, 80.0),
            (133.17, 130.0),
            (205.32, 200.0),
            (48.0, 48.0),
        ] {
            assert!((wrench_setting_nm(exact) - set).abs() < 1e-12, "{exact}");
        }
    }

    #[test]
    fn a_thread_locker_takes_more_torque_for_the_same_preload() {
        let t = Threads::standard().thread("M10").unwrap();
        let with = assembly(true).preload(t, 640.0, 12.8);
        let without = assembly(false).preload(t, 640.0, 12.8);
        assert!(with.locker_ratio.unwrap() > 1.1);
        assert!(with.allowed_preload_n < without.allowed_preload_n);
        assert!(without.locker_ratio.is_none());
    }

    #[test]
    fn scatter_and_friction_bracket_the_preload() {
        let t = Threads::standard().thread("M10").unwrap();
        let r = assembly(false).preload(t, 640.0, 12.8);
        assert!(r.preload_max_n <= r.allowed_preload_n);
        assert!((r.preload_max_n / r.preload_min_n - r.scatter).abs() < 1e-12);
        assert!(r.preload_slick_n > r.preload_max_n && r.preload_dry_n < r.preload_max_n);
    }
}
