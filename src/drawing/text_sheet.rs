//! Sheets of text: a document's headings, steps and tables on A4 pages with a strip of fields at the foot.

use super::font::Weight;
use super::lettering::{PITCH, height, text, wrap};
use super::plate_sheet::DrawingError;
use super::printing::{letters, printable_title};
use super::title::{self, TitleData};
use super::{Item, Line, Page, SheetSize};
use crate::geom::{Point, Vector};
use crate::report::document::{Document, Part};

/// Room between the frame and the text, mm.
const INSET_MM: f64 = 4.0;

/// Height of the letters, mm.
const LETTER_MM: f64 = height::NORMAL;

/// From base line to base line, mm.
const LINE_MM: f64 = PITCH * LETTER_MM;

/// Room between two parts, mm.
const PART_MM: f64 = 2.2;

/// Indent of points and steps, mm.
const INDENT_MM: f64 = 7.0;

/// Room left and right of a table's cell, mm.
const CELL_MM: f64 = 1.0;

/// Room above and below a table's row, mm.
const ROW_MM: f64 = 0.9;

/// A piece that stays whole: things about its own upper left corner, y downwards negative.
struct Piece {
    items: Vec<Item>,
    height: f64,
    /// Whether it may not be the last thing of a page.
    leads: bool,
    /// The table it is a row of, whose head is repeated on a new page.
    head: Option<usize>,
}

/// Draws a document on as many A4 sheets as it takes.
///
/// # Errors
///
/// [`DrawingError`] for letters the font lacks and for fields that are too long.
pub fn document_sheets(document: &Document, data: &TitleData) -> Result<Vec<Page>, DrawingError> {
    let data = printable_title(data)?;
    let strip = title::strip(&data, document.kind, 1, 1)?;
    let space = SheetSize::A4.space();
    let width = space.max.x - space.min.x - 2.0 * INSET_MM;
    let top = space.max.y - INSET_MM;
    let bottom = space.min.y + strip.height + INSET_MM;
    let mut heads: Vec<Piece> = Vec::new();
    let mut pieces: Vec<Piece> = Vec::new();
    for (k, part) in document.parts.iter().enumerate() {
        set(part, width, top - bottom, &mut pieces, &mut heads)?;
        // What tells of a table stays with it.
        let table = matches!(document.parts.get(k + 1), Some(Part::Table { .. }));
        if let (Part::Text(_) | Part::Points(_), true) = (part, table) {
            for piece in pieces.iter_mut().rev().take(2) {
                piece.leads = true;
            }
        }
    }
    let mut sheets: Vec<Vec<Item>> = Vec::new();
    let mut items: Vec<Item> = Vec::new();
    let mut y = top;
    let at = |y: f64| Vector::new(space.min.x + INSET_MM, y);
    for (k, piece) in pieces.iter().enumerate() {
        // A heading goes where at least the next piece goes too.
        let mut need = piece.height;
        let mut next = k;
        while pieces[next].leads && next + 1 < pieces.len() {
            next += 1;
            need += pieces[next].height;
        }
        if y - need < bottom && y < top {
            sheets.push(std::mem::take(&mut items));
            y = top;
            if let Some(head) = piece.head.and_then(|h| heads.get(h)) {
                items.extend(head.items.iter().cloned().map(|i| i.moved(at(y))));
                y -= head.height;
            }
        }
        items.extend(piece.items.iter().cloned().map(|i| i.moved(at(y))));
        y -= piece.height;
    }
    sheets.push(items);
    let count = sheets.len();
    sheets
        .into_iter()
        .enumerate()
        .map(|(k, content)| {
            let mut items = vec![Item::rectangle(space.min, space.max, Line::Frame)];
            items.extend(content);
            title::strip(&data, document.kind, k + 1, count)?.put(space.min, &mut items);
            Ok(Page {
                size: SheetSize::A4,
                items,
            })
        })
        .collect()
}

