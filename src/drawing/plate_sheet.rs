//! The drawing of one plate: chooses sheet and scale, and puts every part in its place.

use thiserror::Error;

use super::font::printable;
use super::hole_table::{Datum, DatumPoint, HoleTable, hole_rows};
use super::lettering::height;
use super::title::{self, SheetFacts, TitleData};
use super::views::{self, Views};
use super::{Block, Item, Page, Scale, SheetSize, notes, sections};
use crate::callout::mm;
use crate::feature::{Purpose, Shape};
use crate::geom::{Extents, Path, Point};
use crate::number::fixed;
use crate::plate::Plate;

/// What the caller may decide; all of it is chosen where left out.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Options {
    /// Sheet size.
    pub size: Option<SheetSize>,
    /// Scale.
    pub scale: Option<Scale>,
    /// Where x and y of the hole table start.
    pub datum: Datum,
}

/// Why a drawing cannot be made.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum DrawingError {
    /// A text holds a character the drawing's font does not have.
    #[error(
        "`{text}` holds `{character}`, which the drawing's font does not have; use Latin letters"
    )]
    NoGlyph {
        /// The character.
        character: char,
        /// The text.
        text: String,
    },
    /// A text is too long for its field of the title block.
    #[error("`{text}` is too long for the field `{field}` of the title block")]
    TooLong {
        /// The field's caption.
        field: &'static str,
        /// The text.
        text: String,
    },
    /// A coordinate is not finite, or the outline has no size.
    #[error("plate `{plate}` has no size that can be drawn")]
    NoSize {
        /// Plate name.
        plate: String,
    },
    /// No sheet and scale leaves room for everything.
    #[error("plate `{plate}` does not fit on a sheet: {what}")]
    NoRoom {
        /// Plate name.
        plate: String,
        /// What did not fit on the last try.
        what: String,
    },
}

/// Free space between the parts of a sheet, mm.
const GAP_MM: f64 = 5.0;

/// Least width of the notes, mm: narrower columns tear sentences apart.
const NOTES_MM: f64 = 52.0;

/// Draws a plate: one sheet, and further ones where the hole table is too long for it.
///
/// The scale is the largest standard one (ISO 5455) at which views, table and
/// notes fit, the sheet the smaller of A4 and A3 that holds them at that scale.
///
/// # Errors
///
/// [`DrawingError`] where a text cannot be lettered, or nothing fits.
pub fn plate_drawing(
    plate: &Plate,
    data: &TitleData,
    options: &Options,
) -> Result<Vec<Page>, DrawingError> {
    let plate = printable_plate(plate)?;
    let data = printable_title(data)?;
    check_size(&plate)?;
    let e = plate.outline.extents();
    let largest = e.width().max(e.height());
    let scales: Vec<Scale> = match options.scale {
        Some(s) => vec![s],
        None => Scale::STANDARD
            .into_iter()
            .filter(|s| largest <= s.most_mm())
            .collect(),
    };
    let sizes = match options.size {
        Some(s) => vec![s],
        None => vec![SheetSize::A4, SheetSize::A3],
    };
    let mut reason = String::new();
    for scale in scales {
        for &size in &sizes {
            // A sheet is not made larger only to enlarge the plate.
            if options.size.is_none() && size == SheetSize::A3 && scale.factor() > 1.0 {
                continue;
            }
            let job = Layout {
                plate: &plate,
                data: &data,
                datum: options.datum.on(&plate),
                rows_from: &options.datum,
                scale,
                size,
            };
            match job.pages()? {
                Ok(pages) => return Ok(pages),
                Err(NoRoom(what)) => reason = what,
            }
        }
    }
    Err(DrawingError::NoRoom {
        plate: plate.id,
        what: reason,
    })
}

/// What did not fit on a sheet that was tried.
struct NoRoom(String);

impl NoRoom {
    fn of(what: impl Into<String>) -> Self {
        Self(what.into())
    }
}

