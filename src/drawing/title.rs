//! Title block, revision block, and what the user says for them.
//!
//! The fields are those of ISO 7200: legal owner, identification number,
//! revision index, date of issue, sheet number, title, approval person,
//! creator and document type are mandatory there; the layout is our own.

use super::font::Weight;
use super::lettering::{PITCH, fit, height, lines_down, text, wrap};
use super::plate_sheet::DrawingError;
use super::{Block, Item, Line, SheetSize};
use crate::geom::Point;

/// What the title block, the notes and the revision block say.
///
/// Every text must be in letters Helvetica has (Latin); an empty text leaves its field empty.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct TitleData {
    /// Legal owner of the drawing.
    pub owner: String,
    /// Identification number of the drawing or part.
    pub number: String,
    /// Title.
    pub title: String,
    /// Second line of the title: the job, the machine.
    pub supplement: String,
    /// Revision index.
    pub revision: String,
    /// Date of issue, as the job gives it (ISO 8601 recommended).
    pub issued: String,
    /// Who made it.
    pub creator: String,
    /// Who approved it.
    pub approver: String,
    /// Document status, such as `released`.
    pub status: String,
    /// General tolerance; ISO 2768-m where empty.
    pub general_tolerance: String,
    /// Surface finish, such as `anodised 15 µm`; `as machined` where empty.
    pub finish: String,
    /// Edges; a deburring note of common practice where empty.
    pub edges: String,
    /// Pieces for one set, if it is to be said.
    pub quantity: Option<u32>,
    /// Name of the plate's DXF file, if there is one.
    pub contour_file: String,
    /// Further notes.
    pub notes: Vec<String>,
    /// Revisions, oldest first.
    pub revisions: Vec<Revision>,
    /// Failing rules accepted by name.
    pub deviations: Vec<Deviation>,
}

/// A line of the revision block.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Revision {
    /// Revision index.
    pub index: String,
    /// What changed.
    pub change: String,
    /// Date, as the job gives it.
    pub date: String,
    /// Who changed it.
    pub by: String,
}

/// A failing rule the job accepts.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Deviation {
    /// The rule's name.
    pub rule: String,
    /// What was measured against which limit: `edge distance at block.A1 9.2 mm, 11 mm wanted`.
    pub finding: String,
    /// Why it is accepted.
    pub reason: String,
}

/// What the sheet itself brings to the title block.
#[derive(Debug, Clone)]
pub(super) struct SheetFacts {
    pub(super) material: String,
    pub(super) thickness: String,
    pub(super) mass: String,
    /// As it is written: `1:2`, `to fit`; empty where there is none.
    pub(super) scale: String,
    pub(super) size: SheetSize,
    pub(super) number: usize,
    pub(super) count: usize,
    /// What the sheet is: `plate drawing`.
    pub(super) document: &'static str,
}

/// A sheet's frame with its title block in the lower right corner, and the height at which the block ends.
///
/// # Errors
///
/// As [`block`].
pub(super) fn framed(
    data: &TitleData,
    facts: &SheetFacts,
) -> Result<(Vec<Item>, f64), DrawingError> {
    let block = block(data, facts)?;
    let space = facts.size.space();
    let top = space.min.y + block.height;
    let mut items = facts.size.frame();
    block.put(Point::new(space.max.x - WIDTH_MM, space.min.y), &mut items);
    Ok((items, top))
}

/// Width of the title block, mm (ISO 7200: 180, the A4 drawing space).
pub(super) const WIDTH_MM: f64 = 180.0;

/// One field: place and size, caption, content, heights to try.
struct Field {
    x: f64,
    y: f64,
    width: f64,
    height: f64,
    caption: &'static str,
    content: String,
    heights: &'static [f64],
    weight: Weight,
}

const PLAIN: &[f64] = &[height::NORMAL, height::SMALL];
const BIG: &[f64] = &[height::TITLE, height::LARGE, height::NORMAL, height::SMALL];

/// Height of a row of plain fields, mm.
const ROW_MM: f64 = 9.0;

/// Height of the row with title, number and revision, mm.
const TITLE_ROW_MM: f64 = 17.0;

/// Height of the title's second line at the foot of its field, mm.
const SUPPLEMENT_MM: f64 = 6.5;

/// The title block.
///
/// # Errors
///
/// [`DrawingError::TooLong`] where a content fits its field in no way.
pub(super) fn block(data: &TitleData, facts: &SheetFacts) -> Result<Block, DrawingError> {
    let rows = [
        (ROW_MM, people(data)),
        (TITLE_ROW_MM, titles(data)),
        (ROW_MM, part(data, facts)),
        (ROW_MM, sheet(data, facts)),
    ];
    let total: f64 = rows.iter().map(|(h, _)| h).sum();
    let mut items = vec![Item::rectangle(
        Point::ORIGIN,
        Point::new(WIDTH_MM, total),
        Line::Visible,
    )];
    let mut y = 0.0;
    for (k, (height, fields)) in rows.into_iter().enumerate() {
        if k > 0 {
            items.push(rule(0.0, y, WIDTH_MM, y));
        }
        for mut f in fields {
            f.y += y;
            if f.x > 0.0 {
                items.push(rule(f.x, y, f.x, y + height));
            }
            if f.caption == PROJECTION {
                // Clear of the caption, in the field's right half.
                let middle = Point::new(f.x + 0.5 * f.width + 4.0, y + 3.6);
                items.extend(first_angle(middle));
            }
            items.extend(fill(&f)?);
        }
        y += height;
    }
    Ok(Block {
        items,
        width: WIDTH_MM,
        height: total,
    })
}

