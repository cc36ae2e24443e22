//! Keys of a plate's further features and windows.

use crate::diag::{Code, Sink};
use crate::feature::Face;
use crate::params::job::{FeatureKind, FeatureSpec, WindowKind, WindowSpec};
use crate::params::record::Record;
use crate::params::spec::{Key, Range, Standard, Table, Type};

use super::job::{self, FITS};
use super::shape;

/// Kinds of features, told apart by their key `kind`.
pub static FEATURES: &[&Table] = &[
    &HOLE, &TAPPED, &DOWEL, &SLOT, &ARC_SLOT, &POCKET, &GROOVE, &MARK,
];

/// Kinds of windows, told apart by their key `kind`.
pub static WINDOWS: &[&Table] = &[&CIRCLE, &SLOT, &POLYGON];

const ID: Key = Key::required("id", Type::Id, "its name, unique in the plate");
const AT: Key = Key::required("at", Type::POINT, "centre [x, y], plate frame, mm");
const DIAMETER: Key = Key::required("diameter", Type::SIZE, "diameter, mm");
const DEPTH: Key = Key::required("depth", Type::SIZE, "depth from its face, mm");
const WIDTH: Key = Key::required("width", Type::SIZE, "width, mm");
const BLIND: Key = Key::optional("depth", Type::SIZE, "blind depth, mm; through unless given");
const FACE: Key = Key::default(
    "face",
    Type::Choice(&[
        ("front", "the face the plate's normal points out of"),
        ("back", "the other face"),
    ]),
    "\"front\"",
    "face it is made from",
);

static HOLE: Table = Table::new(
    "hole",
    "a plain hole, or a clearance hole for a thread",
    &[
        ID,
        AT,
        Key::optional("diameter", Type::SIZE, "diameter, mm"),
        Key::optional(
            "thread",
            Type::Designation(Standard::Thread),
            "bolt that passes with clearance",
        ),
        Key::optional(
            "fit",
            Type::Choice(FITS),
            "clearance series for `thread`; the job's unless given",
        ),
        BLIND,
        Key::optional(
            "counterbore",
            Type::Table(&COUNTERBORE),
            "a cylindrical seat for the head",
        ),
        Key::optional(
            "countersink",
            Type::Table(&COUNTERSINK),
            "a conical seat for the head",
        ),
        FACE,
    ],
)
.one_of(&[&["diameter", "thread"]])
.not_both(&[&["counterbore", "countersink"], &["diameter", "fit"]]);

static COUNTERBORE: Table = Table::new(
    "counterbore",
    "a cylindrical seat below the face",
    &[DIAMETER, DEPTH],
);

static COUNTERSINK: Table = Table::new(
    "countersink",
    "a conical seat whose widest circle lies in the face",
    &[
        Key::required("diameter", Type::SIZE, "diameter in the face, mm"),
        Key::default(
            "angle",
            Type::Number(Range::new(30.0, 150.0, "deg")),
            "90",
            "included angle, deg (90 for heads to ISO 10642)",
        ),
    ],
);

static TAPPED: Table = Table::new(
    "tapped",
    "a tapped hole",
    &[
        ID,
        AT,
        Key::required(
            "thread",
            Type::Designation(Standard::Thread),
            "thread, such as M10x1.5",
        ),
        Key::optional(
            "depth",
            Type::SIZE,
            "full-thread depth, mm; through unless given",
        ),
        FACE,
    ],
);

static DOWEL: Table = Table::new(
    "dowel",
    "a reamed dowel hole, H7",
    &[ID, AT, DIAMETER, BLIND, FACE],
);

static SLOT: Table = Table::new(
    "slot",
    "a straight slot with round ends",
    &[
        ID,
        Key::required(
            "from",
            Type::POINT,
            "centre of one end [x, y], plate frame, mm",
        ),
        Key::required("to", Type::POINT, "centre of the other end [x, y], mm"),
        WIDTH,
    ],
);

static ARC_SLOT: Table = Table::new(
    "arc-slot",
    "an arc slot about a point, counter-clockwise",
    &[
        ID,
        Key::required("about", Type::POINT, "its centre [x, y], plate frame, mm"),
        Key::required("radius", Type::SIZE, "radius of the centre line, mm"),
        Key::required("from", Type::ANGLE, "first end, deg from x"),
        Key::required("to", Type::ANGLE, "last end, deg"),
        WIDTH,
    ],
);

static POCKET: Table = Table::new(
    "pocket",
    "a pocket with a flat floor",
    &[
        ID,
        Key::required(
            "points",
            Type::POLYGON,
            "corners [[x, y], ...], plate frame, mm",
        ),
        Key::required(
            "corner",
            Type::ZERO_OR_SIZE,
            "corner radius, mm; at least the cutter's",
        ),
        DEPTH,
        FACE,
    ],
);

static GROOVE: Table = Table::new(
    "groove",
    "a ring groove for a face seal",
    &[
        ID,
        AT,
        Key::required("inner", Type::SIZE, "inner diameter, mm"),
        Key::required("width", Type::SIZE, "radial width, mm"),
        DEPTH,
        FACE,
    ],
);

static MARK: Table = Table::new(
    "mark",
    "engraved text",
    &[
        ID,
        Key::required(
            "at",
            Type::POINT,
            "lower left corner [x, y], plate frame, mm",
        ),
        Key::required("text", Type::TEXT, "what it says"),
        Key::default(
            "height",
            Type::Length(Range::new(1.0, 100.0, "mm")),
            "5",
            "letter height, mm",
        ),
        Key::default("angle", Type::ANGLE, "0", "direction of writing, deg"),
    ],
);

