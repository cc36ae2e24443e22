//! What the uncertainty means for a plate: do its clearance holes still go over the bolts?
//!
//! The plate is drilled to the measured coordinates; the bolts stand at the
//! true ones. The plate may shift and turn until every bolt passes. How often
//! that is possible is counted over patterns drawn from the covariance.

use serde::Serialize;

use super::dense::{Square, solve3};
use super::finding::{Finding, Matter};
use super::statistics::{CONFIDENCE, NORMAL_95, NormalSequence};
use super::survey::Survey;

/// Patterns drawn: the share then stands within ± 1 % (two standard deviations at 95 %).
const DRAWN: usize = 2000;

/// Seed of the fixed sequence; any number, it only has to be the same in every run.
const SEED: u64 = 0x0070_6c61_7465;

/// A bolt counts as passing when it wants less than this more, mm.
const TOUCH_MM: f64 = 1e-4;

/// A clearance hole in the plate that goes over a bolt of the measured pattern.
#[derive(Debug, Clone, PartialEq)]
pub struct ClearanceHole {
    /// Name of the measured hole the bolt stands in.
    pub hole: String,
    /// Diameter of the plate's hole, mm.
    pub diameter_mm: f64,
    /// Diameter of the bolt's shank or thread, mm.
    pub bolt_mm: f64,
    /// Standard deviation of the plate hole's own place, each way, mm.
    pub drilled_sd_mm: f64,
}

/// Whether a plate goes on.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Assembly {
    /// How often it goes on, 0 to 1.
    pub probability: f64,
    /// Uncertainty of that from counting, at 95 %.
    pub counting_error: f64,
    /// Whether it goes on at least 95 times in 100.
    pub goes_on: bool,
    /// How much larger every hole would have to be for that, on the diameter, mm; 0 when it goes on.
    pub wider_mm: f64,
    /// The hole that is in the way most often when it does not go on.
    pub tightest: Option<String>,
}

/// One clearance hole, resolved.
#[derive(Debug, Clone, Copy)]
struct Over {
    index: usize,
    arm: [f64; 2],
    play: f64,
    drilled_sd: f64,
}

/// Counts how often a plate made to the measured coordinates goes over the bolts.
///
/// # Errors
///
/// A finding when a hole is not in the survey, a clearance is no number, or no
/// hole is given.
pub fn assembly(survey: &Survey, holes: &[ClearanceHole]) -> Result<Assembly, Finding> {
    let over = resolve(survey, holes)?;
    let root = covariance(survey).root();
    let mut sequence = NormalSequence::new(SEED);
    let drawn: Vec<Vec<[f64; 2]>> = (0..DRAWN)
        .map(|_| {
            let z: Vec<f64> = (0..root.size()).map(|_| sequence.normal()).collect();
            over.iter()
                .map(|o| {
                    [0, 1].map(|axis| {
                        let row = root.row(2 * o.index + axis);
                        let place: f64 = row.iter().zip(&z).map(|(l, v)| l * v).sum();
                        place + o.drilled_sd * sequence.normal()
                    })
                })
                .collect()
        })
        .collect();
    let count = |wider: f64| {
        drawn
            .iter()
            .filter(|e| fits(&over, e, wider).is_none())
            .count()
    };
    let good = count(0.0);
    let probability = good as f64 / DRAWN as f64;
    let goes_on = probability >= CONFIDENCE;
    let wider_mm = if goes_on {
        0.0
    } else {
        2.0 * least_widening(&count)
    };
    let mut blocked = vec![0_usize; over.len()];
    for e in &drawn {
        if let Some(worst) = fits(&over, e, 0.0) {
            blocked[worst] += 1;
        }
    }
    let tightest = blocked
        .iter()
        .enumerate()
        .max_by_key(|(i, n)| (**n, std::cmp::Reverse(*i)))
        .filter(|(_, n)| **n > 0)
        .map(|(i, _)| holes[i].hole.clone());
    Ok(Assembly {
        probability,
        counting_error: NORMAL_95 * (probability * (1.0 - probability) / DRAWN as f64).sqrt(),
        goes_on,
        wider_mm,
        tightest,
    })
}

/// The survey's covariance as a matrix.
pub(super) fn covariance(survey: &Survey) -> Square {
    let n = survey.covariance_mm2.len();
    let mut m = Square::zeros(n);
    for (i, row) in survey.covariance_mm2.iter().enumerate() {
        for (j, v) in row.iter().enumerate() {
            m.set(i, j, *v);
        }
    }
    m
}

