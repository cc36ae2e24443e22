//! Solids seen from a direction in parallel projection: the lines one sees, hidden ones left out.
//!
//! The solids come as closed meshes that do not share space. A line of a mesh
//! is drawn where it is an edge (its two triangles bend) or a contour (one of
//! them faces away). Each is cut where a contour crosses it on the picture,
//! and each piece is seen or not as a whole: its middle is held against every
//! triangle that faces the eye there. Nothing is sampled.

mod buckets;
mod edges;

use std::collections::BTreeMap;

use crate::geom::{Extents, Point, Point3, Segment, Vector3};
use crate::solid::mesh::TriMesh;

use buckets::Buckets;
use edges::Edge;

/// Depth by which a surface must lie nearer to the eye to hide, mm: above rounding, below any gap.
const DEPTH_MM: f64 = 1e-3;

/// Pieces of a line shorter than this on the picture are nothing to be seen, mm.
const SHORT_MM: f64 = 1e-6;

/// Where the eye is: infinitely far in a direction.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Eye {
    right: Vector3,
    up: Vector3,
    towards: Vector3,
}

impl Eye {
    /// Turned `azimuth_deg` from the front to the right, and raised by `elevation_deg`.
    #[must_use]
    pub fn new(azimuth_deg: f64, elevation_deg: f64) -> Self {
        let ((sa, ca), (se, ce)) = (
            azimuth_deg.to_radians().sin_cos(),
            elevation_deg.to_radians().sin_cos(),
        );
        Self {
            right: Vector3::new(ca, 0.0, -sa),
            up: Vector3::new(-sa * se, ce, -ca * se),
            towards: Vector3::new(sa * ce, se, ca * ce),
        }
    }

    /// A point on the picture, mm.
    #[must_use]
    pub fn point(&self, p: Point3) -> Point {
        let v = p - Point3::ORIGIN;
        Point::new(v.dot(self.right), v.dot(self.up))
    }

    /// A direction on the picture.
    #[must_use]
    pub fn direction(&self, v: Vector3) -> crate::geom::Vector {
        crate::geom::Vector::new(v.dot(self.right), v.dot(self.up))
    }

    fn seen(&self, p: Point3) -> Spot {
        Spot {
            at: self.point(p),
            depth: (p - Point3::ORIGIN).dot(self.towards),
        }
    }
}

/// A point on the picture and how near to the eye it is, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Spot {
    at: Point,
    depth: f64,
}

impl Spot {
    fn towards(self, other: Self, t: f64) -> Self {
        Self {
            at: Point::new(
                self.at.x + t * (other.at.x - self.at.x),
                self.at.y + t * (other.at.y - self.at.y),
            ),
            depth: self.depth + t * (other.depth - self.depth),
        }
    }
}

/// A triangle that faces the eye.
#[derive(Debug, Clone, Copy)]
struct Front {
    solid: usize,
    corners: [Spot; 3],
}

impl Front {
    /// How near to the eye it is at a point of the picture; `None` outside.
    fn depth_at(&self, p: Point) -> Option<f64> {
        let [a, b, c] = self.corners;
        let cross = |u: Point, v: Point, w: Point| (v - u).cross(w - u);
        let whole = cross(a.at, b.at, c.at);
        if whole <= 0.0 {
            return None;
        }
        let (u, v, w) = (
            cross(b.at, c.at, p) / whole,
            cross(c.at, a.at, p) / whole,
            cross(a.at, b.at, p) / whole,
        );
        (u >= 0.0 && v >= 0.0 && w >= 0.0).then_some(u * a.depth + v * b.depth + w * c.depth)
    }

    /// Radius of the circle that fits into it on the picture, mm, and that circle's middle.
    fn inscribed(&self) -> (f64, Point) {
        let [a, b, c] = self.corners.map(|s| s.at);
        let (la, lb, lc) = (b.distance(c), c.distance(a), a.distance(b));
        let round = la + lb + lc;
        if round <= 0.0 {
            return (0.0, a);
        }
        let at = Point::new(
            (la * a.x + lb * b.x + lc * c.x) / round,
            (la * a.y + lb * b.y + lc * c.y) / round,
        );
        ((b - a).cross(c - a) / round, at)
    }
}