static CIRCLE: Table = Table::new("circle", "a round window", &[ID, AT, DIAMETER]);

static POLYGON: Table = Table::new(
    "polygon",
    "a window with rounded corners",
    &[
        ID,
        Key::required(
            "points",
            Type::POLYGON,
            "corners [[x, y], ...], plate frame, mm",
        ),
        Key::required(
            "corner",
            Type::ZERO_OR_SIZE,
            "corner radius, mm; at least the cutter's",
        ),
    ],
);

/// Builds a feature.
pub(super) fn feature(r: &Record, sink: &mut Sink) -> Option<FeatureSpec> {
    let kind = match r.table.name {
        "hole" => hole(r, sink)?,
        "tapped" => FeatureKind::Tapped {
            at: r.point("at")?,
            thread: r.string("thread")?,
            depth_mm: r.number("depth"),
            face: face(r)?,
        },
        "dowel" => FeatureKind::Dowel {
            at: r.point("at")?,
            diameter_mm: r.number("diameter")?,
            depth_mm: r.number("depth"),
            face: face(r)?,
        },
        "slot" => FeatureKind::Slot {
            from: r.point("from")?,
            to: r.point("to")?,
            width_mm: r.number("width")?,
        },
        "arc-slot" => arc_slot(r, sink)?,
        "pocket" => FeatureKind::Pocket {
            points: shape::polygon(r.node("points")?, &r.path_of("points"), sink)?,
            corner_mm: r.number("corner")?,
            depth_mm: r.number("depth")?,
            face: face(r)?,
        },
        "groove" => FeatureKind::Groove {
            at: r.point("at")?,
            inner_mm: r.number("inner")?,
            width_mm: r.number("width")?,
            depth_mm: r.number("depth")?,
            face: face(r)?,
        },
        _ => FeatureKind::Mark {
            at: r.point("at")?,
            text: r.string("text")?,
            height_mm: r.number("height")?,
            angle_deg: r.number("angle")?,
        },
    };
    Some(FeatureSpec {
        id: r.string("id")?,
        kind,
        spot: r.spot_of("id"),
    })
}

fn face(r: &Record) -> Option<Face> {
    Some(if r.text("face")? == "back" {
        Face::Back
    } else {
        Face::Front
    })
}

fn hole(r: &Record, sink: &mut Sink) -> Option<FeatureKind> {
    let mouth = |key: &str, second: &str| match r.table_at(key) {
        None if r.has(key) => None,
        None => Some(None),
        Some(m) => Some(Some((m.number("diameter")?, m.number(second)?))),
    };
    let counterbore = mouth("counterbore", "depth")?;
    let countersink = mouth("countersink", "angle")?;
    let diameter_mm = r.number("diameter");
    for key in ["counterbore", "countersink"] {
        let Some(m) = r.table_at(key) else { continue };
        let (Some(hole), Some(wide)) = (diameter_mm, m.number("diameter")) else {
            continue;
        };
        if wide <= hole {
            sink.push(
                super::about(
                    Code::Contradiction,
                    m,
                    "diameter",
                    format!(
                        "the {key} is {} mm wide, no wider than its hole, {} mm",
                        crate::units::plain(wide, 6),
                        crate::units::plain(hole, 6)
                    ),
                )
                .also(r.spot_of("diameter"), "the hole")
                .help("mend one of the two diameters"),
            );
        }
    }
    Some(FeatureKind::Hole {
        at: r.point("at")?,
        diameter_mm,
        thread: r.string("thread"),
        fit: r.text("fit").and_then(job::fit),
        depth_mm: r.number("depth"),
        counterbore,
        countersink,
        face: face(r)?,
    })
}

fn arc_slot(r: &Record, sink: &mut Sink) -> Option<FeatureKind> {
    let (from_deg, to_deg) = super::later(r, "from", "to", "deg", sink)?;
    let (radius_mm, width_mm) = (r.number("radius")?, r.number("width")?);
    let too_long = to_deg - from_deg >= 360.0;
    if too_long || 0.5 * width_mm >= radius_mm {
        let (key, what) = if too_long {
            (
                "to",
                "the slot runs all the way round: less than 360 deg is needed",
            )
        } else {
            (
                "width",
                "the slot is wider than twice its radius: its inner edge vanishes",
            )
        };
        sink.push(
            super::about(Code::Contradiction, r, key, what)
                .also(r.spot, "this slot")
                .help("mend the radius, the width or the ends"),
        );
    }
    Some(FeatureKind::ArcSlot {
        about: r.point("about")?,
        radius_mm,
        from_deg,
        to_deg,
        width_mm,
    })
}

/// Builds a window.
pub(super) fn window(r: &Record, sink: &mut Sink) -> Option<WindowSpec> {
    let kind = match r.table.name {
        "circle" => WindowKind::Circle {
            at: r.point("at")?,
            diameter_mm: r.number("diameter")?,
        },
        "slot" => WindowKind::Slot {
            from: r.point("from")?,
            to: r.point("to")?,
            width_mm: r.number("width")?,
        },
        _ => WindowKind::Polygon {
            points: shape::polygon(r.node("points")?, &r.path_of("points"), sink)?,
            corner_mm: r.number("corner")?,
        },
    };
    Some(WindowSpec {
        id: r.string("id")?,
        kind,
        spot: r.spot_of("id"),
    })
}
