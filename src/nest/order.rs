//! Tries orders of laying and keeps the best nest.

use rayon::prelude::*;

use crate::geom::{Extents, Path, Point, Vector};

use super::compact::{SPARE_MM, rounded, slide};
use super::grid::{Mask, cells_of, cells_over};
use super::{Laid, Limits, Nest, Piece, Sheet, turned, turns_deg};

/// Parts above which only the plain orders are tried: so many even out by themselves.
const FEW: usize = 40;

/// Parts above which only the first order is tried.
const MANY: usize = 300;

/// Shuffled orders tried for few parts (common practice, no source: further ones rarely gain).
const SHUFFLES: u64 = 8;

/// How good a nest is, least first: what is left over, area of all sheets, then how far the last sheet is used.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub(super) struct Score {
    left: usize,
    area_mm2: f64,
    last_mm: f64,
}

/// A part in one of its turns.
struct Turned {
    turn_deg: f64,
    outline: Path,
    corner: Point,
    mask: Mask,
}

/// The best nest found on sheets of one size.
pub(super) fn best_on(pieces: &[Piece], size: (f64, f64), limits: &Limits) -> (Score, Nest) {
    let usable = Extents {
        min: Point::new(limits.margin_mm, limits.margin_mm),
        max: Point::new(size.0 - limits.margin_mm, size.1 - limits.margin_mm),
    };
    let (columns, rows, cell) = cells_over(&usable);
    let shapes: Vec<Vec<Turned>> = pieces
        .par_iter()
        .map(|p| {
            turns_deg(limits.turns, &p.outline)
                .into_iter()
                .filter_map(|t| {
                    let outline = turned(&p.outline, t);
                    let e = outline.extents();
                    let fits = e.width() <= usable.width() && e.height() <= usable.height();
                    fits.then(|| Turned {
                        turn_deg: t,
                        corner: e.min,
                        mask: cells_of(&outline, cell),
                        outline,
                    })
                })
                .collect()
        })
        .collect();
    let bench = Bench {
        shapes: &shapes,
        size,
        usable,
        grid: (columns, rows),
        cell,
        gap: limits.gap_mm,
    };
    let tried: Vec<(Score, Nest)> = orders(pieces)
        .par_iter()
        .map(|order| {
            let nest = bench.lay(order);
            (score(&nest), nest)
        })
        .collect();
    // The first of equal ones, so that nothing hangs on which thread was first.
    tried
        .into_iter()
        .reduce(|a, b| if b.0 < a.0 { b } else { a })
        .unwrap_or((
            Score {
                left: 0,
                area_mm2: 0.0,
                last_mm: 0.0,
            },
            Nest::default(),
        ))
}

fn score(nest: &Nest) -> Score {
    Score {
        left: nest.left.len(),
        area_mm2: nest.sheets.iter().map(Sheet::area_mm2).sum(),
        last_mm: nest.sheets.last().map_or(0.0, Sheet::reach_mm),
    }
}

/// Orders to try, each naming every single part: large before small in four senses, then shuffles of the first.
fn orders(pieces: &[Piece]) -> Vec<Vec<usize>> {
    let single: Vec<usize> = pieces
        .iter()
        .enumerate()
        .flat_map(|(k, p)| std::iter::repeat_n(k, p.count))
        .collect();
    let measure = |k: usize, how: usize| {
        let path = &pieces[k].outline;
        let e = path.extents();
        match how {
            0 => path.area().abs(),
            1 => e.width().max(e.height()),
            2 => e.width().min(e.height()),
            _ => path.length(),
        }
    };
    let plain = if single.len() > MANY { 1 } else { 4 };
    let mut all: Vec<Vec<usize>> = (0..plain)
        .map(|how| {
            let mut order = single.clone();
            order.sort_by(|a, b| measure(*b, how).total_cmp(&measure(*a, how)).then(a.cmp(b)));
            order
        })
        .collect();
    if (2..=FEW).contains(&single.len()) {
        for seed in 1..=SHUFFLES {
            let mut order = all[0].clone();
            let mut state = seed;
            for i in (1..order.len()).rev() {
                // Knuth's MMIX generator: the same orders on every machine.
                state = state
                    .wrapping_mul(6_364_136_223_846_793_005)
                    .wrapping_add(1_442_695_040_888_963_407);
                order.swap(i, (state >> 33) as usize % (i + 1));
            }
            all.push(order);
        }
    }
    all.dedup();
    all
}

