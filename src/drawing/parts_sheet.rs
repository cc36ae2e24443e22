//! The parts list as sheets: a table of items with what the kit and every build take.

use super::font::Weight;
use super::lettering::{PITCH, ending, height, length, lines_down, text, wrap};
use super::plate_sheet::DrawingError;
use super::printing::{letters, printable_title};
use super::title::{self, SheetFacts, TitleData};
use super::{Item, Line, Page, SheetSize};
use crate::geom::Point;

/// A list to be drawn.
#[derive(Debug, Clone, PartialEq)]
pub struct PartsTable {
    /// Headings; the first [`PartsTable::counts`] columns hold numbers.
    pub headings: Vec<String>,
    /// How many columns, from the left, hold numbers.
    pub counts: usize,
    /// Rows of as many cells.
    pub rows: Vec<Vec<String>>,
    /// Lines said under the table.
    pub notes: Vec<String>,
}

/// Free space between table and frame, mm.
const GAP_MM: f64 = 5.0;

/// Space on both sides of a cell's text, mm.
const INSET_MM: f64 = 1.4;

/// Added to a column, so that a text as wide as it is not wrapped by rounding, mm.
const ROUNDING_MM: f64 = 0.2;

/// A wide column is never squeezed below this, mm.
const LEAST_COLUMN_MM: f64 = 24.0;

/// Draws the list on as many lying A3 sheets as it takes.
///
/// # Errors
///
/// [`DrawingError`] where a text cannot be lettered.
pub fn parts_sheets(
    data: &TitleData,
    mass: &str,
    table: &PartsTable,
) -> Result<Vec<Page>, DrawingError> {
    let data = printable_title(data)?;
    let table = printable(table)?;
    let paper = SheetSize::A3;
    let facts = |number: usize, count: usize| SheetFacts {
        material: "as listed".to_owned(),
        thickness: String::new(),
        mass: mass.to_owned(),
        scale: String::new(),
        size: paper,
        number,
        count,
        document: "parts list",
    };
    let space = paper.space();
    let widths = widths(&table, space.width() - 2.0 * GAP_MM);
    let (_, foot) = title::framed(&data, &facts(1, 1))?;
    let pitch = PITCH * height::NORMAL;
    let rows: Vec<Vec<Vec<String>>> = table
        .rows
        .iter()
        .map(|r| cells(r, &widths, Weight::Regular))
        .collect();
    let tall = |r: &[Vec<String>]| {
        let lines = r.iter().map(Vec::len).max().unwrap_or(1).max(1);
        lines as f64 * pitch + 1.0
    };
    let head = cells(&table.headings, &widths, Weight::Bold);
    let notes: Vec<String> = table
        .notes
        .iter()
        .flat_map(|n| {
            wrap(
                n,
                space.width() - 2.0 * GAP_MM,
                height::NORMAL,
                Weight::Regular,
            )
        })
        .collect();
    let notes_tall = notes.len() as f64 * pitch + 4.0;
    let top = space.max.y - GAP_MM;
    let low = foot + GAP_MM;
    // Rows shared out over sheets, the notes under the last.
    let mut sheets: Vec<Vec<usize>> = vec![Vec::new()];
    let mut y = top - tall(&head);
    for (k, r) in rows.iter().enumerate() {
        if y - tall(r) < low {
            sheets.push(Vec::new());
            y = top - tall(&head);
        }
        y -= tall(r);
        if let Some(s) = sheets.last_mut() {
            s.push(k);
        }
    }
    if y - notes_tall < low {
        sheets.push(Vec::new());
    }
    let count = sheets.len();
    let mut pages = Vec::with_capacity(count);
    for (n, mine) in sheets.iter().enumerate() {
        let (mut items, _) = title::framed(&data, &facts(n + 1, count))?;
        let mut y = top;
        let left = space.min.x + GAP_MM;
        if !mine.is_empty() {
            let shown = std::iter::once((&head, Weight::Bold))
                .chain(mine.iter().map(|&k| (&rows[k], Weight::Regular)));
            let right = left + widths.iter().sum::<f64>();
            for (k, (r, weight)) in shown.enumerate() {
                row(&mut items, r, &widths, table.counts, (left, y), weight);
                y -= tall(r);
                let line = if k == 0 { Line::Narrow } else { Line::Rule };
                items.push(Item::line(Point::new(left, y), Point::new(right, y), line));
            }
            let mut x = left;
            for w in &widths[..widths.len() - 1] {
                x += w;
                items.push(Item::line(Point::new(x, y), Point::new(x, top), Line::Rule));
            }
            items.push(Item::rectangle(
                Point::new(left, y),
                Point::new(right, top),
                Line::Visible,
            ));
        }
        if n + 1 == count {
            let first = Point::new(left, y - height::NORMAL - 3.0);
            items.extend(lines_down(first, &notes, height::NORMAL, Weight::Regular));
        }
        pages.push(Page { size: paper, items });
    }
    Ok(pages)
}

fn printable(table: &PartsTable) -> Result<PartsTable, DrawingError> {
    let all = |texts: &[String]| {
        texts
            .iter()
            .map(|t| letters(t))
            .collect::<Result<Vec<_>, _>>()
    };
    Ok(PartsTable {
        headings: all(&table.headings)?,
        counts: table.counts,
        rows: table
            .rows
            .iter()
            .map(|r| all(r))
            .collect::<Result<Vec<_>, _>>()?,
        notes: all(&table.notes)?,
    })
}

/// Column widths: as wide as the widest cell, the widest columns narrowed in turn until all fit.
fn widths(table: &PartsTable, room: f64) -> Vec<f64> {
    let mut widths: Vec<f64> = table
        .headings
        .iter()
        .map(|h| length(h, height::NORMAL, Weight::Bold) + 2.0 * INSET_MM + ROUNDING_MM)
        .collect();
    for r in &table.rows {
        for (w, cell) in widths.iter_mut().zip(r) {
            *w =
                w.max(length(cell, height::NORMAL, Weight::Regular) + 2.0 * INSET_MM + ROUNDING_MM);
        }
    }
    loop {
        let over = widths.iter().sum::<f64>() - room;
        if over <= 0.0 {
            break;
        }
        let widest = widths
            .iter()
            .enumerate()
            .max_by(|a, b| a.1.total_cmp(b.1))
            .map(|(k, w)| (k, *w));
        match widest {
            Some((k, w)) if w > LEAST_COLUMN_MM => {
                widths[k] = (w - over.min(2.0)).max(LEAST_COLUMN_MM);
            }
            _ => break,
        }
    }
    widths
}

fn cells(row: &[String], widths: &[f64], weight: Weight) -> Vec<Vec<String>> {
    row.iter()
        .zip(widths)
        .map(|(c, w)| wrap(c, w - 2.0 * INSET_MM, height::NORMAL, weight))
        .collect()
}

/// One row downwards from `at`; number columns end in one line.
fn row(
    items: &mut Vec<Item>,
    cells: &[Vec<String>],
    widths: &[f64],
    counts: usize,
    at: (f64, f64),
    weight: Weight,
) {
    let h = height::NORMAL;
    let base = at.1 - 1.0 - h;
    let mut left = at.0;
    for (k, (lines, w)) in cells.iter().zip(widths).enumerate() {
        for (n, line) in lines.iter().enumerate() {
            let y = base - n as f64 * PITCH * h;
            items.push(Item::Text(if k < counts {
                ending(Point::new(left + w - INSET_MM, y), line, h, weight)
            } else {
                text(Point::new(left + INSET_MM, y), line, h, weight)
            }));
        }
        left += w;
    }
}
