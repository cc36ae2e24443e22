//! The rod readings file: its keys, and how they become readings on a job's drive.

use crate::diag::{Code, Diag, FileId, Sink, Spot};
use crate::params::ParamFile;
use crate::params::record::Record;
use crate::params::spec::{FileKind, Key, Range, Table, Type};

use super::job::plate_name;
use super::mount::{Drive, Fault, STOCK_MM};
use super::rod::{GAP_SD_MM, Gaps, RodReading};

/// What a rod readings file holds.
pub static RODS: FileKind = FileKind {
    name: "rod-readings",
    folder: "readings",
    table: &TABLE,
};

/// A gap under the rod, mm.
const GAP: Type = Type::Length(Range::new(-200.0, 200.0, "mm"));

/// A short length above zero, mm.
const SMALL: Type = Type::Length(Range::above(0.0, 100.0, "mm"));

static TABLE: Table = Table::new(
    "rod readings",
    "what a straight rod on the reference pulley showed at the others",
    &[
        Key::optional(
            "reference",
            Type::Id,
            "the pulley whose face the rod lies on; the driving one unless given",
        ),
        Key::default("sd", SMALL, "0.1", "standard deviation of a gap, mm"),
        Key::optional(
            "stock",
            Type::List {
                of: &SMALL,
                least: 1,
                most: 30,
            },
            "washer thicknesses at hand, mm; the DIN 988 series (from memory) unless given",
        )
        .such_as("[0.1, 0.2, 0.5, 1.0]"),
        Key::required(
            "rod",
            Type::tables(&Type::Table(&ROD)),
            "one table a rod position",
        ),
        Key::default(
            "place",
            Type::tables(&Type::Table(&PLACE)),
            "[]",
            "what the job does not say of a bolt",
        ),
        Key::default(
            "pulley",
            Type::tables(&Type::Table(&PULLEY)),
            "[]",
            "what the job does not say of a pulley",
        ),
    ],
);

static ROD: Table = Table::new(
    "rod",
    "one position of the rod",
    &[
        Key::required("at", Type::Id, "the pulley it passes over"),
        Key::optional("near", GAP, "gap to its face at the rim nearer the reference, mm; below 0 when it stands proud").such_as("0.75"),
        Key::optional("far", GAP, "gap at the far rim, mm").such_as("0.3"),
        Key::optional("grooves", Type::Count(1, 40), "number of grooves, where they were read instead of the face").such_as("7"),
        Key::optional("read", Type::List { of: &GROOVE, least: 1, most: 40 }, "[groove, near gap, far gap]; groove 1 is the front one").such_as("[[1, 3.5, 3.3]]"),
        Key::optional("direction", Type::ANGLE, "direction of the rod from near to far rim, deg from +x; away from the reference unless given").such_as("90"),
    ],
)
.one_of(&[&["near", "grooves"]]);

/// Groove, near gap, far gap.
const GROOVE: Type = Type::List {
    of: &GAP,
    least: 3,
    most: 3,
};

static PLACE: Table = Table::new(
    "place",
    "a bolt of a plate or accessory",
    &[
        Key::optional("plate", Type::Id, "the plate it holds"),
        Key::optional("accessory", Type::Id, "or the accessory it holds"),
        Key::required(
            "bolt",
            Type::Id,
            "its bolt: the block's hole, or the accessory's own",
        ),
        Key::default(
            "fitted",
            Type::List {
                of: &SMALL,
                least: 0,
                most: 12,
            },
            "[]",
            "washers there now, mm",
        ),
        Key::optional(
            "most",
            Type::ZERO_OR_SIZE,
            "thickest pack it takes, mm; 0 where no washer can go",
        )
        .such_as("2"),
        Key::optional("pieces", Type::Count(0, 12), "most washers in the pack").such_as("2"),
        Key::optional(
            "play",
            Type::ZERO_OR_SIZE,
            "how far its hole lets the mount move, each way, mm",
        )
        .such_as("0.5"),
        Key::optional(
            "spacer",
            SMALL,
            "length of the spacer that stands there, mm",
        )
        .such_as("20"),
    ],
)
.one_of(&[&["plate", "accessory"]]);

