//! A plane region bounded by loops, its extents and its closed-form section properties.

use super::path::Path;
use super::point::{Point, Vector};
use super::segment::Segment;

/// An axis-parallel box, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Extents {
    /// Least x and y.
    pub min: Point,
    /// Greatest x and y.
    pub max: Point,
}

impl Extents {
    /// The box that holds nothing.
    pub const EMPTY: Self = Self {
        min: Point::new(f64::INFINITY, f64::INFINITY),
        max: Point::new(f64::NEG_INFINITY, f64::NEG_INFINITY),
    };

    /// Widens the box to hold `p`.
    pub fn add(&mut self, p: Point) {
        self.min = Point::new(self.min.x.min(p.x), self.min.y.min(p.y));
        self.max = Point::new(self.max.x.max(p.x), self.max.y.max(p.y));
    }

    /// Width along x, mm.
    #[must_use]
    pub fn width(&self) -> f64 {
        self.max.x - self.min.x
    }

    /// Height along y, mm.
    #[must_use]
    pub fn height(&self) -> f64 {
        self.max.y - self.min.y
    }

    /// Middle of the box.
    #[must_use]
    pub fn centre(&self) -> Point {
        self.min.midpoint(self.max)
    }
}

/// A region: one outer loop (counter-clockwise) less its openings (clockwise or not; area is taken as absolute).
#[derive(Debug, Clone, PartialEq)]
pub struct Region {
    /// The outer boundary, counter-clockwise.
    pub outer: Path,
    /// Openings, each strictly inside `outer` and outside the others.
    pub openings: Vec<Path>,
}

/// Area, centroid and second moments of a plane region.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct SectionProperties {
    /// Area, mm².
    pub area_mm2: f64,
    /// Centroid, mm.
    pub centroid: Point,
    /// Second moment about the centroidal axis parallel to x (∫y² dA), mm⁴.
    pub ixx_mm4: f64,
    /// Second moment about the centroidal axis parallel to y (∫x² dA), mm⁴.
    pub iyy_mm4: f64,
    /// Product of area about the centroid (∫xy dA), mm⁴.
    pub ixy_mm4: f64,
}

/// Raw moments ∫1, ∫x, ∫y, ∫x², ∫y², ∫xy over an area, about some origin.
#[derive(Debug, Clone, Copy, Default)]
struct Moments([f64; 6]);

impl Moments {
    fn add(&mut self, other: [f64; 6], sign: f64) {
        for (m, o) in self.0.iter_mut().zip(other) {
            *m += sign * o;
        }
    }
}

impl Region {
    /// A region without openings.
    #[must_use]
    pub const fn solid(outer: Path) -> Self {
        Self {
            outer,
            openings: Vec::new(),
        }
    }

    /// Whether `p` lies in the region (boundary points may answer either way).
    #[must_use]
    pub fn contains(&self, p: Point) -> bool {
        self.outer.contains(p) && !self.openings.iter().any(|o| o.contains(p))
    }

    /// Area, centroid and second moments, exact on lines and arcs (Green's theorem).
    #[must_use]
    pub fn properties(&self) -> SectionProperties {
        // Moments about the middle of the box keep cancellation small.
        let origin = self.outer.extents().centre();
        let mut m = Moments::default();
        let sign = |p: &Path| if p.area() < 0.0 { -1.0 } else { 1.0 };
        for s in &self.outer.segments {
            m.add(boundary_moments(s, origin), sign(&self.outer));
        }
        for opening in &self.openings {
            for s in &opening.segments {
                m.add(boundary_moments(s, origin), -sign(opening));
            }
        }
        let [area, sx, sy, xx, yy, xy] = m.0;
        if area <= 0.0 {
            return SectionProperties::default();
        }
        let c = Vector::new(sx / area, sy / area);
        SectionProperties {
            area_mm2: area,
            centroid: origin + c,
            ixx_mm4: yy - area * c.y * c.y,
            iyy_mm4: xx - area * c.x * c.x,
            ixy_mm4: xy - area * c.x * c.y,
        }
    }
}

/// Contribution of one boundary piece to the raw moments about `origin`.
///
/// ∫∫1 = ∮ x dy, ∫∫x = ∮ x²/2 dy, ∫∫y = −∮ y²/2 dx, ∫∫x² = ∮ x³/3 dy,
/// ∫∫y² = −∮ y³/3 dx, ∫∫xy = ∮ x²y/2 dy (Green's theorem).
fn boundary_moments(s: &Segment, origin: Point) -> [f64; 6] {
    match *s {
        Segment::Line { from, to } => line_moments(from - origin, to - origin),
        Segment::Arc {
            from,
            centre,
            radius,
            ..
        } => {
            let start = (from - centre).angle();
            arc_moments(centre - origin, radius, start, start + s.sweep())
        }
    }
}

