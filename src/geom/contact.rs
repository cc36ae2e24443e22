//! Exact contact between lines, arcs and loops: what may not touch in a plate.

use std::borrow::Cow;
use std::f64::consts::PI;

use crate::tol::SNAP_MM;

use super::boundary::{LoopFault, check};
use super::{Extents, Path, Point, Segment, Vector};

/// A loop made ready for contact tests.
#[derive(Debug, Clone)]
pub enum Loop<'a> {
    /// A full circle.
    Circle {
        /// Its centre.
        centre: Point,
        /// Its radius, mm.
        radius: f64,
    },
    /// Any loop, counter-clockwise.
    Path {
        /// The loop.
        path: Cow<'a, Path>,
        /// The box of each piece.
        boxes: Vec<Extents>,
        /// The box of the whole.
        extents: Extents,
    },
}

impl<'a> Loop<'a> {
    /// Checks a path and makes it counter-clockwise.
    ///
    /// # Errors
    ///
    /// Where the path is not one closed loop that nowhere meets itself.
    pub fn new(path: Cow<'a, Path>) -> Result<Self, LoopFault> {
        let boxes = check(&path)?;
        let area = path.area();
        if area.abs() < SNAP_MM * SNAP_MM || !area.is_finite() {
            return Err(LoopFault::Flat);
        }
        let mut extents = Extents::EMPTY;
        for b in &boxes {
            extents.add(b.min);
            extents.add(b.max);
        }
        if area > 0.0 {
            return Ok(Self::Path {
                path,
                boxes,
                extents,
            });
        }
        Ok(Self::Path {
            path: Cow::Owned(path.reversed()),
            boxes: boxes.into_iter().rev().collect(),
            extents,
        })
    }

    /// The box about the loop (for an arc, about its whole circle).
    #[must_use]
    pub fn extents(&self) -> Extents {
        match self {
            Self::Circle { centre, radius } => circle_box(*centre, *radius),
            Self::Path { extents, .. } => *extents,
        }
    }

    /// Area, mm².
    #[must_use]
    pub fn area(&self) -> f64 {
        match self {
            Self::Circle { radius, .. } => PI * radius * radius,
            Self::Path { path, .. } => path.area(),
        }
    }

    /// A point of the boundary.
    fn point(&self) -> Point {
        match self {
            Self::Circle { centre, radius } => Point::new(centre.x + radius, centre.y),
            Self::Path { path, .. } => path.segments.first().map_or(Point::ORIGIN, Segment::from),
        }
    }

    /// Whether `p` lies inside.
    #[must_use]
    pub fn encloses(&self, p: Point) -> bool {
        match self {
            Self::Circle { centre, radius } => p.distance(*centre) < *radius,
            Self::Path { path, extents, .. } => in_box(extents, p) && path.contains(p),
        }
    }

    /// Whether the boundaries cross or come within [`SNAP_MM`].
    #[must_use]
    pub fn touches(&self, other: &Self) -> bool {
        if !boxes_meet(&self.extents(), &other.extents()) {
            return false;
        }
        match (self, other) {
            (
                Self::Circle { centre, radius },
                Self::Circle {
                    centre: c,
                    radius: r,
                },
            ) => {
                let d = centre.distance(*c);
                d <= radius + r + SNAP_MM && d + radius.min(*r) >= radius.max(*r) - SNAP_MM
            }
            (Self::Circle { centre, radius }, Self::Path { path, boxes, .. })
            | (Self::Path { path, boxes, .. }, Self::Circle { centre, radius }) => {
                let about = circle_box(*centre, *radius);
                path.segments.iter().zip(boxes).any(|(s, b)| {
                    boxes_meet(b, &about) && circle_gap(*centre, *radius, s) <= SNAP_MM
                })
            }
            (
                Self::Path { path, boxes, .. },
                Self::Path {
                    path: p, boxes: bs, ..
                },
            ) => path.segments.iter().zip(boxes).any(|(s, b)| {
                p.segments
                    .iter()
                    .zip(bs)
                    .any(|(t, c)| boxes_meet(b, c) && gap(s, t) <= SNAP_MM)
            }),
        }
    }

