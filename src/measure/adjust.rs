//! Weighted non-linear least squares: Levenberg-Marquardt on dense normal equations.
//!
//! Source of the adjustment formulas: C. D. Ghilani and P. R. Wolf, Adjustment
//! Computations, chapters 11 (non-linear), 14 (distances) and 21 (blunders).

use super::dense::Square;
use super::system::{Gradient, System};

/// A step below this ends the iteration, mm: a thousandth of the 1e-8 mm the result is checked to.
const STEP_MM: f64 = 1e-11;

/// Iterations before the sum is called unsettled; a good start needs under ten.
const ITERATIONS: usize = 200;

/// Redundancy number below which nothing checks a reading.
///
/// At 1e-6 a blunder shows a thousandth of itself in the residual's deviation: far beyond use.
pub(super) const UNCHECKED: f64 = 1e-6;

/// A settled set of unknowns.
#[derive(Debug, Clone)]
pub(super) struct Settled {
    pub(super) x: Vec<f64>,
    /// Weighted sum of squared residuals.
    pub(super) cost: f64,
    pub(super) converged: bool,
}

/// Working arrays, so that many starts reuse them.
#[derive(Debug)]
pub(super) struct Workbench {
    normal: Square,
    damped: Square,
    right: Vec<f64>,
    gradient: Gradient,
}

impl Workbench {
    /// Arrays for a system.
    pub(super) fn new(system: &System) -> Self {
        Self {
            normal: Square::zeros(system.unknowns),
            damped: Square::zeros(system.unknowns),
            right: vec![0.0; system.unknowns],
            gradient: Gradient::with_capacity(8),
        }
    }

    /// Weighted sum of squared residuals.
    pub(super) fn cost(&mut self, system: &System, weights: &[f64], x: &[f64]) -> f64 {
        let gradient = &mut self.gradient;
        system
            .observations
            .iter()
            .zip(weights)
            .map(|(o, w)| {
                let z = (o.value - system.predict(o.target, x, gradient)) / o.sd;
                w * z * z
            })
            .sum()
    }

    /// Residuals in standard deviations of their readings.
    pub(super) fn misfits(&mut self, system: &System, x: &[f64]) -> Vec<f64> {
        let gradient = &mut self.gradient;
        system
            .observations
            .iter()
            .map(|o| (o.value - system.predict(o.target, x, gradient)) / o.sd)
            .collect()
    }

    /// Fills the normal equations at `x`; returns the cost.
    fn fill(&mut self, system: &System, weights: &[f64], x: &[f64]) -> f64 {
        self.normal.clear();
        self.right.fill(0.0);
        let mut cost = 0.0;
        for (o, share) in system.observations.iter().zip(weights) {
            if *share == 0.0 {
                continue;
            }
            let predicted = system.predict(o.target, x, &mut self.gradient);
            let weight = share / (o.sd * o.sd);
            let residual = o.value - predicted;
            cost += weight * residual * residual;
            for (i, gi) in &self.gradient {
                self.right[*i] += weight * gi * residual;
                for (j, gj) in &self.gradient {
                    if j <= i {
                        self.normal.add(*i, *j, weight * gi * gj);
                    }
                }
            }
        }
        cost
    }

    /// Moves `x` to the least cost it can reach.
    pub(super) fn settle(&mut self, system: &System, weights: &[f64], start: &[f64]) -> Settled {
        self.settle_to(system, weights, start, STEP_MM, ITERATIONS)
    }

    /// Moves `x` near the least cost: enough to tell solutions apart.
    pub(super) fn settle_roughly(
        &mut self,
        system: &System,
        weights: &[f64],
        start: &[f64],
        iterations: usize,
    ) -> Settled {
        self.settle_to(system, weights, start, 1e-6, iterations)
    }

