//! Why an outline cannot be made.

/// Why an outline cannot be made. Shapes are counted from 0 in the order given.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum OutlineError {
    /// No shape at all.
    #[error("there is nothing to make an outline from")]
    Nothing,
    /// A radius or width that is not a positive number.
    #[error("a size of {value} mm is not more than 0")]
    BadSize {
        /// The shape.
        shape: usize,
        /// Its size, mm.
        value: f64,
    },
    /// A coordinate that is no number or absurdly far away.
    #[error("a position is not a number within 10 m")]
    BadPosition {
        /// The shape.
        shape: usize,
    },
    /// A drawn part that encloses nothing.
    #[error("a drawn part encloses no area")]
    NoArea {
        /// The part.
        shape: usize,
    },
    /// A web whose ends coincide.
    #[error("a web joins a boss to itself")]
    NoLength {
        /// The web.
        shape: usize,
    },
    /// The shapes do not hang together.
    #[error("it falls into {} separate pieces", groups.len())]
    NotConnected {
        /// Shapes of each piece.
        groups: Vec<Vec<usize>>,
    },
    /// The construction did not pass its own checks.
    #[error("the outline could not be closed: {why}")]
    Failed {
        /// What was checked.
        why: String,
    },
}

impl OutlineError {
    /// Shapes the error is about; for loose pieces, one of each.
    #[must_use]
    pub fn shapes(&self) -> Vec<usize> {
        match self {
            Self::BadSize { shape, .. }
            | Self::BadPosition { shape }
            | Self::NoArea { shape }
            | Self::NoLength { shape } => vec![*shape],
            Self::NotConnected { groups } => {
                // The largest piece is the plate; name what hangs off it.
                let largest = groups.iter().map(Vec::len).max().unwrap_or(0);
                let mut kept = false;
                groups
                    .iter()
                    .filter(|g| {
                        let skip = !kept && g.len() == largest;
                        kept |= skip;
                        !skip
                    })
                    .filter_map(|g| g.first().copied())
                    .collect()
            }
            Self::Nothing | Self::Failed { .. } => Vec::new(),
        }
    }
}
