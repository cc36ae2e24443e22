//! Shapes as a DXF file holds them: closed polylines with bulges, circles, lines, texts.

use super::{DxfError, Entity, Layer, Shape, bad_loop};
use crate::geom::{Path, Point, Segment};
use crate::tol::SNAP_MM;

/// Longest arc written as one bulge, rad.
///
/// The bulge of a nearly closed arc hangs on the small gap between its ends,
/// so that the last printed digit of an end would move the centre; up to three
/// quarters of a turn the error stays below two printed digits.
const LONGEST_ARC_RAD: f64 = 1.5 * std::f64::consts::PI;

/// A vertex of a polyline with the bulge of the piece that leaves it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Vertex {
    pub(super) at: Point,
    pub(super) bulge: f64,
}

/// A shape as the file holds it.
#[derive(Debug)]
pub(super) enum Ready<'a> {
    Polyline {
        vertices: Vec<Vertex>,
        closed: bool,
    },
    Circle {
        centre: Point,
        radius: f64,
    },
    Line {
        from: Point,
        to: Point,
    },
    Text {
        at: Point,
        height: f64,
        angle: f64,
        text: &'a str,
    },
}

impl<'a> Ready<'a> {
    pub(super) fn of(entity: &'a Entity) -> Result<Self, DxfError> {
        let layer = entity.layer;
        match &entity.shape {
            Shape::Loop(path) => loop_of(layer, path),
            &Shape::Circle { centre, radius } => {
                if radius > SNAP_MM {
                    Ok(Self::Circle { centre, radius })
                } else {
                    Err(bad_loop(layer, centre))
                }
            }
            Shape::Stroke(points) => stroke_of(layer, points),
            Shape::Text {
                at,
                height_mm,
                angle_rad,
                text,
            } => Ok(Self::Text {
                at: *at,
                height: *height_mm,
                angle: *angle_rad,
                text,
            }),
        }
    }
}

/// A closed polyline with bulges, or a circle where the loop is one.
pub(super) fn loop_of(layer: Layer, path: &Path) -> Result<Ready<'static>, DxfError> {
    let Some(last) = path.segments.last() else {
        return Err(bad_loop(layer, Point::ORIGIN));
    };
    if let Some((centre, radius)) = whole_circle(path) {
        return Ok(Ready::Circle { centre, radius });
    }
    let mut vertices = Vec::with_capacity(path.segments.len());
    let mut end = last.to();
    for s in &path.segments {
        let gap = end.distance(s.from());
        if gap.is_nan() || gap > SNAP_MM {
            return Err(bad_loop(layer, s.from()));
        }
        end = s.to();
        push_piece(&mut vertices, s);
    }
    // Two vertices enclose something only along an arc.
    let bent = vertices.iter().any(|v| v.bulge != 0.0);
    if vertices.len() < 2 || (vertices.len() == 2 && !bent) {
        return Err(bad_loop(layer, end));
    }
    Ok(Ready::Polyline {
        vertices,
        closed: true,
    })
}

/// Appends a piece's vertices; a piece of no length leaves none.
fn push_piece(vertices: &mut Vec<Vertex>, s: &Segment) {
    if s.length() < SNAP_MM {
        return;
    }
    let sweep = s.sweep();
    let parts = if sweep.abs() > LONGEST_ARC_RAD { 2 } else { 1 };
    for k in 0..parts {
        vertices.push(Vertex {
            at: if k == 0 { s.from() } else { s.midpoint() },
            bulge: (0.25 * sweep / f64::from(parts)).tan(),
        });
    }
}

/// Centre and radius where the loop is one full circle, in however many pieces.
fn whole_circle(path: &Path) -> Option<(Point, f64)> {
    let mut pieces = path.segments.iter();
    let Some(&Segment::Arc { centre, radius, .. }) = pieces.next() else {
        return None;
    };
    let same = |s: &Segment| {
        matches!(*s, Segment::Arc { centre: c, radius: r, .. }
            if c.distance(centre) < SNAP_MM && (r - radius).abs() < SNAP_MM)
    };
    let turn: f64 = path.segments.iter().map(Segment::sweep).sum();
    let full = (turn.abs() - std::f64::consts::TAU).abs() * radius < SNAP_MM;
    (pieces.all(same) && full).then_some((centre, radius))
}

/// A line, an open polyline, or a closed one where the stroke returns to its start.
fn stroke_of(layer: Layer, points: &[Point]) -> Result<Ready<'static>, DxfError> {
    let mut kept: Vec<Point> = Vec::with_capacity(points.len());
    for &p in points {
        if kept.last().is_none_or(|q| q.distance(p) > SNAP_MM) {
            kept.push(p);
        }
    }
    let closed = kept.len() > 3
        && matches!((kept.first(), kept.last()), (Some(a), Some(b)) if a.distance(*b) < SNAP_MM);
    if closed {
        kept.pop();
    }
    match kept[..] {
        [] | [_] => Err(bad_loop(
            layer,
            points.first().copied().unwrap_or(Point::ORIGIN),
        )),
        [from, to] => Ok(Ready::Line { from, to }),
        _ => Ok(Ready::Polyline {
            vertices: kept
                .into_iter()
                .map(|at| Vertex { at, bulge: 0.0 })
                .collect(),
            closed,
        }),
    }
}
