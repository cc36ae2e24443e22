//! Linear dimensions and arrow heads (ISO 129-1).

use super::font::Weight;
use super::lettering::{height, length, text};
use super::{Item, Line, Text};
use crate::geom::{Point, Vector};

/// Length of an arrow head, mm (ISO 129-1 leaves it to the drawing; the lettering's height and a little).
pub(super) const ARROW_MM: f64 = 3.0;

/// Half width of an arrow head, mm: closed and filled, between the 15° and 30° of ISO 129-1.
const ARROW_HALF_MM: f64 = 0.5;

/// How far an extension line runs past the dimension line, mm (ISO 129-1: eight line widths).
const PAST_MM: f64 = 2.0;

/// Gap between dimension line and the text above it, mm (common practice, no source).
const TEXT_GAP_MM: f64 = 0.9;

/// From one dimension line to the next, mm (common practice, no source: text, gap and air).
pub(super) const ROW_MM: f64 = 8.0;

/// A filled arrow head with its tip at `tip`, pointing along `direction`.
pub(super) fn arrow(tip: Point, direction: Vector) -> Item {
    let u = direction.unit().unwrap_or(Vector::new(1.0, 0.0));
    let (back, side) = (tip - u * ARROW_MM, u.left() * ARROW_HALF_MM);
    Item::Fill(vec![tip, back + side, back - side])
}

/// Which way a dimension runs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Run {
    /// Measured along x, the dimension line horizontal.
    Across,
    /// Measured along y, the dimension line vertical, the text reading upwards.
    Up,
}

/// Where the text of a dimension too short for it stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Outside {
    /// Past the end with the greater coordinate.
    After,
    /// Before the end with the lesser coordinate.
    Before,
}

/// A linear dimension between `from` and `to` whose dimension line lies at `level`
/// (y for [`Run::Across`], x for [`Run::Up`]).
pub(super) fn linear(
    run: Run,
    from: Point,
    to: Point,
    level: f64,
    says: &str,
    outside: Outside,
) -> Vec<Item> {
    // Worked out as if horizontal; `p` turns it.
    let p = |along: f64, across: f64| match run {
        Run::Across => Point::new(along, across),
        Run::Up => Point::new(across, along),
    };
    let (mut a, mut b) = match run {
        Run::Across => ((from.x, from.y), (to.x, to.y)),
        Run::Up => ((from.y, from.x), (to.y, to.x)),
    };
    if a.0 > b.0 {
        std::mem::swap(&mut a, &mut b);
    }
    let mut items = Vec::new();
    for (along, start) in [a, b] {
        let end = level + PAST_MM.copysign(level - start);
        items.push(Item::line(p(along, start), p(along, end), Line::Narrow));
    }
    let along = p(1.0, 0.0) - Point::ORIGIN;
    let span = b.0 - a.0;
    let long = length(says, height::NORMAL, Weight::Regular);
    let inside = span >= long.max(2.0 * ARROW_MM) + 2.0;
    let out = 2.0 * ARROW_MM;
    let (ends, text_from) = if inside {
        ((a.0, b.0), 0.5 * (a.0 + b.0 - long))
    } else {
        // Arrows from outside; the text stands beyond one of them.
        match outside {
            Outside::After => ((a.0 - out, b.0 + out + long), b.0 + out),
            Outside::Before => ((a.0 - out - long, b.0 + out), a.0 - out - long),
        }
    };
    items.push(Item::line(p(ends.0, level), p(ends.1, level), Line::Narrow));
    let sign = if inside { -1.0 } else { 1.0 };
    items.push(arrow(p(a.0, level), along * sign));
    items.push(arrow(p(b.0, level), along * -sign));
    // Above a horizontal line; left of a vertical one, reading upwards.
    let above = match run {
        Run::Across => level + TEXT_GAP_MM,
        Run::Up => level - TEXT_GAP_MM,
    };
    items.push(Item::Text(Text {
        upright: run == Run::Up,
        ..text(p(text_from, above), says, height::NORMAL, Weight::Regular)
    }));
    items
}

#[cfg(test)]
mod tests {
    use super::*;

    fn text_of(items: &[Item]) -> &Text {
        items
            .iter()
            .find_map(|i| match i {
                Item::Text(t) => Some(t),
                _ => None,
            })
            .expect("a dimension has a text")
    }

    #[test]
    fn a_wide_dimension_has_its_text_in_the_middle_above_the_line() {
        let items = linear(
            Run::Across,
            Point::new(100.0, 50.0),
            Point::new(20.0, 60.0),
            30.0,
            "160",
            Outside::After,
        );
        let b = text_of(&items).bounds();
        assert!((b.centre().x - 60.0).abs() < 1e-9 && b.min.y > 30.0);
    }

    #[test]
    fn a_narrow_dimension_has_its_text_beyond_the_end_asked_for() {
        for (outside, above) in [(Outside::After, true), (Outside::Before, false)] {
            let (from, to) = (Point::new(5.0, 10.0), Point::new(5.0, 13.0));
            let items = linear(Run::Up, from, to, 0.0, "6", outside);
            let t = text_of(&items);
            let b = t.bounds();
            assert!(t.upright && b.max.x < 0.0);
            assert!(if above {
                b.min.y > 13.0
            } else {
                b.max.y < 10.0
            });
        }
    }
}
