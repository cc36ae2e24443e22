//! The lines and circles that carry an outline's boundary, grown by the cutter radius.

use crate::geom::{Extents, Point, Segment, Vector};
use crate::tol;

/// A curve on which boundary pieces of the grown union may lie.
///
/// Metal lies on the left hand of the direction of travel.
#[derive(Debug, Clone, Copy)]
pub(super) struct Carrier {
    pub(super) curve: Curve,
    /// Bounding box.
    pub(super) extents: Extents,
}

/// What a carrier is, grown and as authored.
#[derive(Debug, Clone, Copy)]
pub(super) enum Curve {
    Line(Line),
    Arc(Arc),
}

/// A straight carrier.
#[derive(Debug, Clone, Copy)]
pub(super) struct Line {
    pub(super) from: Point,
    pub(super) to: Point,
    pub(super) direction: Vector,
    pub(super) length: f64,
    /// Ends as authored, before growth.
    pub(super) base_from: Point,
    pub(super) base_to: Point,
}

/// A circular carrier, whole or a part.
#[derive(Debug, Clone, Copy)]
pub(super) struct Arc {
    pub(super) centre: Point,
    pub(super) radius: f64,
    pub(super) ccw: bool,
    /// Radius as authored; 0 about a sharp corner.
    pub(super) base_radius: f64,
    /// The part, or `None` for the whole circle.
    pub(super) part: Option<Part>,
}

/// Ends of a circular carrier that is not a whole circle.
#[derive(Debug, Clone, Copy)]
pub(super) struct Part {
    pub(super) from: Point,
    pub(super) to: Point,
    pub(super) base_from: Point,
    pub(super) base_to: Point,
    /// [`turn_key`] of the end, seen from the start in the direction of travel.
    span: f64,
}

impl Arc {
    /// [`turn_key`] of `p` seen from the part's start in the direction of travel.
    fn turned(&self, part: &Part, p: Point) -> f64 {
        let (start, at) = (part.from - self.centre, p - self.centre);
        if self.ccw {
            turn_key(start, at)
        } else {
            turn_key(at, start)
        }
    }
}

/// A number that rises with the angle of `v` from +x: [0, 4), without trigonometry.
fn angle_key(v: Vector) -> f64 {
    let s = v.x.abs() + v.y.abs();
    if s == 0.0 {
        return 0.0;
    }
    let t = v.x / s;
    if v.y >= 0.0 { 1.0 - t } else { 3.0 + t }
}

/// A number that rises with the counter-clockwise turn from `a` to `b`: [0, 4).
pub(super) fn turn_key(a: Vector, b: Vector) -> f64 {
    angle_key(Vector::new(a.dot(b), a.cross(b)))
}

impl Carrier {
    /// A whole circle, counter-clockwise, grown by `growth`.
    pub(super) fn circle(centre: Point, base_radius: f64, growth: f64) -> Self {
        let radius = base_radius + growth;
        Self::new(Curve::Arc(Arc {
            centre,
            radius,
            ccw: true,
            base_radius,
            part: None,
        }))
    }

    /// A line with metal on its left, grown to the right along its unit `normal`.
    pub(super) fn line(base_from: Point, base_to: Point, normal: Vector, growth: f64) -> Self {
        let from = base_from + normal * growth;
        let to = base_to + normal * growth;
        let direction = normal.left();
        Self::new(Curve::Line(Line {
            from,
            to,
            direction,
            length: (to - from).dot(direction),
            base_from,
            base_to,
        }))
    }

    /// A part of a circle; `radius` is the grown one.
    pub(super) fn part(
        centre: Point,
        radius: f64,
        base_radius: f64,
        ccw: bool,
        ends: (Point, Point),
        base_ends: (Point, Point),
    ) -> Self {
        let (from, to) = ends;
        let (a, b) = (from - centre, to - centre);
        let span = if ccw { turn_key(a, b) } else { turn_key(b, a) };
        Self::new(Curve::Arc(Arc {
            centre,
            radius,
            ccw,
            base_radius,
            part: Some(Part {
                from,
                to,
                base_from: base_ends.0,
                base_to: base_ends.1,
                span,
            }),
        }))
    }

    /// A piece as authored, grown by `growth`, which a concave arc's radius must exceed.
    pub(super) fn of_segment(s: &Segment, growth: f64) -> Self {
        match *s {
            Segment::Line { from, to } => {
                let direction = (to - from).unit().unwrap_or_default();
                Self::line(from, to, -direction.left(), growth)
            }
            Segment::Arc {
                from,
                to,
                centre,
                radius,
                ccw,
            } => {
                if from == to && ccw {
                    return Self::circle(centre, radius, growth);
                }
                let grown = if ccw {
                    radius + growth
                } else {
                    radius - growth
                };
                let at = |p: Point| centre + (p - centre) * (grown / radius);
                Self::part(centre, grown, radius, ccw, (at(from), at(to)), (from, to))
            }
        }
    }

