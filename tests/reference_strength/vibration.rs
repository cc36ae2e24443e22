//! Natural frequencies of square plates: NAFEMS FV12, FV16, FV52 and converged plate theory (Leissa's cases).

use platewright::geom::Point;
use platewright::strength::modes::Mode;
use platewright::strength::{Elastic, Structure};

use crate::setup::{Cut, free_modes, grid, hold, modes, solid, within};

/// NAFEMS R0015 plates: a 10 m, E 200 GPa, ν 0.3, 8000 kg/m³.
const NAFEMS: Elastic = Elastic {
    young_mpa: 200_000.0,
    poisson: 0.3,
    density_t_mm3: 8e-9,
};

/// 6061-T6: E 68 900 MPa, ν 0.33, 2700 kg/m³.
const ALUMINIUM: Elastic = Elastic {
    young_mpa: 68_900.0,
    poisson: 0.33,
    density_t_mm3: 2.7e-9,
};

fn square(
    side: f64,
    thickness: f64,
    n: usize,
    layers: usize,
    material: Elastic,
    crowd: f64,
) -> Structure {
    // Crowded to the edge x = 0, where the cantilevers are clamped: the anticlastic bending of a plate
    // ends there within about one thickness.
    let plan = grid(n, n, Cut::Crossed, |u, v| {
        Point::new(side * u * (crowd + (1.0 - crowd) * u), side * v)
    });
    solid(&plan, thickness, layers, material)
}

fn compare(what: &str, found: &[Mode], want: &[f64], share: f64) {
    for (k, (m, hz)) in found.iter().zip(want).enumerate() {
        within(&format!("{what}, {}", k + 1), m.hz(), *hz, share);
    }
    assert!(found.len() >= want.len());
}

#[test]
fn fv12_free_thin_square_plate() {
    // FV12: u_x = u_y = θ_z = 0 everywhere, three rigid modes, then published
    // 1.622 2.360 2.922 4.233 4.233 7.416 Hz; 2 % to those, and 1 % to the
    // converged Kirchhoff column 1.62165 2.35949 2.92228 4.19024 4.19024 7.35600
    // (the published 4.233 and 7.416 lie 1 % and 0.8 % above it). A solid plate
    // must bend through u_x, u_y, so it is free: six rigid modes.
    let s = square(10_000.0, 50.0, 14, 1, NAFEMS, 1.0);
    let found = free_modes(&s, 12, 10.0);
    for m in &found[..6] {
        assert!(
            m.eigenvalue.abs() < 1e-5 * found[6].eigenvalue,
            "{}",
            m.eigenvalue
        );
    }
    let converged = [1.62165, 2.35949, 2.92228, 4.19024, 4.19024, 7.35600];
    compare("FV12 converged", &found[6..], &converged, 0.01);
    let published = [1.622, 2.360, 2.922, 4.233, 4.233, 7.416];
    compare("FV12 published", &found[6..], &published, 0.02);
}

#[test]
fn fv16_thin_square_cantilever() {
    // Published 0.421 1.029 2.582 3.306 3.753 6.555 Hz (2 %), converged
    // 0.41793 1.02422 2.56276 3.27490 3.72719 6.52423 (1 %).
    let mut s = square(10_000.0, 50.0, 20, 1, NAFEMS, 0.25);
    hold(&mut s, &[0, 1, 2], |p| p[0] < 1e-6);
    let found = modes(&s, 6);
    let converged = [0.41793, 1.02422, 2.56276, 3.27490, 3.72719, 6.52423];
    compare("FV16 converged", &found, &converged, 0.01);
    compare(
        "FV16 published",
        &found,
        &[0.421, 1.029, 2.582, 3.306, 3.753, 6.555],
        0.02,
    );
}

