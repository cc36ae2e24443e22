//! Hand-made and random plates, each with the numbers its solid must have.

use platewright::feature::{
    Depth, Face, Feature, Floor, Hole, Mouth, Purpose, Shape, Slot, SlotTrack,
};
use platewright::geom::{Frame, Path, Point, Segment};
use platewright::plate::Plate;
use serde_json::Value;

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
        variants: std::sync::Arc::default(),
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
pub(crate) fn counterbore(diameter_mm: f64, depth_mm: f64, face: Face) -> Mouth {
    Mouth::Counterbore {
        diameter_mm,
        depth_mm,
        face,
    }
}

/// A 90° countersink.
pub(crate) fn countersink(diameter_mm: f64, face: Face) -> Mouth {
    Mouth::Countersink {
        diameter_mm,
        angle_deg: 90.0,
        face,
    }
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
///
/// Drawn from `tests/data/twelve_holes.json`, which the independent kernel's
/// bench (`tests/python/bench_step.py`) draws the same plate from.
pub(crate) fn twelve_holes() -> Plate {
    let data: Value =
        serde_json::from_str(include_str!("../data/twelve_holes.json")).expect("the data parses");
    let number = |v: &Value| v.as_f64().expect("a number");
    let text = |v: &Value| v.as_str().expect("a string").to_owned();
    let list = |v: &Value| v.as_array().expect("a list").clone();
    let corners = |v: &Value| -> Vec<(f64, f64, f64)> {
        let corner = |c: &Value| (number(&c[0]), number(&c[1]), number(&c[2]));
        list(v).iter().map(corner).collect()
    };
    let face = |v: &Value| match v["face"].as_str() {
        Some("front") => Face::Front,
        Some("back") => Face::Back,
        other => panic!("face {other:?}"),
    };
    let mut features = Vec::new();
    for h in list(&data["holes"]) {
        let (bore, sink, drilled) = (&h["counterbore"], &h["countersink"], &h["drilled"]);
        let mouth = if bore.is_object() {
            let (wide, deep) = (number(&bore["diameter_mm"]), number(&bore["depth_mm"]));
            Some(counterbore(wide, deep, face(bore)))
        } else if sink.is_object() {
            Some(countersink(number(&sink["diameter_mm"]), face(sink)))
        } else {
            None
        };
        let depth = if drilled.is_object() {
            blind(
                number(&drilled["depth_mm"]),
                face(drilled),
                Floor::DrillPoint,
            )
        } else {
            Depth::Through
        };
        let centre = p(number(&h["x"]), number(&h["y"]));
        let shape = hole(centre, number(&h["diameter_mm"]), depth, mouth);
        features.push(feature(text(&h["id"]), shape));
    }
    for (i, window) in list(&data["windows"]).iter().enumerate() {
        let shape = Shape::Window(rounded(&corners(window)));
        features.push(feature(format!("window.{}", i + 1), shape));
    }
    let outline = rounded(&corners(&data["outline"]));
    plate(
        &text(&data["id"]),
        &text(&data["title"]),
        number(&data["thickness_mm"]),
        outline,
        features,
    )
}