fn line_moments(a: Vector, b: Vector) -> [f64; 6] {
    // Polynomials of degree <= 3 in t: Simpson's rule is exact.
    let m = (a + b) * 0.5;
    let (dx, dy) = (b.x - a.x, b.y - a.y);
    let simpson = |f: &dyn Fn(Vector) -> f64, d: f64| d * (f(a) + 4.0 * f(m) + f(b)) / 6.0;
    [
        simpson(&|p| p.x, dy),
        simpson(&|p| 0.5 * p.x * p.x, dy),
        simpson(&|p| -0.5 * p.y * p.y, dx),
        simpson(&|p| p.x.powi(3) / 3.0, dy),
        simpson(&|p| -p.y.powi(3) / 3.0, dx),
        simpson(&|p| 0.5 * p.x * p.x * p.y, dy),
    ]
}

fn arc_moments(c: Vector, r: f64, start: f64, end: f64) -> [f64; 6] {
    // Antiderivatives of the trigonometric monomials.
    let integrals = |t: f64| {
        let (s, k) = t.sin_cos();
        let (s2, s4) = ((2.0 * t).sin(), (4.0 * t).sin());
        [
            s,                                 // 0: cos
            0.5 * t + 0.25 * s2,               // 1: cos²
            s - s.powi(3) / 3.0,               // 2: cos³
            0.375 * t + 0.25 * s2 + s4 / 32.0, // 3: cos⁴
            -k,                                // 4: sin
            0.5 * t - 0.25 * s2,               // 5: sin²
            -k + k.powi(3) / 3.0,              // 6: sin³
            0.375 * t - 0.25 * s2 + s4 / 32.0, // 7: sin⁴
            0.5 * s * s,                       // 8: sin cos
            -k.powi(3) / 3.0,                  // 9: sin cos²
            -k.powi(4) / 4.0,                  // 10: sin cos³
        ]
    };
    let (lo, hi) = (integrals(start), integrals(end));
    let i = |n: usize| hi[n] - lo[n];
    let (x, y) = (c.x, c.y);
    let r2 = r * r;
    [
        r * (x * i(0) + r * i(1)),
        0.5 * r * (x * x * i(0) + 2.0 * x * r * i(1) + r2 * i(2)),
        0.5 * r * (y * y * i(4) + 2.0 * y * r * i(5) + r2 * i(6)),
        r / 3.0 * (x.powi(3) * i(0) + 3.0 * x * x * r * i(1) + 3.0 * x * r2 * i(2) + r2 * r * i(3)),
        r / 3.0 * (y.powi(3) * i(4) + 3.0 * y * y * r * i(5) + 3.0 * y * r2 * i(6) + r2 * r * i(7)),
        0.5 * r
            * (x * x * y * i(0)
                + 2.0 * x * y * r * i(1)
                + y * r2 * i(2)
                + r * (x * x * i(8) + 2.0 * x * r * i(9) + r2 * i(10))),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    #[test]
    fn a_ring_far_from_the_origin_has_textbook_moments() {
        let centre = Point::new(400.0, -250.0);
        let ring = Region {
            outer: Path::circle(centre, 30.0),
            openings: vec![Path::circle(centre, 10.0)],
        };
        let p = ring.properties();
        let area = PI * 800.0;
        let i = PI / 4.0 * (30.0_f64.powi(4) - 10.0_f64.powi(4));
        assert!((p.area_mm2 / area - 1.0).abs() < 1e-13);
        assert!((p.ixx_mm4 / i - 1.0).abs() < 1e-12 && (p.iyy_mm4 / i - 1.0).abs() < 1e-12);
        assert!(p.ixy_mm4.abs() < 1e-6 && p.centroid.distance(centre) < 1e-10);
    }

    #[test]
    fn a_triangle_has_textbook_moments() {
        let t = Region::solid(Path::polygon(&[
            Point::new(0.0, 0.0),
            Point::new(30.0, 0.0),
            Point::new(0.0, 60.0),
        ]));
        let p = t.properties();
        assert!((p.area_mm2 - 900.0).abs() < 1e-9);
        assert!(p.centroid.distance(Point::new(10.0, 20.0)) < 1e-12);
        assert!((p.ixx_mm4 - 30.0 * 60.0_f64.powi(3) / 36.0).abs() < 1e-6);
        assert!((p.ixy_mm4 + 30.0_f64.powi(2) * 60.0_f64.powi(2) / 72.0).abs() < 1e-6);
    }

    #[test]
    fn a_slot_agrees_with_its_parts_by_the_parallel_axis_rule() {
        let (l, r) = (40.0, 8.0);
        let s = Region::solid(Path::slot(Point::new(0.0, 0.0), Point::new(l, 0.0), r));
        let p = s.properties();
        let half = PI * r * r / 2.0;
        let own = r.powi(4) * (PI / 8.0 - 8.0 / (9.0 * PI));
        let arm = l / 2.0 + 4.0 * r / (3.0 * PI);
        let iyy = 2.0 * r * l.powi(3) / 12.0 + 2.0 * (own + half * arm * arm);
        assert!((p.iyy_mm4 / iyy - 1.0).abs() < 1e-12);
    }
}
