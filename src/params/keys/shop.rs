//! Keys of the shop file.

use crate::diag::{Code, Diag, Sink};
use crate::params::record::Record;
use crate::params::shop::{Method, Process, Shop};
use crate::params::spec::{FileKind, Key, Range, Table, Type};

use super::ParamFile;

/// What a shop file holds.
pub static SHOP: FileKind = FileKind {
    name: "shop",
    folder: "shops",
    table: &TABLE,
};

static TABLE: Table = Table::new(
    "shop",
    "what a CNC shop's processes can do",
    &[
        Key::required("title", Type::TEXT, "what a person calls the shop"),
        Key::required(
            "process",
            Type::List {
                of: &Type::Table(&PROCESS),
                least: 1,
                most: 40,
            },
            "its processes; the first is taken unless a plate asks for another",
        ),
    ],
);

/// A size as a multiple of the thickness.
const PER_THICKNESS: Type = Type::Number(Range::new(0.0, 20.0, ""));

static PROCESS: Table = Table::new(
    "process",
    "one cutting process of the shop",
    &[
        Key::required("id", Type::Id, "name by which a plate asks for it"),
        Key::required(
            "method",
            Type::Choice(&[
                ("milling", "end mill"),
                ("laser", "laser beam"),
                ("plasma", "plasma arc"),
                ("waterjet", "abrasive waterjet"),
            ]),
            "how it cuts",
        ),
        Key::required(
            "least-hole",
            Type::ZERO_OR_SIZE,
            "least hole diameter whatever the thickness, mm",
        ),
        Key::required(
            "least-hole-per-thickness",
            PER_THICKNESS,
            "least hole diameter as a multiple of the thickness",
        ),
        Key::required(
            "least-web",
            Type::ZERO_OR_SIZE,
            "least web between two cuts whatever the thickness, mm",
        ),
        Key::required(
            "least-web-per-thickness",
            PER_THICKNESS,
            "least web between two cuts as a multiple of the thickness",
        ),
        Key::default(
            "cutters",
            Type::List {
                of: &Type::SIZE,
                least: 0,
                most: 100,
            },
            "[]",
            "diameters of the end mills at hand, mm",
        ),
        Key::optional(
            "inside-radius",
            Type::ZERO_OR_SIZE,
            "least inside corner radius, mm; half the least cutter unless given",
        ),
        Key::required("most-thickness", Type::SIZE, "greatest thickness, mm"),
        Key::required(
            "sheet",
            Type::List {
                of: &Type::SIZE,
                least: 2,
                most: 2,
            },
            "usable table or sheet size [length, width], mm",
        )
        .such_as("[1500, 3000]"),
        Key::optional(
            "machines",
            Type::Flag,
            "whether it also drills, taps, counterbores and pockets; a mill does unless told otherwise",
        ),
        Key::default(
            "engraves",
            Type::Flag,
            "true",
            "whether it engraves the marking layer",
        ),
        Key::default("kerf", Type::ZERO_OR_SIZE, "0", "kerf, mm"),
    ],
);

impl ParamFile for Shop {
    const KIND: &'static FileKind = &SHOP;

    fn build(name: &str, r: &Record, sink: &mut Sink) -> Option<Self> {
        super::unique(r.tables("process"), "id", "processes", sink);
        let processes: Vec<Process> = r
            .tables("process")
            .filter_map(|p| process(p, sink))
            .collect();
        Some(Self {
            name: name.to_owned(),
            title: r.string("title")?,
            processes,
        })
    }
}

fn process(r: &Record, sink: &mut Sink) -> Option<Process> {
    let method = match r.text("method")? {
        "milling" => Method::Milling,
        "laser" => Method::Laser,
        "plasma" => Method::Plasma,
        _ => Method::Waterjet,
    };
    let mut cutters_mm: Vec<f64> = r
        .list("cutters")
        .iter()
        .map(super::Node::number)
        .collect::<Option<_>>()?;
    cutters_mm.sort_by(f64::total_cmp);
    let inside_radius_mm = if r.has("inside-radius") {
        r.number("inside-radius")?
    } else if let Some(least) = cutters_mm.first() {
        0.5 * least
    } else {
        sink.push(
            Diag::new(
                Code::MissingKey,
                format!("`{}` has neither `inside-radius` nor `cutters`", r.path),
            )
            .at(r.spot)
            .key(r.path_of("inside-radius"))
            .help("add inside-radius = 0.5, or the diameters of the end mills"),
        );
        return None;
    };
    Some(Process {
        id: r.string("id")?,
        method,
        least_hole_per_thickness: r.number("least-hole-per-thickness")?,
        least_hole_mm: r.number("least-hole")?,
        least_web_per_thickness: r.number("least-web-per-thickness")?,
        least_web_mm: r.number("least-web")?,
        cutters_mm,
        inside_radius_mm,
        most_thickness_mm: r.number("most-thickness")?,
        sheet_mm: r.pair("sheet")?,
        machines: if r.has("machines") {
            r.flag("machines")?
        } else {
            method == Method::Milling
        },
        engraves: r.flag("engraves")?,
        kerf_mm: r.number("kerf")?,
        spot: r.spot_of("id"),
    })
}