    fn new(curve: Curve) -> Self {
        let mut extents = Extents::EMPTY;
        match curve {
            Curve::Line(l) => {
                extents.add(l.from);
                extents.add(l.to);
            }
            Curve::Arc(a) => {
                let v = Vector::new(a.radius, a.radius);
                extents.add(a.centre - v);
                extents.add(a.centre + v);
            }
        }
        Self { curve, extents }
    }

    /// Ends of the carrier, unless it is a whole circle.
    pub(super) fn ends(&self) -> Option<(Point, Point)> {
        match &self.curve {
            Curve::Line(l) => Some((l.from, l.to)),
            Curve::Arc(a) => a.part.map(|p| (p.from, p.to)),
        }
    }

    /// Ends as authored, unless it is a whole circle.
    pub(super) fn base_ends(&self) -> Option<(Point, Point)> {
        match &self.curve {
            Curve::Line(l) => Some((l.base_from, l.base_to)),
            Curve::Arc(a) => a.part.map(|p| (p.base_from, p.base_to)),
        }
    }

    /// Outward unit normal (to the right of travel) at `p` on the carrier.
    pub(super) fn normal(&self, p: Point) -> Vector {
        match &self.curve {
            Curve::Line(l) => -l.direction.left(),
            Curve::Arc(a) => {
                let v = (p - a.centre).unit().unwrap_or_default();
                if a.ccw { v } else { -v }
            }
        }
    }

    /// The point of the curve as authored from which `p` on the grown curve came.
    pub(super) fn shifted_back(&self, p: Point, growth: f64) -> Point {
        match &self.curve {
            Curve::Line(l) => p + l.direction.left() * growth,
            Curve::Arc(a) if a.base_radius == 0.0 => a.centre,
            Curve::Arc(a) => match (p - a.centre).unit() {
                Some(u) => a.centre + u * a.base_radius,
                None => p,
            },
        }
    }

    /// Position of `p` along the carrier, rising in the direction of travel.
    pub(super) fn key(&self, p: Point) -> f64 {
        match &self.curve {
            Curve::Line(l) => (p - l.from).dot(l.direction),
            Curve::Arc(a) => match &a.part {
                None => angle_key(p - a.centre),
                Some(part) => {
                    let key = a.turned(part, p);
                    // A hair before the start is before it, not a turn after.
                    if key > 0.5 * (part.span + 4.0) {
                        key - 4.0
                    } else {
                        key
                    }
                }
            },
        }
    }

    /// The point half-way from `p` to `q` along the carrier in the direction of travel.
    pub(super) fn between(&self, p: Point, q: Point) -> Point {
        match &self.curve {
            // On the line itself, which either end may miss by the snap.
            Curve::Line(l) => l.from + l.direction * (0.5 * (self.key(p) + self.key(q))),
            Curve::Arc(a) => {
                let (u, v) = (p - a.centre, q - a.centre);
                let (u, v) = if a.ccw { (u, v) } else { (v, u) };
                a.centre + bisector(u, v) * a.radius
            }
        }
    }

    /// Whether `p`, known to lie near the whole line or circle, lies within the carrier's ends, `slack` allowed.
    fn spans(&self, p: Point, slack: f64) -> bool {
        match &self.curve {
            Curve::Line(l) => {
                let t = (p - l.from).dot(l.direction);
                t >= -slack && t <= l.length + slack
            }
            Curve::Arc(a) => a.part.is_none_or(|part| {
                a.turned(&part, p) <= part.span
                    || close(p, part.from, slack)
                    || close(p, part.to, slack)
            }),
        }
    }

    /// Whether `p` lies on the carrier within `slack`.
    pub(super) fn is_on(&self, p: Point, slack: f64) -> bool {
        if !reaches(&self.extents, p, slack) {
            return false;
        }
        let off = match &self.curve {
            Curve::Line(l) => l.direction.cross(p - l.from).abs(),
            Curve::Arc(a) => {
                let v = p - a.centre;
                // | |v| − r | <= slack without a root where it is clearly not.
                (v.dot(v) - a.radius * a.radius).abs() / (2.0 * a.radius)
            }
        };
        off <= slack && self.spans(p, slack)
    }

