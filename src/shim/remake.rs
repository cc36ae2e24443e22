//! Lengths that would make the drive run true: spacers to turn, and parts to remake when washers cannot.

use serde::Serialize;

use super::mount::{Bolt, Stand};
use super::state::State;

/// Steps of the sum; it is nearly linear.
const STEPS: usize = 40;

/// A lift below this is not worth turning, mm.
pub(super) const WORTH_MM: f64 = 0.02;

/// What one bolt of a mount would need.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Need {
    /// The mount.
    pub mount: String,
    /// The bolt.
    pub bolt: String,
    /// How much higher its seat would have to be, mm; below 0: lower.
    pub lift_mm: f64,
    /// Length of the spacer now and the length to turn it to, mm, when one stands there.
    pub spacer_mm: Option<[f64; 2]>,
}

/// Exact lifts for every mount, and what they achieve.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Needs {
    /// The bolts that need anything.
    pub bolts: Vec<Need>,
    /// Largest share of a limit that is used afterwards; above 1 when no lift can do it.
    pub share: f64,
    /// How each pulley would stand.
    pub stands: Vec<Stand>,
    /// Pulleys that no lift brings within their limits: how far forward their holes would have to go, mm.
    pub beyond: Vec<(String, f64)>,
    /// Pulleys that stay askew beyond their limits: by how much, deg.
    pub askew: Vec<(String, f64)>,
}

/// Finds the plane for every mount that makes its pulleys truest.
///
/// Only the mounts `may_move` says yes to are changed, on top of the lifts `given` to the others.
pub(super) fn needs(
    state: &State<'_>,
    may_move: &dyn Fn(usize) -> bool,
    given: &[Vec<f64>],
) -> Needs {
    let mounts = state.drive.mounts.len();
    let free: Vec<usize> = (0..mounts)
        .map(|m| {
            if may_move(m) {
                state.layouts[m].freedoms()
            } else {
                0
            }
        })
        .collect();
    let mut at: Vec<Vec<f64>> = free.iter().map(|f| vec![0.0; *f]).collect();
    // A mount that carries others is set first; what is left is for those on it.
    let mut order: Vec<usize> = (0..mounts).collect();
    order.sort_by_key(|m| depth(state, *m));
    for _ in 0..3 {
        for m in &order {
            settle(state, &mut at, *m);
        }
    }
    let lifts = lifts(state, &at);
    let own: Vec<_> = state
        .drive
        .mounts
        .iter()
        .zip(&state.layouts)
        .enumerate()
        .map(|(m, (mount, layout))| {
            let l = if may_move(m) { &lifts[m] } else { &given[m] };
            layout.tipped(l).motion(mount)
        })
        .collect();
    let stands = state.after(&own);
    let used = state.used(&stands);
    let mut bolts = Vec::new();
    for (mount, l) in state.drive.mounts.iter().zip(&lifts) {
        if l.iter().all(|h| h.abs() < WORTH_MM) {
            continue;
        }
        for (bolt, h) in mount.bolts.iter().zip(l) {
            bolts.push(Need {
                mount: mount.name.clone(),
                bolt: bolt.name.clone(),
                lift_mm: *h,
                spacer_mm: bolt
                    .spacer_mm
                    .map(|s| [s, s + grows(bolt, *h)])
                    .filter(|[_, then]| *then > 0.0),
            });
        }
    }
    let beyond = state
        .drive
        .pulleys
        .iter()
        .zip(&stands)
        .filter(|(p, s)| p.mount.is_some() && s.offset_mm.abs() > p.offset_limit_mm)
        .map(|(p, s)| (p.name.clone(), -s.offset_mm))
        .collect();
    let askew = state
        .drive
        .pulleys
        .iter()
        .zip(&stands)
        .filter(|(p, s)| p.mount.is_some() && s.tilt_deg() > p.tilt_limit_deg)
        .map(|(p, s)| (p.name.clone(), s.tilt_deg()))
        .collect();
    Needs {
        bolts,
        share: used.share,
        stands,
        beyond,
        askew,
    }
}

