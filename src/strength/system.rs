//! A structure made ready to solve: reduced, assembled, factored.

use rayon::prelude::*;

use super::StrengthError;
use super::assemble;
use super::beam;
use super::element::{Gradients, NODES, Rules};
use super::factor::{Factor, FactorError};
use super::mass::Mass;
use super::mobility::check_held;
use super::modes::{self, Mode, Pencil};
use super::progress::{Progress, Stage};
use super::reduction::{Place, Reduction};
use super::structure::{Structure, Wedge, skew};

/// Standard gravity, mm/s² (CGPM 1901).
pub const GRAVITY_MM_S2: f64 = 9806.65;

/// A factored structure.
#[derive(Debug)]
pub struct System<'a> {
    /// Structure.
    pub structure: &'a Structure,
    /// Its unknowns.
    pub reduction: Reduction,
    /// Factor of K + shift·M.
    pub factor: Factor,
    /// Shift, 1/s².
    pub shift: f64,
    /// Quadrature samples.
    pub rules: Rules,
}

impl<'a> System<'a> {
    /// Reduces, assembles and factors a structure that cannot move freely.
    ///
    /// # Errors
    /// [`StrengthError::FreeToMove`], [`StrengthError::FoldedMesh`],
    /// [`StrengthError::NotStiff`], [`StrengthError::OutOfMemory`].
    pub fn new(
        structure: &'a Structure,
        pass: usize,
        progress: &mut dyn Progress,
    ) -> Result<Self, StrengthError> {
        check_held(structure)?;
        Self::shifted(structure, 0.0, pass, progress)
    }

    /// The same with K + shift·M, for structures that may move freely; `shift` in 1/s².
    ///
    /// # Errors
    /// As [`System::new`], without the first.
    pub fn shifted(
        structure: &'a Structure,
        shift: f64,
        pass: usize,
        progress: &mut dyn Progress,
    ) -> Result<Self, StrengthError> {
        progress.begins(Stage::Assemble, pass);
        let rules = Rules::new();
        let reduction = Reduction::new(structure)?;
        let (lower, jacobian, element) = assemble::stiffness(structure, &reduction, &rules, shift);
        if jacobian <= 0.0 {
            let w = &structure.wedges[element];
            let p = structure.nodes[w.nodes[0]];
            return Err(StrengthError::FoldedMesh {
                plate: structure.parts[w.part].clone(),
                at: crate::geom::Point::new(p[0], p[1]),
            });
        }
        progress.begins(Stage::Factor, pass);
        let unknowns = reduction.unknowns;
        let factor = Factor::new(&lower).map_err(|e| match e {
            FactorError::NotPositive(unknown) => StrengthError::NotStiff {
                place: owner(structure, &reduction, unknown),
            },
            FactorError::Memory => StrengthError::OutOfMemory { unknowns },
        })?;
        Ok(Self {
            structure,
            reduction,
            factor,
            shift,
            rules,
        })
    }

    /// Displacements (three a node, six a body) under each load, given on the same places.
    ///
    /// # Errors
    /// [`StrengthError::OutOfMemory`].
    pub fn solve(&self, loads: &[Vec<f64>]) -> Result<Vec<Vec<f64>>, StrengthError> {
        let n = self.reduction.unknowns;
        let given = self.given_forces();
        let mut b = Vec::with_capacity(n * loads.len());
        for load in loads {
            let mut q = self.reduction.gather(self.structure, load);
            if let Some(g) = &given {
                for (a, c) in q.iter_mut().zip(g) {
                    *a -= c;
                }
            }
            b.extend(q);
        }
        if n > 0 {
            self.factor
                .solve(&mut b)
                .map_err(|_| StrengthError::OutOfMemory { unknowns: n })?;
        }
        Ok((0..loads.len())
            .map(|k| {
                self.reduction
                    .expand(self.structure, &b[k * n..(k + 1) * n], true)
            })
            .collect())
    }

    /// Forces that the given displacements put on the unknowns; `None` where all are zero.
    fn given_forces(&self) -> Option<Vec<f64>> {
        let given = &self.reduction.given;
        given.iter().any(|v| v.abs() > 0.0).then(|| {
            let given = std::slice::from_ref(given);
            let f = internal_forces(self.structure, &self.rules, given, |_| true);
            self.reduction.gather(self.structure, &f[0])
        })
    }

    /// The `count` lowest modes.
    ///
    /// # Errors
    /// [`StrengthError::ModesNotFound`], [`StrengthError::OutOfMemory`].
    pub fn modes(&self, mass: &Mass, count: usize) -> Result<Vec<Mode>, StrengthError> {
        modes::lowest(
            &Pencil {
                structure: self.structure,
                reduction: &self.reduction,
                mass,
                factor: &self.factor,
                shift: self.shift,
            },
            count,
        )
    }