#[test]
fn fv52_thick_square_plate_on_a_line_support() {
    // u_z = 0 along the four edges of the lower face, three rigid modes; published
    // 45.897, 109.44 ×2, 167.89 (bending), 193.59, 206.19 ×2 Hz (membrane; converged 193.584,
    // 206.182 ×2). A line support is not mesh-convergent in a solid (own 27-node hexahedra:
    // 44.671 110.00 166.21 on 4×4×1, 43.653 105.30 157.90 on 8×8×2), so the check is on a mesh
    // between the two: 5 % for the bending modes, 1 % for the membrane modes.
    let mut s = square(10_000.0, 1000.0, 6, 1, NAFEMS, 1.0);
    let on_edge = |p: [f64; 3]| {
        p[0] < 1e-6 || p[0] > 10_000.0 - 1e-6 || p[1] < 1e-6 || p[1] > 10_000.0 - 1e-6
    };
    hold(&mut s, &[2], |p| p[2] < 1e-6 && on_edge(p));
    let found = free_modes(&s, 12, 1e4);
    for m in &found[..3] {
        assert!(m.eigenvalue.abs() < 1e-6 * found[3].eigenvalue);
    }
    compare(
        "FV52 bending",
        &found[3..7],
        &[45.897, 109.44, 109.44, 167.89],
        0.05,
    );
    // Membrane modes move the plate in its plane; bending modes above 167 Hz lie among them.
    let system_nodes = s.nodes.len();
    let in_plane: Vec<Mode> = found[7..]
        .iter()
        .filter(|m| {
            let r = platewright::strength::reduction::Reduction::new(&s).expect("numbered");
            let u = r.expand(&s, &m.shape, false);
            let (mut flat, mut up) = (0.0, 0.0);
            for n in 0..system_nodes {
                flat += u[3 * n].powi(2) + u[3 * n + 1].powi(2);
                up += u[3 * n + 2].powi(2);
            }
            flat > up
        })
        .cloned()
        .collect();
    compare(
        "FV52 membrane",
        &in_plane,
        &[193.584, 206.182, 206.182],
        0.01,
    );
}

#[test]
fn a_cantilever_plate_of_6061_rings_at_its_converged_ritz_values() {
    // Leissa 1973 case CFFF at ν 0.33, converged Ritz λ 3.4607 8.3701 21.108 27.0769 30.5897, on a plate
    // thin enough for thin theory: a 200, h 2 mm, a quarter of the values at h 8 mm
    // (170.172, 411.585, 1037.94, 1331.44, 1504.19 Hz); 1 %.
    let mut s = square(200.0, 2.0, 16, 1, ALUMINIUM, 0.2);
    hold(&mut s, &[0, 1, 2], |p| p[0] < 1e-9);
    let thin = [170.172, 411.585, 1037.94, 1331.44, 1504.19].map(|hz| hz / 4.0);
    compare("CFFF thin", &modes(&s, 5), &thin, 0.01);
    // At h 8 mm shear and rotary inertia lower the higher ones; 1 % for the first, 2 % for all.
    let mut s = square(200.0, 8.0, 10, 1, ALUMINIUM, 0.3);
    hold(&mut s, &[0, 1, 2], |p| p[0] < 1e-9);
    let found = modes(&s, 5);
    let thick = [170.172, 411.585, 1037.94, 1331.44, 1504.19];
    compare("CFFF h 8, first", &found[..1], &thick[..1], 0.01);
    compare("CFFF h 8", &found, &thick, 0.02);
}

#[test]
fn a_simply_supported_plate_of_6061_rings_at_its_exact_value() {
    // λ = 2π²: 970.630 Hz thin; Mindlin at h/a 1/25 lies 0.75 % below; 1 %.
    let mut s = square(200.0, 8.0, 12, 1, ALUMINIUM, 1.0);
    hold(&mut s, &[1, 2], |p| p[0] < 1e-9 || p[0] > 200.0 - 1e-9);
    hold(&mut s, &[0, 2], |p| p[1] < 1e-9 || p[1] > 200.0 - 1e-9);
    compare("SSSS", &modes(&s, 1), &[970.630], 0.01);
}
