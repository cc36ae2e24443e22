//! NAFEMS linear elastic benchmarks LE1, LE10 (The Standard NAFEMS Benchmarks, TNSB rev. 3), read in quotation; Cook's membrane.

use std::f64::consts::FRAC_PI_2;

use platewright::geom::Point;
use platewright::strength::mesh::Plan;
use platewright::strength::{Elastic, Structure};

use crate::setup::{Cut, grid, hold, node_at, solid, statics, traction, within};

/// E 210 GPa, ν 0.3, in mm and MPa.
const MATERIAL: Elastic = Elastic {
    young_mpa: 210_000.0,
    poisson: 0.3,
    density_t_mm3: 7.8e-9,
};

/// The quarter of LE1 and LE10 between the ellipses, mm: u from inner to outer, v from D–C to A–B.
///
/// Rays run between equal parameters of the two ellipses; `grade` < 1 crowds the grid to D.
fn quarter(nu: usize, nv: usize) -> Plan {
    grid(nu, nv, Cut::Crossed, |u, v| {
        let (u, v) = (u * (0.5 + 0.5 * u), v * (0.6 + 0.4 * v));
        let (s, c) = (FRAC_PI_2 * v).sin_cos();
        let inner = (2000.0 * c, 1000.0 * s);
        let outer = (3250.0 * c, 2750.0 * s);
        Point::new(
            inner.0 + u * (outer.0 - inner.0),
            inner.1 + u * (outer.1 - inner.1),
        )
    })
}

fn on_outer(p: [f64; 3]) -> bool {
    ((p[0] / 3250.0).powi(2) + (p[1] / 2750.0).powi(2) - 1.0).abs() < 1e-9
}

#[test]
fn le1_elliptic_membrane_has_92_7_mpa_at_d() {
    // Plane stress, t = 0.1 m: the upper half of the thickness, free to thin. 10 MPa outward.
    let mut s = solid(&quarter(8, 12), 50.0, 1, MATERIAL);
    hold(&mut s, &[1], |p| p[1].abs() < 1e-6);
    hold(&mut s, &[0], |p| p[0].abs() < 1e-6);
    hold(&mut s, &[2], |p| p[2] < 1e-6);
    let load = traction(&s, on_outer, &|_, n| n.map(|c| 10.0 * c));
    let (_, stress) = statics(&s, &load);
    let d = node_at(&s, [2000.0, 0.0, 0.0]);
    within("LE1 σyy at D", stress.nodes[d][1], 92.7, 0.02);
}

fn le10(nu: usize, nv: usize, layers: usize) -> (Structure, Vec<f64>) {
    let mut s = solid(&quarter(nu, nv), 600.0, layers, MATERIAL);
    hold(&mut s, &[1], |p| p[1].abs() < 1e-6);
    hold(&mut s, &[0], |p| p[0].abs() < 1e-6);
    hold(&mut s, &[0, 1], on_outer);
    hold(&mut s, &[2], |p| on_outer(p) && (p[2] - 300.0).abs() < 1e-6);
    let load = traction(&s, |p| p[2] > 600.0 - 1e-6, &|_, _| [0.0, 0.0, -1.0]);
    (s, load)
}

#[test]
fn le10_thick_plate_has_minus_5_38_mpa_at_d_on_a_coarse_mesh() {
    // Tolerance 6 % coarse, 2 % fine (own 27-node hexahedra approach from below: −5.468 to −5.402).
    let (s, load) = le10(6, 9, 2);
    let total: f64 = load.chunks(3).map(|f| f[2]).sum();
    // π/4 (3.25·2.75 − 2·1) m² × 1 MPa, exact; ellipses on second-order edges.
    within("LE10 total load", total, -5.4487e6, 1e-4);
    let (_, stress) = statics(&s, &load);
    let d = node_at(&s, [2000.0, 0.0, 600.0]);
    within("LE10 σyy at D", stress.nodes[d][1], -5.38, 0.06);
}

#[test]
fn le10_thick_plate_has_minus_5_38_mpa_at_d_on_a_fine_mesh() {
    let (s, load) = le10(8, 12, 4);
    let (_, stress) = statics(&s, &load);
    let d = node_at(&s, [2000.0, 0.0, 600.0]);
    within("LE10 σyy at D", stress.nodes[d][1], -5.38, 0.02);
}

#[test]
fn cooks_membrane_rises_by_23_965() {
    // Cook 1974: plane stress, E 1, ν 1/3, unit shear in total; own nine-node elements 23.949 (16×16)
    // to 23.965 (64×64), literature 23.91 to 23.97; tolerance 1 %.
    let material = Elastic {
        young_mpa: 1.0,
        poisson: 1.0 / 3.0,
        density_t_mm3: 1.0,
    };
    let plan = grid(12, 12, Cut::Same, |u, v| {
        let low = 44.0 * u;
        let high = 44.0 + 16.0 * u;
        Point::new(48.0 * u, low + v * (high - low))
    });
    // Plane stress in three dimensions: a sheet so thin that it thins freely everywhere but at the clamp.
    let t = 0.5;
    let mut s = solid(&plan, t, 1, material);
    hold(&mut s, &[0, 1], |p| p[0] < 1e-9);
    hold(&mut s, &[2], |p| p[2] < 1e-9);
    let load = traction(&s, |p| p[0] > 48.0 - 1e-9, &|_, _| [0.0, 1.0 / 16.0, 0.0]);
    let (u, _) = statics(&s, &load);
    let tip = node_at(&s, [48.0, 52.0, 0.0]);
    within("Cook's tip rise", u[3 * tip + 1], 23.965, 0.01);
}
