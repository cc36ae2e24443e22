//! Drawing sheets as one PDF, black on white, with fixed ids and no date.
//!
//! The font is Helvetica of the standard fourteen (ISO 32000-1, 9.6.2.2), set
//! with the widths the drawing was laid out with; letters outside Windows code
//! page 1252 are added to the encoding by their glyph names.

use std::collections::{BTreeMap, BTreeSet};

use pdf_writer::types::{LineCapStyle, LineJoinStyle};
use pdf_writer::{Content, Finish, Name, Pdf, Rect, Ref, Str, TextStr};
use thiserror::Error;

use crate::drawing::font::{Weight, glyph};
use crate::drawing::{Item, Line, Page, Text};
use crate::geom::{Point, Segment};

/// Points in a mm (ISO 32000-1: 72 a inch).
const POINTS: f64 = 72.0 / 25.4;

/// Codes that code page 1252 leaves free, for letters it lacks.
const FREE_CODES: [u8; 37] = [
    1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15, 16, 17, 18, 19, 20, 21, 22, 23, 24, 25, 26,
    27, 28, 29, 30, 31, 127, 129, 141, 143, 144, 157,
];

/// Characters of codes 0x80 to 0x9F in Windows code page 1252; a space where there is none.
const HIGH: [char; 32] = [
    '€', ' ', '‚', 'ƒ', '„', '…', '†', '‡', 'ˆ', '‰', 'Š', '‹', 'Œ', ' ', 'Ž', ' ', ' ', '‘', '’',
    '“', '”', '•', '–', '—', '˜', '™', 'š', '›', 'œ', ' ', 'ž', 'Ÿ',
];

/// Why sheets cannot be a PDF.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
pub enum PdfError {
    /// More different letters outside code page 1252 than one font encoding can take.
    #[error("the drawing uses {0} letters beyond western European ones, at most 37 are possible")]
    TooManyLetters(usize),
}

/// Sheets as one PDF file.
///
/// # Errors
///
/// [`PdfError`] where the texts use too many different letters.
pub fn pdf(pages: &[Page], title: &str) -> Result<Vec<u8>, PdfError> {
    let codes = Codes::of(pages)?;
    let mut pdf = Pdf::new();
    let id = |n: usize| Ref::new(i32::try_from(n).unwrap_or(i32::MAX));
    let (catalog, tree, info, regular, bold, first) = (id(1), id(2), id(3), id(4), id(5), 6);
    pdf.catalog(catalog).pages(tree);
    pdf.document_info(info).title(TextStr(title));
    pdf.pages(tree)
        .kids((0..pages.len()).map(|k| id(first + 2 * k)))
        .count(i32::try_from(pages.len()).unwrap_or(i32::MAX));
    for (font, name, weight) in [
        (regular, "Helvetica", Weight::Regular),
        (bold, "Helvetica-Bold", Weight::Bold),
    ] {
        codes.font(&mut pdf, font, name, weight);
    }
    for (k, page) in pages.iter().enumerate() {
        let (w, h) = (page.size.width_mm(), page.size.height_mm());
        let content = id(first + 2 * k + 1);
        let mut p = pdf.page(id(first + 2 * k));
        p.parent(tree)
            .media_box(Rect::new(0.0, 0.0, f(w * POINTS), f(h * POINTS)))
            .contents(content);
        p.resources()
            .fonts()
            .pair(REGULAR, regular)
            .pair(BOLD, bold);
        p.finish();
        pdf.stream(content, &draw(page, &codes));
    }
    Ok(pdf.finish())
}

const REGULAR: Name<'static> = Name(b"R");
const BOLD: Name<'static> = Name(b"B");

fn f(v: f64) -> f32 {
    v as f32
}

/// The code of every character in use.
struct Codes(BTreeMap<char, u8>);

impl Codes {
    fn of(pages: &[Page]) -> Result<Self, PdfError> {
        let used: BTreeSet<char> = pages
            .iter()
            .flat_map(Page::texts)
            .flat_map(|t| t.text.chars())
            .collect();
        let mut codes = BTreeMap::new();
        let mut rare = Vec::new();
        for c in used {
            match western(c) {
                Some(code) => {
                    codes.insert(c, code);
                }
                None => rare.push(c),
            }
        }
        if rare.len() > FREE_CODES.len() {
            return Err(PdfError::TooManyLetters(rare.len()));
        }
        codes.extend(rare.into_iter().zip(FREE_CODES));
        Ok(Self(codes))
    }

    fn bytes(&self, text: &str) -> Vec<u8> {
        text.chars()
            .map(|c| self.0.get(&c).copied().unwrap_or(b'?'))
            .collect()
    }

