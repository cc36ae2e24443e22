//! `schema`: the JSON Schema of a kind of parameter file.

use crate::report::json_text;
use crate::schema;

use super::Outcome;
use super::args::{Kind, SchemaArgs};

pub(super) fn run(args: &SchemaArgs) -> Outcome {
    let kind = match args.kind {
        Kind::Block => schema::Kind::Block,
        Kind::Accessory => schema::Kind::Accessory,
        Kind::Job => schema::Kind::Job,
        Kind::Shop => schema::Kind::Shop,
        Kind::Stock => schema::Kind::Stock,
    };
    Outcome {
        results: json_text(&schema::of(kind)),
        ..Outcome::default()
    }
}
