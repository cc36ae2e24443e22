//! Keys of the job file, except its plates and variants.

use crate::diag::{Code, Sink};
use crate::geom::Point3;
use crate::params::job::{
    Deviation, Fasteners, Fit, Head, HoseClamp, HoseSpec, Job, Placed, PlacedZ, StockedSpec,
    StrengthSpec, TitleBlock,
};
use crate::params::record::{Node, Record};
use crate::params::spec::{FileKind, Key, Range, Standard, Table, Type};

use super::block::{KEEPOUT_KINDS, keepout_kind};
use super::drive::{self, DRIVE};
use super::plate::PLATE;
use super::variant::VARIANT;
use super::{ParamFile, plate, variant};

/// What a job file holds.
pub static JOB: FileKind = FileKind {
    name: "job",
    folder: "jobs",
    table: &TABLE,
};

static TABLE: Table = Table::new(
    "job",
    "which block, which accessories where, which plates, which belt, which stock and shop",
    &[
        Key::required("title", Type::TEXT, "what a person calls the job"),
        Key::required(
            "revision",
            Type::Either(&[Type::Id, Type::Count(0, 9_999)]),
            "revision letter or number, printed on everything",
        )
        .such_as("\"A\""),
        Key::required(
            "date",
            Type::Date,
            "day of the revision; the only time stamp in any file",
        ),
        Key::required("block", Type::File("block"), "name of the block file"),
        Key::required("shop", Type::File("shop"), "name of the shop file"),
        Key::default(
            "sets",
            Type::Count(1, 200),
            "1",
            "bracket sets to make at once: sheets are nested for all of them",
        ),
        Key::default(
            "title-block",
            Type::Table(&TITLE_BLOCK),
            "{}",
            "title block of drawings",
        ),
        Key::default(
            "fasteners",
            Type::Table(&FASTENERS),
            "{}",
            "defaults for every fastener",
        ),
        Key::optional("drive", Type::Table(&DRIVE), "the belt drive"),
        Key::default(
            "strength",
            Type::Table(&STRENGTH),
            "{}",
            "what shakes the set beside the belt",
        ),
        Key::default(
            "place",
            Type::tables(&Type::Table(&PLACE)),
            "[]",
            "accessories, placed",
        ),
        Key::default("plate", Type::tables(&Type::Table(&PLATE)), "[]", "plates"),
        Key::default(
            "hose",
            Type::tables(&Type::Table(&HOSE)),
            "[]",
            "hoses and lines the set must leave room for",
        ),
        Key::default(
            "variant",
            Type::tables(&Type::Table(&VARIANT)),
            "[]",
            "the same plates with something replaced",
        ),
        Key::default(
            "stocked",
            Type::tables(&Type::Table(&STOCKED)),
            "[]",
            "washers and tubes from which spacers are stacked, by bolt size",
        ),
        Key::default(
            "deviation",
            Type::tables(&Type::Table(&DEVIATION)),
            "[]",
            "failing rules accepted by name",
        ),
    ],
);

static TITLE_BLOCK: Table = Table::new(
    "title-block",
    "title block of drawings; all free text",
    &[
        Key::default("owner", Type::NOTE, "\"\"", "legal owner (ISO 7200)"),
        Key::default(
            "customer",
            Type::NOTE,
            "\"\"",
            "customer or machine the set is for",
        ),
        Key::default("drawn-by", Type::NOTE, "\"\"", "who drew it"),
        Key::default("approved-by", Type::NOTE, "\"\"", "who approved it"),
        Key::default(
            "tolerance",
            Type::Choice(&[
                ("f", "fine"),
                ("m", "medium"),
                ("c", "coarse"),
                ("v", "very coarse"),
            ]),
            "\"m\"",
            "general tolerance class of ISO 2768-1",
        ),
        Key::default(
            "notes",
            Type::List {
                of: &Type::TEXT,
                least: 0,
                most: 40,
            },
            "[]",
            "notes printed on every drawing",
        ),
    ],
);