    fn font(&self, pdf: &mut Pdf, id: Ref, name: &str, weight: Weight) {
        let by_code: BTreeMap<u8, char> = self.0.iter().map(|(c, code)| (*code, *c)).collect();
        let (low, high) = match (by_code.keys().next(), by_code.keys().next_back()) {
            (Some(a), Some(b)) => (*a, *b),
            _ => (32, 32),
        };
        let mut font = pdf.type1_font(id);
        font.base_font(Name(name.as_bytes()))
            .first_char(low)
            .last_char(high)
            .widths((low..=high).map(|code| {
                let width = by_code
                    .get(&code)
                    .and_then(|c| glyph(*c))
                    .map_or(0.0, |g| g.width(weight));
                f(1000.0 * width)
            }));
        let mut encoding = font.encoding_custom();
        encoding.base_encoding(Name(b"WinAnsiEncoding"));
        let mut differences = encoding.differences();
        for (code, c) in &by_code {
            if western(*c).is_none()
                && let Some(g) = glyph(*c)
            {
                differences.consecutive(*code, [Name(g.name.as_bytes())]);
            }
        }
    }
}

/// The code of a character in Windows code page 1252.
fn western(c: char) -> Option<u8> {
    match c {
        ' '..='~' | '\u{A0}'..='\u{FF}' => u8::try_from(u32::from(c)).ok(),
        _ => HIGH
            .iter()
            .position(|h| *h == c)
            .and_then(|k| u8::try_from(0x80 + k).ok()),
    }
}

/// A sheet's content, in mm.
fn draw(page: &Page, codes: &Codes) -> Vec<u8> {
    let mut c = Content::new();
    let k = f(POINTS);
    c.transform([k, 0.0, 0.0, k, 0.0, 0.0]);
    c.set_line_cap(LineCapStyle::ButtCap);
    c.set_line_join(LineJoinStyle::RoundJoin);
    let mut pen = None;
    for item in &page.items {
        match item {
            Item::Line { path, line } => {
                if pen != Some(*line) {
                    pen = Some(*line);
                    set_pen(&mut c, *line);
                }
                trace(&mut c, path);
            }
            Item::Fill(points) => {
                let mut points = points.iter();
                if let Some(p) = points.next() {
                    c.move_to(f(p.x), f(p.y));
                    for p in points {
                        c.line_to(f(p.x), f(p.y));
                    }
                    c.close_path();
                    c.fill_nonzero();
                }
            }
            Item::Text(t) => text(&mut c, t, codes),
        }
    }
    c.finish().into_vec()
}

fn set_pen(c: &mut Content, line: Line) {
    c.set_line_width(f(line.width_mm()));
    c.set_dash_pattern(line.pattern_mm().iter().map(|d| f(*d)), 0.0);
}

fn trace(c: &mut Content, path: &[Segment]) {
    let (Some(first), Some(last)) = (path.first(), path.last()) else {
        return;
    };
    let start = first.from();
    c.move_to(f(start.x), f(start.y));
    for s in path {
        match *s {
            Segment::Line { to, .. } => {
                c.line_to(f(to.x), f(to.y));
            }
            Segment::Arc {
                from,
                centre,
                radius,
                ..
            } => curve(c, centre, radius, (from - centre).angle(), s.sweep()),
        }
    }
    if first.is_full_circle() || (path.len() > 1 && start.distance(last.to()) < crate::tol::SNAP_MM)
    {
        c.close_path();
    }
    c.stroke();
}

/// An arc as cubic curves of an eighth of a turn at most: off by less than 4e-6 of the radius.
fn curve(c: &mut Content, centre: Point, radius: f64, start: f64, sweep: f64) {
    let count = (sweep.abs() / std::f64::consts::FRAC_PI_4).ceil().max(1.0);
    let step = sweep / count;
    let handle = 4.0 / 3.0 * (0.25 * step).tan() * radius;
    for k in 0..count as usize {
        let (a, b) = (start + k as f64 * step, start + (k + 1) as f64 * step);
        let (p, q) = (centre.polar(radius, a), centre.polar(radius, b));
        c.cubic_to(
            f(p.x - handle * a.sin()),
            f(p.y + handle * a.cos()),
            f(q.x + handle * b.sin()),
            f(q.y - handle * b.cos()),
            f(q.x),
            f(q.y),
        );
    }
}

fn text(c: &mut Content, t: &Text, codes: &Codes) {
    let (x, y) = (f(t.at.x), f(t.at.y));
    c.begin_text();
    c.set_font(
        match t.weight {
            Weight::Regular => REGULAR,
            Weight::Bold => BOLD,
        },
        f(t.size_mm()),
    );
    c.set_horizontal_scaling(f(100.0 * t.squeeze));
    c.set_text_matrix(if t.upright {
        [0.0, 1.0, -1.0, 0.0, x, y]
    } else {
        [1.0, 0.0, 0.0, 1.0, x, y]
    });
    c.show(Str(&codes.bytes(&t.text)));
    c.end_text();
}
