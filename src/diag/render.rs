//! Findings as text for a terminal: file, line, column, the line itself, a mark and the mend.

use std::ops::Range;

use annotate_snippets::{
    Annotation, AnnotationKind, Group, Level, Origin, Renderer, Snippet, renderer::DecorStyle,
};

use super::source::floor_char;
use super::{Diag, FileId, Label, Severity, Sources};

/// Longest piece of a line that is shown, characters; longer lines are cut about the mark.
const LINE: usize = 160;

/// Lines two marks may lie apart to be shown as one excerpt.
const APART: usize = 12;

/// Renders findings one after the other, each ended by a line feed.
///
/// `colour` adds terminal escapes; the caller decides whether the terminal
/// wants them. The order of `diags` is kept.
#[must_use]
pub fn text(diags: &[Diag], sources: &Sources, colour: bool) -> String {
    let renderer = if colour {
        Renderer::styled()
    } else {
        Renderer::plain()
    }
    .decor_style(DecorStyle::Ascii);
    let mut out = String::new();
    for diag in diags {
        out.push_str(&one(diag, sources, &renderer));
        out.push_str("\n\n");
    }
    if !diags.is_empty() {
        out.pop();
    }
    out
}

/// Renders each finding on one line: `job.toml:3:1: error[P201]: unknown key ...`.
#[must_use]
pub fn short(diags: &[Diag], sources: &Sources) -> String {
    let mut out = String::new();
    for d in diags {
        if let Some(place) = sources.place(d.spot()) {
            out.push_str(&place.to_string());
            out.push_str(": ");
        }
        out.push_str(d.severity.word());
        out.push('[');
        out.push_str(d.code.id());
        out.push_str("]: ");
        out.push_str(&one_line(&d.title));
        out.push('\n');
    }
    out
}

/// How many errors and warnings there are, in words; empty for neither.
#[must_use]
pub fn tally(diags: &[Diag]) -> String {
    let count = |s: Severity| diags.iter().filter(|d| d.severity == s).count();
    let words = |n: usize, word: &str| match n {
        0 => None,
        1 => Some(format!("1 {word}")),
        n => Some(format!("{n} {word}s")),
    };
    let parts: Vec<String> = [
        words(count(Severity::Error), "error"),
        words(count(Severity::Warning), "warning"),
    ]
    .into_iter()
    .flatten()
    .collect();
    parts.join(" and ")
}

fn one(diag: &Diag, sources: &Sources, renderer: &Renderer) -> String {
    let level = match diag.severity {
        Severity::Error => Level::ERROR,
        Severity::Warning => Level::WARNING,
        Severity::Note => Level::NOTE,
    };
    let title = one_line(&diag.title);
    let excerpts = excerpts(diag, sources);
    let mut group = Group::with_title(level.primary_title(title).id(diag.code.id()));
    let place = sources.place(diag.spot());
    let cut = excerpts.first().is_none_or(|e| e.cut_left);
    if let Some(place) = place.as_ref().filter(|_| cut) {
        // A line whose start is cut away would be said to have the wrong column.
        group = group.element(
            Origin::path(place.file.as_str())
                .line(place.line)
                .char_column(place.column),
        );
    }
    for (i, excerpt) in excerpts.iter().enumerate() {
        let mut snippet = Snippet::source(excerpt.text.as_str())
            .line_start(excerpt.first_line)
            .fold(true)
            .annotations(excerpt.marks.iter().map(Mark::annotation));
        if i > 0 || !cut {
            snippet = snippet.path(excerpt.path.as_str());
        }
        group = group.element(snippet);
    }
    let help: Vec<String> = diag.help.iter().map(|h| one_line(h)).collect();
    for h in &help {
        group = group.element(Level::HELP.message(h.as_str()));
    }
    renderer.render(&[group])
}

/// A mark in an excerpt.
struct Mark {
    range: Range<usize>,
    text: String,
    primary: bool,
}

