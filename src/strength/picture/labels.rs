//! Where words stand on a picture so that none covers another.

use super::Anchor;

/// Mean width of a letter over its size, generously: viewers put their own sans-serif in
/// (DejaVu Sans, the widest of the usual ones, averages 0.58, its bold 0.64).
const LETTER: f64 = 0.60;

/// The same of bold words.
const BOLD_LETTER: f64 = 0.66;

/// Share of the size that stands above the baseline, and below it.
const ABOVE: f64 = 0.8;

/// See [`ABOVE`].
const BELOW: f64 = 0.25;

/// Width of a line of words, px, an upper estimate.
pub(super) fn width(words: &str, size: f64, is_bold: bool) -> f64 {
    let letter = if is_bold { BOLD_LETTER } else { LETTER };
    letter * size * words.chars().count() as f64
}

/// A rectangle, px.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Area {
    pub(super) left: f64,
    pub(super) top: f64,
    pub(super) right: f64,
    pub(super) bottom: f64,
}

impl Area {
    /// What a line of words covers.
    pub(super) fn of_words((x, y): (f64, f64), size: f64, anchor: Anchor, words: &str) -> Self {
        let w = width(words, size, true);
        let left = match anchor {
            Anchor::Start => x,
            Anchor::Middle => x - 0.5 * w,
            Anchor::End => x - w,
        };
        Self {
            left,
            top: y - ABOVE * size,
            right: left + w,
            bottom: y + BELOW * size,
        }
    }

    /// What a circle covers.
    pub(super) fn of_circle((x, y): (f64, f64), r: f64) -> Self {
        Self {
            left: x - r,
            top: y - r,
            right: x + r,
            bottom: y + r,
        }
    }

    /// Area that two rectangles share, px².
    fn shared(&self, other: &Self) -> f64 {
        let x = self.right.min(other.right) - self.left.max(other.left);
        let y = self.bottom.min(other.bottom) - self.top.max(other.top);
        x.max(0.0) * y.max(0.0)
    }
}

/// What is already covered.
#[derive(Debug, Clone, Default)]
pub(super) struct Covered {
    areas: Vec<Area>,
}

impl Covered {
    pub(super) fn add(&mut self, area: Area) {
        self.areas.push(area);
    }

    /// The first of the places where words cover nothing and stay within `sheet`; else the one
    /// where they cover least. The place is taken.
    pub(super) fn place(
        &mut self,
        places: &[((f64, f64), Anchor)],
        size: f64,
        words: &str,
        sheet: &Area,
    ) -> ((f64, f64), Anchor) {
        let cost = |&(at, anchor): &((f64, f64), Anchor)| {
            let own = Area::of_words(at, size, anchor, words);
            let whole = own.shared(&own);
            let covered: f64 = self.areas.iter().map(|a| a.shared(&own)).sum();
            covered + whole - own.shared(sheet)
        };
        let mut best = (f64::INFINITY, ((0.0, 0.0), Anchor::Start));
        for p in places {
            let c = cost(p);
            if c < best.0 {
                best = (c, *p);
            }
        }
        let (at, anchor) = best.1;
        self.add(Area::of_words(at, size, anchor, words));
        best.1
    }
}

/// Heights as near as may be to the wanted ones, at least `gap` apart and between `low` and `high`.
///
/// Wanted heights ascending; where there is no room for all at that gap, the gap shrinks.
pub(super) fn spread(wanted: &[f64], gap: f64, low: f64, high: f64) -> Vec<f64> {
    let count = wanted.len().saturating_sub(1).max(1) as f64;
    let gap = gap.min((high - low) / count);
    let mut out: Vec<f64> = wanted.to_vec();
    let mut least = low;
    for y in &mut out {
        *y = y.max(least);
        least = *y + gap;
    }
    let mut most = high;
    for y in out.iter_mut().rev() {
        *y = y.min(most);
        most = *y - gap;
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn crowded_heights_are_spread_and_lone_ones_stay() {
        let got = spread(&[10.0, 11.0, 12.0, 80.0], 5.0, 0.0, 100.0);
        assert_eq!(got, [10.0, 15.0, 20.0, 80.0]);
        let got = spread(&[97.0, 98.0, 99.0], 5.0, 0.0, 100.0);
        assert_eq!(got, [90.0, 95.0, 100.0]);
        let got = spread(&[1.0; 5], 5.0, 0.0, 8.0);
        assert_eq!(got, [0.0, 2.0, 4.0, 6.0, 8.0]);
    }

    #[test]
    fn words_go_where_nothing_is() {
        let mut covered = Covered::default();
        let sheet = Area {
            left: 0.0,
            top: 0.0,
            right: 200.0,
            bottom: 100.0,
        };
        let places = [((50.0, 50.0), Anchor::Start), ((50.0, 80.0), Anchor::Start)];
        let first = covered.place(&places, 12.0, "one", &sheet);
        let second = covered.place(&places, 12.0, "two", &sheet);
        assert_eq!((first.0, second.0), (places[0].0, places[1].0));
        // Beyond the sheet's edge the words go to the other side.
        let places = [((190.0, 20.0), Anchor::Start), ((190.0, 20.0), Anchor::End)];
        assert_eq!(covered.place(&places, 12.0, "three", &sheet).1, Anchor::End);
    }
}
