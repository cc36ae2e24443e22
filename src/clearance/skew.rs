//! Distance between prisms whose directions differ: straight edges exactly, round edges within a stated bound.
//!
//! The nearest points of two solids can always be chosen so that one of them
//! lies on an edge, or both on round walls. So every edge of each prism is held
//! against the other prism, and every pair of outward round walls against each
//! other along the common normal of their axes.

use crate::geom::{Point, Point3, Vector};

use super::bounds::Bounds;
use super::line::{Near3, segment_prism};
use super::piece::Piece;
use super::solid::ReadyPrism;

/// Half the width of the band a gap that involves a round edge is known to lie in, mm; the band's
/// lower end is reported.
///
/// The search over a round edge stops when no part of it can be nearer than
/// the best found by more than this. Each halving quarters the error, so a
/// small bound costs little.
pub const ROUND_EDGE_MM: f64 = 1e-5;

/// Arcs are cut into this many stretches before the search, so that a chord never stands for more than a sixth of a turn.
const ARC_STARTS: u32 = 6;

/// Points of each edge looked at for the depth of a clash.
const DEPTH_SAMPLES: u32 = 8;

/// The nearest points found, and whether a round edge was searched for them.
#[derive(Debug, Clone, Copy)]
pub(super) struct Skew {
    pub(super) near: Near3,
    pub(super) searched: bool,
}

/// Nearest points of two prisms of different directions, if nearer than √`best2`.
pub(super) fn prism_prism(a: &ReadyPrism, b: &ReadyPrism, best2: f64) -> Option<Skew> {
    let mut found = Skew {
        near: Near3 {
            d2: best2,
            ..Near3::NONE
        },
        searched: false,
    };
    edges_against(a, b, false, &mut found);
    edges_against(b, a, true, &mut found);
    (found.near.d2 < best2).then_some(found)
}

/// The box of a prism seen in another's frame: in the plane, and in height.
fn seen(prism: &ReadyPrism, from: &ReadyPrism) -> (Bounds<2>, (f64, f64)) {
    let mut plane = Bounds::EMPTY;
    let mut height = (f64::INFINITY, f64::NEG_INFINITY);
    let own = prism.profile.tree.bounds();
    for x in [own.min[0], own.max[0]] {
        for y in [own.min[1], own.max[1]] {
            for h in [prism.low, prism.high] {
                let (p, k) = from
                    .frame
                    .to_plane(prism.frame.to_engine(Point::new(x, y), h));
                plane.add([p.x, p.y]);
                height = (height.0.min(k), height.1.max(k));
            }
        }
    }
    (plane, height)
}

fn edges_against(of: &ReadyPrism, solid: &ReadyPrism, turned: bool, found: &mut Skew) {
    let (plane, height) = seen(solid, of);
    let axial = (of.low - height.1).max(height.0 - of.high).max(0.0);
    let mut limit = found.near.d2;
    of.profile.tree.nearest(
        &mut limit,
        &|b| b.gap2(&plane) + axial * axial,
        &mut |i, limit| {
            let piece = of.profile.pieces[i];
            if piece.bounds().gap2(&plane) + axial * axial < found.near.d2 {
                edges_of_piece(&piece, of, solid, turned, found);
            }
            *limit = found.near.d2;
        },
    );
}

fn keep(found: &mut Skew, near: Option<Near3>, turned: bool) {
    if let Some(n) = near
        && n.d2 < found.near.d2
    {
        found.near = if turned {
            Near3 {
                a: n.b,
                b: n.a,
                ..n
            }
        } else {
            n
        };
    }
}

fn edges_of_piece(
    piece: &Piece,
    of: &ReadyPrism,
    solid: &ReadyPrism,
    turned: bool,
    found: &mut Skew,
) {
    let at = |p: Point, h: f64| of.frame.to_engine(p, h);
    let (a, b) = piece.ends();
    let wall = segment_prism(at(a, of.low), at(a, of.high), solid, found.near.d2);
    keep(found, wall, turned);
    match piece {
        Piece::Line { .. } => {
            for h in [of.low, of.high] {
                let edge = segment_prism(at(a, h), at(b, h), solid, found.near.d2);
                keep(found, edge, turned);
            }
        }
        Piece::Arc { convex, .. } => {
            if *convex && !turned {
                round_walls(piece, of, solid, found);
            }
            for h in [of.low, of.high] {
                found.searched = true;
                let edge = arc_prism(piece, h, of, solid, found.near.d2);
                keep(found, edge, turned);
            }
        }
    }
}

/// Nearest points of a point and a prism, if nearer than √`best2`.
fn point_prism(p: Point3, solid: &ReadyPrism, best2: f64) -> Option<Near3> {
    let (q, h) = solid.frame.to_plane(p);
    let axial = solid.axial(h);
    let room = best2 - axial * axial;
    if room <= 0.0 {
        return None;
    }
    let near = |d2: f64, foot: Point| Near3 {
        d2: d2 + axial * axial,
        a: p,
        b: solid.frame.to_engine(foot, h.clamp(solid.low, solid.high)),
    };
    // Outside is the common case, and the winding test the dear one: ask the boundary first.
    let edge = solid.profile.nearest(q, room);
    if solid.profile.contains(q) {
        return Some(near(0.0, q));
    }
    edge.map(|(d2, foot)| near(d2, foot))
}

