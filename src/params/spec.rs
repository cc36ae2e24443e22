//! How a kind of parameter file is described: tables of keys with type, unit, range, default and meaning.
//!
//! The description is the single source of what a file may hold. The
//! [reader](super::reader) checks files against it and the
//! [schemas](crate::schema) are printed from it, so that both always agree.
//! Any module may describe a kind of its own.
//!
//! Lengths are mm, angles deg; a key of another unit says so in its name
//! (`idle-rpm`) or in its meaning (`mass`, kg).

/// Farthest a position may lie from the engine's origin, mm.
///
/// Ten metres hold any engine with its accessories (common practice, no
/// source); beyond that a value is a slip of the decimal point, and the
/// geometry's tolerances are chosen for coordinates of this size.
pub const REACH_MM: f64 = 10_000.0;

/// A kind of parameter file.
#[derive(Debug)]
pub struct FileKind {
    /// The word in the file's `kind` key.
    pub name: &'static str,
    /// Folder below a parameter folder in which files of this kind are looked up.
    pub folder: &'static str,
    /// The file's top-level keys, without `kind`, which every file has.
    pub table: &'static Table,
}

impl FileKind {
    /// Whether any table of the kind has a key of that name.
    #[must_use]
    pub fn has_key(&self, name: &str) -> bool {
        self.table.has_key_within(name)
    }
}

impl Type {
    fn has_key_within(&self, name: &str) -> bool {
        match self {
            Self::List { of, .. } | Self::Map(of) => of.has_key_within(name),
            Self::Table(table) => table.has_key_within(name),
            Self::Tagged(_, tables) | Self::Marked(tables) => {
                tables.iter().any(|t| t.has_key_within(name))
            }
            Self::Either(types) => types.iter().any(|t| t.has_key_within(name)),
            _ => false,
        }
    }
}

