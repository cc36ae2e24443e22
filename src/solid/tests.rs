//! Plates of every feature kind, and plates that must be refused.

use super::*;
use crate::feature::{
    DRILL_POINT_DEG, Depth, Face, Feature, Floor, Hole, Mouth, Purpose, Shape, Slot, SlotTrack,
};
use crate::geom::{Frame, Path, Point};
use crate::plate::Plate;

fn p(x: f64, y: f64) -> Point {
    Point::new(x, y)
}

fn plate(features: Vec<(&str, Shape)>) -> Plate {
    Plate {
        id: "P1".into(),
        title: "Test plate".into(),
        frame: Frame::FRONT,
        thickness_mm: 15.0,
        material: "EN AW-6061-T6".into(),
        density_kg_m3: 2700.0,
        outline: Path::slot(p(0.0, 0.0), p(200.0, 30.0), 50.0),
        features: features
            .into_iter()
            .map(|(id, shape)| Feature {
                id: id.into(),
                variants: std::sync::Arc::default(),
                shape,
            })
            .collect(),
    }
}

fn hole(x: f64, y: f64, d: f64, depth: Depth, mouth: Option<Mouth>) -> Shape {
    Shape::Hole(Hole {
        centre: p(x, y),
        diameter_mm: d,
        depth,
        mouth,
        purpose: Purpose::Plain,
    })
}

fn blind(depth_mm: f64, from: Face, floor: Floor) -> Depth {
    Depth::Blind {
        depth_mm,
        from,
        floor,
    }
}

fn bore(face: Face) -> Mouth {
    Mouth::Counterbore {
        diameter_mm: 18.0,
        depth_mm: 6.8,
        face,
    }
}

fn sink(face: Face) -> Mouth {
    Mouth::Countersink {
        diameter_mm: 20.0,
        angle_deg: 90.0,
        face,
    }
}

fn pocket(x: f64, y: f64, depth_mm: f64, face: Face) -> Shape {
    Shape::Pocket {
        path: Path::slot(p(x, y), p(x + 30.0, y), 12.0),
        depth_mm,
        face,
    }
}

fn groove(x: f64, y: f64, face: Face) -> Shape {
    Shape::Groove {
        centre: p(x, y),
        inner_mm: 30.0,
        outer_mm: 37.0,
        depth_mm: 2.0,
        face,
    }
}

/// Numbers of planes, cylinders and cones.
fn faces(body: &Body) -> (usize, usize, usize) {
    let mut n = (0, 0, 0);
    for face in body.solid().face_iter() {
        match face.surface() {
            Surface::Plane(_) => n.0 += 1,
            Surface::Cylinder { .. } => n.1 += 1,
            Surface::Cone { .. } => n.2 += 1,
        }
    }
    n
}

/// Builds, checks in full, and holds volume and face counts (beyond the bare plate's 4 planes and 2 cylinders).
fn assert_solid(plate: &Plate, planes: usize, cylinders: usize, cones: usize) -> Body {
    let body = from_plate(plate).unwrap_or_else(|e| panic!("{e}"));
    let closed_form = closed_form_mm3(plate).expect("built once");
    check(&body, Some(closed_form)).unwrap_or_else(|e| panic!("{e:?}"));
    assert_eq!(faces(&body), (4 + planes, 2 + cylinders, cones));
    body
}

fn assert_volume(plate: &Plate) {
    let body = from_plate(plate).expect("a solid");
    let expected = plate.properties().volume_mm3;
    assert!((body.volume_mm3() / expected - 1.0).abs() < 1e-12);
}

#[test]
fn a_bare_plate_is_closed() {
    let plate = plate(vec![]);
    assert_solid(&plate, 0, 0, 0);
    assert_volume(&plate);
}

#[test]
fn every_kind_of_round_hole_closes_from_both_faces() {
    for face in [Face::Front, Face::Back] {
        let kinds = [
            (Depth::Through, None, (0, 1, 0)),
            (Depth::Through, Some(bore(face)), (1, 2, 0)),
            (Depth::Through, Some(sink(face)), (0, 1, 1)),
            (blind(9.0, face, Floor::Flat), None, (1, 1, 0)),
            (blind(9.0, face, Floor::DrillPoint), None, (0, 1, 1)),
            (blind(9.0, face, Floor::Flat), Some(bore(face)), (2, 2, 0)),
            (
                blind(9.0, face, Floor::DrillPoint),
                Some(bore(face)),
                (1, 2, 1),
            ),
            (
                blind(9.0, face, Floor::DrillPoint),
                Some(sink(face)),
                (0, 1, 2),
            ),
        ];
        for (depth, mouth, (planes, cylinders, cones)) in kinds {
            let plate = plate(vec![("A1", hole(20.0, 5.0, 10.5, depth, mouth))]);
            assert_solid(&plate, planes, cylinders, cones);
            assert_volume(&plate);
        }
    }
}

