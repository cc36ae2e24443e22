//! Finds the readings that do not fit: normalised residuals, one reading at a time.
//!
//! Source: W. Baarda, A testing procedure for use in geodetic networks, 1968
//! (data snooping). A blunder far beyond the noise bends a non-linear fit, so
//! each suspect is judged by a fit made without it, not by its residual alone.

use super::adjust::{Judged, Settled, UNCHECKED, Workbench, judge};
use super::dense::Square;
use super::statistics::{DOUBT_LIMIT, chi_square_quantile};
use super::survey::inch_slip;
use super::system::{Gradient, System};

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

/// A network with its doubtful readings set aside.
#[derive(Debug, Clone)]
pub(super) struct Snooped {
    /// In the order they were found.
    pub(super) doubts: Vec<Doubt>,
    /// The last fit.
    pub(super) fit: Fit,
    /// The weights it was made with: 0 for what was set aside.
    pub(super) weights: Vec<f64>,
}

impl Snooped {
    /// Whether more than one reading had to be doubted, or the rest still scatter beyond chance.
    pub(super) fn is_poor(&self, system: &System) -> bool {
        let spare = self
            .weights
            .iter()
            .filter(|w| **w > 0.0)
            .count()
            .saturating_sub(system.unknowns);
        self.doubts.len() > 1
            || self.fit.settled.cost > chi_square_quantile(BEYOND_CHANCE, spare.max(1))
    }

    /// Whether this explains the readings with fewer doubts, or as many and a smaller misfit.
    pub(super) fn is_better_than(&self, other: &Self) -> bool {
        let doubted =
            |s: &Self| s.doubts.len() + s.doubts.iter().map(|d| d.or.len()).sum::<usize>();
        let aside = |s: &Self| s.weights.iter().filter(|w| **w == 0.0).count();
        (doubted(self), aside(self), self.fit.settled.cost)
            < (doubted(other), aside(other), other.fit.settled.cost)
    }
}

/// Share of honest networks that scatter less than the limit for calling a result poor.
const BEYOND_CHANCE: f64 = 0.9999;

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
/// `robust` is a start that follows the majority; `None` when the equations are singular there.
pub(super) fn snoop(system: &System, bench: &mut Workbench, robust: &[f64]) -> Option<Snooped> {
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
    Some(Snooped {
        doubts,
        fit: current,
        weights,
    })
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
    let mut gradient = Gradient::new();
    let mut tried: Vec<Tried> = suspects
        .into_iter()
        .map(|(i, w)| {
            weights[i] = 0.0;
            let settled = bench.settle_roughly(system, weights, robust, 40);
            weights[i] = 1.0;
            let o = &system.observations[i];
            let fits = system.predict(o.target, &settled.x, &mut gradient);
            Tried {
                cost: settled.cost,
                observation: i,
                w,
                slip: inch_slip(o.value, fits, o.sd),
            }
        })
        .collect();
    tried.sort_by(|a, b| {
        a.cost
            .total_cmp(&b.cost)
            .then(a.observation.cmp(&b.observation))
    });
    let best_cost = tried.first()?.cost;
    tried.retain(|t| t.cost <= best_cost + TOLD_APART);
    // Of several that explain it, the one with the right digits in the wrong unit is the culprit.
    if let [one] = tried
        .iter()
        .filter(|t| t.slip)
        .collect::<Vec<_>>()
        .as_slice()
    {
        return Some(Doubt {
            observation: one.observation,
            or: Vec::new(),
            w: one.w,
        });
    }
    let (first, rest) = tried.split_first()?;
    Some(Doubt {
        observation: first.observation,
        or: rest.iter().map(|t| t.observation).collect(),
        w: first.w,
    })
}

/// A suspect and what leaving it out does.
#[derive(Debug, Clone, Copy)]
struct Tried {
    cost: f64,
    observation: usize,
    w: f64,
    slip: bool,
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