/// One try: a plate on a sheet size at a scale.
struct Layout<'a> {
    plate: &'a Plate,
    data: &'a TitleData,
    datum: DatumPoint,
    rows_from: &'a Datum,
    scale: Scale,
    size: SheetSize,
}

/// A sheet divided: room for the views, the parts round them, and the table's remainder.
struct Division {
    views: Extents,
    items: Vec<Item>,
    rest: Vec<Block>,
    /// Whether the sections have their place already.
    sectioned: bool,
}

impl Layout<'_> {
    fn pages(&self) -> Result<Result<Vec<Page>, NoRoom>, DrawingError> {
        // Too big for the sheet at this scale, whatever else is on it.
        let need = views::Need::of(self.plate, self.scale, &self.datum);
        let space = self.size.space();
        if !need.fits(space.width(), space.height()) {
            return Ok(Err(NoRoom::of("the views")));
        }
        let title_height = title::block(self.data, &self.facts(1, 1))?.height;
        let divided = match self.size {
            SheetSize::A3 => self.divide_a3(title_height, &need),
            SheetSize::A4 => self.divide_a4(title_height, &need),
        };
        let mut division = match divided {
            Ok(d) => d,
            Err(no) => return Ok(Err(no)),
        };
        if !division.sectioned {
            self.sections_under_the_views(&need, &mut division);
        }
        let drawn = Views {
            plate: self.plate,
            datum: &self.datum,
            scale: self.scale,
        }
        .draw(&need, division.views);
        match drawn {
            Ok(items) => division.items.extend(items),
            Err(what) => return Ok(Err(NoRoom(what))),
        }
        self.finish(division).map(Ok)
    }

    /// Puts the sections at the foot of the views' room where that leaves enough of it.
    ///
    /// They are a help, not needed: the table says all that they show.
    fn sections_under_the_views(&self, need: &views::Need, division: &mut Division) {
        let room = &mut division.views;
        let Some(block) = sections::block(self.plate, room.width() - 2.0 * GAP_MM) else {
            return;
        };
        let taken = block.height + GAP_MM;
        if need.fits(room.width(), room.height() - taken) {
            let corner = Point::new(room.min.x + GAP_MM, room.min.y);
            block.put(corner, &mut division.items);
            room.min.y += taken;
        }
    }

    /// Adds frames, title blocks and the sheets the table runs on to.
    fn finish(&self, division: Division) -> Result<Vec<Page>, DrawingError> {
        let space = self.size.space();
        let across = division.rest.first().map_or(1, |b| {
            ((space.width() - GAP_MM) / (b.width + GAP_MM))
                .floor()
                .max(1.0) as usize
        });
        let mut sheets = vec![division.items];
        let mut rest = division.rest.into_iter().peekable();
        while rest.peek().is_some() {
            let mut items = Vec::new();
            let mut left = space.min.x + GAP_MM;
            for block in rest.by_ref().take(across) {
                let (w, h) = (block.width, block.height);
                block.put(Point::new(left, space.max.y - GAP_MM - h), &mut items);
                left += w + GAP_MM;
            }
            sheets.push(items);
        }
        let count = sheets.len();
        sheets
            .into_iter()
            .enumerate()
            .map(|(k, items)| {
                let block = title::block(self.data, &self.facts(k + 1, count))?;
                let mut all = self.size.frame();
                block.put(self.title_corner(), &mut all);
                all.extend(items);
                Ok(Page {
                    size: self.size,
                    items: all,
                })
            })
            .collect()
    }

    fn title_corner(&self) -> Point {
        let space = self.size.space();
        Point::new(space.max.x - title::WIDTH_MM, space.min.y)
    }

    fn table(&self, lettering_mm: f64, least_width: f64) -> Option<HoleTable> {
        let rows = hole_rows(self.plate, self.rows_from);
        (!rows.is_empty()).then(|| HoleTable::new(rows, &self.datum, lettering_mm, least_width))
    }

    /// A3: table upper right, notes and deviations lower left, views in what is left.
    fn divide_a3(&self, title_height: f64, need: &views::Need) -> Result<Division, NoRoom> {
        let space = self.size.space();
        let mut items = Vec::new();
        let revisions = title::revisions(self.data);
        let foot = space.min.y + title_height + revisions.height;
        revisions.put(
            Point::new(self.title_corner().x, space.min.y + title_height),
            &mut items,
        );
        let room = space.max.y - GAP_MM - foot - GAP_MM;
        let sheet_room = space.max.y - GAP_MM - (space.min.y + title_height) - GAP_MM;
        let most = space.width() - 2.0 * GAP_MM - need.least_width();
        let mut table = self.fitting_table(room, sheet_room, most).into_iter();
        let mut right = space.max.x - GAP_MM;
        let mut sectioned = false;
        if let Some(first) = table.next() {
            right -= first.width;
            let below = space.max.y - GAP_MM - first.height;
            if let Some(s) = sections::block(self.plate, first.width)
                && below - GAP_MM - s.height >= foot + GAP_MM
            {
                let y = below - GAP_MM - s.height;
                s.put(Point::new(right, y), &mut items);
                sectioned = true;
            }
            first.put(Point::new(right, below), &mut items);
        }
        // Notes and deviations side by side left of the title block.
        let strip = self.title_corner().x - space.min.x - 2.0 * GAP_MM;
        let with_deviations = !self.data.deviations.is_empty();
        let notes_width = if with_deviations {
            0.5 * (strip - GAP_MM)
        } else {
            strip.min(MOST_NOTES_MM)
        };
        let list = notes::list("Notes", &self.notes(), notes_width);
        let mut strip_top = list.height;
        let corner = Point::new(space.min.x + GAP_MM, space.min.y + GAP_MM);
        list.put(corner, &mut items);
        if let Some(d) = notes::deviations(self.data, strip - notes_width - GAP_MM) {
            strip_top = strip_top.max(d.height);
            d.put(
                Point::new(corner.x + notes_width + GAP_MM, corner.y),
                &mut items,
            );
        }
        let bottom = foot.max(corner.y + strip_top) + GAP_MM;
        let views = Extents {
            min: Point::new(space.min.x + 2.0, bottom),
            max: Point::new(right - 2.0, space.max.y - 2.0),
        };
        if !need.fits(views.width(), views.height()) {
            return Err(NoRoom::of("the views beside the hole table"));
        }
        Ok(Division {
            views,
            items,
            rest: table.collect(),
            sectioned,
        })
    }

    /// A4: from the bottom title block, revisions, then table and notes side by side, then the views.
    fn divide_a4(&self, title_height: f64, need: &views::Need) -> Result<Division, NoRoom> {
        let space = self.size.space();
        let mut items = Vec::new();
        let revisions = title::revisions(self.data);
        let foot = space.min.y + title_height + revisions.height;
        revisions.put(
            Point::new(space.min.x, space.min.y + title_height),
            &mut items,
        );
        let bottom = foot + GAP_MM;
        let table = self
            .table(height::NORMAL, LEAST_TABLE_MM)
            .map(|t| (t.width(), t.blocks(f64::INFINITY, f64::INFINITY)));
        let (table_width, block) = match table {
            Some((w, mut b)) if b.len() == 1 => (w + GAP_MM, b.pop()),
            _ => (0.0, None),
        };
        let notes_width = space.width() - 2.0 * GAP_MM - table_width;
        if notes_width < NOTES_MM {
            return Err(NoRoom::of("the notes beside the hole table"));
        }
        let mut parts = vec![notes::list("Notes", &self.notes(), notes_width)];
        parts.extend(notes::deviations(self.data, notes_width));
        let column: f64 =
            parts.iter().map(|p| p.height).sum::<f64>() + GAP_MM * (parts.len() as f64 - 1.0);
        let top = bottom + column.max(block.as_ref().map_or(0.0, |b| b.height));
        let mut y = top;
        for part in parts {
            y -= part.height;
            part.put(
                Point::new(space.min.x + GAP_MM + table_width, y),
                &mut items,
            );
            y -= GAP_MM;
        }
        if let Some(b) = block {
            let corner = Point::new(space.min.x + GAP_MM, top - b.height);
            b.put(corner, &mut items);
        }
        let views = Extents {
            min: Point::new(space.min.x + 2.0, top + GAP_MM),
            max: Point::new(space.max.x - 2.0, space.max.y - 2.0),
        };
        if !need.fits(views.width(), views.height()) {
            return Err(NoRoom::of("the views above the hole table"));
        }
        Ok(Division {
            views,
            items,
            rest: Vec::new(),
            sectioned: false,
        })
    }

    /// The table where it fits in one piece: wider where that saves lines, in small lettering where that
    /// saves a sheet; else cut.
    fn fitting_table(&self, room: f64, others: f64, most_width: f64) -> Vec<Block> {
        let tries = [
            (height::NORMAL, LEAST_TABLE_MM),
            (height::NORMAL, WIDE_TABLE_MM),
            (height::SMALL, LEAST_TABLE_MM),
        ];
        for (lettering, width) in tries {
            let Some(t) = self.table(lettering, width) else {
                return Vec::new();
            };
            let blocks = t.blocks(room, others);
            if blocks.len() == 1 && t.width() <= most_width {
                return blocks;
            }
        }
        self.table(height::NORMAL, LEAST_TABLE_MM)
            .map_or_else(Vec::new, |t| t.blocks(room, others))
    }

    fn notes(&self) -> Vec<String> {
        notes::notes(self.plate, self.data, &self.datum)
    }

    fn facts(&self, number: usize, count: usize) -> SheetFacts {
        SheetFacts {
            material: self.plate.material.clone(),
            thickness: format!("{} mm", mm(self.plate.thickness_mm)),
            mass: format!("{} kg", significant(self.plate.properties().mass_kg)),
            scale: self.scale,
            size: self.size,
            number,
            count,
        }
    }
}

