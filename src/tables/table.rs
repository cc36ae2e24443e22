//! A standard table: rows with their source, looked up by name, to which a shop may add its own.

use std::collections::BTreeMap;

use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};

/// How sure a row is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Confidence {
    /// Read in a public quotation of the named standard.
    Verified,
    /// Computed from the standard's own formula.
    Derived,
    /// From memory of the named standard, not read again.
    Memory,
    /// Common practice, no published source.
    Practice,
    /// A row the shop added.
    Shop,
}

/// A row of a standard table.
pub trait Row: Clone + DeserializeOwned + 'static {
    /// What a row is called in an error, such as `thread`.
    const KIND: &'static str;

    /// The name the row is looked up by. Several rows may share one where a
    /// second value (a diameter, a thickness) chooses between them.
    fn name(&self) -> String;

    /// Further names.
    fn aliases(&self) -> Vec<&str> {
        Vec::new()
    }

    /// What sets the row apart from others of its name, such as a thickness range.
    fn distinction(&self) -> String {
        String::new()
    }

    /// What is wrong with the row's numbers, if anything.
    ///
    /// # Errors
    ///
    /// A sentence naming the column and what would be right.
    fn check(&self) -> Result<(), String>;

    /// Where the row is from.
    fn source(&self) -> &str;

    /// How sure it is.
    fn confidence(&self) -> Confidence;

    /// The rows compiled in.
    fn standard() -> &'static Table<Self>;
}

/// A name that is in no row.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("no {kind} `{name}` in the tables; nearest: {}", nearest.join(", "))]
pub struct UnknownName {
    /// What was looked for, such as `thread`.
    pub kind: &'static str,
    /// The name as given.
    pub name: String,
    /// Up to three names that the table has, nearest first.
    pub nearest: Vec<String>,
}

/// A row that cannot be added.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum BadRow {
    /// Its numbers make no sense.
    #[error("{kind} `{name}`: {problem}")]
    Values {
        /// What the row is, such as `thread`.
        kind: &'static str,
        /// Its name.
        name: String,
        /// What is wrong and what would be right.
        problem: String,
    },
    /// The table has that name already; a standard row is never replaced silently.
    #[error("{kind} `{name}` is in the tables already ({source_text}); give the row another name")]
    Duplicate {
        /// What the row is, such as `thread`.
        kind: &'static str,
        /// Its name.
        name: String,
        /// Source of the row that is there.
        source_text: String,
    },
}

/// Rows of one kind, in the order of the standard, then the shop's.
#[derive(Debug, Clone)]
pub struct Table<R> {
    rows: Vec<R>,
    by_name: BTreeMap<String, Vec<usize>>,
}

impl<R: Row> Table<R> {
    /// The rows compiled into the program.
    #[must_use]
    pub fn standard() -> &'static Self {
        R::standard()
    }

    /// A table from compiled-in CSV text.
    ///
    /// # Panics
    ///
    /// When the text is not a table of `R`: the tests read every compiled-in text.
    #[must_use]
    pub(super) fn compiled(text: &str) -> Self {
        let mut table = Self {
            rows: Vec::new(),
            by_name: BTreeMap::new(),
        };
        for row in csv::Reader::from_reader(text.as_bytes()).into_deserialize::<R>() {
            table
                .add(row.expect("compiled-in rows are read by a test"))
                .expect("compiled-in rows are checked by a test");
        }
        table
    }

    /// The same table with a shop's rows after the standard ones.
    ///
    /// # Errors
    ///
    /// [`BadRow`] for the first row whose numbers make no sense or whose name is taken.
    pub fn with_rows(&self, rows: impl IntoIterator<Item = R>) -> Result<Self, BadRow> {
        let mut table = self.clone();
        for row in rows {
            table.add(row)?;
        }
        Ok(table)
    }

    fn add(&mut self, row: R) -> Result<(), BadRow> {
        let name = row.name();
        row.check().map_err(|problem| BadRow::Values {
            kind: R::KIND,
            name: name.clone(),
            problem,
        })?;
        let taken = self
            .named(&name)
            .find(|r| r.distinction() == row.distinction());
        if let Some(taken) = taken {
            return Err(BadRow::Duplicate {
                kind: R::KIND,
                name,
                source_text: taken.source().to_owned(),
            });
        }
        let at = self.rows.len();
        for n in std::iter::once(name.as_str()).chain(row.aliases()) {
            let key = folded(n);
            if !key.is_empty() {
                self.by_name.entry(key).or_default().push(at);
            }
        }
        self.rows.push(row);
        Ok(())
    }

    /// Every row, in order.
    #[must_use]
    pub fn rows(&self) -> &[R] {
        &self.rows
    }

    /// The rows of a name or alias, in order; letter case, blanks, `-` and `_` do not matter.
    pub fn named(&self, name: &str) -> impl Iterator<Item = &R> {
        self.by_name
            .get(&folded(name))
            .into_iter()
            .flatten()
            .filter_map(|&i| self.rows.get(i))
    }

    /// The first row of a name or alias.
    ///
    /// # Errors
    ///
    /// [`UnknownName`] with the nearest names.
    pub fn get(&self, name: &str) -> Result<&R, UnknownName> {
        self.named(name).next().ok_or_else(|| self.unknown(name))
    }

    /// The error for a name that is not there.
    #[must_use]
    pub fn unknown(&self, name: &str) -> UnknownName {
        let asked = folded(name);
        let mut scored: Vec<(f64, String)> = Vec::new();
        for row in &self.rows {
            let own = row.name();
            if scored.iter().any(|(_, n)| *n == own) {
                continue;
            }
            let likeness = std::iter::once(own.as_str())
                .chain(row.aliases())
                .map(|n| likeness(&asked, &folded(n)))
                .fold(0.0, f64::max);
            scored.push((likeness, own));
        }
        // A stable sort keeps the standard's order among equals.
        scored.sort_by(|a, b| b.0.total_cmp(&a.0));
        UnknownName {
            kind: R::KIND,
            name: name.to_owned(),
            nearest: scored.into_iter().take(3).map(|(_, n)| n).collect(),
        }
    }
}

