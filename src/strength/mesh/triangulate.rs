//! Constrained Delaunay triangulation of a plan, refined to a size field and smoothed.

use std::collections::BTreeMap;

use spade::handles::FixedVertexHandle;
use spade::{ConstrainedDelaunayTriangulation, Point2, Triangulation};

use super::boundary::{Boundary, Crossing};
use super::{Plan, SizeField};
use crate::geom::Point;

type Cdt = ConstrainedDelaunayTriangulation<Point2<f64>>;

/// A triangle is split when its circumradius exceeds this share of the wanted edge.
///
/// 1/√3 is an equilateral triangle of just that edge; the slack keeps
/// refinement from chasing the last few per cent.
const SIZE_SHARE: f64 = 0.70;

/// A triangle is split when its circumradius exceeds this many of its shortest edges.
///
/// √2 is Ruppert's bound (least angle 20.7°, J. Algorithms 18 (1995) 548–585);
/// 1.1 asks for 27°, which refinement reaches in practice away from boundaries.
const SHAPE_RATIO: f64 = 1.1;

/// A new point keeps this share of the wanted edge from every other.
const SPACING_SHARE: f64 = 0.62;

/// A triangle flatter than this (twice its area over its longest edge squared) has its corners in one line.
///
/// Points cut from one straight boundary line are in line to rounding, 1e-16 of their coordinates.
const FLAT: f64 = 1e-9;

/// Rounds of insertion, at most; each halves what is too large.
const ROUNDS: usize = 24;

/// Rounds of smoothing, each followed by a fresh triangulation.
const SMOOTHING: usize = 3;

/// Triangulates the inside of `boundary` where `keep` holds of a triangle's centre.
///
/// # Errors
/// Where two edges of the boundary cross.
pub fn triangulate(
    boundary: &Boundary,
    field: &SizeField,
    keep: &dyn Fn(Point) -> bool,
) -> Result<Plan, Crossing> {
    let merged = Merged::new(boundary);
    let mut cdt = merged.triangulation(boundary, &[])?;
    let mut grid = Near::new(&merged.points, field);
    for _ in 0..ROUNDS {
        if refine_once(&mut cdt, &mut grid, field, keep) == 0 {
            break;
        }
    }
    let fixed = merged.points.len();
    let mut inner: Vec<Point> = cdt
        .vertices()
        .skip(fixed)
        .map(|v| Point::new(v.position().x, v.position().y))
        .collect();
    for _ in 0..SMOOTHING {
        smooth(&cdt, fixed, &mut inner, keep);
        cdt = merged.triangulation(boundary, &inner)?;
    }
    let mut corners = merged.points.clone();
    corners.extend(inner);
    let mut triangles: Vec<[usize; 3]> = cdt
        .inner_faces()
        .map(|f| f.vertices().map(|v| v.fix().index()))
        .filter(|&[a, b, c]| {
            let (a, b, c) = (corners[a], corners[b], corners[c]);
            !is_flat(a, b, c) && keep(centre(a, b, c))
        })
        .map(lowest_first)
        .collect();
    triangles.sort_unstable();
    Ok(merged.plan(boundary, &corners, &triangles))
}

/// The triangle turned so that its lowest index leads.
fn lowest_first([a, b, c]: [usize; 3]) -> [usize; 3] {
    if a < b && a < c {
        [a, b, c]
    } else if b < c {
        [b, c, a]
    } else {
        [c, a, b]
    }
}

fn is_flat(a: Point, b: Point, c: Point) -> bool {
    let longest = a.distance(b).max(b.distance(c)).max(c.distance(a));
    (b - a).cross(c - a).abs() <= FLAT * longest * longest
}

fn centre(a: Point, b: Point, c: Point) -> Point {
    Point::new((a.x + b.x + c.x) / 3.0, (a.y + b.y + c.y) / 3.0)
}

/// The boundary's points with coincident ones merged, and four of a box well outside them.
///
/// The box keeps the triangulation's hull off the boundary: without it, points that are
/// in line to rounding would span slivers of the hull.
struct Merged {
    points: Vec<Point>,
    of: Vec<usize>,
}

