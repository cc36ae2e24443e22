//! What any honest elastic solver must do: patch test, rigid motions, balance, order of accuracy.

use std::f64::consts::FRAC_PI_2;

use platewright::geom::Point;
use platewright::strength::mass::Mass;
use platewright::strength::recover::recover;
use platewright::strength::system::{GRAVITY_MM_S2, translation};
use platewright::strength::{Hold, Silent, System};

use crate::setup::{Cut, STEEL, free_modes, grid, hold, modes, solid, traction, within};

/// A grid whose inner corners are pushed about, so that no two elements are alike.
fn irregular(n: usize) -> platewright::strength::mesh::Plan {
    grid(n, n, Cut::Crossed, |u, v| {
        let bump = u * (1.0 - u) * v * (1.0 - v);
        Point::new(
            30.0 * u + 40.0 * bump * (v - 0.3),
            20.0 * v - 30.0 * bump * (u - 0.6),
        )
    })
}

#[test]
fn a_linear_displacement_is_reproduced_to_1e_10_on_an_irregular_mesh() {
    // Irons & Razzaque 1972: the patch test. Straight-sided elements, so that
    // the field lies in the element's own space.
    let mapped = irregular(3);
    let corners = mapped.points[..mapped.corners].to_vec();
    let triangles: Vec<[usize; 3]> = mapped
        .triangles
        .iter()
        .map(|t| [t[0], t[1], t[2]])
        .collect();
    let plan = platewright::strength::mesh::Plan::new(corners, &triangles, |_, _| None);
    let mut s = solid(&plan, 9.0, 2, STEEL);
    let field = |p: [f64; 3]| {
        [
            1e-3 * (p[0] + 0.5 * p[1] - 0.2 * p[2]),
            1e-3 * (0.3 * p[0] - 0.7 * p[1] + 0.1 * p[2]),
            1e-3 * (-0.4 * p[0] + 0.2 * p[1] + 0.6 * p[2]),
        ]
    };
    let on_skin = |p: [f64; 3]| {
        p[2] < 1e-9
            || p[2] > 9.0 - 1e-9
            || p[0] < 1e-9
            || p[0] > 30.0 - 1e-9
            || p[1] < 1e-9
            || p[1] > 20.0 - 1e-9
    };
    s.holds = s
        .nodes
        .iter()
        .enumerate()
        .filter(|(_, p)| on_skin(**p))
        .flat_map(|(node, p)| {
            let u = field(*p);
            (0..3).map(move |direction| Hold {
                node,
                direction,
                value_mm: u[direction],
            })
        })
        .collect();
    let free = 3 * s.nodes.len() - s.holds.len();
    assert!(free > 30, "the patch has inner nodes to get wrong");
    let system = System::new(&s, 1, &mut Silent).expect("held");
    let u = system
        .solve(&[vec![0.0; s.full_size()]])
        .expect("solved")
        .remove(0);
    let mut worst = 0.0_f64;
    for (n, p) in s.nodes.iter().enumerate() {
        for (d, want) in field(*p).iter().enumerate() {
            worst = worst.max((u[3 * n + d] - want).abs() / 0.03);
        }
    }
    assert!(worst < 1e-10, "worst relative displacement error {worst:e}");
    let stresses = recover(&s, &system.rules, std::slice::from_ref(&u)).remove(0);
    let first = stresses.nodes[0];
    for t in &stresses.nodes {
        for (a, b) in t.iter().zip(first) {
            assert!(
                (a - b).abs() < 1e-10 * 210.0,
                "stress is one and the same everywhere"
            );
        }
    }
    assert!(stresses.relative_error(|_| true) < 1e-10);
}

#[test]
fn a_free_body_has_exactly_six_modes_at_zero() {
    let s = solid(&irregular(3), 6.0, 1, STEEL);
    let elastic = 1e10;
    let found = free_modes(&s, 8, 1e-3 * elastic);
    for m in &found[..6] {
        assert!(
            m.eigenvalue.abs() < 1e-8 * found[6].eigenvalue,
            "rigid mode at {} against {}",
            m.eigenvalue,
            found[6].eigenvalue
        );
    }
    assert!(found[6].eigenvalue > 1e6);
}

#[test]
fn mass_sums_to_the_closed_form() {
    // Straight sides: to rounding. A ring on second-order arcs: to the arcs' own error.
    let s = solid(&irregular(2), 6.0, 2, STEEL);
    let rules = platewright::strength::element::Rules::new();
    let total = |s: &platewright::strength::Structure| {
        let mass = Mass::new(s, &rules);
        let x = translation(s, [1.0, 0.0, 0.0]);
        let mx = mass.apply(&x);
        x.iter().zip(&mx).map(|(a, b)| a * b).sum::<f64>()
    };
    within("block mass", total(&s), 30.0 * 20.0 * 6.0 * 7.85e-9, 1e-12);
    let ring = grid(2, 16, Cut::Crossed, |u, v| {
        let (r, a) = (10.0 + 20.0 * u, FRAC_PI_2 * v);
        Point::new(r * a.cos(), r * a.sin())
    });
    let s = solid(&ring, 5.0, 1, STEEL);
    let exact = std::f64::consts::PI / 4.0 * 800.0 * 5.0 * 7.85e-9;
    within("ring mass", total(&s), exact, 1e-6);
}

