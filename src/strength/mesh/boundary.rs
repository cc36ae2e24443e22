//! Boundaries of a plan cut into edges whose ends and middles lie on the true lines and arcs.

use std::f64::consts::TAU;

use super::{MeshOptions, SizeField};
use crate::geom::{Extents, Path, Point, Segment};

/// A boundary piece shorter than this is swallowed by its neighbour in the mesh, mm.
///
/// Stress does not see a flat of 0.02 mm, and its edges would drag the mesh down to that size.
const SWALLOW_MM: f64 = 0.02;

/// Two boundaries nearer than this are taken as crossing, mm.
const TOUCH_MM: f64 = 1e-3;

/// Metal narrower than this is meshed with elongated triangles instead of ever smaller ones, mm.
const NARROWEST_MM: f64 = 0.05;

/// Longest edge of a clamp's circle, as a share of its radius.
const RING_EDGE_SHARE: f64 = 0.35;

/// One loop that the mesh must follow.
#[derive(Debug, Clone, PartialEq)]
pub struct Loop {
    /// Name for messages: a feature's, a clamp's or `outline`.
    pub name: String,
    /// The loop; its orientation carries no meaning.
    pub path: Path,
    /// Whether its inside is void right through (its outside, for the outline).
    pub through: bool,
    /// Whether it bounds metal. A clamp's ring does not.
    pub hard: bool,
}

/// One edge of a boundary.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Chord {
    /// Start, an index into [`Boundary::points`].
    pub from: usize,
    /// End.
    pub to: usize,
    /// Middle on the arc; `None` on a line.
    pub middle: Option<Point>,
    /// The loop it belongs to.
    pub owner: usize,
}

/// All loops, cut into edges.
#[derive(Debug, Clone, Default)]
pub struct Boundary {
    /// End points of the edges, mm.
    pub points: Vec<Point>,
    /// Edges.
    pub chords: Vec<Chord>,
    /// The points of each loop in order.
    pub rings: Vec<Vec<usize>>,
}

/// Two loops that cross or touch.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Crossing {
    /// One loop.
    pub first: usize,
    /// The other.
    pub second: usize,
    /// Where.
    pub at: Point,
}

/// The pieces of a loop worth meshing.
fn pieces(path: &Path) -> Vec<Segment> {
    let long: Vec<Segment> = path
        .segments
        .iter()
        .filter(|s| s.length() > SWALLOW_MM)
        .copied()
        .collect();
    if long.len() >= 2 || path.segments.len() == 1 {
        long
    } else {
        path.segments.clone()
    }
}

/// Edge lengths that arcs and narrow places ask for.
///
/// # Errors
/// Where two hard loops come nearer than a micron.
pub fn sizes(
    loops: &[Loop],
    options: &MeshOptions,
    extra: &[(Point, f64)],
) -> Result<SizeField, Crossing> {
    let mut extents = Extents::EMPTY;
    for l in loops {
        let e = l.path.extents();
        extents.add(e.min);
        extents.add(e.max);
    }
    let mut field = SizeField::new(extents, options.edge_mm, options.growth);
    let cut: Vec<Vec<Segment>> = loops.iter().map(|l| pieces(&l.path)).collect();
    for (i, segments) in cut.iter().enumerate() {
        for (k, s) in segments.iter().enumerate() {
            let by_arc = match s {
                Segment::Line { .. } => f64::INFINITY,
                // A clamp's circles run 15 % of their radius apart: edges of 0.35 keep angles of 40°.
                Segment::Arc { radius, .. } if !loops[i].hard => {
                    radius * (TAU / options.edges_per_turn as f64).min(RING_EDGE_SHARE)
                }
                Segment::Arc { radius, .. } => TAU * radius / options.edges_per_turn as f64,
            };
            let samples =
                ((s.length() / (0.5 * options.edge_mm.min(by_arc))).ceil() as usize).clamp(2, 64);
            for n in 0..=samples {
                let p = s.at(n as f64 / samples as f64);
                let gap = if loops[i].hard {
                    let g = metal_gap(loops, &cut, (i, k), p, options.edge_mm);
                    if let Some((j, q, d)) = g
                        && d < TOUCH_MM
                        && j != i
                    {
                        return Err(Crossing {
                            first: i,
                            second: j,
                            at: p.midpoint(q),
                        });
                    }
                    g.map_or(f64::INFINITY, |(_, _, d)| {
                        (d * options.edges_per_gap).max(NARROWEST_MM)
                    })
                } else {
                    f64::INFINITY
                };
                let size = by_arc.min(gap);
                if size < options.edge_mm {
                    field.ask(p, size);
                }
            }
        }
    }
    for &(p, size) in extra {
        field.ask(p, size);
    }
    field.settle();
    Ok(field)
}