impl Merged {
    fn new(boundary: &Boundary) -> Self {
        let mut seen: BTreeMap<(u64, u64), usize> = BTreeMap::new();
        let mut points = Vec::new();
        let of = boundary
            .points
            .iter()
            .map(|p| {
                *seen
                    .entry((p.x.to_bits(), p.y.to_bits()))
                    .or_insert_with(|| {
                        points.push(*p);
                        points.len() - 1
                    })
            })
            .collect();
        let mut extents = crate::geom::Extents::EMPTY;
        for p in &boundary.points {
            extents.add(*p);
        }
        let (low, high) = (extents.min, extents.max);
        let off = 0.25 * extents.width().max(extents.height());
        points.extend([
            Point::new(low.x - off, low.y - off),
            Point::new(high.x + off, low.y - off),
            Point::new(high.x + off, high.y + off),
            Point::new(low.x - off, high.y + off),
        ]);
        Self { points, of }
    }

    fn triangulation(&self, boundary: &Boundary, inner: &[Point]) -> Result<Cdt, Crossing> {
        let here = |k: usize| {
            let chord = boundary.chords[k];
            boundary.points[chord.from].midpoint(boundary.points[chord.to])
        };
        let crossing = |first: usize, second: usize| Crossing {
            first: boundary.chords[first].owner,
            second: boundary.chords[second].owner,
            at: here(first),
        };
        let points = self
            .points
            .iter()
            .chain(inner)
            .map(|p| Point2::new(p.x, p.y))
            .collect();
        let mut cdt = Cdt::bulk_load_cdt(points, Vec::new()).map_err(|_| crossing(0, 0))?;
        let mut owner: BTreeMap<(usize, usize), usize> = BTreeMap::new();
        for (k, chord) in boundary.chords.iter().enumerate() {
            let (a, b) = (self.of[chord.from], self.of[chord.to]);
            owner.insert((a.min(b), a.max(b)), k);
            let (from, to) = (
                FixedVertexHandle::from_index(a),
                FixedVertexHandle::from_index(b),
            );
            if !cdt.can_add_constraint(from, to) {
                let other = cdt
                    .get_conflicting_edges_between_vertices(from, to)
                    .next()
                    .and_then(|e| {
                        let [u, v] = e.vertices().map(|v| v.fix().index());
                        owner.get(&(u.min(v), u.max(v))).copied()
                    })
                    .unwrap_or(k);
                return Err(crossing(k, other));
            }
            cdt.add_constraint(from, to);
        }
        Ok(cdt)
    }

    fn plan(&self, boundary: &Boundary, corners: &[Point], triangles: &[[usize; 3]]) -> Plan {
        let mut bends: BTreeMap<(usize, usize), Point> = BTreeMap::new();
        for chord in &boundary.chords {
            let (a, b) = (self.of[chord.from], self.of[chord.to]);
            if let Some(p) = chord.middle {
                bends.insert((a.min(b), a.max(b)), p);
            }
        }
        // Corners no triangle uses (points of loops in void) are left out.
        let mut number = vec![usize::MAX; corners.len()];
        let mut used = Vec::new();
        for t in triangles {
            for &v in t {
                if number[v] == usize::MAX {
                    number[v] = used.len();
                    used.push(v);
                }
            }
        }
        let renumbered: Vec<[usize; 3]> = triangles.iter().map(|t| t.map(|v| number[v])).collect();
        Plan::new(
            used.iter().map(|&v| corners[v]).collect(),
            &renumbered,
            |i, j| {
                let (a, b) = (used[i], used[j]);
                bends.get(&(a.min(b), a.max(b))).copied()
            },
        )
    }
}

/// Buckets of points, to find whether a place is taken.
struct Near {
    cell: f64,
    origin: Point,
    nx: usize,
    ny: usize,
    buckets: Vec<Vec<Point>>,
}

impl Near {
    fn new(points: &[Point], field: &SizeField) -> Self {
        let mut extents = crate::geom::Extents::EMPTY;
        let mut finest = f64::INFINITY;
        for p in points {
            extents.add(*p);
            finest = finest.min(field.at(*p));
        }
        let span = extents.width().max(extents.height()).max(1e-9);
        let cell = (2.0 * finest).clamp(span / 200.0, span);
        let count = |l: f64| (l / cell) as usize + 1;
        let (nx, ny) = (count(extents.width()), count(extents.height()));
        let mut near = Self {
            cell,
            origin: extents.min,
            nx,
            ny,
            buckets: vec![Vec::new(); nx * ny],
        };
        for p in points {
            near.add(*p);
        }
        near
    }

