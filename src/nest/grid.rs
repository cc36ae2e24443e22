//! A sheet or a part as cells of a grid: what is free there is free.

use crate::geom::{Extents, Path, Point, Vector};

/// Bits of a word.
const WORD: usize = 64;

/// Cells of a grid, column by column; a marked cell holds something.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Mask {
    /// Columns, along x.
    pub(super) columns: usize,
    /// Rows, along y.
    pub(super) rows: usize,
    words: usize,
    bits: Vec<u64>,
}

impl Mask {
    pub(super) fn empty(columns: usize, rows: usize) -> Self {
        let words = rows.div_ceil(WORD).max(1);
        Self {
            columns,
            rows,
            words,
            bits: vec![0; columns * words],
        }
    }

    /// Marks every cell that has a point of `path`'s inside, or a point nearer to it than `reach`.
    ///
    /// Cells measure `cell` and start at `corner`.
    pub(super) fn mark(&mut self, path: &Path, corner: Point, cell: Vector, reach: f64) {
        let e = path.extents();
        let index = |cells: f64, n: usize| cells.floor().clamp(0.0, n as f64) as usize;
        let block = Block {
            low: (
                index((e.min.x - reach - corner.x) / cell.x, self.columns),
                index((e.min.y - reach - corner.y) / cell.y, self.rows),
            ),
            high: (
                (index((e.max.x + reach - corner.x) / cell.x, self.columns) + 1).min(self.columns),
                (index((e.max.y + reach - corner.y) / cell.y, self.rows) + 1).min(self.rows),
            ),
        };
        self.mark_block(path, corner, cell, reach, block);
    }

    fn mark_block(&mut self, path: &Path, corner: Point, cell: Vector, reach: f64, b: Block) {
        let (w, h) = (
            b.high.0.saturating_sub(b.low.0),
            b.high.1.saturating_sub(b.low.1),
        );
        if w == 0 || h == 0 {
            return;
        }
        let middle = Point::new(
            corner.x + 0.5 * cell.x * (b.low.0 + b.high.0) as f64,
            corner.y + 0.5 * cell.y * (b.low.1 + b.high.1) as f64,
        );
        let half = 0.5 * (cell.x * w as f64).hypot(cell.y * h as f64);
        let inside = path.signed_distance(middle);
        if inside < -(half + reach) {
            return;
        }
        if inside >= half || (w == 1 && h == 1) {
            for c in b.low.0..b.high.0 {
                self.fill(c, b.low.1, b.high.1);
            }
            return;
        }
        let (mut left, mut right) = (b, b);
        if w >= h {
            left.high.0 = b.low.0 + w / 2;
            right.low.0 = left.high.0;
        } else {
            left.high.1 = b.low.1 + h / 2;
            right.low.1 = left.high.1;
        }
        self.mark_block(path, corner, cell, reach, left);
        self.mark_block(path, corner, cell, reach, right);
    }

    fn fill(&mut self, column: usize, low: usize, high: usize) {
        for row in low..high {
            self.bits[column * self.words + row / WORD] |= 1 << (row % WORD);
        }
    }

    /// Whether `part`, put with its lower left cell on (`column`, `row`), meets a mark.
    ///
    /// The part must lie within the grid there.
    fn meets(&self, part: &Self, column: usize, row: usize) -> bool {
        let (skip, shift) = (row / WORD, row % WORD);
        (0..part.columns).any(|c| {
            let mine = &self.bits[(column + c) * self.words..][..self.words];
            let its = &part.bits[c * part.words..][..part.words];
            its.iter().enumerate().any(|(k, &word)| {
                let low = mine.get(skip + k).copied().unwrap_or(0) >> shift;
                let high = match mine.get(skip + k + 1) {
                    Some(w) if shift > 0 => w << (WORD - shift),
                    _ => 0,
                };
                (low | high) & word != 0
            })
        })
    }

    /// The leftmost place, and of those the lowest, where `part` meets no mark: (column, row).
    ///
    /// Places before `from` are known to be taken.
    pub(super) fn first_free(&self, part: &Self, from: (usize, usize)) -> Option<(usize, usize)> {
        let columns = self.columns.checked_sub(part.columns)?;
        let rows = self.rows.checked_sub(part.rows)?;
        (from.0..=columns).find_map(|c| {
            let low = if c == from.0 { from.1 } else { 0 };
            (low..=rows)
                .find(|&r| !self.meets(part, c, r))
                .map(|r| (c, r))
        })
    }
}

/// Cells from `low` up to, not with, `high`.
#[derive(Debug, Clone, Copy)]
struct Block {
    low: (usize, usize),
    high: (usize, usize),
}

/// Columns and rows of a usable area and the size of a cell, mm: fine enough that no gap of a finger's
/// width is missed, coarse enough to search at once (common practice, no source).
///
/// The cells fill the area exactly, so that a part that fits has a place on the grid.
pub(super) fn cells_over(usable: &Extents) -> (usize, usize, Vector) {
    let (w, h) = (usable.width().max(1.0), usable.height().max(1.0));
    let side = (w.max(h) / 200.0).clamp(2.0, 10.0);
    let count = |mm: f64| ((mm / side).floor() as usize).max(1);
    let (columns, rows) = (count(w), count(h));
    (
        columns,
        rows,
        Vector::new(w / columns as f64, h / rows as f64),
    )
}

/// A part's own cells, from the lower left corner of its box.
pub(super) fn cells_of(outline: &Path, cell: Vector) -> Mask {
    let e = outline.extents();
    let count = |cells: f64| ((cells - 1e-9).ceil() as usize).max(1);
    let mut mask = Mask::empty(count(e.width() / cell.x), count(e.height() / cell.y));
    mask.mark(outline, e.min, cell, 0.0);
    mask
}

#[cfg(test)]
mod tests {
    use super::*;

    const UNIT: Vector = Vector::new(1.0, 1.0);

    #[test]
    fn a_part_finds_the_lowest_leftmost_hole_it_fits_in() {
        let at = Point::new;
        let square = |x: f64, y: f64, s: f64| {
            Path::polygon(&[at(x, y), at(x + s, y), at(x + s, y + s), at(x, y + s)])
        };
        let mut sheet = Mask::empty(100, 100);
        // A wall across, with a hole of 20 cells from row 70 up.
        sheet.mark(&square(0.5, 0.5, 68.9), Point::ORIGIN, UNIT, 0.0);
        let part = cells_of(&square(0.0, 0.0, 20.0), UNIT);
        assert_eq!((part.columns, part.rows), (20, 20));
        assert_eq!(sheet.first_free(&part, (0, 0)), Some((0, 70)));
        let large = cells_of(&square(0.0, 0.0, 31.5), UNIT);
        assert_eq!(sheet.first_free(&large, (0, 0)), None);
    }

    #[test]
    fn every_point_of_a_disc_lies_in_a_marked_cell() {
        let disc = Path::circle(Point::new(30.0, 31.0), 17.3);
        let mut mask = Mask::empty(70, 70);
        mask.mark(&disc, Point::ORIGIN, UNIT, 4.0);
        for k in 0..3600 {
            let angle = f64::from(k).to_radians() * 0.1;
            for r in [0.0, 5.0, 17.3, 21.29] {
                let p = Point::new(30.0, 31.0).polar(r, angle);
                let (c, row) = (p.x.floor() as usize, p.y.floor() as usize);
                let probe = {
                    let mut m = Mask::empty(1, 1);
                    m.fill(0, 0, 1);
                    m
                };
                assert!(mask.meets(&probe, c, row), "{p:?}");
            }
        }
    }
}
