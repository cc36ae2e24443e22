//! Features of a plate from the holes it takes and from what its job adds.

use std::collections::BTreeMap;

use crate::diag::{Code, Diag, Sink, Spot};
use crate::feature::{
    Depth, Face, Feature, Floor, Hole, Mark, Mouth, Purpose, Shape, Slot, SlotTrack,
};
use crate::geom::Point;
use crate::layout::fastener;
use crate::layout::seat::{Made, PlateHole};
use crate::marking;
use crate::outline::drawn;
use crate::params::job::{FeatureKind, FeatureSpec, Fit, PlateSpec};
use crate::tol;

/// Extra depth drilled below a blind thread, in pitches, so that the tap clears its chips.
///
/// DIN 76-1 run-out for blind threaded holes is about 4 to 6 pitches (from
/// memory of the standard); 4 is used.
const TAP_RUNOUT_PITCHES: f64 = 4.0;

/// Features for the holes a plate takes, in job order.
pub(super) fn taken(thickness_mm: f64, holes: &[PlateHole]) -> Vec<Feature> {
    holes
        .iter()
        .map(|h| Feature {
            id: h.name.clone(),
            variants: h.variants.clone(),
            shape: match h.slot {
                Some(track) => Shape::Slot(Slot {
                    track,
                    width_mm: h.diameter_mm,
                    thread: Some(h.thread.clone()),
                }),
                None => Shape::Hole(Hole {
                    centre: h.at,
                    diameter_mm: h.diameter_mm,
                    depth: Depth::Through,
                    mouth: h
                        .counterbore
                        .map(|(diameter_mm, depth_mm, front)| Mouth::Counterbore {
                            diameter_mm,
                            depth_mm,
                            face: if front { Face::Front } else { Face::Back },
                        }),
                    purpose: purpose(h, thickness_mm),
                }),
            },
        })
        .collect()
}

fn purpose(hole: &PlateHole, thickness_mm: f64) -> Purpose {
    match hole.made {
        Made::Clearance => Purpose::Clearance {
            thread: hole.thread.clone(),
        },
        Made::Tapped => Purpose::Tapped {
            thread: hole.thread.clone(),
            thread_depth_mm: thickness_mm,
        },
        Made::Reamed => Purpose::Dowel {
            tolerance: "H7".to_owned(),
        },
    }
}

/// Features the job adds to a plate.
pub(super) fn further(
    spec: &PlateSpec,
    thickness_mm: f64,
    spots: &mut BTreeMap<String, Spot>,
    sink: &mut Sink,
) -> Vec<Feature> {
    let mut out = Vec::with_capacity(spec.features.len());
    for f in &spec.features {
        spots.insert(f.id.clone(), f.spot);
        if let Some(shape) = shape(f, thickness_mm, sink) {
            out.push(Feature {
                id: f.id.clone(),
                variants: Vec::new(),
                shape,
            });
        }
    }
    out
}

fn grid(p: Point) -> Point {
    Point::new(tol::on_input_grid(p.x), tol::on_input_grid(p.y))
}

fn too_deep(f: &FeatureSpec, depth_mm: f64, thickness_mm: f64) -> Diag {
    Diag::new(
        Code::DeeperThanPlate,
        format!(
            "`{}` is {depth_mm:.3} mm deep in a plate {thickness_mm:.3} mm thick",
            f.id
        ),
    )
    .labelled(f.spot, "deeper than the plate")
    .help("leave `depth` out to go right through, or make it less than the thickness")
}

