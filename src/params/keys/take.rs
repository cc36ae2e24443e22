//! Keys of the holes a plate takes, and of the slots its bolts slide in.

use crate::diag::{Code, Diag, Sink};
use crate::params::job::{Make, SlotSpec, Take};
use crate::params::record::Node;
use crate::params::spec::{Key, Table, Type};
use crate::units::plain;

use super::job::{self, FITS, HEADS};
use super::shape::{reference, split_reference};

/// A hole a plate takes.
pub static TAKE: Table = Table::new(
    "hole taken",
    "a hole of the block or of an accessory that the plate takes",
    &[
        Key::required("take", Type::Reference, "which one"),
        Key::optional(
            "make",
            Type::Choice(&[
                ("clearance", "a clearance hole"),
                ("tapped", "a tapped hole"),
                ("reamed", "a reamed hole, H7, of the mount's hole size"),
            ]),
            "what is made for it; what its kind asks for unless given",
        ),
        Key::optional(
            "fit",
            Type::Choice(FITS),
            "clearance series; the job's unless given",
        ),
        Key::optional(
            "boss",
            Type::SIZE,
            "boss diameter, mm; from the edge-distance rule and the seat unless given",
        ),
        Key::default(
            "counterbore",
            Type::Flag,
            "false",
            "whether the head is sunk in a counterbore",
        ),
        Key::optional(
            "slot",
            Type::Either(&[
                Type::Choice(&[("drive", "as long as the belt drive's take-up needs")]),
                Type::Marked(&[&SWING_SLOT, &SLIDE_SLOT]),
            ]),
            "slot in which the bolt slides",
        ),
        Key::optional(
            "head",
            Type::Choice(HEADS),
            "head of this bolt; the job's unless given",
        ),
    ],
);

static SWING_SLOT: Table = Table::new(
    "arc slot",
    "along a circle about a hole",
    &[
        Key::required("about", Type::Reference, "the hole it swings about"),
        Key::required(
            "from",
            Type::ANGLE,
            "first end, deg from the hole's own position, counter-clockwise positive",
        ),
        Key::required("to", Type::ANGLE, "last end, deg"),
    ],
);

static SLIDE_SLOT: Table = Table::new(
    "straight slot",
    "along a direction in the plate's plane",
    &[
        Key::required(
            "direction",
            Type::ANGLE,
            "direction, deg from the plate's x",
        ),
        Key::required(
            "from",
            Type::POSITION,
            "first end from the hole's own position, mm",
        ),
        Key::required("to", Type::POSITION, "last end, mm"),
    ],
);

/// Builds a hole taken: its name alone, or a table.
pub(super) fn take(node: &Node, sink: &mut Sink) -> Option<Take> {
    let Some(t) = node.table() else {
        return Some(Take {
            target: split_reference(node.text()?),
            make: None,
            fit: None,
            boss_mm: None,
            counterbore: false,
            slot: None,
            head: None,
            spot: node.spot,
        });
    };
    let slot = if t.has("slot") {
        Some(slot(t.node("slot")?, sink)?)
    } else {
        None
    };
    Some(Take {
        target: reference(t, "take")?,
        make: t.text("make").map(|word| match word {
            "tapped" => Make::Tapped,
            "reamed" => Make::Reamed,
            _ => Make::Clearance,
        }),
        fit: t.text("fit").and_then(job::fit),
        boss_mm: t.number("boss"),
        counterbore: t.flag("counterbore")?,
        slot,
        head: t.text("head").and_then(job::head),
        spot: t.spot_of("take"),
    })
}

fn slot(node: &Node, sink: &mut Sink) -> Option<SlotSpec> {
    let Some(t) = node.table() else {
        return (node.text()? == "drive").then_some(SlotSpec::Drive);
    };
    if t.table.name == SWING_SLOT.name {
        let (from_deg, to_deg) = super::later(t, "from", "to", "deg", sink)?;
        if to_deg - from_deg >= 360.0 {
            sink.push(
                super::about(
                    Code::Contradiction,
                    t,
                    "to",
                    format!(
                        "the slot runs over {} deg, less than 360 deg is needed",
                        plain(to_deg - from_deg, 6)
                    ),
                )
                .also(t.spot_of("from"), "its first end")
                .help("a slot all the way round would cut its middle out"),
            );
        }
        return Some(SlotSpec::Swing {
            about: reference(t, "about")?,
            from_deg,
            to_deg,
        });
    }
    let (from_mm, to_mm) = super::later(t, "from", "to", "mm", sink)?;
    Some(SlotSpec::Slide {
        direction_deg: t.number("direction")?,
        from_mm,
        to_mm,
    })
}

/// Reports holes a plate takes twice.
pub(super) fn taken_twice(takes: &[Take], path: &str, sink: &mut Sink) {
    for (i, take) in takes.iter().enumerate() {
        if let Some(first) = takes.iter().take(i).find(|t| t.target == take.target) {
            sink.push(
                Diag::new(
                    Code::DuplicateName,
                    format!("`{}` is taken twice", take.target),
                )
                .at(take.spot)
                .key(path)
                .also(first.spot, "taken here already")
                .help("drop one of the two"),
            );
        }
    }
}
