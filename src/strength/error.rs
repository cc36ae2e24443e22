//! What can stop a strength calculation, in the words of the person who can mend it.

use thiserror::Error;

use crate::geom::Point;

/// Why a strength calculation could not be done.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum StrengthError {
    /// A part can move as a whole.
    #[error("{part} is free to {motions}: add a support")]
    FreeToMove {
        /// The part and those joined to it, such as ``plate `upper` ``.
        part: String,
        /// The free motions, such as `move in x and turn about z`.
        motions: String,
    },
    /// A name that nothing carries.
    #[error("{what} `{of}` names {kind} `{name}`, which the model does not have")]
    Unknown {
        /// What refers to it: a clamp, a load, a pulley, a spacer.
        what: &'static str,
        /// Name of the thing that refers.
        of: String,
        /// What kind of thing is missing.
        kind: &'static str,
        /// The missing name.
        name: String,
    },
    /// Two things of one kind with one name.
    #[error("two {kind}s are called `{name}`: every one needs its own name")]
    Twice {
        /// Kind of thing.
        kind: &'static str,
        /// The name both carry.
        name: String,
    },
    /// A number that cannot be used.
    #[error("{what} of {of} is {value}: it must be {must}")]
    BadValue {
        /// The quantity, with its unit.
        what: &'static str,
        /// Whose it is.
        of: String,
        /// The number given.
        value: f64,
        /// What would be right.
        must: &'static str,
    },
    /// Two boundaries of a plate cross or touch, so that its metal is not defined.
    #[error("plate `{plate}`: `{first}` and `{second}` cross near ({:.3}, {:.3}) mm: openings must keep metal between them", at.x, at.y)]
    BoundariesCross {
        /// Plate.
        plate: String,
        /// One boundary: a feature's name or `outline`.
        first: String,
        /// The other.
        second: String,
        /// Where, in the plate's frame.
        at: Point,
    },
    /// A clamp that takes hold of no metal.
    #[error(
        "clamp `{clamp}` finds no metal of plate `{plate}` to hold: its ring (radius {inner_mm} to {outer_mm} mm) lies off the plate or at a height where there is no face"
    )]
    EmptyClamp {
        /// Clamp.
        clamp: String,
        /// Plate.
        plate: String,
        /// Ring's inner radius, mm.
        inner_mm: f64,
        /// Ring's outer radius, mm.
        outer_mm: f64,
    },
    /// A plate whose mesh has no element.
    #[error(
        "plate `{plate}` has no metal left to mesh: its outline is empty or an opening swallows it"
    )]
    NoMetal {
        /// Plate.
        plate: String,
    },
    /// An element that cannot be used.
    #[error("the mesh of plate `{plate}` folds over itself near ({:.3}, {:.3}) mm: two boundaries are nearly in touch there", at.x, at.y)]
    FoldedMesh {
        /// Plate.
        plate: String,
        /// Where, in the plate's frame.
        at: Point,
    },
    /// More unknowns than the stated limit.
    #[error("the model needs {unknowns} unknowns and the limit is {limit}: use a coarser mesh")]
    TooLarge {
        /// Unknowns asked for.
        unknowns: usize,
        /// Limit.
        limit: usize,
    },
    /// The factorisation broke down although every part is held.
    #[error(
        "the stiffness matrix cannot be factored at {place}: a part there is all but loose or of all but no stiffness"
    )]
    NotStiff {
        /// The part or body the failing unknown belongs to.
        place: String,
    },
    /// Not enough memory, or a matrix too large for the index type.
    #[error("the solver ran out of memory with {unknowns} unknowns: use a coarser mesh")]
    OutOfMemory {
        /// Unknowns.
        unknowns: usize,
    },
    /// The mode search stopped early.
    #[error("only {found} of {wanted} modes were found to the tolerance")]
    ModesNotFound {
        /// Modes converged.
        found: usize,
        /// Modes asked for.
        wanted: usize,
    },
}
