//! The mocked-up drive out of a job: which bolts hold which plate and accessory, where a washer can go, and what play there is.
//!
//! A plate is a mount on the bolts that hold it to the block. An accessory is
//! a mount on its own bolts, carried by the plate they all go into; one that
//! hangs between two plates is taken as standing by itself, since washers
//! under one of those plates would bend rather than move it.

use crate::drive::{self, path::BeltPath};
use crate::geom::Frame;
use crate::layout::{Joint, Layer, Layout, Offer, Part, PlatePlace, seat::Made};
use crate::params::job::HoleRef;
use crate::tables::Threads;

use super::mount::{
    BEND_LIMIT_MM, Bolt, Drive, Fork, LEAN_LIMIT_DEG, Mount, Place, Pulley, SPAN_LIMIT_DEG,
    STOCK_MM, Span, TILT_LIMIT_DEG,
};

/// Thickest pack of washers at one bolt, mm; beyond it a spacer belongs there (common practice, no source).
pub const MOST_PACK_MM: f64 = 2.0;

/// Most washers in a pack: more of them creep (common practice, no source).
pub const MOST_IN_PACK: usize = 2;

/// The drive of a job as the rod finds it.
///
/// `belt` and `path` are the job's belt drive and its path; the reference is
/// the driving pulley. Nothing is fitted yet: the mock-up is bare.
pub fn drive_of(layout: &Layout, belt: &drive::Drive, path: &BeltPath) -> Drive {
    let mut mounts: Vec<Mount> = layout
        .plates
        .iter()
        .filter_map(|p| plate_mount(p, layout))
        .collect();
    for placed in &layout.placed {
        mounts.extend(accessory_mount(&placed.id, layout));
    }
    let spans: Vec<Span> = path
        .spans
        .iter()
        .map(|s| Span {
            from: path.contacts[s.from].id.clone(),
            to: path.contacts[s.to].id.clone(),
            length_mm: s.length_mm,
            limit_deg: SPAN_LIMIT_DEG,
        })
        .collect();
    let pulleys = belt
        .pulleys
        .iter()
        .zip(centres(belt, path))
        .map(|(p, centre)| {
            let shortest = spans
                .iter()
                .filter(|s| s.from == p.id || s.to == p.id)
                .map(|s| s.length_mm)
                .fold(f64::INFINITY, f64::min);
            let offset_limit = SPAN_LIMIT_DEG.to_radians().tan() * shortest;
            Pulley {
                name: p.id.clone(),
                mount: mounts
                    .iter()
                    .find(|m| m.name == p.owner)
                    .map(|m| m.name.clone()),
                centre: crate::geom::Point3::new(centre.x, centre.y, p.rib_plane_z_mm),
                rim_radius_mm: 0.5 * p.rim_diameter_mm,
                face_mm: 0.5 * p.width_mm,
                offset_limit_mm: if offset_limit.is_finite() {
                    offset_limit
                } else {
                    1.0
                },
                tilt_limit_deg: TILT_LIMIT_DEG,
            }
        })
        .collect();
    Drive {
        name: belt.name.clone(),
        reference: belt
            .pulleys
            .get(belt.driver)
            .map_or_else(String::new, |p| p.id.clone()),
        pulleys,
        mounts,
        spans,
        stock_mm: STOCK_MM.to_vec(),
    }
}

/// Centres the path uses: an adjusted accessory and a spring arm stand where the belt holds them.
fn centres(belt: &drive::Drive, path: &BeltPath) -> Vec<crate::geom::Point> {
    belt.pulleys
        .iter()
        .enumerate()
        .map(|(i, p)| {
            path.contacts
                .iter()
                .find(|c| c.pulley == i)
                .map_or(p.centre, |c| c.centre_mm)
        })
        .collect()
}

/// What a plate is called among the mounts: an accessory may have its name.
pub(super) fn plate_name(id: &str) -> String {
    format!("{id} plate")
}