    fn place(&self, x: f64, n: usize) -> usize {
        ((x / self.cell).max(0.0) as usize).min(n - 1)
    }

    fn add(&mut self, p: Point) {
        let i = self.place(p.x - self.origin.x, self.nx);
        let j = self.place(p.y - self.origin.y, self.ny);
        self.buckets[j * self.nx + i].push(p);
    }

    fn is_free(&self, p: Point, radius: f64) -> bool {
        let i0 = self.place(p.x - radius - self.origin.x, self.nx);
        let i1 = self.place(p.x + radius - self.origin.x, self.nx);
        let j0 = self.place(p.y - radius - self.origin.y, self.ny);
        let j1 = self.place(p.y + radius - self.origin.y, self.ny);
        (j0..=j1).all(|j| {
            (i0..=i1).all(|i| {
                self.buckets[j * self.nx + i]
                    .iter()
                    .all(|q| q.distance(p) >= radius)
            })
        })
    }
}

/// Inserts centres of triangles that are too large or too flat; answers how many went in.
fn refine_once(
    cdt: &mut Cdt,
    grid: &mut Near,
    field: &SizeField,
    keep: &dyn Fn(Point) -> bool,
) -> usize {
    let mut wanted: Vec<(f64, Point, f64)> = Vec::new();
    for face in cdt.inner_faces() {
        let [a, b, c] = face.positions().map(|p| Point::new(p.x, p.y));
        let middle = centre(a, b, c);
        let (place, r2) = face.circumcircle();
        let radius = r2.sqrt();
        let shortest = a.distance(b).min(b.distance(c)).min(c.distance(a));
        let h = field.at(middle);
        let over = radius / (SIZE_SHARE * h);
        let flat = radius / (SHAPE_RATIO * shortest);
        if over <= 1.0 && (flat <= 1.0 || shortest < 0.3 * h) {
            continue;
        }
        if !keep(middle) {
            continue;
        }
        let p = Point::new(place.x, place.y);
        // A circumcentre beyond a boundary would not help its triangle.
        let inside = !face
            .adjacent_edges()
            .iter()
            .any(|e| e.is_constraint_edge() && encroaches(e, p));
        let p = if inside && keep(p) { p } else { middle };
        wanted.push((over.max(flat), p, h));
    }
    wanted.sort_by(|x, y| {
        y.0.total_cmp(&x.0)
            .then(x.1.x.total_cmp(&y.1.x))
            .then(x.1.y.total_cmp(&y.1.y))
    });
    let mut added = 0;
    for (_, p, h) in wanted {
        let local = field.at(p).min(h);
        if keep(p)
            && grid.is_free(p, SPACING_SHARE * local)
            && !near_boundary(cdt, p)
            && cdt.insert(Point2::new(p.x, p.y)).is_ok()
        {
            grid.add(p);
            added += 1;
        }
    }
    added
}

/// Whether `p` lies in the circle over a constraint edge.
fn encroaches(
    e: &spade::handles::DirectedEdgeHandle<'_, Point2<f64>, (), spade::CdtEdge<()>, ()>,
    p: Point,
) -> bool {
    let [a, b] = e.positions();
    let (ax, ay, bx, by) = (a.x - p.x, a.y - p.y, b.x - p.x, b.y - p.y);
    ax * bx + ay * by < 0.0
}

/// Whether `p` would make a flat triangle on a boundary edge of the triangle it falls in.
fn near_boundary(cdt: &Cdt, p: Point) -> bool {
    match cdt.locate(Point2::new(p.x, p.y)) {
        spade::PositionInTriangulation::OnFace(f) => cdt
            .face(f)
            .adjacent_edges()
            .iter()
            .any(|e| e.is_constraint_edge() && encroaches(e, p)),
        _ => true,
    }
}

