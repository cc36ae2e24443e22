//! Whether two features cut into each other.
//!
//! Each feature takes up prisms, rings and cones between heights. Two of them
//! share space where their heights meet and their sections do at one of the
//! shared heights' ends: radii run linearly with height, so nothing in between
//! can be worse.

use crate::feature::Face;
use crate::geom::contact::Loop;
use crate::geom::{Extents, Point};
use crate::plate::sites::island;
use crate::tol::SNAP_MM;

use super::bore::{Bore, End, Link};
use super::error::SolidError;
use super::nesting::{Form, Nesting};

impl Nesting<'_> {
    /// Refuses two features that share space or touch, unless one lies on the other's floor.
    ///
    /// `sites_only` looks at pockets and grooves alone.
    pub(super) fn refuse_overlaps(&self, sites_only: bool) -> Result<(), SolidError> {
        let boxes: Vec<Extents> = self.cuts.iter().map(|c| c.footprint.extents()).collect();
        let due = |i: usize| !sites_only || self.cuts[i].is_site();
        for j in (0..self.cuts.len()).filter(|&j| due(j)) {
            for i in (0..j).filter(|&i| due(i)) {
                let (a, b) = (&boxes[i], &boxes[j]);
                let apart = a.min.x > b.max.x + SNAP_MM
                    || b.min.x > a.max.x + SNAP_MM
                    || a.min.y > b.max.y + SNAP_MM
                    || b.min.y > a.max.y + SNAP_MM;
                if apart || self.sites.lies_on(i, j) || self.sites.lies_on(j, i) {
                    continue;
                }
                let (first, second) = (self.pieces(i), self.pieces(j));
                if first.iter().any(|p| second.iter().any(|q| p.meets(q))) {
                    return Err(SolidError::Overlap {
                        first: self.cuts[i].feature.id.clone(),
                        second: self.cuts[j].feature.id.clone(),
                    });
                }
            }
        }
        Ok(())
    }

    /// The space that a cut takes, as prisms, rings and cones.
    fn pieces(&self, i: usize) -> Vec<Piece<'_>> {
        let cut = &self.cuts[i];
        let (front, back) = (
            self.sites.surface_mm(i, Face::Front),
            self.sites.surface_mm(i, Face::Back),
        );
        let from_face = |face, depth| match face {
            Face::Front => (front - depth, front),
            Face::Back => (back, back + depth),
        };
        let piece = |extent, (low, high)| Piece { extent, low, high };
        match &cut.form {
            Form::Opening => vec![piece(Extent::Prism(&cut.footprint), (back, front))],
            Form::Pocket(face, depth) => {
                vec![piece(
                    Extent::Prism(&cut.footprint),
                    from_face(*face, *depth),
                )]
            }
            Form::Groove { face, depth, .. } => vec![piece(
                Extent::Ring(&cut.footprint, island(Some(cut.feature))),
                from_face(*face, *depth),
            )],
            Form::Hole(_, bore) => bore.as_ref().map(bore_pieces).unwrap_or_default(),
        }
    }
}

fn bore_pieces(bore: &Bore) -> Vec<Piece<'static>> {
    let cone = |a: (f64, f64), b: (f64, f64)| {
        let ((low, low_radius), (high, high_radius)) = if a.0 < b.0 { (a, b) } else { (b, a) };
        Piece {
            extent: Extent::Cone {
                centre: bore.centre,
                low_radius,
                high_radius,
            },
            low,
            high,
        }
    };
    let mut pieces: Vec<_> = bore
        .rings()
        .windows(2)
        .filter(|w| w[0].1 != Link::Seat)
        .map(|w| {
            let (a, b) = (w[0].0, w[1].0);
            cone((a.height, a.radius), (b.height, b.radius))
        })
        .collect();
    if let (End::Point { tip, .. }, Some((ring, _))) = (bore.end, bore.rings().last()) {
        pieces.push(cone((tip, 0.0), (ring.height, ring.radius)));
    }
    pieces
}

/// A part of a cut between two heights.
struct Piece<'a> {
    extent: Extent<'a>,
    low: f64,
    high: f64,
}

enum Extent<'a> {
    Prism(&'a Loop<'a>),
    Ring(&'a Loop<'a>, Loop<'static>),
    Cone {
        centre: Point,
        low_radius: f64,
        high_radius: f64,
    },
}

impl Piece<'_> {
    fn meets(&self, other: &Piece<'_>) -> bool {
        let (low, high) = (self.low.max(other.low), self.high.min(other.high));
        if high < low - SNAP_MM {
            return false;
        }
        // Radii run linearly with height, so the ends of the shared heights decide.
        [low, high]
            .into_iter()
            .any(|h| match (self.disc_at(h), other.disc_at(h)) {
                (None, None) => match (&self.extent, &other.extent) {
                    (
                        Extent::Prism(a) | Extent::Ring(a, _),
                        Extent::Prism(b) | Extent::Ring(b, _),
                    ) => discs_meet(a, self.island(), b, other.island()),
                    _ => false,
                },
                (Some(a), None) => other.meets_disc(&a),
                (None, Some(b)) => self.meets_disc(&b),
                (Some(a), Some(b)) => a.overlaps(&b),
            })
    }

    fn meets_disc(&self, disc: &Loop<'_>) -> bool {
        match &self.extent {
            Extent::Prism(a) | Extent::Ring(a, _) => discs_meet(a, self.island(), disc, None),
            Extent::Cone { .. } => false,
        }
    }

    fn island(&self) -> Option<&Loop<'_>> {
        match &self.extent {
            Extent::Ring(_, island) => Some(island),
            Extent::Prism(_) | Extent::Cone { .. } => None,
        }
    }

    /// The disc of a cone at a height.
    fn disc_at(&self, h: f64) -> Option<Loop<'static>> {
        let Extent::Cone {
            centre,
            low_radius,
            high_radius,
        } = self.extent
        else {
            return None;
        };
        let share = ((h - self.low) / (self.high - self.low)).clamp(0.0, 1.0);
        Some(Loop::Circle {
            centre,
            radius: low_radius + (high_radius - low_radius) * share,
        })
    }
}

fn discs_meet(
    a: &Loop<'_>,
    a_island: Option<&Loop<'_>>,
    b: &Loop<'_>,
    b_island: Option<&Loop<'_>>,
) -> bool {
    a.overlaps(b)
        && !a_island.is_some_and(|i| b.inside(i))
        && !b_island.is_some_and(|i| a.inside(i))
}