    /// Whether `p` is nearer than `reach` to the carrier.
    pub(super) fn is_within(&self, p: Point, reach: f64) -> bool {
        if !reaches(&self.extents, p, reach) {
            return false;
        }
        match &self.curve {
            Curve::Line(l) => {
                let v = p - l.from;
                let t = v.dot(l.direction).clamp(0.0, l.length);
                let d = v - l.direction * t;
                d.dot(d) < reach * reach
            }
            Curve::Arc(a) => {
                let v = p - a.centre;
                if self.spans(p, 0.0) {
                    (v.length() - a.radius).abs() < reach
                } else {
                    a.part
                        .is_some_and(|e| close(p, e.from, reach) || close(p, e.to, reach))
                }
            }
        }
    }
}

/// Unit vector half-way along the counter-clockwise turn from `u` to `v`, vectors of equal length.
pub(super) fn bisector(u: Vector, v: Vector) -> Vector {
    let sum = u + v;
    let cross = u.cross(v);
    // Near half a turn the sum vanishes: turn the chord instead.
    let mid = if sum.dot(sum) > u.dot(u) {
        if cross >= 0.0 { sum } else { -sum }
    } else {
        -(v - u).left()
    };
    mid.unit().unwrap_or(-(u.unit().unwrap_or_default()))
}

/// Whether two points are nearer than `reach`.
pub(super) fn close(p: Point, q: Point, reach: f64) -> bool {
    let d = q - p;
    d.dot(d) <= reach * reach
}

/// Whether `p` lies in the box widened by `slack`.
pub(super) fn reaches(e: &Extents, p: Point, slack: f64) -> bool {
    p.x >= e.min.x - slack
        && p.x <= e.max.x + slack
        && p.y >= e.min.y - slack
        && p.y <= e.max.y + slack
}

/// Whether two boxes meet within `slack`.
pub(super) fn boxes_meet(a: &Extents, b: &Extents, slack: f64) -> bool {
    a.min.x <= b.max.x + slack
        && b.min.x <= a.max.x + slack
        && a.min.y <= b.max.y + slack
        && b.min.y <= a.max.y + slack
}

/// Up to two points.
#[derive(Debug, Clone, Copy)]
pub(super) enum Meeting {
    Nowhere,
    Once(Point),
    Twice(Point, Point),
}

impl Meeting {
    pub(super) fn points(self) -> impl Iterator<Item = Point> {
        let (a, b) = match self {
            Self::Nowhere => (None, None),
            Self::Once(p) => (Some(p), None),
            Self::Twice(p, q) => (Some(p), Some(q)),
        };
        a.into_iter().chain(b)
    }
}

/// Where two carriers meet, ends included within [`tol::SNAP_MM`].
///
/// Curves that come nearer than `tie` without crossing, or overlap by less, touch in one point.
/// Coincident curves meet nowhere: their ends tell where they part.
pub(super) fn meet(a: &Carrier, b: &Carrier, tie: f64) -> Meeting {
    if !boxes_meet(&a.extents, &b.extents, tol::SNAP_MM) {
        return Meeting::Nowhere;
    }
    let on_both = |p: &Point| a.spans(*p, tol::SNAP_MM) && b.spans(*p, tol::SNAP_MM);
    let mut kept = meet_unbounded(a, b, tie).points().filter(on_both);
    match (kept.next(), kept.next()) {
        (None, _) => Meeting::Nowhere,
        (Some(p), None) => Meeting::Once(p),
        (Some(p), Some(q)) => Meeting::Twice(p, q),
    }
}

/// Where the whole lines and circles of two carriers meet.
pub(super) fn meet_unbounded(a: &Carrier, b: &Carrier, tie: f64) -> Meeting {
    match (&a.curve, &b.curve) {
        (Curve::Line(l), Curve::Line(m)) => meet_lines(l, m),
        (Curve::Line(l), Curve::Arc(c)) | (Curve::Arc(c), Curve::Line(l)) => {
            meet_line_circle(l, c, tie)
        }
        (Curve::Arc(c), Curve::Arc(d)) => meet_circles(c, d, tie),
    }
}

fn meet_lines(l: &Line, m: &Line) -> Meeting {
    let sin = l.direction.cross(m.direction);
    if sin.abs() < tol::PARALLEL {
        return Meeting::Nowhere;
    }
    let t = (m.from - l.from).cross(m.direction) / sin;
    Meeting::Once(l.from + l.direction * t)
}