/// How alike two folded names are, 0 to about 1.
///
/// A shared beginning counts on top of the edit distance, so that `M10x2`
/// answers M10 threads before `M12x2`.
fn likeness(a: &str, b: &str) -> f64 {
    strsim::jaro_winkler(a, b)
}

/// A name without what people write differently: case, blanks, `-`, `_`, `×`.
fn folded(name: &str) -> String {
    name.chars()
        .filter(|c| !c.is_whitespace() && !matches!(c, '-' | '_'))
        .map(|c| if c == '×' { 'x' } else { c })
        .flat_map(char::to_lowercase)
        .collect()
}

/// `Err` naming the first column that is not greater than zero and finite.
pub(super) fn positive(columns: &[(&str, f64)]) -> Result<(), String> {
    for (column, value) in columns {
        if !(value.is_finite() && *value > 0.0) {
            return Err(format!("{column} = {value} must be greater than 0"));
        }
    }
    Ok(())
}

/// `Err` naming the first pair of columns that does not increase strictly.
pub(super) fn increasing(columns: &[(&str, f64)]) -> Result<(), String> {
    for pair in columns.windows(2) {
        if let [(low, a), (high, b)] = pair
            && a.partial_cmp(b) != Some(std::cmp::Ordering::Less)
        {
            return Err(format!("{low} = {a} must be less than {high} = {b}"));
        }
    }
    Ok(())
}

/// The size a diameter is called by: `M10`, `M4.5`.
#[must_use]
pub fn size_name(d_mm: f64) -> String {
    format!("M{d_mm}")
}

/// Implements [`Row`] for a row type with `source` and `confidence` fields.
macro_rules! row {
    ($row:ty, $kind:literal, $file:literal, |$r:ident| name: $name:expr, $(aliases: $aliases:expr,)? $(distinction: $d:expr,)? check: $check:expr) => {
        impl $crate::tables::table::Row for $row {
            const KIND: &'static str = $kind;
            fn name(&self) -> String {
                let $r = self;
                $name
            }
            $(fn aliases(&self) -> Vec<&str> {
                let $r = self;
                $aliases.split(';').collect()
            })?
            $(fn distinction(&self) -> String {
                let $r = self;
                $d
            })?
            fn check(&self) -> Result<(), String> {
                let $r = self;
                $check
            }
            fn source(&self) -> &str {
                &self.source
            }
            fn confidence(&self) -> $crate::tables::table::Confidence {
                self.confidence
            }
            fn standard() -> &'static $crate::tables::table::Table<Self> {
                static TABLE: std::sync::OnceLock<$crate::tables::table::Table<$row>> =
                    std::sync::OnceLock::new();
                TABLE.get_or_init(|| {
                    $crate::tables::table::Table::compiled(include_str!($file))
                })
            }
        }
    };
}
pub(super) use row;