/// Heads of bolts.
pub(super) const HEADS: &[(&str, &str)] = &[
    ("hex-flange", "hexagon flange, heavy series, EN 1665"),
    ("hex-flange-small", "hexagon flange, small series, ISO 4162"),
    ("hex", "hexagon, ISO 4014/4017"),
    ("cap", "socket cap, ISO 4762"),
];

/// Clearance hole series.
pub(super) const FITS: &[(&str, &str)] = &[
    ("fine", "ISO 273 fine, H12"),
    ("medium", "ISO 273 medium, H13"),
    ("coarse", "ISO 273 coarse, H14"),
];

/// Default shock on joints: 5 g, what a machine on rough ground sees again and again, since a joint must
/// not slip once in its life by friction alone (common practice, no source). Plates are held against
/// yield under the single worst jolt instead, see [`STRENGTH`].
static FASTENERS: Table = Table::new(
    "fasteners",
    "defaults for every fastener of the job",
    &[
        Key::default(
            "head",
            Type::Choice(HEADS),
            "\"hex-flange\"",
            "head of the bolts",
        ),
        Key::default(
            "class",
            Type::Designation(Standard::PropertyClass),
            "\"10.9\"",
            "property class of the bolts",
        ),
        Key::default(
            "fit",
            Type::Choice(FITS),
            "\"medium\"",
            "clearance hole series of ISO 273",
        ),
        Key::default(
            "washer",
            Type::Flag,
            "false",
            "whether a plain washer goes under a head",
        ),
        Key::default(
            "lubrication",
            Type::Choice(LUBRICATIONS),
            "\"oiled\"",
            "lubrication of thread and head, which sets friction and torque",
        ),
        Key::default(
            "tightening",
            Type::Choice(TIGHTENINGS),
            "\"torque-wrench\"",
            "how the bolts are tightened, which sets the scatter of the preload",
        ),
        Key::default(
            "thread-locker",
            Type::Flag,
            "false",
            "whether a liquid thread-locker goes into every thread",
        ),
        Key::default(
            "faces",
            Type::Choice(FACES),
            "\"as-rolled\"",
            "finish of the clamped faces, which sets their slip factor",
        ),
        Key::default(
            "shock",
            Type::Number(Range::new(0.0, 50.0, "g")),
            "5",
            "shock that no joint may slip or open under (J rules), in any direction, g; plates have [strength] shock-g",
        ),
        Key::default(
            "cold",
            Type::Number(Range::new(-60.0, 20.0, "°C")),
            "-20",
            "coldest temperature of the joints in service, °C",
        ),
        Key::default(
            "hot",
            Type::Number(Range::new(20.0, 200.0, "°C")),
            "100",
            "hottest temperature of the joints in service, °C",
        ),
    ],
);

/// Defaults: 20 g is the upper end of the 10 to 20 g that engine-mounted brackets are designed
/// for (common practice, no source); 10 g is the sine of ISO 16750-3:2007 Test I at 100 Hz,
/// 100 m/s² (from memory of the standard).
static STRENGTH: Table = Table::new(
    "strength",
    "what shakes the set beside the belt, in multiples of weight",
    &[
        Key::default(
            "shock-g",
            Type::Number(Range::above(0.0, 200.0, "g")),
            "20",
            "shock that no plate may yield under (F rules), in every direction, g; engine-mounted brackets take 10 to 20 g (common practice); joints have [fasteners] shock",
        ),
        Key::default(
            "vibration-g",
            Type::Number(Range::new(0.0, 200.0, "g")),
            "10",
            "amplitude of the lasting vibration in every direction, held against fatigue; 10 g as ISO 16750-3:2007 Test I at 100 Hz",
        ),
    ],
);
/// Rows of the friction table, by the words of a job.
const LUBRICATIONS: &[(&str, &str)] = &[
    ("oiled", "as received, lightly oiled"),
    ("zinc-plated", "electroplated zinc, no further lubricant"),
    ("zinc-flake", "zinc flake with lubricant"),
    ("mos2-paste", "molybdenum disulphide paste"),
    ("dry-black", "black, degreased"),
    ("dry-stainless", "stainless, dry"),
];

