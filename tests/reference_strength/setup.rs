//! Mapped grids of wedges, supports by place, and readings at a point.

use platewright::geom::{Frame, Point};
use platewright::strength::mass::Mass;
use platewright::strength::mesh::{Layers, Plan, extrude};
use platewright::strength::modes::Mode;
use platewright::strength::recover::{Stresses, recover};
use platewright::strength::surface::{Traction, WedgeFace, add_traction};
use platewright::strength::{Elastic, Hold, Silent, Structure, System};

/// How the squares of a grid are cut in two.
#[derive(Clone, Copy, PartialEq)]
pub(crate) enum Cut {
    /// Every square the same way.
    Same,
    /// Every second square the other way.
    Crossed,
}

/// A grid of nx × ny squares of the unit square, mapped into the plane, middles mapped too.
pub(crate) fn grid(nx: usize, ny: usize, cut: Cut, map: impl Fn(f64, f64) -> Point) -> Plan {
    let at = |i: f64, j: f64| map(i / nx as f64, j / ny as f64);
    let mut corners = Vec::new();
    for j in 0..=ny {
        for i in 0..=nx {
            corners.push(at(i as f64, j as f64));
        }
    }
    let id = |i: usize, j: usize| j * (nx + 1) + i;
    let mut triangles = Vec::new();
    for j in 0..ny {
        for i in 0..nx {
            let (a, b, c, d) = (id(i, j), id(i + 1, j), id(i + 1, j + 1), id(i, j + 1));
            if cut == Cut::Same || (i + j).is_multiple_of(2) {
                triangles.push([a, b, c]);
                triangles.push([a, c, d]);
            } else {
                triangles.push([a, b, d]);
                triangles.push([b, c, d]);
            }
        }
    }
    Plan::new(corners, &triangles, |p, q| {
        let place = |k: usize| ((k % (nx + 1)) as f64, (k / (nx + 1)) as f64);
        let ((pi, pj), (qi, qj)) = (place(p), place(q));
        Some(at(0.5 * (pi + qi), 0.5 * (pj + qj)))
    })
}

/// A solid of one material over heights 0 to `thickness`.
pub(crate) fn solid(plan: &Plan, thickness: f64, layers: usize, material: Elastic) -> Structure {
    let mut s = Structure::default();
    let wedges = extrude(
        plan,
        &Layers::even(thickness, layers),
        |_, _| true,
        |p, _| p,
    );
    s.add_part("solid", &wedges, &Frame::FRONT, material);
    s
}

/// Steel of the plate and beam checks: E 210 GPa, ν 0.3, 7850 kg/m³.
pub(crate) const STEEL: Elastic = Elastic {
    young_mpa: 210_000.0,
    poisson: 0.3,
    density_t_mm3: 7.85e-9,
};

/// Holds the given directions of every node where `which` answers true.
pub(crate) fn hold(s: &mut Structure, directions: &[usize], which: impl Fn([f64; 3]) -> bool) {
    let holds: Vec<Hold> = s
        .nodes
        .iter()
        .enumerate()
        .filter(|(_, p)| which(**p))
        .flat_map(|(node, _)| {
            directions.iter().map(move |&direction| Hold {
                node,
                direction,
                value_mm: 0.0,
            })
        })
        .collect();
    assert!(!holds.is_empty(), "a support that holds nothing");
    s.holds.extend(holds);
    s.holds.sort_by_key(|h| (h.node, h.direction));
    s.holds.dedup_by_key(|h| (h.node, h.direction));
}

/// A load from a traction over every face whose corner nodes all satisfy `which`.
pub(crate) fn traction(
    s: &Structure,
    which: impl Fn([f64; 3]) -> bool,
    t: Traction<'_>,
) -> Vec<f64> {
    let mut load = vec![0.0; s.full_size()];
    let mut faces = 0;
    for (e, w) in s.wedges.iter().enumerate() {
        let on = |corners: &[usize]| corners.iter().all(|&k| which(s.nodes[w.nodes[k]]));
        for (face, corners) in [
            (WedgeFace::Lower, vec![0, 1, 2]),
            (WedgeFace::Upper, vec![3, 4, 5]),
            (WedgeFace::Side(0), vec![0, 1, 4, 3]),
            (WedgeFace::Side(1), vec![1, 2, 5, 4]),
            (WedgeFace::Side(2), vec![2, 0, 3, 5]),
        ] {
            if on(&corners) {
                add_traction(s, &mut load, e, face, t);
                faces += 1;
            }
        }
    }
    assert!(faces > 0, "a traction on no face");
    load
}

/// The node nearest to a point.
pub(crate) fn node_at(s: &Structure, p: [f64; 3]) -> usize {
    let d = |q: &[f64; 3]| (0..3).map(|k| (q[k] - p[k]).powi(2)).sum::<f64>();
    (0..s.nodes.len())
        .min_by(|&a, &b| d(&s.nodes[a]).total_cmp(&d(&s.nodes[b])))
        .expect("a structure with nodes")
}

/// Displacements and stresses under one load.
pub(crate) fn statics(s: &Structure, load: &[f64]) -> (Vec<f64>, Stresses) {
    let system = System::new(s, 1, &mut Silent).expect("a held structure");
    let u = system
        .solve(&[load.to_vec()])
        .expect("memory enough")
        .remove(0);
    let stresses = recover(s, &system.rules, std::slice::from_ref(&u)).remove(0);
    (u, stresses)
}

/// Natural modes of a held structure.
pub(crate) fn modes(s: &Structure, count: usize) -> Vec<Mode> {
    let system = System::new(s, 1, &mut Silent).expect("a held structure");
    let mass = Mass::new(s, &system.rules);
    system.modes(&mass, count).expect("modes")
}

/// Natural modes of a structure that may move freely.
pub(crate) fn free_modes(s: &Structure, count: usize, shift: f64) -> Vec<Mode> {
    let system = System::shifted(s, shift, 1, &mut Silent).expect("a shifted structure");
    let mass = Mass::new(s, &system.rules);
    system.modes(&mass, count).expect("modes")
}

/// Asserts that `got` is within `share` of `want`.
#[track_caller]
pub(crate) fn within(what: &str, got: f64, want: f64, share: f64) {
    let off = (got / want - 1.0).abs();
    assert!(
        off <= share,
        "{what}: {got} for {want}, off {:.3} % of {:.3} %",
        100.0 * off,
        100.0 * share
    );
}
