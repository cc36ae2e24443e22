//! Gaps between the bodies of an assembly: exact, fast, with the two points and the limit.
//!
//! A body is a list of prisms (a plane region drawn out along its normal:
//! plates, spacers, heads, pulleys, belts, envelopes) and tubes (hoses). Gaps are exact
//!
//! * between prisms of one direction: distance of the sections on lines and arcs, and of the heights;
//! * between a hose and anything;
//! * between prisms of different directions that have straight edges only;
//!
//! and within a stated bound, never overestimated, for round edges across
//! directions ([`skew::ROUND_EDGE_MM`]) and for bodies that move on any but the simplest way ([`way::SWEEP_MM`]).
//! The depth of a clash is that of the deepest boundary point found.

pub mod bounds;

mod piece;

mod near;

mod profile;

pub mod solid;

mod line;

pub mod skew;

mod pair;

pub mod body;

pub mod nearest;

pub mod scene;

pub mod motion;

mod swept;

pub mod way;

pub mod trim;

pub use body::{Body, Clamp, access_radius_mm};
pub use motion::Motion;
pub use nearest::ReadyBody;
pub use scene::{Gap, Scene, gaps_of_all};
pub use solid::{Prism, Solid, Tube};
pub use trim::Trim;
pub use way::Moving;
