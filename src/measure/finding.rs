//! What is wrong or doubtful about a network, naming the reading it is about.

use std::fmt;

use serde::Serialize;

use super::network::SourceIndex;

/// How much a finding matters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Severity {
    /// Worth knowing.
    Note,
    /// The result stands, but not without this.
    Warning,
    /// There is no result until it is mended.
    Error,
}

/// One thing found about a network.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Finding {
    /// How much it matters.
    pub severity: Severity,
    /// Which kind of finding it is.
    pub matter: Matter,
    /// What is the case: the thing, the measured value, the value required.
    pub message: String,
    /// What to do about it, where that can be said.
    pub help: Option<String>,
    /// Where the items it is about stand in their file, the chief one first.
    pub sources: Vec<SourceIndex>,
}

/// The kinds of finding.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Matter {
    /// A number that is no number, or not positive where it has to be.
    BadNumber,
    /// Two items of one name, or a reading from a hole to itself.
    NamedTwice,
    /// A name that nothing carries.
    UnknownName,
    /// The frame is defined twice, or by a thing that cannot define it.
    Datum,
    /// A reading too short for the holes it is between.
    Overlap,
    /// Three readings that cannot form a triangle.
    ImpossibleTriangle,
    /// A value that fits when an inch is taken for a millimetre or the other way round.
    InchSlip,
    /// A hole, edge or face no reading reaches, or fewer readings than unknowns.
    TooFew,
    /// A part of the network can still move.
    Hinge,
    /// The readings fit a mirror image as well.
    Mirror,
    /// A reading that does not fit the others.
    Doubtful,
    /// Nothing checks a reading.
    Unchecked,
    /// The readings as a whole scatter more or less than their stated uncertainty.
    Scatter,
    /// The sum would not settle.
    NoSolution,
    /// Something the program chose because nothing was said.
    Assumed,
}

impl Finding {
    /// An error.
    pub(crate) fn error(matter: Matter, message: impl Into<String>) -> Self {
        Self::new(Severity::Error, matter, message)
    }

    /// A warning.
    pub(crate) fn warning(matter: Matter, message: impl Into<String>) -> Self {
        Self::new(Severity::Warning, matter, message)
    }

    /// A note.
    pub(crate) fn note(matter: Matter, message: impl Into<String>) -> Self {
        Self::new(Severity::Note, matter, message)
    }

    fn new(severity: Severity, matter: Matter, message: impl Into<String>) -> Self {
        Self {
            severity,
            matter,
            message: message.into(),
            help: None,
            sources: Vec::new(),
        }
    }

    /// Adds what to do about it.
    #[must_use]
    pub(crate) fn help(mut self, help: impl Into<String>) -> Self {
        self.help = Some(help.into());
        self
    }

    /// Adds where it stands.
    #[must_use]
    pub(crate) fn at(mut self, source: impl IntoIterator<Item = Option<SourceIndex>>) -> Self {
        self.sources.extend(source.into_iter().flatten());
        self
    }
}

impl fmt::Display for Finding {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let word = match self.severity {
            Severity::Error => "error",
            Severity::Warning => "warning",
            Severity::Note => "note",
        };
        write!(f, "{word}: {}", self.message)?;
        if let Some(help) = &self.help {
            write!(f, "\n  help: {help}")?;
        }
        Ok(())
    }
}
