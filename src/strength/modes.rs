//! Lowest natural frequencies by block Lanczos on the factored stiffness.
//!
//! Shift-invert: the operator (K + shift·M)⁻¹ M has the lowest modes as its
//! largest eigenvalues. Blocks catch multiple frequencies, full
//! reorthogonalisation (twice) keeps the basis M-orthonormal to rounding.
//! Grimes, Lewis & Simon, SIAM J. Matrix Anal. Appl. 15 (1994) 228–272.

use std::f64::consts::TAU;

use faer::{Accum, Mat, MatMut, MatRef, Par, Side};

use super::StrengthError;
use super::factor::Factor;
use super::mass::Mass;
use super::reduction::Reduction;
use super::structure::Structure;

/// A mode is accepted when its residual, relative to its eigenvalue, is below this.
///
/// An eigenvalue's error is the square of that over the distance to the next one, so
/// frequencies are exact to 1e-9 and shapes to 1e-5.
const RESIDUAL: f64 = 1e-5;

/// A direction whose length drops by this much while made orthogonal has nothing new in it.
const NOTHING_NEW: f64 = 1e-10;

/// Most basis vectors, as a multiple of the modes wanted, plus [`BASIS_EXTRA`].
const BASIS_FACTOR: usize = 8;

/// See [`BASIS_FACTOR`].
const BASIS_EXTRA: usize = 40;

/// One natural mode.
#[derive(Debug, Clone, PartialEq)]
pub struct Mode {
    /// Squared angular frequency, 1/s².
    pub eigenvalue: f64,
    /// Shape on the unknowns, with qᵀMq = 1 (t·mm²).
    pub shape: Vec<f64>,
}

impl Mode {
    /// Natural frequency, Hz; 0 for a rigid motion.
    #[must_use]
    pub fn hz(&self) -> f64 {
        self.eigenvalue.max(0.0).sqrt() / TAU
    }
}

/// What the mode search works on.
#[derive(Debug, Clone, Copy)]
pub struct Pencil<'a> {
    /// Structure.
    pub structure: &'a Structure,
    /// Its unknowns.
    pub reduction: &'a Reduction,
    /// Its mass.
    pub mass: &'a Mass,
    /// Factor of K + shift·M.
    pub factor: &'a Factor,
    /// Shift, 1/s²; 0 where nothing can move freely.
    pub shift: f64,
}

/// A growing M-orthonormal basis and M times it, both by columns.
struct Basis {
    n: usize,
    q: Vec<f64>,
    mq: Vec<f64>,
}

impl Basis {
    fn len(&self) -> usize {
        self.q.len() / self.n
    }

    fn q(&self) -> MatRef<'_, f64> {
        MatRef::from_column_major_slice(&self.q, self.n, self.len())
    }

    fn mq(&self) -> MatRef<'_, f64> {
        MatRef::from_column_major_slice(&self.mq, self.n, self.len())
    }

    /// Takes the basis out of the columns of `w`; answers the coefficients.
    fn project_out(&self, w: &mut [f64]) -> Mat<f64> {
        let columns = w.len() / self.n;
        let mut c = Mat::zeros(self.len(), columns);
        let w = MatMut::from_column_major_slice_mut(w, self.n, columns);
        let mut w = w;
        faer::linalg::matmul::matmul(
            c.as_mut(),
            Accum::Replace,
            self.mq().transpose(),
            w.as_ref(),
            1.0,
            Par::Seq,
        );
        faer::linalg::matmul::matmul(w.as_mut(), Accum::Add, self.q(), c.as_ref(), -1.0, Par::Seq);
        c
    }
}

