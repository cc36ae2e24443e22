//! Text boxes and their placement: no two overlap, and text keeps off lines where it can.

use serde::Serialize;

/// Widths of the characters of a plain sans serif face, 1/1000 of the size.
///
/// Those of the metric family shared by Helvetica, Arial and Liberation Sans;
/// what is not listed counts as wide.
const WIDTHS: &[(&str, f64)] = &[
    ("ijl'|", 222.0),
    ("I.,:;/ft !·", 278.0),
    ("r-()°", 340.0),
    ("cksvxyzJ", 500.0),
    ("abdeghnopqu0123456789L", 556.0),
    ("+=<>×–−", 584.0),
    ("FTZ", 611.0),
    ("ABEKPSVXY&", 667.0),
    ("CDHNRUw", 722.0),
    ("GOQ", 778.0),
    ("mM", 833.0),
    ("W%", 944.0),
];

/// Width of a character that is not in the table, 1/1000 of the size.
const WIDE: f64 = 900.0;

/// Bold faces run wider by this factor, and another face that stands in may too.
const BOLD: f64 = 1.10;

/// Spare width, so that a face that stands in still fits.
const SPARE: f64 = 1.05;

/// Height of a line of text over its size, from descender to ascender.
const LINE_HEIGHT: f64 = 1.15;

/// A text on the sheet with the box it fills, mm of paper, y down.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TextBox {
    /// The text.
    pub text: String,
    /// Left edge.
    pub x_mm: f64,
    /// Upper edge.
    pub y_mm: f64,
    /// Width.
    pub width_mm: f64,
    /// Height.
    pub height_mm: f64,
}

impl TextBox {
    /// Whether two boxes share area.
    #[must_use]
    pub fn overlaps(&self, other: &Self) -> bool {
        self.x_mm < other.x_mm + other.width_mm
            && other.x_mm < self.x_mm + self.width_mm
            && self.y_mm < other.y_mm + other.height_mm
            && other.y_mm < self.y_mm + self.height_mm
    }

    /// Box of a line of text whose baseline starts at (`x_mm`, `y_mm`).
    #[must_use]
    pub fn line(text: &str, size_mm: f64, bold: bool, x_mm: f64, y_mm: f64) -> Self {
        Self {
            text: text.to_owned(),
            x_mm,
            y_mm: y_mm - 0.85 * size_mm,
            width_mm: width_mm(text, size_mm, bold),
            height_mm: LINE_HEIGHT * size_mm,
        }
    }
}

/// Width of a line of text, mm.
#[must_use]
pub fn width_mm(text: &str, size_mm: f64, bold: bool) -> f64 {
    let thousandths: f64 = text
        .chars()
        .map(|c| {
            WIDTHS
                .iter()
                .find(|(set, _)| set.contains(c))
                .map_or(WIDE, |(_, w)| *w)
        })
        .sum();
    thousandths / 1000.0 * size_mm * SPARE * if bold { BOLD } else { 1.0 }
}

/// What text keeps off: a sampled line of the drawing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ink {
    /// Point on the line, mm of paper.
    pub x: f64,
    /// Point on the line.
    pub y: f64,
    /// Cost of covering it.
    pub weight: f64,
}

/// Finds a place for a box of `width` × `height` near `anchor` (mm of paper).
///
/// Rings of rising radius round the anchor are tried from `first_mm` outwards;
/// the place that covers least ink and lies nearest wins among those free of
/// text. Returns the box's centre. Rings are searched until one place is free
/// of text, which always comes, since the text placed so far is finite.
#[must_use]
pub fn place(
    anchor: (f64, f64),
    size: (f64, f64),
    first_mm: f64,
    texts: &[TextBox],
    ink: &[Ink],
) -> (f64, f64) {
    /// Directions tried on a ring.
    const DIRECTIONS: usize = 24;
    /// Rings compared before the best free place is taken.
    const RINGS: usize = 10;
    /// Distance between rings, mm.
    const RING_MM: f64 = 2.0;
    // Only ink within the rings compared can be covered by what is chosen among them.
    let reach = first_mm + RING_MM * (RINGS + 1) as f64 + size.0.max(size.1);
    let near: Vec<&Ink> = ink
        .iter()
        .filter(|i| (i.x - anchor.0).abs() < reach && (i.y - anchor.1).abs() < reach)
        .collect();
    let mut best: Option<(f64, (f64, f64))> = None;
    for ring in 0.. {
        let radius = first_mm + RING_MM * ring as f64;
        for step in 0..DIRECTIONS {
            let angle = std::f64::consts::TAU * step as f64 / DIRECTIONS as f64;
            let centre = (
                anchor.0 + radius * angle.cos(),
                anchor.1 + radius * angle.sin(),
            );
            let (left, top) = (centre.0 - 0.5 * size.0, centre.1 - 0.5 * size.1);
            let candidate = TextBox {
                text: String::new(),
                x_mm: left - 0.4,
                y_mm: top - 0.4,
                width_mm: size.0 + 0.8,
                height_mm: size.1 + 0.8,
            };
            if texts.iter().any(|t| t.overlaps(&candidate)) {
                continue;
            }
            let covered: f64 = near
                .iter()
                .filter(|i| {
                    i.x > candidate.x_mm
                        && i.x < candidate.x_mm + candidate.width_mm
                        && i.y > candidate.y_mm
                        && i.y < candidate.y_mm + candidate.height_mm
                })
                .map(|i| i.weight)
                .sum();
            let cost = covered + 0.15 * radius;
            if best.is_none_or(|(least, _)| cost < least) {
                best = Some((cost, centre));
            }
        }
        if ring >= RINGS
            && let Some((_, centre)) = best
        {
            return centre;
        }
    }
    anchor
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn boxes_that_touch_do_not_overlap() {
        let a = TextBox::line("abc", 3.0, false, 0.0, 0.0);
        let mut b = a.clone();
        assert!(a.overlaps(&b));
        b.x_mm = a.x_mm + a.width_mm;
        assert!(!a.overlaps(&b));
    }

    #[test]
    fn forty_labels_at_one_point_find_forty_places() {
        let mut texts: Vec<TextBox> = Vec::new();
        for _ in 0..40 {
            let centre = place((0.0, 0.0), (12.0, 3.5), 2.0, &texts, &[]);
            let placed = TextBox {
                text: "x".to_owned(),
                x_mm: centre.0 - 6.0,
                y_mm: centre.1 - 1.75,
                width_mm: 12.0,
                height_mm: 3.5,
            };
            assert!(texts.iter().all(|t| !t.overlaps(&placed)));
            texts.push(placed);
        }
    }

    #[test]
    fn text_keeps_off_ink_where_it_can() {
        let ink: Vec<Ink> = (0..100)
            .map(|i| Ink {
                x: f64::from(i) - 50.0,
                y: 0.0,
                weight: 1.0,
            })
            .collect();
        let centre = place((0.0, 0.0), (10.0, 3.0), 0.0, &[], &ink);
        assert!(centre.1.abs() > 1.5, "{centre:?}");
    }
}
