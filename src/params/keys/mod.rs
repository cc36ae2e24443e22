//! The keys of each kind of parameter file, and how they become typed values.
//!
//! One file per kind or part of it: first the description that the
//! [reader](super::reader) and the schemas use, then the builder that turns a
//! checked [`Record`] into the kind's type and looks at values together.

pub mod accessory;
pub mod block;
pub mod drive;
pub mod feature;
pub mod job;
pub mod outline;
pub mod plate;
pub mod pulley;
pub mod shape;
pub mod shop;
pub mod stock;
pub mod take;
pub mod variant;

use crate::diag::{Code, Diag, Sink};

use super::record::{Node, Record};
use super::spec::FileKind;

/// Every kind a job is made of.
pub static KINDS: &[&FileKind] = &[
    &job::JOB,
    &block::BLOCK,
    &accessory::ACCESSORY,
    &shop::SHOP,
    &stock::STOCK,
];

/// The kind of that name.
#[must_use]
pub fn kind(name: &str) -> Option<&'static FileKind> {
    KINDS.iter().copied().find(|k| k.name == name)
}

/// Regular expression of a name, unanchored.
pub const ID_PATTERN: &str = "[A-Za-z0-9][A-Za-z0-9_-]{0,39}";

/// Longest name, characters: it becomes part of file and layer names.
pub const LONGEST_ID: usize = 40;

/// Longest text, characters: a note of half a page.
pub const LONGEST_TEXT: usize = 2_000;

/// A type that is read from a parameter file of its own.
pub trait ParamFile: Sized {
    /// What a file of it holds.
    const KIND: &'static FileKind;

    /// Builds it from the file's checked keys; `name` is the file's stem.
    ///
    /// Answers `None` only where the file has a finding that says why.
    fn build(name: &str, record: &Record, sink: &mut Sink) -> Option<Self>;
}

/// A finding about a key of a record.
pub(in crate::params) fn about(
    code: Code,
    record: &Record,
    key: &str,
    title: impl Into<String>,
) -> Diag {
    Diag::new(code, title)
        .at(record.spot_of(key))
        .key(record.path_of(key))
}

/// The title of a thing, or its id where it has none.
pub(super) fn title_or_id(record: &Record, id: &str) -> Option<String> {
    Some(record.text("title").or_else(|| record.text(id))?.to_owned())
}

/// Reports every record whose `key` repeats that of an earlier one.
pub(super) fn unique<'r>(
    records: impl IntoIterator<Item = &'r Record>,
    key: &str,
    what: &str,
    sink: &mut Sink,
) {
    let mut seen: std::collections::BTreeMap<&str, &Record> = std::collections::BTreeMap::new();
    for record in records {
        let Some(id) = record.text(key) else { continue };
        if let Some(first) = seen.get(id) {
            sink.push(
                about(
                    Code::DuplicateName,
                    record,
                    key,
                    format!("two {what} are named `{id}`"),
                )
                .also(first.spot_of(key), "the first of them")
                .help("give one of them another name"),
            );
        } else {
            seen.insert(id, record);
        }
    }
}

/// A range whose end lies above its start, mm or deg.
pub(super) fn ascending(record: &Record, key: &str, sink: &mut Sink) -> Option<(f64, f64)> {
    let node = record.node(key)?;
    ascending_node(node, &record.path_of(key), sink)
}

/// The same for an element of a list; `path` is shown to the user.
pub(super) fn ascending_node(node: &Node, path: &str, sink: &mut Sink) -> Option<(f64, f64)> {
    let [low, high] = node.numbers()?;
    if low < high {
        return Some((low, high));
    }
    sink.push(
        Diag::new(
            Code::Contradiction,
            format!(
                "`{path}` ends at {} and begins at {}",
                crate::units::plain(high, 6),
                crate::units::plain(low, 6)
            ),
        )
        .at(node.spot)
        .key(path)
        .help("write the lower value first; the two must differ"),
    );
    None
}

/// Two keys of which the second must be greater.
pub(super) fn later(
    record: &Record,
    from: &str,
    to: &str,
    unit: &str,
    sink: &mut Sink,
) -> Option<(f64, f64)> {
    let (a, b) = (record.number(from)?, record.number(to)?);
    if a < b {
        return Some((a, b));
    }
    sink.push(
        about(
            Code::Contradiction,
            record,
            to,
            format!(
                "`{}` is {} {unit}, it must be more than `{from}`, {} {unit}",
                record.path_of(to),
                crate::units::plain(b, 6),
                crate::units::plain(a, 6)
            ),
        )
        .also(record.spot_of(from), "must be the lesser")
        .help("mend one of the two"),
    );
    None
}
