//! The edge view: the plate seen on its narrow side, with the edges that show there.
//!
//! First-angle projection (ISO 5456-2): the view from the left stands right of
//! the front view, the view from above stands below it. In both the back face
//! is next to the front view.

use super::{Item, Line};
use crate::geom::{Path, Point, Segment, Vector};
use crate::tol::SNAP_MM;

/// From which side the plate is looked at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Side {
    /// From the left; stands on the right.
    Left,
    /// From above; stands below.
    Above,
}

/// The edge view of `outline`, already in paper mm, `thick` mm deep on paper.
///
/// `level` is the paper x (from the left) or y (from above) at which the back face is drawn.
pub(super) fn draw(outline: &Path, side: Side, thick: f64, level: f64) -> Vec<Item> {
    let e = outline.extents();
    let at = |along: f64, deep: f64| match side {
        Side::Left => Point::new(level + deep, along),
        Side::Above => Point::new(along, level - deep),
    };
    let (low, high) = match side {
        Side::Left => (e.min.y, e.max.y),
        Side::Above => (e.min.x, e.max.x),
    };
    let a = at(low, 0.0);
    let b = at(high, thick);
    let mut items = vec![Item::rectangle(
        Point::new(a.x.min(b.x), a.y.min(b.y)),
        Point::new(a.x.max(b.x), a.y.max(b.y)),
        Line::Visible,
    )];
    for along in edges(outline, side) {
        if along - low > SNAP_MM && high - along > SNAP_MM {
            items.push(Item::line(at(along, 0.0), at(along, thick), Line::Visible));
        }
    }
    items
}

/// Positions along the view at which an edge shows: sharp corners that are seen, and steps in depth.
fn edges(outline: &Path, side: Side) -> Vec<f64> {
    // Turned so that the viewer always looks from the left.
    let turned = match side {
        Side::Left => outline.clone(),
        Side::Above => outline.mapped(|p| Point::new(-p.y, p.x), false),
    };
    let n = turned.segments.len();
    let mut found: Vec<f64> = Vec::new();
    let mut levels: Vec<f64> = Vec::new();
    for (k, s) in turned.segments.iter().enumerate() {
        let next = &turned.segments[(k + 1) % n];
        let corner = s.to();
        levels.push(corner.y);
        let bend = s.direction(1.0).cross(next.direction(0.0)).abs();
        let sharp = bend > SHARP || s.direction(1.0).dot(next.direction(0.0)) < 0.0;
        let first = nearest_x(&turned, corner.y);
        if sharp && first.is_some_and(|x| (x - corner.x).abs() < STEP_MM) {
            found.push(corner.y);
        }
        if let Segment::Arc { centre, radius, .. } = *s {
            for up in [1.0, -1.0] {
                if s.spans_angle(up * std::f64::consts::FRAC_PI_2) {
                    levels.push(centre.y + up * radius);
                }
            }
        }
    }
    // Where the nearest metal jumps, one wall ends before another.
    for y in levels {
        let depth = |dy: f64| nearest_x(&turned, y + dy);
        if let (Some(below), Some(above)) = (depth(-BESIDE_MM), depth(BESIDE_MM))
            && (below - above).abs() > STEP_MM
        {
            found.push(y);
        }
    }
    found.sort_by(f64::total_cmp);
    found.dedup_by(|a, b| (*a - *b).abs() < SNAP_MM);
    found
}

/// Sine of the least angle that shows as an edge (5.7°): tangent joints of any rounding stay below.
const SHARP: f64 = 0.1;

/// How far beside a level its depth is looked up, paper mm.
const BESIDE_MM: f64 = 0.01;

/// Least step in depth that shows as an edge, paper mm: an arc met at its end moves
/// sideways by √(2 r · 0.01), 2 mm on a radius of 200 mm.
const STEP_MM: f64 = 2.0;

/// Least x of the outline at height `y`.
fn nearest_x(outline: &Path, y: f64) -> Option<f64> {
    let mut least: Option<f64> = None;
    let mut take = |x: f64| least = Some(least.map_or(x, |l| l.min(x)));
    for s in &outline.segments {
        match *s {
            Segment::Line { from, to } => {
                let (low, high) = (from.y.min(to.y), from.y.max(to.y));
                if y >= low - SNAP_MM && y <= high + SNAP_MM {
                    if high - low < SNAP_MM {
                        take(from.x.min(to.x));
                    } else {
                        let t = ((y - from.y) / (to.y - from.y)).clamp(0.0, 1.0);
                        take(from.x + t * (to.x - from.x));
                    }
                }
            }
            Segment::Arc { centre, radius, .. } => {
                let rise = y - centre.y;
                let square = radius * radius - rise * rise;
                if square >= 0.0 {
                    for dx in [-square.sqrt(), square.sqrt()] {
                        if s.spans_angle(Vector::new(dx, rise).angle()) {
                            take(centre.x + dx);
                        }
                    }
                }
            }
        }
    }
    least
}

#[cfg(test)]
mod tests {
    use super::*;

    fn steps(points: &[(f64, f64)], side: Side) -> Vec<f64> {
        let points: Vec<Point> = points.iter().map(|&(x, y)| Point::new(x, y)).collect();
        edges(&Path::polygon(&points), side)
    }

    #[test]
    fn a_rectangle_shows_its_corners_only() {
        let r = [(0.0, 0.0), (50.0, 0.0), (50.0, 30.0), (0.0, 30.0)];
        assert_eq!(steps(&r, Side::Left), [0.0, 30.0]);
        assert_eq!(steps(&r, Side::Above), [0.0, 50.0]);
    }

    #[test]
    fn a_step_on_the_near_side_shows_and_one_on_the_far_side_does_not() {
        // An L whose notch is upper left.
        let l = [
            (0.0, 0.0),
            (50.0, 0.0),
            (50.0, 30.0),
            (20.0, 30.0),
            (20.0, 12.0),
            (0.0, 12.0),
        ];
        assert_eq!(steps(&l, Side::Left), [0.0, 12.0, 30.0]);
        let mirrored: Vec<(f64, f64)> = l.iter().rev().map(|(x, y)| (50.0 - x, *y)).collect();
        assert_eq!(steps(&mirrored, Side::Left), [0.0, 30.0]);
        assert_eq!(steps(&l, Side::Above), [0.0, 20.0, 50.0]);
    }

    #[test]
    fn a_rounded_end_shows_no_edge() {
        let slot = Path::slot(Point::new(0.0, 0.0), Point::new(40.0, 0.0), 10.0);
        assert!(edges(&slot, Side::Left).iter().all(|y| y.abs() > 9.9));
    }
}
