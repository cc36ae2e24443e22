//! The boundary of the union of grown shapes, as an arrangement of their carriers.
//!
//! All carriers are cut at one shared list of vertices; the pieces that no
//! shape covers are chained into loops. A vertex covered by a shape cannot end
//! a boundary piece, so such vertices are dropped before anything is cut.

use super::body::Ground;
use super::carrier::{Carrier, Curve, close, meet};
use crate::geom::{Point, Vector};
use crate::tol;

/// Tolerances of one attempt at an arrangement, mm.
#[derive(Debug, Clone, Copy)]
pub(super) struct Tolerance {
    /// Points nearer than this are one vertex.
    pub(super) snap: f64,
    /// Depth in a shape up to which a point still counts as on its boundary.
    ///
    /// A tenth of `snap`: two curves whose middles are within `tie` over a
    /// common start have ends within 4·`tie`, which `snap` then makes one vertex.
    pub(super) tie: f64,
}

/// One stretch of a carrier between two vertices, metal on the left; all round where they are one.
#[derive(Debug, Clone, Copy)]
pub(super) struct Piece {
    /// Index of the carrier.
    pub(super) carrier: usize,
    pub(super) from: Point,
    pub(super) to: Point,
}

/// A piece between numbered vertices.
#[derive(Debug, Clone, Copy)]
struct Link {
    carrier: usize,
    from: usize,
    to: usize,
    mid: Point,
}

/// Boundary loops of the union, metal on the left; each is cut at most once per carrier change.
pub(super) fn loops(ground: &Ground, tolerance: Tolerance) -> Result<Vec<Vec<Piece>>, String> {
    let vertices = vertices(ground, tolerance);
    let mut whole = Vec::new();
    let links = links(ground, &vertices, tolerance, &mut whole);
    let chained = chain(&ground.carriers, &vertices, &links)?;
    let mut out: Vec<Vec<Piece>> = whole.into_iter().map(|p| vec![p]).collect();
    for links in chained {
        out.push(merged(&vertices, &links));
    }
    Ok(out)
}

/// Points where the boundary may pass from one carrier to another.
fn vertices(ground: &Ground, tolerance: Tolerance) -> Vec<Point> {
    let carriers = &ground.carriers;
    let mut found: Vec<Point> = Vec::with_capacity(4 * carriers.len());
    let mut add = |p: Point| {
        if !found.iter().any(|&q| close(p, q, tolerance.snap))
            && !ground.covers(p, 10.0 * tolerance.snap)
        {
            found.push(p);
        }
    };
    for c in carriers {
        if let Some((from, to)) = c.ends() {
            add(from);
            add(to);
        }
    }
    for (i, a) in carriers.iter().enumerate() {
        for b in &carriers[i + 1..] {
            meet(a, b, tolerance.tie).points().for_each(&mut add);
        }
    }
    found
}

/// Cuts every carrier at every vertex on it and keeps what no shape covers.
fn links(
    ground: &Ground,
    vertices: &[Point],
    tolerance: Tolerance,
    whole: &mut Vec<Piece>,
) -> Vec<Link> {
    let mut links: Vec<Link> = Vec::with_capacity(2 * vertices.len());
    let mut stops: Vec<(f64, usize)> = Vec::with_capacity(16);
    for (carrier, c) in ground.carriers.iter().enumerate() {
        stops.clear();
        for (v, &p) in vertices.iter().enumerate() {
            if c.is_on(p, tolerance.snap) {
                stops.push((c.key(p), v));
            }
        }
        stops.sort_by(|a, b| a.0.total_cmp(&b.0));
        let is_circle = c.ends().is_none();
        if is_circle && stops.len() < 2 {
            push_whole(ground, carrier, &stops, vertices, tolerance, whole);
            continue;
        }
        let count = if is_circle {
            stops.len()
        } else {
            stops.len().saturating_sub(1)
        };
        for k in 0..count {
            let (from, to) = (stops[k].1, stops[(k + 1) % stops.len()].1);
            if from == to {
                continue;
            }
            let mid = c.between(vertices[from], vertices[to]);
            if !ground.covers(mid, tolerance.tie) && !is_double(&links, from, to, mid, tolerance) {
                links.push(Link {
                    carrier,
                    from,
                    to,
                    mid,
                });
            }
        }
    }
    links
}

