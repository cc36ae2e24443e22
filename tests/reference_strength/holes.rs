//! Stress round a hole, on the product's own plate meshes.

use platewright::feature::{Depth, Feature, Hole, Purpose, Shape};
use platewright::geom::{Frame, Path, Point};
use platewright::plate::Plate;
use platewright::strength::Structure;
use platewright::strength::mesh::{MeshOptions, mesh_plate};

use crate::setup::{STEEL, hold, node_at, statics, traction, within};

/// A strip of the given half width and half length with a hole of radius 10 in the middle.
///
/// Half of a sheet 2 mm thick, thin enough for plane stress.
///
/// The whole strip is meshed by the product's own mesher and pulled at both ends.
fn strip(half_length: f64, half_width: f64, options: &MeshOptions) -> Structure {
    let corners = [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)]
        .map(|(x, y)| Point::new(x * half_length, y * half_width));
    let plate = Plate {
        id: "strip".into(),
        title: "Strip with a hole".into(),
        frame: Frame::FRONT,
        thickness_mm: 1.0,
        material: "steel".into(),
        density_kg_m3: 7850.0,
        outline: Path::polygon(&corners),
        features: vec![Feature {
            id: "hole".into(),
            variants: std::sync::Arc::default(),
            shape: Shape::Hole(Hole {
                centre: Point::ORIGIN,
                diameter_mm: 20.0,
                depth: Depth::Through,
                mouth: None,
                purpose: Purpose::Plain,
            }),
        }],
    };
    let mesh = mesh_plate(&plate, &[], options, &[]).expect("a mesh");
    assert!(mesh.quality.least_jacobian > 0.2 && mesh.quality.least_angle_deg > 20.0);
    let mut s = Structure::default();
    s.add_part("strip", &mesh.wedges, &plate.frame, STEEL);
    hold(&mut s, &[2], |p| p[2] < 1e-9);
    hold(&mut s, &[0], |p| p[0] < -half_length + 1e-9);
    hold(&mut s, &[1], |p| {
        p[0] < -half_length + 1e-9 && p[1] < -half_width + 1e-9
    });
    s
}

fn pulled(s: &Structure, half_length: f64) -> Vec<f64> {
    traction(s, |p| p[0] > half_length - 1e-9, &|_, _| [100.0, 0.0, 0.0])
}

/// The product's own first mesh, one layer: a sheet has nothing to tell through its thickness.
fn product() -> MeshOptions {
    MeshOptions {
        layers: 1,
        ..MeshOptions::default()
    }
}

/// Stress along the pull at the hole's edge, over the pull.
fn concentration(s: &Structure, half_length: f64) -> f64 {
    let (_, stress) = statics(s, &pulled(s, half_length));
    let top = node_at(s, [0.0, 10.0, 0.0]);
    stress.nodes[top][0] / 100.0
}

#[test]
fn kirsch_stress_falls_off_as_the_closed_form_says() {
    // σθ(r) = S/2 (2 + a²/r² + 3a⁴/r⁴) on the axis across the pull (Kirsch 1898), 3 %;
    // half width 15 radii: the finite-width factor is 1.005 (Howland).
    let s = strip(150.0, 150.0, &product());
    let (_, stress) = statics(&s, &pulled(&s, 150.0));
    for (over, want) in [(1.0, 3.0), (1.5, 1.518519), (2.0, 1.21875), (3.0, 1.074074)] {
        let n = node_at(&s, [0.0, 10.0 * over, 0.0]);
        let p = s.nodes[n];
        let r = p[0].hypot(p[1]) / 10.0;
        let turn = p[0].atan2(p[1]);
        // The nearest node may lie a little off the axis: Kirsch's σθ at its own place, from the
        // formula that gives the tabled values on the axis.
        let hoop_of = |r: f64, turn: f64| {
            0.5 * (1.0 + r.powi(-2) + (1.0 + 3.0 * r.powi(-4)) * (2.0 * turn).cos())
        };
        assert!((hoop_of(over, 0.0) - want).abs() < 1e-6);
        let exact = hoop_of(r, turn);
        let (sin, cos) = turn.sin_cos();
        let t = stress.nodes[n];
        let hoop = t[0] * cos * cos + t[1] * sin * sin - 2.0 * t[3] * sin * cos;
        within("Kirsch hoop stress", hoop / 100.0, exact, 0.03);
    }
}

#[test]
fn a_hole_of_a_fifth_of_the_width_triples_the_stress_and_more() {
    // Howland 1930: Ktg 3.14 at d/W = 0.2; own nine-node elements 3.1523; 3 %.
    let s = strip(250.0, 50.0, &product());
    // The table prints 3.14, which is not π.
    within(
        "Ktg at d/W 0.2",
        concentration(&s, 250.0),
        314.0 / 100.0,
        0.03,
    );
}

#[test]
fn a_hole_of_half_the_width_more_than_quadruples_the_gross_stress() {
    // Howland 1930: Ktg 4.32 at d/W = 0.5; Heywood's net factor 2.125 → 4.25; 3 %.
    let s = strip(100.0, 20.0, &product());
    within("Ktg at d/W 0.5", concentration(&s, 100.0), 4.32, 0.03);
}