fn meet_line_circle(l: &Line, c: &Arc, tie: f64) -> Meeting {
    let v = c.centre - l.from;
    let height = l.direction.cross(v).abs();
    let foot = l.from + l.direction * v.dot(l.direction);
    if height > c.radius + tie {
        Meeting::Nowhere
    } else if height > c.radius - tie {
        Meeting::Once(foot)
    } else {
        let half = ((c.radius - height) * (c.radius + height)).sqrt();
        Meeting::Twice(foot - l.direction * half, foot + l.direction * half)
    }
}

fn meet_circles(c: &Arc, d: &Arc, tie: f64) -> Meeting {
    let between = d.centre - c.centre;
    let distance = between.length();
    let step = (c.radius - d.radius).abs();
    if distance <= tie || distance > c.radius + d.radius + tie || distance < step - tie {
        return Meeting::Nowhere;
    }
    let axis = between * (1.0 / distance);
    // Distance of the common chord from the centre of c.
    let along = 0.5 * (distance + (c.radius - d.radius) * ((c.radius + d.radius) / distance));
    if distance > c.radius + d.radius - tie {
        return Meeting::Once(c.centre + axis * (0.5 * (c.radius + distance - d.radius)));
    }
    if distance < step + tie {
        return Meeting::Once(c.centre + axis * c.radius.copysign(c.radius - d.radius));
    }
    let half = ((c.radius - along) * (c.radius + along)).max(0.0).sqrt();
    let foot = c.centre + axis * along;
    let side = axis.left() * half;
    Meeting::Twice(foot - side, foot + side)
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::TAU;

    fn circle(x: f64, y: f64, r: f64) -> Carrier {
        Carrier::circle(Point::new(x, y), r, 0.0)
    }

    fn line(x0: f64, y0: f64, x1: f64, y1: f64) -> Carrier {
        let (from, to) = (Point::new(x0, y0), Point::new(x1, y1));
        Carrier::of_segment(&Segment::Line { from, to }, 0.0)
    }

    fn count(a: &Carrier, b: &Carrier) -> usize {
        meet(a, b, 1e-7).points().count()
    }

    #[test]
    fn circles_cross_twice_touch_once_or_miss() {
        let a = circle(0.0, 0.0, 20.0);
        assert_eq!(count(&a, &circle(30.0, 0.0, 20.0)), 2);
        assert_eq!(count(&a, &circle(40.0, 0.0, 20.0)), 1);
        assert_eq!(count(&a, &circle(10.0, 0.0, 10.0)), 1);
        assert_eq!(count(&circle(10.0, 0.0, 10.0), &a), 1);
        assert_eq!(count(&a, &circle(40.1, 0.0, 20.0)), 0);
        assert_eq!(count(&a, &circle(1.0, 0.0, 10.0)), 0);
        assert_eq!(count(&a, &circle(0.0, 0.0, 10.0)), 0);
        let p = meet(&circle(10.0, 0.0, 10.0), &a, 1e-7).points().next();
        assert!(p.is_some_and(|p| p.distance(Point::new(20.0, 0.0)) < 1e-12));
    }

    #[test]
    fn lines_meet_only_between_their_ends() {
        assert_eq!(
            count(&line(0.0, 0.0, 10.0, 0.0), &line(5.0, -5.0, 5.0, 5.0)),
            1
        );
        assert_eq!(
            count(&line(0.0, 0.0, 10.0, 0.0), &line(11.0, -5.0, 11.0, 5.0)),
            0
        );
        assert_eq!(
            count(&line(0.0, 0.0, 10.0, 0.0), &line(5.0, 0.0, 15.0, 0.0)),
            0
        );
        assert_eq!(
            count(&line(-50.0, 20.0, 50.0, 20.0), &circle(0.0, 0.0, 20.0)),
            1
        );
    }

    #[test]
    fn the_middle_of_an_arc_lies_half_way_in_the_direction_of_travel() {
        for k in 1..48 {
            let end = TAU * f64::from(k) / 48.0;
            let arc = Segment::arc(Point::new(3.0, 4.0), 10.0, 1.0, 1.0 + end);
            for s in [arc, arc.reversed()] {
                let c = Carrier::of_segment(&s, 0.0);
                assert!(
                    c.between(s.from(), s.to()).distance(s.midpoint()) < 1e-12,
                    "{k}"
                );
                assert!(
                    c.is_on(s.midpoint(), 1e-9) && c.is_on(s.from(), 1e-9) && c.is_on(s.to(), 1e-9)
                );
                // Half-way round the part that the arc leaves out.
                assert!(!c.is_on(s.at(0.5 + 0.5 * TAU / end), 1e-9));
                assert!(
                    c.key(s.from()) < c.key(s.midpoint()) && c.key(s.midpoint()) < c.key(s.to())
                );
            }
        }
    }
}
