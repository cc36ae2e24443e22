//! The picture of one stock sheet with the parts on it.

use super::dimension::{Outside, Run, linear};
use super::font::Weight;
use super::front_view::View;
use super::lettering::{PITCH, height, lines_down, text, wrap};
use super::placing::{Label, NEAR_MM, Target, place};
use super::plate_sheet::DrawingError;
use super::printing::{letters, printable_title};
use super::taken::Taken;
use super::title::{self, SheetFacts, TitleData, WIDTH_MM};
use super::{Item, Line, Page, SheetSize, Text};
use crate::geom::{Extents, Path, Point, Vector};
use crate::number::short;

/// A part where it lies on the sheet, sheet mm.
#[derive(Debug, Clone, PartialEq)]
pub struct NestedPart {
    /// What it is called.
    pub label: String,
    /// Its outline.
    pub outline: Path,
    /// Its openings.
    pub openings: Vec<Path>,
}

/// Room for dimensions beside the sheet, mm.
const BESIDE_MM: f64 = 14.0;

/// Free space round the picture, mm.
const GAP_MM: f64 = 5.0;

/// Draws a stock sheet of `size_mm` with its margin and parts; `facts` are lines said beside the title block.
///
/// # Errors
///
/// [`DrawingError`] where a text cannot be lettered or the facts find no room.
pub fn nest_sheet(
    data: &TitleData,
    material: &str,
    thickness: &str,
    size_mm: (f64, f64),
    margin_mm: f64,
    parts: &[NestedPart],
    facts: &[String],
) -> Result<Page, DrawingError> {
    let data = printable_title(data)?;
    let paper = SheetSize::A3;
    let (mut items, top) = title::framed(
        &data,
        &SheetFacts {
            material: letters(material)?,
            thickness: thickness.to_owned(),
            mass: String::new(),
            scale: "to fit".to_owned(),
            size: paper,
            number: 1,
            count: 1,
            document: "nest",
        },
    )?;
    let space = paper.space();
    let strip = space.width() - WIDTH_MM - 2.0 * GAP_MM;
    let mut lines = Vec::new();
    for fact in facts {
        lines.extend(wrap(
            &letters(fact)?,
            strip,
            height::NORMAL,
            Weight::Regular,
        ));
    }
    let first = Point::new(space.min.x + GAP_MM, top - height::NORMAL - 1.0);
    let foot = first.y - lines.len() as f64 * PITCH * height::NORMAL;
    if foot < space.min.y - PITCH * height::NORMAL {
        return Err(DrawingError::NoRoom {
            plate: data.number,
            what: "the lines beside the title block".to_owned(),
        });
    }
    items.extend(lines_down(first, &lines, height::NORMAL, Weight::Regular));
    let room = Extents {
        min: Point::new(space.min.x + GAP_MM + BESIDE_MM, top + GAP_MM + BESIDE_MM),
        max: Point::new(space.max.x - GAP_MM, space.max.y - GAP_MM),
    };
    let factor = (room.width() / size_mm.0).min(room.height() / size_mm.1);
    let corner = Point::new(
        room.min.x + 0.5 * (room.width() - factor * size_mm.0),
        room.min.y + 0.5 * (room.height() - factor * size_mm.1),
    );
    let view = View {
        factor,
        shift: corner.to_vector(),
    };
    let on = |p: Point| view.point(p);
    let (low, high) = (on(Point::ORIGIN), on(Point::new(size_mm.0, size_mm.1)));
    items.push(Item::rectangle(low, high, Line::Narrow));
    if margin_mm > 0.0 {
        let (a, b) = (
            on(Point::new(margin_mm, margin_mm)),
            on(Point::new(size_mm.0 - margin_mm, size_mm.1 - margin_mm)),
        );
        items.push(Item::rectangle(a, b, Line::Hidden));
    }
    let mm = |v: f64| short(v, 1).unwrap_or_else(|_| "?".to_owned());
    items.extend(linear(
        Run::Across,
        low,
        Point::new(high.x, low.y),
        low.y - 8.0,
        &mm(size_mm.0),
        Outside::After,
    ));
    items.extend(linear(
        Run::Up,
        low,
        Point::new(low.x, high.y),
        low.x - 8.0,
        &mm(size_mm.1),
        Outside::After,
    ));
    draw_parts(
        &mut items,
        parts,
        &view,
        Extents {
            min: low,
            max: high,
        },
    )?;
    Ok(Page { size: paper, items })
}

/// Draws the parts, each with its name.
fn draw_parts(
    items: &mut Vec<Item>,
    parts: &[NestedPart],
    view: &View,
    room: Extents,
) -> Result<(), DrawingError> {
    let outlines: Vec<Path> = parts.iter().map(|p| view.path(&p.outline)).collect();
    for (part, outline) in parts.iter().zip(&outlines) {
        items.push(Item::Line {
            path: outline.segments.clone(),
            line: Line::Visible,
        });
        items.extend(part.openings.iter().map(|o| Item::Line {
            path: view.path(o).segments,
            line: Line::Narrow,
        }));
    }
    let drawn = Taken::by(items);
    let mut outside = Vec::new();
    for (part, outline) in parts.iter().zip(outlines) {
        let label = letters(&part.label)?;
        match within(&label, &outline, &drawn) {
            Some(t) => items.push(Item::Text(t)),
            None => outside.push(Label {
                text: label,
                height_mm: height::NORMAL,
                weight: Weight::Bold,
                target: Target::Area(outline),
                near_mm: NEAR_MM,
            }),
        }
    }
    let drawn = Taken::by(items);
    // A part too small for its name goes without: the list of places has it.
    loop {
        match place(&outside, &drawn, room) {
            Ok(placed) => {
                items.extend(placed);
                break;
            }
            Err(label) => outside.retain(|l| l.text != label),
        }
    }
    Ok(())
}

/// Places tried along each side of a part's box.
const TRIES: usize = 24;

/// A part's name inside its outline and off its openings, as near its middle as it goes.
fn within(label: &str, outline: &Path, drawn: &Taken) -> Option<Text> {
    let e = outline.extents();
    let sample = text(Point::ORIGIN, label, height::NORMAL, Weight::Bold);
    let ink = sample.bounds();
    let air = Vector::new(NEAR_MM, NEAR_MM);
    let half = Vector::new(0.5 * ink.width(), 0.5 * ink.height()) + air;
    let mut best: Option<(f64, Point)> = None;
    for i in 1..TRIES {
        for j in 1..TRIES {
            let at = Point::new(
                e.min.x + e.width() * i as f64 / TRIES as f64,
                e.min.y + e.height() * j as f64 / TRIES as f64,
            );
            let b = Extents {
                min: at - half,
                max: at + half,
            };
            let far = at.distance(e.centre());
            if best.is_none_or(|(d, _)| far < d) && outline.contains(at) && drawn.leaves_free(&b) {
                best = Some((far, at));
            }
        }
    }
    best.map(|(_, at)| Text {
        at: at + (Point::ORIGIN - ink.centre()),
        ..sample
    })
}
