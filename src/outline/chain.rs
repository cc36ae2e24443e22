//! Boundary pieces chained into a loop, bit for bit and without slivers.

use crate::geom::{Path, Point, Segment};
use crate::tol;

/// Segments chained bit for bit; pieces without shape are left out.
#[derive(Debug)]
pub(super) struct Chain {
    segments: Vec<Segment>,
}

impl Chain {
    pub(super) fn with_capacity(n: usize) -> Self {
        Self {
            segments: Vec::with_capacity(n),
        }
    }

    /// Adds a piece, joining it to the one before where both are one line or circle.
    pub(super) fn push(&mut self, segment: Option<Segment>) {
        let Some(segment) = segment else { return };
        if is_sliver(&segment) {
            return;
        }
        match self.segments.last_mut().map(|last| join(last, &segment)) {
            Some(Some(joined)) => {
                if let Some(last) = self.segments.last_mut() {
                    *last = joined;
                }
            }
            _ => self.segments.push(segment),
        }
    }

    /// Closes the ring: joins across the start, then makes each start the end before it.
    pub(super) fn closed(mut self) -> Vec<Segment> {
        while self.segments.len() > 1 {
            let (Some(first), Some(last)) = (self.segments.first(), self.segments.last()) else {
                break;
            };
            let Some(joined) = join(last, first) else {
                break;
            };
            self.segments.pop();
            self.segments[0] = joined;
        }
        let n = self.segments.len();
        if n == 1 {
            // One circle all round, whatever touched it on the way.
            if let Segment::Arc {
                centre,
                radius,
                ccw,
                ..
            } = self.segments[0]
            {
                let circle = Segment::circle(centre, radius);
                self.segments[0] = if ccw { circle } else { circle.reversed() };
            }
            return self.segments;
        }
        self.bind();
        // Bound to its neighbour's end a piece may have become too short after all.
        while self.segments.len() > 2 {
            let Some(k) = self.segments.iter().position(is_sliver) else {
                break;
            };
            self.segments.remove(k);
            self.bind();
        }
        self.segments
    }

    /// Makes each start the end before it, bit for bit.
    fn bind(&mut self) {
        let n = self.segments.len();
        for k in 0..n {
            let end = self.segments[(k + n - 1) % n].to();
            set_from(&mut self.segments[k], end);
        }
    }
}

/// Whether a piece is too short to carry shape.
fn is_sliver(s: &Segment) -> bool {
    s.from().distance(s.to()) < tol::SLIVER_MM && !is_nearly_whole(s)
}

/// An arc whose ends are one point because it goes nearly all the way round.
fn is_nearly_whole(s: &Segment) -> bool {
    s.sweep().abs() > std::f64::consts::PI
}

fn set_from(s: &mut Segment, p: Point) {
    match s {
        Segment::Line { from, .. } | Segment::Arc { from, .. } => *from = p,
    }
}

/// `a` and `b` as one piece, where they lie on one line or circle and run the same way.
fn join(a: &Segment, b: &Segment) -> Option<Segment> {
    /// How far the point between two pieces may lie off the piece that replaces them, mm.
    const OFF_MM: f64 = 0.1 * tol::SNAP_MM;
    if a.to().distance(b.from()) > tol::SLIVER_MM {
        return None;
    }
    match (*a, *b) {
        (Segment::Line { from, to: middle }, Segment::Line { to, .. }) => {
            let u = (to - from).unit()?;
            let (v, w) = (middle - from, to - middle);
            (u.cross(v).abs() < OFF_MM && u.dot(v) > 0.0 && u.dot(w) > 0.0)
                .then_some(Segment::Line { from, to })
        }
        (
            Segment::Arc {
                from,
                centre,
                radius,
                ccw,
                ..
            },
            Segment::Arc {
                to,
                centre: other,
                radius: other_radius,
                ccw: other_ccw,
                ..
            },
        ) => {
            let same = ccw == other_ccw
                && centre.distance(other) < OFF_MM
                && (radius - other_radius).abs() < OFF_MM;
            same.then_some(Segment::Arc {
                from,
                to,
                centre,
                radius,
                ccw,
            })
        }
        _ => None,
    }
}

/// The loop started at its leftmost, then lowest, end of a piece.
pub(super) fn canonical(mut segments: Vec<Segment>) -> Path {
    let start = (0..segments.len()).min_by(|&i, &j| {
        let (p, q) = (segments[i].from(), segments[j].from());
        p.x.total_cmp(&q.x).then(p.y.total_cmp(&q.y))
    });
    if let Some(k) = start {
        segments.rotate_left(k);
    }
    Path::new(segments)
}
