//! Collects findings.

use super::{Diag, Severity};

/// Collects findings in the order they are made.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Sink {
    diags: Vec<Diag>,
}

impl Sink {
    /// An empty sink.
    #[must_use]
    pub const fn new() -> Self {
        Self { diags: Vec::new() }
    }

    /// Takes a finding.
    pub fn push(&mut self, diag: Diag) {
        self.diags.push(diag);
    }

    /// Takes every finding of another sink.
    pub fn append(&mut self, mut other: Self) {
        self.diags.append(&mut other.diags);
    }

    /// Whether any finding is an error.
    #[must_use]
    pub fn has_errors(&self) -> bool {
        self.errors() > 0
    }

    /// Keeps only the findings that `keep` answers `true` for.
    pub fn retain(&mut self, keep: impl FnMut(&Diag) -> bool) {
        self.diags.retain(keep);
    }

    /// How many findings are errors.
    #[must_use]
    pub fn errors(&self) -> usize {
        self.diags
            .iter()
            .filter(|d| d.severity == Severity::Error)
            .count()
    }

    /// Whether nothing was found.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.diags.is_empty()
    }

    /// How many findings there are.
    #[must_use]
    pub fn len(&self) -> usize {
        self.diags.len()
    }

    /// The findings, as they came.
    pub fn iter(&self) -> impl Iterator<Item = &Diag> {
        self.diags.iter()
    }

    /// The findings by file and place (files in the order they were read, findings without a
    /// place last), equal ones once.
    #[must_use]
    pub fn sorted(self) -> Vec<Diag> {
        let mut diags = self.diags;
        // Stable: findings at one place stay in the order in which they were made.
        diags.sort_by(|a, b| a.spot().cmp(&b.spot()).then_with(|| a.code.cmp(&b.code)));
        let mut out: Vec<Diag> = Vec::with_capacity(diags.len());
        for diag in diags {
            let mut same_place = out.iter().rev().take_while(|d| d.spot() == diag.spot());
            if !same_place.any(|d| *d == diag) {
                out.push(diag);
            }
        }
        out
    }
}

impl Extend<Diag> for Sink {
    fn extend<T: IntoIterator<Item = Diag>>(&mut self, iter: T) {
        self.diags.extend(iter);
    }
}

#[cfg(test)]
mod tests {
    use super::super::{Code, FileId, Sources, Spot};
    use super::*;

    #[test]
    fn findings_come_out_by_file_and_place_and_once() {
        let mut sources = Sources::new();
        let a = sources.add("a.toml", "0123456789");
        let b = sources.add("b.toml", "0123456789");
        let d = |file: FileId, at: usize| {
            Diag::new(Code::UnknownKey, format!("at {at}")).at(Spot::new(file, at..at + 1))
        };
        let mut sink = Sink::new();
        sink.push(Diag::new(Code::Unreadable, "nowhere"));
        sink.extend([d(b, 1), d(a, 5), d(a, 2), d(a, 5)]);
        let titles: Vec<_> = sink.sorted().into_iter().map(|d| d.title).collect();
        assert_eq!(titles, ["at 2", "at 5", "at 1", "nowhere"]);
    }
}