/// Rows of the tightening table, by the words of a job.
const TIGHTENINGS: &[(&str, &str)] = &[
    ("torque-wrench", "torque wrench, friction estimated"),
    (
        "torque-wrench-calibrated",
        "torque wrench, friction measured on the joint",
    ),
    ("torque-and-angle", "angle-controlled into yield"),
    ("impact-wrench", "impact wrench"),
    ("by-hand", "spanner without a reading"),
];

/// Rows of the interface table, by the words of a job.
const FACES: &[(&str, &str)] = &[
    ("as-rolled", "as rolled or machined"),
    ("brushed", "wire brushed"),
    ("blasted-zinc", "blasted, zinc silicate"),
    ("blasted", "shot blasted"),
    ("painted", "painted or powder coated"),
    ("oily", "oily"),
];

static PLACE: Table = Table::new(
    "place",
    "an accessory placed on the engine",
    &[
        Key::required("id", Type::Id, "its name within the job").such_as("\"alternator\""),
        Key::required(
            "accessory",
            Type::File("accessory"),
            "name of the accessory file",
        ),
        Key::required(
            "at",
            Type::POINT,
            "shaft centre (a tensioner's arm pivot) [x, y], engine frame, mm",
        )
        .such_as("[-180.5, 160]"),
        Key::default(
            "clock",
            Type::ANGLE,
            "0",
            "turn about +z, counter-clockwise seen from the front, deg",
        ),
        Key::required(
            "z",
            Type::Either(&[
                Type::POSITION,
                Type::Choice(&[("drive", "so that its rib plane is the drive's")]),
            ]),
            "engine z of its local z = 0, mm, or \"drive\"",
        ),
    ],
);

static HOSE: Table = Table::new(
    "hose",
    "a hose or line the set must leave room for",
    &[
        Key::required("id", Type::Id, "its name, unique in the job"),
        Key::optional("title", Type::TEXT, "what a person calls it"),
        Key::required(
            "points",
            Type::List {
                of: &Type::POINT3,
                least: 2,
                most: 200,
            },
            "its centre line [[x, y, z], ...], engine frame, mm",
        )
        .such_as("[[0, 200, 20], [100, 240, 20]]"),
        Key::required("diameter", Type::SIZE, "outside diameter, mm"),
        Key::default(
            "is",
            Type::Choice(KEEPOUT_KINDS),
            "\"fixed\"",
            "what it is, which decides the clearance it needs",
        ),
        Key::default(
            "clamps",
            Type::tables(&Type::Table(&CLAMP)),
            "[]",
            "clamps on it; they need the hose's clearance",
        ),
    ],
);

/// Worm-drive clamps have bands of 9 and 12 mm (DIN 3017-1, from memory); the screw's housing stands
/// about 12 mm out of the hose and may face any way (common practice, no source).
static CLAMP: Table = Table::new(
    "clamp",
    "a clamp round a hose",
    &[
        Key::required(
            "at",
            Type::ZERO_OR_SIZE,
            "where along the hose, mm from its first point",
        )
        .such_as("25"),
        Key::default("width", Type::SIZE, "12", "width of the band, mm"),
        Key::default(
            "height",
            Type::SIZE,
            "12",
            "how far it stands out from the hose all round, screw housing included, mm",
        ),
    ],
);