    fn settle_to(
        &mut self,
        system: &System,
        weights: &[f64],
        start: &[f64],
        step_mm: f64,
        iterations: usize,
    ) -> Settled {
        let mut x = start.to_vec();
        let mut damping = 1e-4;
        let mut cost = self.fill(system, weights, &x);
        let mut converged = system.unknowns == 0;
        let mut last = f64::INFINITY;
        for _ in 0..iterations {
            if converged {
                break;
            }
            let Some(step) = self.step(damping) else {
                damping = (damping * 10.0).max(1e-6);
                if damping > 1e12 {
                    break;
                }
                continue;
            };
            let trial: Vec<f64> = x.iter().zip(&step).map(|(a, d)| a + d).collect();
            let trial_cost = self.cost(system, weights, &trial);
            let largest = step.iter().fold(0.0_f64, |m, d| m.max(d.abs()));
            last = largest;
            // Near the bottom rounding alone decides the comparison of costs.
            if trial_cost <= cost || (largest < 1e-6 && trial_cost <= cost * (1.0 + 1e-9) + 1e-18) {
                x = trial;
                damping = if damping < 1e-9 { 0.0 } else { damping * 0.1 };
                cost = self.fill(system, weights, &x);
                converged = largest < step_mm;
            } else {
                if largest < step_mm {
                    converged = true;
                    break;
                }
                damping = (damping * 10.0).max(1e-6);
                if damping > 1e12 {
                    break;
                }
            }
        }
        // Rounding in a poorly held network can keep the step above the aim for ever.
        converged |= last < 1e-8 && step_mm < 1e-8;
        Settled { x, cost, converged }
    }

    /// The damped step of the filled equations; `None` when they are singular.
    fn step(&mut self, damping: f64) -> Option<Vec<f64>> {
        self.damped.copy_from(&self.normal);
        for i in 0..self.normal.size() {
            let d = self.normal.at(i, i);
            // An unknown nothing measures still needs a pivot; it then simply stays.
            self.damped
                .set(i, i, d * (1.0 + damping) + if d == 0.0 { 1.0 } else { 0.0 });
        }
        let factor = self.damped.cholesky().ok()?;
        Some(factor.solve_factored(&self.right))
    }

    /// The normal matrix at `x`, whole.
    pub(super) fn normal_at(&mut self, system: &System, weights: &[f64], x: &[f64]) -> Square {
        self.fill(system, weights, x);
        let mut whole = self.normal.clone();
        for i in 0..whole.size() {
            for j in 0..i {
                whole.set(j, i, whole.at(i, j));
            }
        }
        whole
    }
}

/// What the adjustment says about one observation.
#[derive(Debug, Clone, Copy)]
pub(super) struct Judged {
    /// What the unknowns make it.
    pub(super) fitted: f64,
    /// Reading less fitted.
    pub(super) residual: f64,
    /// Share of an error in it that shows in its own residual, 0 to 1.
    pub(super) redundancy: f64,
    /// Residual in its own standard deviations; `None` where nothing checks it.
    pub(super) w: Option<f64>,
    /// Standard deviation of the fitted value.
    pub(super) fitted_sd: f64,
}

/// Judges every observation at `x` with the covariance of the unknowns.
///
/// Redundancy numbers: r = 1 − p a N⁻¹ aᵀ; normalised residual w = v / (σ √r)
/// (Baarda 1968; Ghilani and Wolf, chapter 21). An observation without weight
/// is judged against the fit made without it: its w is its gap over the
/// deviation of that gap, which equals the w it had in a linear fit.
pub(super) fn judge(
    system: &System,
    weights: &[f64],
    x: &[f64],
    covariance: &Square,
) -> Vec<Judged> {
    let mut gradient = Gradient::new();
    system
        .observations
        .iter()
        .zip(weights)
        .map(|(o, share)| {
            let fitted = system.predict(o.target, x, &mut gradient);
            let residual = o.value - fitted;
            let variance: f64 = gradient
                .iter()
                .map(|(i, gi)| {
                    gi * gradient
                        .iter()
                        .map(|(j, gj)| gj * covariance.at(*i, *j))
                        .sum::<f64>()
                })
                .sum::<f64>()
                .max(0.0);
            let own = o.sd * o.sd;
            let (redundancy, gap_sd) = if *share > 0.0 {
                let r = (1.0 - variance / own).clamp(0.0, 1.0);
                (r, o.sd * r.sqrt())
            } else {
                (own / (own + variance), (own + variance).sqrt())
            };
            Judged {
                fitted,
                residual,
                redundancy,
                w: (redundancy > UNCHECKED).then(|| residual / gap_sd),
                fitted_sd: variance.sqrt(),
            }
        })
        .collect()
}
