//! Finds the readings that do not fit: normalised residuals, one reading at a time.
//!
//! Source: W. Baarda, A testing procedure for use in geodetic networks, 1968
//! (data snooping). A blunder far beyond the noise bends a non-linear fit, so
//! each suspect is judged by a fit made without it, not by its residual alone.

use super::adjust::{Judged, Settled, UNCHECKED, Workbench, judge};
use super::dense::Square;
use super::statistics::DOUBT_LIMIT;
use super::system::System;

/// Suspects that are tried by leaving them out, by normalised residual and by robust misfit each.
const SUSPECTS: usize = 6;

/// Readings that are set aside at most; a network with more blunders is better measured again.
const SET_ASIDE: usize = 8;

/// Two suspects cannot be told apart when leaving out either brings the cost within this of the other:
/// 3.29², the square of the limit a single reading is doubted at.
const TOLD_APART: f64 = DOUBT_LIMIT * DOUBT_LIMIT;

/// Suspects that are set aside together when they cannot be told apart.
const TOGETHER: usize = 3;

/// A reading that does not fit.
#[derive(Debug, Clone)]
pub(super) struct Doubt {
    pub(super) observation: usize,
    /// Observations that explain the misfit as well.
    pub(super) or: Vec<usize>,
    /// Normalised residual in the fit that raised the doubt.
    pub(super) w: f64,
}

/// A fit with its covariance and judgements.
#[derive(Debug, Clone)]
pub(super) struct Fit {
    pub(super) settled: Settled,
    pub(super) covariance: Square,
    pub(super) judged: Vec<Judged>,
}

/// Settles and judges; `None` when the normal equations are singular there.
pub(super) fn fit(
    system: &System,
    bench: &mut Workbench,
    weights: &[f64],
    start: &[f64],
) -> Option<Fit> {
    let settled = bench.settle(system, weights, start);
    let covariance = bench
        .normal_at(system, weights, &settled.x)
        .cholesky()
        .ok()?
        .inverse_factored();
    let judged = judge(system, weights, &settled.x, &covariance);
    Some(Fit {
        settled,
        covariance,
        judged,
    })
}

/// Sets doubtful observations aside one by one until the rest agree.
///
/// `robust` is a start that follows the majority. Returns the doubts in the
/// order found, the last fit, and the weights it was made with.
pub(super) fn snoop(
    system: &System,
    bench: &mut Workbench,
    robust: &[f64],
) -> Option<(Vec<Doubt>, Fit, Vec<f64>)> {
    let mut weights = vec![1.0; system.observations.len()];
    let mut current = fit(system, bench, &weights, robust)?;
    let mut doubts: Vec<Doubt> = Vec::new();
    while doubts.len() < SET_ASIDE {
        let Some(doubt) = worst(system, bench, &mut weights, robust, &current) else {
            break;
        };
        let mut out = vec![doubt.observation];
        if doubt.or.len() < TOGETHER {
            out.extend(&doubt.or);
        }
        let alone = doubt.or.is_empty();
        let together = out.len() > doubt.or.len();
        doubts.push(doubt);
        if !together {
            // Leaving out the wrong one would hide the blunder for good.
            break;
        }
        for i in &out {
            weights[*i] = 0.0;
        }
        if let Some(next) = fit(system, bench, &weights, robust) {
            current = next;
        } else {
            for i in &out {
                weights[*i] = 1.0;
            }
            break;
        }
        if !alone && !taking_part_is_enough(system, &weights) {
            break;
        }
    }
    reinstate(
        system,
        bench,
        robust,
        &mut doubts,
        &mut weights,
        &mut current,
    );
    Some((doubts, current, weights))
}

/// Whether there is anything left to check the rest by.
fn taking_part_is_enough(system: &System, weights: &[f64]) -> bool {
    weights.iter().filter(|w| **w > 0.0).count() > system.unknowns
}

/// The observation that explains most of the misfit, if any misfit needs explaining.
fn worst(
    system: &System,
    bench: &mut Workbench,
    weights: &mut [f64],
    robust: &[f64],
    current: &Fit,
) -> Option<Doubt> {
    let open = |i: &usize| weights[*i] > 0.0 && current.judged[*i].redundancy > UNCHECKED;
    let mut by_w: Vec<(usize, f64)> = (0..weights.len())
        .filter(open)
        .filter_map(|i| current.judged[i].w.map(|w| (i, w)))
        .collect();
    by_w.sort_by(|a, b| b.1.abs().total_cmp(&a.1.abs()).then(a.0.cmp(&b.0)));
    if by_w.first()?.1.abs() <= DOUBT_LIMIT {
        return None;
    }
    let misfits = bench.misfits(system, robust);
    let mut by_misfit: Vec<(usize, f64)> = by_w.iter().map(|(i, _)| (*i, misfits[*i])).collect();
    by_misfit.sort_by(|a, b| b.1.abs().total_cmp(&a.1.abs()).then(a.0.cmp(&b.0)));
    let mut suspects: Vec<(usize, f64)> = by_w.iter().take(SUSPECTS).copied().collect();
    for (i, _) in by_misfit.into_iter().take(SUSPECTS) {
        if !suspects.iter().any(|s| s.0 == i) {
            suspects.extend(by_w.iter().find(|s| s.0 == i));
        }
    }
    let mut tried: Vec<(f64, usize, f64)> = suspects
        .into_iter()
        .map(|(i, w)| {
            weights[i] = 0.0;
            let cost = bench.settle_roughly(system, weights, robust, 40).cost;
            weights[i] = 1.0;
            (cost, i, w)
        })
        .collect();
    tried.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
    let (best_cost, observation, w) = *tried.first()?;
    let or = tried
        .iter()
        .skip(1)
        .filter(|t| t.0 <= best_cost + TOLD_APART)
        .map(|t| t.1)
        .collect();
    Some(Doubt { observation, or, w })
}

/// Takes back readings that fit after all once the real blunder is out.
fn reinstate(
    system: &System,
    bench: &mut Workbench,
    robust: &[f64],
    doubts: &mut Vec<Doubt>,
    weights: &mut [f64],
    current: &mut Fit,
) {
    let mut index = 0;
    while doubts.len() > 1 && index < doubts.len() {
        let i = doubts[index].observation;
        let fits = doubts[index].or.is_empty()
            && weights[i] == 0.0
            && current.judged[i].w.is_some_and(|w| w.abs() <= DOUBT_LIMIT);
        if fits {
            weights[i] = 1.0;
            if let Some(next) = fit(system, bench, weights, robust) {
                *current = next;
                doubts.remove(index);
                continue;
            }
            weights[i] = 0.0;
        }
        index += 1;
    }
}
