//! Features for sample plates.

use super::{Dice, rounded_polygon};
use platewright::feature::{
    Depth, Face, Feature, Floor, Hole, Mark, Mouth, Purpose, Shape, Slot, SlotTrack,
};
use platewright::geom::{Path, Point};
use platewright::marking::strokes;
use std::f64::consts::TAU;

/// Least metal between two features, and between a feature and the edge, mm.
const WALL_MM: f64 = 3.0;

/// A feature every variant uses.
pub fn feature(id: &str, shape: Shape) -> Feature {
    Feature {
        id: id.to_string(),
        variants: std::sync::Arc::default(),
        shape,
    }
}

/// A clearance hole for M10.
pub fn through_hole(id: &str, x: f64, y: f64, diameter_mm: f64) -> Feature {
    feature(
        id,
        Shape::Hole(Hole {
            centre: Point::new(x, y),
            diameter_mm,
            depth: Depth::Through,
            mouth: None,
            purpose: Purpose::Clearance {
                thread: "M10x1.5".to_string(),
            },
        }),
    )
}

/// Up to fourteen features that keep clear of the edge and of each other.
pub fn random(dice: &mut Dice, outline: &Path, thickness_mm: f64) -> Vec<Feature> {
    let e = outline.extents();
    let mut taken: Vec<(Point, f64)> = Vec::new();
    let mut features = Vec::new();
    let wanted = 1 + dice.below(14);
    for _ in 0..400 {
        if features.len() == wanted {
            break;
        }
        let centre = Point::new(
            dice.between(e.min.x, e.max.x),
            dice.between(e.min.y, e.max.y),
        );
        let reach = dice.between(4.0, 22.0);
        let clear = outline.signed_distance(centre) >= reach + WALL_MM
            && taken
                .iter()
                .all(|(c, r)| c.distance(centre) >= r + reach + WALL_MM);
        if !clear {
            continue;
        }
        taken.push((centre, reach));
        let shape = any_shape(dice, centre, reach, thickness_mm);
        let mut f = feature(&format!("f{}", features.len() + 1), shape);
        if dice.below(3) == 0 {
            f.variants = vec![["24V", "compact", "hose 19"][dice.below(3)].to_string()].into();
        }
        features.push(f);
    }
    features
}

/// Any shape within `reach` of `centre`.
fn any_shape(dice: &mut Dice, centre: Point, reach: f64, thickness_mm: f64) -> Shape {
    let face = if dice.below(2) == 0 {
        Face::Front
    } else {
        Face::Back
    };
    let depth_mm = thickness_mm * dice.between(0.2, 0.6);
    let direction = dice.between(0.0, TAU);
    match dice.below(10) {
        0..=4 => Shape::Hole(any_hole(dice, centre, reach, thickness_mm)),
        5 => {
            let half = 0.6 * reach;
            Shape::Slot(Slot {
                track: SlotTrack::Straight {
                    from: centre.polar(half, direction),
                    to: centre.polar(-half, direction),
                },
                width_mm: 0.7 * reach,
                thread: Some("M8x1.25".to_string()),
            })
        }
        6 => Shape::Slot(Slot {
            track: SlotTrack::Arc {
                pivot: centre.polar(3.0 * reach, direction + std::f64::consts::PI),
                radius_mm: 3.0 * reach,
                start_rad: direction - 0.2,
                end_rad: direction + 0.2,
            },
            width_mm: 0.6 * reach,
            thread: None,
        }),
        7 => Shape::Window(polygon_within(dice, centre, reach)),
        8 if face == Face::Front => Shape::Groove {
            centre,
            inner_mm: 1.2 * reach,
            outer_mm: 1.8 * reach,
            depth_mm: depth_mm.min(3.0),
            face,
        },
        8 => Shape::Mark(Mark {
            text: "A1".to_string(),
            strokes: strokes(
                "A1",
                centre.polar(-0.7 * reach, direction),
                0.7 * reach,
                direction,
            )
            .expect("in the alphabet"),
        }),
        _ => Shape::Pocket {
            path: polygon_within(dice, centre, reach),
            depth_mm,
            face,
        },
    }
}

fn polygon_within(dice: &mut Dice, centre: Point, reach: f64) -> Path {
    let n = 3 + dice.below(4);
    let start = dice.between(0.0, TAU);
    let corners: Vec<(f64, f64)> = (0..n)
        .map(|k| {
            let p = centre.polar(reach, start + TAU * k as f64 / n as f64);
            (p.x, p.y)
        })
        .collect();
    rounded_polygon(&corners, &vec![0.25 * reach; n])
}

fn any_hole(dice: &mut Dice, centre: Point, reach: f64, thickness_mm: f64) -> Hole {
    let mut face = || {
        if dice.below(2) == 0 {
            Face::Front
        } else {
            Face::Back
        }
    };
    let (from, mouth_face) = (face(), face());
    let mut diameter_mm = 2.0 * reach;
    let mut depth = Depth::Through;
    let mut mouth = None;
    match dice.below(4) {
        0 => {
            depth = Depth::Blind {
                depth_mm: 0.5 * thickness_mm,
                from,
                // A wide drill's point would come out at the other face.
                floor: if reach > 0.7 * thickness_mm || dice.below(2) == 0 {
                    Floor::Flat
                } else {
                    Floor::DrillPoint
                },
            };
        }
        1 => {
            diameter_mm = 1.2 * reach;
            mouth = Some(Mouth::Counterbore {
                diameter_mm: 2.0 * reach,
                depth_mm: 0.4 * thickness_mm,
                face: mouth_face,
            });
        }
        2 => {
            diameter_mm = 2.0 * reach - 4.0;
            mouth = Some(Mouth::Countersink {
                diameter_mm: 2.0 * reach,
                angle_deg: 90.0,
                face: mouth_face,
            });
        }
        _ => {}
    }
    let purpose = match dice.below(4) {
        0 => Purpose::Clearance {
            thread: "M12x1.75".to_string(),
        },
        1 => Purpose::Tapped {
            thread: "M12x1.75".to_string(),
            thread_depth_mm: match depth {
                Depth::Through => thickness_mm,
                Depth::Blind { depth_mm, .. } => 0.8 * depth_mm,
            },
        },
        2 => Purpose::Dowel {
            tolerance: "H7".to_string(),
        },
        _ => Purpose::Plain,
    };
    Hole {
        centre,
        diameter_mm,
        depth,
        mouth,
        purpose,
    }
}
