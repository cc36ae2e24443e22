//! Hidden lines of simple solids against what geometry says of them.

use super::*;
use crate::solid::{self, mesh};

fn block(x: (f64, f64), y: (f64, f64), z: (f64, f64)) -> TriMesh {
    let at = Point::new;
    let path =
        crate::geom::Path::polygon(&[at(x.0, y.0), at(x.1, y.0), at(x.1, y.1), at(x.0, y.1)]);
    let body = solid::prism("block", &path, z.0, z.1).expect("a block");
    mesh::of_body(&body, 0.1).expect("a mesh")
}

fn length(chains: &[Chain]) -> f64 {
    chains
        .iter()
        .flat_map(|c| c.points.windows(2).map(|w| w[0].distance(w[1])))
        .sum()
}

#[test]
fn a_cube_shows_nine_of_its_twelve_edges() {
    // Isometric (ISO 5456-3): every edge is shortened to the square root of two thirds.
    let eye = Eye::new(45.0, 0.5_f64.sqrt().atan().to_degrees());
    let scene = Scene::new(&[block((0.0, 10.0), (0.0, 10.0), (0.0, 10.0))], eye);
    let seen = length(&scene.lines());
    assert!(
        (seen - 90.0 * (2.0_f64 / 3.0).sqrt()).abs() < 1e-6,
        "{seen}"
    );
}

#[test]
fn a_block_in_front_hides_what_lies_behind_it_to_the_micrometre() {
    let eye = Eye::new(0.0, 0.0);
    let behind = block((0.0, 100.0), (0.0, 10.0), (0.0, 1.0));
    let front = block((30.0, 50.0), (-5.0, 20.0), (5.0, 6.0));
    let scene = Scene::new(&[behind, front], eye);
    let lines = scene.lines();
    let of = |k: usize| {
        let own: Vec<Chain> = lines
            .iter()
            .filter(|c| c.solid == Some(k))
            .cloned()
            .collect();
        length(&own)
    };
    // Two long sides of the face, each less the 20 mm hidden, and two short ones.
    assert!((of(0) - 180.0).abs() < 1e-6, "{}", of(0));
    assert!((of(1) - 90.0).abs() < 1e-6, "{}", of(1));
    assert!(
        scene
            .wire(Point3::new(40.0, 5.0, -10.0), Point3::new(40.0, 5.0, 3.0))
            .is_empty()
    );
}

#[test]
fn a_cylinder_seen_from_the_side_is_a_rectangle() {
    let body = solid::cylinder("rod", 10.0, 0.0, 40.0).expect("a rod");
    let rod = mesh::of_body(&body, 0.005).expect("a mesh");
    let eye = Eye::new(90.0, 0.0);
    let e = Scene::new(&[rod], eye).extents().expect("something");
    assert!((e.width() - 40.0).abs() < 1e-9 && (e.height() - 10.0).abs() < 0.02);
}

#[test]
fn a_place_on_a_solid_is_on_what_is_seen_of_it() {
    let eye = Eye::new(0.0, 0.0);
    let behind = block((0.0, 100.0), (0.0, 10.0), (0.0, 1.0));
    let front = block((-5.0, 60.0), (-5.0, 20.0), (5.0, 6.0));
    let scene = Scene::new(&[behind.clone(), front], eye);
    if let Some((_, p)) = scene.place_on(0) {
        assert!(p.x > 60.0, "{p:?}");
    }
    let hidden = Scene::new(
        &[behind, block((-5.0, 120.0), (-5.0, 20.0), (5.0, 6.0))],
        eye,
    );
    assert!(hidden.place_on(0).is_none());
}
