//! STEP files (ISO 10303-21): a part, or an assembly with every part placed.
//!
//! Faces leave as `ADVANCED_FACE` on `PLANE`, `CYLINDRICAL_SURFACE` and
//! `CONICAL_SURFACE` with `LINE` and `CIRCLE` edges, so that a machinist's
//! software finds holes by their cylinders. Lengths are mm, angles rad, the
//! uncertainty is [`PLACE_MM`](crate::solid::check::PLACE_MM). Numbers have
//! the digits it takes to read back to the same bits, so authored radii
//! survive. The same input gives the same bytes.
//!
//! ```
//! use platewright::export::step::{Colour, Header, Part, Schema, part};
//! use platewright::solid::tube;
//!
//! let spacer = tube("Spacer 22 x 31", 10.5, 22.0, 31.0)?;
//! let text = part(
//!     &Part {
//!         id: "S-01",
//!         description: "turned, EN AW-6082-T6",
//!         body: &spacer,
//!         colour: Colour::SPACER,
//!     },
//!     &Header {
//!         file_name: "S-01.step",
//!         time_stamp: "2026-01-31T08:00:00",
//!         organization: "",
//!         author: "",
//!         schema: Schema::Ap242,
//!     },
//! );
//! assert!(text.starts_with("ISO-10303-21;"));
//! assert!(text.contains("CYLINDRICAL_SURFACE('',#"));
//! # Ok::<(), platewright::solid::SolidError>(())
//! ```

mod brep;
mod part21;
mod product;

use crate::geom::Frame;
use crate::solid::Body;

use brep::Shared;
use part21::{Part21, push_string};
use product::Contexts;

/// The application protocol that a file claims.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Schema {
    /// ISO 10303-242, first edition (2014): the least that readers of AP242 know.
    #[default]
    Ap242,
    /// ISO 10303-214, third edition (2010): for older readers.
    Ap214,
}

impl Schema {
    /// Schema name and object identifier as ISO 10303-242:2014 and ISO 10303-214:2010 register them (from memory).
    const fn registered(self) -> &'static str {
        match self {
            Self::Ap242 => {
                "AP242_MANAGED_MODEL_BASED_3D_ENGINEERING_MIM_LF { 1 0 10303 442 1 1 4 }"
            }
            Self::Ap214 => "AUTOMOTIVE_DESIGN { 1 0 10303 214 3 1 1 }",
        }
    }

    const fn application(self) -> &'static str {
        match self {
            Self::Ap242 => "managed model based 3d engineering",
            Self::Ap214 => "core data for automotive mechanical design processes",
        }
    }

    const fn protocol(self) -> &'static str {
        match self {
            Self::Ap242 => "ap242_managed_model_based_3d_engineering",
            Self::Ap214 => "automotive_design",
        }
    }

    /// Year of the edition, between its neighbours' commas.
    const fn year(self) -> &'static str {
        match self {
            Self::Ap242 => ",2014,",
            Self::Ap214 => ",2010,",
        }
    }
}

/// What a file says of itself. Nothing is taken from the clock or the machine.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Header<'a> {
    /// The file's name.
    pub file_name: &'a str,
    /// ISO 8601 date and time, such as `2026-01-31T08:00:00`.
    pub time_stamp: &'a str,
    /// Who drew it; may be empty.
    pub author: &'a str,
    /// The shop; may be empty.
    pub organization: &'a str,
    /// Application protocol.
    pub schema: Schema,
}

impl Header<'_> {
    fn text(&self, description: &str) -> String {
        let mut t = String::with_capacity(512);
        t.push_str("FILE_DESCRIPTION((");
        push_string(&mut t, description);
        t.push_str("),'2;1');\nFILE_NAME(");
        push_string(&mut t, self.file_name);
        t.push(',');
        push_string(&mut t, self.time_stamp);
        t.push_str(",(");
        push_string(&mut t, self.author);
        t.push_str("),(");
        push_string(&mut t, self.organization);
        t.push_str("),");
        let writer = concat!("platewright ", env!("CARGO_PKG_VERSION"));
        push_string(&mut t, writer);
        t.push_str(",'platewright','');\nFILE_SCHEMA((");
        push_string(&mut t, self.schema.registered());
        t.push_str("));\n");
        t
    }
}

