//! A file after the first pass: every value of the right type, in its unit, with its place.
//!
//! The second pass builds the typed values of a kind out of [`Record`]s. Every
//! accessor answers `None` where the key was left out or its value was refused;
//! a refusal has been reported by then, so a builder may simply use `?`.

use crate::diag::Spot;
use crate::geom::{Point, Point3, Vector3};

use super::spec::Table;

/// A checked value.
#[derive(Debug, Clone, PartialEq)]
pub enum Datum {
    /// It was refused and reported.
    Refused,
    /// A number in the unit of its key.
    Number(f64),
    /// A whole number.
    Count(u32),
    /// A claim.
    Flag(bool),
    /// A text.
    Text(String),
    /// A list.
    List(Vec<Node>),
    /// A table.
    Table(Record),
    /// A table of free keys: key, its place, value.
    Map(Vec<(String, Spot, Node)>),
}

/// A checked value with its place.
#[derive(Debug, Clone, PartialEq)]
pub struct Node {
    /// Where it is written.
    pub spot: Spot,
    /// The value.
    pub datum: Datum,
}

impl Node {
    /// The number, a whole one too.
    #[must_use]
    pub fn number(&self) -> Option<f64> {
        match self.datum {
            Datum::Number(x) => Some(x),
            Datum::Count(n) => Some(f64::from(n)),
            _ => None,
        }
    }

    /// The text.
    #[must_use]
    pub fn text(&self) -> Option<&str> {
        match &self.datum {
            Datum::Text(s) => Some(s),
            _ => None,
        }
    }

    /// The table.
    #[must_use]
    pub fn table(&self) -> Option<&Record> {
        match &self.datum {
            Datum::Table(r) => Some(r),
            _ => None,
        }
    }

    /// The elements of a list.
    #[must_use]
    pub fn list(&self) -> Option<&[Self]> {
        match &self.datum {
            Datum::List(l) => Some(l),
            _ => None,
        }
    }

    /// The numbers of a list of exactly `N`.
    #[must_use]
    pub fn numbers<const N: usize>(&self) -> Option<[f64; N]> {
        let list: &[Self; N] = self.list()?.try_into().ok()?;
        let mut out = [0.0; N];
        for (o, n) in out.iter_mut().zip(list) {
            *o = n.number()?;
        }
        Some(out)
    }

    /// A point of a plane.
    #[must_use]
    pub fn point(&self) -> Option<Point> {
        self.numbers().map(|[x, y]| Point::new(x, y))
    }

    /// A point of space.
    #[must_use]
    pub fn point3(&self) -> Option<Point3> {
        self.numbers().map(|[x, y, z]| Point3::new(x, y, z))
    }

    /// Components of a direction, as written.
    #[must_use]
    pub fn vector3(&self) -> Option<Vector3> {
        self.numbers().map(|[x, y, z]| Vector3::new(x, y, z))
    }

    /// Points of a plane; `None` if any was refused.
    #[must_use]
    pub fn points(&self) -> Option<Vec<Point>> {
        self.list()?.iter().map(Self::point).collect()
    }
}

/// A key with its checked value.
#[derive(Debug, Clone, PartialEq)]
pub struct Field {
    /// The key, as the table's description has it.
    pub name: &'static str,
    /// Where the key is written; the table's own place for a default.
    pub key: Spot,
    /// Whether it is written at all, rather than a default.
    pub given: bool,
    /// The value.
    pub node: Node,
}

/// A checked table.
#[derive(Debug, Clone)]
pub struct Record {
    /// Its description.
    pub table: &'static Table,
    /// Dotted path from the top of the file; elements of lists go by their id or by their number from 1.
    pub path: String,
    /// Its `[header]` line, or the whole of an inline table.
    pub spot: Spot,
    /// Its keys in the order of the description.
    pub fields: Vec<Field>,
}

impl PartialEq for Record {
    /// Equal values at equal places; descriptions are told apart by name.
    fn eq(&self, other: &Self) -> bool {
        self.table.name == other.table.name
            && self.path == other.path
            && self.spot == other.spot
            && self.fields == other.fields
    }
}

impl Record {
    /// The key with its value; `None` when it was left out and has no default.
    #[must_use]
    pub fn field(&self, key: &str) -> Option<&Field> {
        debug_assert!(
            self.table.key(key).is_some(),
            "table `{}` has no key `{key}`",
            self.table.name
        );
        self.fields.iter().find(|f| f.name == key)
    }

    /// The value of a key.
    #[must_use]
    pub fn node(&self, key: &str) -> Option<&Node> {
        self.field(key).map(|f| &f.node)
    }

    /// Whether the key is written (even with a refused value).
    #[must_use]
    pub fn has(&self, key: &str) -> bool {
        self.field(key).is_some_and(|f| f.given)
    }

    /// Place of a key's value; the table's own place when it is left out.
    #[must_use]
    pub fn spot_of(&self, key: &str) -> Spot {
        self.node(key).map_or(self.spot, |n| n.spot)
    }

    /// Dotted path of a key.
    #[must_use]
    pub fn path_of(&self, key: &str) -> String {
        if self.path.is_empty() {
            key.to_owned()
        } else {
            format!("{}.{key}", self.path)
        }
    }

    /// A number, in the unit of its key.
    #[must_use]
    pub fn number(&self, key: &str) -> Option<f64> {
        self.node(key)?.number()
    }

    /// A whole number.
    #[must_use]
    pub fn count(&self, key: &str) -> Option<u32> {
        match self.node(key)?.datum {
            Datum::Count(n) => Some(n),
            _ => None,
        }
    }

    /// A claim.
    #[must_use]
    pub fn flag(&self, key: &str) -> Option<bool> {
        match self.node(key)?.datum {
            Datum::Flag(b) => Some(b),
            _ => None,
        }
    }

    /// A text.
    #[must_use]
    pub fn text(&self, key: &str) -> Option<&str> {
        self.node(key)?.text()
    }

    /// A text of its own.
    #[must_use]
    pub fn string(&self, key: &str) -> Option<String> {
        self.text(key).map(str::to_owned)
    }

    /// A table.
    #[must_use]
    pub fn table_at(&self, key: &str) -> Option<&Self> {
        self.node(key)?.table()
    }

    /// The elements of a list; none when it was left out or refused.
    #[must_use]
    pub fn list(&self, key: &str) -> &[Node] {
        self.node(key).and_then(Node::list).unwrap_or(&[])
    }

    /// The tables of a list of tables, refused ones left out.
    pub fn tables(&self, key: &str) -> impl Iterator<Item = &Self> {
        self.list(key).iter().filter_map(Node::table)
    }

    /// The entries of a table of free keys.
    #[must_use]
    pub fn map(&self, key: &str) -> &[(String, Spot, Node)] {
        match self.node(key).map(|n| &n.datum) {
            Some(Datum::Map(m)) => m,
            _ => &[],
        }
    }

    /// A point of a plane.
    #[must_use]
    pub fn point(&self, key: &str) -> Option<Point> {
        self.node(key)?.point()
    }

    /// A point of space.
    #[must_use]
    pub fn point3(&self, key: &str) -> Option<Point3> {
        self.node(key)?.point3()
    }

    /// Two numbers.
    #[must_use]
    pub fn pair(&self, key: &str) -> Option<(f64, f64)> {
        self.node(key)?.numbers().map(|[a, b]| (a, b))
    }
}