/// A table of a file: its keys.
#[derive(Debug)]
pub struct Table {
    /// What the table is, in one or two words; unique among all tables of a kind.
    pub name: &'static str,
    /// One line about it.
    pub doc: &'static str,
    /// Its keys, in the order a person would write them.
    pub keys: &'static [Key],
    /// Groups of keys of which exactly one must be given.
    pub one_of: &'static [&'static [&'static str]],
    /// Groups of keys of which at most one may be given.
    pub not_both: &'static [&'static [&'static str]],
}

impl Table {
    /// A table without dependencies between its keys.
    #[must_use]
    pub const fn new(name: &'static str, doc: &'static str, keys: &'static [Key]) -> Self {
        Self {
            name,
            doc,
            keys,
            one_of: &[],
            not_both: &[],
        }
    }

    /// Adds the groups of which exactly one key must be given.
    #[must_use]
    pub const fn one_of(mut self, groups: &'static [&'static [&'static str]]) -> Self {
        self.one_of = groups;
        self
    }

    /// Adds the groups of which at most one key may be given.
    #[must_use]
    pub const fn not_both(mut self, groups: &'static [&'static [&'static str]]) -> Self {
        self.not_both = groups;
        self
    }

    fn has_key_within(&self, name: &str) -> bool {
        self.keys
            .iter()
            .any(|k| k.name == name || k.takes.has_key_within(name))
    }

    /// The key of that name.
    #[must_use]
    pub fn key(&self, name: &str) -> Option<&'static Key> {
        self.keys.iter().find(|k| k.name == name)
    }
}

/// One key of a table.
#[derive(Debug)]
pub struct Key {
    /// The key as written, kebab-case.
    pub name: &'static str,
    /// What it takes.
    pub takes: Type,
    /// Whether it must be there.
    pub need: Need,
    /// One line: what it means.
    pub doc: &'static str,
    /// A TOML value a user could write; empty for what follows from the type.
    pub example: &'static str,
}

/// Whether a key must be given.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Need {
    /// It must.
    Required,
    /// It need not; without it the thing it describes is not there or follows from elsewhere.
    Optional,
    /// It need not; without it this TOML value holds.
    Default(&'static str),
}

impl Key {
    /// A key that must be given.
    #[must_use]
    pub const fn required(name: &'static str, takes: Type, doc: &'static str) -> Self {
        Self {
            name,
            takes,
            need: Need::Required,
            doc,
            example: "",
        }
    }

    /// The key with an example, written as a TOML value.
    #[must_use]
    pub const fn such_as(mut self, example: &'static str) -> Self {
        self.example = example;
        self
    }

    /// A key that may be left out.
    #[must_use]
    pub const fn optional(name: &'static str, takes: Type, doc: &'static str) -> Self {
        Self {
            name,
            takes,
            need: Need::Optional,
            doc,
            example: "",
        }
    }

    /// A key with a default, written as a TOML value.
    #[must_use]
    pub const fn default(
        name: &'static str,
        takes: Type,
        value: &'static str,
        doc: &'static str,
    ) -> Self {
        Self {
            name,
            takes,
            need: Need::Default(value),
            doc,
            example: "",
        }
    }
}

/// What a key or an element of a list takes.
#[derive(Debug, Clone, Copy)]
pub enum Type {
    /// Free text.
    Text {
        /// Whether it must hold something other than blanks.
        filled: bool,
    },
    /// A name of a thing: letters, digits, `-` and `_`, beginning with a letter or digit; at most 40 characters.
    Id,
    /// Name of a parameter file of the kind with this word: an [`Type::Id`] that may also hold points.
    File(&'static str),
    /// Reference to a hole or pulley: `owner.id`, or the owner alone.
    Reference,
    /// Calendar day, `2026-03-02`, as text or as a TOML date.
    Date,
    /// `true` or `false`.
    Flag,
    /// One of the words listed, each with its meaning.
    Choice(&'static [(&'static str, &'static str)]),
    /// Designation out of a standard table, such as a thread or a material.
    Designation(Standard),
    /// A length in mm: a number, or text with a unit.
    Length(Range),
    /// A number in the range's unit.
    Number(Range),
    /// A whole number, from least to most.
    Count(u32, u32),
    /// One of a few whole numbers.
    CountOf(&'static [u32]),
    /// A list.
    List {
        /// What each element is.
        of: &'static Self,
        /// Least number of elements.
        least: usize,
        /// Greatest number of elements.
        most: usize,
    },
    /// A table.
    Table(&'static Table),
    /// A table whose key of the given name says which of the tables it is (by their name).
    Tagged(&'static str, &'static [&'static Table]),
    /// A table, told apart by which of the tables' first keys it holds.
    Marked(&'static [&'static Table]),
    /// A table of free keys, each an [`Type::Id`], with values of one type.
    Map(&'static Self),
    /// One of several types, told apart by the shape of what is written.
    Either(&'static [Self]),
}

impl Type {
    /// Text that must say something.
    pub const TEXT: Self = Self::Text { filled: true };
    /// Text that may be empty.
    pub const NOTE: Self = Self::Text { filled: false };
    /// A position along an axis, mm.
    pub const POSITION: Self = Self::Length(Range::POSITION);
    /// A size greater than zero, mm.
    pub const SIZE: Self = Self::Length(Range::SIZE);
    /// A size, zero allowed, mm.
    pub const ZERO_OR_SIZE: Self = Self::Length(Range::ZERO_OR_SIZE);
    /// An angle of at most one turn either way, deg.
    pub const ANGLE: Self = Self::Number(Range::ANGLE);
    /// A point of a plane, `[x, y]`.
    pub const POINT: Self = Self::List {
        of: &Self::POSITION,
        least: 2,
        most: 2,
    };
    /// A point of space, `[x, y, z]`.
    pub const POINT3: Self = Self::List {
        of: &Self::POSITION,
        least: 3,
        most: 3,
    };
    /// A range along an axis, `[least, greatest]`.
    pub const SPAN: Self = Self::POINT;
    /// A direction of space, `[x, y, z]`, of any length but zero.
    pub const DIRECTION: Self = Self::List {
        of: &Self::Number(Range::DIRECTION),
        least: 3,
        most: 3,
    };
    /// Corners of a polygon.
    pub const POLYGON: Self = Self::List {
        of: &Self::POINT,
        least: 3,
        most: 500,
    };

    /// A list of tables (`[[hole]]`), any number.
    #[must_use]
    pub const fn tables(of: &'static Self) -> Self {
        Self::List {
            of,
            least: 0,
            most: 2_000,
        }
    }
}

/// Standard tables whose designations a file may name.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Standard {
    /// Threads, `M10x1.5`.
    Thread,
    /// Materials, `EN AW-6061-T6`.
    Material,
    /// Property classes of bolts, `10.9`.
    PropertyClass,
}

impl Standard {
    /// What one row is called.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Thread => "thread",
            Self::Material => "material",
            Self::PropertyClass => "property class",
        }
    }

    /// How one is written.
    #[must_use]
    pub const fn example(self) -> &'static str {
        match self {
            Self::Thread => "M10x1.5",
            Self::Material => "EN AW-6061-T6",
            Self::PropertyClass => "10.9",
        }
    }
}

/// The least size that is read, mm: a micron, finer than any machine of such a shop holds (common practice, no source).
const LEAST_SIZE_MM: f64 = 0.001;

/// A range of numbers with its unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Range {
    /// Least value.
    pub least: f64,
    /// Whether `least` itself is refused.
    pub above: bool,
    /// Greatest value.
    pub most: f64,
    /// Unit; empty for a ratio.
    pub unit: &'static str,
}

impl Range {
    /// A position, mm.
    pub const POSITION: Self = Self::new(-REACH_MM, REACH_MM, "mm");
    /// A size, mm: nothing thinner than a micron is made, and exact geometry cannot tell it from nothing.
    pub const SIZE: Self = Self::new(LEAST_SIZE_MM, REACH_MM, "mm");
    /// A size or zero, mm.
    pub const ZERO_OR_SIZE: Self = Self::new(0.0, REACH_MM, "mm");
    /// An angle, deg.
    pub const ANGLE: Self = Self::new(-360.0, 360.0, "deg");
    /// A component of a direction.
    pub const DIRECTION: Self = Self::new(-1e6, 1e6, "");

    /// From `least` to `most`, both allowed.
    #[must_use]
    pub const fn new(least: f64, most: f64, unit: &'static str) -> Self {
        Self {
            least,
            above: false,
            most,
            unit,
        }
    }

    /// More than `least`, up to `most`.
    #[must_use]
    pub const fn above(least: f64, most: f64, unit: &'static str) -> Self {
        Self {
            least,
            above: true,
            most,
            unit,
        }
    }

    /// Whether a value lies in it; not a number never does.
    #[must_use]
    pub fn holds(&self, value: f64) -> bool {
        value <= self.most
            && if self.above {
                value > self.least
            } else {
                value >= self.least
            }
    }
}

/// Designations that exist, as the standard tables have them.
///
/// An empty list checks nothing: the reader itself knows no standard.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Designations {
    /// Threads.
    pub threads: Vec<String>,
    /// Materials.
    pub materials: Vec<String>,
    /// Property classes.
    pub property_classes: Vec<String>,
}

impl Designations {
    /// The designations of one standard table.
    #[must_use]
    pub fn of(&self, standard: Standard) -> &[String] {
        match standard {
            Standard::Thread => &self.threads,
            Standard::Material => &self.materials,
            Standard::PropertyClass => &self.property_classes,
        }
    }
}
