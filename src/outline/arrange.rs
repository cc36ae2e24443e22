//! The boundary of a union of grown shapes, by an arrangement of their known carriers.
//!
//! Every piece of the union's boundary lies on a carrier: a circle, a tangent
//! line or an offset edge. The carriers are cut at all vertices on them, the
//! pieces not covered by any shape are kept and stitched into loops with the
//! metal on their left.

use std::collections::BTreeMap;
use std::f64::consts::{PI, TAU};

use crate::geom::{Point, Segment};
use crate::tol;

use super::shape::Grown;

/// How deep a boundary piece may lie in another shape and still count as boundary, mm.
///
/// Rounding is about 1e-12 mm; overlaps of rounded input are at least 1e-4 mm
/// and their pieces far deeper than this.
const COVERED_MM: f64 = 1e-7;

/// A boundary piece between two vertices.
#[derive(Debug, Clone, Copy)]
pub(super) struct Piece {
    pub segment: Segment,
    pub carrier: usize,
    from: usize,
    to: usize,
}

/// Stitched loops of the union's boundary and the carriers they lie on.
pub(super) struct Boundary {
    pub loops: Vec<Vec<Piece>>,
}

/// A vertex list in which points closer than [`tol::SNAP_MM`] are one.
struct Vertices {
    points: Vec<Point>,
    cells: BTreeMap<(i64, i64), Vec<usize>>,
}

impl Vertices {
    /// Cells are much larger than the snap distance, so few points sit near a cell's edge.
    const CELL_MM: f64 = 1.0;

    fn new() -> Self {
        Self {
            points: Vec::with_capacity(256),
            cells: BTreeMap::new(),
        }
    }

    fn add(&mut self, p: Point) -> usize {
        let cell = |v: f64| (v / Self::CELL_MM).floor() as i64;
        let (x0, x1) = (cell(p.x - tol::SNAP_MM), cell(p.x + tol::SNAP_MM));
        let (y0, y1) = (cell(p.y - tol::SNAP_MM), cell(p.y + tol::SNAP_MM));
        for x in x0..=x1 {
            for y in y0..=y1 {
                for &i in self.cells.get(&(x, y)).into_iter().flatten() {
                    if self.points[i].distance(p) <= tol::SNAP_MM {
                        return i;
                    }
                }
            }
        }
        let i = self.points.len();
        self.points.push(p);
        self.cells
            .entry((cell(p.x), cell(p.y)))
            .or_default()
            .push(i);
        i
    }
}

/// Bounds of a carrier: least x, least y, greatest x, greatest y.
fn bounds(s: &Segment) -> [f64; 4] {
    match *s {
        Segment::Arc { centre, radius, .. } => [
            centre.x - radius,
            centre.y - radius,
            centre.x + radius,
            centre.y + radius,
        ],
        Segment::Line { from, to } => [
            from.x.min(to.x),
            from.y.min(to.y),
            from.x.max(to.x),
            from.y.max(to.y),
        ],
    }
}

fn apart(a: &[f64; 4], b: &[f64; 4]) -> bool {
    let e = tol::SNAP_MM;
    a[0] > b[2] + e || b[0] > a[2] + e || a[1] > b[3] + e || b[1] > a[3] + e
}

/// The union's boundary.
pub(super) fn union(shapes: &[Grown]) -> Result<Boundary, String> {
    let carriers = carriers(shapes);
    let boxes: Vec<[f64; 4]> = carriers.iter().map(bounds).collect();
    let mut vertices = Vertices::new();
    let mut on: Vec<Vec<usize>> = vec![Vec::new(); carriers.len()];
    for (i, s) in carriers.iter().enumerate() {
        if !s.is_full_circle() {
            on[i].push(vertices.add(s.from()));
            on[i].push(vertices.add(s.to()));
        }
    }
    for i in 0..carriers.len() {
        for j in i + 1..carriers.len() {
            if apart(&boxes[i], &boxes[j]) {
                continue;
            }
            for p in crossings(&carriers[i], &carriers[j]).into_iter().flatten() {
                let v = vertices.add(p);
                on[i].push(v);
                on[j].push(v);
            }
        }
    }
    // A vertex may lie on a carrier that had no part in making it.
    for (i, s) in carriers.iter().enumerate() {
        for (v, p) in vertices.points.iter().enumerate() {
            let b = &boxes[i];
            let e = tol::SNAP_MM;
            if p.x >= b[0] - e
                && p.x <= b[2] + e
                && p.y >= b[1] - e
                && p.y <= b[3] + e
                && touches(s, *p)
            {
                on[i].push(v);
            }
        }
    }
    let shape_boxes: Vec<[f64; 4]> = shapes.iter().map(Grown::bounds).collect();
    let exposed = |p: Point| {
        shapes.iter().zip(&shape_boxes).all(|(s, b)| {
            p.x < b[0] || p.x > b[2] || p.y < b[1] || p.y > b[3] || s.depth(p) <= COVERED_MM
        })
    };
    let mut pieces: Vec<Piece> = Vec::new();
    for (carrier, s) in carriers.iter().enumerate() {
        cut(s, carrier, &mut on[carrier], &vertices.points, |piece| {
            if exposed(piece.segment.midpoint()) {
                pieces.push(piece);
            }
        });
    }
    drop_doubles(&mut pieces);
    stitch(pieces)
}

