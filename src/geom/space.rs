//! Points, vectors and frames of space.

use std::ops::{Add, Mul, Neg, Sub};

use super::point::Point;

/// A point of the engine's space, mm.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Point3 {
    /// Along engine +X (right), mm.
    pub x: f64,
    /// Along engine +Y (up), mm.
    pub y: f64,
    /// Along engine +Z (out of the engine), mm.
    pub z: f64,
}

/// A displacement in space, mm; also used for directions (length 1).
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Vector3 {
    /// Component along +X.
    pub x: f64,
    /// Component along +Y.
    pub y: f64,
    /// Component along +Z.
    pub z: f64,
}

impl Point3 {
    /// The origin.
    pub const ORIGIN: Self = Self::new(0.0, 0.0, 0.0);

    /// A point at (`x`, `y`, `z`), mm.
    #[must_use]
    pub const fn new(x: f64, y: f64, z: f64) -> Self {
        Self { x, y, z }
    }

    /// Distance to another point, mm.
    #[must_use]
    pub fn distance(self, other: Self) -> f64 {
        (other - self).length()
    }
}

impl Vector3 {
    /// +X.
    pub const X: Self = Self::new(1.0, 0.0, 0.0);
    /// +Y.
    pub const Y: Self = Self::new(0.0, 1.0, 0.0);
    /// +Z.
    pub const Z: Self = Self::new(0.0, 0.0, 1.0);

    /// A vector (`x`, `y`, `z`).
    #[must_use]
    pub const fn new(x: f64, y: f64, z: f64) -> Self {
        Self { x, y, z }
    }

    /// Scalar product.
    #[must_use]
    pub fn dot(self, o: Self) -> f64 {
        self.x * o.x + self.y * o.y + self.z * o.z
    }

    /// Vector product.
    #[must_use]
    pub fn cross(self, o: Self) -> Self {
        Self::new(
            self.y * o.z - self.z * o.y,
            self.z * o.x - self.x * o.z,
            self.x * o.y - self.y * o.x,
        )
    }

    /// Length, mm.
    #[must_use]
    pub fn length(self) -> f64 {
        self.dot(self).sqrt()
    }

    /// The vector scaled to length 1, or `None` where it has no direction.
    #[must_use]
    pub fn unit(self) -> Option<Self> {
        let length = self.length();
        (length > 0.0 && length.is_finite()).then(|| self * (1.0 / length))
    }
}

impl Sub for Point3 {
    type Output = Vector3;
    fn sub(self, o: Self) -> Vector3 {
        Vector3::new(self.x - o.x, self.y - o.y, self.z - o.z)
    }
}

impl Add<Vector3> for Point3 {
    type Output = Self;
    fn add(self, v: Vector3) -> Self {
        Self::new(self.x + v.x, self.y + v.y, self.z + v.z)
    }
}

impl Add for Vector3 {
    type Output = Self;
    fn add(self, o: Self) -> Self {
        Self::new(self.x + o.x, self.y + o.y, self.z + o.z)
    }
}

impl Sub for Vector3 {
    type Output = Self;
    fn sub(self, o: Self) -> Self {
        Self::new(self.x - o.x, self.y - o.y, self.z - o.z)
    }
}

impl Mul<f64> for Vector3 {
    type Output = Self;
    fn mul(self, k: f64) -> Self {
        Self::new(self.x * k, self.y * k, self.z * k)
    }
}

impl Neg for Vector3 {
    type Output = Self;
    fn neg(self) -> Self {
        Self::new(-self.x, -self.y, -self.z)
    }
}

/// A right-handed orthonormal frame: a plane with an origin, an x direction and a normal.
///
/// Plane coordinates (x, y) are seen with the normal pointing at the viewer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Frame {
    /// Where plane coordinates (0, 0) and height 0 lie, mm.
    pub origin: Point3,
    /// Unit x direction.
    pub x: Vector3,
    /// Unit y direction, `normal × x`.
    pub y: Vector3,
    /// Unit normal.
    pub normal: Vector3,
}

impl Frame {
    /// The engine frame itself: what `front` means.
    pub const FRONT: Self = Self {
        origin: Point3::ORIGIN,
        x: Vector3::X,
        y: Vector3::Y,
        normal: Vector3::Z,
    };

    /// A frame from an origin, a normal and an x direction.
    ///
    /// The x direction is made square to the normal. Returns `None` where
    /// either has no length or both are parallel.
    #[must_use]
    pub fn new(origin: Point3, normal: Vector3, x: Vector3) -> Option<Self> {
        let normal = normal.unit()?;
        let x_unit = x.unit()?;
        let square = x_unit - normal * x_unit.dot(normal);
        if square.length() < 1e-9 {
            return None;
        }
        let x = square.unit()?;
        Some(Self {
            origin,
            x,
            y: normal.cross(x),
            normal,
        })
    }

    /// Engine coordinates of a point given in this frame (x, y in the plane, `h` along the normal).
    #[must_use]
    pub fn to_engine(&self, p: Point, h: f64) -> Point3 {
        self.origin + self.x * p.x + self.y * p.y + self.normal * h
    }

    /// Plane coordinates and height along the normal of an engine point.
    #[must_use]
    pub fn to_plane(&self, p: Point3) -> (Point, f64) {
        let d = p - self.origin;
        (Point::new(d.dot(self.x), d.dot(self.y)), d.dot(self.normal))
    }

    /// The same frame moved `h` mm along its normal.
    #[must_use]
    pub fn raised(&self, h: f64) -> Self {
        Self {
            origin: self.origin + self.normal * h,
            ..*self
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn plane_and_engine_coordinates_are_inverse() {
        let f = Frame::new(
            Point3::new(10.0, -20.0, 5.0),
            Vector3::X,
            Vector3::new(0.0, 0.0, -1.0),
        )
        .expect("a plain frame");
        let p = f.to_engine(Point::new(3.0, 4.0), 7.0);
        assert_eq!(p, Point3::new(17.0, -16.0, 2.0));
        assert_eq!(f.to_plane(p), (Point::new(3.0, 4.0), 7.0));
    }

    #[test]
    fn a_frame_with_parallel_directions_is_refused() {
        assert!(Frame::new(Point3::ORIGIN, Vector3::Z, Vector3::Z).is_none());
        assert!(Frame::new(Point3::ORIGIN, Vector3::default(), Vector3::X).is_none());
    }
}
