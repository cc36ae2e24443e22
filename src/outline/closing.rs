//! From the grown union back to the outline: pieces moved in by the cutter radius, an arc at each concave vertex.

use super::arrange::Piece;
use super::carrier::{Carrier, Curve, meet_unbounded};
use crate::geom::{Path, Point, Segment, Vector};
use crate::tol;

/// A concave corner: the cutter's centre, and the directions in which it touches metal.
#[derive(Debug, Clone, Copy)]
pub(super) struct Fillet {
    pub(super) centre: Point,
    /// Unit directions from the centre to the first and last point of the arc, which runs clockwise.
    pub(super) first: Vector,
    pub(super) last: Vector,
}

/// How far two carriers may be followed to their own crossing from the shared vertex, mm.
///
/// The vertex stands for points up to [`tol::SNAP_MM`] away from it; carriers
/// that cross at a tenth of a degree or more cross within this.
const REFINE_MM: f64 = 1e-3;

/// What happens where one piece gives way to the next.
#[derive(Debug, Clone, Copy)]
enum Joint {
    Smooth(Point),
    Concave {
        from: Point,
        to: Point,
        fillet: Fillet,
    },
}

/// A loop of the grown union moved in, metal on the left; its fillets are added to `fillets`.
///
/// Returns an empty list where nothing is left of the loop.
pub(super) fn moved_in(
    carriers: &[Carrier],
    pieces: &[Piece],
    growth: f64,
    tie: f64,
    fillets: &mut Vec<Fillet>,
) -> Result<Vec<Segment>, String> {
    let n = pieces.len();
    if let [only] = pieces
        && only.whole
    {
        return Ok(whole_circle(&carriers[only.carrier], only)
            .into_iter()
            .collect());
    }
    let mut joints = Vec::with_capacity(n);
    for k in 0..n {
        let (a, b) = (&pieces[k], &pieces[(k + 1) % n]);
        let joint = joint(
            &carriers[a.carrier],
            &carriers[b.carrier],
            a.to,
            growth,
            tie,
        )?;
        if let Joint::Concave { fillet, .. } = joint {
            fillets.push(fillet);
        }
        joints.push(joint);
    }
    let mut chain = Chain::with_capacity(2 * n);
    for k in 0..n {
        let start = match joints[(k + n - 1) % n] {
            Joint::Smooth(p) | Joint::Concave { to: p, .. } => p,
        };
        let end = match joints[k] {
            Joint::Smooth(p) | Joint::Concave { from: p, .. } => p,
        };
        chain.push(moved_piece(&carriers[pieces[k].carrier], start, end));
        if let Joint::Concave { from, to, fillet } = joints[k] {
            chain.push(Some(Segment::Arc {
                from,
                to,
                centre: fillet.centre,
                radius: growth,
                ccw: false,
            }));
        }
    }
    Ok(chain.closed())
}

fn whole_circle(carrier: &Carrier, piece: &Piece) -> Option<Segment> {
    let Curve::Arc(arc) = carrier.curve else {
        return None;
    };
    if arc.base_radius == 0.0 {
        return None;
    }
    let circle = Segment::circle(arc.centre, arc.base_radius);
    debug_assert!(piece.whole, "only a whole circle is one piece");
    Some(if arc.ccw { circle } else { circle.reversed() })
}

/// A carrier's piece as authored between two points, or `None` where it is too short to carry shape.
fn moved_piece(carrier: &Carrier, from: Point, to: Point) -> Option<Segment> {
    match carrier.curve {
        Curve::Line(_) => Some(Segment::Line { from, to }),
        Curve::Arc(a) if a.base_radius == 0.0 => None,
        Curve::Arc(a) => Some(Segment::Arc {
            from,
            to,
            centre: a.centre,
            radius: a.base_radius,
            ccw: a.ccw,
        }),
    }
}