/// What a bolt is called at the bench: the hole it sits in.
fn bolt_name(joint: &Joint, owner: &str) -> String {
    joint
        .holes
        .iter()
        .find(|h| h.owner == owner)
        .map_or_else(|| joint.id.clone(), |h| h.id.clone())
}

/// Radial play of a bolt in a hole, mm.
fn play_mm(hole_mm: f64, thread: &str) -> f64 {
    Threads::standard()
        .thread(thread)
        .map_or(0.0, |t| (0.5 * (hole_mm - t.d_mm)).max(0.0))
}

/// A place for washers.
fn place(between: [String; 2], inwards: bool) -> Place {
    Place {
        between,
        fitted_mm: Vec::new(),
        inwards,
        most_mm: MOST_PACK_MM,
        most_pieces: MOST_IN_PACK,
        fork: None,
    }
}

/// Length of a layer that is a spacer, mm.
fn spacer_mm(layer: Option<&Layer>) -> Option<f64> {
    layer
        .filter(|l| matches!(l.part, Part::Spacer { .. }))
        .map(Layer::thickness_mm)
}

/// What an ear bears on, in words.
fn seat_words(spacer_mm: Option<f64>, plate: &PlatePlace) -> String {
    if spacer_mm.is_some() {
        "its spacer".to_owned()
    } else {
        plate_name(&plate.id)
    }
}

/// The place at a plate between two ears, at these layers of the joint; none when no spacer leaves it room.
///
/// A washer before the plate moves the accessory outwards and takes its room
/// from the spacer behind; one behind it moves it inwards and takes its room
/// from the spacer before.
fn fork_place(joint: &Joint, low: usize, plate: usize, high: usize, name: &str) -> Option<Place> {
    let behind = spacer_mm(joint.layers[low..plate].last());
    let before = spacer_mm(joint.layers.get(plate + 1).filter(|_| plate + 1 < high));
    let ears = if joint.axis.z.abs() > 0.5 {
        ["front ear", "rear ear"]
    } else {
        ["outer ear", "inner ear"]
    };
    let between = |ear: usize, spacer: Option<f64>| {
        let what = if spacer.is_some() {
            format!("the spacer of its {}", ears[ear])
        } else {
            format!("its {}", ears[ear])
        };
        [what, name.to_owned()]
    };
    let fork = Fork {
        across_mm: behind.or(before),
        other: behind.and(before).map(|f| (between(1, behind), f)),
    };
    let (side, spacer) = match (behind, before) {
        (Some(_), _) => (0, before),
        (None, Some(_)) => (1, behind),
        (None, None) => return None,
    };
    Some(Place {
        fork: Some(fork),
        ..place(between(side, spacer), side == 1)
    })
}

/// A plate on the bolts that hold it to the block or to another plate.
fn plate_mount(plate: &PlatePlace, layout: &Layout) -> Option<Mount> {
    let mut bolts = Vec::new();
    let mut below: Vec<Option<String>> = Vec::new();
    for joint in &layout.joints {
        let Some(at) = joint
            .layers
            .iter()
            .position(|l| l.part == Part::Plate(plate.id.clone()))
        else {
            continue;
        };
        if !joint.holes.iter().any(|h| h.owner == "block") {
            continue;
        }
        let under = &joint.layers[..at];
        let spacer = spacer_mm(under.last());
        let carrier = under.iter().rev().find_map(|l| match &l.part {
            Part::Plate(p) => Some(plate_name(p)),
            _ => None,
        });
        let on_what = carrier.clone().unwrap_or_else(|| "block".to_owned());
        let between = [
            "plate".to_owned(),
            if spacer.is_some() {
                "its spacer".to_owned()
            } else {
                on_what
            },
        ];
        let hole = plate
            .holes
            .iter()
            .find(|h| joint.holes.contains(&h.target) && h.made == Made::Clearance);
        bolts.push(Bolt {
            name: bolt_name(joint, "block"),
            at: plate.frame.to_plane(joint.at).0,
            place: Some(place(between, false)),
            spacer_mm: spacer,
            play_mm: hole.map_or(0.0, |h| play_mm(h.diameter_mm, &joint.thread)),
        });
        below.push(carrier);
    }
    let on = one_carrier(&below);
    (!bolts.is_empty()).then(|| mount(&plate_name(&plate.id), on, plate.frame, bolts))
}

