//! The pictures of the page: the drive, the plates, strength and vibration, each with the findings' numbers on it.

use std::fmt::Write as _;

use crate::drive::picture::{Picture, Sheet, TextBox, escape, n, place, width_mm};
use crate::geom::Point;
use crate::rules::{Finding, Verdict};

use super::place::{Link, Mark};
use super::{Drawn, Page, Shows, plates, svg};

/// Most numbers drawn on the pictures; more would hide what they point at.
pub(super) const MOST_NUMBERS: usize = 40;

/// Radius of a point's mark, mm of paper.
const POINT_MM: f64 = 2.2;

/// Radius of a number's balloon, mm of paper.
const BALLOON_MM: f64 = 2.6;

/// Room round a picture, mm of paper: half the margin of the drive's sheet, so that its frame stays outside.
const EDGE_MM: f64 = 4.0;

/// What a picture is of.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum On {
    /// The belt drive, engine frame.
    Drive,
    /// A plate by its index, plate frame.
    Plate(usize),
    /// A finished picture.
    Drawn(Shows),
}

/// One picture.
#[derive(Debug, Clone)]
pub(super) struct Figure {
    /// Its anchor on the page.
    pub(super) id: String,
    /// Short name for links.
    pub(super) name: String,
    /// Heading.
    pub(super) title: String,
    /// What is said under it; HTML.
    pub(super) caption: String,
    /// What it is of.
    pub(super) on: On,
    /// Model mm per mm of paper.
    pub(super) scale: f64,
    /// Model point at the paper's origin.
    pub(super) origin: Point,
    /// What is shown: left, upper, right and lower edge, mm of paper; a finished picture says it itself.
    pub(super) edges: Option<[f64; 4]>,
    /// The document, without its closing tag, and without a view where `edges` says it.
    pub(super) open_svg: String,
    /// Texts on it, which numbers keep off.
    pub(super) texts: Vec<TextBox>,
}

impl Figure {
    /// Paper position of a model point.
    pub(super) fn at(&self, p: Point) -> (f64, f64) {
        Sheet::new(self.scale, self.origin).at(p)
    }
}

/// Every picture in the order shown.
pub(super) fn all(page: &Page<'_>) -> Vec<Figure> {
    let mut out: Vec<Figure> = page.drive.map(drive).into_iter().collect();
    for (k, made) in page.project.plates.iter().enumerate() {
        out.push(plates::figure(k, made));
    }
    for (k, drawn) in page.strength.iter().enumerate() {
        out.push(finished(k, drawn));
    }
    out
}

/// The drive alone: the tables of the panel beside it stand in the page's own type.
fn drive(picture: &Picture) -> Figure {
    let inside = picture
        .svg
        .split_once("</title>")
        .map_or("", |(_, after)| after)
        .trim_end()
        .trim_end_matches("</svg>");
    let open_svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"drive-picture\" role=\"img\" \
         aria-labelledby=\"drive-title\">{inside}"
    );
    Figure {
        id: "drive".to_owned(),
        name: "Drive".to_owned(),
        title: "Belt drive, seen from the front".to_owned(),
        caption:
            "Engine frame, mm. Heavy edge of the belt: its back; ticked edge: its ribs. Hatched: \
                  keep-outs and plates. Balloons number the spans."
                .to_owned(),
        on: On::Drive,
        scale: picture.scale,
        origin: picture.origin_mm,
        edges: Some(picture.drive_mm),
        open_svg,
        texts: picture.texts.clone(),
    }
}

/// A finished picture as it is.
fn finished(k: usize, drawn: &Drawn) -> Figure {
    let (id, name) = match &drawn.of {
        Shows::Stress(plate) => (format!("stress-{}", k + 1), format!("Stress {plate}")),
        Shows::Modes => ("modes".to_owned(), "Modes".to_owned()),
        Shows::Resonance => ("resonance".to_owned(), "Resonance".to_owned()),
    };
    let document = svg::inlined(drawn.svg.trim_end(), &format!("{id}-"));
    // The page scales it; its own size would not shrink with the page.
    let open_svg = without_size(document.trim_end_matches("</svg>")).replacen(
        "<svg ",
        "<svg class=\"finished\" role=\"img\" ",
        1,
    );
    Figure {
        id,
        name,
        title: drawn.title.clone(),
        caption: String::new(),
        on: On::Drawn(drawn.of.clone()),
        scale: 1.0,
        origin: Point::ORIGIN,
        edges: None,
        open_svg,
        texts: Vec::new(),
    }
}

/// The document without the width and height of its first tag.
fn without_size(document: &str) -> String {
    let Some((head, rest)) = document.split_once('>') else {
        return document.to_owned();
    };
    let kept: Vec<&str> = head
        .split("\" ")
        .filter(|a| !a.starts_with("width=") && !a.starts_with("height="))
        .collect();
    format!("{}>{rest}", kept.join("\" "))
}

/// Draws the numbers of findings that do not hold at their places.
pub(super) fn number(figures: &mut [Figure], findings: &[Finding], links: &[Link]) {
    let shown = findings
        .iter()
        .zip(links)
        .filter(|(f, _)| f.verdict != Verdict::Holds)
        .take(MOST_NUMBERS);
    for (number, (f, link)) in shown.enumerate() {
        for (i, marks) in &link.on {
            if let Some(figure) = figures.get_mut(*i) {
                balloon(figure, number + 1, f.verdict, marks);
            }
        }
    }
}

