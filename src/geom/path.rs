//! A closed loop of lines and arcs.

use std::f64::consts::TAU;

use super::point::{Point, Vector};
use super::region::Extents;
use super::segment::Segment;

/// A closed loop: every segment starts where the one before it ends, the last ends where the first starts.
///
/// Orientation carries meaning only where a doc comment says so; [`Path::area`]
/// is signed, positive counter-clockwise.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Path {
    /// The pieces in order of travel; at least one.
    pub segments: Vec<Segment>,
}

impl Path {
    /// A loop from its pieces, which must already be chained.
    #[must_use]
    pub const fn new(segments: Vec<Segment>) -> Self {
        Self { segments }
    }

    /// A counter-clockwise circle as one closed piece.
    #[must_use]
    pub fn circle(centre: Point, radius: f64) -> Self {
        Self::new(vec![Segment::circle(centre, radius)])
    }

    /// A closed polygon through `points` (the first is not repeated).
    #[must_use]
    pub fn polygon(points: &[Point]) -> Self {
        let n = points.len();
        Self::new(
            (0..n)
                .map(|i| Segment::Line {
                    from: points[i],
                    to: points[(i + 1) % n],
                })
                .collect(),
        )
    }

    /// A counter-clockwise straight slot: two half circles of `radius` about `a` and `b`, and two lines.
    ///
    /// Coincident centres give a circle.
    #[must_use]
    pub fn slot(a: Point, b: Point, radius: f64) -> Self {
        let Some(u) = (b - a).unit() else {
            return Self::circle(a, radius);
        };
        let n = u.left() * radius;
        let (ar, br, bl, al) = (a - n, b - n, b + n, a + n);
        let end = |centre, from, to| Segment::Arc {
            from,
            to,
            centre,
            radius,
            ccw: true,
        };
        Self::new(vec![
            Segment::Line { from: ar, to: br },
            end(b, br, bl),
            Segment::Line { from: bl, to: al },
            end(a, al, ar),
        ])
    }

    /// A counter-clockwise arc slot of half width `radius` along the circle of radius `track` about
    /// `centre`, from `start` to `end` rad (`end > start`, less than a whole turn apart).
    ///
    /// `track` must exceed `radius`.
    #[must_use]
    pub fn arc_slot(centre: Point, track: f64, start: f64, end: f64, radius: f64) -> Self {
        let (inner, outer) = (track - radius, track + radius);
        let (a, b) = (centre.polar(track, start), centre.polar(track, end));
        let (os, oe) = (centre.polar(outer, start), centre.polar(outer, end));
        let (is, ie) = (centre.polar(inner, start), centre.polar(inner, end));
        let arc = |from, to, centre, radius, ccw| Segment::Arc {
            from,
            to,
            centre,
            radius,
            ccw,
        };
        Self::new(vec![
            arc(os, oe, centre, outer, true),
            arc(oe, ie, b, radius, true),
            arc(ie, is, centre, inner, false),
            arc(is, os, a, radius, true),
        ])
    }

    /// Length, mm.
    #[must_use]
    pub fn length(&self) -> f64 {
        self.segments.iter().map(Segment::length).sum()
    }

    /// Signed area, mm²: positive counter-clockwise. Closed form (Green's theorem).
    #[must_use]
    pub fn area(&self) -> f64 {
        // Sum about the first point keeps the terms small for a loop far from the origin.
        let Some(origin) = self.segments.first().map(Segment::from) else {
            return 0.0;
        };
        self.segments
            .iter()
            .map(|s| {
                let (a, b) = (s.from() - origin, s.to() - origin);
                let chord = 0.5 * a.cross(b);
                match *s {
                    Segment::Line { .. } => chord,
                    Segment::Arc { radius, .. } => {
                        let sweep = s.sweep();
                        chord + 0.5 * radius * radius * (sweep - sweep.sin())
                    }
                }
            })
            .sum()
    }

    /// The loop travelled the other way.
    #[must_use]
    pub fn reversed(&self) -> Self {
        Self::new(self.segments.iter().rev().map(Segment::reversed).collect())
    }

    /// The loop with positive (`true`) or negative area.
    #[must_use]
    pub fn oriented(&self, ccw: bool) -> Self {
        if (self.area() > 0.0) == ccw {
            self.clone()
        } else {
            self.reversed()
        }
    }

    /// The loop with every point passed through the rigid motion `f`; `mirrored` tells whether it turns the plane over.
    #[must_use]
    pub fn mapped(&self, f: impl Fn(Point) -> Point, mirrored: bool) -> Self {
        Self::new(
            self.segments
                .iter()
                .map(|s| s.mapped(&f, mirrored))
                .collect(),
        )
    }

