//! Features of a plate from the holes it takes and from what its job adds.

use std::collections::BTreeMap;
use std::sync::Arc;

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
            variants: Arc::clone(&h.variants),
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
    fit: Fit,
    spots: &mut BTreeMap<String, Spot>,
    sink: &mut Sink,
) -> Vec<Feature> {
    let mut out = Vec::with_capacity(spec.features.len());
    for f in &spec.features {
        spots.insert(f.id.clone(), f.spot);
        if let Some(shape) = shape(f, thickness_mm, fit, sink) {
            out.push(Feature {
                id: f.id.clone(),
                variants: Arc::default(),
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

/// Through, or blind with the cone that a drill leaves; a finding where no floor is left.
fn depth(
    f: &FeatureSpec,
    depth_mm: Option<f64>,
    face: Face,
    thickness_mm: f64,
    sink: &mut Sink,
) -> Option<Depth> {
    match depth_mm {
        None => Some(Depth::Through),
        Some(depth_mm) if depth_mm < thickness_mm => Some(Depth::Blind {
            depth_mm,
            from: face,
            floor: Floor::DrillPoint,
        }),
        Some(depth_mm) => {
            sink.push(too_deep(f, depth_mm, thickness_mm));
            None
        }
    }
}

/// Whether a mouth is wider than its hole and ends before the hole does; a finding where it is not.
fn fits(f: &FeatureSpec, mouth: &Mouth, hole_mm: f64, deep_mm: f64, sink: &mut Sink) -> bool {
    let (name, wide_mm) = match *mouth {
        Mouth::Counterbore { diameter_mm, .. } => ("counterbore", diameter_mm),
        Mouth::Countersink { diameter_mm, .. } => ("countersink", diameter_mm),
    };
    let mut misfit = |what: String, help: &str| {
        sink.push(
            Diag::new(Code::MouthMisfit, format!("`{}`: {what}", f.id))
                .labelled(f.spot, format!("the {name} of this hole"))
                .help(help),
        );
        false
    };
    if wide_mm <= hole_mm + tol::RULE_MM {
        return misfit(
            format!("its {name} is {wide_mm:.3} mm wide, its hole {hole_mm:.3} mm"),
            "a mouth is wider than its hole",
        );
    }
    let sink_mm = mouth.depth_mm(hole_mm);
    if sink_mm >= deep_mm - tol::RULE_MM {
        return misfit(
            format!("its {name} is {sink_mm:.3} mm deep, its hole {deep_mm:.3} mm"),
            "make the mouth shallower or the hole deeper",
        );
    }
    true
}

/// A slot, unless its ends meet.
fn slot(f: &FeatureSpec, track: SlotTrack, width_mm: f64, sink: &mut Sink) -> Option<Shape> {
    if track.meets_itself(width_mm) {
        sink.push(
            Diag::new(
                Code::SlotClosesOnItself,
                format!("slot `{}` runs into its own other end", f.id),
            )
            .labelled(f.spot, "its middle would fall out")
            .help("bring `from` and `to` nearer to each other"),
        );
        return None;
    }
    Some(Shape::Slot(Slot {
        track,
        width_mm,
        thread: None,
    }))
}

#[expect(
    clippy::too_many_lines,
    reason = "one arm for each kind of feature, nothing else"
)]
fn shape(f: &FeatureSpec, thickness_mm: f64, usual: Fit, sink: &mut Sink) -> Option<Shape> {
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
            let diameter_mm =
                diameter_mm.or_else(|| fastener::clearance_mm(bolt?.d_mm, fit.unwrap_or(usual)))?;
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
            let deep_mm = depth_mm.unwrap_or(thickness_mm).min(thickness_mm);
            if let Some(m) = mouth
                && !fits(f, &m, diameter_mm, deep_mm, sink)
            {
                return None;
            }
            Shape::Hole(Hole {
                centre: grid(*at),
                diameter_mm,
                depth: depth(f, *depth_mm, *face, thickness_mm, sink)?,
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
                depth: depth(f, drilled, *face, thickness_mm, sink)?,
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
            depth: depth(f, *depth_mm, *face, thickness_mm, sink)?,
            mouth: None,
            purpose: Purpose::Dowel {
                tolerance: "H7".to_owned(),
            },
        }),
        FeatureKind::Slot { from, to, width_mm } => {
            let track = SlotTrack::Straight {
                from: grid(*from),
                to: grid(*to),
            };
            return slot(f, track, *width_mm, sink);
        }
        FeatureKind::ArcSlot {
            about,
            radius_mm,
            from_deg,
            to_deg,
            width_mm,
        } => {
            let track = SlotTrack::Arc {
                pivot: grid(*about),
                radius_mm: *radius_mm,
                start_rad: from_deg.to_radians(),
                end_rad: to_deg.to_radians(),
            };
            return slot(f, track, *width_mm, sink);
        }
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
                            .labelled(f.spot, "this pocket cannot be drawn")
                            .help("mend its corners or make their radius smaller"),
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
                        .labelled(f.spot, "in this text")
                        .help("write it with letters without accents, digits and common signs"),
                );
                return None;
            }
        },
    })
}
