//! How a calculation tells where it is; the command draws the bar.

/// A stage of the strength calculation, in the order they run.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Stage {
    /// Triangulating and extruding the plates.
    Mesh,
    /// Element matrices into the sparse matrix.
    Assemble,
    /// Sparse factorisation.
    Factor,
    /// Load cases.
    Solve,
    /// Stresses and their error.
    Recover,
    /// Natural frequencies.
    Modes,
    /// Safety, deflection and resonance tables.
    Judge,
}

impl Stage {
    /// The stage's name for a person.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Mesh => "meshing plates",
            Self::Assemble => "assembling stiffness",
            Self::Factor => "factoring",
            Self::Solve => "solving load cases",
            Self::Recover => "recovering stresses",
            Self::Modes => "finding modes",
            Self::Judge => "judging results",
        }
    }
}

/// Receives the calculation's progress.
///
/// Calls come from one thread, in order. `pass` counts mesh refinements from 1.
pub trait Progress {
    /// A stage begins.
    fn begins(&mut self, stage: Stage, pass: usize);
}

/// Progress that nobody watches.
#[derive(Debug, Clone, Copy, Default)]
pub struct Silent;

impl Progress for Silent {
    fn begins(&mut self, _stage: Stage, _pass: usize) {}
}

impl<F: FnMut(Stage, usize)> Progress for F {
    fn begins(&mut self, stage: Stage, pass: usize) {
        self(stage, pass);
    }
}
