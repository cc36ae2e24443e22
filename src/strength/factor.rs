//! Sparse Cholesky factor and its solves.

use faer::dyn_stack::{MemBuffer, MemStack};
use faer::linalg::cholesky::llt::factor::{LltError, LltRegularization};
use faer::perm::PermRef;
use faer::sparse::SparseColMat;
use faer::sparse::linalg::SupernodalThreshold;
use faer::sparse::linalg::cholesky::{
    CholeskySymbolicParams, LltRef, SymbolicCholesky, SymmetricOrdering,
    factorize_symbolic_cholesky,
};
use faer::{Conj, MatMut, Par, Side, Spec};
use rayon::prelude::*;

/// Right-hand sides solved together by one thread.
///
/// The factor is read once for all of them; more than a few no longer pay.
const TOGETHER: usize = 4;

/// A factored symmetric positive definite matrix.
#[derive(Debug)]
pub struct Factor {
    symbolic: SymbolicCholesky<usize>,
    values: Vec<f64>,
    size: usize,
}

/// Why a factorisation failed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FactorError {
    /// The pivot of this unknown is not positive.
    NotPositive(usize),
    /// No memory.
    Memory,
}

impl Factor {
    /// Factors a matrix given by its lower triangle, in the order it is numbered.
    ///
    /// # Errors
    /// The unknown whose pivot is not positive, or want of memory.
    pub fn new(lower: &SparseColMat<usize, f64>) -> Result<Self, FactorError> {
        let n = lower.ncols();
        let identity: Vec<usize> = (0..n).collect();
        let params = CholeskySymbolicParams {
            supernodal_flop_ratio_threshold: SupernodalThreshold::FORCE_SUPERNODAL,
            ..CholeskySymbolicParams::default()
        };
        let symbolic = factorize_symbolic_cholesky(
            lower.symbolic(),
            Side::Lower,
            SymmetricOrdering::Custom(PermRef::new_checked(&identity, &identity, n)),
            params,
        )
        .map_err(|_| FactorError::Memory)?;
        let mut values = Vec::new();
        values
            .try_reserve_exact(symbolic.len_val())
            .map_err(|_| FactorError::Memory)?;
        values.resize(symbolic.len_val(), 0.0);
        // One thread: the fronts of a plate are too small for threads to pay,
        // and the bits do not depend on their number.
        let par = Par::Seq;
        let mut memory =
            MemBuffer::try_new(symbolic.factorize_numeric_llt_scratch::<f64>(par, Spec::default()))
                .map_err(|_| FactorError::Memory)?;
        symbolic
            .factorize_numeric_llt(
                &mut values,
                lower.as_ref(),
                Side::Lower,
                LltRegularization::default(),
                par,
                MemStack::new(&mut memory),
                Spec::default(),
            )
            .map_err(|LltError::NonPositivePivot { index }| FactorError::NotPositive(index))?;
        Ok(Self {
            symbolic,
            values,
            size: n,
        })
    }

    /// Number of unknowns.
    #[must_use]
    pub const fn size(&self) -> usize {
        self.size
    }

    /// Entries of the factor.
    #[must_use]
    pub const fn entries(&self) -> usize {
        self.values.len()
    }

    /// Solves in place for the columns of `b`, each `size` long.
    ///
    /// # Errors
    /// Want of memory.
    pub fn solve(&self, b: &mut [f64]) -> Result<(), FactorError> {
        b.par_chunks_mut(self.size * TOGETHER).try_for_each(|part| {
            let columns = part.len() / self.size;
            let mut memory = MemBuffer::try_new(
                self.symbolic
                    .solve_in_place_scratch::<f64>(columns, Par::Seq),
            )
            .map_err(|_| FactorError::Memory)?;
            LltRef::new(&self.symbolic, &self.values).solve_in_place_with_conj(
                Conj::No,
                MatMut::from_column_major_slice_mut(part, self.size, columns),
                Par::Seq,
                MemStack::new(&mut memory),
            );
            Ok(())
        })
    }
}
