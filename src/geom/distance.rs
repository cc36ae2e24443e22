//! Exact least distances between boundaries, with the pair of points where they occur.

use super::path::Path;
use super::point::{Point, Vector};
use super::region::Extents;
use super::segment::Segment;

/// The least distance between two shapes and where it is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gap {
    /// Least distance, mm; 0 where the boundaries cross or touch.
    pub distance: f64,
    /// The point on the first shape.
    pub a: Point,
    /// The point on the second.
    pub b: Point,
}

impl Gap {
    const NONE: Self = Self {
        distance: f64::INFINITY,
        a: Point::ORIGIN,
        b: Point::ORIGIN,
    };

    fn between(a: Point, b: Point) -> Self {
        Self {
            distance: a.distance(b),
            a,
            b,
        }
    }

    /// The same gap seen from the other shape.
    #[must_use]
    pub const fn swapped(self) -> Self {
        Self {
            distance: self.distance,
            a: self.b,
            b: self.a,
        }
    }

    /// The smaller of two gaps; the first where they are equal.
    #[must_use]
    pub fn or_less(self, other: Self) -> Self {
        if other.distance < self.distance {
            other
        } else {
            self
        }
    }
}

impl Segment {
    /// Bounding box, arc extents included.
    #[must_use]
    pub fn extents(&self) -> Extents {
        let mut e = Extents::EMPTY;
        e.add(self.from());
        e.add(self.to());
        if let Self::Arc { centre, radius, .. } = *self {
            let quarters = [(1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0)];
            for (k, (x, y)) in quarters.into_iter().enumerate() {
                if self.spans_angle(k as f64 * std::f64::consts::FRAC_PI_2) {
                    e.add(centre + Vector::new(x, y) * radius);
                }
            }
        }
        e
    }

    /// Exact least distance to another piece.
    #[must_use]
    pub fn gap(&self, other: &Self) -> Gap {
        if let Some(p) = self.meets(other) {
            return Gap::between(p, p);
        }
        // Apart, the least distance runs from an end of one, or along a common
        // normal: through the centre of an arc.
        let mut best = Gap::NONE;
        for p in [self.from(), self.to()] {
            best = best.or_less(Gap::between(p, other.nearest(p)));
        }
        for p in [other.from(), other.to()] {
            best = best.or_less(Gap::between(self.nearest(p), p));
        }
        match (*self, *other) {
            (Self::Arc { centre: c, .. }, Self::Arc { centre: d, .. }) => {
                // From either circle's near and far side along the line of centres.
                if let Some(u) = (d - c).unit() {
                    for v in [u, -u] {
                        if let Some(p) = self.on_arc(v) {
                            best = best.or_less(Gap::between(p, other.nearest(p)));
                        }
                        if let Some(p) = other.on_arc(v) {
                            best = best.or_less(Gap::between(self.nearest(p), p));
                        }
                    }
                }
            }
            (Self::Arc { centre, .. }, Self::Line { .. }) => {
                let foot = other.nearest(centre);
                best = best.or_less(Gap::between(self.nearest(foot), foot));
            }
            (Self::Line { .. }, Self::Arc { centre, .. }) => {
                let foot = self.nearest(centre);
                best = best.or_less(Gap::between(foot, other.nearest(foot)));
            }
            (Self::Line { .. }, Self::Line { .. }) => {}
        }
        best
    }

    /// The point of an arc in the direction `v` (unit) from its centre, if the arc reaches there.
    fn on_arc(&self, v: Vector) -> Option<Point> {
        match *self {
            Self::Arc { centre, radius, .. } if self.spans_angle(v.angle()) => {
                Some(centre + v * radius)
            }
            _ => None,
        }
    }

    /// A point where two pieces cross or touch, if they do.
    #[must_use]
    pub fn meets(&self, other: &Self) -> Option<Point> {
        match (*self, *other) {
            (Self::Line { from: a, to: b }, Self::Line { from: c, to: d }) => {
                let (u, v) = (b - a, d - c);
                let cross = u.cross(v);
                if cross == 0.0 {
                    return None;
                }
                let t = (c - a).cross(v) / cross;
                let s = (c - a).cross(u) / cross;
                ((0.0..=1.0).contains(&t) && (0.0..=1.0).contains(&s)).then(|| a + u * t)
            }
            (Self::Line { from, to }, Self::Arc { centre, radius, .. }) => {
                line_meets_circle(from, to, centre, radius)
                    .into_iter()
                    .flatten()
                    .find(|p| other.spans_angle((*p - centre).angle()))
            }
            (Self::Arc { .. }, Self::Line { .. }) => other.meets(self),
            (
                Self::Arc {
                    centre: c,
                    radius: r,
                    ..
                },
                Self::Arc {
                    centre: d,
                    radius: s,
                    ..
                },
            ) => circles_meet(c, r, d, s).into_iter().flatten().find(|p| {
                self.spans_angle((*p - c).angle()) && other.spans_angle((*p - d).angle())
            }),
        }
    }
}

