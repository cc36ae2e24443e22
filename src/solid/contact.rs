//! Exact contact between lines, arcs and loops: what may not touch in a plate, and whether a loop is one.

use std::borrow::Cow;
use std::f64::consts::{PI, TAU};

use crate::geom::{Extents, Path, Point, Segment, Vector};
use crate::tol::{POSITION_MM, SNAP_MM};

/// How far an arc's end may lie off its circle, mm.
///
/// Half of the uncertainty that the STEP file states, so that a vertex is the
/// same point on both edges that meet in it.
pub const ON_CIRCLE_MM: f64 = 5e-8;

/// A second crossing of two neighbouring pieces nearer than this to their shared vertex is that vertex, mm.
///
/// Tangency is a double root: rounding of 1e-13 mm moves its two solutions
/// `sqrt(2·r·1e-13)` apart, 1e-5 mm for a radius of 1 m. The sliver between
/// crossings 1e-3 mm apart is at most 1e-3 mm long and 1e-7 mm wide.
const TANGENT_MM: f64 = 1e-3;

/// Two directions are opposite when their sum is shorter than this.
///
/// A corner of 1e-6 rad is a slit 1e-6 mm wide a millimetre from its tip.
const OPPOSITE: f64 = 1e-6;

/// Why a path is not a loop that a wall can stand on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum LoopFault {
    /// No piece at all.
    #[error("it has no pieces")]
    Empty,
    /// A coordinate or radius that is not a finite number, or a radius that is not positive.
    #[error("piece {0} has a coordinate or radius that is not a usable number")]
    Number(usize),
    /// Too short a piece, or a full circle among others.
    #[error("piece {0} starts and ends at one point")]
    Point(usize),
    /// A gap between a piece and the next.
    #[error("piece {0} does not end where the next one starts")]
    Gap(usize),
    /// An arc whose end is off its circle.
    #[error("piece {0} is an arc whose ends are not on its circle")]
    OffCircle(usize),
    /// A corner of no angle.
    #[error("it turns back on itself after piece {0}")]
    TurnsBack(usize),
    /// Two pieces that cross or touch.
    #[error("its pieces {0} and {1} cross or touch")]
    Crosses(usize, usize),
    /// No area.
    #[error("it encloses no area")]
    Flat,
}

/// A loop made ready for contact tests.
#[derive(Debug, Clone)]
pub(super) enum Loop<'a> {
    /// A full circle.
    Circle { centre: Point, radius: f64 },
    /// Any loop, counter-clockwise, with the box of each piece and of the whole.
    Path {
        path: Cow<'a, Path>,
        boxes: Vec<Extents>,
        extents: Extents,
    },
}

