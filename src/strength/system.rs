//! A structure made ready to solve: reduced, assembled, factored.

use rayon::prelude::*;

use super::StrengthError;
use super::assemble;
use super::beam;
use super::element::{self, PACKED, Rules, UNKNOWNS, packed};
use super::factor::{Factor, FactorError};
use super::mass::Mass;
use super::mobility::check_held;
use super::modes::{self, Mode, Pencil};
use super::progress::{Progress, Stage};
use super::reduction::{Place, Reduction};
use super::structure::{Structure, skew};

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
            let f = internal_forces(self.structure, &self.rules, given);
            self.reduction.gather(self.structure, &f)
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

    /// What ties, supports and ground do on each place: internal forces less the load.
    ///
    /// On a free unknown it is the solution's rounding error.
    #[must_use]
    pub fn reactions(&self, displacement: &[f64], load: &[f64]) -> Vec<f64> {
        let mut f = internal_forces(self.structure, &self.rules, displacement);
        for (a, b) in f.iter_mut().zip(load) {
            *a -= b;
        }
        f
    }
}

/// Internal forces K u on all places, without ties.
#[must_use]
pub fn internal_forces(s: &Structure, rules: &Rules, u: &[f64]) -> Vec<f64> {
    let parts: Vec<[f64; UNKNOWNS]> = s
        .wedges
        .par_iter()
        .with_min_len(32)
        .map(|w| {
            let mut k = [0.0; PACKED];
            element::stiffness(&s.coordinates(w), &s.materials[w.material], rules, &mut k);
            let mut x = [0.0; UNKNOWNS];
            for (a, &n) in w.nodes.iter().enumerate() {
                x[3 * a..3 * a + 3].copy_from_slice(&u[3 * n..3 * n + 3]);
            }
            let mut f = [0.0; UNKNOWNS];
            for i in 0..UNKNOWNS {
                for j in 0..i {
                    let v = k[packed(i, j)];
                    f[i] += v * x[j];
                    f[j] += v * x[i];
                }
                f[i] += k[packed(i, i)] * x[i];
            }
            f
        })
        .collect();
    let mut out = vec![0.0; s.full_size()];
    for (w, f) in s.wedges.iter().zip(&parts) {
        for (a, &n) in w.nodes.iter().enumerate() {
            for d in 0..3 {
                out[3 * n + d] += f[3 * a + d];
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
