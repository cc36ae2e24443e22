//! The hole table: one group a callout, one row a place.

use super::font::Weight;
use super::lettering::{PITCH, ending, length, text, wrap};
use super::{Block, Item, Line};
use crate::callout::{Callout, Labelled, label_features};
use crate::feature::{Feature, Purpose, Shape, SlotTrack};
use crate::geom::Point;
use crate::number::fixed;
use crate::plate::Plate;

/// Where the table's x and y start.
#[derive(Debug, Clone, PartialEq, Default)]
pub enum Datum {
    /// Of the dowel holes, or where there are none of all holes, the one nearest the lower left corner
    /// of the plate's box; without holes that corner.
    #[default]
    Auto,
    /// The centre of the hole with this feature name.
    Hole(String),
    /// The lower left corner of the plate's bounding box.
    Corner,
    /// The plate's own origin.
    Origin,
}

/// The datum found: where it is and what it is called.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct DatumPoint {
    pub(super) at: Point,
    pub(super) words: String,
    /// Whether it is the middle of a hole.
    pub(super) on_hole: bool,
}

impl Datum {
    /// The datum on `plate`; a hole that is not there counts as [`Datum::Auto`].
    pub(super) fn on(&self, plate: &Plate) -> DatumPoint {
        let labelled = label_features(plate);
        let holes = || {
            labelled.iter().filter_map(|l| match &l.feature.shape {
                Shape::Hole(h) => Some((l, h)),
                _ => None,
            })
        };
        let corner = || DatumPoint {
            at: plate.outline.extents().min,
            words: "the lower left corner of the outline's box".to_string(),
            on_hole: false,
        };
        let named = match self {
            Self::Corner => return corner(),
            Self::Origin => {
                return DatumPoint {
                    at: Point::ORIGIN,
                    words: "the plate's origin".to_string(),
                    on_hole: false,
                };
            }
            Self::Hole(id) => holes().find(|(l, _)| l.feature.id == *id),
            Self::Auto => None,
        };
        let lowest_left = |dowel: bool| {
            holes()
                .filter(|(_, h)| !dowel || matches!(h.purpose, Purpose::Dowel { .. }))
                .min_by(|(_, a), (_, b)| {
                    let far = |p: Point| p.x + p.y;
                    far(a.centre).total_cmp(&far(b.centre))
                })
        };
        named
            .or_else(|| lowest_left(true))
            .or_else(|| lowest_left(false))
            .map_or_else(corner, |(l, h)| DatumPoint {
                at: h.centre,
                words: format!("the centre of hole {}", l.label),
                on_hole: true,
            })
    }
}

/// A row of the hole table.
#[derive(Debug, Clone, PartialEq)]
pub struct HoleRow {
    /// Letter of its group: features with the same callout.
    pub letter: String,
    /// Letter and number, as the drawing's label has it: `B2`.
    pub label: String,
    /// Which point of the feature this row places: empty for a centre, `start`, `end` or `pivot` of a slot.
    pub point: &'static str,
    /// x from the datum, mm.
    pub x_mm: f64,
    /// y from the datum, mm.
    pub y_mm: f64,
    /// The feature's name: the reference it takes.
    pub id: String,
    /// Size, such as `Ø11`.
    pub size: String,
    /// Depth, such as `through`.
    pub depth: String,
    /// Thread, or bolt it is for.
    pub thread: String,
    /// Kind, such as `clearance hole`.
    pub kind: &'static str,
    /// Mouth, floor and face.
    pub more: String,
    /// Variants that use it; empty for all.
    pub variants: String,
}

/// The hole table of a plate, groups together, in the order of their letters.
#[must_use]
pub fn hole_rows(plate: &Plate, datum: &Datum) -> Vec<HoleRow> {
    let from = datum.on(plate).at;
    let mut rows: Vec<(usize, HoleRow)> = Vec::new();
    let mut letters: Vec<String> = Vec::new();
    for l in label_features(plate) {
        let group = letters
            .iter()
            .position(|known| *known == l.letter)
            .unwrap_or_else(|| {
                letters.push(l.letter.clone());
                letters.len() - 1
            });
        for (point, at) in places(l.feature) {
            rows.push((group, row(&l, point, at.x - from.x, at.y - from.y)));
        }
    }
    rows.sort_by_key(|(group, _)| *group);
    rows.into_iter().map(|(_, row)| row).collect()
}

fn row(l: &Labelled<'_>, point: &'static str, x_mm: f64, y_mm: f64) -> HoleRow {
    HoleRow {
        letter: l.letter.clone(),
        label: l.label.clone(),
        point,
        x_mm,
        y_mm,
        id: l.feature.id.clone(),
        size: l.callout.size.clone(),
        depth: l.callout.depth.clone(),
        thread: l.callout.thread.clone(),
        kind: l.callout.kind,
        more: l.callout.more.clone(),
        variants: l.feature.variants.join(", "),
    }
}

