//! Setting text: anchors, wrapping to a width, fitting into a field.

use super::font::{self, CAPITAL, Weight};
use super::{Item, Text};
use crate::geom::Point;

/// Lettering heights, mm (ISO 3098-1 series).
pub(super) mod height {
    /// Captions of fields.
    pub(crate) const SMALL: f64 = 1.8;
    /// Everything a person reads: tables, notes, dimensions, labels.
    pub(crate) const NORMAL: f64 = 2.5;
    /// Headings.
    pub(crate) const LARGE: f64 = 3.5;
    /// Title and number.
    pub(crate) const TITLE: f64 = 5.0;
}

/// Base line to base line, lettering heights (ISO 3098-1, lettering B: 1.6 h without, 1.9 h with accents).
pub(super) const PITCH: f64 = 1.7;

/// Least horizontal scale of letters before a text counts as too long (common practice, no source).
const LEAST_SQUEEZE: f64 = 0.65;

/// A text from its left end.
pub(super) fn text(at: Point, text: &str, height_mm: f64, weight: Weight) -> Text {
    Text {
        text: text.to_string(),
        at,
        height_mm,
        weight,
        upright: false,
        squeeze: 1.0,
    }
}

/// A text that ends at `at`.
pub(super) fn ending(at: Point, what: &str, height_mm: f64, weight: Weight) -> Text {
    let t = text(at, what, height_mm, weight);
    Text {
        at: Point::new(at.x - t.length_mm(), at.y),
        ..t
    }
}

/// A text whose base line has its middle at `at`.
pub(super) fn middle(at: Point, what: &str, height_mm: f64, weight: Weight) -> Text {
    let t = text(at, what, height_mm, weight);
    Text {
        at: Point::new(at.x - 0.5 * t.length_mm(), at.y),
        ..t
    }
}

/// Length of `what`, mm.
pub(super) fn length(what: &str, height_mm: f64, weight: Weight) -> f64 {
    font::width(what, weight) * height_mm / CAPITAL
}

/// Breaks `what` at spaces (not at no-break spaces) into lines no longer than `width`; a longer word is broken within.
pub(super) fn wrap(what: &str, width: f64, height_mm: f64, weight: Weight) -> Vec<String> {
    let fits = |s: &str| length(s, height_mm, weight) <= width;
    let mut lines: Vec<String> = Vec::new();
    let mut line = String::new();
    for word in what.split(' ').filter(|w| !w.is_empty()) {
        let longer = if line.is_empty() {
            word.to_string()
        } else {
            format!("{line} {word}")
        };
        if fits(&longer) {
            line = longer;
            continue;
        }
        if !line.is_empty() {
            lines.push(std::mem::take(&mut line));
        }
        for c in word.chars() {
            line.push(c);
            if !fits(&line) && line.chars().count() > 1 {
                line.pop();
                lines.push(std::mem::take(&mut line));
                line.push(c);
            }
        }
    }
    if !line.is_empty() {
        lines.push(line);
    }
    lines
}

/// Lines of text downwards from a first base line.
pub(super) fn lines_down(
    first: Point,
    lines: &[String],
    height_mm: f64,
    weight: Weight,
) -> Vec<Item> {
    lines
        .iter()
        .enumerate()
        .map(|(k, line)| {
            let y = first.y - k as f64 * PITCH * height_mm;
            Item::Text(text(Point::new(first.x, y), line, height_mm, weight))
        })
        .collect()
}

/// Text for a field `width` wide and `room` high: the first of `heights` at which it fits on one line,
/// else wrapped at the least height, else squeezed. `None` where it fits in no way.
pub(super) fn fit(
    what: &str,
    width: f64,
    room: f64,
    heights: &[f64],
    weight: Weight,
) -> Option<Vec<Text>> {
    let one = |height_mm: f64, squeeze: f64, line: &str, y: f64| Text {
        squeeze,
        ..text(Point::new(0.0, y), line, height_mm, weight)
    };
    for &h in heights {
        if h <= room && length(what, h, weight) <= width {
            return Some(vec![one(h, 1.0, what, 0.0)]);
        }
    }
    let least = *heights.last()?;
    let rows = ((room - least) / (PITCH * least)).floor().max(0.0) as usize + 1;
    for squeeze in [1.0, 0.9, 0.8, LEAST_SQUEEZE] {
        let lines = wrap(what, width / squeeze, least, weight);
        if lines.len() <= rows {
            let count = lines.len();
            let place = |k: usize| (count - 1 - k) as f64 * PITCH * least;
            return Some(
                lines
                    .iter()
                    .enumerate()
                    .map(|(k, line)| one(least, squeeze, line, place(k)))
                    .collect(),
            );
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn wrapped_lines_keep_to_the_width_and_lose_no_letter() {
        let what = "Counterbore from the back face, Donaudampfschifffahrtsgesellschaft included";
        for width in [8.0, 15.0, 40.0, 500.0] {
            let lines = wrap(what, width, 2.5, Weight::Regular);
            for line in &lines {
                assert!(length(line, 2.5, Weight::Regular) <= width, "{line}");
            }
            let letters = |s: &str| s.replace(' ', "");
            assert_eq!(letters(&lines.concat()), letters(what));
        }
    }

    #[test]
    fn a_field_shrinks_wraps_squeezes_and_at_last_refuses() {
        let try_it = |n: usize| fit(&"word ".repeat(n), 40.0, 7.0, &[5.0, 2.5], Weight::Regular);
        assert_eq!(try_it(1).map(|t| t[0].height_mm), Some(5.0));
        assert_eq!(try_it(4).map(|t| t[0].height_mm), Some(2.5));
        assert_eq!(try_it(8).map(|t| (t.len(), t[0].squeeze)), Some((2, 1.0)));
        assert!(try_it(12).is_some_and(|t| t[0].squeeze < 1.0));
        assert!(try_it(40).is_none());
    }

    #[test]
    fn a_text_box_is_the_ink_between_its_ends() {
        let t = text(Point::new(10.0, 20.0), "Hg", 7.18, Weight::Regular);
        let b = t.bounds();
        // Helvetica.afm: H 722 wide, g 556 wide and down to −220; in bold −217.
        assert!((b.width() - 12.78).abs() < 1e-9);
        assert!((b.min.y - 17.8).abs() < 0.1 && (b.max.y - 27.18).abs() < 1e-9);
    }
}