/// Where the segment from `a` to `b` crosses a circle.
fn line_meets_circle(a: Point, b: Point, centre: Point, radius: f64) -> [Option<Point>; 2] {
    let u = b - a;
    let length2 = u.dot(u);
    if length2 == 0.0 {
        return [None, None];
    }
    let w = a - centre;
    let half = u.dot(w);
    let disc = half * half - length2 * (w.dot(w) - radius * radius);
    if disc < 0.0 {
        return [None, None];
    }
    let root = disc.sqrt();
    [(-half - root) / length2, (-half + root) / length2]
        .map(|t| (0.0..=1.0).contains(&t).then(|| a + u * t))
}

/// Where the circle of radius `r` about `c` crosses that of radius `s` about `d`, mm; neither where they do not meet.
pub(crate) fn circles_meet(c: Point, r: f64, d: Point, s: f64) -> [Option<Point>; 2] {
    let v = d - c;
    let dist = v.length();
    if dist == 0.0 || dist > r + s || dist < (r - s).abs() {
        return [None, None];
    }
    let along = (dist * dist + r * r - s * s) / (2.0 * dist);
    let across = (r * r - along * along).max(0.0).sqrt();
    let u = v * (1.0 / dist);
    let foot = c + u * along;
    [
        Some(foot + u.left() * across),
        Some(foot - u.left() * across),
    ]
}

impl Extents {
    /// Least distance between two boxes, mm; 0 where they overlap.
    #[must_use]
    pub fn distance(&self, other: &Self) -> f64 {
        let dx = (self.min.x - other.max.x)
            .max(other.min.x - self.max.x)
            .max(0.0);
        let dy = (self.min.y - other.max.y)
            .max(other.min.y - self.max.y)
            .max(0.0);
        dx.hypot(dy)
    }
}

impl Path {
    /// Exact least distance between two boundaries; 0 where they cross.
    #[must_use]
    pub fn gap(&self, other: &Self) -> Gap {
        let boxes: Vec<Extents> = other.segments.iter().map(Segment::extents).collect();
        let mut best = Gap::NONE;
        for s in &self.segments {
            let e = s.extents();
            for (o, b) in other.segments.iter().zip(&boxes) {
                if e.distance(b) < best.distance {
                    best = best.or_less(s.gap(o));
                }
            }
        }
        best
    }

    /// Least distance from the boundary to a point; `a` on the boundary, `b` the point.
    #[must_use]
    pub fn gap_to_point(&self, p: Point) -> Gap {
        Gap::between(self.nearest(p), p)
    }

    /// Exact least distance from the boundary to one piece; `a` on the boundary, `b` on the piece.
    #[must_use]
    pub fn gap_to_segment(&self, s: &Segment) -> Gap {
        let e = s.extents();
        let mut best = Gap::NONE;
        for o in &self.segments {
            if o.extents().distance(&e) < best.distance {
                best = best.or_less(o.gap(s));
            }
        }
        best
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use std::f64::consts::TAU;

    fn sampled(a: &Segment, b: &Segment) -> f64 {
        let n = 400;
        (0..=n)
            .map(|i| b.distance(a.at(f64::from(i) / f64::from(n))))
            .fold(f64::INFINITY, f64::min)
    }

    fn piece() -> impl Strategy<Value = Segment> {
        let p = || (-50.0..50.0, -50.0..50.0).prop_map(|(x, y)| Point::new(x, y));
        prop_oneof![
            (p(), p()).prop_map(|(from, to)| Segment::Line { from, to }),
            (p(), 1.0..40.0, 0.0..TAU, 0.1..TAU - 0.1, any::<bool>()).prop_map(
                |(c, r, start, sweep, ccw)| {
                    let s = Segment::arc(c, r, start, start + sweep);
                    if ccw { s } else { s.reversed() }
                }
            ),
            (p(), 1.0..40.0).prop_map(|(c, r)| Segment::circle(c, r)),
        ]
    }

    proptest! {
        #[test]
        fn the_gap_is_attained_and_no_sample_comes_closer(a in piece(), b in piece()) {
            let gap = a.gap(&b);
            prop_assert!((gap.a.distance(gap.b) - gap.distance).abs() < 1e-9);
            prop_assert!(a.distance(gap.a) < 1e-7 && b.distance(gap.b) < 1e-7);
            // Sampling finds nothing closer, and comes within its own step of the answer.
            let step = a.length() / 400.0;
            let s = sampled(&a, &b);
            prop_assert!(gap.distance <= s + 1e-9, "{} > {}", gap.distance, s);
            prop_assert!(s <= gap.distance + step, "{} >> {}", s, gap.distance);
            prop_assert!((b.gap(&a).distance - gap.distance).abs() < 1e-9);
        }
    }

    #[test]
    fn concentric_circles_are_apart_by_their_radii() {
        let c = Point::new(3.0, 4.0);
        let g = Path::circle(c, 10.0).gap(&Path::circle(c, 4.0));
        assert!((g.distance - 6.0).abs() < 1e-12);
    }

    #[test]
    fn crossing_boundaries_have_no_gap() {
        let a = Path::circle(Point::ORIGIN, 10.0);
        let b = Path::slot(Point::new(5.0, 0.0), Point::new(30.0, 0.0), 2.0);
        assert!(a.gap(&b).distance <= 0.0);
    }
}
