//! Safety against fatigue with mean stress.
//!
//! Modified Goodman line on equivalent stresses, 1/n = σa/Se + σm/Su
//! (Shigley's *Mechanical Engineering Design*, 10th ed., eq. 6-46 and section
//! 6-14: von Mises of the amplitude and of the mean; no stress-concentration
//! factor, since the stress is the local one). A mean that is compressive on
//! the whole (negative sum of principal stresses) is taken as zero, which is
//! on the safe side.

use super::recover::{Tensor, von_mises};

/// Largest safety that is told apart; beyond it a place is not loaded.
pub const UNLOADED: f64 = 1000.0;

/// Safety on the Goodman line; amplitude and mean as stress tensors, MPa.
#[must_use]
pub fn goodman(amplitude: &Tensor, mean: &Tensor, limit_mpa: f64, ultimate_mpa: f64) -> f64 {
    let alternating = von_mises(amplitude);
    let is_tensile = mean[0] + mean[1] + mean[2] > 0.0;
    let steady = if is_tensile { von_mises(mean) } else { 0.0 };
    let used = alternating / limit_mpa + steady / ultimate_mpa;
    if used * UNLOADED > 1.0 {
        1.0 / used
    } else {
        UNLOADED
    }
}

/// Sums stress tensors with factors.
#[must_use]
pub fn combined<'a>(terms: impl Iterator<Item = (f64, &'a Tensor)>) -> Tensor {
    let mut out = [0.0; 6];
    for (f, t) in terms {
        for (o, v) in out.iter_mut().zip(t) {
            *o += f * v;
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    const fn along_x(s: f64) -> Tensor {
        [s, 0.0, 0.0, 0.0, 0.0, 0.0]
    }

    #[test]
    fn goodman_line_runs_from_the_limit_to_the_ultimate() {
        // Fully reversed at the limit, static at the ultimate: both exactly at 1.
        assert!((goodman(&along_x(100.0), &along_x(0.0), 100.0, 310.0) - 1.0).abs() < 1e-12);
        assert!((goodman(&along_x(0.0), &along_x(310.0), 100.0, 310.0) - 1.0).abs() < 1e-12);
        // Half of each: 1/(0.25 + 0.25).
        assert!((goodman(&along_x(25.0), &along_x(77.5), 100.0, 310.0) - 2.0).abs() < 1e-12);
    }

    #[test]
    fn a_compressive_mean_does_not_help() {
        let with = goodman(&along_x(50.0), &along_x(-200.0), 100.0, 310.0);
        assert!((with - 2.0).abs() < 1e-12);
    }
}
