//! Colour for a few words of a text, where the reader's screen shows it.

/// Whether words are coloured.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Paint {
    on: bool,
}

impl Paint {
    /// No colour: for files and pipes.
    pub const PLAIN: Self = Self { on: false };

    /// Colour where `on`.
    #[must_use]
    pub const fn new(on: bool) -> Self {
        Self { on }
    }

    /// A word about something that stands in the way: bold red.
    #[must_use]
    pub fn bad(self, word: &str) -> String {
        self.with("1;31", word)
    }

    /// A word about something that is right: bold green.
    #[must_use]
    pub fn good(self, word: &str) -> String {
        self.with("1;32", word)
    }

    /// A word about something to look at: bold yellow.
    #[must_use]
    pub fn note(self, word: &str) -> String {
        self.with("1;33", word)
    }

    /// The word between the sequences of ECMA-48 (8.3.117, select graphic rendition).
    fn with(self, rendition: &str, word: &str) -> String {
        if self.on {
            format!("\u{1b}[{rendition}m{word}\u{1b}[0m")
        } else {
            word.to_owned()
        }
    }
}