impl Mark {
    fn annotation(&self) -> Annotation<'_> {
        let kind = if self.primary {
            AnnotationKind::Primary
        } else {
            AnnotationKind::Context
        };
        let annotation = kind.span(self.range.clone());
        if self.text.is_empty() {
            annotation
        } else {
            annotation.label(self.text.as_str())
        }
    }
}

/// Some lines of a file with marks.
struct Excerpt {
    path: String,
    text: String,
    first_line: usize,
    marks: Vec<Mark>,
    /// Whether the start of a marked line is not shown.
    cut_left: bool,
}

/// Labels near each other in one file, with whether each is the primary one.
struct Near<'d> {
    file: FileId,
    /// First and last line, from 1.
    lines: (usize, usize),
    labels: Vec<(&'d Label, bool)>,
}

/// The lines to show: those of the primary label first, each further label with them if near.
fn excerpts(diag: &Diag, sources: &Sources) -> Vec<Excerpt> {
    let labels = diag
        .primary
        .iter()
        .map(|l| (l, true))
        .chain(diag.others.iter().map(|l| (l, false)));
    let mut groups: Vec<Near<'_>> = Vec::new();
    for (label, primary) in labels {
        let Some(place) = sources.place(label.spot) else {
            continue;
        };
        let line = place.line;
        let home = groups.iter_mut().find(|g| {
            g.file == label.spot.file && line + APART >= g.lines.1 && line <= g.lines.0 + APART
        });
        if let Some(near) = home {
            near.lines = (line.min(near.lines.0), line.max(near.lines.1));
            near.labels.push((label, primary));
        } else {
            groups.push(Near {
                file: label.spot.file,
                lines: (line, line),
                labels: vec![(label, primary)],
            });
        }
    }
    groups
        .iter()
        .filter_map(|g| {
            let text = sources.text(g.file)?;
            Some(excerpt(sources.path(g.file)?, text, g.lines, &g.labels))
        })
        .collect()
}

fn excerpt(path: &str, text: &str, lines: (usize, usize), labels: &[(&Label, bool)]) -> Excerpt {
    let mut out = Excerpt {
        path: path.to_owned(),
        text: String::new(),
        first_line: lines.0,
        marks: Vec::new(),
        cut_left: false,
    };
    let mut start = nth_line(text, lines.0);
    for line in lines.0..=lines.1 {
        let end = text
            .get(start..)
            .and_then(|t| t.find('\n'))
            .map_or(text.len(), |i| start + i);
        let here: Vec<&(&Label, bool)> = labels
            .iter()
            .filter(|(l, _)| {
                let at = floor_char(text, l.spot.start as usize);
                (start..=end).contains(&at)
            })
            .collect();
        let focus = here
            .iter()
            .find(|(_, primary)| *primary)
            .or(here.first())
            .map_or(start, |(l, _)| l.spot.start as usize);
        let shown = window(text, start..end, focus);
        let base = out.text.len();
        let cut_left = if shown.start > start { "\u{2026}" } else { "" };
        out.text.push_str(cut_left);
        out.cut_left |= !cut_left.is_empty();
        let offset = base + cut_left.len();
        let piece = text.get(shown.clone()).unwrap_or("").trim_end_matches('\r');
        out.text.extend(piece.chars().map(printable));
        if shown.end < end {
            out.text.push('\u{2026}');
        }
        for (label, primary) in here {
            let clip = |at: usize| floor_char(text, at).clamp(shown.start, shown.end);
            let (a, b) = (
                clip(label.spot.start as usize),
                clip(label.spot.end as usize),
            );
            let width = |to: usize| {
                text.get(shown.start..to)
                    .map_or(0, |t| t.chars().map(|c| printable(c).len_utf8()).sum())
            };
            out.marks.push(Mark {
                range: offset + width(a)..offset + width(b),
                text: one_line(&label.text),
                primary: *primary,
            });
        }
        if line < lines.1 {
            out.text.push('\n');
        }
        start = (end + 1).min(text.len());
    }
    out
}

