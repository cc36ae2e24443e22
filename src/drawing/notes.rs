//! The notes beside the title block, and the list of accepted deviations.

use super::font::Weight;
use super::hole_table::DatumPoint;
use super::lettering::{PITCH, height, lines_down, text, wrap};
use super::title::{DEFAULT_TOLERANCE, TitleData};
use super::{Block, Item, Line};
use crate::callout::mm;
use crate::feature::{Depth, Face, Feature, Mouth, Shape};
use crate::geom::{Path, Point, Segment};
use crate::plate::Plate;

/// Edges where the job says nothing (common practice, no source).
const DEFAULT_EDGES: &str = "Free of burrs, edges broken 0.2 to 0.5\u{A0}mm.";

/// The notes of a plate's drawing, in order.
pub(super) fn notes(plate: &Plate, data: &TitleData, datum: &DatumPoint) -> Vec<String> {
    let tolerance = if data.general_tolerance.is_empty() {
        DEFAULT_TOLERANCE
    } else {
        &data.general_tolerance
    };
    let mut notes = vec![format!(
        "Dimensions in mm; {tolerance} where no tolerance is given."
    )];
    let (x, y) = (mm(datum.at.x), mm(datum.at.y));
    notes.push(if data.contour_file.is_empty() {
        format!("The datum lies at X\u{A0}{x}, Y\u{A0}{y} of the plate's own frame.")
    } else {
        format!(
            "Contour and openings to {}, 1:1. The datum lies at X\u{A0}{x}, Y\u{A0}{y} of that file.",
            data.contour_file
        )
    });
    if let Some(radius) = least_inside_radius(plate) {
        notes.push(format!("Inside corners R{} or more.", mm(radius)));
    }
    if plate.features.iter().any(worked_from_back) {
        notes.push(
            "Front face shown; what is drawn dashed is worked from the back face.".to_string(),
        );
    }
    for f in &plate.features {
        if let Shape::Mark(m) = &f.shape {
            let note = if m.strokes.iter().all(|s| s.len() < 2) {
                "Centre punch at the small crosses.".to_string()
            } else {
                format!("Engrave as shown on the front face: {}", m.text)
            };
            if !notes.contains(&note) {
                notes.push(note);
            }
        }
    }
    notes.push(if data.edges.is_empty() {
        DEFAULT_EDGES.to_string()
    } else {
        data.edges.clone()
    });
    notes.extend(data.notes.iter().cloned());
    notes
}

/// Least radius of a concave corner of the outline or of any corner of an opening or pocket, mm.
fn least_inside_radius(plate: &Plate) -> Option<f64> {
    let inside = |path: &Path, want_ccw: bool| {
        let path = path.oriented(true);
        path.segments
            .iter()
            .filter_map(|s| match *s {
                Segment::Arc { radius, ccw, .. } if ccw == want_ccw && !s.is_full_circle() => {
                    Some(radius)
                }
                _ => None,
            })
            .min_by(f64::total_cmp)
    };
    let openings = plate.features.iter().filter_map(|f| match &f.shape {
        Shape::Window(p) | Shape::Pocket { path: p, .. } => inside(p, true),
        _ => None,
    });
    inside(&plate.outline, false)
        .into_iter()
        .chain(openings)
        .min_by(f64::total_cmp)
}

/// Whether a feature needs the plate turned over.
fn worked_from_back(f: &Feature) -> bool {
    match &f.shape {
        Shape::Hole(h) => {
            matches!(
                h.depth,
                Depth::Blind {
                    from: Face::Back,
                    ..
                }
            ) || matches!(
                h.mouth,
                Some(
                    Mouth::Counterbore {
                        face: Face::Back,
                        ..
                    } | Mouth::Countersink {
                        face: Face::Back,
                        ..
                    }
                )
            )
        }
        Shape::Pocket { face, .. } | Shape::Groove { face, .. } => *face == Face::Back,
        Shape::Slot(_) | Shape::Window(_) | Shape::Mark(_) => false,
    }
}

/// A headed, numbered list `width` wide.
pub(super) fn list(heading: &str, entries: &[String], width: f64) -> Block {
    let h = height::NORMAL;
    let pitch = PITCH * h;
    let indent = 6.0;
    let mut rows: Vec<(String, Vec<String>)> = Vec::new();
    for (k, entry) in entries.iter().enumerate() {
        let lines = wrap(entry, width - indent, h, Weight::Regular);
        rows.push(((k + 1).to_string(), lines));
    }
    let count: usize = rows.iter().map(|(_, l)| l.len()).sum();
    let mut block = Block {
        items: Vec::new(),
        width,
        height: (count as f64 + 1.0) * pitch + 1.0,
    };
    let mut y = block.height - h;
    block.items.push(Item::Text(text(
        Point::new(0.0, y),
        heading,
        h,
        Weight::Bold,
    )));
    y -= pitch + 1.0;
    for (number, lines) in rows {
        block.items.push(Item::Text(text(
            Point::new(0.0, y),
            &number,
            h,
            Weight::Regular,
        )));
        block.items.extend(lines_down(
            Point::new(indent, y),
            &lines,
            h,
            Weight::Regular,
        ));
        y -= lines.len() as f64 * pitch;
    }
    block
}

/// The accepted deviations in a frame, `width` wide; nothing where there are none.
pub(super) fn deviations(data: &TitleData, width: f64) -> Option<Block> {
    if data.deviations.is_empty() {
        return None;
    }
    let entries: Vec<String> = data
        .deviations
        .iter()
        .map(|d| {
            [&d.rule, &d.finding, &d.reason]
                .into_iter()
                .filter(|s| !s.is_empty())
                .cloned()
                .collect::<Vec<_>>()
                .join(": ")
        })
        .collect();
    let inset = 2.0;
    let inner = list("Accepted deviations", &entries, width - 2.0 * inset);
    let height = inner.height + 2.0 * inset - 0.8;
    let mut block = Block {
        items: vec![Item::rectangle(
            Point::ORIGIN,
            Point::new(width, height),
            Line::Visible,
        )],
        width,
        height,
    };
    inner.put(Point::new(inset, inset - 0.4), &mut block.items);
    Some(block)
}
