//! One boundary piece: a straight line or a circular arc.

use std::f64::consts::{PI, TAU};

use super::point::{Point, Vector};

/// A boundary piece from one point to another.
///
/// An arc keeps the radius and centre it was authored with, bit for bit: they
/// are never recomputed from its ends. An arc whose `from` equals its `to` is
/// a full circle that starts and ends there.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Segment {
    /// A straight line.
    Line {
        /// Start, mm.
        from: Point,
        /// End, mm.
        to: Point,
    },
    /// A circular arc.
    Arc {
        /// Start, mm.
        from: Point,
        /// End, mm.
        to: Point,
        /// Centre, mm.
        centre: Point,
        /// Radius, mm; greater than zero.
        radius: f64,
        /// Whether it runs counter-clockwise.
        ccw: bool,
    },
}

impl Segment {
    /// Start point.
    #[must_use]
    pub const fn from(&self) -> Point {
        match *self {
            Self::Line { from, .. } | Self::Arc { from, .. } => from,
        }
    }

    /// End point.
    #[must_use]
    pub const fn to(&self) -> Point {
        match *self {
            Self::Line { to, .. } | Self::Arc { to, .. } => to,
        }
    }

    /// Whether this is a full circle.
    #[must_use]
    pub fn is_full_circle(&self) -> bool {
        matches!(self, Self::Arc { from, to, .. } if from == to)
    }

    /// Swept angle, rad: positive counter-clockwise, ±2π for a full circle, 0 for a line.
    #[must_use]
    pub fn sweep(&self) -> f64 {
        match *self {
            Self::Line { .. } => 0.0,
            Self::Arc {
                from,
                to,
                centre,
                ccw,
                ..
            } => {
                if from == to {
                    return if ccw { TAU } else { -TAU };
                }
                let a = from - centre;
                let b = to - centre;
                let mut angle = a.cross(b).atan2(a.dot(b));
                if ccw && angle <= 0.0 {
                    angle += TAU;
                } else if !ccw && angle >= 0.0 {
                    angle -= TAU;
                }
                angle
            }
        }
    }

    /// Length, mm.
    #[must_use]
    pub fn length(&self) -> f64 {
        match *self {
            Self::Line { from, to } => from.distance(to),
            Self::Arc { radius, .. } => radius * self.sweep().abs(),
        }
    }

    /// The point at `t` in 0..=1 along the piece.
    #[must_use]
    pub fn at(&self, t: f64) -> Point {
        match *self {
            Self::Line { from, to } => from + (to - from) * t,
            Self::Arc {
                from,
                centre,
                radius,
                ..
            } => centre.polar(radius, (from - centre).angle() + t * self.sweep()),
        }
    }

    /// The point half-way along.
    #[must_use]
    pub fn midpoint(&self) -> Point {
        self.at(0.5)
    }

    /// Unit direction of travel at `t` in 0..=1 (zero vector on a zero-length line).
    #[must_use]
    pub fn direction(&self, t: f64) -> Vector {
        match *self {
            Self::Line { from, to } => (to - from).unit().unwrap_or_default(),
            Self::Arc {
                from, centre, ccw, ..
            } => {
                let angle = (from - centre).angle() + t * self.sweep();
                let outward = Vector::unit_at(angle);
                if ccw { outward.left() } else { -outward.left() }
            }
        }
    }

    /// The same piece travelled the other way.
    #[must_use]
    pub const fn reversed(&self) -> Self {
        match *self {
            Self::Line { from, to } => Self::Line { from: to, to: from },
            Self::Arc {
                from,
                to,
                centre,
                radius,
                ccw,
            } => Self::Arc {
                from: to,
                to: from,
                centre,
                radius,
                ccw: !ccw,
            },
        }
    }

    /// The piece with every point passed through `f`, a rigid motion; `mirrored` tells whether it turns the plane over.
    #[must_use]
    pub fn mapped(&self, f: &impl Fn(Point) -> Point, mirrored: bool) -> Self {
        match *self {
            Self::Line { from, to } => Self::Line {
                from: f(from),
                to: f(to),
            },
            Self::Arc {
                from,
                to,
                centre,
                radius,
                ccw,
            } => Self::Arc {
                from: f(from),
                to: if from == to { f(from) } else { f(to) },
                centre: f(centre),
                radius,
                ccw: ccw != mirrored,
            },
        }
    }