/// The `count` lowest modes, ascending.
///
/// # Errors
/// [`StrengthError::ModesNotFound`] when the basis limit is reached first,
/// [`StrengthError::OutOfMemory`].
pub fn lowest(p: &Pencil<'_>, count: usize) -> Result<Vec<Mode>, StrengthError> {
    let n = p.reduction.unknowns;
    let wanted = count.min(n);
    if wanted == 0 {
        return Ok(Vec::new());
    }
    // A free body has six equal eigenvalues: the block must hold them all.
    let width = if p.shift > 0.0 { 6 } else { 4 }.min(n);
    let limit = (BASIS_FACTOR * wanted + BASIS_EXTRA).min(n);
    let mut basis = Basis {
        n,
        q: Vec::new(),
        mq: Vec::new(),
    };
    let mut w = start_block(n, width);
    apply_inverse(p, &mut w)?;
    let mut next = orthonormal(p, &basis, &mut w);
    let mut t: Vec<Vec<f64>> = Vec::new();
    loop {
        let before = basis.len();
        let added = next.q.len() / n;
        basis.q.extend_from_slice(&next.q);
        basis.mq.extend_from_slice(&next.mq);
        let mut w = next.mq.clone();
        solve(p, &mut w)?;
        // First pass gives the column of the projected operator, the second cleans.
        let c = basis.project_out(&mut w);
        let d = basis.project_out(&mut w);
        for j in 0..added {
            t.push((0..basis.len()).map(|i| c[(i, j)] + d[(i, j)]).collect());
        }
        let fresh = orthonormal(p, &basis, &mut w);
        let (values, vectors) = ritz(&t, basis.len());
        let done = (0..wanted.min(values.len()))
            .take_while(|&k| {
                residual(&fresh.coefficients, &vectors, k, before, added) <= RESIDUAL * values[k]
            })
            .count();
        let finished = done >= wanted || fresh.q.is_empty();
        if finished || basis.len() + fresh.q.len() / n > limit {
            if done < wanted && !(fresh.q.is_empty() && values.len() >= wanted) {
                return Err(StrengthError::ModesNotFound {
                    found: done,
                    wanted,
                });
            }
            return Ok(modes(p, &basis, &values, &vectors, wanted));
        }
        next = fresh;
    }
}

/// Deterministic columns without a pattern: a 64-bit linear congruential sequence (Knuth's MMIX constants).
fn start_block(n: usize, width: usize) -> Vec<f64> {
    let mut state = 0x2545_F491_4F6C_DD1D_u64;
    (0..n * width)
        .map(|_| {
            state = state
                .wrapping_mul(6364136223846793005)
                .wrapping_add(1442695040888963407);
            (state >> 11) as f64 / (1_u64 << 53) as f64 - 0.5
        })
        .collect()
}

fn solve(p: &Pencil<'_>, w: &mut [f64]) -> Result<(), StrengthError> {
    p.factor.solve(w).map_err(|_| StrengthError::OutOfMemory {
        unknowns: p.reduction.unknowns,
    })
}

fn apply_mass(p: &Pencil<'_>, w: &[f64]) -> Vec<f64> {
    let n = p.reduction.unknowns;
    let mut out = Vec::with_capacity(w.len());
    for column in w.chunks(n) {
        out.extend(p.mass.apply_reduced(p.structure, p.reduction, column));
    }
    out
}

/// w ← (K + shift·M)⁻¹ M w.
fn apply_inverse(p: &Pencil<'_>, w: &mut Vec<f64>) -> Result<(), StrengthError> {
    *w = apply_mass(p, w);
    solve(p, w)
}

/// New basis columns.
struct Fresh {
    /// The columns.
    q: Vec<f64>,
    /// M times them.
    mq: Vec<f64>,
    /// R by columns, with w = q R.
    coefficients: Vec<Vec<f64>>,
}

