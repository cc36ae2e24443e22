//! The assembly picture: the set pulled apart, with balloons to the parts list.

use super::balloons::{RADIUS_MM, balloons};
use super::font::Weight;
use super::front_view::View;
use super::lettering::{PITCH, height, lines_down, wrap};
use super::plate_sheet::DrawingError;
use super::printing::{letters, printable_title};
use super::title::{self, SheetFacts, TitleData, WIDTH_MM};
use super::{Item, Line, Page, SheetSize};
use crate::geom::{Extents, Point, Vector};
use crate::view::Chain;

/// What is drawn, in mm of the projection.
#[derive(Debug, Clone, PartialEq)]
pub struct AssemblyFigure {
    /// Lines of parts.
    pub parts: Vec<Chain>,
    /// Lines of what is not part of the kit.
    pub others: Vec<Chain>,
    /// Centre lines along which the parts go together.
    pub ways: Vec<Chain>,
    /// Item number and a point on a part seen, each.
    pub items: Vec<(usize, Point)>,
    /// Items of which nothing is seen.
    pub hidden: Vec<usize>,
    /// The box of it all.
    pub extents: Extents,
}

/// Free space between frame, balloons and picture, mm.
const GAP_MM: f64 = 5.0;

/// From the balloons' middles to the picture, mm: leaders leave at a fair angle.
const RING_MM: f64 = 9.0;

/// Shortest line drawn on its own, mm: shorter ones of a chain are drawn as one.
const LEAST_MM: f64 = 0.08;

/// Draws the picture on a lying A3 sheet, as large as it fits.
///
/// # Errors
///
/// [`DrawingError`] where a text cannot be lettered, or balloons or words find no room.
pub fn assembly_sheet(
    data: &TitleData,
    mass: &str,
    figure: &AssemblyFigure,
    notes: &[String],
) -> Result<Page, DrawingError> {
    let data = printable_title(data)?;
    let paper = SheetSize::A3;
    let (mut items, top) = title::framed(
        &data,
        &SheetFacts {
            material: "as the parts list".to_owned(),
            thickness: String::new(),
            mass: mass.to_owned(),
            scale: "to fit".to_owned(),
            size: paper,
            number: 1,
            count: 1,
            document: "assembly picture",
        },
    )?;
    let space = paper.space();
    let none = |what: String| DrawingError::NoRoom {
        plate: data.number.clone(),
        what,
    };
    let ring = Extents {
        min: Point::new(space.min.x + GAP_MM + RADIUS_MM, top + GAP_MM + RADIUS_MM),
        max: Point::new(
            space.max.x - GAP_MM - RADIUS_MM,
            space.max.y - GAP_MM - RADIUS_MM,
        ),
    };
    let room = Extents {
        min: ring.min + Vector::new(RING_MM, RING_MM),
        max: ring.max - Vector::new(RING_MM, RING_MM),
    };
    let e = figure.extents;
    let factor = (room.width() / e.width().max(1.0)).min(room.height() / e.height().max(1.0));
    let view = View {
        factor,
        shift: room.centre() - Point::new(factor * e.centre().x, factor * e.centre().y),
    };
    let on = |p: Point| view.point(p);
    for (chains, line) in [
        (&figure.others, Line::Rule),
        (&figure.ways, Line::Centre),
        (&figure.parts, Line::Narrow),
    ] {
        for c in chains {
            let path = c.segments(&on, LEAST_MM);
            if !path.is_empty() {
                items.push(Item::Line { path, line });
            }
        }
    }
    let targets: Vec<(usize, Point)> = figure.items.iter().map(|(n, p)| (*n, on(*p))).collect();
    let (drawn, left) = balloons(&targets, &ring);
    items.extend(drawn);
    let mut notes = notes.to_vec();
    if !figure.hidden.is_empty() {
        notes.push(format!("Not seen here: {}.", listed(&figure.hidden)));
    }
    if !left.is_empty() {
        notes.push(format!("No room for the balloons of {}.", listed(&left)));
    }
    let strip = space.width() - WIDTH_MM - 2.0 * GAP_MM;
    let mut lines = Vec::new();
    for note in &notes {
        lines.extend(wrap(
            &letters(note)?,
            strip,
            height::NORMAL,
            Weight::Regular,
        ));
    }
    let first = Point::new(space.min.x + GAP_MM, top - height::NORMAL - 1.0);
    if first.y - (lines.len() as f64 - 1.0) * PITCH * height::NORMAL < space.min.y + 1.0 {
        return Err(none("the lines beside the title block".to_owned()));
    }
    items.extend(lines_down(first, &lines, height::NORMAL, Weight::Regular));
    Ok(Page { size: paper, items })
}

/// Most item numbers said in a note.
const MOST_NUMBERS: usize = 30;

/// Item numbers in words.
fn listed(numbers: &[usize]) -> String {
    let said: Vec<String> = numbers
        .iter()
        .take(MOST_NUMBERS)
        .map(ToString::to_string)
        .collect();
    let more = numbers.len().saturating_sub(MOST_NUMBERS);
    let tail = if more > 0 {
        format!(" and {more} more")
    } else {
        String::new()
    };
    format!(
        "{} {}{tail}",
        if numbers.len() == 1 { "item" } else { "items" },
        said.join(", ")
    )
}