/// The strip of fields at the foot of a sheet of text, as ISO 7200 asks of a document.
///
/// # Errors
///
/// [`DrawingError::TooLong`] where a content fits its field in no way.
pub(super) fn strip(
    data: &TitleData,
    kind: &str,
    number: usize,
    count: usize,
) -> Result<Block, DrawingError> {
    let upper = row([
        (76.0, "Title", &data.title),
        (60.0, "Number", &data.number),
        (16.0, "Revision", &data.revision),
        (28.0, "Document type", kind),
    ]);
    let lower = row([
        (46.0, "Legal owner", &data.owner),
        (34.0, "Created by", &data.creator),
        (34.0, "Approved by", &data.approver),
        (24.0, "Date of issue", &data.issued),
        (24.0, "Document status", &data.status),
        (18.0, "Sheet", &format!("{number} of {count}")),
    ]);
    let mut items = vec![Item::rectangle(
        Point::ORIGIN,
        Point::new(WIDTH_MM, 2.0 * ROW_MM),
        Line::Visible,
    )];
    items.push(rule(0.0, ROW_MM, WIDTH_MM, ROW_MM));
    for (y, fields) in [(0.0, lower), (ROW_MM, upper)] {
        for mut f in fields {
            f.y = y;
            if f.x > 0.0 {
                items.push(rule(f.x, y, f.x, y + ROW_MM));
            }
            items.extend(fill(&f)?);
        }
    }
    Ok(Block {
        items,
        width: WIDTH_MM,
        height: 2.0 * ROW_MM,
    })
}

/// Used where the job says nothing else (ISO 2768-1:1989, class m).
pub(super) const DEFAULT_TOLERANCE: &str = "ISO 2768-m";

/// Caption of the field that holds the projection's sign.
const PROJECTION: &str = "Projection";

