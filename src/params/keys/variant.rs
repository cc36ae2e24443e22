//! Keys of a job's variants.

use crate::diag::{Code, Sink};
use crate::params::job::{PulleySwap, VariantSpec};
use crate::params::record::Record;
use crate::params::spec::{Key, Table, Type};

use super::{drive, pulley, shape};

/// A variant of a job.
pub static VARIANT: Table = Table::new(
    "variant",
    "the same plates with something replaced; what it does not name stays as in the job",
    &[
        Key::required("name", Type::Id, "its name, unique in the job"),
        Key::optional("title", Type::TEXT, "what a person calls it"),
        Key::optional("block", Type::File("block"), "name of another block file"),
        Key::default(
            "replace",
            Type::Map(&Type::File("accessory")),
            "{}",
            "other accessory files by the placed accessory's name",
        ),
        Key::default(
            "without",
            Type::List {
                of: &Type::Id,
                least: 0,
                most: 40,
            },
            "[]",
            "placed accessories left out; they leave the belt's run too",
        ),
        Key::optional("belt", Type::SIZE, "another effective belt length, mm"),
        Key::optional("run", drive::RUN, "the belt's run where it differs"),
        Key::default(
            "hoses",
            Type::Map(&Type::SIZE),
            "{}",
            "other outside diameters of hoses by the hose's name, mm",
        ),
        Key::default(
            "spacers",
            Type::Map(&Type::ZERO_OR_SIZE),
            "{}",
            "other lengths of the spacers a plate stands off on, by the plate's name, mm; they take the place of `plus`",
        ),
        Key::default(
            "pulley",
            Type::tables(&Type::Table(&SWAP)),
            "[]",
            "other pulleys",
        ),
    ],
);

static SWAP: Table = Table::new(
    "other pulley",
    "another pulley on a shaft",
    &[
        Key::required(
            "on",
            Type::Reference,
            "the shaft: `block.<pulley>` or a placed accessory",
        ),
        pulley::DIAMETER,
        pulley::RIBS,
        pulley::RIM,
        pulley::RIB_PLANE,
        pulley::WIDTH,
    ],
);

/// Builds a variant.
pub(super) fn variant(r: &Record, sink: &mut Sink) -> Option<VariantSpec> {
    super::unique(r.tables("pulley"), "on", "pulleys of a variant", sink);
    let without: Vec<String> = r
        .list("without")
        .iter()
        .filter_map(|n| n.text().map(str::to_owned))
        .collect();
    for (id, spot, _) in r.map("replace") {
        if without.contains(id) {
            sink.push(
                super::about(
                    Code::Contradiction,
                    r,
                    "without",
                    format!("`{id}` is both replaced and left out in `{}`", r.path),
                )
                .also(*spot, "replaced here")
                .help("keep one of the two"),
            );
        }
    }
    let pulleys = r
        .tables("pulley")
        .map(|p| {
            Some(PulleySwap {
                on: shape::reference(p, "on")?,
                pulley: pulley::pulley(p, sink)?,
                spot: p.spot_of("on"),
            })
        })
        .collect::<Option<_>>();
    let run = if r.has("run") {
        Some(drive::run(r.list("run"))?)
    } else {
        None
    };
    Some(VariantSpec {
        name: r.string("name")?,
        title: super::title_or_id(r, "name")?,
        block: r.string("block"),
        replace: r
            .map("replace")
            .iter()
            .map(|(id, _, n)| Some((id.clone(), n.text()?.to_owned())))
            .collect::<Option<_>>()?,
        without,
        pulleys: pulleys?,
        belt_mm: r.number("belt"),
        run,
        hoses: r
            .map("hoses")
            .iter()
            .map(|(id, _, n)| Some((id.clone(), n.number()?)))
            .collect::<Option<_>>()?,
        spacers: r
            .map("spacers")
            .iter()
            .map(|(id, _, n)| Some((id.clone(), n.number()?)))
            .collect::<Option<_>>()?,
        spot: r.spot_of("name"),
    })
}