fn joint(a: &Carrier, b: &Carrier, vertex: Point, growth: f64, tie: f64) -> Result<Joint, String> {
    let authored = authored_joint(a, b, vertex);
    let vertex = if authored.is_some() {
        vertex
    } else {
        crossing(a, b, vertex, tie)
    };
    let (n_a, n_b) = (a.normal(vertex), b.normal(vertex));
    let (cross, dot) = (n_a.cross(n_b), n_a.dot(n_b));
    if dot > 0.0 && cross.abs() * growth < tol::SLIVER_MM {
        let shared = authored.unwrap_or_else(|| {
            a.shifted_back(vertex, growth)
                .midpoint(b.shifted_back(vertex, growth))
        });
        return Ok(Joint::Smooth(shared));
    }
    // Turned straight back, the gap was just as wide as the cutter: its end is half a circle.
    let straight_back = dot < 0.0 && cross.abs() < tol::PARALLEL.sqrt();
    if cross > 0.0 && !straight_back {
        return Err(format!(
            "convex corner on the grown boundary at ({:.6}, {:.6})",
            vertex.x, vertex.y
        ));
    }
    Ok(Joint::Concave {
        from: end_or(a, true, vertex, growth),
        to: end_or(b, false, vertex, growth),
        fillet: Fillet {
            centre: vertex,
            first: -n_a,
            last: -n_b,
        },
    })
}

/// The authored point where `a` ends and `b` starts, if the vertex is that point grown.
fn authored_joint(a: &Carrier, b: &Carrier, vertex: Point) -> Option<Point> {
    let near = |p: Point| p.distance(vertex) < tol::POSITION_MM;
    let end = a
        .ends()
        .filter(|e| near(e.1))
        .and(a.base_ends())
        .map(|e| e.1);
    let start = b
        .ends()
        .filter(|e| near(e.0))
        .and(b.base_ends())
        .map(|e| e.0);
    match (end, start) {
        (Some(p), Some(q)) if p == q => Some(p),
        // A tangent and its own circle.
        (Some(p), None) | (None, Some(p)) => {
            let other = if end.is_some() { b } else { a };
            (other.ends().is_none()
                && other
                    .normal(vertex)
                    .cross((if end.is_some() { a } else { b }).normal(vertex))
                    .abs()
                    < tol::PARALLEL)
                .then_some(p)
        }
        _ => None,
    }
}

/// The point as authored below `vertex` on `carrier`: its authored end where it is that.
fn end_or(carrier: &Carrier, last: bool, vertex: Point, growth: f64) -> Point {
    if let (Some(ends), Some(base)) = (carrier.ends(), carrier.base_ends()) {
        let (end, authored) = if last {
            (ends.1, base.1)
        } else {
            (ends.0, base.0)
        };
        if end.distance(vertex) < tol::POSITION_MM * 1e-3 {
            return authored;
        }
    }
    carrier.shifted_back(vertex, growth)
}

/// Where two carriers themselves cross, near the vertex that stands for the crossing.
fn crossing(a: &Carrier, b: &Carrier, vertex: Point, tie: f64) -> Point {
    meet_unbounded(a, b, tie)
        .points()
        .filter(|p| p.distance(vertex) < REFINE_MM)
        .min_by(|p, q| p.distance(vertex).total_cmp(&q.distance(vertex)))
        .unwrap_or(vertex)
}

/// Segments chained bit for bit; pieces without shape are left out.
struct Chain {
    segments: Vec<Segment>,
}

impl Chain {
    fn with_capacity(n: usize) -> Self {
        Self {
            segments: Vec::with_capacity(n),
        }
    }

    fn push(&mut self, segment: Option<Segment>) {
        let Some(segment) = segment else { return };
        if segment.from().distance(segment.to()) < tol::SLIVER_MM && !is_nearly_whole(&segment) {
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
    fn closed(mut self) -> Vec<Segment> {
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
        for k in 0..n {
            let end = self.segments[(k + n - 1) % n].to();
            set_from(&mut self.segments[k], end);
        }
        self.segments
    }
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

/// Whether the cutter's arc about `f` runs through the unit direction `u`.
pub(super) fn touches_metal_towards(f: &Fillet, u: Vector) -> bool {
    // Clockwise from first to last.
    let span = super::carrier::turn_key(f.last, f.first);
    super::carrier::turn_key(f.last, u) <= span
}
