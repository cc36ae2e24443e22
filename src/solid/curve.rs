//! Where a surface or circle sits, and the curves that edges lie on.

use crate::geom::{Point3, Vector3};

/// An origin with an axis and a direction square to it: the seat of a circle, plane, cylinder or cone.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Seat {
    /// Origin, mm.
    pub origin: Point3,
    /// Unit axis: a circle's or plane's normal, a cylinder's or cone's axis.
    pub axis: Vector3,
    /// Unit direction square to the axis, where angles start.
    pub x: Vector3,
}

impl Seat {
    /// A seat with its axis along +z and angles from +x.
    #[must_use]
    pub const fn upright(origin: Point3) -> Self {
        Self {
            origin,
            axis: Vector3::Z,
            x: Vector3::X,
        }
    }

    /// The direction of 90° about the axis.
    #[must_use]
    pub fn y(&self) -> Vector3 {
        self.axis.cross(self.x)
    }

    /// Coordinates of a point along `x`, `y` and the axis, mm.
    #[must_use]
    pub fn coordinates(&self, p: Point3) -> Vector3 {
        let d = p - self.origin;
        Vector3::new(d.dot(self.x), d.dot(self.y()), d.dot(self.axis))
    }

    /// Distance of a point from the axis, mm.
    #[must_use]
    pub fn off_axis(&self, p: Point3) -> f64 {
        let c = self.coordinates(p);
        c.x.hypot(c.y)
    }
}

/// The geometry of an edge.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Curve {
    /// A straight line.
    Line {
        /// A point on it: the edge's first vertex, mm.
        from: Point3,
        /// Unit direction of travel.
        direction: Vector3,
    },
    /// A circle, or an arc of it between the edge's vertices, counter-clockwise about the seat's axis.
    Circle {
        /// Centre, normal and the direction of the edge's first vertex.
        seat: Seat,
        /// Radius as authored, mm.
        radius: f64,
    },
}

impl Curve {
    /// How far `p` lies off the unbounded line or circle, mm.
    #[must_use]
    pub fn distance(&self, p: Point3) -> f64 {
        match *self {
            Self::Line { from, direction } => (p - from).cross(direction).length(),
            Self::Circle { seat, radius } => {
                let c = seat.coordinates(p);
                (c.x.hypot(c.y) - radius).hypot(c.z)
            }
        }
    }

    /// The angle that a circular edge sweeps from `from` to `to`, rad in (0, 2π]; 0 for a line.
    ///
    /// An edge that ends where it starts is a full circle.
    #[must_use]
    pub fn sweep(&self, from: Point3, to: Point3) -> f64 {
        let Self::Circle { seat, .. } = self else {
            return 0.0;
        };
        if from == to {
            return std::f64::consts::TAU;
        }
        let (a, b) = (seat.coordinates(from), seat.coordinates(to));
        let angle = (a.x * b.y - a.y * b.x).atan2(a.x * b.x + a.y * b.y);
        if angle > 0.0 {
            angle
        } else {
            angle + std::f64::consts::TAU
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    #[test]
    fn distance_from_a_circle_counts_height_and_radius() {
        let c = Curve::Circle {
            seat: Seat::upright(Point3::new(1.0, 2.0, 3.0)),
            radius: 5.0,
        };
        assert!(c.distance(Point3::new(6.0, 2.0, 3.0)) < 1e-15);
        assert!((c.distance(Point3::new(9.0, 2.0, 7.0)) - 5.0).abs() < 1e-14);
    }

    #[test]
    fn sweep_runs_the_long_way_where_the_vertices_say_so() {
        let c = Curve::Circle {
            seat: Seat::upright(Point3::ORIGIN),
            radius: 1.0,
        };
        let (east, south) = (Point3::new(1.0, 0.0, 0.0), Point3::new(0.0, -1.0, 0.0));
        assert!((c.sweep(east, south) - 1.5 * PI).abs() < 1e-15);
        assert!((c.sweep(south, east) - 0.5 * PI).abs() < 1e-15);
        assert!((c.sweep(east, east) - 2.0 * PI).abs() < 1e-15);
    }
}
