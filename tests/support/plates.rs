//! Hand-made and random plates, each with the numbers its solid must have.

use platewright::feature::{
    Depth, Face, Feature, Floor, Hole, Mouth, Purpose, Shape, Slot, SlotTrack,
};
use platewright::geom::{Frame, Path, Point, Segment};
use platewright::plate::Plate;

/// Shorthand for a point.
pub(crate) fn p(x: f64, y: f64) -> Point {
    Point::new(x, y)
}

/// A closed polygon through `corners` (x, y, radius), each corner rounded; counter-clockwise.
pub(crate) fn rounded(corners: &[(f64, f64, f64)]) -> Path {
    let n = corners.len();
    let at = |i: usize| p(corners[i % n].0, corners[i % n].1);
    // Where each corner's arc begins and ends, its centre and its sense.
    let arcs: Vec<_> = (0..n)
        .map(|i| {
            let (before, here, after) = (at(i + n - 1), at(i), at(i + 1));
            let radius = corners[i].2;
            let into = (here - before).unit().expect("corners differ");
            let out = (after - here).unit().expect("corners differ");
            let turn = into.cross(out).atan2(into.dot(out));
            let back = radius * (0.5 * turn.abs()).tan();
            let (start, end) = (here - into * back, here + out * back);
            let side = if turn > 0.0 { radius } else { -radius };
            (start, end, start + into.left() * side, radius, turn > 0.0)
        })
        .collect();
    let mut segments = Vec::new();
    for i in 0..n {
        let (from, to, centre, radius, ccw) = arcs[i];
        segments.push(Segment::Arc {
            from,
            to,
            centre,
            radius,
            ccw,
        });
        segments.push(Segment::Line {
            from: to,
            to: arcs[(i + 1) % n].0,
        });
    }
    Path::new(segments)
}

/// A feature.
pub(crate) fn feature(id: impl Into<String>, shape: Shape) -> Feature {
    Feature {
        id: id.into(),
        variants: Vec::new(),
        shape,
    }
}

/// A plate in the engine frame.
pub(crate) fn plate(
    id: &str,
    title: &str,
    thickness_mm: f64,
    outline: Path,
    features: Vec<Feature>,
) -> Plate {
    Plate {
        id: id.into(),
        title: title.into(),
        frame: Frame::FRONT,
        thickness_mm,
        material: "EN AW-6061-T6".into(),
        density_kg_m3: 2700.0,
        outline,
        features,
    }
}

/// A round hole.
pub(crate) fn hole(centre: Point, diameter_mm: f64, depth: Depth, mouth: Option<Mouth>) -> Shape {
    Shape::Hole(Hole {
        centre,
        diameter_mm,
        depth,
        mouth,
        purpose: Purpose::Plain,
    })
}

/// A blind depth.
pub(crate) fn blind(depth_mm: f64, from: Face, floor: Floor) -> Depth {
    Depth::Blind {
        depth_mm,
        from,
        floor,
    }
}

/// A counterbore.
pub(crate) fn counterbore(diameter_mm: f64, depth_mm: f64, face: Face) -> Option<Mouth> {
    Some(Mouth::Counterbore {
        diameter_mm,
        depth_mm,
        face,
    })
}

/// A 90° countersink.
pub(crate) fn countersink(diameter_mm: f64, face: Face) -> Option<Mouth> {
    Some(Mouth::Countersink {
        diameter_mm,
        angle_deg: 90.0,
        face,
    })
}

/// A straight slot.
pub(crate) fn slot(from: Point, to: Point, width_mm: f64) -> Shape {
    Shape::Slot(Slot {
        track: SlotTrack::Straight { from, to },
        width_mm,
        thread: None,
    })
}

/// An arc slot about a pivot.
pub(crate) fn arc_slot(
    pivot: Point,
    radius_mm: f64,
    start_rad: f64,
    end_rad: f64,
    width_mm: f64,
) -> Shape {
    Shape::Slot(Slot {
        track: SlotTrack::Arc {
            pivot,
            radius_mm,
            start_rad,
            end_rad,
        },
        width_mm,
        thread: None,
    })
}

/// The bench's plate: a bracket of eleven rounded corners with twelve holes and a window.
pub(crate) fn twelve_holes() -> Plate {
    let outline = rounded(&[
        (0.0, 0.0, 18.0),
        (110.0, 0.0, 18.0),
        (130.0, 40.0, 12.0),
        (190.0, 40.0, 12.0),
        (210.0, 0.0, 18.0),
        (280.0, 0.0, 18.0),
        (280.0, 70.0, 18.0),
        (220.0, 100.0, 12.0),
        (200.0, 180.0, 20.0),
        (60.0, 180.0, 20.0),
        (0.0, 90.0, 18.0),
    ]);
    let (front, back) = (Face::Front, Face::Back);
    let mut features = vec![
        feature("block.A1", hole(p(20.0, 20.0), 11.0, Depth::Through, None)),
        feature("block.A2", hole(p(90.0, 20.0), 11.0, Depth::Through, None)),
        feature(
            "block.A3",
            hole(
                p(235.0, 22.0),
                11.0,
                Depth::Through,
                counterbore(18.0, 10.6, front),
            ),
        ),
        feature(
            "block.A4",
            hole(
                p(260.0, 50.0),
                11.0,
                Depth::Through,
                counterbore(18.0, 10.6, front),
            ),
        ),
        feature(
            "block.A5",
            hole(
                p(20.0, 80.0),
                11.0,
                Depth::Through,
                counterbore(18.0, 10.6, front),
            ),
        ),
        feature(
            "pump.P1",
            hole(
                p(70.0, 155.0),
                8.5,
                blind(12.0, front, Floor::DrillPoint),
                None,
            ),
        ),
        feature(
            "pump.P2",
            hole(
                p(180.0, 160.0),
                8.5,
                blind(12.0, back, Floor::DrillPoint),
                None,
            ),
        ),
        feature("pump.P3", hole(p(195.0, 120.0), 8.5, Depth::Through, None)),
        feature(
            "idler",
            hole(
                p(120.0, 160.0),
                10.5,
                Depth::Through,
                countersink(20.0, back),
            ),
        ),
        feature("dowel.1", hole(p(55.0, 25.0), 8.0, Depth::Through, None)),
        feature("dowel.2", hole(p(210.0, 70.0), 8.0, Depth::Through, None)),
        feature("tensioner", hole(p(60.0, 95.0), 10.2, Depth::Through, None)),
    ];
    features.push(feature(
        "window",
        Shape::Window(rounded(&[
            (90.0, 65.0, 8.0),
            (175.0, 65.0, 8.0),
            (165.0, 130.0, 8.0),
            (100.0, 130.0, 8.0),
        ])),
    ));
    plate("P-12", "Twelve-hole plate", 20.0, outline, features)
}