    /// What ties, supports and ground do on each place: internal forces less the load, one answer a field.
    ///
    /// On a free unknown it is the solution's rounding error.
    #[must_use]
    pub fn reactions(&self, displacements: &[Vec<f64>], loads: &[Vec<f64>]) -> Vec<Vec<f64>> {
        let f = internal_forces(self.structure, &self.rules, displacements, |_| true);
        less(f, loads)
    }

    /// The same on tied nodes and on bodies alone; other places are not filled.
    #[must_use]
    pub fn tied_reactions(&self, displacements: &[Vec<f64>], loads: &[Vec<f64>]) -> Vec<Vec<f64>> {
        let s = self.structure;
        let touches = |w: &Wedge| w.nodes.iter().any(|&n| s.tied[n].is_some());
        less(
            internal_forces(s, &self.rules, displacements, touches),
            loads,
        )
    }
}

fn less(mut forces: Vec<Vec<f64>>, loads: &[Vec<f64>]) -> Vec<Vec<f64>> {
    for (a, b) in forces.iter_mut().zip(loads) {
        for (a, b) in a.iter_mut().zip(b) {
            *a -= b;
        }
    }
    forces
}

/// Internal forces K u of each field on all places, without ties, summed over the elements of `which`.
#[must_use]
pub fn internal_forces(
    s: &Structure,
    rules: &Rules,
    fields: &[Vec<f64>],
    which: impl Fn(&Wedge) -> bool + Sync,
) -> Vec<Vec<f64>> {
    let wedges: Vec<&Wedge> = s.wedges.iter().filter(|w| which(w)).collect();
    let parts: Vec<Vec<[[f64; 3]; NODES]>> = wedges
        .par_iter()
        .with_min_len(32)
        .map(|w| {
            let gradients = Gradients::new(&s.coordinates(w), rules);
            fields
                .iter()
                .map(|u| {
                    let moved = w.nodes.map(|n| [u[3 * n], u[3 * n + 1], u[3 * n + 2]]);
                    gradients.forces(&moved, &s.materials[w.material])
                })
                .collect()
        })
        .collect();
    let mut out = vec![vec![0.0; s.full_size()]; fields.len()];
    for (k, (out, u)) in out.iter_mut().zip(fields).enumerate() {
        for (w, parts) in wedges.iter().zip(&parts) {
            for (f, &n) in parts[k].iter().zip(&w.nodes) {
                for d in 0..3 {
                    out[3 * n + d] += f[d];
                }
            }
        }
        for b in &s.beams {
            let k = beam::stiffness(b, s.bodies[b.from].at, s.bodies[b.to].at);
            let place = |i: usize| s.body_start(if i < 6 { b.from } else { b.to }) + i % 6;
            for (i, row) in k.iter().enumerate() {
                for (j, v) in row.iter().enumerate() {
                    out[place(i)] += v * u[place(j)];
                }
            }
        }
    }
    out
}

/// The field of a rigid translation by `v` on all places.
#[must_use]
pub fn translation(s: &Structure, v: [f64; 3]) -> Vec<f64> {
    let mut out = vec![0.0; s.full_size()];
    for n in out[..3 * s.nodes.len()].chunks_mut(3) {
        n.copy_from_slice(&v);
    }
    for b in 0..s.bodies.len() {
        let at = s.body_start(b);
        out[at..at + 3].copy_from_slice(&v);
    }
    out
}

/// Adds a force (N) and moment (N·mm) at a point of a body to a load.
pub fn add_force(
    s: &Structure,
    load: &mut [f64],
    body: usize,
    at: [f64; 3],
    force: [f64; 3],
    moment: [f64; 3],
) {
    let reference = s.bodies[body].at;
    let arm = skew([0, 1, 2].map(|k| at[k] - reference[k]));
    let start = s.body_start(body);
    for d in 0..3 {
        load[start + d] += force[d];
        let turn: f64 = (0..3).map(|k| arm[d][k] * force[k]).sum();
        load[start + 3 + d] += moment[d] + turn;
    }
}

/// The part or body an unknown belongs to, in words.
fn owner(s: &Structure, r: &Reduction, unknown: usize) -> String {
    let block = r
        .blocks
        .partition_point(|b| b.start <= unknown)
        .saturating_sub(1);
    if let Some(b) = r.bodies.iter().position(|x| *x == Some(block)) {
        return format!("`{}`", s.bodies[b].name);
    }
    let node = r
        .places
        .iter()
        .position(|p| matches!(p, Place::Own { block: b, .. } if *b == block));
    node.and_then(|n| s.wedges.iter().find(|w| w.nodes.contains(&n)))
        .map_or_else(
            || "an unknown place".to_owned(),
            |w| format!("plate `{}`", s.parts[w.part]),
        )
}
