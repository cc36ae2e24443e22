//! The surfaces that faces lie on.

use crate::geom::{Point3, Vector3};

use super::curve::Seat;

/// The geometry of a face. Its normal is the one described here; the face says whether metal lies behind it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Surface {
    /// A plane; its normal is the seat's axis.
    Plane(Seat),
    /// A cylinder about the seat's axis; its normal points away from the axis.
    Cylinder {
        /// Axis and start of angles.
        seat: Seat,
        /// Radius as authored, mm.
        radius: f64,
    },
    /// A cone about the seat's axis, widening along it; its normal points away from the axis.
    Cone {
        /// Axis and start of angles; the origin lies where the cone has `radius`.
        seat: Seat,
        /// Radius at the seat's origin, mm.
        radius: f64,
        /// Half of the included angle, rad, between 0 and π/2.
        half_angle_rad: f64,
    },
}

impl Surface {
    /// How far `p` lies off the unbounded surface, mm.
    #[must_use]
    pub fn distance(&self, p: Point3) -> f64 {
        match *self {
            Self::Plane(seat) => seat.coordinates(p).z.abs(),
            Self::Cylinder { seat, radius } => (seat.off_axis(p) - radius).abs(),
            Self::Cone {
                seat,
                radius,
                half_angle_rad,
            } => {
                let c = seat.coordinates(p);
                let (sin, cos) = half_angle_rad.sin_cos();
                ((c.x.hypot(c.y) - radius) * cos - c.z * sin).abs()
            }
        }
    }

    /// Unit normal at a point on the surface (a cone's apex answers its axis reversed).
    #[must_use]
    pub fn normal(&self, p: Point3) -> Vector3 {
        let radial = |seat: &Seat| {
            let c = seat.coordinates(p);
            (seat.x * c.x + seat.y() * c.y).unit()
        };
        match self {
            Self::Plane(seat) => seat.axis,
            Self::Cylinder { seat, .. } => radial(seat).unwrap_or(seat.x),
            Self::Cone {
                seat,
                half_angle_rad,
                ..
            } => {
                let (sin, cos) = half_angle_rad.sin_cos();
                radial(seat).map_or(-seat.axis, |u| u * cos - seat.axis * sin)
            }
        }
    }

    /// The point where a cone closes; `None` for the other surfaces.
    #[must_use]
    pub fn apex(&self) -> Option<Point3> {
        match *self {
            Self::Cone {
                seat,
                radius,
                half_angle_rad,
            } => Some(seat.origin + seat.axis * (-radius / half_angle_rad.tan())),
            Self::Plane(_) | Self::Cylinder { .. } => None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::FRAC_PI_4;

    #[test]
    fn a_right_angled_cone_closes_its_own_radius_below_its_seat() {
        let cone = Surface::Cone {
            seat: Seat::upright(Point3::new(0.0, 0.0, 10.0)),
            radius: 4.0,
            half_angle_rad: FRAC_PI_4,
        };
        let apex = cone.apex().expect("a cone has an apex");
        assert!(apex.distance(Point3::new(0.0, 0.0, 6.0)) < 1e-14);
        assert!(cone.distance(Point3::new(0.0, 6.0, 12.0)) < 1e-14);
        assert!((cone.distance(Point3::new(5.0, 0.0, 10.0)) - FRAC_PI_4.cos()).abs() < 1e-14);
        let n = cone.normal(Point3::new(4.0, 0.0, 10.0));
        assert!((n.x - FRAC_PI_4.cos()).abs() < 1e-15 && (n.z + FRAC_PI_4.sin()).abs() < 1e-15);
    }
}
