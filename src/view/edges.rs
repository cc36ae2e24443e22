//! The lines of a mesh: where its surface bends or turns away from the eye.

use std::collections::BTreeMap;

use crate::geom::Vector3;
use crate::solid::mesh::TriMesh;

use super::{Eye, Front, Spot};

/// Triangles that bend by less belong to one round surface, deg.
const ROUND_DEG: f64 = 28.0;

/// Twice the area on the picture below which a triangle is seen on edge, mm².
const EDGE_ON_MM2: f64 = 1e-9;

/// A line of a mesh that may be seen.
#[derive(Debug, Clone, Copy)]
pub(super) struct Edge {
    pub(super) solid: usize,
    pub(super) from: Spot,
    pub(super) to: Spot,
    /// Whether one side of it faces away: only such a line can begin to hide what lies behind.
    pub(super) is_contour: bool,
}

/// The two triangles at a line of a mesh, by their unit normals and whether they face the eye.
#[derive(Debug, Clone, Copy, Default)]
struct Sides {
    first: Option<(Vector3, bool)>,
    second: Option<(Vector3, bool)>,
}

/// Adds a mesh's lines and the triangles that face the eye.
pub(super) fn gather(
    solid: usize,
    mesh: &TriMesh,
    eye: &Eye,
    edges: &mut Vec<Edge>,
    fronts: &mut Vec<Front>,
) {
    let spots: Vec<Spot> = mesh.positions.iter().map(|p| eye.seen(*p)).collect();
    let mut sides: BTreeMap<(u32, u32), Sides> = BTreeMap::new();
    for (k, t) in mesh.triangles.iter().enumerate() {
        let Some(normal) = mesh.normal(k) else {
            continue;
        };
        let corners = t.map(|i| spots[i as usize]);
        // A triangle seen on edge shows nothing; rounding must not make it a shield.
        let faces =
            (corners[1].at - corners[0].at).cross(corners[2].at - corners[0].at) > EDGE_ON_MM2;
        if faces {
            fronts.push(Front { solid, corners });
        }
        for (a, b) in [(t[0], t[1]), (t[1], t[2]), (t[2], t[0])] {
            let s = sides.entry((a.min(b), a.max(b))).or_default();
            if s.first.is_none() {
                s.first = Some((normal, faces));
            } else {
                s.second = Some((normal, faces));
            }
        }
    }
    let round = ROUND_DEG.to_radians().cos();
    for ((a, b), s) in sides {
        let (is_contour, bends) = match (s.first, s.second) {
            (Some((n, f)), Some((m, g))) => (f != g, n.dot(m) < round && (f || g)),
            (Some((_, f)), None) => (f, f),
            _ => continue,
        };
        if is_contour || bends {
            edges.push(Edge {
                solid,
                from: spots[a as usize],
                to: spots[b as usize],
                is_contour,
            });
        }
    }
}