/// A colour, 0 to 255 each, sRGB.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Colour {
    /// Red.
    pub red: u8,
    /// Green.
    pub green: u8,
    /// Blue.
    pub blue: u8,
}

impl Colour {
    /// Milled plates: light aluminium.
    pub const PLATE: Self = Self::rgb(188, 198, 204);
    /// Turned spacers: a warmer metal, told from the plates at a glance.
    pub const SPACER: Self = Self::rgb(214, 176, 98);
    /// Bought-in envelopes: a quiet blue.
    pub const ENVELOPE: Self = Self::rgb(92, 126, 170);

    /// A colour from its shares.
    #[must_use]
    pub const fn rgb(red: u8, green: u8, blue: u8) -> Self {
        Self { red, green, blue }
    }
}

/// A part to write: a body with what its product says.
#[derive(Debug, Clone, Copy)]
pub struct Part<'a> {
    /// Part number, unique in a file; the body's name is the product's name.
    pub id: &'a str,
    /// A line about it, such as its material; may be empty.
    pub description: &'a str,
    /// Its shape, in its own frame.
    pub body: &'a Body,
    /// Its colour.
    pub colour: Colour,
}

/// Text that one face takes, bytes: to reserve a file's memory at once.
const FACE_BYTES: usize = 1_050;

/// A file with one part, in the part's own frame.
#[must_use]
pub fn part(part: &Part<'_>, header: &Header<'_>) -> String {
    let faces = part.body.solid().face_iter().count();
    let mut w = Part21::new(&header.text(part.body.name()), 4_000 + FACE_BYTES * faces);
    let contexts = Contexts::new(&mut w, header.schema);
    let mut shared = Shared::new(&mut w);
    let (_, styled) = product::part(&mut w, &contexts, &mut shared, part);
    product::presentation(&mut w, &contexts, vec![styled]);
    w.finish()
}

/// One place where a part is used.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Placement<'a> {
    /// What this use is called, such as `spacer at block.A3`.
    pub name: &'a str,
    /// Where the part's own frame is brought to; its origin is finite.
    pub frame: Frame,
}

/// An assembly in the making: parts, each written once, with the places where they are used.
#[derive(Debug, Clone)]
pub struct Assembly<'a> {
    id: &'a str,
    name: &'a str,
    parts: Vec<(Part<'a>, Vec<Placement<'a>>)>,
}

impl<'a> Assembly<'a> {
    /// An empty assembly with its part number and name.
    #[must_use]
    pub const fn new(id: &'a str, name: &'a str) -> Self {
        Self {
            id,
            name,
            parts: Vec::new(),
        }
    }

    /// Adds a part with every place where it is used (one that is used nowhere is left out of the file).
    pub fn add(&mut self, part: Part<'a>, places: Vec<Placement<'a>>) {
        if !places.is_empty() {
            self.parts.push((part, places));
        }
    }

    /// The file, in the frame that the placements are given in.
    #[must_use]
    pub fn write(&self, header: &Header<'_>) -> String {
        let bytes: usize = self
            .parts
            .iter()
            .map(|(part, places)| {
                let faces = part.body.solid().face_iter().count();
                FACE_BYTES * faces + 1_500 + 900 * places.len()
            })
            .sum();
        let mut w = Part21::new(&header.text(self.name), 6_000 + bytes);
        let contexts = Contexts::new(&mut w, header.schema);
        let mut shared = Shared::new(&mut w);
        let mut styled = Vec::with_capacity(self.parts.len());
        let mut uses = Vec::with_capacity(self.parts.len());
        for (part, places) in &self.parts {
            let (product, colour) = product::part(&mut w, &contexts, &mut shared, part);
            styled.push(colour);
            for place in places {
                let seat = product::place(&mut w, &place.frame);
                uses.push((product, place.name, seat));
            }
        }
        let seats: Vec<_> = uses.iter().map(|(_, _, seat)| *seat).collect();
        let names = (self.id, self.name, "");
        let whole = product::assembly(&mut w, &contexts, &shared, names, &seats);
        for (i, (product, name, seat)) in uses.iter().enumerate() {
            product::usage(&mut w, (i + 1, name), &whole, product, *seat);
        }
        product::presentation(&mut w, &contexts, styled);
        w.finish()
    }
}
