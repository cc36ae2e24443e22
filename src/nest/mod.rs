//! Parts laid on stock sheets: where each lies, how it is turned, and what the cutting takes.
//!
//! [`pack`] works on outlines alone. Places are searched on a grid whose cells
//! hold every point of an outline, so that what is free on the grid is free;
//! then each part is slid towards the sheet's corner by the exact distance
//! between lines and arcs, as far as the gap allows.

mod compact;
mod grid;
mod order;
pub mod work;

use crate::geom::{Extents, Path, Point, Vector};
use crate::params::shop::{Process, Stock, Turns};

pub use work::Work;

/// Steps of a free turn, deg (common practice, no source: finer steps save nothing a shop can see).
const FREE_STEP_DEG: usize = 15;

/// A part to be laid, some times.
#[derive(Debug, Clone, PartialEq)]
pub struct Piece {
    /// Its name.
    pub id: String,
    /// Its outline in its own frame, mm.
    pub outline: Path,
    /// How many are wanted.
    pub count: usize,
}

/// What the sheets and the process allow.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limits {
    /// Least distance between two outlines, mm; above 0.
    pub gap_mm: f64,
    /// Least distance from the sheet's edge, mm.
    pub margin_mm: f64,
    /// How parts may be turned.
    pub turns: Turns,
}

/// A part on a sheet: first turned about its own origin, then moved.
#[derive(Debug, Clone, PartialEq)]
pub struct Laid {
    /// Which piece, by its place in the list given.
    pub piece: usize,
    /// Turn, deg, counter-clockwise.
    pub turn_deg: f64,
    /// Where its origin lies, mm from the sheet's lower left corner; whole µm.
    pub at: Vector,
    /// Its outline on the sheet, mm.
    pub outline: Path,
}

/// A sheet with what lies on it.
#[derive(Debug, Clone, PartialEq)]
pub struct Sheet {
    /// Length (along x) and width, mm.
    pub size_mm: (f64, f64),
    /// Parts, in the order they were laid.
    pub laid: Vec<Laid>,
}

/// All sheets of one stock.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Nest {
    /// Sheets, the fullest first as a rule.
    pub sheets: Vec<Sheet>,
    /// Pieces, by their place in the list, that fit on no sheet.
    pub left: Vec<usize>,
}

impl Sheet {
    /// Area of the sheet, mm².
    #[must_use]
    pub fn area_mm2(&self) -> f64 {
        self.size_mm.0 * self.size_mm.1
    }

    /// Area within the outlines, openings counted as metal, mm².
    #[must_use]
    pub fn covered_mm2(&self) -> f64 {
        self.laid.iter().map(|l| l.outline.area().abs()).sum()
    }

    /// How far along the length the parts reach, mm: what lies beyond is an offcut.
    #[must_use]
    pub fn reach_mm(&self) -> f64 {
        self.laid
            .iter()
            .map(|l| l.outline.extents().max.x)
            .fold(0.0, f64::max)
    }
}

/// Lays pieces on as few sheets as are found; of several sheet sizes the one with the least area in all.
///
/// Sizes are (length, width), mm. The same input gives the same nest. A piece
/// that fits on no sheet is named in [`Nest::left`].
#[must_use]
pub fn pack(pieces: &[Piece], sizes_mm: &[(f64, f64)], limits: &Limits) -> Nest {
    let mut best: Option<(order::Score, Nest)> = None;
    for &size in sizes_mm {
        let (score, nest) = order::best_on(pieces, size, limits);
        if best.as_ref().is_none_or(|(s, _)| score < *s) {
            best = Some((score, nest));
        }
    }
    best.map_or_else(
        || Nest {
            sheets: Vec::new(),
            left: (0..pieces.len()).collect(),
        },
        |(_, nest)| nest,
    )
}