    /// Whether this loop lies inside `other` and clear of it.
    #[must_use]
    pub fn inside(&self, other: &Self) -> bool {
        other.encloses(self.point()) && !self.touches(other)
    }

    /// Whether the discs within the two loops have a point in common.
    #[must_use]
    pub fn overlaps(&self, other: &Self) -> bool {
        boxes_meet(&self.extents(), &other.extents())
            && (self.touches(other) || self.encloses(other.point()) || other.encloses(self.point()))
    }
}

fn circle_box(centre: Point, r: f64) -> Extents {
    Extents {
        min: Point::new(centre.x - r, centre.y - r),
        max: Point::new(centre.x + r, centre.y + r),
    }
}

pub(super) fn segment_box(s: &Segment) -> Extents {
    match *s {
        Segment::Line { from, to } => Extents {
            min: Point::new(from.x.min(to.x), from.y.min(to.y)),
            max: Point::new(from.x.max(to.x), from.y.max(to.y)),
        },
        Segment::Arc { centre, radius, .. } => circle_box(centre, radius),
    }
}

pub(super) fn boxes_meet(a: &Extents, b: &Extents) -> bool {
    a.min.x <= b.max.x + SNAP_MM
        && b.min.x <= a.max.x + SNAP_MM
        && a.min.y <= b.max.y + SNAP_MM
        && b.min.y <= a.max.y + SNAP_MM
}

fn in_box(b: &Extents, p: Point) -> bool {
    p.x >= b.min.x && p.x <= b.max.x && p.y >= b.min.y && p.y <= b.max.y
}

/// Distance between a full circle and a piece, mm.
fn circle_gap(centre: Point, radius: f64, s: &Segment) -> f64 {
    let near = s.distance(centre);
    if near > radius {
        return near - radius;
    }
    (radius - farthest(s, centre)).max(0.0)
}

/// Distance from `p` to the farthest point of a piece, mm.
fn farthest(s: &Segment, p: Point) -> f64 {
    let ends = s.from().distance(p).max(s.to().distance(p));
    if let Segment::Arc { centre, radius, .. } = *s
        && let Some(u) = (centre - p).unit()
        && s.spans_angle(u.angle())
    {
        return ends.max((centre + u * radius).distance(p));
    }
    ends
}

/// Distance between two pieces, mm; 0 where they cross.
pub(super) fn gap(a: &Segment, b: &Segment) -> f64 {
    let ends = b
        .distance(a.from())
        .min(b.distance(a.to()))
        .min(a.distance(b.from()))
        .min(a.distance(b.to()));
    if ends <= SNAP_MM || crossings(a, b).any(|p| on(a, p) && on(b, p)) {
        return 0.0;
    }
    match (a, b) {
        (Segment::Line { .. }, Segment::Line { .. }) => ends,
        (line @ Segment::Line { .. }, Segment::Arc { centre, .. })
        | (Segment::Arc { centre, .. }, line @ Segment::Line { .. }) => {
            let arc = if matches!(a, Segment::Arc { .. }) {
                a
            } else {
                b
            };
            ends.min(arc.distance(line.nearest(*centre)))
        }
        (
            Segment::Arc {
                centre: c1,
                radius: r1,
                ..
            },
            Segment::Arc { centre: c2, .. },
        ) => {
            let Some(u) = (*c2 - *c1).unit() else {
                return ends;
            };
            // Least distance within both arcs lies on the line of centres.
            [u, -u]
                .into_iter()
                .filter(|d| a.spans_angle(d.angle()))
                .map(|d| b.distance(*c1 + d * *r1))
                .fold(ends, f64::min)
        }
    }
}

/// Whether a point on a piece's carrier lies within the piece.
pub(super) fn on(s: &Segment, p: Point) -> bool {
    match s {
        Segment::Line { from, to } => {
            let d = *to - *from;
            let t = (p - *from).dot(d);
            t >= 0.0 && t <= d.dot(d)
        }
        Segment::Arc { centre, .. } => s.spans_angle((p - *centre).angle()),
    }
}

