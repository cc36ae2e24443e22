//! The caliper readings file: its keys, and how they become a [`Network`].

use crate::diag::{Code, Diag, FileId, Severity as Weight, Sink, Sources, Spot};
use crate::params::ParamFile;
use crate::params::record::Record;
use crate::params::spec::{FileKind, Key, Range, Standard, Table, Type};
use crate::tables::{Thread, Threads};

use super::finding::{Finding, Matter, Severity};
use super::network::{
    Datum, Edge, EdgeTarget, Face, Hole, Kind, Network, Pair, Reading, Side, Sight, Size, Surface,
    Unit,
};

/// What a caliper readings file holds.
pub static READINGS: FileKind = FileKind {
    name: "caliper-readings",
    folder: "readings",
    table: &TABLE,
};

/// A standard deviation, mm; beyond half a millimetre no one would call it measuring (common practice, no source).
const SD: Type = Type::Length(Range::above(0.0, 5.0, "mm"));

/// A reading, mm: two metres is the longest caliper made.
const VALUE: Type = Type::Length(Range::new(-2_000.0, 2_000.0, "mm"));

static TABLE: Table = Table::new(
    "caliper readings",
    "what was read between the holes of one face with caliper and depth gauge",
    &[
        Key::required("title", Type::TEXT, "what was measured; heads the report"),
        Key::optional(
            "frame",
            Type::Table(&FRAME),
            "what the coordinates are counted from",
        ),
        Key::required("hole", Type::tables(&Type::Table(&HOLE)), "the holes"),
        Key::default(
            "edge",
            Type::tables(&Type::Table(&EDGE)),
            "[]",
            "straight edges readings were taken from",
        ),
        Key::default(
            "face",
            Type::tables(&Type::Table(&FACE)),
            "[]",
            "faces whose heights were gauged",
        ),
        Key::required(
            "reading",
            Type::tables(&Type::Table(&READING)),
            "the readings",
        ),
        Key::default(
            "seen",
            Type::tables(&Type::Table(&SEEN)),
            "[]",
            "what was seen by eye; settles mirror images",
        ),
    ],
);

static FRAME: Table = Table::new(
    "frame",
    "what the coordinates are counted from",
    &[
        Key::optional("origin", Type::Id, "hole at the place `at`"),
        Key::default("at", Type::POINT, "[0, 0]", "coordinates of that hole, mm"),
        Key::optional(
            "level",
            PAIR,
            "two holes; the second lies straight to the right of the first",
        ),
        Key::optional(
            "plumb",
            PAIR,
            "two holes; the second lies straight above the first",
        ),
    ],
)
.not_both(&[&["level", "plumb"]]);

/// Two names.
const PAIR: Type = Type::List {
    of: &Type::Id,
    least: 2,
    most: 2,
};

static HOLE: Table = Table::new(
    "hole",
    "a hole whose centre is wanted",
    &[
        Key::required("id", Type::Id, "its name, unique among the holes"),
        Key::optional("thread", Type::Designation(Standard::Thread), "its thread; inside jaws touch the crests"),
        Key::optional("bore", Type::SIZE, "diameter of the hole, where it was measured, mm").such_as("8.46"),
        Key::optional("bore-sd", SD, "standard deviation of `bore`, mm; 0.03 unless given").such_as("0.05"),
        Key::optional("pin", Type::SIZE, "diameter of the close pin that was put in, mm").such_as("8.48"),
        Key::optional("bolt", Type::SIZE, "diameter over the threads of the bolt that was screwed in, mm").such_as("9.86"),
        Key::optional("pin-sd", SD, "standard deviation of `pin` (0.01 unless given) or `bolt` (0.06), its centring included, mm").such_as("0.02"),
        Key::optional("face", Type::Id, "the face it starts at"),
        Key::optional("at", Type::POINT, "its place, where it is known and kept, mm"),
        Key::optional("depth", Type::SIZE, "usable thread depth, mm; goes into the pattern").such_as("22"),
        Key::optional("material", Type::Designation(Standard::Material), "material it is cut in; goes into the pattern"),
    ],
)
.not_both(&[&["pin", "bolt"]]);

