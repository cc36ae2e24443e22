//! Rounds a measured pattern, or makes it symmetric, where the uncertainty allows: only when asked.
//!
//! A condition is put on the coordinates and the rest follow by their
//! covariance; whether the readings bear it is the chi-square test of the
//! change (condition equations, Ghilani and Wolf, Adjustment Computations,
//! chapter 20 on constraints).

use serde::Serialize;

use super::assembly::covariance;
use super::dense::Square;
use super::finding::{Finding, Matter};
use super::fit::best_motion;
use super::statistics::{CONFIDENCE, NORMAL_95, chi_square_quantile};
use super::survey::Survey;

/// How many times the symmetry conditions are taken linear; they are nearly so.
const ROUNDS: usize = 8;

/// Widest gap, in ellipse sizes, at which two holes are still thought of as mirror images of each other.
const PARTNER_SHARE: f64 = 3.0;

/// A pattern after rounding or mirroring.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Snapped {
    /// The holes, in the survey's order.
    pub holes: Vec<SnappedHole>,
    /// What was done, in words.
    pub done: Vec<String>,
    /// What was not done because the readings speak against it, in words.
    pub refused: Vec<String>,
    /// Weighted square of the change.
    pub chi_square: f64,
    /// Its 95 % limit.
    pub chi_square_limit: f64,
}

/// A hole after rounding or mirroring.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SnappedHole {
    /// Its name.
    pub name: String,
    /// Position, mm.
    pub x_mm: f64,
    /// Position, mm.
    pub y_mm: f64,
    /// How far it moved, mm.
    pub moved_mm: f64,
}

/// Rounds coordinates to multiples of `step_mm` where they lie within their uncertainty of one.
///
/// Coordinates that are not rounded move along with the others as their
/// covariance says.
///
/// # Errors
///
/// A finding when the step is not a length above 0.
pub fn snap_to_grid(survey: &Survey, step_mm: f64) -> Result<Snapped, Finding> {
    if !step_mm.is_finite() || step_mm <= 0.0 {
        return Err(Finding::error(
            Matter::BadNumber,
            "the step to round to is not a length above 0 mm",
        ));
    }
    let sigma = covariance(survey);
    let x = coordinates(survey);
    let mut done = Vec::new();
    let mut refused = Vec::new();
    let mut chosen: Vec<(usize, f64)> = Vec::new();
    let mut blurred = Vec::new();
    for (k, v) in x.iter().enumerate() {
        let sd = sigma.at(k, k).max(0.0).sqrt();
        if sd == 0.0 {
            continue;
        }
        let target = (v / step_mm).round() * step_mm;
        if (target - v).abs() <= NORMAL_95 * sd {
            chosen.push((k, target - v));
        } else {
            refused.push(format!(
                "{} = {v:.3} stays: {target} is {:.3} mm off, its uncertainty is ± {:.3}",
                coordinate_name(survey, k),
                (target - v).abs(),
                NORMAL_95 * sd
            ));
        }
        if step_mm <= 2.0 * NORMAL_95 * sd {
            blurred.push(coordinate_name(survey, k));
        }
    }
    if !blurred.is_empty() {
        refused.push(format!(
            "a step of {step_mm} mm is finer than the uncertainty of {}: that these fall on it says nothing",
            blurred.join(", ")
        ));
    }
    let (change, chi, limit) = loop {
        let (change, chi) = conditioned(&sigma, &chosen);
        let limit = chi_square_quantile(CONFIDENCE, chosen.len());
        if chi <= limit || chosen.is_empty() {
            break (change, chi, limit);
        }
        let pull = |c: &(usize, f64)| c.1.abs() / sigma.at(c.0, c.0).sqrt();
        let worst =
            (0..chosen.len()).max_by(|a, b| pull(&chosen[*a]).total_cmp(&pull(&chosen[*b])));
        if let Some(worst) = worst {
            let (k, d) = chosen.remove(worst);
            refused.push(format!(
                "{} = {:.3} stays: {} fits alone but not together with the others",
                coordinate_name(survey, k),
                x[k],
                x[k] + d
            ));
        }
    };
    for (k, d) in &chosen {
        done.push(format!(
            "{} {:.3} → {}",
            coordinate_name(survey, *k),
            x[*k],
            tidy(x[*k] + d)
        ));
    }
    Ok(written(survey, &change, done, refused, chi, limit))
}

