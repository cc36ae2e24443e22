//! Why an outline cannot be built.

use crate::geom::Point;
use thiserror::Error;

/// Why an outline cannot be built; shapes are named by their place in the list that was given.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum OutlineError {
    /// No shape was given.
    #[error("an outline needs at least one boss, web or drawn loop; none was given")]
    NothingGiven,
    /// The fillet radius is not a number, negative or above [`super::LARGEST_FILLET_MM`].
    #[error(
        "the fillet radius must be 0 to {} mm, not {fillet_mm} mm",
        super::LARGEST_FILLET_MM
    )]
    FilletNotUsable {
        /// As given, mm.
        fillet_mm: f64,
    },
    /// A coordinate or size is NaN or infinite.
    #[error("shape {shape} has a coordinate or size that is not a number")]
    NotANumber {
        /// Place in the list.
        shape: usize,
    },
    /// A shape lies farther out than [`super::FARTHEST_MM`].
    #[error(
        "shape {shape} reaches farther than {} mm from the origin",
        super::FARTHEST_MM
    )]
    TooFar {
        /// Place in the list.
        shape: usize,
    },
    /// A boss radius is zero or negative.
    #[error("shape {shape} needs a radius above zero, not {radius_mm} mm")]
    RadiusNotPositive {
        /// Place in the list.
        shape: usize,
        /// As rounded, mm.
        radius_mm: f64,
    },
    /// A web width is zero or negative.
    #[error("shape {shape} needs a width above zero, not {width_mm} mm")]
    WidthNotPositive {
        /// Place in the list.
        shape: usize,
        /// As rounded, mm.
        width_mm: f64,
    },
    /// A web joins a point to itself.
    #[error("shape {shape} is a web between two points at the same place")]
    CoincidentEnds {
        /// Place in the list.
        shape: usize,
    },
    /// A drawn loop has no pieces, or a piece without length.
    #[error("drawn loop {shape} has no pieces or one without length (piece {piece})")]
    DrawnEmpty {
        /// Place in the list.
        shape: usize,
        /// Piece of the loop.
        piece: usize,
    },
    /// A piece of a drawn loop does not start where the one before ends.
    #[error("drawn loop {shape} is open before piece {piece}: a gap of {gap_mm} mm")]
    DrawnOpen {
        /// Place in the list.
        shape: usize,
        /// The piece that starts elsewhere.
        piece: usize,
        /// Distance, mm.
        gap_mm: f64,
    },
    /// An arc's ends do not lie on its circle.
    #[error("drawn loop {shape}: the ends of arc {piece} are {off_mm} mm off its circle")]
    DrawnArcOff {
        /// Place in the list.
        shape: usize,
        /// The arc.
        piece: usize,
        /// Distance, mm.
        off_mm: f64,
    },
    /// A drawn loop crosses or touches itself.
    #[error(
        "drawn loop {shape} crosses itself: pieces {first} and {second} meet at ({:.4}, {:.4})",
        at.x, at.y
    )]
    DrawnCrossesItself {
        /// Place in the list.
        shape: usize,
        /// One piece.
        first: usize,
        /// The other.
        second: usize,
        /// Where, mm.
        at: Point,
    },
    /// A drawn loop runs back along itself.
    #[error("drawn loop {shape} encloses no area")]
    DrawnFlat {
        /// Place in the list.
        shape: usize,
    },
    /// The shapes make more than one part.
    #[error("the shapes do not hang together: {}", groups(.pieces))]
    NotConnected {
        /// The shapes of each part.
        pieces: Vec<Vec<usize>>,
    },
    /// A check of the finished loops failed, on every attempt.
    #[error("the outline could not be built: {check}")]
    ConstructionFailed {
        /// What was checked and where it failed.
        check: String,
    },
}

impl OutlineError {
    /// Shapes the error is about, by place in the list; of loose parts, one each but of the largest.
    #[must_use]
    pub fn shapes(&self) -> Vec<usize> {
        match self {
            Self::NothingGiven | Self::FilletNotUsable { .. } | Self::ConstructionFailed { .. } => {
                Vec::new()
            }
            Self::NotANumber { shape }
            | Self::TooFar { shape }
            | Self::RadiusNotPositive { shape, .. }
            | Self::WidthNotPositive { shape, .. }
            | Self::CoincidentEnds { shape }
            | Self::DrawnFlat { shape }
            | Self::DrawnEmpty { shape, .. }
            | Self::DrawnOpen { shape, .. }
            | Self::DrawnArcOff { shape, .. }
            | Self::DrawnCrossesItself { shape, .. } => vec![*shape],
            Self::NotConnected { pieces } => {
                let largest =
                    (0..pieces.len()).max_by_key(|&i| (pieces[i].len(), pieces.len() - i));
                pieces
                    .iter()
                    .enumerate()
                    .filter(|(i, _)| Some(*i) != largest)
                    .filter_map(|(_, p)| p.first().copied())
                    .collect()
            }
        }
    }
}

fn groups(pieces: &[Vec<usize>]) -> String {
    let named: Vec<String> = pieces
        .iter()
        .map(|shapes| {
            let names: Vec<String> = shapes.iter().map(usize::to_string).collect();
            format!("[{}]", names.join(", "))
        })
        .collect();
    format!("{} separate parts {}", pieces.len(), named.join(" "))
}
