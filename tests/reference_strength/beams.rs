//! A cantilever of rectangular section against beam theory.

use platewright::geom::Point;

use crate::setup::{Cut, STEEL, grid, hold, modes, node_at, solid, statics, traction, within};

/// L 200, b 40, h 8 mm.
fn cantilever(nx: usize, ny: usize, layers: usize) -> platewright::strength::Structure {
    let plan = grid(nx, ny, Cut::Crossed, |u, v| Point::new(200.0 * u, 40.0 * v));
    let mut s = solid(&plan, 8.0, layers, STEEL);
    hold(&mut s, &[0, 1, 2], |p| p[0] < 1e-9);
    s
}

#[test]
fn a_cantilever_bends_as_timoshenko_says() {
    // F L³/3EI + F L/κGA with κ 5/6: 0.744976 mm for 100 N, 0.5 %. Beam theory lets the root
    // section contract and curl freely, so only its axial motion is held; the root shear acts as
    // a traction like the tip's, and one point takes out the rigid motion.
    let plan = grid(24, 4, Cut::Crossed, |u, v| Point::new(200.0 * u, 40.0 * v));
    let mut s = solid(&plan, 8.0, 2, STEEL);
    hold(&mut s, &[0], |p| p[0] < 1e-9);
    hold(&mut s, &[1, 2], |p| {
        p[0] < 1e-9 && (p[1] - 20.0).abs() < 1e-9 && (p[2] - 4.0).abs() < 1e-9
    });
    hold(&mut s, &[1], |p| p[0] < 1e-9 && (p[1] - 20.0).abs() < 1e-9);
    let ends = |p: [f64; 3]| p[0] < 1e-9 || p[0] > 200.0 - 1e-9;
    let load = traction(&s, ends, &|p, _| {
        [0.0, 0.0, 100.0 / 320.0 * (p[0] - 100.0).signum()]
    });
    let (u, stress) = statics(&s, &load);
    let tip = node_at(&s, [200.0, 20.0, 4.0]);
    within("tip deflection", u[3 * tip + 2], 0.744976, 0.005);
    // 6 F (L − x)/(b h²) at x = 100 mm, far from root and tip: 23.4375 MPa, 1 %.
    let mid = node_at(&s, [100.0, 20.0, 0.0]);
    within(
        "bending stress at mid length",
        stress.nodes[mid][0],
        46.875 / 2.0,
        0.01,
    );
}

#[test]
fn a_cantilever_rings_as_euler_bernoulli_says() {
    // (βL)² √(EI/ρAL⁴)/2π with βL 1.8751, 4.6941, 7.8548: 167.103, 1047.22, 2932.24 Hz in the thin
    // direction; tolerance 2 % (plate action and shear in a 40 mm wide strip).
    let s = cantilever(20, 3, 1);
    let found = modes(&s, 8);
    let hz: Vec<f64> = found
        .iter()
        .map(platewright::strength::modes::Mode::hz)
        .collect();
    for want in [167.103, 1047.22, 2932.24] {
        let best = hz
            .iter()
            .copied()
            .min_by(|a, b| (a - want).abs().total_cmp(&(b - want).abs()))
            .expect("modes");
        within("bending mode", best, want, 0.02);
    }
    // The stiff direction, Euler-Bernoulli 40/8 = 5 times the first: 835.5 Hz, shear lowers it.
    let sideways = hz.iter().any(|f| (f / 835.5 - 1.0).abs() < 0.04);
    assert!(sideways, "a mode in the stiff direction among {hz:?}");
}

#[test]
fn a_cantilever_with_a_tip_mass_rings_as_the_exact_beam_says() {
    // Exact Euler-Bernoulli beam with a point mass of 2 kg: 40.0861 Hz (massless beam 41.2577,
    // Rayleigh 33/140 40.0879); 2 % for the clamp of a 40 mm wide strip. The mass is a rigid body
    // tied to the end face by exact elimination.
    let mut s = cantilever(20, 3, 1);
    let body = s.add_body(platewright::strength::RigidBody {
        mass_t: 2e-3,
        ..platewright::strength::RigidBody::massless("mass", [200.0, 20.0, 4.0])
    });
    for n in 0..s.nodes.len() {
        if s.nodes[n][0] > 200.0 - 1e-9 {
            s.tied[n] = Some(body);
        }
    }
    within("tip mass", modes(&s, 1)[0].hz(), 40.0861, 0.02);
}
