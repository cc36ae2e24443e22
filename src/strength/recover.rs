//! Stresses at nodes and how far they can be trusted.
//!
//! Stress is best at the stiffness rule's points; it is carried from there to
//! the nodes by the field those points span, and averaged between elements.
//! The error is the difference between that smooth field and the elements'
//! own, in the energy norm (Zienkiewicz & Zhu, IJNME 24 (1987) 337–357).

use rayon::prelude::*;

use super::element::{Gradients, Rules, STRESS_POINTS};
use super::structure::{Elastic, Structure, Wedge};

/// A stress tensor: xx, yy, zz, xy, yz, zx, MPa.
pub type Tensor = [f64; 6];

/// Stresses of one load case.
#[derive(Debug, Clone, PartialEq)]
pub struct Stresses {
    /// At each node, MPa.
    pub nodes: Vec<Tensor>,
    /// Squared energy norm of each element's error, N·mm.
    pub error2: Vec<f64>,
    /// Squared energy norm of each element's stress, N·mm.
    pub energy2: Vec<f64>,
}

impl Stresses {
    /// Error as a share of the energy norm over the elements of `which`, 0 where nothing is strained.
    #[must_use]
    pub fn relative_error(&self, which: impl Fn(usize) -> bool) -> f64 {
        let (mut e, mut u) = (0.0, 0.0);
        for k in 0..self.error2.len() {
            if which(k) {
                e += self.error2[k];
                u += self.energy2[k];
            }
        }
        if u + e > 0.0 {
            (e / (u + e)).sqrt()
        } else {
            0.0
        }
    }
}

/// Elements computed by one task.
const CHUNK: usize = 32;

/// One element's stress at the stress points.
type Points = [Tensor; STRESS_POINTS];

/// Recovers the stresses of displacement fields (three a node first), one answer a field.
#[must_use]
pub fn recover(s: &Structure, rules: &Rules, fields: &[Vec<f64>]) -> Vec<Stresses> {
    let cases = fields.len();
    // Element by element with all fields in turn: the geometry is worked out once.
    let mut points: Vec<Points> = vec![[[0.0; 6]; STRESS_POINTS]; cases * s.wedges.len()];
    let mut volumes = vec![[0.0; STRESS_POINTS]; s.wedges.len()];
    if cases > 0 {
        points
            .par_chunks_mut(cases)
            .zip(&mut volumes)
            .zip(&s.wedges)
            .with_min_len(CHUNK)
            .for_each(|((own, volume), w)| {
                let gradients = Gradients::new(&s.coordinates(w), rules);
                *volume = gradients.volume;
                let material = &s.materials[w.material];
                for (slot, u) in own.iter_mut().zip(fields) {
                    let moved = w.nodes.map(|n| [u[3 * n], u[3 * n + 1], u[3 * n + 2]]);
                    *slot = gradients.stresses(&moved, material);
                }
            });
    }
    let mut count = vec![0.0; s.nodes.len()];
    for w in &s.wedges {
        for &n in &w.nodes {
            count[n] += 1.0;
        }
    }
    (0..cases)
        .into_par_iter()
        .map(|k| {
            let of = |e: usize| &points[e * cases + k];
            let nodes = at_nodes(s, rules, &count, of);
            let norms: Vec<(f64, f64)> = (0..s.wedges.len())
                .into_par_iter()
                .with_min_len(CHUNK)
                .map(|e| norms(&s.wedges[e], s, rules, &nodes, (of(e), &volumes[e])))
                .collect();
            Stresses {
                nodes,
                error2: norms.iter().map(|n| n.0).collect(),
                energy2: norms.iter().map(|n| n.1).collect(),
            }
        })
        .collect()
}

/// Stresses carried to the nodes and averaged there.
fn at_nodes<'a>(
    s: &Structure,
    rules: &Rules,
    count: &[f64],
    of: impl Fn(usize) -> &'a Points,
) -> Vec<Tensor> {
    let mut nodes = vec![[0.0; 6]; s.nodes.len()];
    for (e, w) in s.wedges.iter().enumerate() {
        let p = of(e);
        for (weights, &n) in rules.to_nodes.iter().zip(&w.nodes) {
            let mut own = [0.0; 6];
            for (f, tensor) in weights.iter().zip(p) {
                for (o, t) in own.iter_mut().zip(tensor) {
                    *o += f * t;
                }
            }
            for (sum, o) in nodes[n].iter_mut().zip(own) {
                *sum += o;
            }
        }
    }
    for (t, c) in nodes.iter_mut().zip(count) {
        for v in t.iter_mut() {
            *v /= f64::max(*c, 1.0);
        }
    }
    nodes
}