#[test]
fn reactions_balance_the_loads_to_1e_9() {
    let mut s = solid(&irregular(3), 6.0, 1, STEEL);
    hold(&mut s, &[0, 1, 2], |p| p[0] < 1e-9);
    let system = System::new(&s, 1, &mut Silent).expect("held");
    let mass = Mass::new(&s, &system.rules);
    let pull = traction(&s, |p| p[0] > 30.0 - 1e-9, &|_, _| [3.0, -2.0, 1.0]);
    let weight = mass.apply(&translation(&s, [0.0, -GRAVITY_MM_S2, 0.0]));
    let load: Vec<f64> = pull.iter().zip(&weight).map(|(a, b)| a + b).collect();
    let u = system
        .solve(std::slice::from_ref(&load))
        .expect("solved")
        .remove(0);
    let r = system
        .reactions(std::slice::from_ref(&u), std::slice::from_ref(&load))
        .remove(0);
    for d in 0..3 {
        let up: f64 = r.chunks(3).map(|f| f[d]).sum();
        let down: f64 = load.chunks(3).map(|f| f[d]).sum();
        assert!(
            (up + down).abs() < 1e-9 * 360.0,
            "direction {d}: {up} against {down}"
        );
    }
    // Moments about the origin.
    let turn = |f: &[f64]| {
        let mut m = [0.0; 3];
        for (p, f) in s.nodes.iter().zip(f.chunks(3)) {
            m[0] += p[1] * f[2] - p[2] * f[1];
            m[1] += p[2] * f[0] - p[0] * f[2];
            m[2] += p[0] * f[1] - p[1] * f[0];
        }
        m
    };
    let (mr, ml) = (turn(&r), turn(&load));
    for d in 0..3 {
        assert!((mr[d] + ml[d]).abs() < 1e-9 * 360.0 * 30.0);
    }
}

#[test]
fn energy_error_falls_with_the_square_of_the_edge_in_a_pressed_cylinder() {
    // Lamé's thick cylinder in plane strain, inner pressure p, radii a < b:
    // u_r = (1+ν) p a² / (E (b²−a²)) ((1−2ν) r + b²/r)  (Timoshenko & Goodier, art. 28).
    let (a, b, p, depth) = (10.0_f64, 20.0, 100.0, 5.0);
    let (e, nu) = (STEEL.young_mpa, STEEL.poisson);
    let radial =
        (1.0 + nu) * p * a * a / (e * (b * b - a * a)) * ((1.0 - 2.0 * nu) * a + b * b / a);
    // Energy: half of the pressure's work on a quarter.
    let exact = 0.5 * p * radial * a * FRAC_PI_2 * depth;
    let mut errors = Vec::new();
    for n in [2_usize, 4, 8] {
        let plan = grid(n, 2 * n, Cut::Crossed, |u, v| {
            let (r, t) = (a + (b - a) * u, FRAC_PI_2 * v);
            Point::new(r * t.cos(), r * t.sin())
        });
        let mut s = solid(&plan, depth, 1, STEEL);
        hold(&mut s, &[2], |_| true);
        hold(&mut s, &[0], |q| q[0].abs() < 1e-9);
        hold(&mut s, &[1], |q| q[1].abs() < 1e-9);
        let on_bore = |q: [f64; 3]| (q[0].hypot(q[1]) - a).abs() < 1e-9;
        let load = traction(&s, on_bore, &|_, n| n.map(|c| -p * c));
        let system = System::new(&s, 1, &mut Silent).expect("held");
        let u = system
            .solve(std::slice::from_ref(&load))
            .expect("solved")
            .remove(0);
        let energy: f64 = 0.5 * u.iter().zip(&load).map(|(x, y)| x * y).sum::<f64>();
        // Energy converges from below with the square of the energy norm's error.
        errors.push((1.0 - energy / exact).abs().sqrt());
        let inner = crate::setup::node_at(&s, [a, 0.0, 0.0]);
        if n == 8 {
            within("bore radius growth", u[3 * inner], radial, 2e-4);
        }
    }
    for pair in errors.windows(2) {
        let order = (pair[0] / pair[1]).log2();
        assert!(order > 1.8, "order {order}, promised 2");
    }
}

#[test]
fn the_same_structure_gives_the_same_bits_twice() {
    let run = || {
        let mut s = solid(&irregular(4), 6.0, 1, STEEL);
        hold(&mut s, &[0, 1, 2], |p| p[0] < 1e-9);
        modes(&s, 4)
    };
    assert_eq!(run(), run());
}
