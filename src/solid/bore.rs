//! A round hole as rings along its axis: what a turned profile is made of.

use crate::feature::{DRILL_POINT_DEG, Depth, Face, Floor, Hole, Mouth};
use crate::geom::Point;
use crate::tol::SNAP_MM;

use super::error::SolidError;

/// A circle square to the axis.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Ring {
    /// Height in the plate's frame, mm.
    pub(super) height: f64,
    /// Radius, mm.
    pub(super) radius: f64,
}

/// What lies between a ring and the next.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Link {
    /// One radius: a cylinder.
    Cylinder,
    /// One height: a flat seat.
    Seat,
    /// A cone of this half angle, rad.
    Cone(f64),
}

/// How a bore ends.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum End {
    /// In the opposite face.
    Open,
    /// In a flat floor.
    Flat,
    /// In a cone that closes at this height, mm.
    Point { tip: f64, half_angle_rad: f64 },
}

/// A bore: rings from the face it starts in (the front face for a through hole) to its end.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Bore {
    pub(super) centre: Point,
    /// The face the first ring lies in.
    pub(super) from: Face,
    rings: [(Ring, Link); 4],
    count: usize,
    pub(super) end: End,
}

impl Bore {
    /// A hole between the surfaces at `front` and `back` (heights, mm) of the metal around it.
    ///
    /// Depths count from the surface that the hole starts in: for a hole in a
    /// pocket's floor, from that floor.
    pub(super) fn new(id: &str, hole: &Hole, front: f64, back: f64) -> Result<Self, SolidError> {
        let radius = 0.5 * hole.diameter_mm;
        if !(hole.centre.x.is_finite() && hole.centre.y.is_finite()) {
            return Err(SolidError::size(id, "its centre is not a finite point"));
        }
        if !(radius.is_finite() && radius > SNAP_MM) {
            return Err(SolidError::size(
                id,
                "its diameter is not a length above zero",
            ));
        }
        // Heights are reached by one addition each, so that they print as authored.
        let (from, start, stop, end) = match hole.depth {
            Depth::Through => (Face::Front, front, back, End::Open),
            Depth::Blind {
                depth_mm,
                from,
                floor,
            } => {
                if !(depth_mm.is_finite() && depth_mm > SNAP_MM) {
                    return Err(SolidError::size(id, "its depth is not a length above zero"));
                }
                let whole = depth_mm + floor.point_mm(radius);
                let left_mm = front - back - whole;
                if left_mm <= SNAP_MM {
                    let feature = id.to_owned();
                    return Err(SolidError::BreaksThrough { feature, left_mm });
                }
                let (start, inward) = match from {
                    Face::Front => (front, -1.0),
                    Face::Back => (back, 1.0),
                };
                let end = match floor {
                    Floor::Flat => End::Flat,
                    Floor::DrillPoint => End::Point {
                        tip: start + inward * whole,
                        half_angle_rad: (0.5 * DRILL_POINT_DEG).to_radians(),
                    },
                };
                (from, start, start + inward * depth_mm, end)
            }
        };
        let ring = |height| (Ring { height, radius }, Link::Cylinder);
        let mut bore = Self {
            centre: hole.centre,
            from,
            rings: [ring(start), ring(stop), ring(stop), ring(stop)],
            count: 2,
            end,
        };
        if let Some(mouth) = hole.mouth {
            bore.add_mouth(id, &mouth, hole, start, stop)?;
        }
        Ok(bore)
    }

    fn add_mouth(
        &mut self,
        id: &str,
        mouth: &Mouth,
        hole: &Hole,
        start: f64,
        stop: f64,
    ) -> Result<(), SolidError> {
        let (face, diameter, half_angle) = match *mouth {
            Mouth::Counterbore {
                diameter_mm, face, ..
            } => (face, diameter_mm, None),
            Mouth::Countersink {
                diameter_mm,
                angle_deg,
                face,
            } => {
                if !(angle_deg.is_finite() && angle_deg > 0.0 && angle_deg < 180.0) {
                    return Err(SolidError::size(
                        id,
                        "its countersink's angle is not between 0 and 180 deg",
                    ));
                }
                (face, diameter_mm, Some((0.5 * angle_deg).to_radians()))
            }
        };
        let wide = 0.5 * diameter;
        if !(wide.is_finite() && wide > 0.5 * hole.diameter_mm + SNAP_MM) {
            return Err(SolidError::size(id, "its mouth is not wider than the hole"));
        }
        let sink = mouth.depth_mm(hole.diameter_mm);
        let depth = (start - stop).abs();
        if !(sink.is_finite() && sink > SNAP_MM && sink < depth - SNAP_MM) {
            return Err(SolidError::size(
                id,
                format!("its mouth is {sink:.3} mm deep in a hole of {depth:.3} mm"),
            ));
        }
        let through = hole.depth == Depth::Through;
        if !through && face != self.from {
            return Err(SolidError::size(
                id,
                "its mouth is on a face that the blind hole does not reach",
            ));
        }
        let ring = |height, radius| Ring { height, radius };
        let narrow = 0.5 * hole.diameter_mm;
        let link = half_angle.map_or(Link::Cylinder, Link::Cone);
        // A countersink narrows at once; a counterbore keeps its width down to a seat.
        let inward = (stop - start).signum();
        let near = if face == self.from {
            start + inward * sink
        } else {
            stop - inward * sink
        };
        let profile: &[(Ring, Link)] = match (face == self.from, half_angle.is_some()) {
            (true, true) => &[
                (ring(start, wide), link),
                (ring(near, narrow), Link::Cylinder),
                (ring(stop, narrow), Link::Cylinder),
            ],
            (true, false) => &[
                (ring(start, wide), link),
                (ring(near, wide), Link::Seat),
                (ring(near, narrow), Link::Cylinder),
                (ring(stop, narrow), Link::Cylinder),
            ],
            (false, true) => &[
                (ring(start, narrow), Link::Cylinder),
                (ring(near, narrow), link),
                (ring(stop, wide), Link::Cylinder),
            ],
            (false, false) => &[
                (ring(start, narrow), Link::Cylinder),
                (ring(near, narrow), Link::Seat),
                (ring(near, wide), link),
                (ring(stop, wide), Link::Cylinder),
            ],
        };
        self.count = profile.len();
        for (slot, part) in self.rings.iter_mut().zip(profile) {
            *slot = *part;
        }
        Ok(())
    }

    /// The rings, each with the link to the next (the last one's says nothing).
    pub(super) fn rings(&self) -> &[(Ring, Link)] {
        self.rings.get(..self.count).unwrap_or(&self.rings)
    }
}
