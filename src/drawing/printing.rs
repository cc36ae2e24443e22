//! What a sheet says, in characters its font has, and numbers as they are printed.

use super::TitleData;
use super::font::printable;
use super::plate_sheet::DrawingError;
use crate::feature::{Purpose, Shape};
use crate::number::fixed;
use crate::plate::Plate;

/// A mass to three significant figures.
pub(super) fn significant(v: f64) -> String {
    let decimals = if v >= 100.0 {
        0
    } else if v >= 10.0 {
        1
    } else if v >= 1.0 {
        2
    } else {
        3
    };
    fixed(v, decimals).unwrap_or_else(|_| "?".to_string())
}

pub(super) fn letters(text: &str) -> Result<String, DrawingError> {
    printable(text).map_err(|character| DrawingError::NoGlyph {
        character,
        text: text.to_string(),
    })
}

/// The plate with every text in characters of the font.
pub(super) fn printable_plate(plate: &Plate) -> Result<Plate, DrawingError> {
    let mut p = plate.clone();
    for text in [&mut p.id, &mut p.title, &mut p.material] {
        *text = letters(text)?;
    }
    for f in &mut p.features {
        f.id = letters(&f.id)?;
        f.variants = f
            .variants
            .iter()
            .map(|v| letters(v))
            .collect::<Result<_, _>>()?;
        match &mut f.shape {
            Shape::Hole(h) => match &mut h.purpose {
                Purpose::Clearance { thread } | Purpose::Tapped { thread, .. } => {
                    *thread = letters(thread)?;
                }
                Purpose::Dowel { tolerance } => *tolerance = letters(tolerance)?,
                Purpose::Plain => {}
            },
            Shape::Slot(s) => {
                if let Some(t) = &mut s.thread {
                    *t = letters(t)?;
                }
            }
            Shape::Mark(m) => m.text = letters(&m.text)?,
            Shape::Window(_) | Shape::Pocket { .. } | Shape::Groove { .. } => {}
        }
    }
    Ok(p)
}

/// The title data with every text in characters of the font.
pub(super) fn printable_title(data: &TitleData) -> Result<TitleData, DrawingError> {
    let mut d = data.clone();
    for text in [
        &mut d.owner,
        &mut d.number,
        &mut d.title,
        &mut d.supplement,
        &mut d.revision,
        &mut d.issued,
        &mut d.creator,
        &mut d.approver,
        &mut d.status,
        &mut d.general_tolerance,
        &mut d.finish,
        &mut d.edges,
        &mut d.contour_file,
    ]
    .into_iter()
    .chain(&mut d.notes)
    {
        *text = letters(text)?;
    }
    for r in &mut d.revisions {
        for text in [&mut r.index, &mut r.change, &mut r.date, &mut r.by] {
            *text = letters(text)?;
        }
    }
    for v in &mut d.deviations {
        for text in [&mut v.rule, &mut v.finding, &mut v.reason] {
            *text = letters(text)?;
        }
    }
    Ok(d)
}
