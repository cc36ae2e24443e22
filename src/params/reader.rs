//! Bytes of a parameter file to a checked [`Record`]: every fault found at once, each with its place.
//!
//! [`read`] never fails early: it checks all it can read against the kind's
//! [description](super::spec) and reports into a [`Sink`]. Files come from
//! anywhere; nothing here touches a file system.

use std::ops::Range as Bytes;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use crate::diag::{Code, Diag, FileId, Sink, Sources, Spot};

pub use super::decode::MOST_BYTES;
use super::decode::decode;
use super::nearest::nearest;
use super::record::{Datum, Field, Node, Record};
use super::spec::{Designations, FileKind, Key, Need, Table, Type};
use super::words;

/// Findings reported for one file before the rest is counted only.
///
/// More than a person mends at one sitting (common practice, no source).
pub const MOST_FINDINGS: usize = 200;

/// A file as read.
#[derive(Debug, Clone, PartialEq)]
pub struct ReadFile {
    /// Its place in the registry.
    pub file: FileId,
    /// Its top table.
    pub record: Record,
    /// Lines with a syntax error; what stands on them is not what the user meant.
    pub faults: Vec<Spot>,
}

impl ReadFile {
    /// Whether every key was readable, so that what is not there is truly missing.
    #[must_use]
    pub fn is_complete(&self) -> bool {
        self.faults.is_empty()
    }

    /// Whether a finding only follows from a syntax error on its line.
    #[must_use]
    pub fn spoils(&self, diag: &Diag) -> bool {
        let spot = diag.spot();
        let syntax = matches!(diag.code, Code::Syntax | Code::TooDeep | Code::TooMany);
        let on_fault =
            |f: &Spot| f.file == spot.file && f.start <= spot.start && spot.start <= f.end;
        !syntax && self.faults.iter().any(on_fault)
    }
}

/// Reads the bytes of a file of the given kind, shown to the user as `shown`.
///
/// The file is added to `sources`; findings go to `sink`. `None` means that
/// nothing in it could be read, and why has been reported.
pub fn read(
    shown: &str,
    bytes: &[u8],
    kind: &'static FileKind,
    known: &Designations,
    sources: &mut Sources,
    sink: &mut Sink,
) -> Option<ReadFile> {
    let (file, text) = decode(shown, bytes, sources, sink)?;
    let (toml, errors) = DeTable::parse_recoverable(text);
    let mut reader = Reader {
        file,
        text,
        known,
        sink,
        kind,
        path: Vec::new(),
        faults: Vec::new(),
        reported: 0,
        dropped: 0,
    };
    reader.syntax(&errors);
    let record = reader
        .is_of_kind(toml.get_ref())
        .then(|| reader.table(toml.get_ref(), 0..0, kind.table, Some("kind")));
    let faults = reader
        .faults
        .iter()
        .map(|f| Spot::new(file, f.clone()))
        .collect();
    reader.close();
    Some(ReadFile {
        file,
        record: record?,
        faults,
    })
}

/// State of the walk through one file.
pub(super) struct Reader<'a> {
    file: FileId,
    pub(super) text: &'a str,
    pub(super) known: &'a Designations,
    sink: &'a mut Sink,
    kind: &'static FileKind,
    path: Vec<String>,
    /// Lines that hold a syntax error, as byte ranges.
    pub(super) faults: Vec<Bytes<usize>>,
    reported: usize,
    dropped: usize,
}

#[cfg(test)]
impl<'a> Reader<'a> {
    /// A reader of a bare value.
    pub(super) fn for_test(
        text: &'a str,
        kind: &'static FileKind,
        known: &'a Designations,
        sink: &'a mut Sink,
    ) -> Self {
        Self {
            file: Spot::NOWHERE.file,
            text,
            known,
            sink,
            kind,
            path: Vec::new(),
            faults: Vec::new(),
            reported: 0,
            dropped: 0,
        }
    }
}