/// Sides of a hole or edge.
const SIDES: &[(&str, &str)] = &[
    ("above", "towards +y"),
    ("below", "towards -y"),
    ("right", "towards +x"),
    ("left", "towards -x"),
];

static EDGE: Table = Table::new(
    "edge",
    "a straight edge or machined face, seen as a line",
    &[
        Key::required("id", Type::Id, "its name, unique among the edges"),
        Key::required(
            "holes-lie",
            Type::Choice(SIDES),
            "on which side of it the holes lie",
        ),
        Key::default(
            "square",
            Type::Flag,
            "false",
            "whether it is true to the frame, so that it defines the frame's direction",
        ),
        Key::optional(
            "at",
            Type::POSITION,
            "its own x or y, where a square edge is to be kept there, mm",
        )
        .such_as("-42"),
    ],
);

static FACE: Table = Table::new(
    "face",
    "a face, by its height towards the viewer",
    &[
        Key::required("id", Type::Id, "its name, unique among the faces"),
        Key::optional(
            "z",
            Type::POSITION,
            "its height, where it is known and kept, mm",
        )
        .such_as("18"),
    ],
);

static READING: Table = Table::new(
    "reading",
    "one reading of caliper or depth gauge",
    &[
        Key::required("between", PAIR, "two holes; an edge and a hole; or two faces, the higher one first"),
        Key::required(
            "kind",
            Type::Choice(&[
                ("inside", "near side to near side: the metal between two holes, or the room between two pins"),
                ("over", "far side to far side, such as outside over pins"),
                ("same-side", "far side of the first to near side of the second"),
                ("centres", "centre to centre"),
                ("edge", "square from an edge to a hole"),
                ("depth", "depth gauge from the higher face down to the lower"),
            ]),
            "what was read",
        ),
        Key::required("value", VALUE, "the reading, mm").such_as("128.61"),
        Key::optional(
            "on",
            Type::Choice(&[("bore", "the hole's own rim"), ("pin", "the pin or bolt in it")]),
            "what the jaws touched; the pin for `over` where both holes have one, else the bore",
        ),
        Key::default(
            "to",
            Type::Choice(&[("near", "side nearer the edge"), ("centre", "centre"), ("far", "side away from it")]),
            "\"near\"",
            "what a reading from an edge went to",
        ),
        Key::optional("sd", SD, "standard deviation, mm; by kind unless given: inside, over, same-side 0.05, centres 0.10, edge 0.08, depth 0.03").such_as("0.05"),
    ],
);

static SEEN: Table = Table::new(
    "seen",
    "where one hole lies, seen by eye",
    &[
        Key::required("hole", Type::Id, "the hole looked at"),
        Key::required("lies", Type::Choice(SIDES), "where it lies"),
        Key::required("of", Type::Id, "from which hole"),
    ],
);

/// A readings file as read.
#[derive(Debug, Clone, PartialEq)]
pub struct Readings {
    /// The network; its source indices count [`Readings::spots`].
    pub network: Network,
    /// Where its items are written.
    pub spots: Vec<Spot>,
    /// Depth and material of the holes, in the network's order, for the pattern.
    pub cut: Vec<Cut>,
}

/// What a pattern says of a hole beyond its place.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Cut {
    /// Usable thread depth, mm.
    pub depth_mm: Option<f64>,
    /// Material designation.
    pub material: Option<String>,
}

impl ParamFile for Readings {
    const KIND: &'static FileKind = &READINGS;

