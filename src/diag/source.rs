//! The files that were read, and places in them.

use std::ops::Range;

/// A file of a [`Sources`] registry.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct FileId(u32);

/// A piece of a file: a byte range of its text.
///
/// Ordered by file, then place; [`Spot::NOWHERE`] comes last.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Spot {
    /// The file.
    pub file: FileId,
    /// First byte.
    pub start: u32,
    /// One past the last byte.
    pub end: u32,
}

impl Spot {
    /// No place at all: values made by the program, not read from a file.
    pub const NOWHERE: Self = Self {
        file: FileId(u32::MAX),
        start: 0,
        end: 0,
    };

    /// A byte range of a file; ranges beyond 4 GiB are cut off there.
    #[must_use]
    pub fn new(file: FileId, range: Range<usize>) -> Self {
        let clip = |n: usize| u32::try_from(n).unwrap_or(u32::MAX);
        Self {
            file,
            start: clip(range.start),
            end: clip(range.end.max(range.start)),
        }
    }

    /// Whether it is in a file at all.
    #[must_use]
    pub fn is_somewhere(self) -> bool {
        self.file != Self::NOWHERE.file
    }

    /// The byte range.
    #[must_use]
    pub fn range(self) -> Range<usize> {
        self.start as usize..self.end as usize
    }
}

impl Default for Spot {
    fn default() -> Self {
        Self::NOWHERE
    }
}

/// A spot in words: file, line and column.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Place {
    /// File as the user knows it.
    pub file: String,
    /// Line, from 1.
    pub line: usize,
    /// Column in characters, from 1.
    pub column: usize,
}

impl std::fmt::Display for Place {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}:{}:{}", self.file, self.line, self.column)
    }
}

/// Text of one file.
#[derive(Debug, Clone)]
struct Source {
    path: String,
    text: String,
    line_starts: Vec<usize>,
}

/// Every file read for a run, with its text, so that any [`Spot`] can be shown.
#[derive(Debug, Clone, Default)]
pub struct Sources {
    files: Vec<Source>,
}

impl Sources {
    /// An empty registry.
    #[must_use]
    pub const fn new() -> Self {
        Self { files: Vec::new() }
    }

    /// Registers a file by the path the user knows it by.
    pub fn add(&mut self, path: impl Into<String>, text: impl Into<String>) -> FileId {
        let text = text.into();
        let mut line_starts = vec![0];
        line_starts.extend(text.match_indices('\n').map(|(i, _)| i + 1));
        self.files.push(Source {
            path: path.into(),
            text,
            line_starts,
        });
        FileId(u32::try_from(self.files.len() - 1).unwrap_or(u32::MAX))
    }

    fn get(&self, file: FileId) -> Option<&Source> {
        self.files.get(file.0 as usize)
    }

    /// The path a file was registered by.
    #[must_use]
    pub fn path(&self, file: FileId) -> Option<&str> {
        self.get(file).map(|s| s.path.as_str())
    }

    /// The text of a file.
    #[must_use]
    pub fn text(&self, file: FileId) -> Option<&str> {
        self.get(file).map(|s| s.text.as_str())
    }

    /// Path and text of every file in the order they were read.
    pub fn files(&self) -> impl Iterator<Item = (&str, &str)> {
        self.files
            .iter()
            .map(|s| (s.path.as_str(), s.text.as_str()))
    }

    /// Paths of all files in the order they were read.
    pub fn paths(&self) -> impl Iterator<Item = &str> {
        self.files.iter().map(|s| s.path.as_str())
    }

    /// The text a spot covers.
    #[must_use]
    pub fn slice(&self, spot: Spot) -> Option<&str> {
        self.text(spot.file)?.get(spot.range())
    }

    /// File, line and column of a spot's start; `None` for a spot in no file of this registry.
    #[must_use]
    pub fn place(&self, spot: Spot) -> Option<Place> {
        let source = self.get(spot.file)?;
        let start = floor_char(&source.text, spot.start as usize);
        let line = source.line_starts.partition_point(|&s| s <= start);
        let line_start = source
            .line_starts
            .get(line.wrapping_sub(1))
            .copied()
            .unwrap_or(0);
        let column = source
            .text
            .get(line_start..start)
            .map_or(0, |s| s.chars().count());
        Some(Place {
            file: source.path.clone(),
            line: line.max(1),
            column: column + 1,
        })
    }
}

/// The nearest character boundary at or before `at`.
pub(crate) fn floor_char(text: &str, at: usize) -> usize {
    let mut at = at.min(text.len());
    while !text.is_char_boundary(at) {
        at -= 1;
    }
    at
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_count_lines_and_characters_from_one() {
        let mut sources = Sources::new();
        let id = sources.add("job.toml", "a\n\u{e4}bc\n\nd");
        let at = |n: usize| {
            let p = sources.place(Spot::new(id, n..n)).unwrap();
            (p.line, p.column)
        };
        assert_eq!(at(0), (1, 1));
        assert_eq!(at(2), (2, 1));
        assert_eq!(at(4), (2, 2), "the two bytes of the umlaut are one column");
        assert_eq!(at(7), (3, 1));
        assert_eq!(at(8), (4, 1));
        assert_eq!(at(400), (4, 2), "beyond the end is the end");
        assert_eq!(sources.place(Spot::NOWHERE), None);
    }
}