/// Makes the pattern symmetric about a line, if it is symmetric within its uncertainty.
///
/// # Errors
///
/// A finding when no line of symmetry pairs the holes up, or when the readings
/// speak against the one that does, with the pair that is furthest off.
pub fn snap_to_mirror(survey: &Survey) -> Result<Snapped, Finding> {
    let sigma = covariance(survey);
    let start = coordinates(survey);
    let points: Vec<[f64; 2]> = survey.holes.iter().map(|h| [h.x_mm, h.y_mm]).collect();
    let reach = survey
        .holes
        .iter()
        .map(|h| PARTNER_SHARE * h.ellipse.major_mm)
        .fold(0.2, f64::max);
    let whole = |pairs: &[(usize, usize)]| {
        pairs.len() == points.len()
            && pairs.iter().all(|(a, b)| pairs.contains(&(*b, *a)))
            && pairs.iter().any(|(a, b)| a != b)
    };
    let Some((_, pairs)) = best_motion(&points, &points, reach, &[true], whole) else {
        return Err(Finding::error(
            Matter::Mirror,
            format!("no line of symmetry pairs up all holes within {reach:.2} mm"),
        ));
    };
    let twins: Vec<(usize, usize)> = pairs.iter().copied().filter(|(a, b)| a < b).collect();
    let on_axis: Vec<usize> = pairs.iter().filter(|(a, b)| a == b).map(|p| p.0).collect();
    let mut x = start.clone();
    let mut chi = 0.0;
    let mut freedom = 0;
    for _ in 0..ROUNDS {
        let conditions = symmetry(&x, &twins, &on_axis);
        freedom = conditions.len();
        // The correction is always counted from the measured coordinates, so that the sum stays a least-squares one.
        let gaps: Vec<f64> = conditions
            .iter()
            .map(|(value, gradient)| {
                let back: f64 = gradient.iter().map(|(k, g)| g * (start[*k] - x[*k])).sum();
                value + back
            })
            .collect();
        let rows: Vec<&Vec<(usize, f64)>> = conditions.iter().map(|c| &c.1).collect();
        let (change, c) = met(&sigma, &rows, &gaps);
        chi = c;
        for (v, (s, d)) in x.iter_mut().zip(start.iter().zip(&change)) {
            *v = s + d;
        }
    }
    let limit = chi_square_quantile(CONFIDENCE, freedom);
    let change: Vec<f64> = x.iter().zip(&start).map(|(a, b)| a - b).collect();
    if chi > limit {
        let worst = (0..survey.holes.len()).max_by(|a, b| {
            let m = |h: &usize| change[2 * h].hypot(change[2 * h + 1]);
            m(a).total_cmp(&m(b))
        });
        let name = worst.map_or("", |h| survey.holes[h].name.as_str());
        return Err(Finding::error(
            Matter::Mirror,
            format!(
                "the pattern is not symmetric within its uncertainty: weighted change {chi:.1}, at most {limit:.1}; hole {name} is furthest off"
            ),
        ));
    }
    let mut done: Vec<String> = twins
        .iter()
        .map(|(a, b)| {
            format!(
                "{} and {} mirror each other",
                survey.holes[*a].name, survey.holes[*b].name
            )
        })
        .collect();
    done.extend(
        on_axis
            .iter()
            .map(|h| format!("{} lies on the line of symmetry", survey.holes[*h].name)),
    );
    Ok(written(survey, &change, done, Vec::new(), chi, limit))
}

/// A condition: its present value and its gradient.
type Condition = (f64, Vec<(usize, f64)>);

/// The conditions of symmetry: all twins parallel, their middles and the axis holes on one line square to them.
///
/// The longest twin gives the direction; every other twin and axis hole is held against it.
fn symmetry(x: &[f64], twins: &[(usize, usize)], on_axis: &[usize]) -> Vec<Condition> {
    let vector = |(a, b): (usize, usize)| [x[2 * b] - x[2 * a], x[2 * b + 1] - x[2 * a + 1]];
    let length = |t: &(usize, usize)| {
        let v = vector(*t);
        v[0].hypot(v[1])
    };
    let Some(lead) = twins
        .iter()
        .copied()
        .max_by(|a, b| length(a).total_cmp(&length(b)))
    else {
        return Vec::new();
    };
    let (a, b) = lead;
    let v = vector(lead);
    let middle = [
        0.5 * (x[2 * a] + x[2 * b]),
        0.5 * (x[2 * a + 1] + x[2 * b + 1]),
    ];
    let mut list = Vec::new();
    for (c, d) in twins.iter().copied().filter(|t| *t != lead) {
        let w = vector((c, d));
        // v × w = 0
        list.push((
            v[0] * w[1] - v[1] * w[0],
            vec![
                (2 * a, -w[1]),
                (2 * b, w[1]),
                (2 * a + 1, w[0]),
                (2 * b + 1, -w[0]),
                (2 * c, v[1]),
                (2 * d, -v[1]),
                (2 * c + 1, -v[0]),
                (2 * d + 1, v[0]),
            ],
        ));
        list.push(square_to_lead(x, (a, b), v, middle, &[(c, 0.5), (d, 0.5)]));
    }
    for q in on_axis {
        list.push(square_to_lead(x, (a, b), v, middle, &[(*q, 1.0)]));
    }
    list
}

