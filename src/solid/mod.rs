//! A plate, spacer or envelope as a closed solid with true plane, cylinder and cone faces.
//!
//! Nothing is united or subtracted: each feature brings its own walls, and the
//! flats between them get the walls' rims as boundaries. A section through a
//! counterbored hole (left) and a pocket with a hole in its floor (right):
//!
//! ```text
//!        front site                         front site
//!   ──────┐         ┌──────────────┐                        ┌──────
//!         │ cylinder│              │ wall              wall │
//!         └──┐ seat ┌──┘           └───────┐  floor  ┌──────┘
//!            │      │                      │ (a site)│
//!            │ cyl. │                      │ cylinder│
//!   ─────────┘      └──────────────────────┘         └─────────────
//!                          back site
//! ```
//!
//! 1. `Nesting` checks every feature's boundary, puts it on the smallest flat
//!    site that holds it (see [`Sites`](crate::plate::sites::Sites)), once seen
//!    from the front and once from the back, and refuses features that share
//!    space.
//! 2. `ShellBuilder` lays a loop of edges (a *level*) at each height where a
//!    feature begins, steps or ends, and walls between two levels: one plane or
//!    cylinder a piece of the loop, one full cylinder or cone between two rings.
//! 3. Every level also bounds a flat: its site gets it as outer boundary or as
//!    opening. Seats and flat floors of holes are flats of their own.
//! 4. So each edge is used by one wall and one flat (uprights by two walls),
//!    once each way: the shell closes by construction. That is checked by the
//!    topology library, and the volume along all three axes is held against
//!    the closed form before a [`Body`] is handed out.
//!
//! Conventions: heights run along +z from the plate's back face; every circle
//! runs counter-clockwise about +z; a face's boundaries run counter-clockwise
//! about the normal that points out of the metal; a full circle is one edge
//! that starts and ends in one vertex, and a full cylinder has its two rims as
//! boundaries and no seam (file formats that need one add it on writing).
//! Radii are those the plate was authored with, bit for bit.

mod assemble;
mod bore;
pub mod check;
pub mod curve;
mod error;
pub mod mesh;
mod nesting;
mod overlap;
mod shell;
mod stock;
pub mod surface;
mod volume;

pub use crate::geom::boundary::{LoopFault, ON_CIRCLE_MM};
pub use assemble::from_plate;
pub use check::check;
pub use curve::{Curve, Seat};
pub use error::SolidError;
pub use stock::{cylinder, prism, tube};
pub use surface::Surface;
pub use volume::{closed_form_mm3, volumes_mm3};

use crate::geom::Point3;

/// A closed shell of faces in the topology library's terms.
pub type Solid = truck_topology::Solid<Point3, Curve, Surface>;

/// A named solid, in its own frame, mm.
#[derive(Debug, Clone)]
pub struct Body {
    name: String,
    solid: Solid,
}

impl Body {
    /// A body from a solid that this module has built.
    const fn new(name: String, solid: Solid) -> Self {
        Self { name, solid }
    }

    /// Its name, as files show it.
    #[must_use]
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Its faces, edges and vertices.
    #[must_use]
    pub const fn solid(&self) -> &Solid {
        &self.solid
    }

    /// Volume, mm³.
    #[must_use]
    pub fn volume_mm3(&self) -> f64 {
        let [_, _, z] = volumes_mm3(self);
        z
    }
}

#[cfg(test)]
mod tests;