/// Squared energy norms of an element's error and stress.
fn norms(
    w: &Wedge,
    s: &Structure,
    rules: &Rules,
    nodes: &[Tensor],
    (points, volumes): (&Points, &[f64; STRESS_POINTS]),
) -> (f64, f64) {
    let material = &s.materials[w.material];
    let (mut error, mut energy) = (0.0, 0.0);
    for ((own, volume), sample) in points.iter().zip(volumes).zip(&rules.stiffness) {
        let mut gap = own.map(|v| -v);
        for (f, &n) in sample.n.iter().zip(&w.nodes) {
            for (g, t) in gap.iter_mut().zip(&nodes[n]) {
                *g += f * t;
            }
        }
        error += volume * strain_energy(&gap, material);
        energy += volume * strain_energy(own, material);
    }
    (error, energy)
}

/// σ : C⁻¹ : σ, N/mm².
fn strain_energy(t: &Tensor, material: &Elastic) -> f64 {
    let (e, nu) = (material.young_mpa, material.poisson);
    let direct = t[0] * t[0] + t[1] * t[1] + t[2] * t[2]
        - 2.0 * nu * (t[0] * t[1] + t[1] * t[2] + t[2] * t[0]);
    let shear = t[3] * t[3] + t[4] * t[4] + t[5] * t[5];
    (direct + 2.0 * (1.0 + nu) * shear) / e
}

/// Von Mises stress, MPa.
#[must_use]
pub fn von_mises(t: &Tensor) -> f64 {
    let direct = (t[0] - t[1]).powi(2) + (t[1] - t[2]).powi(2) + (t[2] - t[0]).powi(2);
    let shear = t[3] * t[3] + t[4] * t[4] + t[5] * t[5];
    (0.5 * direct + 3.0 * shear).sqrt()
}

/// Principal stresses, greatest first, MPa (closed form of the cubic).
#[must_use]
pub fn principal(t: &Tensor) -> [f64; 3] {
    let mean = (t[0] + t[1] + t[2]) / 3.0;
    let d = [t[0] - mean, t[1] - mean, t[2] - mean];
    let j2 =
        0.5 * (d[0] * d[0] + d[1] * d[1] + d[2] * d[2]) + t[3] * t[3] + t[4] * t[4] + t[5] * t[5];
    if j2 <= 0.0 {
        return [mean; 3];
    }
    let j3 = d[0] * (d[1] * d[2] - t[4] * t[4]) - t[3] * (t[3] * d[2] - t[4] * t[5])
        + t[5] * (t[3] * t[4] - d[1] * t[5]);
    let r = 2.0 * (j2 / 3.0).sqrt();
    let cosine = (1.5 * 3.0_f64.sqrt() * j3 / j2.powf(1.5)).clamp(-1.0, 1.0);
    let angle = cosine.acos() / 3.0;
    let third = 2.0 * std::f64::consts::PI / 3.0;
    [
        mean + r * angle.cos(),
        mean + r * (angle - third).cos(),
        mean + r * (angle + third).cos(),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn principal_stresses_of_known_tensors() {
        let near = |a: [f64; 3], b: [f64; 3]| a.iter().zip(b).all(|(x, y)| (x - y).abs() < 1e-9);
        assert!(near(
            principal(&[3.0, 1.0, 2.0, 0.0, 0.0, 0.0]),
            [3.0, 2.0, 1.0]
        ));
        assert!(near(
            principal(&[0.0, 0.0, 0.0, 5.0, 0.0, 0.0]),
            [5.0, 0.0, -5.0]
        ));
        assert!(near(principal(&[7.0, 7.0, 7.0, 0.0, 0.0, 0.0]), [7.0; 3]));
        // Sum and determinant are invariants.
        let t = [10.0, -4.0, 3.0, 2.0, -6.0, 1.5];
        let p = principal(&t);
        let det = t[0] * (t[1] * t[2] - t[4] * t[4]) - t[3] * (t[3] * t[2] - t[4] * t[5])
            + t[5] * (t[3] * t[4] - t[1] * t[5]);
        assert!((p[0] + p[1] + p[2] - 9.0).abs() < 1e-9);
        assert!((p[0] * p[1] * p[2] - det).abs() < 1e-8);
    }

    #[test]
    fn von_mises_of_pure_shear_is_root_three() {
        assert!((von_mises(&[0.0, 0.0, 0.0, 1.0, 0.0, 0.0]) - 3.0_f64.sqrt()).abs() < 1e-12);
    }
}