static PULLEY: Table = Table::new(
    "pulley",
    "limits and sizes of a pulley",
    &[
        Key::required("id", Type::Id, "the pulley"),
        Key::optional(
            "offset-limit",
            SMALL,
            "offset that is allowed, mm; from its shortest span unless given",
        )
        .such_as("0.5"),
        Key::optional(
            "tilt-limit",
            Type::Number(Range::above(0.0, 10.0, "deg")),
            "tilt that is allowed, deg",
        )
        .such_as("0.33"),
        Key::optional(
            "rim",
            Type::SIZE,
            "diameter of the rim the gap was taken at, mm",
        )
        .such_as("70"),
        Key::optional(
            "face",
            Type::POSITION,
            "how far the front face stands before the rib plane, mm; half its width unless given",
        )
        .such_as("13.5"),
    ],
);

/// A rod readings file as read.
#[derive(Debug, Clone, PartialEq)]
pub struct Rods {
    /// The readings.
    pub readings: Vec<RodReading>,
    reference: Option<String>,
    stock_mm: Vec<f64>,
    places: Vec<BoltNote>,
    pulleys: Vec<PulleyNote>,
    /// Where the file begins to speak of the mock-up.
    pub spot: Spot,
}

/// What the file says of a bolt.
#[derive(Debug, Clone, PartialEq)]
struct BoltNote {
    mount: String,
    bolt: String,
    fitted_mm: Vec<f64>,
    most_mm: Option<f64>,
    most_pieces: Option<u32>,
    play_mm: Option<f64>,
    spacer_mm: Option<f64>,
    spot: Spot,
}

/// What the file says of a pulley.
#[derive(Debug, Clone, PartialEq)]
struct PulleyNote {
    name: String,
    offset_limit_mm: Option<f64>,
    tilt_limit_deg: Option<f64>,
    rim_mm: Option<f64>,
    face_mm: Option<f64>,
    spot: Spot,
}

impl ParamFile for Rods {
    const KIND: &'static FileKind = &RODS;

    fn build(_: &str, r: &Record, sink: &mut Sink) -> Option<Self> {
        let sd_mm = r.number("sd").unwrap_or(GAP_SD_MM);
        let stock: Vec<f64> = r
            .list("stock")
            .iter()
            .filter_map(crate::params::record::Node::number)
            .collect();
        let readings: Vec<RodReading> = r
            .tables("rod")
            .filter_map(|t| rod(t, sd_mm, sink))
            .collect();
        let first = r.tables("rod").next().map_or(r.spot, |t| t.spot_of("at"));
        Some(Self {
            readings,
            reference: r.string("reference"),
            stock_mm: if stock.is_empty() {
                STOCK_MM.to_vec()
            } else {
                stock
            },
            places: r.tables("place").filter_map(bolt_note).collect(),
            pulleys: r.tables("pulley").filter_map(pulley_note).collect(),
            spot: first,
        })
    }
}

/// One rod position.
fn rod(r: &Record, sd_mm: f64, sink: &mut Sink) -> Option<RodReading> {
    let missing = |key: &str, with: &str, sink: &mut Sink| {
        sink.push(
            Diag::new(Code::KeysClash, format!("`{with}` needs `{key}` beside it"))
                .at(r.spot_of(with))
                .key(r.path_of(with))
                .help(format!("write `{key}` as well")),
        );
    };
    let gaps = if r.has("grooves") {
        if !r.has("read") {
            missing("read", "grooves", sink);
            return None;
        }
        let read: Option<Vec<(usize, f64, f64)>> = r
            .list("read")
            .iter()
            .map(|n| {
                n.numbers()
                    .map(|[g, near, far]| (g.max(0.0).round() as usize, near, far))
            })
            .collect();
        Gaps::Grooves {
            count: r.count("grooves")? as usize,
            read: read?,
        }
    } else {
        if !r.has("far") {
            missing("far", "near", sink);
            return None;
        }
        Gaps::Rims {
            near_mm: r.number("near")?,
            far_mm: r.number("far")?,
        }
    };
    Some(RodReading {
        pulley: r.string("at")?,
        gaps,
        direction_deg: r.number("direction"),
        sd_mm,
    })
}

