//! Hole coordinates from caliper readings, with what they are worth.

mod adjust;
mod ambiguity;
mod check;
pub(crate) mod dense;
mod doubt;
mod finding;
mod lifted;
mod network;
mod start;
pub mod statistics;
mod survey;
mod system;
mod triangle;

pub use check::describe;
pub use finding::{Finding, Matter, Severity};
pub use network::{
    Datum, Edge, EdgeTarget, Face, Hole, Kind, Network, Pair, Reading, Side, Sight, Size,
    SourceIndex, Surface, Unit,
};
pub use survey::{
    Ellipse, JudgedReading, MeasuredEdge, MeasuredFace, MeasuredHole, Options, Survey, Verdict,
    solve,
};
