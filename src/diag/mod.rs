//! Findings: what is wrong in the user's input, where it stands, and what would be right.
//!
//! A finding is a value, never a side effect: code that judges input pushes
//! [`Diag`]s into a [`Sink`], and only [`render`] and [`json`] turn them into
//! text. Failures that are not the user's to mend (a full disk, a bug) are
//! ordinary error types elsewhere.

pub mod code;
pub mod json;
pub mod render;
mod sink;
pub mod source;

pub use code::{Code, Family};
pub use sink::Sink;
pub use source::{FileId, Place, Sources, Spot};

/// How much a finding weighs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Severity {
    /// The input cannot be used, or a rule fails.
    Error,
    /// The input can be used, but is probably not what was meant.
    Warning,
    /// Worth knowing.
    Note,
}

impl Severity {
    /// The word printed for it: `error`, `warning` or `note`.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Error => "error",
            Self::Warning => "warning",
            Self::Note => "note",
        }
    }
}

/// A piece of a file with a remark.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Label {
    /// The piece.
    pub spot: Spot,
    /// The remark; may be empty, which marks the piece alone.
    pub text: String,
}

/// One finding.
///
/// ```
/// use platewright::diag::{Code, Diag, Spot};
/// let d = Diag::new(Code::UnknownKey, "unknown key `thicknes` in [stock]")
///     .at(Spot::NOWHERE)
///     .key("stock.thicknes")
///     .help("did you mean `thickness`?");
/// assert_eq!(d.code.id(), "P201");
/// ```
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Diag {
    /// What kind of finding it is.
    pub code: Code,
    /// How much it weighs; the code's own weight unless changed.
    pub severity: Severity,
    /// One sentence: the thing, the measured value with its unit, the required value with its unit.
    pub title: String,
    /// Dotted path of the key it is about, such as `plate.upper.stock`; empty when it is about no key.
    pub key: String,
    /// Where it stands and a short remark.
    pub primary: Option<Label>,
    /// Other places that explain it: the limit's own line, the first of two equal names.
    pub others: Vec<Label>,
    /// What to do, in words the user can type; in order of likelihood.
    pub help: Vec<String>,
}

impl Diag {
    /// A finding with the code's own severity and no place yet.
    #[must_use]
    pub fn new(code: Code, title: impl Into<String>) -> Self {
        Self {
            code,
            severity: code.severity(),
            title: title.into(),
            key: String::new(),
            primary: None,
            others: Vec::new(),
            help: Vec::new(),
        }
    }

    /// Says where it stands.
    #[must_use]
    pub fn at(self, spot: Spot) -> Self {
        self.labelled(spot, "")
    }

    /// Says where it stands, with a remark beside the mark.
    #[must_use]
    pub fn labelled(mut self, spot: Spot, text: impl Into<String>) -> Self {
        self.primary = Some(Label {
            spot,
            text: text.into(),
        });
        self
    }

    /// Says which key it is about.
    #[must_use]
    pub fn key(mut self, path: impl Into<String>) -> Self {
        self.key = path.into();
        self
    }

    /// Adds a further place.
    #[must_use]
    pub fn also(mut self, spot: Spot, text: impl Into<String>) -> Self {
        self.others.push(Label {
            spot,
            text: text.into(),
        });
        self
    }

    /// Adds a mend.
    #[must_use]
    pub fn help(mut self, text: impl Into<String>) -> Self {
        self.help.push(text.into());
        self
    }

    /// The place it stands at; [`Spot::NOWHERE`] when it stands in no file.
    #[must_use]
    pub fn spot(&self) -> Spot {
        self.primary.as_ref().map_or(Spot::NOWHERE, |l| l.spot)
    }
}