impl<'a> Loop<'a> {
    /// Checks a path and makes it counter-clockwise.
    pub(super) fn new(path: Cow<'a, Path>) -> Result<Self, LoopFault> {
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
    pub(super) fn extents(&self) -> Extents {
        match self {
            Self::Circle { centre, radius } => circle_box(*centre, *radius),
            Self::Path { extents, .. } => *extents,
        }
    }

    /// Area, mm².
    pub(super) fn area(&self) -> f64 {
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
    pub(super) fn encloses(&self, p: Point) -> bool {
        match self {
            Self::Circle { centre, radius } => p.distance(*centre) < *radius,
            Self::Path { path, extents, .. } => in_box(extents, p) && path.contains(p),
        }
    }

    /// Whether the boundaries cross or come within [`SNAP_MM`].
    pub(super) fn touches(&self, other: &Self) -> bool {
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
    pub(super) fn inside(&self, other: &Self) -> bool {
        other.encloses(self.point()) && !self.touches(other)
    }

    /// Whether the discs within the two loops have a point in common.
    pub(super) fn overlaps(&self, other: &Self) -> bool {
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

fn segment_box(s: &Segment) -> Extents {
    match *s {
        Segment::Line { from, to } => Extents {
            min: Point::new(from.x.min(to.x), from.y.min(to.y)),
            max: Point::new(from.x.max(to.x), from.y.max(to.y)),
        },
        Segment::Arc { centre, radius, .. } => circle_box(centre, radius),
    }
}

fn boxes_meet(a: &Extents, b: &Extents) -> bool {
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
fn gap(a: &Segment, b: &Segment) -> f64 {
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
fn on(s: &Segment, p: Point) -> bool {
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
fn crossings(a: &Segment, b: &Segment) -> impl Iterator<Item = Point> {
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

/// Direction of travel at an end of a piece.
fn heading(s: &Segment, p: Point) -> Vector {
    match *s {
        Segment::Line { from, to } => (to - from).unit().unwrap_or_default(),
        Segment::Arc { centre, ccw, .. } => {
            let out = (p - centre).unit().unwrap_or_default();
            if ccw { out.left() } else { -out.left() }
        }
    }
}

/// Checks that a path is one closed loop that nowhere meets itself; answers the box of each piece.
fn check(path: &Path) -> Result<Vec<Extents>, LoopFault> {
    let pieces = &path.segments;
    let n = pieces.len();
    if n == 0 {
        return Err(LoopFault::Empty);
    }
    for (i, s) in pieces.iter().enumerate() {
        check_piece(s, i, n)?;
        let next = pieces[(i + 1) % n].from();
        if s.to().distance(next) > POSITION_MM {
            return Err(LoopFault::Gap(i));
        }
    }
    let boxes: Vec<Extents> = pieces.iter().map(segment_box).collect();
    if n == 1 {
        return Ok(boxes);
    }
    for i in 0..n {
        check_corner(pieces, i)?;
        for j in i + 2..n {
            let neighbours = i == 0 && j == n - 1;
            if !neighbours
                && boxes_meet(&boxes[i], &boxes[j])
                && gap(&pieces[i], &pieces[j]) <= SNAP_MM
            {
                return Err(LoopFault::Crosses(i, j));
            }
        }
    }
    Ok(boxes)
}

fn check_piece(s: &Segment, i: usize, n: usize) -> Result<(), LoopFault> {
    let finite = |p: Point| p.x.is_finite() && p.y.is_finite();
    if !finite(s.from()) || !finite(s.to()) {
        return Err(LoopFault::Number(i));
    }
    if let Segment::Arc {
        from,
        to,
        centre,
        radius,
        ..
    } = *s
    {
        if !finite(centre) || !radius.is_finite() || radius <= SNAP_MM {
            return Err(LoopFault::Number(i));
        }
        if (from.distance(centre) - radius).abs() > ON_CIRCLE_MM
            || (to.distance(centre) - radius).abs() > ON_CIRCLE_MM
        {
            return Err(LoopFault::OffCircle(i));
        }
    }
    let circle = s.is_full_circle();
    if circle != (n == 1) || (!circle && s.from().distance(s.to()) <= SNAP_MM) {
        return Err(LoopFault::Point(i));
    }
    Ok(())
}

/// Checks that piece `i` and the next meet in their shared vertex alone.
fn check_corner(pieces: &[Segment], i: usize) -> Result<(), LoopFault> {
    let j = (i + 1) % pieces.len();
    let (a, b) = (&pieces[i], &pieces[j]);
    let vertex = b.from();
    if (heading(a, a.to()) + heading(b, vertex)).length() < OPPOSITE {
        return Err(LoopFault::TurnsBack(i));
    }
    let crossed = Err(LoopFault::Crosses(i, j));
    // With two pieces both ends are shared; the other corner has its own turn.
    let closes = pieces.len() == 2;
    if !closes && (b.distance(a.from()) <= SNAP_MM || a.distance(b.to()) <= SNAP_MM) {
        return crossed;
    }
    let shared = |p: Point| {
        p.distance(vertex) <= TANGENT_MM || (closes && p.distance(a.from()) <= TANGENT_MM)
    };
    if let (
        Segment::Arc { centre, radius, .. },
        Segment::Arc {
            centre: c,
            radius: r,
            ..
        },
    ) = (a, b)
        && centre.distance(*c) <= SNAP_MM
        && (radius - r).abs() <= SNAP_MM
    {
        // One circle going on: fine until it laps itself.
        let turn = (a.sweep() + b.sweep()).abs();
        return if turn > TAU + OPPOSITE {
            crossed
        } else {
            Ok(())
        };
    }
    if crossings(a, b).any(|p| !shared(p) && on(a, p) && on(b, p)) {
        return crossed;
    }
    Ok(())
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

    fn fault(path: &Path) -> Option<LoopFault> {
        Loop::new(Cow::Borrowed(path)).err()
    }

    #[test]
    fn slots_circles_and_filleted_plates_are_loops() {
        for path in [
            Path::slot(p(0.0, 0.0), p(30.0, 10.0), 5.0),
            Path::arc_slot(p(1.0, 2.0), 80.0, 0.1, 1.3, 4.0),
            Path::circle(p(3.0, 4.0), 2.0),
            Path::polygon(&[p(0.0, 0.0), p(10.0, 0.0), p(10.0, 10.0)]),
            Path::new(vec![
                arc(p(5.0, 0.0), p(-5.0, 0.0), p(0.0, 0.0), true),
                arc(p(-5.0, 0.0), p(5.0, 0.0), p(0.0, 0.0), true),
            ]),
        ] {
            assert_eq!(fault(&path), None);
            assert_eq!(fault(&path.reversed()), None);
        }
    }

    #[test]
    fn a_bow_tie_a_spike_and_a_gap_are_refused() {
        let bow = Path::polygon(&[p(0.0, 0.0), p(10.0, 10.0), p(10.0, 0.0), p(0.0, 10.0)]);
        assert!(matches!(fault(&bow), Some(LoopFault::Crosses(..))));
        let spike = Path::polygon(&[
            p(0.0, 0.0),
            p(10.0, 0.0),
            p(20.0, 0.0),
            p(15.0, 0.0),
            p(15.0, 9.0),
        ]);
        assert_eq!(fault(&spike), Some(LoopFault::TurnsBack(1)));
        let mut open = Path::slot(p(0.0, 0.0), p(30.0, 0.0), 5.0);
        open.segments.pop();
        assert_eq!(fault(&open), Some(LoopFault::Gap(2)));
    }

    #[test]
    fn an_arc_off_its_circle_and_an_arc_through_its_neighbour_are_refused() {
        let mut slot = Path::slot(p(0.0, 0.0), p(30.0, 0.0), 5.0);
        if let Segment::Arc { radius, .. } = &mut slot.segments[1] {
            *radius += 1e-6;
        }
        assert_eq!(fault(&slot), Some(LoopFault::OffCircle(1)));
        // The chord of an arc, then an arc that bulges back over the next line.
        let through = Path::new(vec![
            arc(p(0.0, 0.0), p(10.0, 0.0), p(5.0, 5.0), true),
            Segment::Line {
                from: p(10.0, 0.0),
                to: p(-1.0, 0.0),
            },
            Segment::Line {
                from: p(-1.0, 0.0),
                to: p(0.0, 0.0),
            },
        ]);
        assert!(fault(&through).is_some());
    }

    #[test]
    fn an_arc_crossing_its_neighbour_a_second_time_is_refused() {
        let c = p(0.0, 0.0);
        let path = Path::new(vec![
            arc(p(0.0, -10.0), p(0.0, 10.0), c, true),
            Segment::Line {
                from: p(0.0, 10.0),
                to: p(20.0, -10.0),
            },
            Segment::Line {
                from: p(20.0, -10.0),
                to: p(0.0, -10.0),
            },
        ]);
        assert_eq!(fault(&path), Some(LoopFault::Crosses(0, 1)));
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
