//! A layout's joint as the joint computations want it: screw, layers from the head down, thread or nut.

use crate::geom::{Point, Region};
use crate::joint::hole::Surroundings;
use crate::joint::length::TIP_CLEARANCE_PITCHES;
use crate::joint::preload::UTILISATION;
use crate::joint::{
    Assembly, End, Fastening, Layer, LayerKind, Metal, PlateHole, Screw, Stack, TappedHole,
};
use crate::layout::{self, Joint, Offer, Part, ThreadIn, fastener};
use crate::platework::MadePlate;
use crate::tables::{
    Embeddings, Engagements, Frictions, Lengths, Materials, Nuts, PropertyClasses, Tightenings,
    Washers,
};

use super::{Bolted, Sources};

/// Material of an ear whose file names none: a pressure die-cast housing (common practice, no source).
const EAR_MATERIAL: &str = "EN AC-46000-DF";

/// Material of turned spacers (common practice, no source: free-cutting steel is at least as strong).
const SPACER_MATERIAL: &str = "S235JR";

/// Wall for which a part's strength is read where its files give none, mm: blocks and ears are
/// cast, spacers turned from bar under 16 mm wall (common practice, no source).
const OTHER_WALL_MM: f64 = 10.0;

/// Surface grade of clamped faces: rolled sheet and machined pads (VDI 2230-1 T.5, Rz 10 to 40).
const SURFACE: &str = "machined";

/// A metal by its designation.
fn metal(name: &str, thickness_mm: f64) -> Option<Metal> {
    Materials::standard()
        .material(name, thickness_mm)
        .ok()
        .map(Metal::from)
}

/// The fastener of a joint with how it is tightened; `None` where a table has no row.
pub(super) fn fastening(s: &Sources<'_>, joint: &Joint) -> Option<Fastening> {
    let f = &s.loaded.job.fasteners;
    let thread = fastener::thread(&joint.thread)?;
    let head = fastener::head(joint.head, thread.d_mm)?;
    let class = PropertyClasses::standard()
        .class(&joint.class, thread.d_mm)
        .ok()?;
    let end = end(s, joint)?;
    let engagement = match &end {
        End::Tapped(h) => Engagements::standard().rule(h.metal.group).ok()?,
        // A nut's own height is its engagement; the row is not used.
        End::Nut(_) => Engagements::standard()
            .rule(crate::tables::Group::Steel)
            .ok()?,
    };
    Some(Fastening {
        stack: Stack {
            place: joint.id.clone(),
            screw: Screw {
                thread: thread.clone(),
                class: class.clone(),
                head: head.clone(),
                finish: f.lubrication.clone(),
            },
            layers: layers(s, joint)?,
            end,
            engagement: engagement.clone(),
            fixed_length_mm: None,
            lengths_mm: Lengths::standard().preferred_mm(),
        },
        assembly: Assembly {
            lubrication: Frictions::standard().get(&f.lubrication).ok()?.clone(),
            locker: if f.thread_locker {
                Some(Frictions::standard().get("thread-locker").ok()?.clone())
            } else {
                None
            },
            method: Tightenings::standard().get(&f.tightening).ok()?.clone(),
            utilisation: UTILISATION,
            fixed_torque_nm: None,
        },
        surface: Embeddings::standard().get(SURFACE).ok()?.clone(),
        service_c: vec![f.cold_c, f.hot_c],
    })
}

/// The plate's hole a joint passes through.
fn hole_of<'a>(
    s: &Sources<'a>,
    plate: &str,
    joint: &Joint,
) -> Option<(&'a MadePlate, &'a layout::PlateHole)> {
    let made = s.plates.iter().find(|m| m.plate.id == plate)?;
    let hole = made
        .holes
        .iter()
        .find(|h| joint.holes.contains(&h.target))?;
    Some((made, hole))
}