/// A chain of lines seen, on the picture, mm.
#[derive(Debug, Clone, PartialEq)]
pub struct Chain {
    /// Which solid, by its place in the list; `None` for a line that was added.
    pub solid: Option<usize>,
    /// Its points.
    pub points: Vec<Point>,
}

/// Solids seen from a direction.
#[derive(Debug)]
pub struct Scene {
    eye: Eye,
    edges: Vec<Edge>,
    fronts: Vec<Front>,
    contours: Buckets,
    shields: Buckets,
}

impl Scene {
    /// The scene of solids in the engine frame.
    #[must_use]
    pub fn new(solids: &[TriMesh], eye: Eye) -> Self {
        let (mut edges, mut fronts) = (Vec::new(), Vec::new());
        for (k, mesh) in solids.iter().enumerate() {
            edges::gather(k, mesh, &eye, &mut edges, &mut fronts);
        }
        let boxes = |f: &Front| bounds(&f.corners);
        let shields = Buckets::new(fronts.iter().map(boxes).collect());
        // Lines that cannot hide keep their place but fill no bucket.
        let contours = Buckets::new(
            edges
                .iter()
                .map(|e| {
                    if e.is_contour {
                        bounds(&[e.from, e.to])
                    } else {
                        Extents::EMPTY
                    }
                })
                .collect(),
        );
        Self {
            eye,
            edges,
            fronts,
            contours,
            shields,
        }
    }

    /// The box of everything on the picture, mm; `None` where there is nothing.
    #[must_use]
    pub fn extents(&self) -> Option<Extents> {
        let mut all = Extents::EMPTY;
        for e in &self.edges {
            all.add(e.from.at);
            all.add(e.to.at);
        }
        (all.min.x <= all.max.x).then_some(all)
    }

    /// Every line seen, chained.
    #[must_use]
    pub fn lines(&self) -> Vec<Chain> {
        let mut pieces = Vec::new();
        for (k, e) in self.edges.iter().enumerate() {
            for (a, b) in self.visible(e.from, e.to, Some(k)) {
                pieces.push((e.solid, a, b));
            }
        }
        chained(&pieces)
    }

    /// The pieces seen of a straight line that belongs to no solid.
    #[must_use]
    pub fn wire(&self, from: Point3, to: Point3) -> Vec<Chain> {
        self.visible(self.eye.seen(from), self.eye.seen(to), None)
            .into_iter()
            .map(|(a, b)| Chain {
                solid: None,
                points: vec![a, b],
            })
            .collect()
    }

    /// A point of the picture well inside what is seen of a solid; `None` where nothing of it is seen.
    #[must_use]
    pub fn place_on(&self, solid: usize) -> Option<(f64, Point)> {
        let mut own: Vec<(f64, Point, &Front)> = self
            .fronts
            .iter()
            .filter(|f| f.solid == solid)
            .map(|f| {
                let (r, at) = f.inscribed();
                (r, at, f)
            })
            .collect();
        own.sort_by(|a, b| b.0.total_cmp(&a.0));
        let seen = |at: Point, f: &Front| {
            f.depth_at(at)
                .is_some_and(|depth| self.is_seen(Spot { at, depth }))
        };
        if let Some((r, at, _)) = own.iter().find(|(_, at, f)| seen(*at, f)) {
            return Some((*r, *at));
        }
        // Of a large triangle half hidden the middle may be hidden and a corner seen.
        own.iter().find_map(|(_, at, f)| {
            let within = |k: usize, t: f64| f.corners[k].towards(f.corners[(k + 1) % 3], t).at;
            (0..3)
                .flat_map(|k| [0.0, 0.25, 0.5, 0.75].map(|t| within(k, t)))
                .map(|rim| Point::new(0.15 * at.x + 0.85 * rim.x, 0.15 * at.y + 0.85 * rim.y))
                .find(|p| seen(*p, f))
                .map(|p| (0.0, p))
        })
    }

    fn is_seen(&self, s: Spot) -> bool {
        !self.shields.near(s.at).any(|k| {
            self.fronts[k]
                .depth_at(s.at)
                .is_some_and(|d| d > s.depth + DEPTH_MM)
        })
    }