    /// The loop moved by `v`.
    #[must_use]
    pub fn moved(&self, v: Vector) -> Self {
        self.mapped(|p| p + v, false)
    }

    /// Nearest boundary point to `p`.
    ///
    /// An empty loop answers `p` itself.
    #[must_use]
    pub fn nearest(&self, p: Point) -> Point {
        self.segments
            .iter()
            .map(|s| s.nearest(p))
            .min_by(|a, b| a.distance(p).total_cmp(&b.distance(p)))
            .unwrap_or(p)
    }

    /// Whether `p` lies strictly inside, by winding angle (points on the boundary may answer either way).
    #[must_use]
    pub fn contains(&self, p: Point) -> bool {
        // The angle a piece subtends at p; for an arc the chord's angle is
        // corrected by a whole turn when p lies between chord and arc.
        let mut turn = 0.0;
        for s in &self.segments {
            let (a, b) = (s.from() - p, s.to() - p);
            let mut angle = if s.is_full_circle() {
                0.0
            } else {
                a.cross(b).atan2(a.dot(b))
            };
            if let Segment::Arc {
                centre,
                radius,
                ccw,
                ..
            } = *s
            {
                let inside_circle = p.distance(centre) < radius;
                let between = if s.is_full_circle() {
                    inside_circle
                } else {
                    // The arc and its chord enclose the part of the disc that
                    // lies right of the chord (left for a clockwise arc). The
                    // chord's own angle decides the side, so that a point on
                    // the chord is counted the same way in both terms.
                    inside_circle && (if ccw { angle < 0.0 } else { angle > 0.0 })
                };
                if between {
                    angle += if ccw { TAU } else { -TAU };
                }
            }
            turn += angle;
        }
        turn.abs() > std::f64::consts::PI
    }

    /// Signed distance from `p` to the boundary, mm: positive inside.
    #[must_use]
    pub fn signed_distance(&self, p: Point) -> f64 {
        let d = self.nearest(p).distance(p);
        if self.contains(p) { d } else { -d }
    }

    /// Bounding box, arc extents included.
    #[must_use]
    pub fn extents(&self) -> Extents {
        let mut e = Extents::EMPTY;
        for s in &self.segments {
            e.add(s.from());
            e.add(s.to());
            if let Segment::Arc { centre, radius, .. } = *s {
                for k in 0..4 {
                    let angle = f64::from(k) * TAU / 4.0;
                    if s.spans_angle(angle) {
                        let (dx, dy) = [(1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0)]
                            [usize::try_from(k).unwrap_or(0)];
                        e.add(Point::new(centre.x + radius * dx, centre.y + radius * dy));
                    }
                }
            }
        }
        e
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    #[test]
    fn a_slot_has_the_area_of_a_rectangle_and_a_disc() {
        let s = Path::slot(Point::new(1.0, 2.0), Point::new(31.0, 42.0), 6.0);
        assert!((s.area() - (50.0 * 12.0 + PI * 36.0)).abs() < 1e-9);
        assert!((s.length() - (100.0 + TAU * 6.0)).abs() < 1e-9);
    }

    #[test]
    fn an_arc_slot_has_the_area_of_an_annular_sector_and_a_disc() {
        let s = Path::arc_slot(Point::new(5.0, -3.0), 80.0, 0.3, 0.9, 5.0);
        let sector = 0.5 * 0.6 * (85.0_f64.powi(2) - 75.0_f64.powi(2));
        assert!((s.area() - (sector + PI * 25.0)).abs() < 1e-9);
    }

    #[test]
    fn inside_is_told_right_next_to_minor_and_major_arcs() {
        let s = Path::arc_slot(Point::ORIGIN, 80.0, 0.0, 5.0, 5.0);
        for k in 0..200 {
            let angle = 5.0 * f64::from(k) / 199.0;
            assert!(s.contains(Point::ORIGIN.polar(84.9, angle)), "at {angle}");
            assert!(s.contains(Point::ORIGIN.polar(75.1, angle)), "at {angle}");
            assert!(!s.contains(Point::ORIGIN.polar(85.1, angle)), "at {angle}");
            assert!(!s.contains(Point::ORIGIN.polar(74.9, angle)), "at {angle}");
        }
        let c = Path::circle(Point::new(1.0, 1.0), 2.0);
        assert!(c.contains(Point::new(2.9, 1.0)) && !c.contains(Point::new(3.1, 1.0)));
    }

    #[test]
    fn extents_take_in_the_bulge_of_an_arc() {
        let e = Path::slot(Point::new(0.0, 0.0), Point::new(10.0, 0.0), 3.0).extents();
        assert_eq!(
            (e.min.x, e.min.y, e.max.x, e.max.y),
            (-3.0, -3.0, 13.0, 3.0)
        );
    }
}
