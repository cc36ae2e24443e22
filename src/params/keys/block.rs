//! Keys of the block file.

use crate::diag::{Code, Sink};
use crate::params::block::{Block, BlockHole, Engine, FixedPulley, Keepout, KeepoutKind};
use crate::params::record::Record;
use crate::params::spec::{FileKind, Key, Standard, Table, Type};

use super::shape::{AXIS, CYLINDER, SAME_PLACE_MM};
use super::{ParamFile, pulley, shape};

/// What a block file holds.
pub static BLOCK: FileKind = FileKind {
    name: "block",
    folder: "blocks",
    table: &TABLE,
};

static TABLE: Table = Table::new(
    "block",
    "an engine's measured side: threaded holes, fixed pulleys, keep-outs",
    &[
        Key::required("title", Type::TEXT, "what a person calls the engine"),
        Key::required("engine", Type::Table(&ENGINE), "engine data"),
        Key::default(
            "hole",
            Type::tables(&Type::Table(&HOLE)),
            "[]",
            "threaded holes",
        ),
        Key::default(
            "pulley",
            Type::tables(&Type::Table(&PULLEY)),
            "[]",
            "pulleys that do not move",
        ),
        Key::default(
            "keepout",
            Type::tables(&Type::Table(&KEEPOUT)),
            "[]",
            "space that must stay free",
        ),
    ],
);

static ENGINE: Table = Table::new(
    "engine",
    "engine data that speed and vibration checks need",
    &[
        Key::required("cylinders", Type::Count(1, 16), "number of cylinders"),
        Key::default("strokes", Type::CountOf(&[2, 4]), "4", "2 or 4"),
        Key::required("idle-rpm", pulley::SPEED, "idle speed, rpm").such_as("800"),
        Key::required("top-rpm", pulley::SPEED, "top governed speed, rpm").such_as("2600"),
        Key::default(
            "turns",
            Type::Choice(&[
                ("clockwise", "as seen from in front of the pulleys"),
                ("counter-clockwise", "as seen from in front of the pulleys"),
            ]),
            "\"clockwise\"",
            "how the crankshaft turns, seen from in front of the pulleys",
        ),
    ],
);

static HOLE: Table = Table::new(
    "hole",
    "a threaded hole of the block",
    &[
        Key::required("id", Type::Id, "its name, unique in the block"),
        Key::required(
            "at",
            Type::POINT3,
            "centre of its mouth on the face [x, y, z], engine frame, mm",
        ),
        Key::default(
            "axis",
            AXIS,
            "\"front\"",
            "direction out of the metal: a face's word or [x, y, z]",
        ),
        Key::required(
            "thread",
            Type::Designation(Standard::Thread),
            "thread, such as M10x1.5",
        ),
        Key::required(
            "depth",
            Type::SIZE,
            "usable full-thread depth from the face, mm",
        )
        .such_as("22"),
        Key::required(
            "material",
            Type::Designation(Standard::Material),
            "material it is cut in",
        ),
    ],
);

static PULLEY: Table = Table::new(
    "fixed pulley",
    "a pulley fixed to the block",
    &[
        Key::required("id", Type::Id, "its name, unique in the block"),
        Key::required("at", Type::POINT, "shaft centre [x, y], engine frame, mm"),
        pulley::DIAMETER,
        pulley::RIBS,
        pulley::RIM,
        pulley::RIB_PLANE,
        pulley::WIDTH,
        Key::optional(
            "load",
            pulley::LOAD,
            "what its shaft takes; nothing unless given",
        ),
        pulley::DUTY,
    ],
);

/// Kinds of keep-outs and hoses.
pub(super) const KEEPOUT_KINDS: &[(&str, &str)] = &[
    ("fixed", "stands still"),
    ("moving", "turns or swings"),
    ("hot", "is hot"),
];