/// A circle that nothing crosses: on the boundary all round or not at all.
fn push_whole(
    ground: &Ground,
    carrier: usize,
    stops: &[(f64, usize)],
    vertices: &[Point],
    tolerance: Tolerance,
    whole: &mut Vec<Piece>,
) {
    let Curve::Arc(arc) = ground.carriers[carrier].curve else {
        return;
    };
    // Tested away from the one vertex, where another carrier may touch.
    let away = match stops.first() {
        Some(&(_, v)) => arc.centre - (vertices[v] - arc.centre),
        None => arc.centre + Vector::new(arc.radius, 0.0),
    };
    if !ground.covers(away, tolerance.tie) {
        whole.push(Piece {
            carrier,
            from: away,
            to: away,
        });
    }
}

/// Whether a coincident carrier has already given this piece.
fn is_double(links: &[Link], from: usize, to: usize, mid: Point, tolerance: Tolerance) -> bool {
    links
        .iter()
        .any(|l| l.from == from && l.to == to && close(l.mid, mid, tolerance.snap))
}

/// Chains pieces into loops; every piece must be used.
fn chain(
    carriers: &[Carrier],
    vertices: &[Point],
    links: &[Link],
) -> Result<Vec<Vec<Link>>, String> {
    let mut used = vec![false; links.len()];
    let mut out = Vec::new();
    for first in 0..links.len() {
        if used[first] {
            continue;
        }
        let mut loop_links = vec![links[first]];
        used[first] = true;
        let mut at = first;
        loop {
            let next = next_link(carriers, vertices, links, &used, first, at);
            let Some(next) = next else {
                let p = vertices[links[at].to];
                return Err(format!("open chain at ({:.6}, {:.6})", p.x, p.y));
            };
            if next == first {
                break;
            }
            used[next] = true;
            loop_links.push(links[next]);
            at = next;
        }
        out.push(loop_links);
    }
    Ok(out)
}

/// The piece that follows `at`: where several start, the one that turns least to the left.
///
/// Two boundaries that only touch then pass each other by, so that a gap just
/// as wide as the cutter stays open.
fn next_link(
    carriers: &[Carrier],
    vertices: &[Point],
    links: &[Link],
    used: &[bool],
    first: usize,
    at: usize,
) -> Option<usize> {
    let vertex = links[at].to;
    let mut candidates =
        (0..links.len()).filter(|&k| links[k].from == vertex && (!used[k] || k == first));
    let only = candidates.next()?;
    let Some(second) = candidates.next() else {
        return Some(only);
    };
    let p = vertices[vertex];
    let back = carriers[links[at].carrier].normal(p);
    // Clockwise turn from straight back to the piece's direction; none counts as all round.
    let turn = |k: usize| {
        let key = super::carrier::turn_key(carriers[links[k].carrier].normal(p), -back);
        if key < tol::PARALLEL.sqrt() { 4.0 } else { key }
    };
    [only, second]
        .into_iter()
        .chain(candidates)
        .min_by(|&i, &j| turn(i).total_cmp(&turn(j)))
}

/// Joins successive pieces of one carrier.
fn merged(vertices: &[Point], links: &[Link]) -> Vec<Piece> {
    let n = links.len();
    // Start where the carrier changes.
    let Some(start) = (0..n).find(|&k| links[k].carrier != links[(k + n - 1) % n].carrier) else {
        let l = links[0];
        return vec![Piece {
            carrier: l.carrier,
            from: vertices[l.from],
            to: vertices[l.from],
        }];
    };
    let mut out: Vec<Piece> = Vec::with_capacity(n);
    for k in 0..n {
        let l = links[(start + k) % n];
        match out.last_mut() {
            Some(last) if last.carrier == l.carrier => last.to = vertices[l.to],
            _ => out.push(Piece {
                carrier: l.carrier,
                from: vertices[l.from],
                to: vertices[l.to],
            }),
        }
    }
    out
}
