//! The mesher on plates drawn at random: it never fails on sound metal, and its volume is the drawing's.

use platewright::feature::{
    Depth, Face, Feature, Floor, Hole, Mouth, Purpose, Shape, Slot, SlotTrack,
};
use platewright::geom::{Frame, Path, Point};
use platewright::plate::Plate;
use platewright::strength::mass::Mass;
use platewright::strength::mesh::plate::Ring;
use platewright::strength::mesh::{MeshOptions, PlateMesh, mesh_plate};
use platewright::strength::system::translation;
use platewright::strength::{Elastic, StrengthError, Structure, element::Rules};
use proptest::prelude::*;

/// Features on a grid of cells, so that metal stays between them.
fn feature(id: usize, kind: u8, centre: Point, size: f64, turn: f64) -> Feature {
    let hole = |depth, mouth| {
        Shape::Hole(Hole {
            centre,
            diameter_mm: size,
            depth,
            mouth,
            purpose: Purpose::Plain,
        })
    };
    let face = if id.is_multiple_of(2) {
        Face::Front
    } else {
        Face::Back
    };
    let along = centre.polar(0.4 * size, turn);
    let back = centre.polar(-0.4 * size, turn);
    let shape = match kind {
        0 => hole(Depth::Through, None),
        1 => hole(
            Depth::Through,
            Some(Mouth::Counterbore {
                diameter_mm: 1.6 * size,
                depth_mm: 4.0,
                face,
            }),
        ),
        2 => hole(
            Depth::Through,
            Some(Mouth::Countersink {
                diameter_mm: 1.5 * size,
                angle_deg: 90.0,
                face,
            }),
        ),
        3 => hole(
            Depth::Blind {
                depth_mm: 6.0,
                from: face,
                floor: Floor::DrillPoint,
            },
            None,
        ),
        4 => Shape::Slot(Slot {
            track: SlotTrack::Straight {
                from: back,
                to: along,
            },
            width_mm: 0.7 * size,
            thread: None,
        }),
        5 => Shape::Pocket {
            path: Path::slot(back, along, 0.5 * size),
            depth_mm: 3.0,
            face,
        },
        6 => Shape::Groove {
            centre,
            inner_mm: size,
            outer_mm: 1.4 * size,
            depth_mm: 2.0,
            face,
        },
        _ => Shape::Window(Path::polygon(
            &[0.0, 1.5, 3.1, 4.9].map(|a| centre.polar(0.6 * size, turn + a)),
        )),
    };
    Feature {
        id: format!("feature {id}"),
        variants: std::sync::Arc::default(),
        shape,
    }
}

fn plate(cells: &[(u8, f64, f64, f64, f64)], turn: f64) -> Plate {
    const CELL: f64 = 40.0;
    let columns = 3;
    let rows = cells.len().div_ceil(columns);
    let (w, h) = (columns as f64 * CELL, rows as f64 * CELL);
    let spin = |p: Point| {
        let v = p.to_vector().turned(turn);
        Point::new(v.x + 200.0, v.y - 70.0)
    };
    let features = cells
        .iter()
        .enumerate()
        .map(|(k, &(kind, dx, dy, size, angle))| {
            let cell = Point::new(
                (k % columns) as f64 * CELL + 0.5 * CELL + dx,
                (k / columns) as f64 * CELL + 0.5 * CELL + dy,
            );
            feature(k, kind, spin(cell), size, angle)
        })
        .collect();
    Plate {
        id: "random".into(),
        title: "Random".into(),
        frame: Frame::FRONT,
        thickness_mm: 12.0,
        material: "any".into(),
        density_kg_m3: 1000.0,
        outline: Path::slot(Point::new(0.0, 0.5 * h), Point::new(w, 0.5 * h), 0.5 * h)
            .mapped(spin, false),
        features,
    }
}

fn volume(mesh: &PlateMesh) -> f64 {
    let mut s = Structure::default();
    let material = Elastic {
        young_mpa: 1.0,
        poisson: 0.3,
        density_t_mm3: 1.0,
    };
    s.add_part("random", &mesh.wedges, &Frame::FRONT, material);
    let one = translation(&s, [1.0, 0.0, 0.0]);
    let m = Mass::new(&s, &Rules::new()).apply(&one);
    one.iter().zip(&m).map(|(a, b)| a * b).sum()
}