static STOCKED: Table = Table::new(
    "stocked pieces",
    "washers and tubes at hand for one bolt size: its spacers are stacked from them, not turned to length",
    &[
        Key::required(
            "thread",
            Type::Designation(Standard::Thread),
            "the bolt's thread",
        )
        .such_as("\"M10x1.5\""),
        Key::default("washers", LENGTHS, "[]", "thicknesses of the washers, mm"),
        Key::default("tubes", LENGTHS, "[]", "lengths of the tubes, mm"),
        Key::default(
            "tolerance",
            Type::Number(Range::new(0.0, 1.0, "mm")),
            "0.1",
            "how much a stack may miss its gap, mm",
        ),
    ],
);

const LENGTHS: Type = Type::List {
    of: &Type::SIZE,
    least: 0,
    most: 40,
};

static DEVIATION: Table = Table::new(
    "deviation",
    "a failing rule accepted by name",
    &[
        Key::required("rule", Type::Id, "id of the rule"),
        Key::required(
            "on",
            Type::TEXT,
            "plate, joint or pulley it is accepted for",
        ),
        Key::default(
            "at",
            Type::NOTE,
            "\"\"",
            "hole or feature it is accepted for; anywhere unless given",
        ),
        Key::required("reason", Type::TEXT, "why; printed on the drawing"),
    ],
);

impl ParamFile for Job {
    const KIND: &'static FileKind = &JOB;

    fn build(name: &str, r: &Record, sink: &mut Sink) -> Option<Self> {
        for (key, id, what) in [
            ("place", "id", "accessories"),
            ("plate", "id", "plates"),
            ("hose", "id", "hoses"),
            ("variant", "name", "variants"),
            ("stocked", "thread", "stocked pieces"),
        ] {
            super::unique(r.tables(key), id, what, sink);
        }
        let placed: Vec<Placed> = r.tables("place").filter_map(|p| place(p, sink)).collect();
        let plates: Vec<_> = r
            .tables("plate")
            .filter_map(|p| plate::plate(p, sink))
            .collect();
        let variants: Vec<_> = r
            .tables("variant")
            .filter_map(|v| variant::variant(v, sink))
            .collect();
        let drive = r.table_at("drive").and_then(drive::drive);
        if r.has("drive") && drive.is_none() {
            return None;
        }
        Some(Self {
            name: name.to_owned(),
            title: r.string("title")?,
            revision: revision(r.node("revision")?)?,
            date: r.string("date")?,
            block: r.string("block")?,
            shop: r.string("shop")?,
            title_block: title_block(r.table_at("title-block")?)?,
            fasteners: fasteners(r.table_at("fasteners")?)?,
            drive,
            strength: strength(r.table_at("strength")?)?,
            placed,
            plates,
            hoses: r.tables("hose").filter_map(|h| hose(h, sink)).collect(),
            variants,
            sets: r.count("sets")?,
            stocked: r.tables("stocked").map(stocked).collect::<Option<_>>()?,
            deviations: r.tables("deviation").filter_map(deviation).collect(),
        })
    }
}

fn revision(node: &Node) -> Option<String> {
    node.text()
        .map(str::to_owned)
        .or_else(|| node.number().map(|n| crate::units::fixed(n, 0)))
}

fn title_block(r: &Record) -> Option<TitleBlock> {
    Some(TitleBlock {
        owner: r.string("owner")?,
        customer: r.string("customer")?,
        drawn_by: r.string("drawn-by")?,
        approved_by: r.string("approved-by")?,
        tolerance: r.string("tolerance")?,
        notes: r
            .list("notes")
            .iter()
            .filter_map(|n| n.text().map(str::to_owned))
            .collect(),
    })
}

fn fasteners(r: &Record) -> Option<Fasteners> {
    Some(Fasteners {
        head: head(r.text("head")?)?,
        class: r.string("class")?,
        fit: fit(r.text("fit")?)?,
        washer: r.flag("washer")?,
        lubrication: r.string("lubrication")?,
        tightening: r.string("tightening")?,
        thread_locker: r.flag("thread-locker")?,
        faces: r.string("faces")?,
        shock_g: r.number("shock")?,
        cold_c: r.number("cold")?,
        hot_c: r.number("hot")?,
    })
}

