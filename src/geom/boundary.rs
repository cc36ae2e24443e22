//! Whether a path is one closed loop that nowhere meets itself.

use std::f64::consts::TAU;

use crate::tol::{POSITION_MM, SNAP_MM};

use super::contact::{boxes_meet, crossings, gap, on, segment_box};
use super::{Extents, Path, Point, Segment, Vector};

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
pub(super) fn check(path: &Path) -> Result<Vec<Extents>, LoopFault> {
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
        check(path).err()
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
}