    fn build(_: &str, r: &Record, sink: &mut Sink) -> Option<Self> {
        let mut spots = Vec::new();
        let mut mark = |record: &Record, key: &str| {
            spots.push(record.spot_of(key));
            Some(spots.len() - 1)
        };
        let mut network = Network {
            name: r.string("title")?,
            ..Network::default()
        };
        let mut cut = Vec::new();
        for h in r.tables("hole") {
            let source = mark(h, "id");
            if let Some((hole, c)) = hole(h, source, sink) {
                network.holes.push(hole);
                cut.push(c);
            }
        }
        for e in r.tables("edge") {
            network.edges.extend(edge(e, mark(e, "id")));
        }
        for f in r.tables("face") {
            let source = mark(f, "id");
            network.faces.extend(f.string("id").map(|name| Face {
                name,
                known_mm: f.number("z"),
                source,
            }));
        }
        for f in r.tables("reading") {
            let source = mark(f, "value");
            network.readings.extend(reading(f, &network.holes, source));
        }
        for s in r.tables("seen") {
            network.sights.extend(sight(s, mark(s, "hole")));
        }
        if let Some(f) = r.table_at("frame") {
            network.datum = datum(f, mark(f, "origin"));
        }
        Some(Self {
            network,
            spots,
            cut,
        })
    }
}

/// A hole of the file.
fn hole(r: &Record, source: Option<usize>, sink: &mut Sink) -> Option<(Hole, Cut)> {
    let thread = r
        .text("thread")
        .and_then(|t| Threads::standard().thread(t).ok());
    let bore = match (r.number("bore"), thread) {
        (Some(d), _) => Some(sized(Size::bore(d), r.number("bore-sd"))),
        (None, Some(t)) => Some(sized(Size::thread_crest(t), r.number("bore-sd"))),
        (None, None) => None,
    };
    let pin = r
        .number("pin")
        .map(Size::pin)
        .or_else(|| r.number("bolt").map(Size::bolt))
        .map(|s| sized(s, r.number("pin-sd")));
    if r.has("pin-sd") && pin.is_none() {
        sink.push(
            Diag::new(Code::KeysClash, "`pin-sd` needs a `pin` or `bolt`")
                .at(r.spot_of("pin-sd"))
                .key(r.path_of("pin-sd"))
                .help("write the pin's diameter, or leave `pin-sd` out"),
        );
    }
    let hole = Hole {
        name: r.string("id")?,
        bore,
        pin,
        thread: thread.map(|t| t.name.clone()),
        face: r.string("face"),
        known_mm: r.point("at").map(|p| [p.x, p.y]),
        source,
    };
    let cut = Cut {
        depth_mm: r.number("depth"),
        material: r.string("material"),
    };
    Some((hole, cut))
}

/// A size with its own deviation, where one is given.
fn sized(size: Size, sd_mm: Option<f64>) -> Size {
    Size {
        sd_mm: sd_mm.unwrap_or(size.sd_mm),
        ..size
    }
}

impl Size {
    /// The crests of a tapped hole of class 6H: what inside jaws touch.
    ///
    /// The middle of the minor diameter's tolerance; standard deviation
    /// T/√12, a value anywhere in the tolerance being equally likely
    /// (ISO 724, ISO 965-1).
    pub fn thread_crest(thread: &Thread) -> Self {
        let tolerance_mm = thread.tdd1_um / 1000.0;
        Self {
            diameter_mm: thread.d1_mm() + 0.5 * tolerance_mm,
            sd_mm: tolerance_mm / 12.0_f64.sqrt(),
        }
    }
}

/// An edge of the file.
fn edge(r: &Record, source: Option<usize>) -> Option<Edge> {
    Some(Edge {
        name: r.string("id")?,
        holes_lie: side(r.text("holes-lie")?)?,
        square: r.flag("square")?,
        at_mm: r.number("at"),
        source,
    })
}

/// A side by its word.
fn side(word: &str) -> Option<Side> {
    Some(match word {
        "above" => Side::Above,
        "below" => Side::Below,
        "right" => Side::Right,
        "left" => Side::Left,
        _ => return None,
    })
}

/// Two names of a list.
fn pair(r: &Record, key: &str) -> Option<[String; 2]> {
    let [a, b] = r.list(key) else { return None };
    Some([a.text()?.to_owned(), b.text()?.to_owned()])
}