/// Whether the layer holds the thread: a tapped plate, or the threaded ear away from the head.
fn holds_thread(joint: &Joint, index: usize) -> bool {
    let Some(layer) = joint.layers.get(index) else {
        return false;
    };
    let far = if joint.head_high {
        0
    } else {
        joint.layers.len() - 1
    };
    match (&joint.thread_in, &layer.part) {
        (ThreadIn::Plate { plate }, Part::Plate(p)) => plate == p,
        (ThreadIn::Ear { .. }, Part::Ear(_)) => index == far,
        _ => false,
    }
}

fn layers(s: &Sources<'_>, joint: &Joint) -> Option<Vec<Layer>> {
    let mut out = Vec::with_capacity(joint.layers.len() + 1);
    let thread = fastener::thread(&joint.thread)?;
    if joint.washer {
        out.push(washer(&thread.size())?);
    }
    let mut order: Vec<usize> = (0..joint.layers.len()).collect();
    if joint.head_high {
        order.reverse();
    }
    for (n, &i) in order.iter().enumerate() {
        let (Some(l), false) = (joint.layers.get(i), holds_thread(joint, i)) else {
            continue;
        };
        let thickness_mm = l.thickness_mm();
        let layer = match &l.part {
            Part::Plate(id) => {
                let (made, hole) = hole_of(s, id, joint)?;
                let sunk = hole.counterbore.filter(|_| n == 0).map_or(0.0, |c| c.1);
                Layer {
                    kind: LayerKind::Plate,
                    name: format!("plate {id}"),
                    thickness_mm,
                    sunk_mm: sunk,
                    hole_mm: hole.diameter_mm,
                    outer_mm: hole.boss_mm,
                    metal: metal(&made.plate.material, made.plate.thickness_mm)?,
                }
            }
            Part::Spacer {
                bore_um,
                outside_um,
            } => {
                let spacer = |name: String, thickness_mm: f64| -> Option<Layer> {
                    Some(Layer {
                        kind: LayerKind::Spacer,
                        name,
                        thickness_mm,
                        sunk_mm: 0.0,
                        hole_mm: *bore_um as f64 * 1e-3,
                        outer_mm: *outside_um as f64 * 1e-3,
                        metal: metal(SPACER_MATERIAL, OTHER_WALL_MM)?,
                    })
                };
                // Every piece of a stack has faces of its own that settle.
                for p in &l.pieces {
                    out.push(spacer(p.words(), p.length_mm)?);
                }
                if !l.pieces.is_empty() {
                    continue;
                }
                spacer(format!("spacer {thickness_mm:.2}"), thickness_mm)?
            }
            Part::Ear(target) => {
                let (hole_mm, outer_mm, material) = match &s.layout.hole(target)?.offer {
                    Offer::Ears {
                        hole_mm,
                        diameter_mm,
                        ..
                    }
                    | Offer::Pad {
                        hole_mm,
                        diameter_mm,
                        ..
                    } => (*hole_mm, *diameter_mm, EAR_MATERIAL),
                    Offer::ThreadedEar {
                        diameter_mm,
                        material,
                        ..
                    } => (thread.d_mm, *diameter_mm, material.as_str()),
                    Offer::BlockThread { .. } => return None,
                };
                Layer {
                    kind: LayerKind::Ear,
                    name: format!("ear {target}"),
                    thickness_mm,
                    sunk_mm: 0.0,
                    hole_mm,
                    outer_mm,
                    metal: metal(material, thickness_mm)?,
                }
            }
        };
        out.push(layer);
    }
    // A plain nut's small face would dig into light metal: it always gets a washer.
    if joint.thread_in == ThreadIn::Nut {
        out.push(washer(&thread.size())?);
    }
    Some(out)
}

/// The plain washer for a bolt size.
fn washer(size: &str) -> Option<Layer> {
    let w = Washers::standard().washer("ISO 7089", size).ok()?;
    Some(Layer {
        kind: LayerKind::Washer,
        name: format!("{} {}", w.standard, w.size),
        thickness_mm: w.thickness_mm,
        sunk_mm: 0.0,
        hole_mm: w.inner_mm,
        outer_mm: w.outer_mm,
        metal: metal(SPACER_MATERIAL, w.thickness_mm)?,
    })
}

