//! What can keep a plate or a bought-in shape from becoming a solid.

use crate::geom::boundary::LoopFault;

/// Why no solid could be built, or why one is not right.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum SolidError {
    /// A size that is no usable number or contradicts another.
    #[error("{owner}: {what}")]
    Size {
        /// The feature or body.
        owner: String,
        /// What is wrong with which size.
        what: String,
    },
    /// A boundary that is not one closed loop.
    #[error("the boundary of {owner} cannot be built: {fault}")]
    Boundary {
        /// The feature, `outline` or body.
        owner: String,
        /// What is wrong with the loop.
        fault: LoopFault,
    },
    /// A feature that is not wholly inside the outline.
    #[error("{feature} is not wholly inside the outline")]
    OutsideOutline {
        /// The feature.
        feature: String,
    },
    /// Two features that share space, or touch.
    #[error("{first} and {second} cut into each other")]
    Overlap {
        /// The earlier feature of the plate's list.
        first: String,
        /// The later one.
        second: String,
    },
    /// A blind feature that is as deep as the plate.
    #[error("{feature} breaks through: it leaves {left_mm:.3} mm under it")]
    BreaksThrough {
        /// The feature.
        feature: String,
        /// Metal left under it, mm; zero or less.
        left_mm: f64,
    },
    /// The faces do not close to one shell: a fault of the construction, not of the input.
    #[error("the faces of {body} do not close: {reason}")]
    Open {
        /// The body.
        body: String,
        /// What the topology says.
        reason: String,
    },
    /// A vertex off its edge, an edge off its face or a loop that runs the wrong way.
    #[error("face {face} of {body} is not where its edges are: {reason}")]
    Misplaced {
        /// The body.
        body: String,
        /// Which face, counted from 0.
        face: usize,
        /// What is off, by how much.
        reason: String,
    },
    /// The solid's volume differs from the closed form.
    #[error("{body} holds {found_mm3} mm³ where the closed form says {expected_mm3} mm³")]
    Volume {
        /// The body.
        body: String,
        /// Closed form, mm³.
        expected_mm3: f64,
        /// From the solid's faces, mm³.
        found_mm3: f64,
    },
}

impl SolidError {
    /// A size error of `owner`.
    pub(super) fn size(owner: &str, what: impl Into<String>) -> Self {
        Self::Size {
            owner: owner.to_owned(),
            what: what.into(),
        }
    }
}
