//! The shapes an outline is united from, grown by a radius: their boundary carriers and their signed distance.

use std::f64::consts::TAU;

use crate::geom::{Path, Point, Segment, Vector};

/// A disc: metal round a hole.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Disc {
    /// Centre, mm.
    pub centre: Point,
    /// Radius, mm.
    pub radius: f64,
}

/// One shape of an outline.
#[derive(Debug, Clone, PartialEq)]
pub enum Shape {
    /// A boss.
    Disc(Disc),
    /// A web tangent to two bosses: the convex hull of two discs.
    Taper {
        /// One boss.
        a: Disc,
        /// The other.
        b: Disc,
    },
    /// A web of constant width with flat ends.
    Bar {
        /// Middle of one end.
        a: Point,
        /// Middle of the other.
        b: Point,
        /// Width, mm.
        width: f64,
    },
    /// A simple counter-clockwise loop.
    Drawn(Path),
}

/// A shape grown by a radius, ready for the arrangement.
#[derive(Debug, Clone)]
pub(super) enum Grown {
    Disc(Disc),
    Taper { a: Disc, b: Disc, hull: Hull2 },
    Loop { path: Path, by: f64 },
}

/// The outer tangent lines of two discs.
#[derive(Debug, Clone, Copy)]
pub(super) struct Hull2 {
    /// Unit normals of the right and left tangent line (seen from a to b), pointing out.
    right: Vector,
    left: Vector,
}

impl Shape {
    pub(super) fn grown(&self, by: f64) -> Grown {
        let grow = |d: &Disc| Disc {
            centre: d.centre,
            radius: d.radius + by,
        };
        match self {
            Self::Disc(d) => Grown::Disc(grow(d)),
            Self::Taper { a, b } => match hull_normals(a, b) {
                Some(hull) => Grown::Taper {
                    a: grow(a),
                    b: grow(b),
                    hull,
                },
                // One disc swallows the other: their hull is the larger.
                None => Grown::Disc(grow(if a.radius >= b.radius { a } else { b })),
            },
            Self::Bar { a, b, width } => Grown::Loop {
                path: bar(*a, *b, *width),
                by,
            },
            Self::Drawn(path) => Grown::Loop {
                path: path.clone(),
                by,
            },
        }
    }

    /// A point inside the shape.
    pub(super) fn inside(&self) -> Point {
        match self {
            Self::Disc(d) | Self::Taper { a: d, .. } => d.centre,
            Self::Bar { a, b, .. } => a.midpoint(*b),
            Self::Drawn(path) => {
                // A step inwards from the middle of the longest piece.
                let longest = path
                    .segments
                    .iter()
                    .max_by(|a, b| a.length().total_cmp(&b.length()));
                longest.map_or(Point::ORIGIN, |s| {
                    s.midpoint() + s.direction(0.5).left() * (1e-3 * s.length()).min(1e-2)
                })
            }
        }
    }
}

fn bar(a: Point, b: Point, width: f64) -> Path {
    let n = (b - a).unit().unwrap_or_default().left() * (0.5 * width);
    Path::polygon(&[a - n, b - n, b + n, a + n])
}

/// Outward normals of the outer tangents of two discs; `None` where one disc lies in the other.
fn hull_normals(a: &Disc, b: &Disc) -> Option<Hull2> {
    let v = b.centre - a.centre;
    let dist = v.length();
    let taper = a.radius - b.radius;
    if dist <= taper.abs() || dist == 0.0 {
        return None;
    }
    let u = v * (1.0 / dist);
    // Both tangents lean towards the smaller disc by the same angle.
    let lean = taper / dist;
    let across = (1.0 - lean * lean).sqrt();
    Some(Hull2 {
        left: u * lean + u.left() * across,
        right: u * lean - u.left() * across,
    })
}

