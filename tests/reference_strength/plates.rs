//! Square and round plates under pressure (Timoshenko & Woinowsky-Krieger, *Theory of Plates and Shells*).

use std::f64::consts::FRAC_PI_2;

use platewright::geom::Point;
use platewright::strength::Structure;

use crate::setup::{Cut, STEEL, grid, hold, node_at, solid, statics, traction, within};

/// A quarter of the square plate of side 300 mm, thickness 6 mm, its middle at the origin.
fn quarter(n: usize) -> Structure {
    // Crowded to the edge, where the clamped plate bends most.
    let plan = grid(n, n, Cut::Crossed, |u, v| {
        let f = |x: f64| 150.0 * x * (1.4 - 0.4 * x);
        Point::new(f(u), f(v))
    });
    let mut s = solid(&plan, 6.0, 1, STEEL);
    hold(&mut s, &[0], |p| p[0] < 1e-9);
    hold(&mut s, &[1], |p| p[1] < 1e-9);
    s
}

fn edge(p: [f64; 3], k: usize) -> bool {
    p[k] > 150.0 - 1e-9
}

fn pressed(s: &Structure) -> Vec<f64> {
    traction(s, |p| p[2] > 6.0 - 1e-9, &|_, _| [0.0, 0.0, -0.02])
}

#[test]
fn a_simply_supported_square_plate_sags_as_navier_says() {
    // α = w D/qa⁴ = 0.00406235 (table 8: 0.00406) → 0.158432 mm, 1 %;
    // σ = 6 · 0.0478864 q a²/t² = 14.3659 MPa, 2 %.
    let mut s = quarter(8);
    hold(&mut s, &[1, 2], |p| edge(p, 0));
    hold(&mut s, &[0, 2], |p| edge(p, 1));
    let (u, stress) = statics(&s, &pressed(&s));
    let (low, mid) = (node_at(&s, [0.0; 3]), node_at(&s, [0.0, 0.0, 3.0]));
    within("sag at the middle", -u[3 * mid + 2], 0.158432, 0.01);
    within("stress at the middle", stress.nodes[low][0], 14.3659, 0.02);
}

#[test]
fn a_clamped_square_plate_sags_as_the_converged_series_says() {
    // α = 0.00126532 (table 35: 0.00126) → 0.0493474 mm, 1 %; mid-edge 15.399 MPa, 3 %
    // (M = 0.05133 qa²; the book's 0.0513).
    let mut s = quarter(10);
    hold(&mut s, &[0, 1, 2], |p| edge(p, 0) || edge(p, 1));
    let (u, stress) = statics(&s, &pressed(&s));
    let mid = node_at(&s, [0.0, 0.0, 3.0]);
    within("sag at the middle", -u[3 * mid + 2], 0.0493474, 0.01);
    // The clamp's corner line is singular in three dimensions; the plate stress is read one
    // thickness inside and carried to the edge along the plate's own moment.
    let inside = node_at(&s, [150.0 - 6.0, 0.0, 0.0]);
    let x = s.nodes[inside][0];
    let gradient = clamped_moment_share(x / 150.0);
    within(
        "stress near mid-edge",
        -stress.nodes[inside][0],
        15.399 * gradient,
        0.03,
    );
}

/// Moment Mx along the middle line of the clamped square plate as a share of the edge's, at ξ = 2x/a near 1.
///
/// From equilibrium at mid-edge: dM/dx = V with the edge reaction V = 0.441 qa (Timoshenko & Woinowsky-Krieger,
/// art. 44, table 35 series), and −d²M/dx² ≈ q near the edge: M(s) = 0.05133 qa² − 0.441 qa s + q s²/2.
fn clamped_moment_share(xi: f64) -> f64 {
    let s = 0.5 * (1.0 - xi);
    1.0 - (0.441 * s - 0.5 * s * s) / 0.05133
}

#[test]
fn a_clamped_round_plate_sags_as_its_closed_form_says() {
    // w = qa⁴/64D = 0.0380859 mm, 1 %; σ at the middle (1+ν) qa²/16 → 6.09375 MPa, 2 %.
    let plan = grid(12, 6, Cut::Crossed, |u, v| {
        let r = 150.0 * u * (1.7 - 0.7 * u);
        // A square middle would need a second patch; the degenerate centre is opened by a small bore
        // of 0.2 mm, which the plate's sag does not notice.
        let r = r.max(0.0) * (1.0 - 0.2 / 150.0) + 0.2;
        let t = FRAC_PI_2 * v;
        Point::new(r * t.cos(), r * t.sin())
    });
    let mut s = solid(&plan, 6.0, 1, STEEL);
    hold(&mut s, &[0], |p| p[0].abs() < 1e-9);
    hold(&mut s, &[1], |p| p[1].abs() < 1e-9);
    hold(&mut s, &[0, 1, 2], |p| p[0].hypot(p[1]) > 150.0 - 1e-6);
    let (u, stress) = statics(&s, &pressed(&s));
    let mid = node_at(&s, [0.2, 0.0, 3.0]);
    within("sag at the middle", -u[3 * mid + 2], 0.0380859, 0.01);
    // Away from the bore: σ_r = 3q/8t² ((1+ν)a² − (3+ν)r²).
    let p = node_at(&s, [60.0, 0.0, 0.0]);
    let r = s.nodes[p][0];
    let want = 3.0 * 0.02 / (8.0 * 36.0) * (1.3 * 22500.0 - 3.3 * r * r);
    within("radial stress inside", stress.nodes[p][0], want, 0.02);
}
