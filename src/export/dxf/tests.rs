//! Tests of what a drawing holds and refuses; reading back is tested in `tests/dxf_reader.rs`.

use super::ready::loop_of;
use super::*;
use crate::feature::{Depth, Feature, Hole, Mark, Purpose};
use crate::geom::{Frame, Segment};
use crate::plate::Plate;
use std::collections::BTreeMap;
use std::f64::consts::PI;

fn plate(features: Vec<Feature>) -> Plate {
    Plate {
        id: "p".to_string(),
        title: "Plate".to_string(),
        frame: Frame::FRONT,
        thickness_mm: 10.0,
        material: "S355".to_string(),
        density_kg_m3: 7850.0,
        outline: Path::slot(Point::new(0.0, 0.0), Point::new(80.0, 0.0), 20.0),
        features,
    }
}

fn hole(id: &str, x: f64) -> Feature {
    Feature {
        id: id.to_string(),
        variants: std::sync::Arc::default(),
        shape: crate::feature::Shape::Hole(Hole {
            centre: Point::new(x, 0.0),
            diameter_mm: 6.6,
            depth: Depth::Through,
            mouth: None,
            purpose: Purpose::Clearance {
                thread: "M6x1".to_string(),
            },
        }),
    }
}

fn text_of(drawing: &Drawing, version: Version) -> String {
    String::from_utf8(drawing.to_bytes(version).expect("written")).expect("text")
}

#[test]
fn a_hole_the_process_cannot_cut_leaves_a_cross_and_a_note_and_no_cut() {
    let not_cut = BTreeMap::from([("a".to_string(), "too small for plasma".to_string())]);
    let d =
        Drawing::of_plate(&plate(vec![hole("a", 0.0), hole("b", 80.0)]), &not_cut).expect("drawn");
    let on = |layer: Layer| {
        d.entities()
            .iter()
            .filter(move |e| e.layer == layer)
            .count()
    };
    assert_eq!(on(Layer::MARK), 2);
    assert_eq!(on(Layer::through(Operation::Drill)), 1);
    assert!(text_of(&d, Version::R2000).contains("A1: NOT CUT HERE: too small for plasma"));
}

#[test]
fn leaving_an_unknown_feature_uncut_is_refused() {
    let not_cut = BTreeMap::from([("z".to_string(), "why".to_string())]);
    assert!(matches!(
        Drawing::of_plate(&plate(vec![]), &not_cut),
        Err(DxfError::UnknownFeature { feature, .. }) if feature == "z"
    ));
}

#[test]
fn two_holes_on_one_place_are_refused_and_two_equal_strokes_are_one() {
    let d = Drawing::of_plate(
        &plate(vec![hole("a", 10.0), hole("b", 10.0)]),
        &NotCut::new(),
    )
    .expect("drawn");
    assert!(matches!(
        d.to_bytes(Version::R12),
        Err(DxfError::Twice { layer: "DRILL", .. })
    ));
    let stroke = vec![Point::new(0.0, 5.0), Point::new(4.0, 5.0)];
    let mark = Feature {
        id: "m".to_string(),
        variants: std::sync::Arc::default(),
        shape: crate::feature::Shape::Mark(Mark {
            text: "=".to_string(),
            strokes: vec![stroke.clone(), stroke.iter().rev().copied().collect()],
        }),
    };
    let d = Drawing::of_plate(&plate(vec![mark]), &NotCut::new()).expect("drawn");
    assert_eq!(text_of(&d, Version::R12).matches("\nLINE\n").count(), 1);
}

#[test]
fn open_empty_and_endless_shapes_are_refused() {
    let line = |x0: f64, x1: f64, y1: f64| Segment::Line {
        from: Point::new(x0, 0.0),
        to: Point::new(x1, y1),
    };
    let refused = |shape| {
        let mut d = Drawing::default();
        d.push(Entity {
            layer: Layer::OUTLINE,
            shape,
        });
        d.to_bytes(Version::R2000).expect_err("not drawable")
    };
    let open = Path::new(vec![line(0.0, 10.0, 0.0), line(10.0, 5.0, 9.0)]);
    assert!(matches!(
        refused(Shape::Loop(open)),
        DxfError::BadLoop { .. }
    ));
    let there_and_back = Path::new(vec![line(0.0, 10.0, 0.0), line(10.0, 0.0, 0.0)]);
    assert!(matches!(
        refused(Shape::Loop(there_and_back)),
        DxfError::BadLoop { .. }
    ));
    let circle = |x, radius| Shape::Circle {
        centre: Point::new(x, 0.0),
        radius,
    };
    assert!(matches!(
        refused(circle(0.0, 0.0)),
        DxfError::BadLoop { .. }
    ));
    assert!(matches!(
        refused(circle(0.0, f64::INFINITY)),
        DxfError::NotFinite { .. }
    ));
    assert_eq!(
        Drawing::default().to_bytes(Version::R12),
        Err(DxfError::Empty)
    );
}