fn strength(r: &Record) -> Option<StrengthSpec> {
    Some(StrengthSpec {
        shock_g: r.number("shock-g")?,
        vibration_g: r.number("vibration-g")?,
    })
}

/// The head by its word.
pub(super) fn head(word: &str) -> Option<Head> {
    Some(match word {
        "hex-flange" => Head::HexFlange,
        "hex-flange-small" => Head::HexFlangeSmall,
        "hex" => Head::Hex,
        "cap" => Head::Cap,
        _ => return None,
    })
}

/// The clearance series by its word.
pub(super) fn fit(word: &str) -> Option<Fit> {
    Some(match word {
        "fine" => Fit::Fine,
        "medium" => Fit::Medium,
        "coarse" => Fit::Coarse,
        _ => return None,
    })
}

fn place(r: &Record, sink: &mut Sink) -> Option<Placed> {
    let id = r.string("id")?;
    if id == "block" {
        sink.push(
            super::about(
                Code::DuplicateName,
                r,
                "id",
                "an accessory cannot be placed as `block`: references to the block's holes use that name",
            )
            .help("give it another name"),
        );
    }
    let z = r.node("z")?;
    Some(Placed {
        id,
        accessory: r.string("accessory")?,
        at: r.point("at")?,
        clock_deg: r.number("clock")?,
        z: match z.number() {
            Some(mm) => PlacedZ::Given(mm),
            None if z.text() == Some("drive") => PlacedZ::Drive,
            None => return None,
        },
        spot: r.spot_of("id"),
    })
}

fn hose(r: &Record, sink: &mut Sink) -> Option<HoseSpec> {
    let points: Vec<Point3> = r
        .list("points")
        .iter()
        .map(Node::point3)
        .collect::<Option<_>>()?;
    let length: f64 = points.windows(2).map(|p| p[0].distance(p[1])).sum();
    for c in r.tables("clamps") {
        if let Some(at) = c.number("at").filter(|at| *at > length) {
            sink.push(
                super::about(
                    Code::OutOfRange,
                    c,
                    "at",
                    format!("the clamp sits at {at:.1} mm of a hose {length:.1} mm long"),
                )
                .help("count from the hose's first point along its centre line"),
            );
        }
    }
    Some(HoseSpec {
        id: r.string("id")?,
        title: super::title_or_id(r, "id")?,
        points,
        diameter_mm: r.number("diameter")?,
        kind: keepout_kind(r.text("is")?)?,
        clamps: r.tables("clamps").map(clamp).collect::<Option<_>>()?,
        spot: r.spot_of("id"),
    })
}

fn clamp(r: &Record) -> Option<HoseClamp> {
    Some(HoseClamp {
        along_mm: r.number("at")?,
        width_mm: r.number("width")?,
        height_mm: r.number("height")?,
    })
}

fn stocked(r: &Record) -> Option<StockedSpec> {
    let lengths = |key: &str| -> Option<Vec<f64>> {
        let mut all: Vec<f64> = r
            .list(key)
            .iter()
            .map(Node::number)
            .collect::<Option<_>>()?;
        all.sort_by(f64::total_cmp);
        all.dedup();
        Some(all)
    };
    Some(StockedSpec {
        thread: r.string("thread")?,
        washers_mm: lengths("washers")?,
        tubes_mm: lengths("tubes")?,
        tolerance_mm: r.number("tolerance")?,
        spot: r.spot_of("thread"),
    })
}

fn deviation(r: &Record) -> Option<Deviation> {
    Some(Deviation {
        rule: r.string("rule")?,
        on: r.string("on")?,
        at: r.string("at")?,
        reason: r.string("reason")?,
        spot: r.spot_of("rule"),
    })
}
