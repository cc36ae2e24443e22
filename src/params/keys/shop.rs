//! Keys of the shop file.

use crate::diag::{Code, Diag, Sink};
use crate::params::record::Record;
use crate::params::shop::{Cut, Method, Process, Shop};
use crate::params::spec::{FileKind, Key, Range, Standard, Table, Type};
use crate::units::plain;

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
        Key::optional(
            "kerf",
            Type::ZERO_OR_SIZE,
            "width of the cut, mm; a mill's is its least cutter, a jet's 0 unless given",
        ),
        Key::default(
            "part-gap",
            Type::SIZE,
            "12",
            "least distance between the outlines of two parts on a sheet, mm, not less than the kerf (common practice, no source)",
        ),
        Key::default(
            "edge-margin",
            Type::ZERO_OR_SIZE,
            "10",
            "least distance between a part's outline and the sheet's edge, mm: room for clamps (common practice, no source)",
        ),
        Key::default(
            "cut",
            Type::tables(&Type::Table(&CUT)),
            "[]",
            "how fast it cuts what; without a row for a material no time is estimated",
        ),
        Key::default(
            "hole-time",
            Type::Number(Range::new(0.0, 3_600.0, "s")),
            "0",
            "time for one drilled, reamed or tapped hole, seat, pocket or groove, s",
        ),
        Key::default(
            "sheet-time",
            Type::Number(Range::new(0.0, 600.0, "min")),
            "0",
            "time to load, clamp and unload a sheet, min",
        ),
    ],
);

static CUT: Table = Table::new(
    "cut",
    "how fast the process cuts a material; the shop's own figures",
    &[
        Key::required(
            "material",
            Type::Designation(Standard::Material),
            "material",
        ),
        Key::optional(
            "thickness",
            Type::SIZE,
            "greatest thickness the row is for, mm; any unless given",
        ),
        Key::required(
            "feed",
            Type::Number(Range::above(0.0, 100_000.0, "mm/min")),
            "feed along the outline, mm/min",
        )
        .such_as("600"),
        Key::default(
            "pierce-time",
            Type::Number(Range::new(0.0, 600.0, "s")),
            "0",
            "time to pierce, or to plunge to depth, once a closed cut, s",
        ),
        Key::optional(
            "pass-depth",
            Type::SIZE,
            "depth of one pass, mm; the whole thickness at once unless given",
        ),
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
    let kerf_mm = if r.has("kerf") {
        r.number("kerf")?
    } else if method == Method::Milling {
        cutters_mm.first().copied().unwrap_or(0.0)
    } else {
        0.0
    };
    let part_gap_mm = r.number("part-gap")?;
    if part_gap_mm < kerf_mm {
        sink.push(
            Diag::new(
                Code::Contradiction,
                format!(
                    "`{}`: parts {} mm apart would be cut into by a kerf of {} mm",
                    r.path,
                    plain(part_gap_mm, 3),
                    plain(kerf_mm, 3)
                ),
            )
            .at(r.spot_of("part-gap"))
            .key(r.path_of("part-gap"))
            .help(format!("give a part-gap of {} or more", plain(kerf_mm, 3))),
        );
        return None;
    }
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
        kerf_mm,
        part_gap_mm,
        edge_margin_mm: r.number("edge-margin")?,
        cuts: r.tables("cut").filter_map(cut).collect(),
        hole_s: r.number("hole-time")?,
        sheet_min: r.number("sheet-time")?,
        spot: r.spot_of("id"),
    })
}

fn cut(r: &Record) -> Option<Cut> {
    Some(Cut {
        material: r.string("material")?,
        up_to_mm: r.number("thickness"),
        feed_mm_min: r.number("feed")?,
        pierce_s: r.number("pierce-time")?,
        pass_mm: r.number("pass-depth"),
    })
}