/// Sets one part as pieces.
fn set(
    part: &Part,
    width: f64,
    room: f64,
    pieces: &mut Vec<Piece>,
    heads: &mut Vec<Piece>,
) -> Result<(), DrawingError> {
    match part {
        Part::Heading(h) => {
            if !pieces.is_empty() {
                pieces.push(gap(PART_MM));
            }
            let h_mm = height::LARGE;
            pieces.push(Piece {
                items: vec![Item::Text(text(
                    Point::new(0.0, -h_mm),
                    &letters(h)?,
                    h_mm,
                    Weight::Bold,
                ))],
                height: PITCH * h_mm + 1.0,
                leads: true,
                head: None,
            });
        }
        Part::Text(t) => {
            pieces.extend(hung("", t, width, 0.0)?);
            pieces.push(gap(PART_MM));
        }
        Part::Points(points) => {
            for p in points {
                pieces.extend(hung("–", p, width, INDENT_MM)?);
            }
            pieces.push(gap(PART_MM));
        }
        Part::Steps(steps) => {
            for (k, s) in steps.iter().enumerate() {
                pieces.extend(hung(&(k + 1).to_string(), s, width, INDENT_MM)?);
            }
            pieces.push(gap(PART_MM));
        }
        Part::Table { head, shares, rows } => {
            let cells: Vec<String> = head.iter().map(|h| (*h).to_owned()).collect();
            let first = row(&cells, shares, width, f64::INFINITY, Weight::Bold)?;
            let index = heads.len();
            for mut piece in first {
                piece.leads = true;
                heads.push(Piece {
                    items: piece.items.clone(),
                    ..piece
                });
                pieces.push(piece);
            }
            let room = room - heads.get(index).map_or(0.0, |h| h.height);
            for cells in rows {
                for mut piece in row(cells, shares, width, room, Weight::Regular)? {
                    piece.head = Some(index);
                    pieces.push(piece);
                }
            }
            pieces.push(gap(PART_MM));
        }
    }
    Ok(())
}

fn gap(height: f64) -> Piece {
    Piece {
        items: Vec::new(),
        height,
        leads: false,
        head: None,
    }
}

/// A paragraph behind a lead, line by line; a short one stays whole.
fn hung(lead: &str, what: &str, width: f64, indent: f64) -> Result<Vec<Piece>, DrawingError> {
    let lines = wrap(&letters(what)?, width - indent, LETTER_MM, Weight::Regular);
    let mut out = Vec::new();
    for (k, line) in lines.iter().enumerate() {
        let mut items = vec![Item::Text(text(
            Point::new(indent, -LETTER_MM),
            line,
            LETTER_MM,
            Weight::Regular,
        ))];
        if k == 0 && !lead.is_empty() {
            items.push(Item::Text(text(
                Point::new(0.0, -LETTER_MM),
                lead,
                LETTER_MM,
                Weight::Regular,
            )));
        }
        out.push(Piece {
            items,
            height: LINE_MM,
            // The first line draws the second one after it, and none is left alone on a new sheet.
            leads: k + 1 < lines.len() && (k == 0 || k + 2 == lines.len()),
            head: None,
        });
    }
    Ok(out)
}

/// A table's row with a rule under it; one that is higher than `room` is parted.
fn row(
    cells: &[String],
    shares: &[f64],
    width: f64,
    room: f64,
    weight: Weight,
) -> Result<Vec<Piece>, DrawingError> {
    let mut columns: Vec<(f64, Vec<String>)> = Vec::new();
    let mut x = 0.0;
    for (cell, share) in cells.iter().zip(shares) {
        let own = share * width;
        let lines = wrap(&letters(cell)?, own - 2.0 * CELL_MM, LETTER_MM, weight);
        columns.push((x + CELL_MM, lines));
        x += own;
    }
    let most = columns
        .iter()
        .map(|(_, l)| l.len())
        .max()
        .unwrap_or(0)
        .max(1);
    let fit = if room.is_finite() {
        (((room - 2.0 * ROW_MM) / LINE_MM).floor() as usize).max(1)
    } else {
        most
    };
    let mut out = Vec::new();
    let mut from = 0;
    while from < most {
        let to = (from + fit).min(most);
        let height = (to - from) as f64 * LINE_MM + 2.0 * ROW_MM;
        let mut items = Vec::new();
        for (x, lines) in &columns {
            for (k, line) in lines.iter().skip(from).take(to - from).enumerate() {
                let y = -ROW_MM - LETTER_MM - k as f64 * LINE_MM;
                items.push(Item::Text(text(Point::new(*x, y), line, LETTER_MM, weight)));
            }
        }
        items.push(Item::line(
            Point::new(0.0, -height),
            Point::new(width, -height),
            if weight == Weight::Bold {
                Line::Narrow
            } else {
                Line::Rule
            },
        ));
        out.push(Piece {
            items,
            height,
            leads: false,
            head: None,
        });
        from = to;
    }
    Ok(out)
}