#[test]
fn slots_windows_pockets_and_grooves_close() {
    let arc = Slot {
        track: SlotTrack::Arc {
            pivot: p(0.0, 0.0),
            radius_mm: 60.0,
            start_rad: -0.2,
            end_rad: 0.5,
        },
        width_mm: 10.5,
        thread: None,
    };
    let straight = Slot {
        track: SlotTrack::Straight {
            from: p(-20.0, -20.0),
            to: p(10.0, -20.0),
        },
        width_mm: 9.0,
        thread: None,
    };
    let window = Path::polygon(&[p(100.0, 0.0), p(140.0, 0.0), p(120.0, 30.0)]);
    let plate = plate(vec![
        ("arc slot", Shape::Slot(arc)),
        ("straight slot", Shape::Slot(straight)),
        ("window", Shape::Window(window.reversed())),
        (
            "round window",
            Shape::Window(Path::circle(p(90.0, 40.0), 8.0)),
        ),
        ("pocket", pocket(170.0, 10.0, 6.0, Face::Front)),
        ("groove", groove(-10.0, 20.0, Face::Back)),
        ("pocket behind", pocket(170.0, 40.0, 6.0, Face::Back)),
    ]);
    // Planes: 2 + 3 walls of the slot and window, 2 walls and a floor a
    // pocket, the groove's floor and island.
    assert_solid(&plate, 2 + 3 + 3 + 3 + 2, 4 + 2 + 1 + 2 + 2 + 2, 0);
    assert_volume(&plate);
}

#[test]
fn a_bore_through_a_groove_island_belongs_to_the_island() {
    let plate = plate(vec![
        ("groove", groove(10.0, 0.0, Face::Front)),
        ("bore", hole(10.0, 0.0, 22.0, Depth::Through, None)),
        ("pin", hole(26.75, 0.0, 2.0, Depth::Through, None)),
    ]);
    let body = assert_solid(&plate, 2, 4, 0);
    // The pin goes through the groove's floor and has 2 mm less to take off.
    let pi = std::f64::consts::PI;
    let bare = plate.outline.area() * plate.thickness_mm;
    let groove = pi / 4.0 * (37.0 * 37.0 - 30.0 * 30.0) * 2.0;
    let expected =
        bare - groove - pi * 121.0 * plate.thickness_mm - pi * (plate.thickness_mm - 2.0);
    assert!((plate.properties().volume_mm3 / expected - 1.0).abs() < 1e-14);
    assert!((body.volume_mm3() / expected - 1.0).abs() < 1e-12);
}

#[test]
fn depths_in_a_pocket_count_from_its_floor() {
    let plate = plate(vec![
        ("pocket", pocket(20.0, 0.0, 5.0, Face::Front)),
        ("through", hole(20.0, 0.0, 8.0, Depth::Through, None)),
        (
            "blind",
            hole(
                35.0,
                0.0,
                5.0,
                blind(4.0, Face::Front, Floor::DrillPoint),
                None,
            ),
        ),
        (
            "sunk",
            hole(
                50.0,
                0.0,
                5.0,
                Depth::Through,
                Some(Mouth::Countersink {
                    diameter_mm: 10.0,
                    angle_deg: 90.0,
                    face: Face::Front,
                }),
            ),
        ),
        ("under", pocket(100.0, 0.0, 4.0, Face::Back)),
        (
            "behind",
            hole(110.0, 0.0, 6.0, blind(5.0, Face::Back, Floor::Flat), None),
        ),
    ]);
    let body = assert_solid(&plate, 3 + 3 + 1, 2 + 3 + 2 + 1, 2);
    // Each feature on its own takes off its full thickness; the two that go
    // right through the pocket's floor find 5 mm gone already.
    let pi = std::f64::consts::PI;
    let alone: f64 = plate
        .features
        .iter()
        .map(|f| f.volume_mm3(plate.thickness_mm))
        .sum();
    let bare = plate.outline.area() * plate.thickness_mm;
    let expected = bare - alone + pi * 16.0 * 5.0 + pi * 6.25 * 5.0;
    assert!((body.volume_mm3() / expected - 1.0).abs() < 1e-12);
    assert!((plate.properties().volume_mm3 / expected - 1.0).abs() < 1e-14);
}