/// What the mesh leaves out of the drawing's volume on purpose: nothing but rounding and arcs.
fn drawn(plate: &Plate) -> f64 {
    plate.properties().volume_mm3
}

proptest! {
    #![proptest_config(ProptestConfig { cases: std::env::var("PROPTEST_CASES").map_or(24, |v| v.parse().unwrap_or(24)), ..ProptestConfig::default() })]

    #[test]
    fn every_sound_plate_is_meshed_with_its_own_volume(
        cells in prop::collection::vec(
            (0u8..8, -4.0..4.0f64, -4.0..4.0f64, 5.0..15.0f64, 0.0..6.3f64), 6..=6),
        turn in 0.0..6.3f64,
    ) {
        let plate = plate(&cells, turn);
        let options = MeshOptions { layers: 1, ..MeshOptions::default() };
        let mesh = mesh_plate(&plate, &[], &options, &[]).expect("sound metal");
        prop_assert!(mesh.quality.least_angle_deg > 12.0, "{:?}", mesh.quality);
        prop_assert!(mesh.quality.least_jacobian >= 0.2, "{:?}", mesh.quality);
        let (got, want) = (volume(&mesh), drawn(&plate));
        prop_assert!((got / want - 1.0).abs() < 1e-4, "{} against {}", got, want);
        // Every feature has an edge of its own to read stress at.
        prop_assert_eq!(mesh.edges.len(), 7);
        prop_assert!(mesh.edges.iter().all(|(_, points)| !points.is_empty()));
    }

    #[test]
    fn rings_anywhere_never_break_the_mesh(
        rings in prop::collection::vec((0.0..120.0f64, 0.0..80.0f64, 3.0..25.0f64), 1..5),
    ) {
        let plate = plate(&[(0, 0.0, 0.0, 10.0, 0.0), (1, 0.0, 0.0, 8.0, 0.0), (4, 1.0, 2.0, 9.0, 1.0)], 0.0);
        let rings: Vec<Ring> = rings.iter().map(|&(x, y, r)| Ring {
            name: format!("ring {x} {y}"),
            centre: Point::new(200.0 + x, y - 70.0),
            inner_mm: 0.5 * r,
            outer_mm: r,
        }).collect();
        let options = MeshOptions { layers: 1, ..MeshOptions::default() };
        let mesh = mesh_plate(&plate, &rings, &options, &[]).expect("sound metal");
        let (got, want) = (volume(&mesh), drawn(&plate));
        prop_assert!((got / want - 1.0).abs() < 1e-4, "{} against {}", got, want);
    }
}

#[test]
fn crossing_openings_are_refused_with_both_names() {
    let mut p = plate(&[(0, 0.0, 0.0, 10.0, 0.0)], 0.0);
    let mut second = p.features[0].clone();
    second.id = "drain".into();
    if let Shape::Hole(h) = &mut second.shape {
        h.centre.x += 6.0;
    }
    p.features.push(second);
    let e = mesh_plate(&p, &[], &MeshOptions::default(), &[]).expect_err("they cross");
    assert!(
        matches!(&e, StrengthError::BoundariesCross { first, second, .. }
            if [first.as_str(), second.as_str()] == ["drain", "feature 0"]
                || [first.as_str(), second.as_str()] == ["feature 0", "drain"]),
        "{e}"
    );
}

#[test]
fn an_opening_that_swallows_the_plate_leaves_no_metal() {
    let mut p = plate(&[(0, 0.0, 0.0, 10.0, 0.0)], 0.0);
    p.features[0].shape = Shape::Pocket {
        path: Path::circle(Point::new(260.0, -50.0), 300.0),
        depth_mm: 12.0,
        face: Face::Front,
    };
    let e = mesh_plate(&p, &[], &MeshOptions::default(), &[]).expect_err("nothing left");
    assert!(matches!(e, StrengthError::NoMetal { .. }), "{e}");
}
