//! Points and vectors of the plane.

use std::ops::{Add, Mul, Neg, Sub};

/// A point of a plane, mm.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Point {
    /// Position along the frame's x direction, mm.
    pub x: f64,
    /// Position along the frame's y direction, mm.
    pub y: f64,
}

/// A displacement in a plane, mm.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Vector {
    /// Component along x, mm.
    pub x: f64,
    /// Component along y, mm.
    pub y: f64,
}

impl Point {
    /// The origin.
    pub const ORIGIN: Self = Self { x: 0.0, y: 0.0 };

    /// A point at (`x`, `y`), mm.
    #[must_use]
    pub const fn new(x: f64, y: f64) -> Self {
        Self { x, y }
    }

    /// Distance to another point, mm.
    #[must_use]
    pub fn distance(self, other: Self) -> f64 {
        (other - self).length()
    }

    /// The point half-way to `other`.
    #[must_use]
    pub fn midpoint(self, other: Self) -> Self {
        Self::new(0.5 * (self.x + other.x), 0.5 * (self.y + other.y))
    }

    /// The point at `radius` mm from `self` in the direction `angle` rad from +x.
    #[must_use]
    pub fn polar(self, radius: f64, angle: f64) -> Self {
        Self::new(self.x + radius * angle.cos(), self.y + radius * angle.sin())
    }

    /// The point as a displacement from the origin.
    #[must_use]
    pub const fn to_vector(self) -> Vector {
        Vector::new(self.x, self.y)
    }
}

impl Vector {
    /// A vector (`x`, `y`), mm.
    #[must_use]
    pub const fn new(x: f64, y: f64) -> Self {
        Self { x, y }
    }

    /// The unit vector at `angle` rad from +x.
    #[must_use]
    pub fn unit_at(angle: f64) -> Self {
        Self::new(angle.cos(), angle.sin())
    }

    /// Length, mm.
    #[must_use]
    pub fn length(self) -> f64 {
        self.x.hypot(self.y)
    }

    /// Scalar product, mm².
    #[must_use]
    pub fn dot(self, other: Self) -> f64 {
        self.x * other.x + self.y * other.y
    }

    /// z component of the vector product, mm²; positive when `other` lies to the left.
    #[must_use]
    pub fn cross(self, other: Self) -> f64 {
        self.x * other.y - self.y * other.x
    }

    /// The vector turned a quarter turn counter-clockwise.
    #[must_use]
    pub const fn left(self) -> Self {
        Self::new(-self.y, self.x)
    }

    /// The vector scaled to length 1, or `None` where it has no direction.
    #[must_use]
    pub fn unit(self) -> Option<Self> {
        let length = self.length();
        (length > 0.0 && length.is_finite()).then(|| self * (1.0 / length))
    }

    /// The vector turned by `angle` rad counter-clockwise.
    #[must_use]
    pub fn turned(self, angle: f64) -> Self {
        let (sin, cos) = angle.sin_cos();
        Self::new(self.x * cos - self.y * sin, self.x * sin + self.y * cos)
    }

    /// Direction, rad from +x in (−π, π].
    #[must_use]
    pub fn angle(self) -> f64 {
        self.y.atan2(self.x)
    }
}

impl Sub for Point {
    type Output = Vector;
    fn sub(self, other: Self) -> Vector {
        Vector::new(self.x - other.x, self.y - other.y)
    }
}

impl Add<Vector> for Point {
    type Output = Self;
    fn add(self, v: Vector) -> Self {
        Self::new(self.x + v.x, self.y + v.y)
    }
}

impl Sub<Vector> for Point {
    type Output = Self;
    fn sub(self, v: Vector) -> Self {
        Self::new(self.x - v.x, self.y - v.y)
    }
}

impl Add for Vector {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self::new(self.x + other.x, self.y + other.y)
    }
}

impl Sub for Vector {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self::new(self.x - other.x, self.y - other.y)
    }
}

impl Mul<f64> for Vector {
    type Output = Self;
    fn mul(self, k: f64) -> Self {
        Self::new(self.x * k, self.y * k)
    }
}

impl Neg for Vector {
    type Output = Self;
    fn neg(self) -> Self {
        Self::new(-self.x, -self.y)
    }
}
