//! Hole coordinates from caliper readings, with what they are worth.

mod adjust;
mod ambiguity;
mod assembly;
mod check;
pub(crate) mod dense;
mod doubt;
mod finding;
mod fit;
mod lifted;
mod network;
mod picture;
mod report;
mod snap;
mod start;
pub mod statistics;
mod survey;
mod system;
mod triangle;

pub use assembly::{Assembly, ClearanceHole, assembly};
pub use check::describe;
pub use finding::{Finding, Matter, Severity};
pub use fit::{KnownPattern, PairFit, PatternFit, Spot, best_fit, rank, spots};
pub use network::{
    Datum, Edge, EdgeTarget, Face, Hole, Kind, Network, Pair, Reading, Side, Sight, Size,
    SourceIndex, Surface, Unit,
};
pub use picture::picture;
pub use report::{assembly_words, report, snapped_words};
pub use snap::{Snapped, SnappedHole, snap_to_grid, snap_to_mirror};
pub use survey::{
    Ellipse, JudgedReading, MeasuredEdge, MeasuredFace, MeasuredHole, Options, Survey, Verdict,
    solve,
};