/// The turns a part may be laid in, deg; turns that give the same box twice are kept, the shape differs.
#[must_use]
pub fn turns_deg(turns: Turns, outline: &Path) -> Vec<f64> {
    match turns {
        Turns::None => vec![0.0],
        Turns::Half => vec![0.0, 180.0],
        Turns::Quarter => vec![0.0, 90.0, 180.0, 270.0],
        Turns::Any => {
            let mut all: Vec<f64> = (0..360 / FREE_STEP_DEG)
                .map(|k| (k * FREE_STEP_DEG) as f64)
                .collect();
            // Its longest straight side along the sheet's edges: how a narrow part fits best.
            let side = outline
                .segments
                .iter()
                .filter(|s| matches!(s, crate::geom::Segment::Line { .. }))
                .max_by(|a, b| a.length().total_cmp(&b.length()));
            if let Some(s) = side {
                let along = -(s.to() - s.from()).angle().to_degrees();
                for k in 0..4 {
                    // To a thousandth of a degree, so that lists can say it.
                    let turn = ((along + 90.0 * f64::from(k)) * 1e3).round() / 1e3;
                    all.push(turn.rem_euclid(360.0));
                }
            }
            all
        }
    }
}

/// An outline turned about its origin, counter-clockwise.
///
/// Quarter turns are exact.
#[must_use]
pub fn turned(outline: &Path, turn_deg: f64) -> Path {
    let quarter = turn_deg / 90.0;
    if quarter.fract() == 0.0 {
        return match (quarter as i64).rem_euclid(4) {
            0 => outline.clone(),
            1 => outline.mapped(|p| Point::new(-p.y, p.x), false),
            2 => outline.mapped(|p| Point::new(-p.x, -p.y), false),
            _ => outline.mapped(|p| Point::new(p.y, -p.x), false),
        };
    }
    let rad = turn_deg.to_radians();
    outline.mapped(|p| Point::ORIGIN + p.to_vector().turned(rad), false)
}

/// The box of an outline in the allowed turn that leaves most room on a sheet: (along the length,
/// along the width), mm.
#[must_use]
pub fn best_box(outline: &Path, turns: Turns, size_mm: (f64, f64)) -> (f64, f64) {
    let spare = |b: &Extents| (size_mm.0 - b.width()).min(size_mm.1 - b.height());
    turns_deg(turns, outline)
        .into_iter()
        .map(|t| turned(outline, t).extents())
        .reduce(|a, b| if spare(&b) > spare(&a) { b } else { a })
        .map_or((0.0, 0.0), |e| (e.width(), e.height()))
}

/// The sheets a process can be given of a stock: each of its sizes, cut to what the table holds, long side
/// along x; the table's size where the stock names none. (length, width), mm.
#[must_use]
pub fn blanks_mm(stock: &Stock, process: &Process) -> Vec<(f64, f64)> {
    let long = |(a, b): (f64, f64)| (a.max(b), a.min(b));
    let (l, w) = long(process.sheet_mm);
    let mut all: Vec<(f64, f64)> = stock
        .sheet_mm
        .into_iter()
        .chain(stock.further_sheets_mm.iter().copied())
        .map(|s| {
            let (a, b) = long(s);
            long((a.min(l), b.min(w)))
        })
        .collect();
    if all.is_empty() {
        all.push((l, w));
    }
    all.dedup();
    all
}

/// What is wrong with a nest: parts too near each other or to an edge, or on top of each other. Empty when sound.
#[must_use]
pub fn faults(nest: &Nest, limits: &Limits) -> Vec<String> {
    let mut out = Vec::new();
    for (n, sheet) in nest.sheets.iter().enumerate() {
        for (i, a) in sheet.laid.iter().enumerate() {
            let e = a.outline.extents();
            let edge = e
                .min
                .x
                .min(e.min.y)
                .min(sheet.size_mm.0 - e.max.x)
                .min(sheet.size_mm.1 - e.max.y);
            if edge < limits.margin_mm - crate::tol::RULE_MM {
                out.push(format!("sheet {n}: part {i} is {edge} mm from the edge"));
            }
            for (j, b) in sheet.laid.iter().enumerate().skip(i + 1) {
                let gap = a.outline.gap(&b.outline).distance;
                if gap < limits.gap_mm || compact::covers(&a.outline, &b.outline) {
                    out.push(format!("sheet {n}: parts {i} and {j} are {gap} mm apart"));
                }
            }
        }
    }
    out
}