#[test]
fn pockets_and_grooves_nest_in_each_other() {
    let small = Shape::Pocket {
        path: Path::circle(p(40.0, 0.0), 6.0),
        depth_mm: 3.0,
        face: Face::Front,
    };
    let big = Shape::Pocket {
        path: Path::slot(p(10.0, 0.0), p(60.0, 0.0), 25.0),
        depth_mm: 4.0,
        face: Face::Front,
    };
    let plate = plate(vec![
        ("deep", small),
        (
            "hole",
            hole(
                40.0,
                0.0,
                5.0,
                Depth::Through,
                Some(Mouth::Counterbore {
                    diameter_mm: 9.0,
                    depth_mm: 3.0,
                    face: Face::Back,
                }),
            ),
        ),
        ("wide", big),
        ("ring", groove(10.0, 0.0, Face::Front)),
        (
            "centre",
            hole(10.0, 0.0, 8.0, blind(5.0, Face::Front, Floor::Flat), None),
        ),
    ]);
    assert_solid(&plate, 1 + 1 + 3 + 2 + 1, 1 + 2 + 2 + 2 + 1, 0);
}

#[test]
fn front_and_back_features_share_a_place_where_metal_stays_between() {
    let deep = |depth| {
        plate(vec![
            ("front", pocket(20.0, 0.0, 8.0, Face::Front)),
            ("back", pocket(30.0, 0.0, depth, Face::Back)),
            ("through both", hole(45.0, 0.0, 8.0, Depth::Through, None)),
        ])
    };
    assert_solid(&deep(6.0), 6, 4 + 1, 0);
    for depth in [7.0, 7.5] {
        assert_eq!(
            from_plate(&deep(depth)).err(),
            Some(SolidError::Overlap {
                first: "front".into(),
                second: "back".into()
            })
        );
    }
}

#[test]
fn cones_are_held_apart_by_their_true_shape() {
    let pair = |distance: f64| {
        plate(vec![
            (
                "up",
                hole(20.0, 0.0, 6.0, Depth::Through, Some(sink(Face::Front))),
            ),
            (
                "down",
                hole(
                    20.0 + distance,
                    0.0,
                    6.0,
                    Depth::Through,
                    Some(sink(Face::Back)),
                ),
            ),
        ])
    };
    // Radii 10 and 3 in each face; the cones are 7 mm deep and do not share heights in 15 mm.
    assert!(from_plate(&pair(13.1)).is_ok());
    assert!(from_plate(&pair(12.9)).is_err());
}

#[test]
fn overlaps_name_both_features_and_the_outline_is_a_wall() {
    let cases = [
        ("B", hole(28.0, 0.0, 10.0, Depth::Through, None)),
        ("B", hole(20.0, 0.0, 4.0, Depth::Through, None)),
        ("B", hole(31.0, 0.0, 10.0, Depth::Through, None)),
        (
            "B",
            hole(28.0, 0.0, 10.0, blind(5.0, Face::Back, Floor::Flat), None),
        ),
        ("B", pocket(20.0, 8.0, 3.0, Face::Front)),
        (
            "B",
            Shape::Window(Path::slot(p(0.0, 0.0), p(40.0, 0.0), 9.0)),
        ),
        ("B", groove(20.0, 16.0, Face::Front)),
    ];
    for (i, (id, shape)) in cases.into_iter().enumerate() {
        let a = hole(20.0, 0.0, 12.0, Depth::Through, None);
        let expected = SolidError::Overlap {
            first: "A".into(),
            second: "B".into(),
        };
        assert_eq!(
            from_plate(&plate(vec![("A", a), (id, shape)])).err(),
            Some(expected),
            "case {i}"
        );
    }
    for shape in [
        hole(-46.0, 0.0, 10.0, Depth::Through, None),
        hole(-45.0, 0.0, 10.0, Depth::Through, None),
        hole(400.0, 0.0, 10.0, Depth::Through, None),
        pocket(190.0, 90.0, 3.0, Face::Back),
        Shape::Window(Path::circle(p(100.0, 0.0), 400.0)),
    ] {
        let expected = SolidError::OutsideOutline {
            feature: "A".into(),
        };
        assert_eq!(from_plate(&plate(vec![("A", shape)])).err(), Some(expected));
    }
}