/// The points that place a feature.
fn places(feature: &Feature) -> Vec<(&'static str, Point)> {
    match &feature.shape {
        Shape::Hole(h) => vec![("", h.centre)],
        Shape::Groove { centre, .. } => vec![("", *centre)],
        Shape::Slot(s) => match s.track {
            SlotTrack::Straight { from, to } => vec![("start", from), ("end", to)],
            SlotTrack::Arc {
                pivot,
                radius_mm,
                start_rad,
                end_rad,
            } => vec![
                ("start", pivot.polar(radius_mm, start_rad)),
                ("end", pivot.polar(radius_mm, end_rad)),
                ("pivot", pivot),
            ],
        },
        Shape::Window(p) | Shape::Pocket { path: p, .. } => vec![("middle", p.extents().centre())],
        Shape::Mark(_) => Vec::new(),
    }
}

/// Decimals that show every position to half a micron, at least one and at most three.
fn decimals(rows: &[HoleRow]) -> u32 {
    let shown = |d: u32| {
        let unit = 10_f64.powi(-i32::try_from(d).unwrap_or(3));
        rows.iter()
            .flat_map(|r| [r.x_mm, r.y_mm])
            .all(|v| ((v / unit).round() * unit - v).abs() < HALF_MICRON_MM)
    };
    (1..3).find(|d| shown(*d)).unwrap_or(3)
}

/// Below this a difference of position is not shown, mm: beyond any machine's reach.
const HALF_MICRON_MM: f64 = 5e-4;

/// Space on both sides of a cell's text, mm.
const INSET_MM: f64 = 1.2;

/// One line of the table as it is drawn.
enum TableLine {
    /// Letter and the lines of its callout.
    Group(String, Vec<String>),
    /// Cells.
    Row([String; 5]),
}

/// The table ready to be drawn, in pieces that fit the room there is.
#[derive(Debug)]
pub(super) struct HoleTable {
    rows: Vec<HoleRow>,
    widths: [f64; 5],
    lettering_mm: f64,
    heading: String,
    decimals: u32,
}

const HEADINGS: [&str; 5] = ["Hole", "X", "Y", "For", "Variants"];

impl HoleTable {
    /// The table with `lettering_mm` high letters, at least `least_width` wide.
    pub(super) fn new(
        rows: Vec<HoleRow>,
        datum: &DatumPoint,
        lettering_mm: f64,
        least_width: f64,
    ) -> Self {
        let decimals = decimals(&rows);
        let mut widths: [f64; 5] =
            HEADINGS.map(|h| length(h, lettering_mm, Weight::Bold) + 2.0 * INSET_MM);
        for r in &rows {
            for (w, cell) in widths.iter_mut().zip(cells(r, decimals)) {
                *w = w.max(length(&cell, lettering_mm, Weight::Regular) + 2.0 * INSET_MM);
            }
        }
        if rows.iter().all(|r| r.variants.is_empty()) {
            widths[4] = 0.0;
        }
        let slack = least_width - widths.iter().sum::<f64>();
        if slack > 0.0 {
            widths[3] += slack;
        }
        Self {
            rows,
            widths,
            lettering_mm,
            heading: format!("X and Y in mm from the datum: {}", datum.words),
            decimals,
        }
    }

    pub(super) fn width(&self) -> f64 {
        self.widths.iter().sum()
    }

    fn pitch(&self) -> f64 {
        PITCH * self.lettering_mm
    }

    fn lines(&self) -> Vec<TableLine> {
        let mut lines = Vec::new();
        let mut letter = None;
        for r in &self.rows {
            if letter != Some(&r.letter) {
                letter = Some(&r.letter);
                let room = self.width() - self.widths[0] - INSET_MM;
                let says = wrap(&callout(r), room, self.lettering_mm, Weight::Regular);
                lines.push(TableLine::Group(r.letter.clone(), says));
            }
            lines.push(TableLine::Row(cells(r, self.decimals)));
        }
        lines
    }

    /// The whole table cut into blocks: the first at most `first` high, the others at most `others`.
    ///
    /// A group's callout never stands alone at a block's foot, and is
    /// repeated where the group runs on.
    pub(super) fn blocks(&self, first: f64, others: f64) -> Vec<Block> {
        let mut blocks = Vec::new();
        let mut open: Vec<TableLine> = Vec::new();
        let mut used = self.head_height();
        let mut group: Option<(String, Vec<String>)> = None;
        for line in self.lines() {
            let room = if blocks.is_empty() { first } else { others };
            let need = self.height_of(&line);
            // A callout keeps its first row by it.
            let with = match &line {
                TableLine::Group(..) => need + self.pitch(),
                TableLine::Row(_) => need,
            };
            let runs_on = matches!(line, TableLine::Row(_));
            if let TableLine::Group(letter, says) = &line {
                group = Some((letter.clone(), says.clone()));
            }
            if used + with > room && !open.is_empty() {
                blocks.push(self.draw(&open));
                open.clear();
                used = self.head_height();
                if let Some((letter, says)) = group.as_ref().filter(|_| runs_on) {
                    let again = TableLine::Group(letter.clone(), says.clone());
                    used += self.height_of(&again);
                    open.push(again);
                }
            }
            used += need;
            open.push(line);
        }
        if !open.is_empty() {
            blocks.push(self.draw(&open));
        }
        blocks
    }

