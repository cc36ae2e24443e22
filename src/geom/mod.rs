//! Plane and space geometry without a trade word in it.
//!
//! Lengths are mm and angles rad in this whole module. Outlines are lines and
//! circular arcs, exactly; nothing here is faceted.

pub mod boundary;
pub mod contact;
pub mod distance;
pub mod neck;
pub mod path;
pub mod point;
pub mod region;
pub mod segment;
pub mod space;

pub use distance::Gap;
pub(crate) use distance::circles_meet;
pub use path::Path;
pub use point::{Point, Vector};
pub use region::{Extents, Region, SectionProperties};
pub use segment::Segment;
pub use space::{Frame, Point3, Vector3};