static KEEPOUT: Table = Table::new(
    "keepout",
    "space that must stay free of the bracket set",
    &[
        Key::required("name", Type::TEXT, "what is there, in words"),
        Key::optional("cylinder", Type::Table(&CYLINDER), "a cylinder along z"),
        Key::optional(
            "prism",
            Type::POLYGON,
            "corners [[x, y], ...] of a prism along z, mm",
        ),
        Key::required("z", Type::SPAN, "from [z, to z], engine frame, mm").such_as("[0, 120]"),
        Key::default(
            "is",
            Type::Choice(KEEPOUT_KINDS),
            "\"fixed\"",
            "what is there, which decides the clearance it needs",
        ),
    ],
)
.one_of(&[&["cylinder", "prism"]]);

impl ParamFile for Block {
    const KIND: &'static FileKind = &BLOCK;

    fn build(name: &str, r: &Record, sink: &mut Sink) -> Option<Self> {
        super::unique(r.tables("hole"), "id", "holes", sink);
        super::unique(r.tables("pulley"), "id", "pulleys", sink);
        let engine = r.table_at("engine").and_then(|e| engine(e, sink));
        let holes: Vec<BlockHole> = r.tables("hole").filter_map(|h| hole(h, sink)).collect();
        coincident(r, &holes, sink);
        let pulleys = r.tables("pulley").filter_map(|p| fixed(p, sink)).collect();
        let keepouts = r
            .tables("keepout")
            .filter_map(|k| keepout(k, sink))
            .collect();
        Some(Self {
            name: name.to_owned(),
            title: r.string("title")?,
            engine: engine?,
            holes,
            pulleys,
            keepouts,
        })
    }
}

fn engine(r: &Record, sink: &mut Sink) -> Option<Engine> {
    let speeds = super::later(r, "idle-rpm", "top-rpm", "rpm", sink);
    let (idle_rpm, top_rpm) = speeds?;
    Some(Engine {
        cylinders: r.count("cylinders")?,
        strokes: r.count("strokes")?,
        idle_rpm,
        top_rpm,
        clockwise: r.text("turns")? == "clockwise",
    })
}

fn hole(r: &Record, sink: &mut Sink) -> Option<BlockHole> {
    let axis = shape::axis(r, "axis", sink);
    Some(BlockHole {
        id: r.string("id")?,
        at: r.point3("at")?,
        axis: axis?,
        thread: r.string("thread")?,
        depth_mm: r.number("depth")?,
        material: r.string("material")?,
        spot: r.spot_of("id"),
    })
}

/// Reports holes that lie on one place.
fn coincident(r: &Record, holes: &[BlockHole], sink: &mut Sink) {
    let record = |id: &str| r.tables("hole").find(|h| h.text("id") == Some(id));
    for (i, a) in holes.iter().enumerate() {
        for b in holes.iter().skip(i + 1) {
            if a.at.distance(b.at) >= SAME_PLACE_MM || a.id == b.id {
                continue;
            }
            if let (Some(first), Some(second)) = (record(&a.id), record(&b.id)) {
                sink.push(
                    super::about(
                        Code::Degenerate,
                        second,
                        "at",
                        format!("holes `{}` and `{}` lie on one place", a.id, b.id),
                    )
                    .also(first.spot_of("at"), "the other")
                    .help("mend the position of one, or drop it"),
                );
            }
        }
    }
}

fn fixed(r: &Record, sink: &mut Sink) -> Option<FixedPulley> {
    let pulley = pulley::pulley(r, sink);
    Some(FixedPulley {
        id: r.string("id")?,
        at: r.point("at")?,
        pulley: pulley?,
        load: pulley::load(r, "load", sink)?,
        duty: pulley::duty(r),
        spot: r.spot_of("id"),
    })
}

fn keepout(r: &Record, sink: &mut Sink) -> Option<Keepout> {
    let outline = shape::envelope(r, sink);
    let z_mm = super::ascending(r, "z", sink);
    Some(Keepout {
        name: r.string("name")?,
        outline: outline?,
        z_mm: z_mm?,
        kind: keepout_kind(r.text("is")?)?,
        spot: r.spot_of("name"),
    })
}

/// The kind by its word.
pub(super) fn keepout_kind(word: &str) -> Option<KeepoutKind> {
    Some(match word {
        "fixed" => KeepoutKind::Fixed,
        "moving" => KeepoutKind::Moving,
        "hot" => KeepoutKind::Hot,
        _ => return None,
    })
}