fn shape(f: &FeatureSpec, thickness_mm: f64, sink: &mut Sink) -> Option<Shape> {
    let mut blind = |depth: Option<f64>, face: Face, floor: Floor| match depth {
        None => Some(Depth::Through),
        Some(depth_mm) if depth_mm < thickness_mm => Some(Depth::Blind {
            depth_mm,
            from: face,
            floor,
        }),
        Some(depth_mm) => {
            sink.push(too_deep(f, depth_mm, thickness_mm));
            None
        }
    };
    Some(match &f.kind {
        FeatureKind::Hole {
            at,
            diameter_mm,
            thread,
            fit,
            depth_mm,
            counterbore,
            countersink,
            face,
        } => {
            let bolt = thread.as_deref().and_then(fastener::thread);
            let diameter_mm = diameter_mm
                .or_else(|| fastener::clearance_mm(bolt?.d_mm, fit.unwrap_or(Fit::Medium)))?;
            let mouth = match (counterbore, countersink) {
                (Some((diameter_mm, depth_mm)), _) => Some(Mouth::Counterbore {
                    diameter_mm: *diameter_mm,
                    depth_mm: *depth_mm,
                    face: *face,
                }),
                (None, Some((diameter_mm, angle_deg))) => Some(Mouth::Countersink {
                    diameter_mm: *diameter_mm,
                    angle_deg: *angle_deg,
                    face: *face,
                }),
                (None, None) => None,
            };
            Shape::Hole(Hole {
                centre: grid(*at),
                diameter_mm,
                depth: blind(*depth_mm, *face, Floor::DrillPoint)?,
                mouth,
                purpose: match bolt {
                    Some(t) => Purpose::Clearance {
                        thread: t.name.clone(),
                    },
                    None => Purpose::Plain,
                },
            })
        }
        FeatureKind::Tapped {
            at,
            thread,
            depth_mm,
            face,
        } => {
            let bolt = fastener::thread(thread)?;
            let drilled = depth_mm.map(|d| d + TAP_RUNOUT_PITCHES * bolt.pitch_mm);
            Shape::Hole(Hole {
                centre: grid(*at),
                diameter_mm: bolt.tap_drill_mm,
                depth: blind(drilled, *face, Floor::DrillPoint)?,
                mouth: None,
                purpose: Purpose::Tapped {
                    thread: bolt.name.clone(),
                    thread_depth_mm: depth_mm.unwrap_or(thickness_mm),
                },
            })
        }
        FeatureKind::Dowel {
            at,
            diameter_mm,
            depth_mm,
            face,
        } => Shape::Hole(Hole {
            centre: grid(*at),
            diameter_mm: *diameter_mm,
            depth: blind(*depth_mm, *face, Floor::DrillPoint)?,
            mouth: None,
            purpose: Purpose::Dowel {
                tolerance: "H7".to_owned(),
            },
        }),
        FeatureKind::Slot { from, to, width_mm } => Shape::Slot(Slot {
            track: SlotTrack::Straight {
                from: grid(*from),
                to: grid(*to),
            },
            width_mm: *width_mm,
            thread: None,
        }),
        FeatureKind::ArcSlot {
            about,
            radius_mm,
            from_deg,
            to_deg,
            width_mm,
        } => Shape::Slot(Slot {
            track: SlotTrack::Arc {
                pivot: grid(*about),
                radius_mm: *radius_mm,
                start_rad: from_deg.to_radians(),
                end_rad: to_deg.to_radians(),
            },
            width_mm: *width_mm,
            thread: None,
        }),
        FeatureKind::Pocket {
            points,
            corner_mm,
            depth_mm,
            face,
        } => {
            if *depth_mm >= thickness_mm {
                sink.push(too_deep(f, *depth_mm, thickness_mm));
                return None;
            }
            match drawn::rounded_polygon(points, *corner_mm) {
                Ok(path) => Shape::Pocket {
                    path,
                    depth_mm: *depth_mm,
                    face: *face,
                },
                Err(e) => {
                    sink.push(
                        Diag::new(Code::OutlineFails, format!("pocket `{}`: {e}", f.id))
                            .labelled(f.spot, "this pocket cannot be drawn"),
                    );
                    return None;
                }
            }
        }
        FeatureKind::Groove {
            at,
            inner_mm,
            width_mm,
            depth_mm,
            face,
        } => {
            if *depth_mm >= thickness_mm {
                sink.push(too_deep(f, *depth_mm, thickness_mm));
                return None;
            }
            Shape::Groove {
                centre: grid(*at),
                inner_mm: *inner_mm,
                outer_mm: inner_mm + 2.0 * width_mm,
                depth_mm: *depth_mm,
                face: *face,
            }
        }
        FeatureKind::Mark {
            at,
            text,
            height_mm,
            angle_deg,
        } => match marking::strokes(text, grid(*at), *height_mm, angle_deg.to_radians()) {
            Ok(strokes) => Shape::Mark(Mark {
                text: text.clone(),
                strokes,
            }),
            Err(e) => {
                sink.push(
                    Diag::new(Code::CannotEngrave, format!("mark `{}`: {e}", f.id))
                        .labelled(f.spot, "in this text"),
                );
                return None;
            }
        },
    })
}