impl Grown {
    /// Boundary carriers, with the shape on their left.
    pub(super) fn carriers(&self, out: &mut Vec<Segment>) {
        match self {
            Self::Disc(d) => out.push(Segment::circle(d.centre, d.radius)),
            Self::Taper { a, b, hull } => {
                let on = |d: &Disc, n: Vector| d.centre + n * d.radius;
                out.push(Segment::Line {
                    from: on(a, hull.right),
                    to: on(b, hull.right),
                });
                out.push(Segment::Line {
                    from: on(b, hull.left),
                    to: on(a, hull.left),
                });
                out.push(Segment::circle(a.centre, a.radius));
                out.push(Segment::circle(b.centre, b.radius));
            }
            Self::Loop { path, by } => {
                let n = path.segments.len();
                for (i, s) in path.segments.iter().enumerate() {
                    out.extend(offset_out(s, *by));
                    let next = &path.segments[(i + 1) % n];
                    let turn = s.direction(1.0).cross(next.direction(0.0));
                    if *by > 0.0 && n > 1 && turn > 1e-9 {
                        out.push(Segment::circle(s.to(), *by));
                    }
                }
            }
        }
    }

    /// Signed distance to the grown shape, mm: positive inside.
    pub(super) fn depth(&self, p: Point) -> f64 {
        match self {
            Self::Disc(d) => d.radius - p.distance(d.centre),
            Self::Taper { a, b, hull } => {
                // In the half plane beside the axis: nearer to one cap, to the
                // other, or to the straight side between them.
                let v = b.centre - a.centre;
                let h = v.length();
                let u = v * (1.0 / h);
                let w = p - a.centre;
                let (along, beside) = (w.dot(u), w.dot(u.left()).abs());
                let (lean, across) = (hull.left.dot(u), hull.left.dot(u.left()));
                let level = across * along - lean * beside;
                if level < 0.0 {
                    a.radius - w.length()
                } else if level > across * h {
                    b.radius - p.distance(b.centre)
                } else {
                    a.radius - (across * beside + lean * along)
                }
            }
            Self::Loop { path, by } => path.signed_distance(p) + by,
        }
    }

    /// Bounding box: least x, least y, greatest x, greatest y.
    pub(super) fn bounds(&self) -> [f64; 4] {
        let disc = |d: &Disc| {
            [
                d.centre.x - d.radius,
                d.centre.y - d.radius,
                d.centre.x + d.radius,
                d.centre.y + d.radius,
            ]
        };
        match self {
            Self::Disc(d) => disc(d),
            Self::Taper { a, b, .. } => {
                let (p, q) = (disc(a), disc(b));
                [
                    p[0].min(q[0]),
                    p[1].min(q[1]),
                    p[2].max(q[2]),
                    p[3].max(q[3]),
                ]
            }
            Self::Loop { path, by } => {
                let e = path.extents();
                [e.min.x - by, e.min.y - by, e.max.x + by, e.max.y + by]
            }
        }
    }
}

/// A boundary piece moved outwards (to its right) by `by`; an arc that would vanish is left out.
fn offset_out(s: &Segment, by: f64) -> Option<Segment> {
    match *s {
        Segment::Line { from, to } => {
            let out = -(s.direction(0.0).left()) * by;
            Some(Segment::Line {
                from: from + out,
                to: to + out,
            })
        }
        Segment::Arc {
            from,
            to,
            centre,
            radius,
            ccw,
        } => {
            let r = if ccw { radius + by } else { radius - by };
            if r <= 0.0 {
                return None;
            }
            let k = r / radius;
            let full = from == to;
            let moved = centre + (from - centre) * k;
            Some(Segment::Arc {
                from: moved,
                to: if full {
                    moved
                } else {
                    centre + (to - centre) * k
                },
                centre,
                radius: r,
                ccw,
            })
        }
    }
}

