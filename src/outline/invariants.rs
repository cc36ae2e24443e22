//! What every finished outline must satisfy: closed, chained, simple, no corner tighter than the cutter.

use super::Outline;
use super::carrier::{Carrier, boxes_meet, meet};
use crate::geom::{Path, Point, Segment, Vector};
use crate::tol;

/// How much a concave radius may fall short of the fillet radius, mm.
const RADIUS_MM: f64 = 1e-9;

/// How far an arc's end may lie off its circle, mm.
const ON_CIRCLE_MM: f64 = tol::SNAP_MM;

/// A concave corner so blunt that a fillet would leave it by less than this carries none, mm.
const BLUNT_MM: f64 = tol::POSITION_MM;

/// Checks an outer loop: counter-clockwise, closed, chained bit for bit, no sliver, no self-contact,
/// every concave radius at least `fillet_mm`, no concave corner without an arc.
///
/// # Errors
///
/// Says which piece fails which check, and where.
pub fn check_invariants(path: &Path, fillet_mm: f64) -> Result<(), String> {
    if path.area() <= 0.0 {
        return Err(format!("area {:.3} mm² is not positive", path.area()));
    }
    check_loop(&path.segments, fillet_mm)
}

/// Checks an opening given counter-clockwise, with the metal outside it.
///
/// # Errors
///
/// As [`check_invariants`].
pub fn check_opening(path: &Path, fillet_mm: f64) -> Result<(), String> {
    if path.area() <= 0.0 {
        return Err(format!("area {:.3} mm² is not positive", path.area()));
    }
    check_loop(&path.reversed().segments, fillet_mm)
}

/// Checks a whole outline: every loop by itself, openings inside the outer loop, no two loops in contact.
///
/// # Errors
///
/// As [`check_invariants`], naming the loop.
pub fn check_outline(outline: &Outline, fillet_mm: f64) -> Result<(), String> {
    check_invariants(&outline.outer, fillet_mm).map_err(|e| format!("outer loop: {e}"))?;
    for (k, opening) in outline.inner.iter().enumerate() {
        check_opening(opening, fillet_mm).map_err(|e| format!("opening {k}: {e}"))?;
    }
    let loops: Vec<Vec<Carrier>> = std::iter::once(&outline.outer)
        .chain(&outline.inner)
        .map(|p| carriers(&p.segments))
        .collect();
    for (i, a) in loops.iter().enumerate() {
        for (j, b) in loops.iter().enumerate().skip(i + 1) {
            for s in a {
                for t in b {
                    if let Some(p) = contact(s, t, tol::SLIVER_MM) {
                        return Err(format!("loops {i} and {j} meet at {}", place(p)));
                    }
                }
            }
        }
    }
    // Without contact one point tells for the whole loop.
    let inside = |p: &Path| {
        let start = p.segments.first().map(Segment::from);
        start.is_some_and(|s| outline.outer.contains(s))
    };
    match outline.inner.iter().position(|p| !inside(p)) {
        Some(k) => Err(format!("opening {k} is not inside the outer loop")),
        None => Ok(()),
    }
}

/// Checks a loop with metal on the left.
fn check_loop(segments: &[Segment], fillet_mm: f64) -> Result<(), String> {
    let n = segments.len();
    for (k, s) in segments.iter().enumerate() {
        let next = &segments[(k + 1) % n];
        let at = place(s.to());
        if bits(s.to()) != bits(next.from()) {
            return Err(format!(
                "piece {k} does not end where the next starts, at {at}"
            ));
        }
        if s.length() < tol::SLIVER_MM {
            return Err(format!("piece {k} is {:.2e} mm long, at {at}", s.length()));
        }
        check_arc(s, fillet_mm).map_err(|e| format!("piece {k}: {e}, at {at}"))?;
        if n > 1 {
            let (a, b) = (direction(s, true), direction(next, false));
            let turn = a.cross(b).atan2(a.dot(b));
            if turn < -bluntest(fillet_mm) {
                return Err(format!(
                    "concave corner of {turn:.2e} rad after piece {k}, at {at}"
                ));
            }
        }
    }
    match self_contact(segments, tol::SLIVER_MM) {
        Some((i, j, p)) => Err(format!("pieces {i} and {j} meet at {}", place(p))),
        None => Ok(()),
    }
}

/// The turn of a concave corner that still needs a fillet, rad: an arc of radius r over a turn of
/// θ leaves the corner by r·θ²/8.
fn bluntest(fillet_mm: f64) -> f64 {
    (8.0 * BLUNT_MM / fillet_mm.max(super::SMALLEST_FILLET_MM)).sqrt()
}

