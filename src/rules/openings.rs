//! The openings of a plate as plate rules see them, with their names and their places in the input.

use crate::diag::Spot;
use crate::feature::{Depth, Face, Feature, Shape};
use crate::geom::{Path, Point};
use crate::plate::sites::Sites;
use crate::platework::MadePlate;
use crate::tol;

/// What a feature takes out of a plate, at its widest.
#[derive(Debug, Clone)]
pub struct Opening<'a> {
    /// The feature it belongs to.
    pub feature: &'a Feature,
    /// Its boundary, counter-clockwise.
    pub path: Path,
    /// Its lower end, mm from the plate's back face.
    pub low_mm: f64,
    /// Its upper end, mm from the plate's back face.
    pub high_mm: f64,
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

    /// Whether the two share any place, seen square to the plate.
    #[must_use]
    pub fn covers(&self, other: &Self) -> bool {
        let starts_in =
            |a: &Path, b: &Path| a.segments.first().is_some_and(|s| b.contains(s.from()));
        starts_in(&self.path, &other.path)
            || starts_in(&other.path, &self.path)
            || self.path.gap(&other.path).distance <= tol::SNAP_MM
    }

    /// Metal between the two along the plate's normal, mm; zero where they reach the same height.
    #[must_use]
    pub fn between_mm(&self, other: &Self) -> f64 {
        (self.low_mm - other.high_mm)
            .max(other.low_mm - self.high_mm)
            .max(0.0)
    }
}

/// Every opening of a plate, in feature order, with the surfaces they open in.
///
/// Openings and [`Sites`] count alike.
#[must_use]
pub fn of(made: &MadePlate) -> (Vec<Opening<'_>>, Sites) {
    let plate = &made.plate;
    let sites = plate.sites();
    let openings = plate
        .cuts()
        .enumerate()
        .map(|(i, f)| {
            let (back, front) = (
                sites.surface_mm(i, Face::Back),
                sites.surface_mm(i, Face::Front),
            );
            let from = |face: Face, depth: f64| match face {
                Face::Front => (front - depth, front),
                Face::Back => (back, back + depth),
            };
            let (low_mm, high_mm) = match &f.shape {
                Shape::Hole(h) => match h.depth {
                    Depth::Through => (back, front),
                    Depth::Blind {
                        depth_mm,
                        from: face,
                        floor,
                    } => from(face, depth_mm + floor.point_mm(0.5 * h.diameter_mm)),
                },
                Shape::Pocket { depth_mm, face, .. } | Shape::Groove { depth_mm, face, .. } => {
                    from(*face, *depth_mm)
                }
                Shape::Slot(_) | Shape::Window(_) | Shape::Mark(_) => (back, front),
            };
            Opening {
                feature: f,
                path: f.footprint().unwrap_or_default(),
                low_mm,
                high_mm,
                spot: made.spot_of(&f.id),
            }
        })
        .collect();
    (openings, sites)
}
