//! Single-stroke letters for engraved marks: lines a tool follows, no font file.
//!
//! The alphabet is drawn on a grid of four units across and six high, with
//! straight strokes and cut corners only, so that a scribe, a laser or an
//! engraving cutter follows it without interpolating anything. Small letters
//! are given as capitals; zero carries a stroke, so that nobody takes it for O.

use thiserror::Error;

use crate::geom::{Point, Vector};

/// Height of a capital, grid units.
const CAPITAL: f64 = 6.0;

/// From one character's left edge to the next one's, grid units: four of width and two of gap.
const ADVANCE: f64 = 6.0;

/// A character without strokes in the alphabet.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
#[error("`{0}` cannot be engraved: letters, digits and - . , / + # : ( ) = _ ← → ↑ ↓ can")]
pub struct UnknownCharacter(pub char);

/// The strokes of one line of `text`.
///
/// `at` is the left end of the base line, `height_mm` the height of a capital,
/// `angle_rad` the direction of the base line. Every stroke has at least two
/// points and none is drawn twice. A space leaves a gap.
///
/// # Errors
///
/// [`UnknownCharacter`] for the first character outside the alphabet.
///
/// ```
/// use platewright::geom::Point;
/// use platewright::marking::strokes;
///
/// let up = strokes("TOP ↑", Point::new(10.0, 10.0), 6.0, 0.0)?;
/// assert!(up.iter().all(|stroke| stroke.len() >= 2));
/// # Ok::<(), platewright::marking::UnknownCharacter>(())
/// ```
pub fn strokes(
    text: &str,
    at: Point,
    height_mm: f64,
    angle_rad: f64,
) -> Result<Vec<Vec<Point>>, UnknownCharacter> {
    let unit = height_mm / CAPITAL;
    let mut out = Vec::new();
    for (place, c) in text.chars().enumerate() {
        let left = place as f64 * ADVANCE;
        for stroke in glyph(c).ok_or(UnknownCharacter(c))?.split_whitespace() {
            out.push(
                grid_points(stroke)
                    .map(|v| at + (Vector::new(v.x + left, v.y) * unit).turned(angle_rad))
                    .collect(),
            );
        }
    }
    Ok(out)
}

/// Width of one line of `text` from its first to its last edge, mm.
#[must_use]
pub fn width_mm(text: &str, height_mm: f64) -> f64 {
    let count = text.chars().count() as f64;
    (count * ADVANCE - 2.0).max(0.0) * height_mm / CAPITAL
}

/// Points of a stroke written as pairs of grid digits; `-` stands for one unit below the base line.
fn grid_points(stroke: &str) -> impl Iterator<Item = Vector> + '_ {
    let unit = |b: u8| {
        if b == b'-' {
            -1.0
        } else {
            f64::from(b.saturating_sub(b'0'))
        }
    };
    stroke
        .as_bytes()
        .chunks_exact(2)
        .map(move |pair| Vector::new(unit(pair[0]), unit(pair[1])))
}

/// A character's strokes: words of `xy` digit pairs, x 0 to 4, y 0 to 6.
fn glyph(c: char) -> Option<&'static str> {
    Some(match c.to_ascii_uppercase() {
        ' ' => "",
        'A' => "0004264440 0242",
        'B' => "00063645443303 3342413000",
        'C' => "4536160501103041",
        'D' => "00062644422000",
        'E' => "46060040 0333",
        'F' => "460600 0333",
        'G' => "45361605011030414323",
        'H' => "0006 4046 0343",
        'I' => "1030 2026 1636",
        'J' => "4641301001",
        'K' => "0006 460340",
        'L' => "060040",
        'M' => "0006234640",
        'N' => "00064046",
        'O' => "160501103041453616",
        'P' => "00063645443303",
        'Q' => "160501103041453616 2240",
        'R' => "00063645443303 2340",
        'S' => "453616050413334241301001",
        'T' => "0646 2620",
        'U' => "060110304146",
        'V' => "062046",
        'W' => "0610233046",
        'X' => "0046 0640",
        'Y' => "062346 2320",
        'Z' => "06460040",
        '0' => "160501103041453616 1234",
        '1' => "042620 1030",
        '2' => "05163645440040",
        '3' => "064623334241301001",
        '4' => "30360242",
        '5' => "460603334241301001",
        '6' => "4536160501103041423303",
        '7' => "064610",
        '8' => "130405163645443313 1302011030414233",
        '9' => "4313040516364541301001",
        '-' => "1333",
        '.' => "2021",
        ',' => "211-",
        '/' => "0046",
        '+' => "0343 2125",
        '#' => "1016 3036 0242 0444",
        ':' => "2122 2425",
        '(' => "36252130",
        ')' => "16252110",
        '=' => "0242 0444",
        '_' => "0040",
        '←' => "4303 250321",
        '→' => "0343 254321",
        '↑' => "2026 042644",
        '↓' => "2620 022042",
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    const ALL: &str = "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-.,/+#:()=_←→↑↓";

    #[test]
    fn every_glyph_keeps_to_its_cell_and_repeats_no_line() {
        for c in ALL.chars() {
            let drawn = strokes(&c.to_string(), Point::ORIGIN, 6.0, 0.0).expect("in the alphabet");
            assert!(!drawn.is_empty(), "{c}");
            let mut seen = BTreeSet::new();
            for stroke in &drawn {
                assert!(stroke.len() >= 2, "{c}");
                for pair in stroke.windows(2) {
                    let key = |p: Point| (p.x.round() as i32, p.y.round() as i32);
                    let (a, b) = (key(pair[0]), key(pair[1]));
                    assert_ne!(a, b, "{c} has a stroke of no length");
                    assert!(seen.insert((a.min(b), a.max(b))), "{c} draws a line twice");
                    for (x, y) in [a, b] {
                        assert!((0..=4).contains(&x) && (-1..=6).contains(&y), "{c}");
                    }
                }
            }
        }
    }

    #[test]
    fn no_two_characters_look_the_same() {
        let all: BTreeSet<_> = ALL.chars().filter_map(glyph).collect();
        assert_eq!(all.len(), ALL.chars().count());
    }

    #[test]
    fn text_is_as_high_and_wide_as_asked_in_any_direction() {
        let text = "HO-10";
        for angle in [0.0, 0.7, -2.0] {
            let at = Point::new(12.0, -5.0);
            let along = Vector::unit_at(angle);
            let points: Vec<Vector> = strokes(text, at, 9.0, angle)
                .expect("in the alphabet")
                .concat()
                .into_iter()
                .map(|p| p - at)
                .collect();
            let reach = |d: Vector| {
                let s = points.iter().map(|p| p.dot(d));
                (
                    s.clone().fold(f64::INFINITY, f64::min),
                    s.fold(f64::NEG_INFINITY, f64::max),
                )
            };
            let (left, right) = reach(along);
            let (low, high) = reach(along.left());
            assert!(left.abs() < 1e-9 && (right - width_mm(text, 9.0)).abs() < 1e-9);
            assert!(low.abs() < 1e-9 && (high - 9.0).abs() < 1e-9);
        }
    }

    #[test]
    fn small_letters_are_capitals_and_strange_ones_are_named() {
        let small = strokes("up", Point::ORIGIN, 5.0, 0.0);
        assert_eq!(small, strokes("UP", Point::ORIGIN, 5.0, 0.0));
        assert_eq!(
            strokes("A§", Point::ORIGIN, 5.0, 0.0),
            Err(UnknownCharacter('§'))
        );
    }
}