/// Finds the holes and their arms about the middle of the pattern.
fn resolve(survey: &Survey, holes: &[ClearanceHole]) -> Result<Vec<Over>, Finding> {
    if holes.is_empty() {
        return Err(Finding::error(
            Matter::TooFew,
            "no clearance hole was given",
        ));
    }
    let mut over = Vec::with_capacity(holes.len());
    for hole in holes {
        let Some(index) = survey.holes.iter().position(|h| h.name == hole.hole) else {
            return Err(Finding::error(
                Matter::UnknownName,
                format!("the plate names hole {}, which was not measured", hole.hole),
            ));
        };
        let play = 0.5 * (hole.diameter_mm - hole.bolt_mm);
        if !play.is_finite()
            || play < 0.0
            || !hole.drilled_sd_mm.is_finite()
            || hole.drilled_sd_mm < 0.0
        {
            return Err(Finding::error(
                Matter::BadNumber,
                format!(
                    "the hole over {} is {:.2} mm for a bolt of {:.2} mm: it has to be larger than the bolt",
                    hole.hole, hole.diameter_mm, hole.bolt_mm
                ),
            ));
        }
        over.push(Over {
            index,
            arm: [survey.holes[index].x_mm, survey.holes[index].y_mm],
            play,
            drilled_sd: hole.drilled_sd_mm,
        });
    }
    let n = over.len() as f64;
    let middle = [0, 1].map(|a| over.iter().map(|o| o.arm[a]).sum::<f64>() / n);
    for o in &mut over {
        o.arm = [o.arm[0] - middle[0], o.arm[1] - middle[1]];
    }
    Ok(over)
}

/// The radius to add for 95 in 100, found by halving to 1 µm.
fn least_widening(count: &dyn Fn(f64) -> usize) -> f64 {
    let wanted = (CONFIDENCE * DRAWN as f64).ceil() as usize;
    let mut high = 0.05;
    while count(high) < wanted && high < 100.0 {
        high *= 2.0;
    }
    let mut low = 0.0;
    while high - low > 1e-3 {
        let mid = 0.5 * (low + high);
        if count(mid) >= wanted {
            high = mid;
        } else {
            low = mid;
        }
    }
    high
}

/// `None` when some shift and turn lets all bolts pass; else the hole that is most in the way.
fn fits(over: &[Over], gaps: &[[f64; 2]], wider: f64) -> Option<usize> {
    const STEPS: usize = 80;
    let size = over
        .iter()
        .map(|o| o.arm[0].hypot(o.arm[1]))
        .fold(1.0, f64::max);
    // Shift x, shift y, turn × size: a small turn moves a hole square to its arm.
    let mut u = [0.0_f64; 3];
    let mut first = true;
    for _ in 0..STEPS {
        let mut m = [[0.0; 3]; 3];
        let mut b = [0.0; 3];
        let mut worst: (f64, usize) = (0.0, 0);
        for (i, (o, e)) in over.iter().zip(gaps).enumerate() {
            let turn = u[2] / size;
            let r = [e[0] - u[0] + turn * o.arm[1], e[1] - u[1] - turn * o.arm[0]];
            let length = r[0].hypot(r[1]);
            let excess = length - o.play - wider;
            if excess > worst.0 {
                worst = (excess, i);
            }
            let rows: [([f64; 3], f64); 2] = if first {
                // The plain middle position first: no hole favoured.
                [
                    ([1.0, 0.0, -o.arm[1] / size], r[0]),
                    ([0.0, 1.0, o.arm[0] / size], r[1]),
                ]
            } else if excess > 0.0 && length > 0.0 {
                let n = [r[0] / length, r[1] / length];
                let g = [n[0], n[1], (n[1] * o.arm[0] - n[0] * o.arm[1]) / size];
                [(g, excess), ([0.0; 3], 0.0)]
            } else {
                continue;
            };
            for (g, gap) in rows {
                for p in 0..3 {
                    b[p] += g[p] * gap;
                    for q in 0..3 {
                        m[p][q] += g[p] * g[q];
                    }
                }
            }
        }
        if worst.0 <= TOUCH_MM {
            return None;
        }
        let step = solve3(damped(m), b);
        // Going a little further than the tangent asks reaches the inside of the free room in few steps.
        let stretch = if first { 1.0 } else { 1.3 };
        for (v, d) in u.iter_mut().zip(step) {
            *v += stretch * d;
        }
        let moved = step.iter().fold(0.0_f64, |a, d| a.max(d.abs()));
        if !first && moved < 1e-7 {
            return Some(worst.1);
        }
        first = false;
    }
    let last = over.iter().zip(gaps).enumerate().max_by(|a, b| {
        let excess = |(_, (o, e)): &(usize, (&Over, &[f64; 2]))| {
            let turn = u[2] / size;
            (e[0] - u[0] + turn * o.arm[1]).hypot(e[1] - u[1] - turn * o.arm[0]) - o.play
        };
        excess(a).total_cmp(&excess(b))
    });
    last.map(|(i, _)| i)
}

/// The normal equations with a hint of damping: a single hole leaves the turn open.
fn damped(mut m: [[f64; 3]; 3]) -> [[f64; 3]; 3] {
    let trace = m[0][0] + m[1][1] + m[2][2];
    for (i, row) in m.iter_mut().enumerate() {
        row[i] += 1e-9 * trace.max(1e-12);
    }
    m
}