fn check_arc(s: &Segment, fillet_mm: f64) -> Result<(), String> {
    let Segment::Arc {
        from,
        to,
        centre,
        radius,
        ccw,
    } = *s
    else {
        return Ok(());
    };
    if !ccw && radius < fillet_mm - RADIUS_MM {
        return Err(format!("concave radius {radius} mm below {fillet_mm} mm"));
    }
    let off = (from.distance(centre) - radius)
        .abs()
        .max((to.distance(centre) - radius).abs());
    if off > ON_CIRCLE_MM {
        return Err(format!("arc end {off:.2e} mm off its circle"));
    }
    Ok(())
}

/// Direction of travel at the start or end of a piece, without trigonometry.
fn direction(s: &Segment, end: bool) -> Vector {
    match *s {
        Segment::Line { from, to } => (to - from).unit().unwrap_or_default(),
        Segment::Arc {
            from,
            to,
            centre,
            ccw,
            ..
        } => {
            let v = (if end { to } else { from }) - centre;
            let v = v.unit().unwrap_or_default().left();
            if ccw { v } else { -v }
        }
    }
}

fn bits(p: Point) -> (u64, u64) {
    (p.x.to_bits(), p.y.to_bits())
}

fn place(p: Point) -> String {
    format!("({:.6}, {:.6})", p.x, p.y)
}

fn carriers(segments: &[Segment]) -> Vec<Carrier> {
    segments
        .iter()
        .map(|s| Carrier::of_segment(s, 0.0))
        .collect()
}

/// The first two pieces of a loop that meet elsewhere than at their shared end, and where.
///
/// `reach` is the distance below which pieces count as meeting, mm.
pub(super) fn self_contact(segments: &[Segment], reach: f64) -> Option<(usize, usize, Point)> {
    let n = segments.len();
    if n < 2 {
        return None;
    }
    let curves = carriers(segments);
    for i in 0..n {
        for j in i + 1..n {
            let (a, b) = (&curves[i], &curves[j]);
            if !boxes_meet(&a.extents, &b.extents, reach) {
                continue;
            }
            let found = if j == i + 1 || (i == 0 && j == n - 1) {
                neighbours_meet(segments, &curves, i, j)
            } else {
                contact(a, b, reach)
            };
            if let Some(p) = found {
                return Some((i, j, p));
            }
        }
    }
    None
}

/// Whether two pieces that share an end, or both, also meet elsewhere.
fn neighbours_meet(segments: &[Segment], curves: &[Carrier], i: usize, j: usize) -> Option<Point> {
    /// Tangent neighbours part slowly: their carriers' touching point may be this far from the shared end, mm.
    const SHARED_END_MM: f64 = 1e-3;
    let n = segments.len();
    let mut shared = Vec::with_capacity(2);
    if j == i + 1 {
        shared.push(segments[i].to());
    }
    if i == 0 && j == n - 1 {
        shared.push(segments[0].from());
    }
    let away = |p: &Point| shared.iter().all(|s| s.distance(*p) > SHARED_END_MM);
    meet(&curves[i], &curves[j], 0.1 * tol::SNAP_MM)
        .points()
        .find(|p| away(p))
        .or_else(|| ends_on(&curves[i], &curves[j]).find(|p| away(p)))
}

fn ends_on(a: &Carrier, b: &Carrier) -> impl Iterator<Item = Point> {
    let on = |c: &Carrier, other: &Carrier| {
        let ends = other
            .ends()
            .map_or([None, None], |e| [Some(e.0), Some(e.1)]);
        ends.map(|p| p.filter(|p| c.is_on(*p, tol::SNAP_MM)))
    };
    on(a, b).into_iter().chain(on(b, a)).flatten()
}

