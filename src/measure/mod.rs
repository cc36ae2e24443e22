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
//! TOML of the kind `caliper-readings`; `platewright schema caliper-readings`
//! prints every key. A bare number is mm; a length may also be a text with a
//! unit, so inch and mm may stand side by side.
//!
//! ```
//! # use platewright::measure::{Options, Readings, solve};
//! # use platewright::params::{read_text, spec::Designations};
//! # let text = r#"
//! kind = "caliper-readings"
//! title = "Forwarder engine, front face, right bank"
//!
//! [frame]                       # what the coordinates are counted from
//! origin = "F1"                 # this hole lies at …
//! at = [48, 380]                # … these coordinates
//! level = ["F1", "F2"]          # F2 straight to the right of F1; or plumb = [...]
//!
//! [[hole]]
//! id = "F1"
//! thread = "M10x1.5"            # inside jaws touch its crests: middle of the 6H tolerance
//! bolt = 9.86                   # a bolt was screwed in, measured over its threads
//! face = "deck"
//!
//! [[hole]]
//! id = "F2"
//! thread = "M10x1.5"
//! bolt = 9.85
//! face = "deck"
//!
//! [[hole]]
//! id = "F3"
//! bore = "0.413 in"             # a plain hole, as the caliper gave it
//! pin = 10.48                   # a close pin was pushed in …
//! pin-sd = 0.02                 # … a little loose
//! face = "boss"
//!
//! [[hole]]
//! id = "F4"
//! bore = 8.52
//! pin = 8.5
//! face = "deck"
//!
//! [[edge]]
//! id = "sump"                   # the sump rail, not machined true
//! holes-lie = "above"
//!
//! [[face]]
//! id = "deck"
//! z = 18
//!
//! [[face]]
//! id = "boss"
//!
//! [[reading]]
//! between = ["F1", "F2"]
//! kind = "over"                 # outside over the bolts
//! value = "3.053 in"
//!
//! [[reading]]
//! between = ["F1", "F3"]
//! kind = "over"
//! value = 106.79
//!
//! [[reading]]
//! between = ["F2", "F3"]
//! kind = "inside"               # between the near sides of the holes themselves
//! value = 75.06
//! sd = 0.15                     # thread crests are rough
//!
//! [[reading]]
//! between = ["F2", "F4"]
//! kind = "over"
//! value = "5.907 in"
//!
//! [[reading]]
//! between = ["F1", "F4"]
//! kind = "centres"
//! value = 141.6
//!
//! [[reading]]
//! between = ["F3", "F4"]
//! kind = "same-side"            # far side of F3 to near side of F4
//! value = 57.2
//!
//! [[reading]]
//! between = ["sump", "F4"]
//! kind = "edge"
//! value = 197.7                 # from the edge to the near side of the hole
//!
//! [[reading]]
//! between = ["sump", "F2"]
//! kind = "edge"
//! value = 334.8
//!
//! [[reading]]
//! between = ["boss", "deck"]    # gauge on the boss, rod down on the deck
//! kind = "depth"
//! value = 11.99
//!
//! [[seen]]                      # by eye: settles what no reading between holes can
//! hole = "F4"
//! lies = "below"
//! of = "F1"
//! # "#;
//! # let opened = read_text::<Readings>("face.toml", text.as_bytes(), &Designations::default()).unwrap();
//! # let survey = solve(&opened.value.network, Options::default()).unwrap();
//! # assert_eq!(survey.holes.len(), 4);
//! ```

mod adjust;
mod ambiguity;
mod assembly;
mod check;
pub(crate) mod dense;
mod doubt;
mod file;
mod finding;
mod fit;
pub mod library;
mod lifted;
mod network;
mod pattern;
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
pub use file::{Cut, READINGS, Readings};
pub use finding::{Finding, Matter, Severity};
pub use fit::{KnownPattern, PairFit, PatternFit, Spot, best_fit, rank, spots};
pub use network::{
    Datum, Edge, EdgeTarget, Face, Hole, Kind, Network, Pair, Reading, Side, Sight, Size,
    SourceIndex, Surface, Unit,
};
pub use pattern::{Blank, PatternKind, Written, tables, whole_file};
pub use picture::picture;
pub use report::{assembly_words, report, snapped_words};
pub use snap::{Snapped, SnappedHole, snap_to_grid, snap_to_mirror};
pub use survey::{
    Ellipse, JudgedReading, MeasuredEdge, MeasuredFace, MeasuredHole, Options, Survey, Verdict,
    solve,
};