#[test]
fn holes_of_contradictory_sizes_are_refused_and_never_panic() {
    let nan = f64::NAN;
    let bad = [
        hole(0.0, 0.0, nan, Depth::Through, None),
        hole(nan, 0.0, 5.0, Depth::Through, None),
        hole(0.0, 0.0, -5.0, Depth::Through, None),
        hole(0.0, 0.0, 5.0, blind(15.0, Face::Front, Floor::Flat), None),
        hole(
            0.0,
            0.0,
            5.0,
            blind(14.0, Face::Front, Floor::DrillPoint),
            None,
        ),
        hole(0.0, 0.0, 5.0, blind(0.0, Face::Front, Floor::Flat), None),
        hole(
            0.0,
            0.0,
            5.0,
            blind(9.0, Face::Front, Floor::Flat),
            Some(bore(Face::Back)),
        ),
        hole(0.0, 0.0, 18.0, Depth::Through, Some(bore(Face::Front))),
        hole(
            0.0,
            0.0,
            5.0,
            blind(6.0, Face::Front, Floor::Flat),
            Some(bore(Face::Front)),
        ),
        hole(
            0.0,
            0.0,
            5.0,
            Depth::Through,
            Some(Mouth::Countersink {
                diameter_mm: 10.0,
                angle_deg: 180.0,
                face: Face::Front,
            }),
        ),
        hole(
            0.0,
            0.0,
            5.0,
            Depth::Through,
            Some(Mouth::Countersink {
                diameter_mm: 50.0,
                angle_deg: 90.0,
                face: Face::Front,
            }),
        ),
    ];
    for (i, shape) in bad.into_iter().enumerate() {
        assert!(from_plate(&plate(vec![("A", shape)])).is_err(), "case {i}");
    }
}

#[test]
fn shapes_that_are_none_are_refused_and_never_panic() {
    let bad = [
        pocket(0.0, 0.0, 15.0, Face::Front),
        pocket(0.0, 0.0, -1.0, Face::Front),
        Shape::Groove {
            centre: p(0.0, 0.0),
            inner_mm: 20.0,
            outer_mm: 10.0,
            depth_mm: 2.0,
            face: Face::Front,
        },
        Shape::Groove {
            centre: p(0.0, 0.0),
            inner_mm: 0.0,
            outer_mm: 10.0,
            depth_mm: 2.0,
            face: Face::Front,
        },
        Shape::Window(Path::new(vec![])),
        Shape::Window(Path::polygon(&[p(0.0, 0.0), p(10.0, 0.0)])),
        Shape::Slot(Slot {
            track: SlotTrack::Straight {
                from: p(0.0, 0.0),
                to: p(5.0, 0.0),
            },
            width_mm: 0.0,
            thread: None,
        }),
        Shape::Slot(Slot {
            track: SlotTrack::Arc {
                pivot: p(0.0, 0.0),
                radius_mm: 4.0,
                start_rad: 0.0,
                end_rad: 1.0,
            },
            width_mm: 9.0,
            thread: None,
        }),
        Shape::Slot(Slot {
            track: SlotTrack::Arc {
                pivot: p(0.0, 0.0),
                radius_mm: 20.0,
                start_rad: 1.0,
                end_rad: 0.0,
            },
            width_mm: 9.0,
            thread: None,
        }),
        Shape::Slot(Slot {
            track: SlotTrack::Arc {
                pivot: p(0.0, 0.0),
                radius_mm: 20.0,
                start_rad: 0.0,
                end_rad: 6.2,
            },
            width_mm: 9.0,
            thread: None,
        }),
    ];
    for (i, shape) in bad.into_iter().enumerate() {
        assert!(from_plate(&plate(vec![("A", shape)])).is_err(), "case {i}");
    }
    for t in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        let mut plate = plate(vec![]);
        plate.thickness_mm = t;
        assert!(from_plate(&plate).is_err());
    }
}

#[test]
fn radii_are_carried_through_bit_for_bit() {
    let d = 10.0 + 1.0 / 3.0;
    let body =
        from_plate(&plate(vec![("A", hole(0.1, 0.2, d, Depth::Through, None))])).expect("a solid");
    let radii: Vec<f64> = body
        .solid()
        .face_iter()
        .filter_map(|f| match f.surface() {
            Surface::Cylinder { radius, .. } => Some(radius),
            _ => None,
        })
        .collect();
    assert_eq!(radii, [50.0, 50.0, 0.5 * d]);
}