/// The nearest point of another boundary across metal from `p`, if nearer than `reach`: its loop, the point, the distance.
fn metal_gap(
    loops: &[Loop],
    cut: &[Vec<Segment>],
    (i, k): (usize, usize),
    p: Point,
    reach: f64,
) -> Option<(usize, Point, f64)> {
    let mut best: Option<(usize, Point, f64)> = None;
    for (j, segments) in cut.iter().enumerate() {
        let count = segments.len();
        for (m, s) in segments.iter().enumerate() {
            if j == i && (m == k || (m + 1) % count == k || (k + 1) % count == m) {
                continue;
            }
            let q = s.nearest(p);
            let d = q.distance(p);
            let limit = best.map_or(reach, |(_, _, b)| b);
            if d >= limit {
                continue;
            }
            let middle = p.midpoint(q);
            let void = d > TOUCH_MM
                && loops.iter().any(|l| {
                    l.through && l.path.contains(middle) == (l.name != super::plate::OUTLINE)
                });
            if !void {
                best = Some((j, q, d));
            }
        }
    }
    best
}

/// Cuts every loop into edges of the field's length.
#[must_use]
pub fn divide(loops: &[Loop], field: &SizeField, options: &MeshOptions) -> Boundary {
    let mut boundary = Boundary::default();
    for (owner, l) in loops.iter().enumerate() {
        let mut ring = Vec::new();
        let mut chords = Vec::new();
        for s in pieces(&l.path) {
            let cuts = cut_points(&s, field, options);
            for pair in cuts.windows(2) {
                ring.push(boundary.points.len());
                boundary.points.push(s.at(pair[0]));
                chords.push(match s {
                    Segment::Line { .. } => None,
                    Segment::Arc { .. } => Some(s.at(0.5 * (pair[0] + pair[1]))),
                });
            }
        }
        let n = ring.len();
        for (k, middle) in chords.into_iter().enumerate() {
            boundary.chords.push(Chord {
                from: ring[k],
                to: ring[(k + 1) % n],
                middle,
                owner,
            });
        }
        boundary.rings.push(ring);
    }
    boundary
}

/// Parameters at which a piece is cut, 0 and 1 included, so that every edge is the field's length there.
fn cut_points(s: &Segment, field: &SizeField, options: &MeshOptions) -> Vec<f64> {
    let least = match s {
        Segment::Line { .. } => 1.0,
        Segment::Arc { .. } => {
            let share = (s.sweep().abs() / TAU * options.edges_per_turn as f64 - 1e-6).ceil();
            share.max(if s.is_full_circle() { 8.0 } else { 1.0 })
        }
    };
    let samples = 64_usize;
    let step = s.length() / samples as f64;
    let mut sum = vec![0.0; samples + 1];
    for n in 0..samples {
        let p = s.at((n as f64 + 0.5) / samples as f64);
        sum[n + 1] = sum[n] + step / field.at(p);
    }
    let total = sum[samples];
    let count = (total - 0.25).ceil().max(least);
    let pieces = count as usize;
    let mut cuts = vec![0.0];
    let mut n = 0;
    for piece in 1..pieces {
        let wanted = total * piece as f64 / count;
        while n + 1 < samples && sum[n + 1] < wanted {
            n += 1;
        }
        let t = (wanted - sum[n]) / (sum[n + 1] - sum[n]);
        cuts.push((n as f64 + t) / samples as f64);
    }
    cuts.push(1.0);
    cuts
}

impl Boundary {
    /// Whether `p` lies inside the polygon of a loop's edges.
    #[must_use]
    pub fn inside(&self, owner: usize, p: Point) -> bool {
        let ring = &self.rings[owner];
        let mut inside = false;
        let Some(&last) = ring.last() else {
            return false;
        };
        let mut a = self.points[last];
        for &i in ring {
            let b = self.points[i];
            if (a.y > p.y) != (b.y > p.y) {
                let x = a.x + (p.y - a.y) / (b.y - a.y) * (b.x - a.x);
                if p.x < x {
                    inside = !inside;
                }
            }
            a = b;
        }
        inside
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn edges_of_a_circle_have_ends_and_middles_on_it() {
        let c = Point::new(3.0, 4.0);
        let loops = [Loop {
            name: "outline".into(),
            path: Path::circle(c, 10.0),
            through: true,
            hard: true,
        }];
        let options = MeshOptions::default();
        let field = sizes(&loops, &options, &[]).expect("a lone circle");
        let b = divide(&loops, &field, &options);
        assert!(b.chords.len() >= options.edges_per_turn);
        for chord in &b.chords {
            for p in [b.points[chord.from], chord.middle.expect("on an arc")] {
                assert!((p.distance(c) - 10.0).abs() < 1e-12);
            }
        }
        assert!(b.inside(0, c) && !b.inside(0, Point::new(14.0, 4.0)));
    }

    #[test]
    fn a_narrow_web_between_two_holes_is_meshed_finer_than_the_rest() {
        let hole = |x: f64| Loop {
            name: format!("hole {x}"),
            path: Path::circle(Point::new(x, 0.0), 8.0),
            through: true,
            hard: true,
        };
        let loops = [
            Loop {
                name: "outline".into(),
                path: Path::slot(Point::new(-60.0, 0.0), Point::new(60.0, 0.0), 40.0),
                through: true,
                hard: true,
            },
            hole(-9.0),
            hole(9.0),
        ];
        let field = sizes(&loops, &MeshOptions::default(), &[]).expect("metal between all");
        assert!(field.at(Point::ORIGIN) < 2.5);
        assert!(field.at(Point::new(60.0, 0.0)) > 5.0);
    }
}