/// How much longer a spacer has to be for a lift, mm: one behind its plate pushes the other way.
fn grows(bolt: &Bolt, lift_mm: f64) -> f64 {
    let inwards = bolt.place.as_ref().is_some_and(|p| p.inwards);
    if inwards { -lift_mm } else { lift_mm }
}

/// How many mounts a mount stands on.
fn depth(state: &State<'_>, mount: usize) -> usize {
    // A circle was refused by the check; the count only bounds the walk.
    std::iter::successors(state.parents[mount], |m| state.parents[*m])
        .take(state.parents.len())
        .count()
}

/// Lifts of every mount from its freedoms.
fn lifts(state: &State<'_>, at: &[Vec<f64>]) -> Vec<Vec<f64>> {
    state
        .layouts
        .iter()
        .zip(at)
        .map(|(l, f)| l.lifts(f))
        .collect()
}

/// Residuals of the pulleys a mount carries, directly or through others: offset and axis in shares of their limits.
fn residuals(state: &State<'_>, at: &[Vec<f64>], mount: usize) -> Vec<f64> {
    let own: Vec<_> = state
        .drive
        .mounts
        .iter()
        .zip(&state.layouts)
        .zip(lifts(state, at))
        .map(|((m, layout), l)| layout.tipped(&l).motion(m))
        .collect();
    let stands = state.after(&own);
    let mut out = Vec::new();
    for (p, pulley) in state.drive.pulleys.iter().enumerate() {
        if state.chain(p).contains(&mount) {
            let tilt = pulley.tilt_limit_deg.to_radians().sin();
            out.push(stands[p].offset_mm / pulley.offset_limit_mm);
            out.push(stands[p].axis[0] / tilt);
            out.push(stands[p].axis[1] / tilt);
        }
    }
    out
}

/// Least squares over the freedoms of one mount (Levenberg-Marquardt, differences for derivatives).
fn settle(state: &State<'_>, at: &mut [Vec<f64>], mount: usize) {
    let n = at[mount].len();
    if n == 0 {
        return;
    }
    let mut damping = 1e-6;
    let mut now = residuals(state, at, mount);
    if now.is_empty() {
        return;
    }
    let square = |r: &[f64]| r.iter().map(|v| v * v).sum::<f64>();
    for _ in 0..STEPS {
        let columns: Vec<Vec<f64>> = (0..n)
            .map(|k| {
                let step = if k == 0 { 1e-4 } else { 1e-6 };
                let keep = at[mount][k];
                at[mount][k] = keep + step;
                let up = residuals(state, at, mount);
                at[mount][k] = keep - step;
                let down = residuals(state, at, mount);
                at[mount][k] = keep;
                up.iter()
                    .zip(&down)
                    .map(|(a, b)| (a - b) / (2.0 * step))
                    .collect()
            })
            .collect();
        let mut m = [[0.0; 3]; 3];
        let mut b = [0.0; 3];
        for i in 0..3 {
            if i >= n {
                m[i][i] = 1.0;
                continue;
            }
            b[i] = -columns[i].iter().zip(&now).map(|(c, r)| c * r).sum::<f64>();
            for j in 0..n {
                m[i][j] = columns[i].iter().zip(&columns[j]).map(|(a, c)| a * c).sum();
            }
            m[i][i] = m[i][i] * (1.0 + damping) + 1e-12;
        }
        let step = crate::measure::dense::solve3(m, b);
        let keep = at[mount].clone();
        for (v, d) in at[mount].iter_mut().zip(step) {
            *v += d;
        }
        let next = residuals(state, at, mount);
        if square(&next) <= square(&now) {
            let gain = square(&now) - square(&next);
            now = next;
            damping *= 0.1;
            if gain < 1e-18 {
                break;
            }
        } else {
            at[mount] = keep;
            damping = (damping * 10.0).max(1e-9);
            if damping > 1e6 {
                break;
            }
        }
    }
}