/// Byte at which a line (from 1) starts.
fn nth_line(text: &str, line: usize) -> usize {
    if line <= 1 {
        return 0;
    }
    text.match_indices('\n')
        .nth(line - 2)
        .map_or(text.len(), |(i, _)| i + 1)
}

/// The part of a line that is shown: all of it, or [`LINE`] characters about `focus`.
fn window(text: &str, line: Range<usize>, focus: usize) -> Range<usize> {
    let whole = text.get(line.clone()).unwrap_or("");
    if whole.len() <= LINE || whole.chars().count() <= LINE {
        return line;
    }
    let focus = floor_char(text, focus).clamp(line.start, line.end);
    let before = text.get(line.start..focus).unwrap_or("");
    let start = before
        .char_indices()
        .rev()
        .nth(LINE / 3 - 1)
        .map_or(line.start, |(i, _)| line.start + i);
    let end = text
        .get(start..line.end)
        .unwrap_or("")
        .char_indices()
        .nth(LINE)
        .map_or(line.end, |(i, _)| start + i);
    start..end
}

/// A control character would move the terminal's cursor: it is shown as a blank.
fn printable(c: char) -> char {
    if c.is_control() && c != '\t' { ' ' } else { c }
}

fn one_line(text: &str) -> String {
    text.chars().map(printable).collect()
}

#[cfg(test)]
mod tests {
    use super::super::{Code, Spot};
    use super::*;

    fn sources(text: &str) -> (Sources, FileId) {
        let mut s = Sources::new();
        let id = s.add("bracket.toml", text);
        (s, id)
    }

    #[test]
    fn a_finding_shows_its_line_its_mark_the_other_place_and_the_mend() {
        let (s, id) = sources("kind = \"stock\"\nthicknes = 6\n# x\nthickness = 5\n");
        let d = Diag::new(Code::UnknownKey, "unknown key `thicknes`")
            .labelled(Spot::new(id, 15..23), "not known")
            .also(Spot::new(id, 34..43), "the other")
            .help("did you mean `thickness`?");
        insta::assert_snapshot!(text(std::slice::from_ref(&d), &s, false));
        assert_eq!(
            short(&[d], &s),
            "bracket.toml:2:1: error[P201]: unknown key `thicknes`\n"
        );
    }

    #[test]
    fn a_megabyte_line_is_cut_about_the_mark() {
        let long = format!("a = \"{}\" # \u{e4}\u{e4}", "x".repeat(1_000_000));
        let (s, id) = sources(&long);
        for at in [0, 4, 500_000, 1_000_006, long.len()] {
            let d =
                Diag::new(Code::WrongType, "wrong").labelled(Spot::new(id, at..long.len()), "here");
            let out = text(&[d], &s, false);
            assert!(out.len() < 2_000, "{at}: {}", out.len());
            assert!(out.contains("here"), "{at}");
        }
    }

    #[test]
    fn escape_sequences_of_a_file_do_not_reach_the_terminal() {
        let (s, id) = sources("a = \"\u{1b}[31mred\"\r\n");
        let d = Diag::new(Code::BadText, "bad \u{1b}[0m").at(Spot::new(id, 4..14));
        assert!(!text(&[d], &s, false).contains('\u{1b}'));
    }

    #[test]
    fn marks_in_far_places_and_other_files_get_an_excerpt_of_their_own() {
        let mut s = Sources::new();
        let a = s.add("a.toml", "x = 1\n".repeat(100));
        let b = s.add("b.toml", "y = 2\n");
        let d = Diag::new(Code::DuplicateName, "twice")
            .at(Spot::new(a, 594..595))
            .also(Spot::new(a, 0..1), "first")
            .also(Spot::new(b, 0..1), "again");
        insta::assert_snapshot!(text(&[d], &s, false));
    }

    #[test]
    fn findings_without_a_place_are_a_title_and_a_mend() {
        let s = Sources::new();
        let d = Diag::new(Code::Unreadable, "cannot read `job.toml`").help("check the path");
        insta::assert_snapshot!(text(&[d], &s, false));
    }
}
