//! The openings of a plate as plate rules see them, with their names and their places in the input.

use crate::diag::Spot;
use crate::feature::{Feature, Shape};
use crate::geom::{Path, Point};
use crate::platework::MadePlate;

/// An opening in either face, at its widest.
#[derive(Debug, Clone)]
pub struct Opening<'a> {
    /// The feature it belongs to.
    pub feature: &'a Feature,
    /// Its boundary, counter-clockwise.
    pub path: Path,
    /// Where the feature is written.
    pub spot: Spot,
}

impl Opening<'_> {
    /// Its name.
    #[must_use]
    pub fn id(&self) -> &str {
        &self.feature.id
    }

    /// Centre and bolt-hole diameter of a round hole.
    #[must_use]
    pub fn round(&self) -> Option<(Point, f64)> {
        match &self.feature.shape {
            Shape::Hole(h) => Some((h.centre, h.diameter_mm)),
            _ => None,
        }
    }
}

/// Every opening of a plate, in feature order.
#[must_use]
pub fn of(made: &MadePlate) -> Vec<Opening<'_>> {
    made.plate
        .features
        .iter()
        .filter_map(|f| {
            Some(Opening {
                feature: f,
                path: f.footprint()?,
                spot: made.spot_of(&f.id),
            })
        })
        .collect()
}
