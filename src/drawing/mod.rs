//! Manufacturing drawings as lines, fills and texts on paper, in no file format.
//!
//! Paper coordinates are mm from the lower left corner of the sheet, y up.
//! Every text's box is exact (see [`font`]), so that a test can prove that
//! nothing overlaps; `export::svg` and `export::pdf` only translate.

pub mod font;

mod assembly_sheet;
mod balloons;
mod dimension;
mod edge_view;
mod front_view;
mod hatch;
mod hole_table;
mod lettering;
mod nest_sheet;
mod notes;
mod parts_sheet;
mod placing;
mod plate_sheet;
mod printing;
mod sections;
mod sheet;
mod taken;
mod text_sheet;
mod title;
mod views;

pub use assembly_sheet::{AssemblyFigure, assembly_sheet};
pub use hole_table::{Datum, HoleRow, hole_rows};
pub use nest_sheet::{NestedPart, nest_sheet};
pub use parts_sheet::{PartsTable, parts_sheets};
pub use plate_sheet::{DrawingError, Options, plate_drawing};
pub use sheet::{Scale, SheetSize};
pub use text_sheet::document_sheets;
pub use title::{Deviation, Revision, TitleData};

use crate::geom::{Extents, Point, Segment, Vector};
use font::Weight;

/// A line's kind, with its width and pattern on A4 and A3.
///
/// Line group 0.5 of ISO 128-24 (wide 0.5 mm, narrow 0.25 mm); patterns of
/// ISO 128-20, lengths in line widths (both from memory of the standards).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Line {
    /// Visible outlines and edges: continuous, wide (01.2).
    Visible,
    /// Dimension, extension, leader and hatch lines, thread roots: continuous, narrow (01.1).
    Narrow,
    /// Hidden edges: dashed, narrow (02.1).
    Hidden,
    /// Centre lines: long-dashed dotted, narrow (04.1).
    Centre,
    /// The frame of the drawing space: continuous, 0.7 mm (ISO 5457).
    Frame,
    /// Rules of tables: continuous, 0.18 mm, the next width down (ISO 128-20 series).
    Rule,
}

impl Line {
    /// Every kind.
    pub const ALL: [Self; 6] = [
        Self::Visible,
        Self::Narrow,
        Self::Hidden,
        Self::Centre,
        Self::Frame,
        Self::Rule,
    ];

    /// Width, mm.
    #[must_use]
    pub const fn width_mm(self) -> f64 {
        match self {
            Self::Visible => 0.5,
            Self::Narrow | Self::Hidden | Self::Centre => 0.25,
            Self::Frame => 0.7,
            Self::Rule => 0.18,
        }
    }

    /// Dash and gap lengths, mm; empty for a continuous line.
    #[must_use]
    pub const fn pattern_mm(self) -> &'static [f64] {
        match self {
            // 02: dash 12 d, gap 3 d.
            Self::Hidden => &[3.0, 0.75],
            // 04: dash 24 d, gap 3 d, dot 0.5 d, gap 3 d.
            Self::Centre => &[6.0, 0.75, 0.125, 0.75],
            Self::Visible | Self::Narrow | Self::Frame | Self::Rule => &[],
        }
    }
}

/// One line of lettering.
#[derive(Debug, Clone, PartialEq)]
pub struct Text {
    /// What it says, in characters of the font.
    pub text: String,
    /// Left end of the base line, paper mm.
    pub at: Point,
    /// Height of a capital, mm (ISO 3098-1 series: 1.8, 2.5, 3.5, 5, 7).
    pub height_mm: f64,
    /// Weight.
    pub weight: Weight,
    /// Whether it reads upwards instead of to the right.
    pub upright: bool,
    /// Horizontal scale of the letters, 1 normally, less where a field is narrow.
    pub squeeze: f64,
}

impl Text {
    /// Font size, mm.
    #[must_use]
    pub fn size_mm(&self) -> f64 {
        self.height_mm / font::CAPITAL
    }

    /// Length along the base line, mm.
    #[must_use]
    pub fn length_mm(&self) -> f64 {
        font::width(&self.text, self.weight) * self.size_mm() * self.squeeze
    }

    /// The box of its ink, from the base line's ends and the letters' lowest and highest ink.
    #[must_use]
    pub fn bounds(&self) -> Extents {
        let (low, high) = font::reach(&self.text);
        let (low, high) = (low * self.size_mm(), high * self.size_mm());
        let length = self.length_mm();
        let (min, max) = if self.upright {
            (Vector::new(-high, 0.0), Vector::new(-low, length))
        } else {
            (Vector::new(0.0, low), Vector::new(length, high))
        };
        Extents {
            min: self.at + min,
            max: self.at + max,
        }
    }
}

/// One thing on the paper.
#[derive(Debug, Clone, PartialEq)]
pub enum Item {
    /// A chain of lines and arcs.
    Line {
        /// The pieces in order; one full circle, or an open or closed chain.
        path: Vec<Segment>,
        /// How it is drawn.
        line: Line,
    },
    /// A filled polygon: arrow heads.
    Fill(Vec<Point>),
    /// Lettering.
    Text(Text),
}

impl Item {
    /// A straight line.
    #[must_use]
    pub fn line(from: Point, to: Point, line: Line) -> Self {
        Self::Line {
            path: vec![Segment::Line { from, to }],
            line,
        }
    }

    /// A full circle.
    #[must_use]
    pub fn circle(centre: Point, radius: f64, line: Line) -> Self {
        Self::Line {
            path: vec![Segment::circle(centre, radius)],
            line,
        }
    }

    /// A rectangle.
    #[must_use]
    pub fn rectangle(min: Point, max: Point, line: Line) -> Self {
        let corners = [
            min,
            Point::new(max.x, min.y),
            max,
            Point::new(min.x, max.y),
            min,
        ];
        Self::chain(&corners, line)
    }

    /// An open chain of straight lines.
    #[must_use]
    pub fn chain(points: &[Point], line: Line) -> Self {
        Self::Line {
            path: points
                .windows(2)
                .map(|w| Segment::Line {
                    from: w[0],
                    to: w[1],
                })
                .collect(),
            line,
        }
    }

    /// The same thing moved by `v`.
    #[must_use]
    pub fn moved(self, v: Vector) -> Self {
        match self {
            Self::Line { path, line } => Self::Line {
                path: path.iter().map(|s| s.mapped(&|p| p + v, false)).collect(),
                line,
            },
            Self::Fill(points) => Self::Fill(points.into_iter().map(|p| p + v).collect()),
            Self::Text(t) => Self::Text(Text { at: t.at + v, ..t }),
        }
    }
}

/// One sheet.
#[derive(Debug, Clone, PartialEq)]
pub struct Page {
    /// Its size.
    pub size: SheetSize,
    /// Everything on it, in drawing order.
    pub items: Vec<Item>,
}

impl Page {
    /// The texts on the sheet.
    pub fn texts(&self) -> impl Iterator<Item = &Text> {
        self.items.iter().filter_map(|i| match i {
            Item::Text(t) => Some(t),
            _ => None,
        })
    }
}

/// A piece of a sheet: things about its own lower left corner.
#[derive(Debug, Clone, Default)]
struct Block {
    items: Vec<Item>,
    width: f64,
    height: f64,
}

impl Block {
    /// Puts the block with its lower left corner at `corner`.
    fn put(self, corner: Point, onto: &mut Vec<Item>) {
        let v = corner.to_vector();
        onto.extend(self.items.into_iter().map(|i| i.moved(v)));
    }
}
