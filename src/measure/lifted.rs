//! Starts from scattered points that may first move in space, where they do not get stuck.
//!
//! In the plane a hole on the wrong side of its neighbours cannot pass through
//! them. With a third coordinate it walks round; the third coordinate is then
//! pressed to zero step by step. Common device of distance geometry (see G. M.
//! Crippen and T. F. Havel, Distance Geometry and Molecular Conformation,
//! 1988, on embedding in a higher dimension).

use super::dense::Square;
use super::start::Link;
use super::statistics::NormalSequence;
use super::system::{Slot, System, Target};

/// Stiffness that presses the third coordinate down, against 1 for a length, and steps at each.
const PRESS: [(f64, usize); 7] = [
    (0.0, 12),
    (1e-4, 5),
    (1e-3, 5),
    (1e-2, 5),
    (1e-1, 5),
    (1.0, 4),
    (100.0, 3),
];

/// Damping of the steps, as a share of the diagonal; large, since only the way matters, not the last digit.
const DAMPING: f64 = 1e-3;

/// A pattern reached from scattered points; number `k` of a fixed series.
pub(super) fn pattern(
    system: &System,
    links: &[Link],
    sequence: &mut NormalSequence,
) -> Vec<[f64; 2]> {
    let size = links.iter().map(|l| l.length).fold(50.0, f64::max);
    let mut points: Vec<[f64; 3]> = system
        .holes
        .iter()
        .map(|slots| {
            [0, 1, 2].map(|axis| match slots.get(axis) {
                Some(Slot::Fixed(v)) if system.absolute => *v,
                _ => (sequence.uniform() - 0.5) * size,
            })
        })
        .collect();
    let n = points.len();
    let mut normal = Square::zeros(3 * n);
    let mut right = vec![0.0; 3 * n];
    for (press, steps) in PRESS {
        for _ in 0..steps {
            normal.clear();
            right.fill(0.0);
            pull_lengths(&points, links, &mut normal, &mut right);
            if system.absolute {
                pull_edges(system, &points, &mut normal, &mut right);
            }
            for (i, p) in points.iter().enumerate() {
                normal.add(3 * i + 2, 3 * i + 2, press);
                right[3 * i + 2] -= press * p[2];
                for axis in 0..3 {
                    let d = normal.at(3 * i + axis, 3 * i + axis);
                    normal.set(3 * i + axis, 3 * i + axis, d * (1.0 + DAMPING) + DAMPING);
                }
                if system.absolute {
                    hold_fixed(system, i, &mut normal, &mut right);
                }
            }
            let Ok(factor) = normal.cholesky() else { break };
            let step = factor.solve_factored(&right);
            for (i, p) in points.iter_mut().enumerate() {
                for axis in 0..3 {
                    p[axis] += step[3 * i + axis];
                }
            }
        }
    }
    points.iter().map(|p| [p[0], p[1]]).collect()
}

/// Adds the equations of the lengths, all of one weight.
fn pull_lengths(points: &[[f64; 3]], links: &[Link], normal: &mut Square, right: &mut [f64]) {
    for l in links {
        let (p, q) = (points[l.a], points[l.b]);
        let d = [q[0] - p[0], q[1] - p[1], q[2] - p[2]];
        let length = (d[0] * d[0] + d[1] * d[1] + d[2] * d[2]).sqrt().max(1e-6);
        let u = d.map(|v| v / length);
        let gap = l.length - length;
        for i in 0..3 {
            right[3 * l.a + i] -= u[i] * gap;
            right[3 * l.b + i] += u[i] * gap;
            for j in 0..3 {
                let uu = u[i] * u[j];
                normal.add(3 * l.a + i, 3 * l.a + j, uu);
                normal.add(3 * l.b + i, 3 * l.b + j, uu);
                normal.add(3 * l.a + i, 3 * l.b + j, -uu);
                normal.add(3 * l.b + i, 3 * l.a + j, -uu);
            }
        }
    }
}

/// Adds the readings from square edges whose place is known.
fn pull_edges(system: &System, points: &[[f64; 3]], normal: &mut Square, right: &mut [f64]) {
    for o in &system.observations {
        let Target::FromLine { line, hole, rim } = o.target else {
            continue;
        };
        let (Slot::Fixed(offset), Slot::Fixed(_)) =
            (system.lines[line].offset, system.lines[line].turn)
        else {
            continue;
        };
        let (sin, cos) = system.lines[line].nominal.sin_cos();
        let n = [cos, sin];
        let off = rim.map_or(0.0, |(r, f)| f * system.rims[r].start);
        let p = points[hole];
        let gap = o.value - off + offset - (p[0] * n[0] + p[1] * n[1]);
        for i in 0..2 {
            right[3 * hole + i] += n[i] * gap;
            for j in 0..2 {
                normal.add(3 * hole + i, 3 * hole + j, n[i] * n[j]);
            }
        }
    }
}

/// Keeps given coordinates where they are.
fn hold_fixed(system: &System, hole: usize, normal: &mut Square, right: &mut [f64]) {
    const HOLD: f64 = 1e9;
    for (axis, slot) in system.holes[hole].iter().enumerate() {
        if matches!(slot, Slot::Fixed(_)) {
            normal.add(3 * hole + axis, 3 * hole + axis, HOLD);
            right[3 * hole + axis] = 0.0;
        }
    }
}