/// A reading of the file.
fn reading(r: &Record, holes: &[Hole], source: Option<usize>) -> Option<Reading> {
    let [a, b] = pair(r, "between")?;
    let pinned = |name: &String| holes.iter().any(|h| h.name == *name && h.pin.is_some());
    let word = r.text("kind")?;
    let surface = match r.text("on") {
        Some("pin") => Surface::Pin,
        None if word == "over" && pinned(&a) && pinned(&b) => Surface::Pin,
        _ => Surface::Bore,
    };
    let kind = match word {
        "inside" => Kind::Inside { a, b, surface },
        "over" => Kind::Over { a, b, surface },
        "same-side" => Kind::SameSide { a, b, surface },
        "centres" => Kind::Centres { a, b },
        "edge" => Kind::FromEdge {
            edge: a,
            hole: b,
            to: match r.text("to")? {
                "centre" => EdgeTarget::Centre,
                "far" => EdgeTarget::Far(surface),
                _ => EdgeTarget::Near(surface),
            },
        },
        _ => Kind::Step { upper: a, lower: b },
    };
    Some(Reading {
        kind,
        value_mm: r.number("value")?,
        sd_mm: r.number("sd"),
        unit: Unit::Mm,
        source,
    })
}

/// A sight of the file.
fn sight(r: &Record, source: Option<usize>) -> Option<Sight> {
    Some(Sight {
        hole: r.string("hole")?,
        side: side(r.text("lies")?)?,
        of: r.string("of")?,
        source,
    })
}

/// The datum of the file.
fn datum(r: &Record, source: Option<usize>) -> Datum {
    let level = pair(r, "level").map(|[a, b]| Pair::Level(a, b));
    let plumb = pair(r, "plumb").map(|[a, b]| Pair::Plumb(a, b));
    Datum {
        origin: r.string("origin"),
        origin_mm: r.pair("at").map_or([0.0, 0.0], |(x, y)| [x, y]),
        pair: level.or(plumb),
        source,
    }
}

impl Readings {
    /// Notes which readings are written in inches: the number alone no longer tells.
    pub fn mark_units(&mut self, sources: &Sources) {
        for r in &mut self.network.readings {
            let written = r
                .source
                .and_then(|s| self.spots.get(s))
                .and_then(|s| sources.slice(*s));
            if written.is_some_and(|t| t.contains("in") || t.contains("\\\"") || t.contains('″'))
            {
                r.unit = Unit::Inch;
            }
        }
    }

    /// A finding with its place in the file.
    pub fn diag(&self, finding: &Finding, file: FileId) -> Diag {
        let mut spots = finding
            .sources
            .iter()
            .filter_map(|s| self.spots.get(*s).copied());
        let mut diag = Diag::new(code(finding.matter), finding.message.clone());
        diag.severity = match finding.severity {
            Severity::Error => Weight::Error,
            Severity::Warning => Weight::Warning,
            Severity::Note => Weight::Note,
        };
        diag = diag.at(spots.next().unwrap_or_else(|| Spot::new(file, 0..0)));
        for spot in spots {
            diag = diag.also(spot, "and this");
        }
        match &finding.help {
            Some(help) => diag.help(help.clone()),
            None => diag,
        }
    }
}

/// The code of a kind of finding.
const fn code(matter: Matter) -> Code {
    match matter {
        Matter::BadNumber | Matter::Overlap => Code::BadReading,
        Matter::NamedTwice => Code::DuplicateName,
        Matter::UnknownName => Code::UnknownReference,
        Matter::Datum => Code::Contradiction,
        Matter::ImpossibleTriangle => Code::ImpossibleTriangle,
        Matter::InchSlip => Code::InchSlip,
        Matter::TooFew | Matter::Hinge => Code::NetworkOpen,
        Matter::Mirror => Code::MirrorOpen,
        Matter::Doubtful => Code::DoubtfulReading,
        Matter::Unchecked => Code::UncheckedReading,
        Matter::Scatter => Code::ReadingsScatter,
        Matter::NoSolution => Code::NoPattern,
        Matter::Assumed => Code::FrameAssumed,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_crest_of_an_m10_thread_is_the_middle_of_its_6h_tolerance() {
        // ISO 965-2: M10 6H minor diameter 8.376 to 8.676.
        let s = Size::thread_crest(Threads::standard().thread("M10").unwrap());
        assert!((s.diameter_mm - 8.526).abs() < 0.001);
        assert!((s.sd_mm - 0.0866).abs() < 0.001);
    }
}