    fn head_lines(&self) -> Vec<String> {
        let room = self.width() - 2.0 * INSET_MM;
        wrap(&self.heading, room, self.lettering_mm, Weight::Regular)
    }

    fn head_height(&self) -> f64 {
        (self.head_lines().len() as f64 + 1.0) * self.pitch() + 1.6
    }

    fn height_of(&self, line: &TableLine) -> f64 {
        match line {
            TableLine::Group(_, says) => says.len() as f64 * self.pitch() + 0.6,
            TableLine::Row(_) => self.pitch(),
        }
    }

    /// Draws lines below the heading, from the top down, about the block's lower left corner.
    fn draw(&self, lines: &[TableLine]) -> Block {
        let h = self.lettering_mm;
        let total = self.head_height() + lines.iter().map(|l| self.height_of(l)).sum::<f64>();
        let width = self.width();
        let mut items = Vec::new();
        let rule = |y: f64, line| Item::line(Point::new(0.0, y), Point::new(width, y), line);
        // A base line lies this far under the top of its row.
        let drop = h + 0.5 * (self.pitch() - h) - 0.1;
        let mut y = total - 0.3;
        for line in self.head_lines() {
            items.push(Item::Text(text(
                Point::new(INSET_MM, y - drop),
                &line,
                h,
                Weight::Regular,
            )));
            y -= self.pitch();
        }
        y -= 0.3;
        items.push(rule(y, Line::Rule));
        self.row(
            &mut items,
            y - 0.3 - drop,
            &HEADINGS.map(str::to_string),
            Weight::Bold,
        );
        y = total - self.head_height();
        items.push(rule(y, Line::Narrow));
        for (k, line) in lines.iter().enumerate() {
            match line {
                TableLine::Group(letter, says) => {
                    if k > 0 {
                        items.push(rule(y, Line::Rule));
                    }
                    let base = y - 0.3 - drop;
                    let at = Point::new(INSET_MM, base);
                    items.push(Item::Text(text(at, letter, h, Weight::Bold)));
                    for (n, line) in says.iter().enumerate() {
                        let at = Point::new(self.widths[0], base - n as f64 * self.pitch());
                        items.push(Item::Text(text(at, line, h, Weight::Regular)));
                    }
                }
                TableLine::Row(cells) => self.row(&mut items, y - drop, cells, Weight::Regular),
            }
            y -= self.height_of(line);
        }
        items.push(Item::rectangle(
            Point::ORIGIN,
            Point::new(width, total),
            Line::Visible,
        ));
        Block {
            items,
            width,
            height: total,
        }
    }

    fn row(&self, items: &mut Vec<Item>, base: f64, cells: &[String; 5], weight: Weight) {
        let mut left = 0.0;
        for (k, (cell, width)) in cells.iter().zip(self.widths).enumerate() {
            if width > 0.0 && !cell.is_empty() {
                // Numbers end in one line; so do their headings.
                let t = if k == 1 || k == 2 {
                    ending(
                        Point::new(left + width - INSET_MM, base),
                        cell,
                        self.lettering_mm,
                        weight,
                    )
                } else {
                    text(
                        Point::new(left + INSET_MM, base),
                        cell,
                        self.lettering_mm,
                        weight,
                    )
                };
                items.push(Item::Text(t));
            }
            left += width;
        }
    }
}

fn cells(r: &HoleRow, decimals: u32) -> [String; 5] {
    let number = |v| fixed(v, decimals).unwrap_or_else(|_| "?".to_string());
    let label = if r.point.is_empty() {
        r.label.clone()
    } else {
        format!("{} {}", r.label, r.point)
    };
    [
        label,
        number(r.x_mm),
        number(r.y_mm),
        r.id.clone(),
        r.variants.clone(),
    ]
}

/// A group's callout in one line, with a capital: `Clearance hole Ø11 through, for M10x1.5`.
fn callout(r: &HoleRow) -> String {
    let line = Callout {
        kind: r.kind,
        size: r.size.clone(),
        depth: r.depth.clone(),
        thread: r.thread.clone(),
        more: r.more.clone(),
    }
    .line();
    let mut letters = line.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(letters).collect()
    })
}
