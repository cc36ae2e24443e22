//! How a body swings or slides: where its points are along the way.

use crate::geom::{Frame, Point3, Vector3};

use super::body::Body;
use super::nearest::ReadyBody;
use super::solid::{Prism, Solid, Tube};

/// How a body moves.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Motion {
    /// Turns about an axis: an arm about its pivot, an accessory along its slot.
    Turn {
        /// A point of the axis, mm.
        pivot: Point3,
        /// Direction of the axis; turning is right-handed about it.
        axis: Vector3,
        /// Angle at the start of the way, rad from the body's given place.
        from_rad: f64,
        /// Angle at the end of the way, rad.
        to_rad: f64,
    },
    /// Slides straight: a belt coming off, a bolt drawn out.
    Slide {
        /// From the body's given place to the end of the way, mm.
        by: Vector3,
    },
}

impl Motion {
    /// A point of the body at `t` in 0..=1 along the way.
    #[must_use]
    pub fn carried(&self, p: Point3, t: f64) -> Point3 {
        match *self {
            Self::Turn { pivot, .. } => pivot + self.turned(p - pivot, t),
            Self::Slide { by } => p + by * t,
        }
    }

    /// A direction of the body at `t`.
    fn turned(&self, v: Vector3, t: f64) -> Vector3 {
        let Self::Turn {
            axis,
            from_rad,
            to_rad,
            ..
        } = *self
        else {
            return v;
        };
        // Rodrigues' rotation.
        let k = axis.unit().unwrap_or(Vector3::Z);
        let (sin, cos) = (from_rad + t * (to_rad - from_rad)).sin_cos();
        v * cos + k.cross(v) * sin + k * (k.dot(v) * (1.0 - cos))
    }

    /// The body at `t` in 0..=1 along the way.
    #[must_use]
    pub fn placed(&self, body: &Body, t: f64) -> Body {
        let solids = body
            .solids
            .iter()
            .map(|s| match s {
                Solid::Prism(p) => Solid::Prism(Prism {
                    frame: Frame {
                        origin: self.carried(p.frame.origin, t),
                        x: self.turned(p.frame.x, t),
                        y: self.turned(p.frame.y, t),
                        normal: self.turned(p.frame.normal, t),
                    },
                    ..p.clone()
                }),
                Solid::Tube(tube) => Solid::Tube(Tube {
                    centres: tube.centres.iter().map(|&c| self.carried(c, t)).collect(),
                    ..tube.clone()
                }),
            })
            .collect();
        Body {
            solids,
            ..body.clone()
        }
    }

    /// Longest way any point of the body travels from start to end, mm.
    pub(super) fn travel_mm(&self, body: &ReadyBody) -> f64 {
        match *self {
            Self::Slide { by } => by.length(),
            Self::Turn {
                pivot,
                axis,
                from_rad,
                to_rad,
            } => {
                let k = axis.unit().unwrap_or(Vector3::Z);
                let mut reach: f64 = 0.0;
                for solid in &body.solids {
                    let b = solid.bounds();
                    for x in [b.min[0], b.max[0]] {
                        for y in [b.min[1], b.max[1]] {
                            for z in [b.min[2], b.max[2]] {
                                let v = Point3::new(x, y, z) - pivot;
                                reach = reach.max(k.cross(v).length());
                            }
                        }
                    }
                }
                reach * (to_rad - from_rad).abs()
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tables::gap::Kind;

    #[test]
    fn a_quarter_turn_carries_x_to_y_and_turns_the_frame() {
        let turn = Motion::Turn {
            pivot: Point3::new(10.0, 0.0, 0.0),
            axis: Vector3::Z,
            from_rad: 0.0,
            to_rad: std::f64::consts::FRAC_PI_2,
        };
        let end = turn.carried(Point3::new(30.0, 0.0, 5.0), 1.0);
        assert!(end.distance(Point3::new(10.0, 20.0, 5.0)) < 1e-12);
        let rod =
            Prism::cylinder("rod", Point3::new(30.0, 0.0, 5.0), Vector3::X, 2.0, 9.0).unwrap();
        let body = Body::new("rod", Kind::Moving, vec![Solid::Prism(rod)]);
        let Solid::Prism(moved) = &turn.placed(&body, 1.0).solids[0] else {
            unreachable!("a rod is a prism");
        };
        assert!((moved.frame.normal - Vector3::Y).length() < 1e-12);
        // The far end of the rod is 29 mm from the axis, its rim a little more.
        let travel = turn.travel_mm(&ReadyBody::new(&body));
        let turns = travel / std::f64::consts::FRAC_PI_2;
        assert!((29.0..30.0).contains(&turns), "{turns}");
    }
}