/// M-orthonormal columns that span `w` and are orthogonal to the basis, M times them,
/// and the coefficients R with w = q R.
fn orthonormal(p: &Pencil<'_>, basis: &Basis, w: &mut [f64]) -> Fresh {
    let n = basis.n;
    if basis.len() > 0 {
        basis.project_out(w);
    }
    let columns = w.len() / n;
    let mw = apply_mass(p, w);
    let (mut q, mut mq) = (Vec::new(), Vec::new());
    let mut r = vec![Vec::new(); columns];
    for j in 0..columns {
        let mut x = w[j * n..(j + 1) * n].to_vec();
        let mut y = mw[j * n..(j + 1) * n].to_vec();
        let before = dot(&x, &y).max(0.0).sqrt();
        let kept = q.len() / n;
        let mut coefficients = vec![0.0; kept];
        for _ in 0..2 {
            for (k, slot) in coefficients.iter_mut().enumerate() {
                let c = dot(&mq[k * n..(k + 1) * n], &x);
                add(&mut x, -c, &q[k * n..(k + 1) * n]);
                add(&mut y, -c, &mq[k * n..(k + 1) * n]);
                *slot += c;
            }
        }
        let length = dot(&x, &y).max(0.0).sqrt();
        if length > NOTHING_NEW * before && length > f64::MIN_POSITIVE {
            for v in x.iter_mut().chain(y.iter_mut()) {
                *v /= length;
            }
            q.extend(x);
            mq.extend(y);
            coefficients.push(length);
        }
        r[j] = coefficients;
    }
    Fresh {
        q,
        mq,
        coefficients: r,
    }
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    // Four running sums keep the same order on every machine and let the compiler use vectors.
    let mut sums = [0.0; 4];
    let (ca, cb) = (a.chunks_exact(4), b.chunks_exact(4));
    let tail: f64 = ca
        .remainder()
        .iter()
        .zip(cb.remainder())
        .map(|(x, y)| x * y)
        .sum();
    for (x, y) in ca.zip(cb) {
        for k in 0..4 {
            sums[k] += x[k] * y[k];
        }
    }
    sums[0] + sums[1] + (sums[2] + sums[3]) + tail
}

fn add(x: &mut [f64], c: f64, y: &[f64]) {
    for (a, b) in x.iter_mut().zip(y) {
        *a += c * b;
    }
}

/// Eigenvalues (descending) and vectors of the projected operator.
fn ritz(t: &[Vec<f64>], m: usize) -> (Vec<f64>, Mat<f64>) {
    let full = Mat::from_fn(m, m, |i, j| {
        let a = t[j].get(i).copied();
        let b = t[i].get(j).copied();
        match (a, b) {
            (Some(a), Some(b)) => 0.5 * (a + b),
            (Some(a), None) | (None, Some(a)) => a,
            (None, None) => 0.0,
        }
    });
    match full.self_adjoint_eigen(Side::Lower) {
        Ok(e) => {
            let values = (0..m)
                .rev()
                .map(|k| e.S().column_vector()[k])
                .collect::<Vec<f64>>();
            let vectors = Mat::from_fn(m, m, |i, j| e.U()[(i, m - 1 - j)]);
            (values, vectors)
        }
        // A finite symmetric matrix always converges; no mode is the honest answer otherwise.
        Err(_) => (Vec::new(), Mat::zeros(0, 0)),
    }
}

/// Length of the k-th Ritz pair's residual: the coupling of its last block to what comes next.
fn residual(
    coupling: &[Vec<f64>],
    vectors: &Mat<f64>,
    k: usize,
    before: usize,
    added: usize,
) -> f64 {
    let height = coupling.iter().map(Vec::len).max().unwrap_or(0);
    let mut sum = 0.0;
    for i in 0..height {
        let mut row = 0.0;
        for j in 0..added {
            row += coupling[j].get(i).copied().unwrap_or(0.0) * vectors[(before + j, k)];
        }
        sum += row * row;
    }
    sum.sqrt()
}

fn modes(
    p: &Pencil<'_>,
    basis: &Basis,
    values: &[f64],
    vectors: &Mat<f64>,
    wanted: usize,
) -> Vec<Mode> {
    let n = basis.n;
    let mut shapes = vec![0.0; n * wanted];
    faer::linalg::matmul::matmul(
        MatMut::from_column_major_slice_mut(&mut shapes, n, wanted),
        Accum::Replace,
        basis.q(),
        vectors.as_ref().subcols(0, wanted),
        1.0,
        Par::Seq,
    );
    shapes
        .chunks(n)
        .zip(values)
        .map(|(shape, theta)| {
            let mut shape = shape.to_vec();
            // One sign for one shape: its largest entry is positive.
            let largest = shape
                .iter()
                .copied()
                .max_by(|a, b| a.abs().total_cmp(&b.abs()))
                .unwrap_or(0.0);
            if largest < 0.0 {
                for v in &mut shape {
                    *v = -*v;
                }
            }
            Mode {
                eigenvalue: 1.0 / theta - p.shift,
                shape,
            }
        })
        .collect()
}
