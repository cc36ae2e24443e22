//! Keys of the stock file.

use crate::diag::Sink;
use crate::params::record::Record;
use crate::params::shop::Stock;
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
            finish: r.string("finish")?,
        })
    }
}