fn end(s: &Sources<'_>, joint: &Joint) -> Option<End> {
    let thread = fastener::thread(&joint.thread)?;
    let floor = |depth: f64| depth + TIP_CLEARANCE_PITCHES * thread.pitch_mm;
    Some(match &joint.thread_in {
        // The files give usable thread; below it lies at least the tap's run-out,
        // longer than this tip clearance (DIN 76-1, from memory).
        ThreadIn::Block { depth_mm, material } => End::Tapped(TappedHole {
            name: joint.id.clone(),
            metal: metal(material, OTHER_WALL_MM)?,
            thread_depth_mm: *depth_mm,
            floor_mm: Some(floor(*depth_mm)),
            mouth_mm: 0.0,
            outer_mm: f64::INFINITY,
        }),
        ThreadIn::Ear { depth_mm, material } => {
            let far = if joint.head_high {
                joint.layers.first()
            } else {
                joint.layers.last()
            }?;
            let through = *depth_mm >= far.thickness_mm() - crate::tol::RULE_MM;
            End::Tapped(TappedHole {
                name: far.name(),
                metal: metal(material, OTHER_WALL_MM)?,
                thread_depth_mm: *depth_mm,
                floor_mm: (!through).then(|| floor(*depth_mm)),
                mouth_mm: 0.0,
                outer_mm: far.bears_mm.unwrap_or(f64::INFINITY),
            })
        }
        ThreadIn::Plate { plate } => {
            let (made, hole) = hole_of(s, plate, joint)?;
            End::Tapped(TappedHole {
                name: format!("plate {plate}"),
                metal: metal(&made.plate.material, made.plate.thickness_mm)?,
                thread_depth_mm: made.plate.thickness_mm,
                floor_mm: None,
                mouth_mm: 0.0,
                outer_mm: hole.boss_mm,
            })
        }
        ThreadIn::Nut => End::Nut(
            Nuts::standard()
                .nut("ISO 4032", &thread.size())
                .ok()?
                .clone(),
        ),
    })
}

/// The plate holes a bolt presses on: plate, hole, centre in the plate's frame.
pub(super) fn plate_holes(
    s: &Sources<'_>,
    joint: &Joint,
    bolted: &Bolted,
) -> Vec<(String, PlateHole, Point)> {
    let screw = &bolted.fastening.stack.screw;
    let head = &screw.head;
    let across = head
        .corners_min_mm
        .map_or(head.head_dia_mm, |c| 0.5 * (c + head.drive_mm));
    joint
        .layers
        .iter()
        .filter_map(|l| {
            let Part::Plate(id) = &l.part else {
                return None;
            };
            let (made, hole) = hole_of(s, id, joint)?;
            let plate = &made.plate;
            let region = Region {
                outer: plate.outline.clone(),
                openings: plate
                    .features
                    .iter()
                    .filter_map(crate::feature::Feature::footprint)
                    .collect(),
            };
            let others: Vec<Point> = made
                .holes
                .iter()
                .filter(|h| h.target != hole.target)
                .map(|h| h.at)
                .collect();
            let sunk = hole.counterbore.map_or(0.0, |c| c.1);
            Some((
                id.clone(),
                PlateHole {
                    place: hole.target.to_string(),
                    thread: screw.thread.clone(),
                    class: screw.class.clone(),
                    hole_mm: hole.diameter_mm.max(screw.thread.d_mm),
                    thickness_mm: plate.thickness_mm - sunk,
                    ultimate_mpa: metal(&plate.material, plate.thickness_mm)?.ultimate_mpa,
                    head_mean_mm: across.min(head.bearing_dia_mm),
                    around: Surroundings::nearest(&region, hole.at, &others),
                    threads_in_shear: true,
                },
                hole.at,
            ))
        })
        .collect()
}