/// The convex hull of discs, counter-clockwise, as tangent lines and arcs.
///
/// Discs that lie inside others or inside the hull leave no trace. Discs of
/// radius zero are corners.
#[must_use]
pub fn hull(discs: &[Disc]) -> Path {
    // Gift wrapping over support directions: from the disc that reaches lowest,
    // always to the one whose common tangent turns least.
    let Some(start) = (0..discs.len()).min_by(|&i, &j| {
        let low = |k: usize| discs[k].centre.y - discs[k].radius;
        low(i)
            .total_cmp(&low(j))
            .then(discs[j].radius.total_cmp(&discs[i].radius))
            .then(discs[j].centre.x.total_cmp(&discs[i].centre.x))
    }) else {
        return Path::new(Vec::new());
    };
    let mut order: Vec<(usize, f64)> = vec![(start, 0.0)];
    let mut heading = 0.0_f64;
    let (mut here, mut turned) = (start, 0.0);
    loop {
        let next = (0..discs.len())
            .filter(|&j| j != here)
            .filter_map(|j| {
                let n = hull_normals(&discs[here], &discs[j])?;
                // Travel along the right-hand tangent, its normal pointing out.
                let travel = n.right.left().angle();
                let turn = (travel - heading).rem_euclid(TAU);
                // A hair of backward turn is rounding, not a lap.
                let turn = if turn > TAU - 1e-9 { 0.0 } else { turn };
                let reach = discs[j].centre.distance(discs[here].centre);
                Some((turn, reach, j, travel))
            })
            .min_by(|a, b| {
                if (a.0 - b.0).abs() < 1e-9 {
                    b.1.total_cmp(&a.1)
                } else {
                    a.0.total_cmp(&b.0)
                }
            });
        let Some((turn, _, j, travel)) = next else {
            break;
        };
        turned += turn;
        if turned >= TAU - 1e-9 || order.len() > 2 * discs.len() + 2 {
            break;
        }
        heading = travel;
        order.push((j, travel));
        here = j;
        if j == start && turned > 1e-9 && order.len() > 2 && turned > TAU - 1e-6 {
            break;
        }
    }
    close_hull(discs, &order)
}

fn close_hull(discs: &[Disc], order: &[(usize, f64)]) -> Path {
    // order[k] is reached along a tangent of heading order[k].1; the hull
    // closes on the first disc. A final return to the start is one of them.
    let mut stops: Vec<(usize, f64)> = order[1..].to_vec();
    if stops.is_empty() {
        let d = discs[order[0].0];
        return Path::circle(d.centre, d.radius);
    }
    if stops.last().map(|s| s.0) != Some(order[0].0) {
        // Wrapping stopped on the lap without naming the start again.
        let from = stops.last().map_or(order[0].0, |s| s.0);
        if let Some(n) = hull_normals(&discs[from], &discs[order[0].0]) {
            stops.push((order[0].0, n.right.left().angle()));
        }
    }
    let on = |d: &Disc, heading: f64| d.centre - Vector::unit_at(heading).left() * d.radius;
    let n = stops.len();
    let mut segments = Vec::with_capacity(2 * n);
    for k in 0..n {
        let (disc, heading) = stops[k];
        let leave = stops[(k + 1) % n].1;
        let before = stops[(k + n - 1) % n].0;
        segments.push(Segment::Line {
            from: on(&discs[before], heading),
            to: on(&discs[disc], heading),
        });
        let d = discs[disc];
        let (from, to) = (on(&d, heading), on(&d, leave));
        if d.radius > 0.0 && from.distance(to) > crate::tol::SLIVER_MM {
            segments.push(Segment::Arc {
                from,
                to,
                centre: d.centre,
                radius: d.radius,
                ccw: true,
            });
        }
    }
    let m = segments.len();
    for k in 0..m {
        let start = segments[(k + 1) % m].from();
        match &mut segments[k] {
            Segment::Line { to, .. } | Segment::Arc { to, .. } => *to = start,
        }
    }
    Path::new(segments)
}
