//! A plane region made ready for distances: its pieces, their tree, inside and outside.

use crate::geom::{Path, Point, Region};

use super::bounds::{Bounds, Tree};
use super::near::Near2;
use super::piece::Piece;

/// Points looked at on each boundary piece for the depth of an overlap, before refining.
const DEPTH_SAMPLES: u32 = 8;

/// Rounds of golden-section refining of that depth: 0.618²⁴ of an eighth of a piece is about a nanometre.
const DEPTH_ROUNDS: u32 = 24;

/// A region with its boundary ready for distances.
#[derive(Debug, Clone)]
pub(super) struct Profile {
    pub(super) region: Region,
    pub(super) pieces: Vec<Piece>,
    pub(super) tree: Tree<2>,
}

/// How two regions of one plane lie to each other.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Apart {
    /// Distance, mm; 0 where they overlap or touch.
    pub(super) gap: f64,
    pub(super) a: Point,
    pub(super) b: Point,
}

impl Profile {
    pub(super) fn new(region: &Region) -> Self {
        // Metal on the left of every piece.
        let mut loops: Vec<Path> = vec![region.outer.oriented(true)];
        loops.extend(region.openings.iter().map(|o| o.oriented(false)));
        let pieces: Vec<Piece> = loops
            .iter()
            .flat_map(|l| l.segments.iter().map(Piece::of))
            .collect();
        let boxes: Vec<Bounds<2>> = pieces.iter().map(Piece::bounds).collect();
        let tree = Tree::new(&boxes);
        let outer = loops.remove(0);
        Self {
            region: Region {
                outer,
                openings: loops,
            },
            pieces,
            tree,
        }
    }

    /// The same region seen from other plane coordinates.
    pub(super) fn mapped(&self, f: impl Fn(Point) -> Point, mirrored: bool) -> Self {
        Self::new(&Region {
            outer: self.region.outer.mapped(&f, mirrored),
            openings: self
                .region
                .openings
                .iter()
                .map(|o| o.mapped(&f, mirrored))
                .collect(),
        })
    }

    /// Whether a point lies in the region (boundary points may answer either way).
    pub(super) fn contains(&self, p: Point) -> bool {
        let b = self.tree.bounds();
        (b.min[0]..=b.max[0]).contains(&p.x)
            && (b.min[1]..=b.max[1]).contains(&p.y)
            && self
                .pieces
                .iter()
                .fold(false, |inside, piece| inside != piece.turns_parity(p))
    }

    /// Nearest boundary point to `p` nearer than √`best2`, and its squared distance.
    pub(super) fn nearest(&self, p: Point, best2: f64) -> Option<(f64, Point)> {
        let at = Bounds::of([[p.x, p.y]]);
        let mut best = None;
        let mut best2 = best2;
        self.tree
            .nearest(&mut best2, &|b| b.gap2(&at), &mut |i, best2| {
                let q = self.pieces[i].nearest(p);
                let d = q - p;
                let d2 = d.dot(d);
                if d2 < *best2 {
                    *best2 = d2;
                    best = Some((d2, q));
                }
            });
        best
    }

    /// A boundary point of the region.
    fn any_point(&self) -> Option<Point> {
        self.pieces.first().map(|p| p.ends().0)
    }

    /// How this region lies to another, if they are nearer than √`best2`.
    pub(super) fn apart(&self, other: &Self, best2: f64) -> Option<Apart> {
        let mut near = Near2::NONE;
        let mut limit = best2;
        self.tree
            .nearest_between(&other.tree, &mut limit, &mut |i, j, limit| {
                let n = self.pieces[i].near(&other.pieces[j]);
                if n.d2 < *limit {
                    *limit = n.d2;
                    near = n;
                }
            });
        if near.d2 > 0.0 {
            let inside =
                |outer: &Self, inner: &Self| inner.any_point().filter(|p| outer.contains(*p));
            if let Some(p) = inside(self, other).or_else(|| inside(other, self)) {
                return Some(Apart {
                    gap: 0.0,
                    a: p,
                    b: p,
                });
            }
        }
        near.d2.is_finite().then(|| Apart {
            gap: near.d2.sqrt(),
            a: near.a,
            b: near.b,
        })
    }

    /// How deep the boundary of either lies inside the other at its deepest, mm.
    pub(super) fn depth(&self, other: &Self) -> f64 {
        self.deepest_in(other).max(other.deepest_in(self))
    }

    /// Greatest depth of this boundary inside another region, mm; 0 where it only touches.
    fn deepest_in(&self, other: &Self) -> f64 {
        let depth = |p: Point| {
            if other.contains(p) {
                other.nearest(p, f64::INFINITY).map_or(0.0, |n| n.0.sqrt())
            } else {
                0.0
            }
        };
        let mut deepest: f64 = 0.0;
        let reach = other.tree.bounds();
        for piece in &self.pieces {
            if piece.bounds().gap2(&reach) > 0.0 {
                continue;
            }
            let step = 1.0 / f64::from(DEPTH_SAMPLES);
            let half_step_mm = 0.5 * step * piece.length();
            let (mut best_t, mut best) = (0.0, depth(piece.at(0.0)));
            for k in 1..=DEPTH_SAMPLES {
                let t = step * f64::from(k);
                let d = depth(piece.at(t));
                if d > best {
                    (best_t, best) = (t, d);
                }
            }
            deepest = deepest.max(best);
            // The depth changes no faster than the point moves.
            if best + half_step_mm <= deepest {
                continue;
            }
            let (mut low, mut high) = ((best_t - step).max(0.0), (best_t + step).min(1.0));
            let golden = 0.5 * (5.0_f64.sqrt() - 1.0);
            for _ in 0..DEPTH_ROUNDS {
                let (t1, t2) = (high - golden * (high - low), low + golden * (high - low));
                let (d1, d2) = (depth(piece.at(t1)), depth(piece.at(t2)));
                best = best.max(d1).max(d2);
                if d1 > d2 {
                    high = t2;
                } else {
                    low = t1;
                }
            }
            deepest = deepest.max(best);
        }
        deepest
    }
}
