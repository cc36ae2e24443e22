//! `schema`: the JSON Schema of a kind of parameter file.

use crate::measure::READINGS;
use crate::params::{Accessory, Block, Job, ParamFile as _, Shop, Stock};
use crate::report::json_text;
use crate::schema;
use crate::shim::RODS;

use super::Outcome;
use super::args::{Kind, SchemaArgs};

pub(super) fn run(args: &SchemaArgs) -> Outcome {
    let kind = match args.kind {
        Kind::Block => Block::KIND,
        Kind::Accessory => Accessory::KIND,
        Kind::Job => Job::KIND,
        Kind::Shop => Shop::KIND,
        Kind::Stock => Stock::KIND,
        Kind::CaliperReadings => &READINGS,
        Kind::RodReadings => &RODS,
    };
    Outcome {
        results: json_text(&schema::of(kind)),
        ..Outcome::default()
    }
}