impl Reader<'_> {
    pub(super) fn spot(&self, range: Bytes<usize>) -> Spot {
        Spot::new(self.file, range)
    }

    /// The dotted path of where the walk is.
    pub(super) fn here(&self) -> String {
        let mut out = String::new();
        for step in &self.path {
            if !out.is_empty() && !step.starts_with('[') {
                out.push('.');
            }
            out.push_str(step);
        }
        out
    }

    /// Runs `f` one step further down.
    pub(super) fn at<T>(&mut self, step: impl Into<String>, f: impl FnOnce(&mut Self) -> T) -> T {
        self.path.push(step.into());
        let out = f(self);
        self.path.pop();
        out
    }

    /// The path as a `[table]` header has it: without the names of elements.
    pub(super) fn path_words(&self) -> String {
        let steps: Vec<&str> = self
            .path
            .iter()
            .map(String::as_str)
            .filter(|s| self.kind.has_key(s))
            .collect();
        steps.join(".")
    }

    /// Reports a finding about the value where the walk is.
    ///
    /// What stands on a line with a syntax error is not judged any further, and
    /// nothing is missing from a file with one.
    pub(super) fn report(&mut self, diag: Diag) {
        let start = diag.spot().start as usize;
        let follows = self
            .faults
            .iter()
            .any(|f| f.contains(&start) || f.end == start);
        let missing = diag.code == Code::MissingKey && !self.faults.is_empty();
        if follows || missing {
            return;
        }
        self.push(diag);
    }

    pub(super) fn push(&mut self, mut diag: Diag) {
        if self.reported >= MOST_FINDINGS {
            self.dropped += 1;
            return;
        }
        self.reported += 1;
        if diag.key.is_empty() {
            diag.key = self.here();
        }
        self.sink.push(diag);
    }

    /// Says how many findings were dropped.
    fn close(self) {
        if self.dropped > 0 {
            self.sink.push(
                Diag::new(
                    Code::TooMany,
                    format!("{} further findings in this file", self.dropped),
                )
                .at(Spot::new(self.file, self.text.len()..self.text.len()))
                .help("mend the ones above first"),
            );
        }
    }

    /// Whether the file says it is of the kind it is read as.
    fn is_of_kind(&mut self, table: &DeTable<'_>) -> bool {
        let want = self.kind.name;
        let Some(value) = table.get("kind") else {
            if self.mistyped(table, "kind") {
                return true;
            }
            let spot = self.spot(0..0);
            self.report(
                Diag::new(Code::MissingKey, "missing key `kind`")
                    .at(spot)
                    .key("kind")
                    .help(format!("begin the file with kind = \"{want}\"")),
            );
            return true;
        };
        let spot = self.spot(value.span());
        let DeValue::String(found) = value.get_ref() else {
            if !value.span().is_empty() {
                self.report(
                    Diag::new(Code::WrongType, "`kind` must be a text")
                        .at(spot)
                        .key("kind")
                        .help(format!("write kind = \"{want}\"")),
                );
            }
            return true;
        };
        if found == want {
            return true;
        }
        self.push(
            Diag::new(
                Code::WrongKind,
                format!(
                    "the file says it is `{}`, a file of kind `{want}` is needed",
                    words::shortened(found)
                ),
            )
            .at(spot)
            .key("kind")
            .help(format!(
                "name a {want} file, or write kind = \"{want}\" if it is one"
            )),
        );
        false
    }

    /// Reports the key that was probably meant to be `key`, if there is one.
    pub(super) fn mistyped(&mut self, toml: &DeTable<'_>, key: &'static str) -> bool {
        let near = toml
            .keys()
            .find(|k| nearest(k.get_ref(), [key]).is_some() && !self.kind.has_key(k.get_ref()));
        let Some(written) = near else { return false };
        let diag = Diag::new(
            Code::UnknownKey,
            format!(
                "unknown key `{}`{}",
                words::shortened(written.get_ref()),
                self.place_words()
            ),
        )
        .at(self.spot(written.span()))
        .key(self.at(words::shortened(written.get_ref()), |r| r.here()))
        .help(format!("did you mean `{key}`?"));
        self.report(diag);
        true
    }

    /// Reads a table by its description. `tag` is a key that has been dealt with already.
    pub(super) fn table(
        &mut self,
        toml: &DeTable<'_>,
        span: Bytes<usize>,
        table: &'static Table,
        tag: Option<&str>,
    ) -> Record {
        let spot = self.spot(span);
        let mistaken = self.unknown_keys(toml, table, tag);
        let mut fields = Vec::with_capacity(table.keys.len());
        for key in table.keys {
            if let Some((written, v)) = toml.get_key_value(key.name) {
                let key_spot = self.spot(written.span());
                let node = self.at(key.name, |r| r.value(v, &key.takes));
                fields.push(Field {
                    name: key.name,
                    key: key_spot,
                    given: true,
                    node,
                });
            } else if let Need::Default(default) = key.need {
                fields.push(Field {
                    name: key.name,
                    key: spot,
                    given: false,
                    node: self.default(default, &key.takes, spot),
                });
            } else if key.need == Need::Required && !mistaken.contains(&key.name) {
                self.missing(spot, key);
            }
        }
        let record = Record {
            table,
            path: self.here(),
            spot,
            fields,
        };
        self.groups(&record);
        record
    }

    fn missing(&mut self, spot: Spot, key: &Key) {
        let path = self.at(key.name, |r| r.here());
        let place = self.place_words();
        self.report(
            Diag::new(
                Code::MissingKey,
                format!("missing key `{}`{place}", key.name),
            )
            .at(spot)
            .key(path)
            .help(format!(
                "add {} = {} ({})",
                key.name,
                words::key_example(key),
                key.doc
            )),
        );
    }

    /// ` in `engine``, or nothing at the top of a file.
    pub(super) fn place_words(&self) -> String {
        if self.path.is_empty() {
            String::new()
        } else {
            format!(" in `{}`", self.here())
        }
    }

    /// Reports keys the table does not have; answers the keys they were probably meant to be.
    fn unknown_keys(
        &mut self,
        toml: &DeTable<'_>,
        table: &'static Table,
        tag: Option<&str>,
    ) -> Vec<&'static str> {
        let mut mistaken = Vec::new();
        for (written, _) in toml {
            let name = written.get_ref();
            // A key meant to be the tag has been reported already.
            let is_tag = tag.is_some_and(|t| {
                t == name || (!toml.contains_key(t) && nearest(name, [t]).is_some())
            });
            if table.key(name).is_some() || is_tag {
                continue;
            }
            let free = table
                .keys
                .iter()
                .map(|k| k.name)
                .filter(|k| !toml.contains_key(*k));
            let suggestion = nearest(name, free);
            let mut diag = Diag::new(
                Code::UnknownKey,
                format!(
                    "unknown key `{}`{}",
                    words::shortened(name),
                    self.place_words()
                ),
            )
            .at(self.spot(written.span()))
            .key(self.at(words::shortened(name), |r| r.here()));
            let of_the_file =
                !self.path.is_empty() && (self.kind.table.key(name).is_some() || name == "kind");
            if of_the_file {
                diag = diag.help(format!(
                    "`{name}` belongs to the whole file: write it above the first [table]"
                ));
            } else if let Some(s) = suggestion {
                mistaken.push(s);
                diag = diag.help(format!("did you mean `{s}`?"));
            } else {
                diag = diag.help(format!("known here: {}", words::key_list(table)));
            }
            self.report(diag);
        }
        mistaken
    }

    /// Checks the groups of keys that exclude or need each other.
    fn groups(&mut self, record: &Record) {
        let table = record.table;
        let groups = table
            .one_of
            .iter()
            .map(|g| (*g, true))
            .chain(table.not_both.iter().map(|g| (*g, false)));
        for (group, one_needed) in groups {
            let given: Vec<&Field> = group
                .iter()
                .filter_map(|k| record.field(k).filter(|f| f.given))
                .collect();
            if let [first, second, ..] = given.as_slice() {
                let diag = Diag::new(
                    Code::KeysClash,
                    format!(
                        "`{}` and `{}` are both given{}, only one may be",
                        first.name,
                        second.name,
                        self.place_words()
                    ),
                )
                .at(second.key)
                .also(first.key, "the other")
                .help(format!("keep the one that is meant: {}", words(group)));
                self.report(diag);
            } else if given.is_empty() && one_needed && self.faults.is_empty() {
                let diag = Diag::new(
                    Code::KeysClash,
                    format!("one of {} is needed{}", words(group), self.place_words()),
                )
                .at(record.spot)
                .help("add the one that applies");
                self.report(diag);
            }
        }
    }

    /// Reads a value of the given type.
    pub(super) fn value(&mut self, v: &Spanned<DeValue<'_>>, takes: &Type) -> Node {
        Node {
            spot: self.spot(v.span()),
            datum: self.datum(v, takes),
        }
    }

    /// The node of a default value, which stands where its table stands.
    fn default(&mut self, text: &str, takes: &Type, spot: Spot) -> Node {
        let Ok(v) = DeValue::parse(text) else {
            debug_assert!(false, "default `{text}` is not TOML");
            return Node {
                spot,
                datum: Datum::Refused,
            };
        };
        let mut node = self.value(&v, takes);
        place_all(&mut node, spot);
        node
    }
}

/// Puts a default and everything in it where its table stands.
fn place_all(node: &mut Node, spot: Spot) {
    node.spot = spot;
    match &mut node.datum {
        Datum::List(list) => list.iter_mut().for_each(|n| place_all(n, spot)),
        Datum::Table(record) => {
            record.spot = spot;
            for field in &mut record.fields {
                field.key = spot;
                field.given = false;
                place_all(&mut field.node, spot);
            }
        }
        Datum::Map(map) => {
            for (_, key, node) in map {
                *key = spot;
                place_all(node, spot);
            }
        }
        _ => {}
    }
}

/// Keys in words: `` `a`, `b` or `c` ``.
fn words(keys: &[&str]) -> String {
    let quoted: Vec<String> = keys.iter().map(|k| format!("`{k}`")).collect();
    words::either_words(&quoted)
}