#[test]
fn a_nearly_full_arc_is_split_and_a_circle_in_pieces_is_a_circle() {
    let a = Segment::arc(Point::ORIGIN, 10.0, 0.0, 1.9 * PI);
    let chord = Segment::Line {
        from: a.to(),
        to: a.from(),
    };
    let Ok(Ready::Polyline { vertices, .. }) = loop_of(Layer::OUTLINE, &Path::new(vec![a, chord]))
    else {
        panic!("a loop");
    };
    assert_eq!(vertices.len(), 3);
    assert!(vertices.iter().all(|v| v.bulge < 1.0));
    let halves = Path::new(vec![
        Segment::arc(Point::ORIGIN, 10.0, 0.0, PI),
        Segment::arc(Point::ORIGIN, 10.0, PI, 2.0 * PI),
    ]);
    assert!(matches!(
        loop_of(Layer::OUTLINE, &halves),
        Ok(Ready::Circle { .. })
    ));
}

#[test]
fn nothing_of_a_clock_or_of_chance_is_in_the_header() {
    let d = Drawing::of_plate(&plate(vec![hole("a", 0.0)]), &NotCut::new()).expect("drawn");
    for version in [Version::R2000, Version::R12] {
        let text = text_of(&d, version);
        for variable in [
            "$TDCREATE",
            "$TDUPDATE",
            "$TDUCREATE",
            "$TDUUPDATE",
            "$FINGERPRINTGUID",
            "$VERSIONGUID",
        ] {
            assert!(!text.contains(variable), "{variable}");
        }
        assert_eq!(text, text_of(&d.clone(), version));
        assert!(text.contains("$INSUNITS\n70\n4\n") && text.contains("$MEASUREMENT\n70\n1\n"));
    }
}

#[test]
fn a_placed_drawing_keeps_its_sizes() {
    let d = Drawing::of_plate(&plate(vec![hole("a", 0.0)]), &NotCut::new()).expect("drawn");
    let e = d
        .placed(PI / 2.0, Vector::new(100.0, 50.0))
        .extents()
        .expect("something");
    assert!((e.width() - 40.0).abs() < 1e-9 && (e.height() - 120.0).abs() < 1e-9);
    assert!((e.min.x - 80.0).abs() < 1e-9 && (e.min.y - 30.0).abs() < 1e-9);
}

#[test]
fn every_layer_has_a_name_of_its_own_that_r12_allows() {
    use crate::feature::Face;
    let operations = [
        Operation::Mark,
        Operation::Drill,
        Operation::DrillBlind,
        Operation::Ream,
        Operation::ReamBlind,
        Operation::TapDrill,
        Operation::TapDrillBlind,
        Operation::Counterbore,
        Operation::Countersink,
        Operation::Pocket,
        Operation::Groove,
        Operation::InsideCut,
        Operation::OutlineCut,
        Operation::Sheet,
        Operation::Note,
    ];
    let mut names = std::collections::BTreeSet::new();
    for operation in operations {
        for face in [Face::Front, Face::Back] {
            let layer = Layer::from_face(operation, face);
            assert!(layer.index() < Layer::COUNT);
            assert!(names.insert(layer.name()), "{}", layer.name());
            assert_eq!(layer.name().ends_with("_BACK"), face == Face::Back);
            assert!(layer.name().len() <= 31);
            assert!(
                layer
                    .name()
                    .bytes()
                    .all(|b| b.is_ascii_uppercase() || b == b'_')
            );
        }
    }
    assert_eq!(names.len(), Layer::COUNT);
}
