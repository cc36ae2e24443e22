//! Keys of the stock file.

use crate::diag::Sink;
use crate::params::record::Record;
use crate::params::shop::{Stock, Turns};
use crate::params::spec::{FileKind, Key, Standard, Table, Type};

use super::ParamFile;

/// What a stock file holds.
pub static STOCK: FileKind = FileKind {
    name: "stock",
    folder: "stock",
    table: &TABLE,
};

static TABLE: Table = Table::new(
    "stock",
    "plate that parts are cut from",
    &[
        Key::required("title", Type::TEXT, "what a person calls it"),
        Key::required(
            "material",
            Type::Designation(Standard::Material),
            "material",
        ),
        Key::required("thickness", Type::SIZE, "thickness, mm").such_as("\"1/2 in\""),
        Key::optional(
            "sheet",
            Type::List {
                of: &Type::SIZE,
                least: 2,
                most: 2,
            },
            "sheet size [length, width], mm",
        ),
        Key::default(
            "further-sheets",
            Type::List {
                of: &Type::List {
                    of: &Type::SIZE,
                    least: 2,
                    most: 2,
                },
                least: 0,
                most: 20,
            },
            "[]",
            "further sheet sizes it is bought in, mm; nests take the one with the least area in all",
        )
        .such_as("[[2000, 1000]]"),
        Key::default(
            "turns",
            Type::Choice(&[
                ("any", "parts may be turned any way"),
                ("quarter", "by quarter turns"),
                ("half", "by half a turn: the grain runs along the part's x"),
                ("none", "not at all"),
            ]),
            "\"quarter\"",
            "how parts may be turned on a sheet (common practice, no source: square to the sheet)",
        ),
        Key::default(
            "finish",
            Type::NOTE,
            "\"\"",
            "surface finish or treatment, for the drawing",
        ),
    ],
);

impl ParamFile for Stock {
    const KIND: &'static FileKind = &STOCK;

    fn build(name: &str, r: &Record, _sink: &mut Sink) -> Option<Self> {
        Some(Self {
            name: name.to_owned(),
            title: r.string("title")?,
            material: r.string("material")?,
            thickness_mm: r.number("thickness")?,
            sheet_mm: r.pair("sheet"),
            further_sheets_mm: r
                .list("further-sheets")
                .iter()
                .filter_map(|n| n.numbers().map(|[a, b]| (a, b)))
                .collect(),
            turns: match r.text("turns")? {
                "any" => Turns::Any,
                "half" => Turns::Half,
                "none" => Turns::None,
                _ => Turns::Quarter,
            },
            finish: r.string("finish")?,
        })
    }
}
