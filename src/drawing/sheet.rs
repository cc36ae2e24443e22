//! Sheets, their frames and the scales a drawing may have.

use super::font::Weight;
use super::lettering::middle;
use super::{Item, Line};
use crate::geom::{Extents, Point};

/// A sheet size (ISO 216, laid as ISO 5457 has it: A4 upright, A3 lying).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum SheetSize {
    /// 210 × 297 mm.
    A4,
    /// 420 × 297 mm.
    A3,
}

/// Margin on the binding side, mm (ISO 5457: 20).
const BINDING_MM: f64 = 20.0;

/// Margin on the other sides, mm (ISO 5457: 10).
const MARGIN_MM: f64 = 10.0;

/// Width of the grid reference border round the frame, mm (ISO 5457: 5).
const BORDER_MM: f64 = 5.0;

/// Length of a reference field, mm, counted from the sheet's middle (ISO 5457: 50).
const FIELD_MM: f64 = 50.0;

/// Height of the border's letters and digits, mm (ISO 5457: 3.5; 2.5 keeps clear of the frame's lines).
const FIELD_LETTER_MM: f64 = 2.5;

impl SheetSize {
    /// Width, mm.
    #[must_use]
    pub const fn width_mm(self) -> f64 {
        match self {
            Self::A4 => 210.0,
            Self::A3 => 420.0,
        }
    }

    /// Height, mm.
    #[must_use]
    pub const fn height_mm(self) -> f64 {
        297.0
    }

    /// Its name.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::A4 => "A4",
            Self::A3 => "A3",
        }
    }

    /// The drawing space within the frame.
    #[must_use]
    pub const fn space(self) -> Extents {
        Extents {
            min: Point::new(BINDING_MM, MARGIN_MM),
            max: Point::new(self.width_mm() - MARGIN_MM, self.height_mm() - MARGIN_MM),
        }
    }

    /// The frame, the centring marks and the grid reference border.
    pub(super) fn frame(self) -> Vec<Item> {
        let inner = self.space();
        let b = BORDER_MM;
        let outer = Extents {
            min: Point::new(inner.min.x - b, inner.min.y - b),
            max: Point::new(inner.max.x + b, inner.max.y + b),
        };
        let mut items = vec![
            Item::rectangle(inner.min, inner.max, Line::Frame),
            Item::rectangle(outer.min, outer.max, Line::Rule),
        ];
        let (cx, cy) = (0.5 * self.width_mm(), 0.5 * self.height_mm());
        let mut tick = |from: Point, to: Point, line| items.push(Item::line(from, to, line));
        for (edge, rim) in [(inner.min.y, outer.min.y), (inner.max.y, outer.max.y)] {
            tick(Point::new(cx, rim), Point::new(cx, edge), Line::Frame);
        }
        for (edge, rim) in [(inner.min.x, outer.min.x), (inner.max.x, outer.max.x)] {
            tick(Point::new(rim, cy), Point::new(edge, cy), Line::Frame);
        }
        let columns = fields(cx, inner.min.x, inner.max.x);
        let rows = fields(cy, inner.min.y, inner.max.y);
        let half = 0.5 * FIELD_LETTER_MM;
        let mut mark = |x: f64, y: f64, what: &str| {
            let at = Point::new(x, y - half);
            items.push(Item::Text(middle(
                at,
                what,
                FIELD_LETTER_MM,
                Weight::Regular,
            )));
        };
        // A4 is marked at the top and on the right only (ISO 5457).
        let both = self == Self::A3;
        for (k, (low, high)) in columns.iter().enumerate() {
            let (x, digit) = (0.5 * (low + high), (k + 1).to_string());
            mark(x, inner.max.y + 0.5 * b, &digit);
            if both {
                mark(x, inner.min.y - 0.5 * b, &digit);
            }
        }
        for (k, (low, high)) in rows.iter().rev().enumerate() {
            let y = 0.5 * (low + high);
            let letter = "ABCDEFGHJKLMNP".get(k..=k).unwrap_or("");
            mark(inner.max.x + 0.5 * b, y, letter);
            if both {
                mark(inner.min.x - 0.5 * b, y, letter);
            }
        }
        let mut border = |from: Point, to: Point| items.push(Item::line(from, to, Line::Rule));
        for (low, _) in columns.iter().skip(1).filter(|(x, _)| !same(*x, cx)) {
            border(Point::new(*low, inner.max.y), Point::new(*low, outer.max.y));
            if both {
                border(Point::new(*low, outer.min.y), Point::new(*low, inner.min.y));
            }
        }
        for (low, _) in rows.iter().skip(1).filter(|(y, _)| !same(*y, cy)) {
            border(Point::new(inner.max.x, *low), Point::new(outer.max.x, *low));
            if both {
                border(Point::new(outer.min.x, *low), Point::new(inner.min.x, *low));
            }
        }
        items
    }
}

fn same(a: f64, b: f64) -> bool {
    (a - b).abs() < crate::tol::SNAP_MM
}

/// Fields of [`FIELD_MM`] on both sides of the middle; the outer ones take up the rest.
fn fields(middle: f64, low: f64, high: f64) -> Vec<(f64, f64)> {
    let each = |room: f64| ((room / FIELD_MM).round() as usize).max(1);
    let (below, above) = (each(middle - low), each(high - middle));
    let mut cuts = vec![low];
    cuts.extend((1..below).rev().map(|k| middle - k as f64 * FIELD_MM));
    cuts.push(middle);
    cuts.extend((1..above).map(|k| middle + k as f64 * FIELD_MM));
    cuts.push(high);
    cuts.windows(2).map(|w| (w[0], w[1])).collect()
}

/// A scale of ISO 5455.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Scale {
    paper: u32,
    part: u32,
}

impl Scale {
    /// Full size.
    pub const FULL: Self = Self { paper: 1, part: 1 };

    /// The standard scales a plate may be drawn at, largest first (ISO 5455: 1, 2 and 5 times powers of ten).
    pub const STANDARD: [Self; 8] = [
        Self { paper: 5, part: 1 },
        Self { paper: 2, part: 1 },
        Self::FULL,
        Self { paper: 1, part: 2 },
        Self { paper: 1, part: 5 },
        Self { paper: 1, part: 10 },
        Self { paper: 1, part: 20 },
        Self { paper: 1, part: 50 },
    ];

    /// Paper mm for one mm of the part.
    #[must_use]
    pub fn factor(self) -> f64 {
        f64::from(self.paper) / f64::from(self.part)
    }

    /// Largest plate drawn at this scale, mm (common practice, no source: full size wherever it can be read).
    pub(super) const fn most_mm(self) -> f64 {
        match self.paper {
            5 => 24.0,
            2 => 60.0,
            _ => f64::INFINITY,
        }
    }

    /// As it is written: `1:2`.
    #[must_use]
    pub fn name(self) -> String {
        format!("{}:{}", self.paper, self.part)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reference_fields_fill_the_frame_and_meet_at_the_middle() {
        for size in [SheetSize::A4, SheetSize::A3] {
            let s = size.space();
            let f = fields(0.5 * size.width_mm(), s.min.x, s.max.x);
            assert!(same(f[0].0, s.min.x) && same(f[f.len() - 1].1, s.max.x));
            assert!(f.windows(2).all(|w| same(w[0].1, w[1].0)));
            assert!(f.iter().any(|(_, high)| same(*high, 0.5 * size.width_mm())));
            assert!(
                f.iter()
                    .all(|(low, high)| high - low > 30.0 && high - low < 76.0)
            );
        }
    }
}
