//! Our plates' volumes against solids that truck-modeling's own builders sweep and truck-meshalgo measures.

use platewright::feature::{Depth, Feature, Hole, Purpose, Shape};
use platewright::geom::{Frame, Path, Point};
use platewright::plate::Plate;
use platewright::solid;
use truck_meshalgo::prelude::*;
use truck_modeling::{Point3, Rad, Solid, Vector3, Vertex, Wire, builder};

/// Chord tolerance of truck's triangulation, mm; its volume error is of that order times the walls' area.
const CHORD_MM: f64 = 0.005;

/// Relative agreement asked for: what the chord tolerance leaves of a hole's area.
const SHARE: f64 = 2e-4;

fn plate(width: f64, height: f64, thickness: f64, holes: &[(f64, f64, f64)]) -> Plate {
    Plate {
        id: "check".to_owned(),
        title: String::new(),
        frame: Frame::FRONT,
        thickness_mm: thickness,
        material: "EN AW-6061-T6".to_owned(),
        density_kg_m3: 2700.0,
        outline: Path::polygon(&[
            Point::new(0.0, 0.0),
            Point::new(width, 0.0),
            Point::new(width, height),
            Point::new(0.0, height),
        ]),
        features: holes
            .iter()
            .enumerate()
            .map(|(i, &(x, y, diameter_mm))| Feature {
                id: format!("h{i}"),
                variants: std::sync::Arc::default(),
                shape: Shape::Hole(Hole {
                    centre: Point::new(x, y),
                    diameter_mm,
                    depth: Depth::Through,
                    mouth: None,
                    purpose: Purpose::Plain,
                }),
            })
            .collect(),
    }
}

fn swept(width: f64, height: f64, thickness: f64, holes: &[(f64, f64, f64)]) -> Solid {
    let corner = |x, y| builder::vertex(Point3::new(x, y, 0.0));
    let v: Vec<Vertex> = vec![
        corner(0.0, 0.0),
        corner(width, 0.0),
        corner(width, height),
        corner(0.0, height),
    ];
    let outer: Wire = (0..4)
        .map(|i| builder::line(&v[i], &v[(i + 1) % 4]))
        .collect();
    let mut wires = vec![outer];
    for &(x, y, diameter) in holes {
        let start = builder::vertex(Point3::new(x + 0.5 * diameter, y, 0.0));
        let circle: Wire =
            builder::rsweep(&start, Point3::new(x, y, 0.0), Vector3::unit_z(), Rad(7.0));
        // An opening runs the other way round: truck takes either without a word.
        wires.push(circle.inverse());
    }
    let face = builder::try_attach_plane(&wires).expect("wires in one plane");
    builder::tsweep(&face, Vector3::unit_z() * thickness)
}

#[test]
fn a_plate_with_holes_has_the_volume_of_the_swept_solid() {
    type Holes<'a> = &'a [(f64, f64, f64)];
    let cases: [(f64, f64, f64, Holes<'_>); 3] = [
        (80.0, 50.0, 12.0, &[]),
        (80.0, 50.0, 12.0, &[(20.0, 25.0, 11.0)]),
        (
            120.0,
            70.0,
            15.0,
            &[(20.0, 20.0, 11.0), (95.0, 45.0, 17.5), (55.0, 35.0, 30.0)],
        ),
    ];
    for (width, height, thickness, holes) in cases {
        let ours = solid::from_plate(&plate(width, height, thickness, holes))
            .expect("a sound plate")
            .volume_mm3();
        let mesh = swept(width, height, thickness, holes)
            .triangulation(CHORD_MM)
            .to_polygon();
        let theirs = mesh.volume().abs();
        assert!(
            (ours / theirs - 1.0).abs() < SHARE,
            "{} holes: {ours} against {theirs}",
            holes.len()
        );
    }
}
