//! A plate's front view for the page: outline, openings and their letters.

use std::fmt::Write as _;

use crate::callout::{label_features, mm};
use crate::drive::picture::{Anchor, Sheet, Type, escape, place, width_mm};
use crate::feature::{Feature, Shape};
use crate::geom::{Path, Point};
use crate::platework::MadePlate;

use super::figures::{Figure, On};

/// Paper that a front view may take, mm: read on a screen and printed on A4 alike.
const PAPER_MM: (f64, f64) = (180.0, 150.0);

/// Letters beside the openings.
const LETTERS: Type = Type {
    size_mm: 3.4,
    bold: true,
};

/// The front view of a plate.
pub(super) fn figure(k: usize, made: &MadePlate) -> Figure {
    let plate = &made.plate;
    let e = plate.outline.extents();
    let scale = (e.width() / PAPER_MM.0)
        .max(e.height() / PAPER_MM.1)
        .max(f64::MIN_POSITIVE);
    let mut sheet = Sheet::new(scale, Point::new(e.min.x, e.max.y));
    sheet.closed("metal", &plate.outline, 1.0);
    for f in &plate.features {
        opening(&mut sheet, f);
    }
    letters(&mut sheet, made);
    let (mut left, mut top) = (0.0_f64, 0.0_f64);
    let (mut right, mut bottom) = (e.width() / scale, e.height() / scale);
    for t in &sheet.texts {
        left = left.min(t.x_mm);
        top = top.min(t.y_mm);
        right = right.max(t.x_mm + t.width_mm);
        bottom = bottom.max(t.y_mm + t.height_mm);
    }
    // Sheets of one width, so that letters are equally large on all of them.
    let spare = 0.5 * (PAPER_MM.0 - (right - left)).max(0.0);
    (left, right) = (left - spare, right + spare);
    let id = format!("plate-{}", k + 1);
    let open_svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"plate-picture\" role=\"img\" \
         aria-labelledby=\"{id}-title\">\n{}",
        sheet.body
    );
    let title = if plate.title.is_empty() {
        plate.id.clone()
    } else {
        format!("{} ({})", plate.title, plate.id)
    };
    Figure {
        id,
        name: plate.id.clone(),
        title,
        caption: caption(made),
        on: On::Plate(k),
        scale,
        origin: sheet.origin,
        edges: Some([left, top, right, bottom]),
        open_svg,
        texts: sheet.texts,
    }
}

/// Size, stock and mass, then what each letter is.
fn caption(made: &MadePlate) -> String {
    let plate = &made.plate;
    let e = plate.outline.extents();
    let p = plate.properties();
    let mut out = format!(
        "{} × {} × {} mm, {} from {}, {:.3} kg, {} off, cut on {}. Front face, plate frame.",
        mm_short(e.width()),
        mm_short(e.height()),
        mm(plate.thickness_mm),
        escape(&plate.material),
        escape(&made.stock),
        p.mass_kg,
        made.quantity,
        escape(&made.process),
    );
    let mut kinds: Vec<(String, String, usize)> = Vec::new();
    for l in label_features(plate) {
        match kinds.iter_mut().find(|(letter, ..)| *letter == l.letter) {
            Some((_, _, count)) => *count += 1,
            None => kinds.push((l.letter.clone(), l.callout.line(), 1)),
        }
    }
    if !kinds.is_empty() {
        out.push_str("<dl class=\"letters\">");
        for (letter, line, count) in kinds {
            let _ = write!(
                out,
                "<div><dt>{letter}</dt><dd>{count} × {}</dd></div>",
                escape(&line)
            );
        }
        out.push_str("</dl>");
    }
    out
}

/// A tenth of a millimetre is enough for a glance.
fn mm_short(v: f64) -> String {
    format!("{v:.1}")
}

fn opening(sheet: &mut Sheet, f: &Feature) {
    match &f.shape {
        Shape::Hole(h) => {
            let widest = h.widest_mm();
            if widest > h.diameter_mm {
                sheet.circle("step", h.centre, 0.5 * widest, 1.0);
            }
            sheet.circle("cut", h.centre, 0.5 * h.diameter_mm, 1.0);
            cross(sheet, h.centre, 0.5 * widest);
        }
        Shape::Slot(s) => {
            sheet.closed("cut", &s.path(), 1.0);
            sheet.stroke("axis", &[s.track.centre_line()], false, 0.5);
        }
        Shape::Window(p) => sheet.closed("cut", p, 1.0),
        Shape::Pocket { path, .. } => sheet.closed("step", path, 1.0),
        Shape::Groove {
            centre,
            inner_mm,
            outer_mm,
            ..
        } => {
            sheet.closed("step", &Path::circle(*centre, 0.5 * outer_mm), 1.0);
            sheet.closed("metal", &Path::circle(*centre, 0.5 * inner_mm), 1.0);
        }
        Shape::Mark(m) => {
            for stroke in &m.strokes {
                for pair in stroke.windows(2) {
                    sheet.line("engraved", pair[0], pair[1], 1.0);
                }
            }
        }
    }
}

/// Centre lines of a round opening, a little past its rim.
fn cross(sheet: &mut Sheet, centre: Point, radius_mm: f64) {
    let (x, y) = sheet.at(centre);
    let r = radius_mm / sheet.scale + 1.2;
    sheet.paper_line("axis", (x - r, y), (x + r, y));
    sheet.paper_line("axis", (x, y - r), (x, y + r));
}

fn letters(sheet: &mut Sheet, made: &MadePlate) {
    for l in label_features(&made.plate) {
        let f = l.feature;
        let (centre, radius) = match &f.shape {
            Shape::Hole(h) => (h.centre, 0.5 * h.widest_mm()),
            Shape::Slot(s) => (s.track.centre_line().midpoint(), 0.5 * s.width_mm),
            _ => (f.centroid().unwrap_or(Point::ORIGIN), 0.0),
        };
        let size = (width_mm(&l.label, LETTERS.size_mm, true), LETTERS.size_mm);
        let first = if radius > 0.0 {
            radius / sheet.scale + 0.5 * size.0 + 2.0
        } else {
            0.0
        };
        let at = place(sheet.at(centre), size, first, &sheet.texts, &sheet.ink);
        let base = (at.0, at.1 + 0.35 * LETTERS.size_mm);
        sheet.text(base, Anchor::Middle, LETTERS, &l.label);
    }
}
