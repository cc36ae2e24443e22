//! From bosses, webs and drawn loops to one exact outer loop of lines and arcs.
//!
//! The outline is the morphological closing of the shapes' union by a disc of
//! the cutter's radius r: the metal that is left when a cutter of that radius
//! has gone everywhere it can without touching a shape. It is built in one go:
//!
//! 1. every shape grown by r brings its carriers, circles and lines (`carrier`, `body`);
//! 2. the boundary of the grown union is found as an arrangement of these (`arrange`);
//! 3. its pieces move back in by r, an r-arc takes each concave vertex (`closing`);
//! 4. where two such arcs leave too little metal between them, a disc of metal is
//!    added and the work repeated (`bridge`).
//!
//! Grown curves cross at clear angles and touch only where a gap is just as
//! wide as the cutter, so the degenerate cases of the bare union (circles that
//! touch, coincide and line up) do not arise in the first place.

mod arrange;
mod body;
mod bridge;
mod build;
mod carrier;
mod chain;
mod closing;
mod connect;
pub mod drawn;
mod drawn_loop;
mod error;
mod invariants;
mod shape;
pub mod webs;
pub mod window;

pub use build::{LARGEST_FILLET_MM, Outline, SMALLEST_FILLET_MM, build};
pub use error::OutlineError;
pub use invariants::{check_invariants, check_opening, check_outline};
pub use shape::{Disc, FARTHEST_MM, Shape, hull};