    /// The pieces seen of a line; `own` is its place among the edges.
    fn visible(&self, from: Spot, to: Spot, own: Option<usize>) -> Vec<(Point, Point)> {
        let length = from.at.distance(to.at);
        if length < SHORT_MM {
            return Vec::new();
        }
        let mut cuts = vec![0.0, 1.0];
        for k in self.contours.across(&bounds(&[from, to])) {
            if own == Some(k) {
                continue;
            }
            let c = &self.edges[k];
            if let Some((t, u)) = crossing(from.at, to.at, c.from.at, c.to.at)
                && c.from.towards(c.to, u).depth > from.towards(to, t).depth
            {
                cuts.push(t);
            }
        }
        cuts.sort_by(f64::total_cmp);
        let mut out: Vec<(f64, f64)> = Vec::new();
        for w in cuts.windows(2) {
            let (a, b) = (w[0], w[1]);
            if (b - a) * length < SHORT_MM || !self.is_seen(from.towards(to, 0.5 * (a + b))) {
                continue;
            }
            match out.last_mut() {
                Some(last) if (a - last.1) * length < SHORT_MM => last.1 = b,
                _ => out.push((a, b)),
            }
        }
        out.into_iter()
            .map(|(a, b)| (from.towards(to, a).at, from.towards(to, b).at))
            .collect()
    }
}

fn bounds(spots: &[Spot]) -> Extents {
    let mut e = Extents::EMPTY;
    for s in spots {
        e.add(s.at);
    }
    e
}

/// Where two straight lines cross, as shares of both.
fn crossing(a: Point, b: Point, c: Point, d: Point) -> Option<(f64, f64)> {
    let (u, v) = (b - a, d - c);
    let cross = u.cross(v);
    if cross == 0.0 {
        return None;
    }
    let (t, s) = ((c - a).cross(v) / cross, (c - a).cross(u) / cross);
    ((0.0..=1.0).contains(&t) && (0.0..=1.0).contains(&s)).then_some((t, s))
}

/// Pieces of one solid joined where two of them, and no more, share an end.
fn chained(pieces: &[(usize, Point, Point)]) -> Vec<Chain> {
    let key = |solid: usize, p: Point| {
        let whole = |v: f64| (v * 1e5).round() as i64;
        (solid, whole(p.x), whole(p.y))
    };
    let mut ends: BTreeMap<(usize, i64, i64), Vec<usize>> = BTreeMap::new();
    for (k, (solid, a, b)) in pieces.iter().enumerate() {
        ends.entry(key(*solid, *a)).or_default().push(k);
        ends.entry(key(*solid, *b)).or_default().push(k);
    }
    let mut used = vec![false; pieces.len()];
    let mut out = Vec::new();
    // Open chains from their ends first, then what is left: closed rings.
    let loose = |k: usize| {
        let (s, a, b) = pieces[k];
        [a, b].into_iter().find(|p| ends[&key(s, *p)].len() != 2)
    };
    let starts = (0..pieces.len())
        .filter_map(|k| loose(k).map(|p| (k, p)))
        .chain((0..pieces.len()).map(|k| (k, pieces[k].1)));
    for (first, start) in starts {
        if used[first] {
            continue;
        }
        let solid = pieces[first].0;
        let mut points = vec![start];
        let (mut k, mut at) = (first, start);
        loop {
            used[k] = true;
            let (_, a, b) = pieces[k];
            let next = if key(solid, a) == key(solid, at) {
                b
            } else {
                a
            };
            points.push(next);
            at = next;
            let here = &ends[&key(solid, at)];
            if here.len() != 2 {
                break;
            }
            match here.iter().find(|&&n| !used[n]) {
                Some(&n) => k = n,
                None => break,
            }
        }
        out.push(Chain {
            solid: Some(solid),
            points,
        });
    }
    out
}

impl Chain {
    /// The chain as lines, each point through `on`; points closer than `least` after that are left out.
    #[must_use]
    pub fn segments(&self, on: &impl Fn(Point) -> Point, least: f64) -> Vec<Segment> {
        let mut out: Vec<Segment> = Vec::with_capacity(self.points.len());
        let Some(first) = self.points.first() else {
            return out;
        };
        let mut from = on(*first);
        for (k, p) in self.points.iter().enumerate().skip(1) {
            let to = on(*p);
            if from.distance(to) >= least || (k + 1 == self.points.len() && from != to) {
                out.push(Segment::Line { from, to });
                from = to;
            }
        }
        out
    }
}

#[cfg(test)]
mod tests;