/// Distinct carriers of all shapes.
fn carriers(shapes: &[Grown]) -> Vec<Segment> {
    let mut all = Vec::with_capacity(4 * shapes.len());
    for s in shapes {
        s.carriers(&mut all);
    }
    let mut distinct: Vec<Segment> = Vec::with_capacity(all.len());
    for s in all {
        if s.length() > tol::SLIVER_MM && !distinct.contains(&s) {
            distinct.push(s);
        }
    }
    distinct
}

fn touches(s: &Segment, p: Point) -> bool {
    match *s {
        Segment::Arc { centre, radius, .. } if s.is_full_circle() => {
            (p.distance(centre) - radius).abs() <= tol::SNAP_MM
        }
        _ => s.distance(p) <= tol::SNAP_MM,
    }
}

/// Where two carriers cross or touch; nothing where they overlap (their ends are vertices already).
fn crossings(a: &Segment, b: &Segment) -> [Option<Point>; 2] {
    let within = |s: &Segment, p: Point| s.is_full_circle() || touches(s, p);
    let keep = |p: Point| (within(a, p) && within(b, p)).then_some(p);
    match (*a, *b) {
        (Segment::Line { from: p, to: q }, Segment::Line { from: r, to: s }) => {
            let (u, v) = (q - p, s - r);
            let cross = u.cross(v);
            if cross.abs() <= 1e-9 * u.length() * v.length() {
                return [None, None];
            }
            let t = (r - p).cross(v) / cross;
            [keep(p + u * t), None]
        }
        (Segment::Line { from, to }, Segment::Arc { centre, radius, .. })
        | (Segment::Arc { centre, radius, .. }, Segment::Line { from, to }) => {
            let Some(u) = (to - from).unit() else {
                return [None, None];
            };
            let foot = from + u * (centre - from).dot(u);
            let h = centre.distance(foot);
            // A tangent, met within the snap distance, touches at its foot.
            if (h - radius).abs() <= tol::SNAP_MM * 1e-2 {
                return [keep(foot), None];
            }
            if h > radius {
                return [None, None];
            }
            let half = (radius * radius - h * h).sqrt();
            [keep(foot - u * half), keep(foot + u * half)]
        }
        (
            Segment::Arc {
                centre: c,
                radius: r,
                ..
            },
            Segment::Arc {
                centre: d,
                radius: s,
                ..
            },
        ) => {
            let v = d - c;
            let dist = v.length();
            let slack = tol::SNAP_MM * 1e-2;
            if dist <= slack || dist > r + s + slack || dist < (r - s).abs() - slack {
                return [None, None];
            }
            let u = v * (1.0 / dist);
            let along = (dist * dist + r * r - s * s) / (2.0 * dist);
            let across2 = r * r - along * along;
            if (dist - (r + s)).abs() <= slack || (dist - (r - s).abs()).abs() <= slack {
                let k = if along >= 0.0 { r } else { -r };
                return [keep(c + u * k), None];
            }
            let across = across2.max(0.0).sqrt();
            let foot = c + u * along;
            [
                keep(foot + u.left() * across),
                keep(foot - u.left() * across),
            ]
        }
    }
}

