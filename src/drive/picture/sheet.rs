//! A sheet of paper for vector drawing: scale, lines, arcs and text in millimetres.

use std::fmt::Write as _;

use super::label::{Ink, TextBox, width_mm};
use crate::geom::{Path, Point, Segment};

/// Distance between ink samples, mm of paper.
const INK_STEP_MM: f64 = 1.0;

/// Where a text stands against its point.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Anchor {
    /// The text starts there.
    Start,
    /// Its middle is there.
    Middle,
    /// It ends there.
    End,
}

/// Kind of text.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Type {
    /// Font size, mm of paper.
    pub size_mm: f64,
    /// Whether it is bold.
    pub bold: bool,
}

impl Type {
    pub(super) const TITLE: Self = Self {
        size_mm: 5.0,
        bold: true,
    };
    pub(super) const HEAD: Self = Self {
        size_mm: 3.0,
        bold: true,
    };
    pub(super) const TEXT: Self = Self {
        size_mm: 3.0,
        bold: false,
    };
    pub(super) const SMALL: Self = Self {
        size_mm: 2.6,
        bold: false,
    };
    pub(super) const SMALL_BOLD: Self = Self {
        size_mm: 2.6,
        bold: true,
    };
}

/// The growing drawing.
#[derive(Debug)]
pub struct Sheet {
    /// Model mm per paper mm.
    pub scale: f64,
    /// Model point at the paper's origin.
    pub origin: Point,
    /// Elements drawn so far, as SVG.
    pub body: String,
    /// Texts so far, which later ones keep off.
    pub texts: Vec<TextBox>,
    /// Lines that text keeps off where it can.
    pub ink: Vec<Ink>,
}

/// A number for the file: three decimals, no negative zero.
#[must_use]
pub fn n(value: f64) -> String {
    let text = format!("{value:.3}");
    let trimmed = text.trim_end_matches('0').trim_end_matches('.');
    if trimmed == "-0" || trimmed.is_empty() {
        "0".to_owned()
    } else {
        trimmed.to_owned()
    }
}

/// Text safe inside an element or attribute.
#[must_use]
pub fn escape(text: &str) -> String {
    text.chars()
        .map(|c| match c {
            '&' => "&amp;".to_owned(),
            '<' => "&lt;".to_owned(),
            '>' => "&gt;".to_owned(),
            '"' => "&quot;".to_owned(),
            // Control characters are not allowed in the file at all.
            c if c.is_control() => " ".to_owned(),
            c => c.to_string(),
        })
        .collect()
}

impl Sheet {
    /// An empty drawing with the model point `origin` at the paper's origin.
    #[must_use]
    pub const fn new(scale: f64, origin: Point) -> Self {
        Self {
            scale,
            origin,
            body: String::new(),
            texts: Vec::new(),
            ink: Vec::new(),
        }
    }

    /// Paper position of a model point, mm.
    #[must_use]
    pub fn at(&self, p: Point) -> (f64, f64) {
        (
            (p.x - self.origin.x) / self.scale,
            (self.origin.y - p.y) / self.scale,
        )
    }

    /// Path data of a chain of pieces; closed where `close`.
    #[must_use]
    pub fn data(&self, segments: &[Segment], close: bool) -> String {
        let mut d = String::new();
        let Some(first) = segments.first() else {
            return d;
        };
        let (x, y) = self.at(first.from());
        let _ = write!(d, "M{} {}", n(x), n(y));
        for s in segments {
            // A full circle needs two arcs: one with equal ends draws nothing.
            let halves = if s.is_full_circle() {
                vec![s.at(0.5), s.to()]
            } else {
                vec![s.to()]
            };
            let large = !s.is_full_circle() && s.is_major_arc();
            for to in halves {
                let (x, y) = self.at(to);
                match *s {
                    Segment::Line { .. } => {
                        let _ = write!(d, "L{} {}", n(x), n(y));
                    }
                    Segment::Arc { radius, ccw, .. } => {
                        let r = n(radius / self.scale);
                        let _ = write!(
                            d,
                            "A{r} {r} 0 {} {} {} {}",
                            i32::from(large),
                            i32::from(!ccw),
                            n(x),
                            n(y)
                        );
                    }
                }
            }
        }
        if close {
            d.push('Z');
        }
        d
    }