/// (q − m)·v = 0 for a point q that is a mean of holes, m the middle of the leading twin and v its direction.
fn square_to_lead(
    x: &[f64],
    (a, b): (usize, usize),
    v: [f64; 2],
    m: [f64; 2],
    shares: &[(usize, f64)],
) -> Condition {
    let q = [0, 1].map(|k| shares.iter().map(|(h, s)| s * x[2 * h + k]).sum::<f64>());
    let d = [q[0] - m[0], q[1] - m[1]];
    let mut gradient = Vec::new();
    for k in 0..2 {
        for (h, s) in shares {
            gradient.push((2 * h + k, s * v[k]));
        }
        gradient.push((2 * a + k, -d[k] - 0.5 * v[k]));
        gradient.push((2 * b + k, d[k] - 0.5 * v[k]));
    }
    (d[0] * v[0] + d[1] * v[1], gradient)
}

/// The least change that meets linear conditions `row·change = −gap`, and its weighted square.
fn met(sigma: &Square, rows: &[&Vec<(usize, f64)>], gaps: &[f64]) -> (Vec<f64>, f64) {
    let n = sigma.size();
    let m = rows.len();
    // B Σ, row by row
    let spread: Vec<Vec<f64>> = rows
        .iter()
        .map(|row| {
            (0..n)
                .map(|j| row.iter().map(|(k, g)| g * sigma.at(*k, j)).sum())
                .collect()
        })
        .collect();
    let mut normal = Square::zeros(m);
    for (i, s) in spread.iter().enumerate() {
        for (j, row) in rows.iter().enumerate() {
            normal.set(i, j, row.iter().map(|(k, g)| g * s[*k]).sum());
        }
    }
    let factors = solve_root(&normal, gaps);
    let change = (0..n)
        .map(|j| {
            -spread
                .iter()
                .zip(&factors)
                .map(|(s, f)| s[j] * f)
                .sum::<f64>()
        })
        .collect();
    let chi = gaps.iter().zip(&factors).map(|(g, f)| g * f).sum();
    (change, chi)
}

/// Solves a semidefinite system by its root, leaving out what has no pivot.
fn solve_root(normal: &Square, b: &[f64]) -> Vec<f64> {
    let root = normal.root();
    let keep: Vec<usize> = (0..root.size()).filter(|i| root.at(*i, *i) > 0.0).collect();
    let mut reduced = Square::zeros(keep.len());
    for (i, p) in keep.iter().enumerate() {
        for (j, q) in keep.iter().enumerate() {
            reduced.set(i, j, normal.at(*p, *q));
        }
    }
    let mut out = vec![0.0; b.len()];
    if let Ok(factor) = reduced.cholesky() {
        let right: Vec<f64> = keep.iter().map(|i| b[*i]).collect();
        for (i, v) in keep.iter().zip(factor.solve_factored(&right)) {
            out[*i] = v;
        }
    }
    out
}

/// The change of all coordinates when some are set, and its weighted square.
fn conditioned(sigma: &Square, set: &[(usize, f64)]) -> (Vec<f64>, f64) {
    let rows: Vec<Vec<(usize, f64)>> = set.iter().map(|(k, _)| vec![(*k, 1.0)]).collect();
    let refs: Vec<&Vec<(usize, f64)>> = rows.iter().collect();
    let gaps: Vec<f64> = set.iter().map(|(_, d)| -d).collect();
    met(sigma, &refs, &gaps)
}

/// All coordinates of a survey.
fn coordinates(survey: &Survey) -> Vec<f64> {
    survey.holes.iter().flat_map(|h| [h.x_mm, h.y_mm]).collect()
}

/// Words for coordinate `k`.
fn coordinate_name(survey: &Survey, k: usize) -> String {
    format!(
        "{} {}",
        survey.holes[k / 2].name,
        if k.is_multiple_of(2) { "x" } else { "y" }
    )
}

/// A number without the noise of its last binary digits.
fn tidy(v: f64) -> f64 {
    let r = (v * 1e6).round() / 1e6;
    if r == 0.0 { 0.0 } else { r }
}

/// Writes the changed pattern down.
fn written(
    survey: &Survey,
    change: &[f64],
    done: Vec<String>,
    refused: Vec<String>,
    chi_square: f64,
    chi_square_limit: f64,
) -> Snapped {
    Snapped {
        holes: survey
            .holes
            .iter()
            .zip(change.chunks_exact(2))
            .map(|(h, c)| SnappedHole {
                name: h.name.clone(),
                x_mm: tidy(h.x_mm + c[0]),
                y_mm: tidy(h.y_mm + c[1]),
                moved_mm: c[0].hypot(c[1]),
            })
            .collect(),
        done,
        refused,
        chi_square,
        chi_square_limit,
    }
}