/// Least width of the hole table, mm (common practice, no source: callouts on one or two lines).
const LEAST_TABLE_MM: f64 = 96.0;

/// Width of the hole table where its callouts are long, mm (common practice, no source).
const WIDE_TABLE_MM: f64 = 124.0;

/// Most width of the notes, mm: longer lines are hard to read.
const MOST_NOTES_MM: f64 = 160.0;

/// A mass to three significant figures.
fn significant(v: f64) -> String {
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

fn check_size(plate: &Plate) -> Result<(), DrawingError> {
    let finite = |path: &Path| {
        let e = path.extents();
        [e.min.x, e.min.y, e.max.x, e.max.y]
            .iter()
            .all(|v| v.is_finite())
    };
    let e = plate.outline.extents();
    let sound = finite(&plate.outline)
        && e.width() > 0.0
        && e.height() > 0.0
        && plate.thickness_mm.is_finite()
        && plate.thickness_mm > 0.0
        && plate
            .features
            .iter()
            .filter_map(crate::feature::Feature::footprint)
            .all(|p| finite(&p));
    if sound {
        Ok(())
    } else {
        Err(DrawingError::NoSize {
            plate: plate.id.clone(),
        })
    }
}

fn letters(text: &str) -> Result<String, DrawingError> {
    printable(text).map_err(|character| DrawingError::NoGlyph {
        character,
        text: text.to_string(),
    })
}

/// The plate with every text in characters of the font.
fn printable_plate(plate: &Plate) -> Result<Plate, DrawingError> {
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
fn printable_title(data: &TitleData) -> Result<TitleData, DrawingError> {
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