    /// Whether the direction `angle` rad from the arc's centre lies within the arc's sweep (ends included).
    #[must_use]
    pub fn spans_angle(&self, angle: f64) -> bool {
        match *self {
            Self::Line { .. } => false,
            Self::Arc { from, centre, .. } => {
                let start = (from - centre).angle();
                let sweep = self.sweep();
                let mut d = if sweep > 0.0 {
                    angle - start
                } else {
                    start - angle
                };
                d = d.rem_euclid(TAU);
                // A direction a hair before the start is the start.
                d <= sweep.abs() + 1e-12 || d >= TAU - 1e-12
            }
        }
    }

    /// Nearest point of the piece to `p`.
    #[must_use]
    pub fn nearest(&self, p: Point) -> Point {
        match *self {
            Self::Line { from, to } => {
                let d = to - from;
                let length2 = d.dot(d);
                if length2 == 0.0 {
                    return from;
                }
                let t = ((p - from).dot(d) / length2).clamp(0.0, 1.0);
                from + d * t
            }
            Self::Arc {
                from,
                to,
                centre,
                radius,
                ..
            } => {
                let v = p - centre;
                if let Some(u) = v.unit() {
                    if self.spans_angle(u.angle()) {
                        return centre + u * radius;
                    }
                } else {
                    return from;
                }
                if p.distance(from) <= p.distance(to) {
                    from
                } else {
                    to
                }
            }
        }
    }

    /// Distance from `p` to the piece, mm.
    #[must_use]
    pub fn distance(&self, p: Point) -> f64 {
        self.nearest(p).distance(p)
    }

    /// DXF bulge: tan of a quarter of the swept angle, positive counter-clockwise, 0 for a line.
    ///
    /// A full circle has no bulge; split it first.
    #[must_use]
    pub fn bulge(&self) -> f64 {
        let sweep = self.sweep();
        if sweep.abs() >= TAU - 1e-15 {
            return f64::INFINITY;
        }
        (0.25 * sweep).tan()
    }

    /// A full circle about `centre`, counter-clockwise, starting at its +x point.
    #[must_use]
    pub fn circle(centre: Point, radius: f64) -> Self {
        let start = Point::new(centre.x + radius, centre.y);
        Self::Arc {
            from: start,
            to: start,
            centre,
            radius,
            ccw: true,
        }
    }

    /// A counter-clockwise arc about `centre` between two directions, rad.
    #[must_use]
    pub fn arc(centre: Point, radius: f64, start: f64, end: f64) -> Self {
        Self::Arc {
            from: centre.polar(radius, start),
            to: centre.polar(radius, end),
            centre,
            radius,
            ccw: true,
        }
    }

    /// Whether the arc is longer than half a circle.
    #[must_use]
    pub fn is_major_arc(&self) -> bool {
        self.sweep().abs() > PI
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_quarter_arc_has_quarter_sweep_and_its_bulge() {
        let a = Segment::arc(Point::ORIGIN, 10.0, 0.0, PI / 2.0);
        assert!((a.sweep() - PI / 2.0).abs() < 1e-15);
        assert!((a.bulge() - (PI / 8.0).tan()).abs() < 1e-15);
        assert!((a.length() - 5.0 * PI).abs() < 1e-12);
        assert!((a.reversed().sweep() + PI / 2.0).abs() < 1e-15);
    }

    #[test]
    fn nearest_point_of_an_arc_is_radial_inside_and_an_end_outside() {
        let a = Segment::arc(Point::ORIGIN, 10.0, 0.0, PI / 2.0);
        let n = a.nearest(Point::new(20.0, 20.0));
        assert!((n.x - n.y).abs() < 1e-12);
        assert!(
            a.nearest(Point::new(20.0, -5.0))
                .distance(Point::new(10.0, 0.0))
                < 1e-12
        );
    }

    #[test]
    fn a_full_circle_sweeps_a_whole_turn() {
        let c = Segment::circle(Point::new(1.0, 2.0), 3.0);
        assert!(c.is_full_circle());
        assert!((c.length() - TAU * 3.0).abs() < 1e-12);
        assert!(c.spans_angle(-3.0));
    }
}
