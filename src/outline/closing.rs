//! From the grown union back to the outline: pieces moved in by the cutter radius, an arc at each concave vertex.

use super::arrange::Piece;
use super::carrier::{Carrier, Curve, meet_unbounded};
use super::chain::Chain;
use crate::geom::{Point, Segment, Vector};
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

/// Where one piece gives way to the next.
#[derive(Debug, Clone, Copy)]
struct Joint {
    /// On the grown boundary.
    vertex: Point,
    kind: Kind,
}

/// What happens at a joint, on the boundary moved in.
#[derive(Debug, Clone, Copy)]
enum Kind {
    Smooth(Point),
    Concave {
        from: Point,
        to: Point,
        fillet: Fillet,
    },
    /// Impossible on a union of shapes grown by a disc.
    Convex,
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
    let mut pieces = pieces.to_vec();
    let joints = settle(carriers, &mut pieces, growth, tie);
    let n = pieces.len();
    if let [only] = pieces[..] {
        return Ok(whole_circle(&carriers[only.carrier]).into_iter().collect());
    }
    let mut chain = Chain::with_capacity(2 * n);
    for k in 0..n {
        let start = match joints[(k + n - 1) % n].kind {
            Kind::Smooth(p) | Kind::Concave { to: p, .. } => p,
            Kind::Convex => return Err(convex(&joints[(k + n - 1) % n])),
        };
        let end = match joints[k].kind {
            Kind::Smooth(p) | Kind::Concave { from: p, .. } => p,
            Kind::Convex => return Err(convex(&joints[k])),
        };
        chain.push(moved_piece(&carriers[pieces[k].carrier], start, end));
        if let Kind::Concave { from, to, fillet } = joints[k].kind {
            fillets.push(fillet);
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

fn convex(joint: &Joint) -> String {
    format!(
        "convex corner on the grown boundary at ({:.6}, {:.6})",
        joint.vertex.x, joint.vertex.y
    )
}

/// The joints after each piece; pieces that vanish once their ends are where the carriers
/// themselves cross are taken out, and their neighbours joined.
fn settle(carriers: &[Carrier], pieces: &mut Vec<Piece>, growth: f64, tie: f64) -> Vec<Joint> {
    let meet = |a: &Piece, b: &Piece, at: Point| {
        joint(&carriers[a.carrier], &carriers[b.carrier], at, growth, tie)
    };
    let n = pieces.len();
    if n == 1 {
        return Vec::new();
    }
    let mut joints: Vec<Joint> = (0..n)
        .map(|k| meet(&pieces[k], &pieces[(k + 1) % n], pieces[k].to))
        .collect();
    while pieces.len() > 1 {
        let n = pieces.len();
        let spent = (0..n).find(|&k| {
            let (start, end) = (joints[(k + n - 1) % n].vertex, joints[k].vertex);
            is_spent(&carriers[pieces[k].carrier], start, end)
        });
        let Some(k) = spent else { break };
        let at = joints[(k + n - 1) % n].vertex.midpoint(joints[k].vertex);
        pieces.remove(k);
        joints.remove(k);
        let n = n - 1;
        let (before, after) = ((k + n - 1) % n, k % n);
        if n > 1 && pieces[before].carrier == pieces[after].carrier {
            // What is left on both sides is one piece.
            joints[before] = joints[after];
            pieces.remove(after);
            joints.remove(after);
        } else {
            joints[before] = meet(&pieces[before], &pieces[after], at);
        }
    }
    joints
}

/// Whether a short piece runs backwards or nowhere between its settled ends.
fn is_spent(carrier: &Carrier, start: Point, end: Point) -> bool {
    let chord = end - start;
    if let Curve::Arc(a) = carrier.curve
        && a.radius < 4.0 * REFINE_MM
    {
        return false;
    }
    let direction = carrier.normal(start.midpoint(end)).left();
    chord.length() < 4.0 * REFINE_MM && chord.dot(direction) < tol::SLIVER_MM
}

/// The circle as authored, where one piece goes all the way round it.
fn whole_circle(carrier: &Carrier) -> Option<Segment> {
    let Curve::Arc(arc) = carrier.curve else {
        return None;
    };
    if arc.base_radius == 0.0 {
        return None;
    }
    let circle = Segment::circle(arc.centre, arc.base_radius);
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

fn joint(a: &Carrier, b: &Carrier, vertex: Point, growth: f64, tie: f64) -> Joint {
    let authored = authored_joint(a, b, vertex);
    let vertex = if authored.is_some() {
        vertex
    } else {
        crossing(a, b, vertex, tie)
    };
    let (n_a, n_b) = (a.normal(vertex), b.normal(vertex));
    let (cross, dot) = (n_a.cross(n_b), n_a.dot(n_b));
    // Curves that all but coincide leave a convex corner that no measurement could tell from none.
    let blunt = cross > 0.0 && growth * cross * cross < 8.0 * tol::POSITION_MM;
    // Turned straight back, the gap was just as wide as the cutter: its end is half a circle.
    let straight_back = dot < 0.0 && cross.abs() < tol::PARALLEL.sqrt();
    let kind = if dot > 0.0 && (cross.abs() * growth < tol::SLIVER_MM || blunt) {
        Kind::Smooth(authored.unwrap_or_else(|| {
            a.shifted_back(vertex, growth)
                .midpoint(b.shifted_back(vertex, growth))
        }))
    } else if cross > 0.0 && !straight_back {
        Kind::Convex
    } else {
        Kind::Concave {
            from: end_or(a, true, vertex, growth),
            to: end_or(b, false, vertex, growth),
            fillet: Fillet {
                centre: vertex,
                first: -n_a,
                last: -n_b,
            },
        }
    };
    Joint { vertex, kind }
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

/// Whether the cutter's arc about `f` runs through the unit direction `u`.
pub(super) fn touches_metal_towards(f: &Fillet, u: Vector) -> bool {
    // Clockwise from first to last.
    let span = super::carrier::turn_key(f.last, f.first);
    super::carrier::turn_key(f.last, u) <= span
}
