//! The standard tables: sizes and values compiled in, each row with its source, to which a shop may add rows.
//!
//! The data are the `.csv` files beside this one. A table is a
//! [`table::Table`]; `Threads::standard()` is the compiled-in one and
//! `with_rows` gives one with a shop's rows after it. An unknown name is an
//! error that lists the nearest known names.

pub mod table;

pub mod belt;
pub mod clearance_hole;
pub mod cutting;
pub mod edge_distance;
pub mod embedding;
pub mod engagement;
pub mod friction;
pub mod gap;
pub mod head;
pub mod length;
pub mod material;
pub mod nut;
pub mod property_class;
pub mod socket;
pub mod thread;
pub mod tightening;
pub mod tolerance;
pub mod washer;

pub use clearance_hole::{ClearanceHole, ClearanceHoles, Fit};
pub use cutting::{CutQualities, Cutting, Cuttings};
pub use edge_distance::{AiscEdges, EdgeDistance, EdgeDistances};
pub use embedding::{Embedding, Embeddings};
pub use engagement::{Engagement, Engagements};
pub use friction::{Friction, Frictions, Interface, Interfaces};
pub use gap::{GapLimit, GapLimits, Kind, Limits};
pub use head::{Head, HeadStyle, Heads};
pub use length::Lengths;
pub use material::{Basis, Group, Material, Materials};
pub use nut::{Nut, Nuts};
pub use property_class::{PropertyClass, PropertyClasses};
pub use socket::{Drive, Socket, Sockets};
pub use table::{BadRow, Confidence, Row, Table, UnknownName, size_name};
pub use thread::{Series, Thread, Threads};
pub use tightening::{Tightening, Tightenings};
pub use tolerance::{AngleTolerances, CutTolerances, GeneralTolerances, RadiusTolerances};
pub use washer::{Washer, Washers};
