//! F408 and F409: whether an accessory is held by every mount it has, and against turning.

use crate::bracket::Sources;
use crate::geom::{Point3, Vector3};
use crate::layout::{EngineHole, Offer, PlacedAccessory};
use crate::params::accessory::Accessory;
use crate::params::job::HoleRef;
use crate::params::pulley::Load;
use crate::rules::{Finding, Sense, YES_NO};
use crate::tol;

use super::{Measured, StrengthRule};

/// Every mount is taken.
pub(super) const MOUNTS: StrengthRule = StrengthRule {
    id: "F408",
    title: "every mount of the accessory taken",
    unit: YES_NO,
    sense: Sense::AtLeast,
    is_advice: true,
    source: "the accessory's own pattern",
    page: "\
An accessory's file names the holes it is meant to be held by. Each should be taken by a plate\n\
or be bolted to the block; one that is not leaves its share of the load to the others, and the\n\
accessory's maker counted on it. Strength is calculated with the mounts that are taken.\n\
\n\
Bad: a compressor with four lugs on three bolts. Good: a bolt in each lug; a pattern that offers\n\
more holes than are meant to be used belongs in the accessory's file without the spare ones.\n",
};

/// Nothing turns about its own bolts.
pub(super) const TURN: StrengthRule = StrengthRule {
    id: "F409",
    title: "accessory held against turning",
    unit: YES_NO,
    sense: Sense::AtLeast,
    is_advice: false,
    source: "statics",
    page: "\
An accessory on one bolt, or with all its bolts and pins on one line, is a hinge: it can turn\n\
about that line, and only the friction under the heads keeps it. The calculation ties the clamped\n\
rings and would not see it, so it is looked at here. A second line, such as the slotted arm of a\n\
pivoting alternator or a tensioner's pin, holds it.\n\
\n\
An idler on its axle is held: its belt's pull and its weight go through the bolt. That is so where\n\
the shaft drives nothing and both the shaft's line and the centre of mass lie within the ring that\n\
the bolt clamps, so that friction has the longer lever (common practice, no source).\n\
\n\
Bad: an alternator on its pivot bolt alone. Good: the pivot and the adjuster's bolt.\n",
};

/// Two axes are one line when they are parallel to this sine.
const PARALLEL: f64 = 1e-9;

/// Both rules for every placed accessory.
pub(super) fn findings(s: &Sources<'_>) -> Vec<Finding> {
    let placed = s.layout.placed.iter();
    placed
        .filter_map(|p| Some((p, s.loaded.accessories.get(&p.accessory)?)))
        .flat_map(|(p, a)| of(s, p, a))
        .collect()
}

fn of(s: &Sources<'_>, placed: &PlacedAccessory, accessory: &Accessory) -> Vec<Finding> {
    let spot = s
        .loaded
        .job
        .placed
        .iter()
        .find(|p| p.id == placed.id)
        .map_or(crate::diag::Spot::NOWHERE, |p| p.spot);
    let finding = |what: String, holds: bool, mend: &'static str| Measured {
        on: placed.id.clone(),
        at: String::new(),
        what,
        value: f64::from(u8::from(holds)),
        limit: 1.0,
        places: Vec::new(),
        mend,
        spot,
    };
    let (taken, free): (Vec<_>, Vec<_>) = accessory.mounts.iter().partition(|m| {
        is_taken(
            s,
            &HoleRef {
                owner: placed.id.clone(),
                id: m.id.clone(),
            },
        )
    });
    let names = |list: &[&crate::params::accessory::Mount]| -> String {
        let all: Vec<String> = list.iter().map(|m| format!("`{}`", m.id)).collect();
        all.join(", ")
    };
    let count = accessory.mounts.len();
    let what = if free.is_empty() {
        format!("all {count} mounts are taken")
    } else {
        format!(
            "{} of {count} mounts are taken; no plate and no bolt to the block takes {}",
            taken.len(),
            names(&free)
        )
    };
    let mut out = vec![MOUNTS.judge(finding(
        what,
        free.is_empty(),
        "let a plate take it, or leave it out of the accessory's file",
    ))];
    let holes: Vec<&EngineHole> = taken
        .iter()
        .filter_map(|m| {
            s.layout.hole(&HoleRef {
                owner: placed.id.clone(),
                id: m.id.clone(),
            })
        })
        .collect();
    if let Some(first) = holes.first() {
        let is_hinge = holes.iter().all(|h| is_same_line(first, h));
        let holds = !is_hinge || is_balanced(placed, accessory, first);
        let what = match (is_hinge, holds) {
            (false, _) => "its bolts and pins lie on more than one line".to_owned(),
            (true, true) => format!(
                "all that loads it goes through the bolt of {}",
                names(&taken)
            ),
            (true, false) => format!(
                "it can turn about the line of {}, which all that holds it lies on",
                names(&taken)
            ),
        };
        out.push(TURN.judge(finding(
            what,
            holds,
            "hold it at a second place off that line: one more bolt, an adjuster or a pin",
        )));
    }
    out
}

/// Whether a fastener serves a mount, or a plate takes it.
fn is_taken(s: &Sources<'_>, mount: &HoleRef) -> bool {
    s.layout.joints.iter().any(|j| j.holes.contains(mount))
        || s.layout
            .plates
            .iter()
            .flat_map(|p| &p.holes)
            .any(|h| h.target == *mount || h.shared.contains(mount))
}

fn distance_mm(at: Point3, axis: Vector3, p: Point3) -> f64 {
    (p - at).cross(axis).length()
}

fn is_same_line(a: &EngineHole, b: &EngineHole) -> bool {
    a.axis.cross(b.axis).length() < PARALLEL && distance_mm(a.at, a.axis, b.at) < tol::SNAP_MM
}

/// Whether belt and weight pass through the clamped ring of the only line.
fn is_balanced(placed: &PlacedAccessory, accessory: &Accessory, hole: &EngineHole) -> bool {
    let ring_mm = match &hole.offer {
        Offer::Ears { diameter_mm, .. }
        | Offer::ThreadedEar { diameter_mm, .. }
        | Offer::Pad { diameter_mm, .. } => 0.5 * diameter_mm,
        Offer::BlockThread { .. } => 0.0,
    };
    let within = |p: Point3| distance_mm(hole.at, hole.axis, p) <= ring_mm;
    let frame = &placed.frame;
    let c = accessory.centre;
    let centre = frame.to_engine(crate::geom::Point::new(c.x, c.y), c.z);
    // The shaft runs along the local z through the local origin; an arm carries its pulley aside.
    let shaft_is_through = accessory.pulley.is_none()
        || (accessory.arm.is_none()
            && accessory.load == Load::None
            && frame.normal.cross(hole.axis).length() < PARALLEL
            && within(frame.to_engine(crate::geom::Point::ORIGIN, 0.0)));
    shaft_is_through && within(centre)
}
