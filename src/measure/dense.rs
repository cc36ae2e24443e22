//! Small dense symmetric systems: Cholesky factor, inverse, eigenvectors.
//!
//! A bench network has a few dozen unknowns, so plain loops over a dense
//! array are both the fastest and the shortest way; nothing here allocates
//! inside a loop.

/// A pivot below this share of its own diagonal entry is taken for zero.
///
/// Rounding leaves about 1e-14 of the diagonal in a 50-unknown system, while a
/// hole held by a triangle as flat as 1:10 000 still leaves 1e-8.
pub(crate) const PIVOT_SHARE: f64 = 1e-11;

/// A square matrix, row by row.
#[derive(Debug, Clone)]
pub(crate) struct Square {
    size: usize,
    data: Vec<f64>,
}

impl Square {
    /// A matrix of zeros.
    pub(crate) fn zeros(size: usize) -> Self {
        Self {
            size,
            data: vec![0.0; size * size],
        }
    }

    /// Number of rows.
    pub(crate) fn size(&self) -> usize {
        self.size
    }

    /// The entry in row `i`, column `j`.
    pub(crate) fn at(&self, i: usize, j: usize) -> f64 {
        self.data[i * self.size + j]
    }

    /// Overwrites one entry.
    pub(crate) fn set(&mut self, i: usize, j: usize, value: f64) {
        self.data[i * self.size + j] = value;
    }

    /// Adds to one entry.
    pub(crate) fn add(&mut self, i: usize, j: usize, value: f64) {
        self.data[i * self.size + j] += value;
    }

    /// All entries back to zero.
    pub(crate) fn clear(&mut self) {
        self.data.fill(0.0);
    }

    /// Takes over all entries of a matrix of the same size.
    pub(crate) fn copy_from(&mut self, other: &Self) {
        self.data.copy_from_slice(&other.data);
    }

    /// Row `i`.
    pub(crate) fn row(&self, i: usize) -> &[f64] {
        &self.data[i * self.size..(i + 1) * self.size]
    }

    /// The lower Cholesky factor of a positive definite matrix.
    ///
    /// Only the lower triangle is read. `Err` gives the first unknown whose
    /// pivot vanishes against its diagonal ([`PIVOT_SHARE`]).
    pub(crate) fn cholesky(&self) -> Result<Self, usize> {
        let n = self.size;
        let mut l = Self::zeros(n);
        for i in 0..n {
            for j in 0..=i {
                let dot: f64 = l.row(i)[..j]
                    .iter()
                    .zip(&l.row(j)[..j])
                    .map(|(a, b)| a * b)
                    .sum();
                let rest = self.at(i, j) - dot;
                if i == j {
                    // A NaN pivot must stop here as well.
                    if rest.is_nan() || rest <= 0.0 || rest <= PIVOT_SHARE * self.at(i, i) {
                        return Err(i);
                    }
                    l.set(i, i, rest.sqrt());
                } else {
                    let pivot = l.at(j, j);
                    l.set(i, j, rest / pivot);
                }
            }
        }
        Ok(l)
    }

    /// A lower factor of a positive semidefinite matrix: columns without a pivot stay zero.
    pub(crate) fn root(&self) -> Self {
        let n = self.size;
        let mut l = Self::zeros(n);
        for j in 0..n {
            let dot: f64 = l.row(j)[..j].iter().map(|a| a * a).sum();
            let rest = self.at(j, j) - dot;
            if rest.is_nan() || rest <= PIVOT_SHARE * self.at(j, j).abs() {
                continue;
            }
            let pivot = rest.sqrt();
            l.set(j, j, pivot);
            for i in j + 1..n {
                let dot: f64 = l.row(i)[..j]
                    .iter()
                    .zip(&l.row(j)[..j])
                    .map(|(a, b)| a * b)
                    .sum();
                let value = (self.at(i, j) - dot) / pivot;
                l.set(i, j, value);
            }
        }
        l
    }

    /// Solves `L Lᵀ x = b`, `self` being the factor `L`.
    pub(crate) fn solve_factored(&self, b: &[f64]) -> Vec<f64> {
        let n = self.size;
        let mut x = b.to_vec();
        for i in 0..n {
            let dot: f64 = self.row(i)[..i]
                .iter()
                .zip(&x[..i])
                .map(|(a, v)| a * v)
                .sum();
            x[i] = (x[i] - dot) / self.at(i, i);
        }
        for i in (0..n).rev() {
            let dot: f64 = (i + 1..n).map(|k| self.at(k, i) * x[k]).sum();
            x[i] = (x[i] - dot) / self.at(i, i);
        }
        x
    }

    /// The inverse of `L Lᵀ`, `self` being the factor `L`.
    pub(crate) fn inverse_factored(&self) -> Self {
        let n = self.size;
        // The inverse of L, kept transposed so that rows are contiguous.
        let mut inv_t = Self::zeros(n);
        for j in 0..n {
            inv_t.set(j, j, 1.0 / self.at(j, j));
            for i in j + 1..n {
                let dot: f64 = self.row(i)[j..i]
                    .iter()
                    .zip(&inv_t.row(j)[j..i])
                    .map(|(a, b)| a * b)
                    .sum();
                inv_t.set(j, i, -dot / self.at(i, i));
            }
        }
        let mut out = Self::zeros(n);
        for i in 0..n {
            for j in 0..=i {
                let dot: f64 = inv_t.row(i)[i..]
                    .iter()
                    .zip(&inv_t.row(j)[i..])
                    .map(|(a, b)| a * b)
                    .sum();
                out.set(i, j, dot);
                out.set(j, i, dot);
            }
        }
        out
    }