/// A row of plain fields from their widths, captions and contents.
fn row<const N: usize>(cells: [(f64, &'static str, &str); N]) -> Vec<Field> {
    let mut x = 0.0;
    cells
        .into_iter()
        .map(|(width, caption, content)| {
            let field = Field {
                x,
                y: 0.0,
                width,
                height: ROW_MM,
                caption,
                content: content.to_string(),
                heights: PLAIN,
                weight: Weight::Regular,
            };
            x += width;
            field
        })
        .collect()
}

fn people(data: &TitleData) -> Vec<Field> {
    row([
        (42.0, "Legal owner", &data.owner),
        (38.0, "Created by", &data.creator),
        (38.0, "Approved by", &data.approver),
        (28.0, "Date of issue", &data.issued),
        (34.0, "Document status", &data.status),
    ])
}

fn titles(data: &TitleData) -> Vec<Field> {
    let big = |x, width, caption, content: &str| Field {
        x,
        y: 0.0,
        width,
        height: TITLE_ROW_MM,
        caption,
        content: content.to_string(),
        heights: BIG,
        weight: Weight::Bold,
    };
    vec![
        Field {
            y: SUPPLEMENT_MM,
            height: TITLE_ROW_MM - SUPPLEMENT_MM,
            ..big(0.0, 110.0, "Title", &data.title)
        },
        Field {
            height: SUPPLEMENT_MM,
            heights: PLAIN,
            weight: Weight::Regular,
            ..big(0.0, 110.0, "", &data.supplement)
        },
        big(110.0, 52.0, "Number", &data.number),
        big(162.0, 18.0, "Revision", &data.revision),
    ]
}

fn part(data: &TitleData, facts: &SheetFacts) -> Vec<Field> {
    let finish = or(&data.finish, "as machined");
    let quantity = data.quantity.map(|q| q.to_string()).unwrap_or_default();
    row([
        (64.0, "Material", &facts.material),
        (20.0, "Thickness", &facts.thickness),
        (22.0, "Mass", &facts.mass),
        (54.0, "Finish", finish),
        (20.0, "Pieces a set", &quantity),
    ])
}

fn sheet(data: &TitleData, facts: &SheetFacts) -> Vec<Field> {
    row([
        (
            52.0,
            "General tolerances",
            or(&data.general_tolerance, DEFAULT_TOLERANCE),
        ),
        (20.0, "Scale", &facts.scale),
        (20.0, "Sheet size", facts.size.name()),
        (34.0, PROJECTION, ""),
        (34.0, "Document type", facts.document),
        (
            20.0,
            "Sheet",
            &format!("{} of {}", facts.number, facts.count),
        ),
    ])
}

fn or<'a>(given: &'a str, default: &'a str) -> &'a str {
    if given.is_empty() { default } else { given }
}

fn fill(f: &Field) -> Result<Vec<Item>, DrawingError> {
    let inset = 1.0;
    let mut items = Vec::new();
    let mut room = f.height - 2.0 * inset;
    if !f.caption.is_empty() {
        let at = Point::new(f.x + inset, f.y + f.height - inset - CAPTION_MM);
        items.push(Item::Text(text(at, f.caption, CAPTION_MM, Weight::Regular)));
        // Descenders of the caption reach 0.3 of its height down.
        room -= 1.3 * CAPTION_MM + 0.2;
    }
    if f.content.is_empty() {
        return Ok(items);
    }
    let content =
        fit(&f.content, f.width - 2.0 * inset, room, f.heights, f.weight).ok_or_else(|| {
            DrawingError::TooLong {
                field: if f.caption.is_empty() {
                    "Title, second line"
                } else {
                    f.caption
                },
                text: f.content.clone(),
            }
        })?;
    // Descenders of large lettering stay off the field's lower line.
    let drop = content
        .iter()
        .map(|t| t.at.y - t.bounds().min.y)
        .fold(0.0, f64::max);
    let base = f.y + (inset + 0.2).max(drop + 0.15);
    for mut t in content {
        t.at = Point::new(f.x + inset, base + t.at.y);
        items.push(Item::Text(t));
    }
    Ok(items)
}

/// Height of a field's caption, mm (ISO 3098-1: the least).
const CAPTION_MM: f64 = height::SMALL;

fn rule(x0: f64, y0: f64, x1: f64, y1: f64) -> Item {
    Item::line(Point::new(x0, y0), Point::new(x1, y1), Line::Rule)
}

/// The sign for first-angle projection (ISO 5456-2): a cone frustum seen from the side, its small end
/// away from the two circles that show it from that end.
fn first_angle(middle: Point) -> Vec<Item> {
    // Lettering height h sets the size: diameters h and 2 h, length 2 h.
    let h = 2.2;
    let p = |x: f64, y: f64| Point::new(middle.x + x, middle.y + y);
    let cone = [
        p(-2.6 * h, -0.5 * h),
        p(-0.6 * h, -h),
        p(-0.6 * h, h),
        p(-2.6 * h, 0.5 * h),
        p(-2.6 * h, -0.5 * h),
    ];
    let eye = p(1.6 * h, 0.0);
    vec![
        Item::chain(&cone, Line::Narrow),
        Item::circle(eye, h, Line::Narrow),
        Item::circle(eye, 0.5 * h, Line::Narrow),
        Item::line(p(-3.0 * h, 0.0), p(-0.2 * h, 0.0), Line::Rule),
        Item::line(p(0.2 * h, 0.0), p(3.0 * h, 0.0), Line::Rule),
        Item::line(p(1.6 * h, -1.4 * h), p(1.6 * h, 1.4 * h), Line::Rule),
    ]
}

/// Columns of the revision block: left end, width, heading.
const COLUMNS: [(f64, f64, &str); 4] = [
    (0.0, 16.0, "Revision"),
    (16.0, 110.0, "Change"),
    (126.0, 24.0, "Date"),
    (150.0, 30.0, "By"),
];

/// The revision block, newest on top; empty where there are no revisions.
pub(super) fn revisions(data: &TitleData) -> Block {
    let mut block = Block {
        width: WIDTH_MM,
        ..Block::default()
    };
    if data.revisions.is_empty() {
        return block;
    }
    let inset = 1.2;
    let pitch = PITCH * height::NORMAL;
    let mut y = 0.0;
    for r in &data.revisions {
        let cells: Vec<Vec<String>> = [&r.index, &r.change, &r.date, &r.by]
            .into_iter()
            .zip(COLUMNS)
            .map(|(cell, (_, width, _))| {
                wrap(cell, width - 2.0 * inset, height::NORMAL, Weight::Regular)
            })
            .collect();
        let rows = cells.iter().map(Vec::len).max().unwrap_or(1).max(1);
        let h = rows as f64 * pitch + 1.0;
        for (lines, (x, _, _)) in cells.iter().zip(COLUMNS) {
            let first = Point::new(x + inset, y + h - 1.0 - height::NORMAL);
            block
                .items
                .extend(lines_down(first, lines, height::NORMAL, Weight::Regular));
        }
        y += h;
        block.items.push(rule(0.0, y, WIDTH_MM, y));
    }
    let head = 4.0;
    for (x, _, heading) in COLUMNS {
        let at = Point::new(x + inset, y + 1.2);
        block
            .items
            .push(Item::Text(text(at, heading, height::SMALL, Weight::Bold)));
    }
    block.height = y + head;
    for (x, _, _) in COLUMNS.into_iter().skip(1) {
        block.items.push(rule(x, 0.0, x, block.height));
    }
    block.items.push(Item::rectangle(
        Point::ORIGIN,
        Point::new(WIDTH_MM, block.height),
        Line::Visible,
    ));
    block
}