#[test]
fn a_drill_point_has_its_published_angle() {
    let body = from_plate(&plate(vec![(
        "A",
        hole(
            0.0,
            0.0,
            8.5,
            blind(9.0, Face::Back, Floor::DrillPoint),
            None,
        ),
    )]))
    .expect("a solid");
    let cone = body
        .solid()
        .face_iter()
        .map(truck_topology::Face::surface)
        .find(|s| matches!(s, Surface::Cone { .. }))
        .expect("a cone");
    let Surface::Cone { half_angle_rad, .. } = cone else {
        unreachable!("found as a cone")
    };
    assert!((half_angle_rad.to_degrees() * 2.0 - DRILL_POINT_DEG).abs() < 1e-12);
    let apex = cone.apex().expect("a cone has one");
    assert!((apex.z - 9.0 - Floor::DrillPoint.point_mm(4.25)).abs() < 1e-12);
}

#[test]
fn tubes_rods_and_prisms_close() {
    let pi = std::f64::consts::PI;
    let spacer = tube("spacer", 10.5, 22.0, 31.25).expect("a tube");
    assert!((spacer.volume_mm3() / (pi * (121.0 - 5.25 * 5.25) * 31.25) - 1.0).abs() < 1e-12);
    check(&spacer, None).expect("right");
    let rod = cylinder("body", 120.0, -40.0, 90.0).expect("a rod");
    assert!((rod.volume_mm3() / (pi * 3600.0 * 130.0) - 1.0).abs() < 1e-12);
    let path = Path::slot(p(10.0, 0.0), p(60.0, 5.0), 20.0);
    let box_ = prism("box", &path.reversed(), 5.0, 9.0).expect("a prism");
    assert!((box_.volume_mm3() / (path.area() * 4.0) - 1.0).abs() < 1e-12);
    check(&box_, None).expect("right");
    assert!(tube("spacer", 22.0, 22.0, 5.0).is_err());
    assert!(cylinder("rod", 22.0, 5.0, 5.0).is_err());
    assert!(prism("prism", &Path::new(vec![]), 0.0, 5.0).is_err());
}

#[test]
fn a_face_turned_over_fails_the_check() {
    let good = from_plate(&plate(vec![(
        "A",
        hole(0.0, 0.0, 8.5, Depth::Through, Some(sink(Face::Front))),
    )]))
    .expect("a solid");
    let count = good.solid().face_iter().count();
    for turned in 0..count {
        let mut faces: Vec<_> = good.solid().face_iter().cloned().collect();
        faces[turned].invert();
        let bad = Body::new("bad".into(), Solid::new_unchecked(vec![faces.into()]));
        assert!(
            check(&bad, Some(good.volume_mm3())).is_err(),
            "face {turned}"
        );
        // Turned with its boundary kept: closed for the topology, wrong for the volume.
        let mut faces: Vec<_> = good.solid().face_iter().cloned().collect();
        let face = &faces[turned];
        let bounds = face
            .boundaries()
            .iter()
            .map(|w| {
                if face.orientation() {
                    w.inverse()
                } else {
                    w.clone()
                }
            })
            .collect();
        let mut flipped = truck_topology::Face::new_unchecked(bounds, face.surface());
        if face.orientation() {
            flipped.invert();
        }
        faces[turned] = flipped;
        let bad = Body::new("bad".into(), Solid::new_unchecked(vec![faces.into()]));
        assert!(check::closed(&bad).is_ok());
        assert!(
            check(&bad, Some(good.volume_mm3())).is_err(),
            "face {turned} with its boundary kept"
        );
    }
}

#[test]
fn a_missing_face_and_a_wrong_radius_fail_the_check() {
    let good = from_plate(&plate(vec![(
        "A",
        hole(0.0, 0.0, 8.5, Depth::Through, None),
    )]))
    .expect("a solid");
    let mut faces: Vec<_> = good.solid().face_iter().cloned().collect();
    faces.remove(2);
    let bad = Body::new("bad".into(), Solid::new_unchecked(vec![faces.into()]));
    let errors = check(&bad, Some(good.volume_mm3())).expect_err("open");
    assert!(matches!(errors[0], SolidError::Open { .. }));
    let wall = good.solid().face_iter().nth(4).expect("the hole");
    let Surface::Cylinder { seat, radius } = wall.surface() else {
        unreachable!("the outline has four walls")
    };
    let radius = radius + 1e-6;
    wall.set_surface(Surface::Cylinder { seat, radius });
    let errors = check(&good, Some(good.volume_mm3())).expect_err("off");
    assert!(
        errors
            .iter()
            .any(|e| matches!(e, SolidError::Misplaced { .. }))
    );
}