/// Moves every inner point to the mean of its neighbours, kept inside.
fn smooth(cdt: &Cdt, fixed: usize, inner: &mut [Point], keep: &dyn Fn(Point) -> bool) {
    for v in cdt.vertices().skip(fixed) {
        let k = v.fix().index() - fixed;
        let (mut x, mut y, mut weight) = (0.0, 0.0, 0.0);
        for e in v.out_edges() {
            // Weighting by the two triangles' areas would chase the centroid of
            // the star; the plain mean spreads angles more evenly.
            let q = e.to().position();
            x += q.x;
            y += q.y;
            weight += 1.0;
        }
        let p = Point::new(x / weight, y / weight);
        if weight > 2.0 && keep(p) && star_stays_good(&v, p) {
            inner[k] = p;
        }
    }
}

/// Whether the triangles round a vertex keep their orientation and shape when it moves to `p`.
fn star_stays_good(
    v: &spade::handles::VertexHandle<'_, Point2<f64>, (), spade::CdtEdge<()>, ()>,
    p: Point,
) -> bool {
    let old = Point::new(v.position().x, v.position().y);
    let worst = |at: Point| {
        v.out_edges()
            .map(|e| {
                let a = e.to().position();
                let b = e.rev().prev().from().position();
                // Triangle (at, b, a) lies right of the edge.
                let (a, b) = (Point::new(a.x, a.y), Point::new(b.x, b.y));
                let area = (b - at).cross(a - at);
                let edges = (b - at).dot(b - at) + (a - at).dot(a - at) + (a - b).dot(a - b);
                area / edges
            })
            .fold(f64::INFINITY, f64::min)
    };
    worst(p) >= 0.8 * worst(old).min(0.2)
}

#[cfg(test)]
mod tests {
    use super::super::MeshOptions;
    use super::super::boundary::{Loop, divide, sizes};
    use super::*;
    use crate::geom::Path;

    #[test]
    fn a_plate_with_a_hole_is_filled_by_well_shaped_triangles() {
        let loops = [
            Loop {
                name: "outline".into(),
                path: Path::slot(Point::new(-60.0, 0.0), Point::new(60.0, 0.0), 40.0),
                through: true,
                hard: true,
            },
            Loop {
                name: "hole".into(),
                path: Path::circle(Point::new(10.0, 5.0), 5.0),
                through: true,
                hard: true,
            },
        ];
        let options = MeshOptions::default();
        let field = sizes(&loops, &options, &[]).expect("no crossing");
        let boundary = divide(&loops, &field, &options);
        let keep = |p: Point| boundary.inside(0, p) && !boundary.inside(1, p);
        let plan = triangulate(&boundary, &field, &keep).expect("a plan");
        let (mut area, mut worst) = (0.0, f64::INFINITY);
        for t in &plan.triangles {
            let [a, b, c] = [t[0], t[1], t[2]].map(|i| plan.points[i]);
            let twice = (b - a).cross(c - a);
            assert!(twice > 0.0);
            area += 0.5 * twice;
            for (p, q, r) in [(a, b, c), (b, c, a), (c, a, b)] {
                let angle = (q - p).cross(r - p).atan2((q - p).dot(r - p));
                worst = f64::min(worst, angle.to_degrees());
            }
        }
        let polygon: f64 = boundary
            .rings
            .iter()
            .map(|r| {
                let ring: Vec<Point> = r.iter().map(|&i| boundary.points[i]).collect();
                Path::polygon(&ring).area()
            })
            .zip([1.0, -1.0])
            .map(|(a, sign)| a.abs() * sign)
            .sum();
        assert!((area / polygon - 1.0).abs() < 1e-12, "{area} {polygon}");
        assert!(
            worst > 20.0,
            "least angle {worst}, {} triangles",
            plan.triangles.len()
        );
    }

    #[test]
    fn the_same_boundary_gives_the_same_plan_bit_for_bit() {
        let loops = [Loop {
            name: "outline".into(),
            path: Path::circle(Point::ORIGIN, 50.0),
            through: true,
            hard: true,
        }];
        let options = MeshOptions::default();
        let field = sizes(&loops, &options, &[]).expect("no crossing");
        let boundary = divide(&loops, &field, &options);
        let keep = |p: Point| boundary.inside(0, p);
        let one = triangulate(&boundary, &field, &keep).expect("a plan");
        let two = triangulate(&boundary, &field, &keep).expect("a plan");
        assert_eq!(one, two);
    }
}
