//! Hole coordinates from caliper readings, with what they are worth.
//!
//! A [`Network`] of holes, edges, faces and the readings between them is
//! [`solve`]d by weighted non-linear least squares into a [`Survey`]:
//! coordinates with standard deviations and 95 % ellipses, every reading with
//! its residual, the share of an error that shows in it and the test whether it
//! fits. Diameters are unknowns like coordinates and their measured values are
//! readings, so one wrong pin is found as such and its error is not counted
//! once per reading. No start is asked for; what the readings leave open
//! (hinges, mirror images) is said together with the reading that would close
//! it.
//!
//! # The readings file
//!
//! TOML. A bare number is mm; a length with another unit is a string. Every
//! length may be either. Unknown keys are errors.
//!
//! ```toml
//! name = "Forwarder engine, front face, left side"   # heads the report
//!
//! [frame]                       # what the coordinates are counted from
//! origin = "A1"                 # hole at …
//! at = [0, 0]                   # … these coordinates (default 0, 0)
//! level = ["A1", "A2"]          # A2 lies straight to the right of A1
//! # plumb = ["A1", "A6"]        # or: A6 lies straight above A1
//! # keeps = "block"             # or: known holes (below) and square edges define it
//!
//! # Holes, by name. One of `bore`, `thread` says what inside jaws touched; one of `pin`, `bolt` what was put in.
//! [holes.A1]
//! thread = "M10x1.5"            # crests of the tapped hole: middle of the 6H tolerance, and its width as uncertainty
//! bolt = 9.86                   # a bolt screwed home, measured over its threads
//! face = "deck"
//!
//! [holes.A2]
//! thread = "M10x1.5"
//! bolt = 9.85
//! face = "deck"
//!
//! [holes.A3]
//! bore = "0.413 in"             # a plain hole, as the caliper gave it
//! pin = { diameter = 10.48, sd = 0.02 }   # a loose pin needs its own uncertainty
//! face = "boss"
//!
//! [holes.A4]
//! known = [150.0, 138.0]        # a place that is known and kept
//! bore = 8.5
//!
//! [edges.sump]                  # a straight edge readings were taken from
//! holes_lie = "above"           # above, below, left or right of it
//! square = false                # true: machined true to the frame, may define its direction
//! # at = -42.0                  # only with square = true: its own x or y, kept
//!
//! [faces.deck]                  # heights along +z, towards the viewer
//! z = 0.0                       # known and kept; the first face counts as 0 when none is given
//! [faces.boss]
//!
//! # Readings. `between` names two holes (or an edge and a hole, or two faces, the higher one first).
//! # kind: inside | over | same_side | centres | edge | depth
//! # on:   bore | pin (default: pin for `over` when one was put in, else bore)
//! # sd:   standard deviation; default by kind (inside, over, same_side 0.05, centres 0.10, edge 0.08, depth 0.03 mm)
//! [[readings]]
//! between = ["A1", "A2"]
//! kind = "over"
//! value = 129.86
//!
//! [[readings]]
//! between = ["A1", "A3"]
//! kind = "over"
//! value = "7.644 in"
//!
//! [[readings]]
//! between = ["A2", "A3"]
//! kind = "inside"
//! on = "bore"
//! value = 73.26
//! sd = 0.08
//!
//! [[readings]]
//! between = ["A3", "A4"]
//! kind = "same_side"
//! value = "3.077 in"
//!
//! [[readings]]
//! between = ["A1", "A4"]
//! kind = "centres"
//! value = 203.8
//!
//! [[readings]]
//! between = ["sump", "A1"]
//! kind = "edge"
//! to = "near"                   # near (default), centre or far side of the hole
//! value = 37.75
//!
//! [[readings]]
//! between = ["boss", "deck"]    # gauge on the boss, rod down on the deck
//! kind = "depth"
//! value = 11.99
//!
//! # Seen by eye: settles mirror images that no reading between holes can.
//! [[seen]]
//! hole = "A3"
//! lies = "above"                # above, below, left or right …
//! of = "A1"                     # … this hole
//! ```

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