/// The plate all bolts go into, if it is one.
fn one_carrier(carriers: &[Option<String>]) -> Option<String> {
    let first = carriers.first()?.clone()?;
    carriers
        .iter()
        .all(|c| c.as_ref() == Some(&first))
        .then_some(first)
}

/// A mount with the usual limits.
fn mount(name: &str, on: Option<String>, seat: Frame, bolts: Vec<Bolt>) -> Mount {
    Mount {
        name: name.to_owned(),
        on,
        seat,
        bolts,
        bend_limit_mm: BEND_LIMIT_MM,
        lean_limit_deg: LEAN_LIMIT_DEG,
    }
}

/// An accessory on its own bolts.
fn accessory_mount(id: &str, layout: &Layout) -> Option<Mount> {
    let mut bolts = Vec::new();
    let mut carriers = Vec::new();
    let mut seat = None;
    for joint in &layout.joints {
        let is_ear = |part: &Part| matches!(part, Part::Ear(HoleRef { owner, .. }) if owner == id);
        let ears: Vec<usize> = (0..joint.layers.len())
            .filter(|i| is_ear(&joint.layers[*i].part))
            .collect();
        let (Some(low), Some(high)) = (ears.first(), ears.last()) else {
            continue;
        };
        let plate_of = |part: &Part| match part {
            Part::Plate(p) => layout.plates.iter().find(|q| q.id == *p),
            _ => None,
        };
        let below = joint.layers[..*low]
            .iter()
            .rev()
            .find_map(|l| plate_of(&l.part));
        let above = joint.layers[*high + 1..]
            .iter()
            .find_map(|l| plate_of(&l.part));
        let within = (*low..=*high).find_map(|i| Some((i, plate_of(&joint.layers[i].part)?)));
        let (plate, face_mm, place, spacer_mm) = match (within, below, above) {
            (Some((i, p)), _, _) => {
                let place = fork_place(joint, *low, i, *high, &plate_name(&p.id));
                (p, joint.layers[i].high_mm, place, None)
            }
            (None, Some(p), _) => {
                let spacer = spacer_mm(joint.layers[..*low].last());
                let between = [id.to_owned(), seat_words(spacer, p)];
                let place = Some(place(between, false));
                (p, joint.layers[*low].low_mm, place, spacer)
            }
            (None, None, Some(p)) => {
                let spacer = spacer_mm(joint.layers.get(high + 1));
                let between = [id.to_owned(), seat_words(spacer, p)];
                let place = Some(place(between, true));
                (p, joint.layers[*high].high_mm, place, spacer)
            }
            (None, None, None) => continue,
        };
        let frame = *seat.get_or_insert_with(|| {
            let height = (plate.frame.origin - crate::geom::Point3::ORIGIN).dot(joint.axis);
            plate.frame.raised(face_mm - height)
        });
        let hole = joint
            .holes
            .iter()
            .find(|h| h.owner == id)
            .and_then(|h| layout.hole(h));
        let play = match hole.map(|h| &h.offer) {
            Some(Offer::Ears { hole_mm, .. } | Offer::Pad { hole_mm, .. }) => {
                play_mm(*hole_mm, &joint.thread)
            }
            _ => 0.0,
        };
        bolts.push(Bolt {
            name: bolt_name(joint, id),
            at: frame.to_plane(joint.at).0,
            place,
            spacer_mm,
            play_mm: play,
        });
        carriers.push(Some(plate_name(&plate.id)));
    }
    let on = one_carrier(&carriers);
    Some(mount(id, on, seat?, bolts))
}