    /// Eigenvalues in rising order, each with its unit eigenvector (cyclic Jacobi rotations).
    ///
    /// Source: Golub and Van Loan, Matrix Computations, section 8.5 (method);
    /// the matrix is symmetric, only the whole of it is read.
    pub(crate) fn eigen(&self) -> Vec<(f64, Vec<f64>)> {
        const SWEEPS: usize = 60;
        let n = self.size;
        let mut a = self.clone();
        let mut v = Self::zeros(n);
        for i in 0..n {
            v.set(i, i, 1.0);
        }
        let scale: f64 = self.data.iter().map(|x| x * x).sum::<f64>().sqrt();
        for _ in 0..SWEEPS {
            let off: f64 = (0..n)
                .flat_map(|i| (0..i).map(move |j| (i, j)))
                .map(|(i, j)| a.at(i, j) * a.at(i, j))
                .sum();
            if off.sqrt() <= 1e-15 * scale {
                break;
            }
            for p in 0..n {
                for q in p + 1..n {
                    rotate(&mut a, &mut v, p, q);
                }
            }
        }
        let mut pairs: Vec<(f64, Vec<f64>)> = (0..n)
            .map(|j| (a.at(j, j), (0..n).map(|i| v.at(i, j)).collect()))
            .collect();
        pairs.sort_by(|x, y| x.0.total_cmp(&y.0));
        pairs
    }
}

/// One Jacobi rotation that clears entry (`p`, `q`).
fn rotate(a: &mut Square, v: &mut Square, p: usize, q: usize) {
    let apq = a.at(p, q);
    if apq == 0.0 {
        return;
    }
    let theta = (a.at(q, q) - a.at(p, p)) / (2.0 * apq);
    let sign = if theta < 0.0 { -1.0 } else { 1.0 };
    let t = sign / (theta.abs() + (theta * theta + 1.0).sqrt());
    let c = 1.0 / (t * t + 1.0).sqrt();
    let s = t * c;
    for k in 0..a.size() {
        let (akp, akq) = (a.at(k, p), a.at(k, q));
        a.set(k, p, c * akp - s * akq);
        a.set(k, q, s * akp + c * akq);
    }
    for k in 0..a.size() {
        let (apk, aqk) = (a.at(p, k), a.at(q, k));
        a.set(p, k, c * apk - s * aqk);
        a.set(q, k, s * apk + c * aqk);
    }
    for k in 0..v.size() {
        let (vkp, vkq) = (v.at(k, p), v.at(k, q));
        v.set(k, p, c * vkp - s * vkq);
        v.set(k, q, s * vkp + c * vkq);
    }
}

/// Solves a 3 × 3 system by elimination with row exchange; the caller sees to it that it is not singular.
pub(crate) fn solve3(mut m: [[f64; 3]; 3], mut b: [f64; 3]) -> [f64; 3] {
    for c in 0..3 {
        let p = (c..3)
            .max_by(|i, j| m[*i][c].abs().total_cmp(&m[*j][c].abs()))
            .unwrap_or(c);
        m.swap(c, p);
        b.swap(c, p);
        for r in c + 1..3 {
            let f = m[r][c] / m[c][c];
            let pivot = m[c];
            for (entry, above) in m[r].iter_mut().zip(pivot).skip(c) {
                *entry -= f * above;
            }
            b[r] -= f * b[c];
        }
    }
    for c in (0..3).rev() {
        for k in c + 1..3 {
            b[c] -= m[c][k] * b[k];
        }
        b[c] /= m[c][c];
    }
    b
}

#[cfg(test)]
mod tests {
    use super::*;

    fn hilbert(n: usize) -> Square {
        let mut h = Square::zeros(n);
        for i in 0..n {
            for j in 0..n {
                h.set(i, j, 1.0 / (i + j + 1) as f64);
            }
        }
        h
    }

    #[test]
    fn the_inverse_of_the_4_by_4_hilbert_matrix_is_the_known_integer_matrix() {
        // Known inverse, e.g. Choi, American Mathematical Monthly 90 (1983) 301.
        let inverse = hilbert(4)
            .cholesky()
            .expect("positive definite")
            .inverse_factored();
        assert!((inverse.at(0, 0) - 16.0).abs() < 1e-8);
        assert!((inverse.at(1, 2) + 2700.0).abs() < 1e-6);
        assert!((inverse.at(3, 3) - 2800.0).abs() < 1e-6);
    }

    #[test]
    fn a_free_unknown_is_named_by_the_factor() {
        let mut m = Square::zeros(3);
        m.set(0, 0, 2.0);
        m.set(1, 1, 1.0);
        m.set(2, 1, 1.0);
        m.set(1, 2, 1.0);
        m.set(2, 2, 1.0);
        assert_eq!(m.cholesky().err(), Some(2));
        m.set(0, 0, f64::NAN);
        assert_eq!(m.cholesky().err(), Some(0));
    }

    #[test]
    fn eigenvectors_rebuild_the_matrix() {
        let h = hilbert(5);
        let pairs = h.eigen();
        for i in 0..5 {
            for j in 0..5 {
                let sum: f64 = pairs.iter().map(|(l, v)| l * v[i] * v[j]).sum();
                assert!((sum - h.at(i, j)).abs() < 1e-13);
            }
        }
        assert!(pairs.windows(2).all(|w| w[0].0 <= w[1].0));
    }
}