/// Cuts a carrier at its vertices and offers the pieces.
fn cut(
    s: &Segment,
    carrier: usize,
    on: &mut Vec<usize>,
    points: &[Point],
    mut offer: impl FnMut(Piece),
) {
    on.sort_unstable();
    on.dedup();
    let piece = |from: usize, to: usize| Piece {
        segment: between(s, points[from], points[to]),
        carrier,
        from,
        to,
    };
    match *s {
        Segment::Line { from, to } => {
            let u = to - from;
            on.sort_by(|&a, &b| {
                let t = |v: usize| (points[v] - from).dot(u);
                t(a).total_cmp(&t(b))
            });
            for w in on.windows(2) {
                offer(piece(w[0], w[1]));
            }
        }
        Segment::Arc {
            from, centre, ccw, ..
        } => {
            let full = s.is_full_circle();
            let start = (from - centre).angle();
            let turn = |v: usize| {
                let a = (points[v] - centre).angle() - start;
                let t = (if ccw { a } else { -a }).rem_euclid(TAU);
                // The start itself may come out a hair before a whole turn.
                if t > TAU - 1e-9 { 0.0 } else { t }
            };
            if on.is_empty() {
                if full {
                    offer(Piece {
                        segment: *s,
                        carrier,
                        from: usize::MAX,
                        to: usize::MAX,
                    });
                }
                return;
            }
            on.sort_by(|&a, &b| turn(a).total_cmp(&turn(b)));
            for w in on.windows(2) {
                offer(piece(w[0], w[1]));
            }
            if full {
                let (last, first) = (on[on.len() - 1], on[0]);
                if last == first {
                    // One vertex on the whole circle: a loop from it to itself.
                    let p = points[first];
                    offer(Piece {
                        segment: between(s, p, p),
                        carrier,
                        from: first,
                        to: first,
                    });
                } else {
                    offer(piece(last, first));
                }
            }
        }
    }
}

fn between(s: &Segment, from: Point, to: Point) -> Segment {
    match *s {
        Segment::Line { .. } => Segment::Line { from, to },
        Segment::Arc {
            centre,
            radius,
            ccw,
            ..
        } => Segment::Arc {
            from,
            to,
            centre,
            radius,
            ccw,
        },
    }
}

/// Drops the second of two equal pieces, and both of two opposite ones.
fn drop_doubles(pieces: &mut Vec<Piece>) {
    let n = pieces.len();
    let mut gone = vec![false; n];
    let mut by_ends: BTreeMap<(usize, usize), Vec<usize>> = BTreeMap::new();
    for (i, p) in pieces.iter().enumerate() {
        by_ends
            .entry((p.from.min(p.to), p.from.max(p.to)))
            .or_default()
            .push(i);
    }
    for group in by_ends.values() {
        for (k, &i) in group.iter().enumerate() {
            for &j in &group[k + 1..] {
                if gone[i] || gone[j] {
                    continue;
                }
                let (a, b) = (&pieces[i], &pieces[j]);
                let same_track = a.segment.midpoint().distance(b.segment.midpoint())
                    <= tol::SLIVER_MM
                    && (a.from != a.to || a.segment.direction(0.0) == b.segment.direction(0.0));
                if !same_track {
                    continue;
                }
                gone[j] = true;
                if a.from != b.from {
                    gone[i] = true;
                }
            }
        }
    }
    let mut i = 0;
    pieces.retain(|_| {
        i += 1;
        !gone[i - 1]
    });
}

/// Follows the pieces from vertex to vertex; at a crossing of loops the sharpest right turn joins what touches.
fn stitch(pieces: Vec<Piece>) -> Result<Boundary, String> {
    let mut leaving: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    let mut loops = Vec::new();
    let mut used = vec![false; pieces.len()];
    for (i, p) in pieces.iter().enumerate() {
        if p.from == usize::MAX {
            loops.push(vec![*p]);
            used[i] = true;
        } else {
            leaving.entry(p.from).or_default().push(i);
        }
    }
    for start in 0..pieces.len() {
        if used[start] {
            continue;
        }
        let mut chain = vec![pieces[start]];
        used[start] = true;
        let first = pieces[start].from;
        let mut here = start;
        loop {
            let vertex = pieces[here].to;
            let arriving = pieces[here].segment.direction(1.0);
            let next = leaving
                .get(&vertex)
                .into_iter()
                .flatten()
                .copied()
                .filter(|&k| !used[k] || (vertex == first && k == start))
                .min_by(|&a, &b| {
                    let turn = |k: usize| {
                        let d = pieces[k].segment.direction(0.0);
                        let angle = arriving.cross(d).atan2(arriving.dot(d));
                        // Straight back is where two shapes touch from outside:
                        // the sharpest right turn there is.
                        if angle > PI - 1e-6 { -PI } else { angle }
                    };
                    turn(a).total_cmp(&turn(b))
                });
            match next {
                Some(k) if k == start => break,
                Some(k) => {
                    used[k] = true;
                    chain.push(pieces[k]);
                    here = k;
                }
                None => {
                    let p = pieces[here].segment.to();
                    return Err(format!("a chain ends at ({:.4}, {:.4})", p.x, p.y));
                }
            }
        }
        loops.push(chain);
    }
    Ok(Boundary { loops })
}