/// Where two pieces without a common end cross, or come nearer than `reach` at an end.
fn contact(a: &Carrier, b: &Carrier, reach: f64) -> Option<Point> {
    if !boxes_meet(&a.extents, &b.extents, reach) {
        return None;
    }
    let near_end = |c: &Carrier, other: &Carrier| {
        other
            .ends()
            .and_then(|(p, q)| [p, q].into_iter().find(|p| c.is_within(*p, reach)))
    };
    meet(a, b, reach)
        .points()
        .next()
        .or_else(|| near_end(a, b))
        .or_else(|| near_end(b, a))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn p(x: f64, y: f64) -> Point {
        Point::new(x, y)
    }

    fn refused(path: &Path, fillet_mm: f64, why: &str) {
        let e = check_invariants(path, fillet_mm).unwrap_err();
        assert!(e.contains(why), "{e}");
    }

    #[test]
    fn a_slot_and_a_circle_pass() {
        assert_eq!(
            check_invariants(&Path::slot(p(0.0, 0.0), p(40.0, 9.0), 6.0), 5.0),
            Ok(())
        );
        assert_eq!(
            check_invariants(&Path::circle(p(3.0, 4.0), 6.0), 50.0),
            Ok(())
        );
        assert_eq!(check_opening(&Path::circle(p(3.0, 4.0), 6.0), 5.0), Ok(()));
    }

    #[test]
    fn a_window_corner_tighter_than_the_cutter_is_refused() {
        let e = check_opening(&Path::slot(p(0.0, 0.0), p(40.0, 9.0), 6.0), 6.1).unwrap_err();
        assert!(e.contains("concave radius 6"), "{e}");
    }

    #[test]
    fn a_concave_radius_below_the_cutter_is_refused() {
        let slot = Path::arc_slot(p(0.0, 0.0), 20.0, 0.0, 1.0, 5.0);
        assert_eq!(check_invariants(&slot, 15.0), Ok(()));
        refused(&slot, 15.001, "concave radius 15");
    }

    #[test]
    fn a_clockwise_loop_is_refused() {
        refused(
            &Path::circle(p(0.0, 0.0), 6.0).reversed(),
            5.0,
            "not positive",
        );
    }

    #[test]
    fn a_concave_corner_is_refused_and_a_convex_one_is_not() {
        let corners = [p(0.0, 0.0), p(20.0, 0.0), p(20.0, 20.0), p(0.0, 20.0)];
        assert_eq!(check_invariants(&Path::polygon(&corners), 5.0), Ok(()));
        let dent = [
            p(0.0, 0.0),
            p(20.0, 0.0),
            p(20.0, 20.0),
            p(10.0, 15.0),
            p(0.0, 20.0),
        ];
        refused(&Path::polygon(&dent), 5.0, "concave corner");
    }

    #[test]
    fn a_last_bit_between_two_pieces_is_refused() {
        let mut path = Path::polygon(&[p(0.0, 0.0), p(20.0, 0.0), p(20.0, 20.0)]);
        path.segments[0] = Segment::Line {
            from: p(0.0, 0.0),
            to: p(20.0_f64.next_up(), 0.0),
        };
        refused(&path, 5.0, "does not end where the next starts");
    }

    #[test]
    fn a_sliver_is_refused() {
        let path = Path::polygon(&[p(0.0, 0.0), p(20.0, 0.0), p(20.0, 9e-6), p(20.0, 20.0)]);
        refused(&path, 5.0, "mm long");
    }

    #[test]
    fn an_arc_end_off_its_circle_is_refused() {
        let mut path = Path::slot(p(0.0, 0.0), p(40.0, 0.0), 6.0);
        if let Segment::Arc { radius, .. } = &mut path.segments[1] {
            *radius += 2e-6;
        }
        refused(&path, 5.0, "off its circle");
    }

    #[test]
    fn a_loop_that_touches_itself_is_refused() {
        // A channel whose legs meet at one corner.
        let path = Path::polygon(&[
            p(0.0, 0.0),
            p(30.0, 0.0),
            p(30.0, 30.0),
            p(20.0, 10.0),
            p(10.0, 10.0),
            p(30.0, 30.0),
            p(0.0, 30.0),
        ]);
        assert!(self_contact(&path.segments, tol::SLIVER_MM).is_some());
        // A tip that touches a side in its middle.
        let path = Path::polygon(&[
            p(0.0, 0.0),
            p(30.0, 0.0),
            p(30.0, 10.0),
            p(15.0, 0.0),
            p(0.0, 10.0),
        ]);
        assert!(self_contact(&path.segments, tol::SLIVER_MM).is_some());
    }

    #[test]
    fn openings_in_contact_or_outside_are_refused() {
        let with = |inner: Vec<Path>| Outline {
            outer: Path::circle(p(0.0, 0.0), 50.0),
            inner,
            pieces: 1,
            bridges: Vec::new(),
        };
        let hole = |x: f64| Path::circle(p(x, 0.0), 10.0);
        assert_eq!(
            check_outline(&with(vec![hole(-20.0), hole(20.0)]), 5.0),
            Ok(())
        );
        assert!(
            check_outline(&with(vec![hole(-10.0), hole(10.0)]), 5.0)
                .unwrap_err()
                .contains("meet")
        );
        assert!(
            check_outline(&with(vec![hole(40.0)]), 5.0)
                .unwrap_err()
                .contains("meet")
        );
        assert!(
            check_outline(&with(vec![hole(90.0)]), 5.0)
                .unwrap_err()
                .contains("not inside")
        );
    }
}
