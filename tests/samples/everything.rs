//! One plate with every kind of feature, on both faces.

use super::{feature, plate, rounded_polygon};
use platewright::feature::{
    Depth, Face, Floor, Hole, Mark, Mouth, Purpose, Shape, Slot, SlotTrack,
};
use platewright::geom::{Path, Point};
use platewright::marking::strokes;
use platewright::plate::Plate;

/// Every kind of feature, on both faces.
pub fn everything() -> Plate {
    let outline = rounded_polygon(
        &[
            (0.0, 0.0),
            (260.0, 0.0),
            (260.0, 120.0),
            (180.0, 120.0),
            (150.0, 190.0),
            (0.0, 160.0),
        ],
        &[20.0, 15.0, 25.0, 10.0, 30.0, 18.0],
    );
    let features = holes()
        .into_iter()
        .map(|(id, hole)| feature(id, Shape::Hole(hole)))
        .chain(
            [openings(), recesses(), marks()]
                .into_iter()
                .flatten()
                .map(|(id, shape)| feature(id, shape)),
        )
        .collect();
    plate("all_features", 16.0, outline, features)
}

fn holes() -> Vec<(&'static str, Hole)> {
    use Depth::Through;
    use Face::{Back, Front};
    let at = |x, y, diameter_mm, depth, mouth, purpose| Hole {
        centre: Point::new(x, y),
        diameter_mm,
        depth,
        mouth,
        purpose,
    };
    let blind = |depth_mm, from, floor| Depth::Blind {
        depth_mm,
        from,
        floor,
    };
    let bore = |diameter_mm, depth_mm, face| {
        Some(Mouth::Counterbore {
            diameter_mm,
            depth_mm,
            face,
        })
    };
    let sink = |face| {
        Some(Mouth::Countersink {
            diameter_mm: 13.0,
            angle_deg: 90.0,
            face,
        })
    };
    let bolt = |thread: &str| Purpose::Clearance {
        thread: thread.to_string(),
    };
    let tap = |thread: &str, thread_depth_mm| Purpose::Tapped {
        thread: thread.to_string(),
        thread_depth_mm,
    };
    let h7 = || Purpose::Dowel {
        tolerance: "H7".to_string(),
    };
    let (m10, m6) = ("M10x1.5", "M6x1");
    let (cone, flat) = (Floor::DrillPoint, Floor::Flat);
    vec![
        ("block.A1", at(20.0, 20.0, 11.0, Through, None, bolt(m10))),
        (
            "block.A2",
            at(
                240.0,
                20.0,
                11.0,
                Through,
                bore(18.0, 10.8, Front),
                bolt(m10),
            ),
        ),
        (
            "block.A3",
            at(20.0, 140.0, 11.0, Through, bore(20.0, 6.5, Back), bolt(m10)),
        ),
        (
            "alternator.pivot",
            at(130.0, 158.0, 8.5, Through, None, tap(m10, 16.0)),
        ),
        (
            "tensioner.T1",
            at(
                60.0,
                20.0,
                6.8,
                blind(10.0, Front, cone),
                None,
                tap("M8x1.25", 8.0),
            ),
        ),
        (
            "tensioner.T2",
            at(
                90.0,
                20.0,
                5.0,
                blind(10.0, Back, flat),
                None,
                Purpose::Plain,
            ),
        ),
        ("dowel.1", at(120.0, 20.0, 8.0, Through, None, h7())),
        (
            "dowel.2",
            at(150.0, 20.0, 8.0, blind(12.0, Back, flat), None, h7()),
        ),
        (
            "sink.1",
            at(180.0, 20.0, 6.6, Through, sink(Front), bolt(m6)),
        ),
        (
            "sink.2",
            at(210.0, 20.0, 6.6, Through, sink(Back), Purpose::Plain),
        ),
    ]
}

fn openings() -> Vec<(&'static str, Shape)> {
    let arc = SlotTrack::Arc {
        pivot: Point::new(130.0, 158.0),
        radius_mm: 90.0,
        start_rad: -2.3,
        end_rad: -1.6,
    };
    let straight = SlotTrack::Straight {
        from: Point::new(190.0, 60.0),
        to: Point::new(215.0, 75.0),
    };
    let slot = |track, width_mm, thread: Option<&str>| {
        Shape::Slot(Slot {
            track,
            width_mm,
            thread: thread.map(str::to_string),
        })
    };
    let four_sided = [(30.0, 50.0), (55.0, 50.0), (50.0, 110.0), (30.0, 120.0)];
    vec![
        ("adjust", slot(arc, 11.0, Some("M10x1.5"))),
        ("slide", slot(straight, 9.0, None)),
        (
            "window.1",
            Shape::Window(rounded_polygon(&four_sided, &[5.0; 4])),
        ),
        (
            "window.2",
            Shape::Window(Path::circle(Point::new(70.0, 130.0), 14.0)),
        ),
    ]
}

fn recesses() -> Vec<(&'static str, Shape)> {
    let square = [(160.0, 85.0), (185.0, 85.0), (185.0, 105.0), (160.0, 105.0)];
    let pocket = |path, depth_mm, face| Shape::Pocket {
        path,
        depth_mm,
        face,
    };
    let seal = Shape::Groove {
        centre: Point::new(240.0, 60.0),
        inner_mm: 16.0,
        outer_mm: 24.0,
        depth_mm: 2.4,
        face: Face::Front,
    };
    let round = Path::circle(Point::new(240.0, 95.0), 9.0);
    vec![
        (
            "pocket.front",
            pocket(rounded_polygon(&square, &[4.0; 4]), 6.0, Face::Front),
        ),
        ("pocket.back", pocket(round, 5.0, Face::Back)),
        ("seal", seal),
    ]
}

fn marks() -> Vec<(&'static str, Shape)> {
    let text = "UP ↑";
    let up = strokes(text, Point::new(88.0, 105.0), 8.0, 0.0).expect("in the alphabet");
    let punch = vec![vec![Point::new(145.0, 125.0)]];
    let mark = |text: &str, strokes| {
        Shape::Mark(Mark {
            text: text.to_string(),
            strokes,
        })
    };
    vec![("way-up", mark(text, up)), ("punch", mark("punch", punch))]
}
