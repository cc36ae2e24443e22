//! The consistent mass of a structure, applied without ties and then gathered.
//!
//! An element's mass is one scalar matrix for all three directions, so it is
//! kept node by node: a ninth of the full matrix.

use rayon::prelude::*;

use super::beam;
use super::element::{self, MASS_PACKED, Rules, packed};
use super::reduction::Reduction;
use super::structure::Structure;

/// Mass of all nodes (symmetric, by rows), bodies and beams.
#[derive(Debug, Clone)]
pub struct Mass {
    pointers: Vec<usize>,
    columns: Vec<usize>,
    values: Vec<f64>,
    /// Part of each node.
    part_of: Vec<usize>,
    parts: usize,
    bodies: Vec<[[f64; 6]; 6]>,
    beams: Vec<(usize, usize, beam::Matrix12)>,
}

impl Mass {
    /// Computes the mass of a structure.
    #[must_use]
    pub fn new(s: &Structure, rules: &Rules) -> Self {
        let elements: Vec<[f64; MASS_PACKED]> = s
            .wedges
            .par_iter()
            .with_min_len(32)
            .map(|w| {
                let mut m = [0.0; MASS_PACKED];
                let density = s.materials[w.material].density_t_mm3;
                element::mass(&s.coordinates(w), density, rules, &mut m);
                m
            })
            .collect();
        let mut of: Vec<Vec<(usize, usize)>> = vec![Vec::new(); s.nodes.len()];
        let mut part_of = vec![0; s.nodes.len()];
        for (e, w) in s.wedges.iter().enumerate() {
            for (a, &n) in w.nodes.iter().enumerate() {
                of[n].push((e, a));
                part_of[n] = w.part;
            }
        }
        let rows: Vec<(Vec<usize>, Vec<f64>)> = of
            .par_iter()
            .with_min_len(128)
            .map(|list| {
                let mut columns: Vec<usize> =
                    list.iter().flat_map(|&(e, _)| s.wedges[e].nodes).collect();
                columns.sort_unstable();
                columns.dedup();
                let mut values = vec![0.0; columns.len()];
                for &(e, a) in list {
                    for (b, n) in s.wedges[e].nodes.iter().enumerate() {
                        let k = columns.partition_point(|c| c < n);
                        values[k] += elements[e][packed(a.max(b), a.min(b))];
                    }
                }
                (columns, values)
            })
            .collect();
        let mut pointers = vec![0];
        let (mut columns, mut values) = (Vec::new(), Vec::new());
        for (c, v) in rows {
            columns.extend(c);
            values.extend(v);
            pointers.push(columns.len());
        }
        Self {
            pointers,
            columns,
            values,
            part_of,
            parts: s.parts.len(),
            bodies: s.bodies.iter().map(super::RigidBody::mass_matrix).collect(),
            beams: s
                .beams
                .iter()
                .map(|b| {
                    let (from, to) = (s.bodies[b.from].at, s.bodies[b.to].at);
                    (b.from, b.to, beam::mass(b, from, to))
                })
                .collect(),
        }
    }

    /// Mass times a field of all displacements (three a node, six a body).
    #[must_use]
    pub fn apply(&self, u: &[f64]) -> Vec<f64> {
        let nodes = self.pointers.len() - 1;
        let mut out = vec![0.0; u.len()];
        let (node_part, body_part) = out.split_at_mut(3 * nodes);
        node_part
            .par_chunks_mut(3)
            .enumerate()
            .with_min_len(512)
            .for_each(|(n, y)| {
                for k in self.pointers[n]..self.pointers[n + 1] {
                    let (c, m) = (3 * self.columns[k], self.values[k]);
                    y[0] += m * u[c];
                    y[1] += m * u[c + 1];
                    y[2] += m * u[c + 2];
                }
            });
        let x = &u[3 * nodes..];
        for (b, m) in self.bodies.iter().enumerate() {
            for i in 0..6 {
                for j in 0..6 {
                    body_part[6 * b + i] += m[i][j] * x[6 * b + j];
                }
            }
        }
        for (from, to, m) in &self.beams {
            let place = |i: usize| 6 * if i < 6 { *from } else { *to } + i % 6;
            for (i, row) in m.iter().enumerate() {
                for (j, v) in row.iter().enumerate() {
                    body_part[place(i)] += v * x[place(j)];
                }
            }
        }
        out
    }

    /// Mass times unknowns: TᵀMT q.
    #[must_use]
    pub fn apply_reduced(&self, s: &Structure, r: &Reduction, q: &[f64]) -> Vec<f64> {
        r.gather(s, &self.apply(&r.expand(s, q, false)))
    }

    /// uᵀMu of each elastic part, rigid body and beam; parts share no node.
    #[must_use]
    pub fn shares(&self, u: &[f64]) -> Shares {
        let mut parts = vec![0.0; self.parts];
        let product = self.apply(u);
        let nodes = u.chunks_exact(3).zip(product.chunks_exact(3));
        for (part, (a, b)) in self.part_of.iter().zip(nodes) {
            parts[*part] += a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
        }
        let nodes = self.pointers.len() - 1;
        let x = &u[3 * nodes..];
        let bodies = self
            .bodies
            .iter()
            .enumerate()
            .map(|(b, m)| {
                let mut sum = 0.0;
                for i in 0..6 {
                    for j in 0..6 {
                        sum += x[6 * b + i] * m[i][j] * x[6 * b + j];
                    }
                }
                sum
            })
            .collect();
        let beams = self
            .beams
            .iter()
            .map(|(from, to, m)| {
                let place = |i: usize| 6 * if i < 6 { *from } else { *to } + i % 6;
                let mut sum = 0.0;
                for (i, row) in m.iter().enumerate() {
                    for (j, v) in row.iter().enumerate() {
                        sum += x[place(i)] * v * x[place(j)];
                    }
                }
                sum
            })
            .collect();
        Shares {
            parts,
            bodies,
            beams,
        }
    }
}

/// uᵀMu of each elastic part, rigid body and beam.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Shares {
    /// Elastic parts.
    pub parts: Vec<f64>,
    /// Rigid bodies.
    pub bodies: Vec<f64>,
    /// Beams.
    pub beams: Vec<f64>,
}