/// The marks of one finding with its number beside them.
fn balloon(figure: &mut Figure, number: usize, verdict: Verdict, marks: &[Mark]) {
    let Some(first) = marks
        .iter()
        .rev()
        .find(|m| matches!(m, Mark::Point(_)))
        .or_else(|| marks.first())
    else {
        return;
    };
    let (anchor, away) = match *first {
        Mark::Point(at) => (at, POINT_MM),
        Mark::Ring(at, r) => (at, r),
        Mark::Line(a, b) => ((0.5 * (a.0 + b.0), 0.5 * (a.1 + b.1)), 1.0),
    };
    let text = number.to_string();
    let wide = (width_mm(&text, 3.0, true) + 2.0).max(2.0 * BALLOON_MM);
    let at = place(
        anchor,
        (wide, 2.0 * BALLOON_MM),
        away + BALLOON_MM + 2.0,
        &figure.texts,
        &[],
    );
    figure.texts.push(TextBox {
        text: text.clone(),
        x_mm: at.0 - 0.5 * wide,
        y_mm: at.1 - BALLOON_MM,
        width_mm: wide,
        height_mm: 2.0 * BALLOON_MM,
    });
    if let Some([left, top, right, bottom]) = &mut figure.edges {
        // The picture grows to hold the balloon.
        *left = left.min(at.0 - wide);
        *top = top.min(at.1 - 2.0 * BALLOON_MM);
        *right = right.max(at.0 + wide);
        *bottom = bottom.max(at.1 + 2.0 * BALLOON_MM);
    }
    let class = super::rules::class(verdict);
    let svg = &mut figure.open_svg;
    let _ = write!(svg, "<g class=\"no {class}\" data-no=\"{number}\">");
    for mark in marks {
        let _ = match *mark {
            Mark::Point((x, y)) => write!(
                svg,
                "<circle class=\"at\" cx=\"{}\" cy=\"{}\" r=\"{POINT_MM}\"/>",
                n(x),
                n(y)
            ),
            Mark::Ring((x, y), r) => write!(
                svg,
                "<circle class=\"at\" cx=\"{}\" cy=\"{}\" r=\"{}\"/>",
                n(x),
                n(y),
                n(r)
            ),
            Mark::Line(a, b) => write!(
                svg,
                "<path class=\"at\" d=\"M{} {}L{} {}\"/>",
                n(a.0),
                n(a.1),
                n(b.0),
                n(b.1)
            ),
        };
    }
    let toward = (at.0 - anchor.0, at.1 - anchor.1);
    let far = toward.0.hypot(toward.1).max(0.1);
    let start = if matches!(first, Mark::Line(..)) {
        0.0
    } else {
        away
    };
    let _ = writeln!(
        svg,
        "<path class=\"to\" d=\"M{} {}L{} {}\"/><rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" \
         rx=\"{BALLOON_MM}\"/><text x=\"{}\" y=\"{}\" font-size=\"3\" font-weight=\"bold\" \
         text-anchor=\"middle\">{text}</text></g>",
        n(anchor.0 + toward.0 / far * start),
        n(anchor.1 + toward.1 / far * start),
        n(at.0),
        n(at.1),
        n(at.0 - 0.5 * wide),
        n(at.1 - BALLOON_MM),
        n(wide),
        n(2.0 * BALLOON_MM),
        n(at.0),
        n(at.1 + 1.05)
    );
}

/// Links to every picture.
pub(super) fn contents(figures: &[Figure]) -> String {
    let mut out = String::from("<a href=\"#space\">3D</a>");
    for f in figures {
        let _ = write!(out, "<a href=\"#{}\">{}</a>", f.id, escape(&f.name));
    }
    out
}

/// The pictures as HTML.
pub(super) fn section(figures: &[Figure]) -> String {
    let mut out = String::new();
    for f in figures {
        let svg = match f.edges {
            Some([left, top, right, bottom]) => {
                let view = format!(
                    "<svg viewBox=\"{} {} {} {}\" ",
                    n(left - EDGE_MM),
                    n(top - EDGE_MM),
                    n(right - left + 2.0 * EDGE_MM),
                    n(bottom - top + 2.0 * EDGE_MM)
                );
                f.open_svg.replacen("<svg ", &view, 1)
            }
            None => f.open_svg.clone(),
        };
        let _ = write!(
            out,
            "<figure id=\"{id}\" class=\"picture\"><div class=\"bar\"><h3 id=\"{id}-title\">{title}</h3>\
             <span class=\"tools\"><button type=\"button\" data-zoom=\"-1\" aria-label=\"{title}: smaller\">−</button>\
             <button type=\"button\" data-zoom=\"1\" aria-label=\"{title}: larger\">+</button></span></div>\
             <div class=\"paper\" tabindex=\"0\" role=\"group\" aria-label=\"{title}, scrolls\">{svg}</svg></div>",
            id = f.id,
            title = escape(&f.title),
        );
        if !f.caption.is_empty() {
            let _ = write!(out, "<figcaption>{}</figcaption>", f.caption);
        }
        out.push_str("</figure>\n");
    }
    out
}

#[cfg(test)]
mod tests {
    use super::without_size;

    #[test]
    fn a_document_loses_its_size_and_nothing_else() {
        assert_eq!(
            without_size(
                "<svg xmlns=\"x\" width=\"900\" height=\"1310\" viewBox=\"0 0 900 1310\"><rect width=\"1\"/>"
            ),
            "<svg xmlns=\"x\" viewBox=\"0 0 900 1310\"><rect width=\"1\"/>"
        );
    }
}