/// Where the carriers of two pieces cross: up to two points.
pub(super) fn crossings(a: &Segment, b: &Segment) -> impl Iterator<Item = Point> {
    let found = match (*a, *b) {
        (Segment::Line { from, to }, Segment::Line { from: f, to: t }) => {
            let (d, e) = (to - from, t - f);
            let cross = d.cross(e);
            let s = (f - from).cross(e) / cross;
            [s.is_finite().then(|| from + d * s), None]
        }
        (Segment::Line { from, to }, Segment::Arc { centre, radius, .. })
        | (Segment::Arc { centre, radius, .. }, Segment::Line { from, to }) => {
            (to - from).unit().map_or([None, None], |u| {
                let foot = from + u * (centre - from).dot(u);
                let h2 = radius * radius - foot.distance(centre).powi(2);
                both_sides(foot, u, h2)
            })
        }
        (
            Segment::Arc { centre, radius, .. },
            Segment::Arc {
                centre: c,
                radius: r,
                ..
            },
        ) => (c - centre).unit().map_or([None, None], |u| {
            let d = c.distance(centre);
            let along = (d * d + radius * radius - r * r) / (2.0 * d);
            both_sides(
                centre + u * along,
                u.left(),
                radius * radius - along * along,
            )
        }),
    };
    found.into_iter().flatten()
}

fn both_sides(foot: Point, u: Vector, h2: f64) -> [Option<Point>; 2] {
    if h2 < 0.0 {
        return [None, None];
    }
    let h = h2.sqrt();
    [Some(foot + u * h), Some(foot - u * h)]
}

#[cfg(test)]
mod tests {
    use super::*;

    fn p(x: f64, y: f64) -> Point {
        Point::new(x, y)
    }

    fn arc(from: Point, to: Point, centre: Point, ccw: bool) -> Segment {
        Segment::Arc {
            from,
            to,
            centre,
            radius: from.distance(centre),
            ccw,
        }
    }

    #[test]
    fn gaps_between_pieces_are_exact() {
        let line = Segment::Line {
            from: p(-20.0, 0.0),
            to: p(20.0, 0.0),
        };
        let bow = arc(p(-5.0, 8.0), p(5.0, 8.0), p(0.0, 8.0), true);
        assert!((gap(&line, &bow) - 3.0).abs() < 1e-12);
        let other = arc(p(20.0, 5.0), p(20.0, 11.0), p(20.0, 8.0), false);
        let right = arc(p(0.0, 3.0), p(0.0, 13.0), p(0.0, 8.0), true);
        assert!((gap(&right, &other) - 12.0).abs() < 1e-12);
        let within = arc(p(4.0, 8.0), p(-2.0, 8.0), p(1.0, 8.0), false);
        assert!((gap(&bow, &within) - 1.0).abs() < 1e-12);
        assert!(
            gap(
                &line,
                &Segment::Line {
                    from: p(0.0, -1.0),
                    to: p(0.0, 1.0)
                }
            ) < 1e-15
        );
    }

    #[test]
    fn nested_apart_and_touching_loops_are_told_from_each_other() {
        let slot = Path::slot(p(0.0, 0.0), p(30.0, 0.0), 10.0);
        let big = Loop::new(Cow::Borrowed(&slot)).expect("a loop");
        let circle = |x: f64, y: f64, radius: f64| Loop::Circle {
            centre: p(x, y),
            radius,
        };
        assert!(circle(5.0, 2.0, 3.0).inside(&big));
        assert!(!circle(0.0, 0.0, 10.0).inside(&big) && circle(0.0, 0.0, 10.0).touches(&big));
        assert!(circle(0.0, 0.0, 9.999).inside(&big));
        assert!(!circle(5.0, 20.0, 9.9).overlaps(&big));
        assert!(circle(5.0, 20.0, 10.0).overlaps(&big));
        assert!(big.inside(&circle(15.0, 0.0, 26.0)) && big.overlaps(&circle(15.0, 0.0, 26.0)));
    }
}