/// What one try needs.
struct Bench<'a> {
    shapes: &'a [Vec<Turned>],
    size: (f64, f64),
    usable: Extents,
    grid: (usize, usize),
    cell: Vector,
    gap: f64,
}

/// A sheet while it fills.
struct Open {
    sheet: Sheet,
    taken: Mask,
    /// For every piece and turn the first place that may be free, by column and row; none where none is.
    /// A sheet only fills, so what was taken stays taken.
    from: Vec<Vec<Option<(usize, usize)>>>,
}

impl Bench<'_> {
    /// Lays every part of an order on the first sheet that takes it.
    fn lay(&self, order: &[usize]) -> Nest {
        let mut open: Vec<Open> = Vec::new();
        let mut left = Vec::new();
        for &piece in order {
            if open.iter_mut().any(|o| self.put(piece, o)) {
                continue;
            }
            let mut fresh = self.fresh();
            if self.put(piece, &mut fresh) {
                open.push(fresh);
            } else if !left.contains(&piece) {
                left.push(piece);
            }
        }
        left.sort_unstable();
        Nest {
            sheets: open.into_iter().map(|o| o.sheet).collect(),
            left,
        }
    }

    fn fresh(&self) -> Open {
        Open {
            sheet: Sheet {
                size_mm: self.size,
                laid: Vec::new(),
            },
            taken: Mask::empty(self.grid.0, self.grid.1),
            from: self
                .shapes
                .iter()
                .map(|turns| vec![Some((0, 0)); turns.len()])
                .collect(),
        }
    }

    /// Puts a piece where it reaches least far along the sheet; `false` where it finds no place.
    fn put(&self, piece: usize, open: &mut Open) -> bool {
        let (taken, from) = (&open.taken, &mut open.from[piece]);
        let best = self.shapes[piece]
            .iter()
            .zip(from)
            .filter_map(|(t, from)| {
                *from = taken.first_free(&t.mask, (*from)?);
                let (c, r) = (*from)?;
                let at = self.on_cell(t, c, r);
                let e = t.outline.extents();
                Some((t, at, (e.max.x + at.x, e.max.y + at.y)))
            })
            .reduce(|a, b| {
                let nearer = b.2.0 < a.2.0 - 1e-9 || (b.2.0 < a.2.0 + 1e-9 && b.2.1 < a.2.1 - 1e-9);
                if nearer { b } else { a }
            });
        let Some((t, at, _)) = best else {
            return false;
        };
        let others: Vec<&Path> = open.sheet.laid.iter().map(|l| &l.outline).collect();
        let by = slide(&t.outline.moved(at), &others, &self.usable, self.gap);
        let at = self.settled(t, at + by);
        let outline = t.outline.moved(at);
        let reach = self.gap + SPARE_MM;
        open.taken.mark(&outline, self.usable.min, self.cell, reach);
        open.sheet.laid.push(Laid {
            piece,
            turn_deg: t.turn_deg,
            at,
            outline,
        });
        true
    }

    /// Where the origin of a turned part lies when its box starts at a cell.
    fn on_cell(&self, t: &Turned, column: usize, row: usize) -> Vector {
        let corner = Point::new(
            self.usable.min.x + column as f64 * self.cell.x,
            self.usable.min.y + row as f64 * self.cell.y,
        );
        corner - t.corner
    }

    /// A place in whole µm where the sheet has that much room.
    fn settled(&self, t: &Turned, at: Vector) -> Vector {
        let (e, whole) = (t.outline.extents(), rounded(at));
        Vector::new(
            whole
                .x
                .min(self.usable.max.x - e.max.x)
                .max(at.x.min(whole.x)),
            whole
                .y
                .min(self.usable.max.y - e.max.y)
                .max(at.y.min(whole.y)),
        )
    }
}