/// Nearest points of a round edge at height `h` and a prism, within [`ROUND_EDGE_MM`], if nearer than √`best2`.
fn arc_prism(
    piece: &Piece,
    h: f64,
    of: &ReadyPrism,
    solid: &ReadyPrism,
    best2: f64,
) -> Option<Near3> {
    let Piece::Arc { radius, .. } = *piece else {
        return None;
    };
    let mut search = ArcSearch {
        piece,
        h,
        of,
        solid,
        radius,
        sweep: piece.sweep(),
        best: Near3 {
            d2: best2,
            ..Near3::NONE
        },
    };
    for k in 0..=ARC_STARTS {
        search.try_point(f64::from(k) / f64::from(ARC_STARTS));
    }
    for k in 0..ARC_STARTS {
        let at = |k: u32| f64::from(k) / f64::from(ARC_STARTS);
        search.halve(at(k), at(k + 1));
    }
    (search.best.d2 < best2).then_some(search.best)
}

struct ArcSearch<'a> {
    piece: &'a Piece,
    h: f64,
    of: &'a ReadyPrism,
    solid: &'a ReadyPrism,
    radius: f64,
    sweep: f64,
    best: Near3,
}

impl ArcSearch<'_> {
    fn at(&self, t: f64) -> Point3 {
        self.of.frame.to_engine(self.piece.at(t), self.h)
    }

    fn try_point(&mut self, t: f64) {
        if let Some(n) = point_prism(self.at(t), self.solid, self.best.d2) {
            self.best = n;
        }
    }

    /// Searches the stretch `low..high`, leaving out what cannot be nearer by more than the bound.
    ///
    /// Every point of the stretch lies within the sagitta of its chord, whose
    /// distance to the prism is exact.
    fn halve(&mut self, low: f64, high: f64) {
        let aim = self.best.d2.sqrt() - ROUND_EDGE_MM;
        if aim <= 0.0 {
            return;
        }
        let sagitta = self.radius * (1.0 - (0.5 * (high - low) * self.sweep).cos());
        let (from, to) = (self.at(low), self.at(high));
        let Some(chord) = segment_prism(from, to, self.solid, (aim + sagitta).powi(2)) else {
            return;
        };
        // A radius beyond all numbers has no sagitta; it ends the search too.
        if sagitta.is_nan() || sagitta <= ROUND_EDGE_MM {
            // The chord's nearest point stands for the arc's, which lies within the bound of it.
            if chord.d2 < self.best.d2 {
                self.best = chord;
            }
            return;
        }
        let middle = 0.5 * (low + high);
        self.try_point(middle);
        self.halve(low, middle);
        self.halve(middle, high);
    }
}

/// An outward round wall against the other prism's: along the common normal of the axes.
fn round_walls(piece: &Piece, of: &ReadyPrism, solid: &ReadyPrism, found: &mut Skew) {
    let Piece::Arc { centre, radius, .. } = *piece else {
        return;
    };
    let (n1, n2) = (of.frame.normal, solid.frame.normal);
    let Some(u) = n1.cross(n2).unit() else {
        return;
    };
    let p1 = of.frame.to_engine(centre, 0.0);
    for other in &solid.profile.pieces {
        let Piece::Arc {
            centre: c2,
            radius: r2,
            convex: true,
            ..
        } = *other
        else {
            continue;
        };
        let p2 = solid.frame.to_engine(c2, 0.0);
        let between = p2 - p1;
        let along = between.dot(u);
        let gap = along.abs() - radius - r2;
        if gap > 0.0 && gap * gap >= found.near.d2 {
            continue;
        }
        // Heights of the feet of the common normal on both axes.
        let c = n1.dot(n2);
        let s2 = 1.0 - c * c;
        let h1 = (between.dot(n1) - c * between.dot(n2)) / s2;
        let h2 = (c * between.dot(n1) - between.dot(n2)) / s2;
        if of.axial(h1) > 0.0 || solid.axial(h2) > 0.0 {
            continue;
        }
        let toward = u * along.signum();
        let in_plane =
            |f: &crate::geom::Frame, k: f64| Vector::new(k * toward.dot(f.x), k * toward.dot(f.y));
        if !piece.spans(in_plane(&of.frame, 1.0)) || !other.spans(in_plane(&solid.frame, -1.0)) {
            continue;
        }
        let a = p1 + n1 * h1 + toward * radius;
        let b = p2 + n2 * h2 + toward * -r2;
        if gap > 0.0 {
            keep(
                found,
                Some(Near3 {
                    d2: gap * gap,
                    a,
                    b,
                }),
                false,
            );
        } else if point_prism(a, solid, f64::MIN_POSITIVE).is_some() {
            keep(found, Some(Near3 { d2: 0.0, a, b: a }), false);
        }
    }
}

/// How deep the edges of either prism lie inside the other at their deepest looked-at point, mm.
pub(super) fn depth(a: &ReadyPrism, b: &ReadyPrism) -> f64 {
    edges_in(a, b).max(edges_in(b, a))
}

fn edges_in(of: &ReadyPrism, solid: &ReadyPrism) -> f64 {
    let (plane, _) = seen(solid, of);
    let mut deepest: f64 = 0.0;
    for piece in &of.profile.pieces {
        if piece.bounds().gap2(&plane) > 0.0 {
            continue;
        }
        for k in 0..=DEPTH_SAMPLES {
            let p = piece.at(f64::from(k) / f64::from(DEPTH_SAMPLES));
            for m in 0..=DEPTH_SAMPLES {
                let h = of.low + (of.high - of.low) * f64::from(m) / f64::from(DEPTH_SAMPLES);
                let (q, height) = solid.frame.to_plane(of.frame.to_engine(p, h));
                let axial = (height - solid.low).min(solid.high - height);
                if axial > deepest && solid.profile.contains(q) {
                    // The boundary is only looked at as far as the height would allow.
                    let plan = solid.profile.nearest(q, axial * axial).map(|n| n.0.sqrt());
                    deepest = deepest.max(plan.map_or(axial, |d| d.min(axial)));
                }
            }
        }
    }
    deepest
}