    /// Draws pieces in a class, and has text keep off them with `weight`.
    pub fn stroke(&mut self, class: &str, segments: &[Segment], close: bool, weight: f64) {
        let d = self.data(segments, close);
        let _ = writeln!(self.body, r#"<path class="{class}" d="{d}"/>"#);
        self.inked(segments, weight);
    }

    /// Marks pieces as ink without drawing.
    pub fn inked(&mut self, segments: &[Segment], weight: f64) {
        if weight <= 0.0 {
            return;
        }
        for s in segments {
            let count = (s.length() / self.scale / INK_STEP_MM).ceil().max(1.0) as usize;
            for i in 0..=count {
                let (x, y) = self.at(s.at(i as f64 / count as f64));
                self.ink.push(Ink { x, y, weight });
            }
        }
    }

    /// A closed loop.
    pub fn closed(&mut self, class: &str, path: &Path, weight: f64) {
        self.stroke(class, &path.segments, true, weight);
    }

    /// A circle of model radius.
    pub fn circle(&mut self, class: &str, centre: Point, radius: f64, weight: f64) {
        let (x, y) = self.at(centre);
        let _ = writeln!(
            self.body,
            r#"<circle class="{class}" cx="{}" cy="{}" r="{}"/>"#,
            n(x),
            n(y),
            n(radius / self.scale)
        );
        self.inked(&[Segment::circle(centre, radius)], weight);
    }

    /// A straight line between model points.
    pub fn line(&mut self, class: &str, from: Point, to: Point, weight: f64) {
        self.stroke(class, &[Segment::Line { from, to }], false, weight);
    }

    /// A line between paper points.
    pub fn paper_line(&mut self, class: &str, from: (f64, f64), to: (f64, f64)) {
        let _ = writeln!(
            self.body,
            r#"<path class="{class}" d="M{} {}L{} {}"/>"#,
            n(from.0),
            n(from.1),
            n(to.0),
            n(to.1)
        );
    }

    /// Text with its baseline at a paper point.
    pub fn text(&mut self, at: (f64, f64), anchor: Anchor, kind: Type, text: &str) {
        if text.is_empty() {
            return;
        }
        let width = width_mm(text, kind.size_mm, kind.bold);
        let (left, word) = match anchor {
            Anchor::Start => (at.0, "start"),
            Anchor::Middle => (at.0 - 0.5 * width, "middle"),
            Anchor::End => (at.0 - width, "end"),
        };
        self.texts
            .push(TextBox::line(text, kind.size_mm, kind.bold, left, at.1));
        let _ = writeln!(
            self.body,
            r#"<text x="{}" y="{}" font-size="{}" text-anchor="{word}"{}>{}</text>"#,
            n(at.0),
            n(at.1),
            n(kind.size_mm),
            if kind.bold {
                r#" font-weight="bold""#
            } else {
                ""
            },
            escape(text)
        );
    }

    /// A filled triangle at a paper point, pointing along `direction` (paper, unit).
    pub fn arrowhead(&mut self, tip: (f64, f64), direction: (f64, f64), length: f64) {
        let (dx, dy) = direction;
        let back = (tip.0 - length * dx, tip.1 - length * dy);
        let half = 0.36 * length;
        let _ = writeln!(
            self.body,
            r#"<path class="solid" d="M{} {}L{} {}L{} {}Z"/>"#,
            n(tip.0),
            n(tip.1),
            n(back.0 - half * dy),
            n(back.1 + half * dx),
            n(back.0 + half * dy),
            n(back.1 - half * dx)
        );
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_lose_their_negative_zero_and_tail() {
        assert_eq!(n(-0.0001), "0");
        assert_eq!(n(1.5), "1.5");
        assert_eq!(n(-12.0), "-12");
        assert_eq!(n(100.0), "100");
    }

    #[test]
    fn markup_in_a_name_is_text() {
        assert_eq!(escape("a<b>&\"\u{7}"), "a&lt;b&gt;&amp;&quot; ");
    }
}