fn bolt_note(r: &Record) -> Option<BoltNote> {
    Some(BoltNote {
        mount: r
            .text("plate")
            .map(plate_name)
            .or_else(|| r.string("accessory"))?,
        bolt: r.string("bolt")?,
        fitted_mm: r
            .list("fitted")
            .iter()
            .filter_map(crate::params::record::Node::number)
            .collect(),
        most_mm: r.number("most"),
        most_pieces: r.count("pieces"),
        play_mm: r.number("play"),
        spacer_mm: r.number("spacer"),
        spot: r.spot_of("bolt"),
    })
}

fn pulley_note(r: &Record) -> Option<PulleyNote> {
    Some(PulleyNote {
        name: r.string("id")?,
        offset_limit_mm: r.number("offset-limit"),
        tilt_limit_deg: r.number("tilt-limit"),
        rim_mm: r.number("rim"),
        face_mm: r.number("face"),
        spot: r.spot_of("id"),
    })
}

impl Rods {
    /// Writes what the file says of stock, bolts and pulleys into the drive; what names nothing is reported.
    pub fn apply(&self, drive: &mut Drive, sink: &mut Sink) {
        drive.stock_mm.clone_from(&self.stock_mm);
        if let Some(reference) = &self.reference {
            drive.reference.clone_from(reference);
        }
        for n in &self.pulleys {
            let Some(p) = drive.pulleys.iter_mut().find(|p| p.name == n.name) else {
                let names: Vec<&str> = drive.pulleys.iter().map(|p| p.name.as_str()).collect();
                sink.push(nothing(
                    format!("there is no pulley `{}` in the drive", n.name),
                    n.spot,
                    &names,
                ));
                continue;
            };
            p.offset_limit_mm = n.offset_limit_mm.unwrap_or(p.offset_limit_mm);
            p.tilt_limit_deg = n.tilt_limit_deg.unwrap_or(p.tilt_limit_deg);
            p.rim_radius_mm = n.rim_mm.map_or(p.rim_radius_mm, |d| 0.5 * d);
            p.face_mm = n.face_mm.unwrap_or(p.face_mm);
        }
        for n in &self.places {
            let names: Vec<&str> = drive.mounts.iter().map(|m| m.name.as_str()).collect();
            if !names.contains(&n.mount.as_str()) {
                sink.push(nothing(
                    format!("there is no `{}` on bolts", n.mount),
                    n.spot,
                    &names,
                ));
                continue;
            }
            for m in drive.mounts.iter_mut().filter(|m| m.name == n.mount) {
                let bolts: Vec<String> = m.bolts.iter().map(|b| b.name.clone()).collect();
                let Some(b) = m.bolts.iter_mut().find(|b| b.name == n.bolt) else {
                    let names: Vec<&str> = bolts.iter().map(String::as_str).collect();
                    sink.push(nothing(
                        format!("`{}` has no bolt `{}`", n.mount, n.bolt),
                        n.spot,
                        &names,
                    ));
                    continue;
                };
                b.play_mm = n.play_mm.unwrap_or(b.play_mm);
                b.spacer_mm = n.spacer_mm.or(b.spacer_mm);
                if n.most_mm == Some(0.0) {
                    b.place = None;
                }
                if let Some(place) = &mut b.place {
                    place.fitted_mm.clone_from(&n.fitted_mm);
                    place.most_mm = n.most_mm.unwrap_or(place.most_mm);
                    place.most_pieces = n.most_pieces.map_or(place.most_pieces, |p| p as usize);
                }
            }
        }
    }
}

/// A reference to nothing, with what there is.
fn nothing(title: String, spot: Spot, names: &[&str]) -> Diag {
    Diag::new(Code::UnknownReference, title)
        .at(spot)
        .help(format!("there are: {}", names.join(", ")))
}

/// A fault with a code and the place where the file speaks of the mock-up.
pub fn diag(fault: &Fault, spot: Spot, file: Option<FileId>) -> Diag {
    let code = match fault {
        Fault::NamedTwice { .. } => Code::DuplicateName,
        Fault::Unknown { .. } => Code::UnknownReference,
        Fault::BadNumber { .. } | Fault::Unlikely { .. } => Code::BadGap,
        Fault::Reference(_) | Fault::Circle(_) | Fault::NoBolt(_) => Code::MountUnknown,
    };
    let at = if spot.is_somewhere() {
        spot
    } else {
        file.map_or(Spot::NOWHERE, |f| Spot::new(f, 0..0))
    };
    Diag::new(code, fault.to_string()).at(at)
}
