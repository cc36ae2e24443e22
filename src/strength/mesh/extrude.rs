//! A plan extruded in layers: fifteen-node wedges.

use super::Plan;
use crate::geom::Point;

/// Marks a place of the level table that no element uses.
const NONE: usize = usize::MAX;

/// Heights between which a plan is extruded.
#[derive(Debug, Clone, PartialEq)]
pub struct Layers {
    /// Heights, mm, strictly ascending; at least two.
    pub heights_mm: Vec<f64>,
}

/// Wedges of one extruded plan, in the plan's own frame.
///
/// Node order of a wedge: corners 0–2 below, 3–5 above; middles 6–8 of the
/// lower edges (0–1, 1–2, 2–0), 9–11 of the upper edges, 12–14 of the uprights.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Wedges {
    /// Nodes: (x, y, height), mm.
    pub nodes: Vec<[f64; 3]>,
    /// Elements.
    pub wedges: Vec<[usize; 15]>,
    /// Triangle and layer of each wedge.
    pub from: Vec<(usize, usize)>,
    /// Levels: each layer has a lower, a middle and an upper one, shared with its neighbours.
    levels: usize,
    /// Node at (plan point, level), or [`NONE`].
    table: Vec<usize>,
}

impl Layers {
    /// Layers that follow all `heights`, none thicker than `thickest`.
    ///
    /// Heights within `join` of each other are one.
    #[must_use]
    pub fn following(mut heights: Vec<f64>, thickest: f64, join: f64) -> Self {
        heights.sort_by(f64::total_cmp);
        heights.dedup_by(|b, a| *b - *a <= join);
        let mut out = Vec::new();
        for pair in heights.windows(2) {
            let count = ((pair[1] - pair[0]) / thickest - 1e-9).ceil().max(1.0);
            let step = (pair[1] - pair[0]) / count;
            for k in 0..count as usize {
                out.push(pair[0] + k as f64 * step);
            }
        }
        out.extend(heights.last());
        Self { heights_mm: out }
    }

    /// Layers of even thickness from 0 to `thickness`.
    #[must_use]
    pub fn even(thickness: f64, count: usize) -> Self {
        Self::following(vec![0.0, thickness], thickness / count as f64, 0.0)
    }
}

/// Extrudes the plan where `solid` holds of a triangle's centre and a layer's middle height.
///
/// Each triangle's lower corners are `plan` corners at the layer's lower
/// height. `shift` moves a node in the plan, for conical walls.
#[must_use]
pub fn extrude(
    plan: &Plan,
    layers: &Layers,
    solid: impl Fn(Point, f64) -> bool,
    shift: impl Fn(Point, f64) -> Point,
) -> Wedges {
    let h = &layers.heights_mm;
    let count = h.len().saturating_sub(1);
    let levels = 2 * count + 1;
    let mut out = Wedges {
        levels,
        table: vec![NONE; plan.points.len() * levels],
        ..Wedges::default()
    };
    for (t, triangle) in plan.triangles.iter().enumerate() {
        let centre = plan.centre(t);
        for layer in 0..count {
            if !solid(centre, 0.5 * (h[layer] + h[layer + 1])) {
                continue;
            }
            let mut node = |point: usize, level: usize| {
                let slot = point * levels + level;
                if out.table[slot] == NONE {
                    let z = if level.is_multiple_of(2) {
                        h[level / 2]
                    } else {
                        0.5 * (h[level / 2] + h[level / 2 + 1])
                    };
                    let p = shift(plan.points[point], z);
                    out.table[slot] = out.nodes.len();
                    out.nodes.push([p.x, p.y, z]);
                }
                out.table[slot]
            };
            let [a, b, c, ab, bc, ca] = *triangle;
            let (low, mid, high) = (2 * layer, 2 * layer + 1, 2 * layer + 2);
            let wedge = [
                node(a, low),
                node(b, low),
                node(c, low),
                node(a, high),
                node(b, high),
                node(c, high),
                node(ab, low),
                node(bc, low),
                node(ca, low),
                node(ab, high),
                node(bc, high),
                node(ca, high),
                node(a, mid),
                node(b, mid),
                node(c, mid),
            ];
            out.wedges.push(wedge);
            out.from.push((t, layer));
        }
    }
    out
}

impl Wedges {
    /// Number of levels: two a layer and one.
    #[must_use]
    pub const fn levels(&self) -> usize {
        self.levels
    }

    /// The node of a plan point on a level (even levels are layer bounds, odd ones middles), if an element uses it.
    #[must_use]
    pub fn node(&self, point: usize, level: usize) -> Option<usize> {
        self.table
            .get(point * self.levels + level)
            .copied()
            .filter(|&n| n != NONE)
    }

    /// All nodes over a plan point, from below.
    pub fn column(&self, point: usize) -> impl Iterator<Item = usize> + '_ {
        (0..self.levels).filter_map(move |l| self.node(point, l))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn square() -> Plan {
        let p = [(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)]
            .map(|(x, y)| Point::new(x, y))
            .to_vec();
        Plan::new(p, &[[0, 1, 2], [0, 2, 3]], |_, _| None)
    }

    #[test]
    fn layers_follow_every_height_and_none_is_too_thick() {
        let l = Layers::following(vec![10.0, 0.0, 4.0, 4.0], 3.5, 1e-6);
        let want = [0.0, 2.0, 4.0, 7.0, 10.0];
        assert_eq!(l.heights_mm.len(), want.len());
        for (a, b) in l.heights_mm.iter().zip(want) {
            assert!((a - b).abs() < 1e-12);
        }
    }

    #[test]
    fn neighbouring_layers_share_their_nodes() {
        let w = extrude(&square(), &Layers::even(2.0, 2), |_, _| true, |p, _| p);
        // 9 plan points on three full levels, 4 corners on two middle levels.
        assert_eq!(w.nodes.len(), 9 * 3 + 4 * 2);
        assert_eq!(w.wedges.len(), 4);
    }

    #[test]
    fn a_void_layer_leaves_no_nodes_behind() {
        let w = extrude(&square(), &Layers::even(2.0, 2), |_, z| z < 1.0, |p, _| p);
        assert_eq!(w.nodes.len(), 9 * 2 + 4);
        assert_eq!(w.node(0, 4), None);
        assert_eq!(w.column(0).count(), 3);
    }
}
