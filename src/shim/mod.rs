//! Washers and spacers from rod readings on a mocked-up drive.
//!
//! The [`Drive`] says which bolts hold which mount, where washers can go and
//! what the pulleys' limits are; [`RodReading`]s say how the pulleys stand.
//! [`plan`] finds the fewest stocked washers that bring every pulley within its
//! limits by a complete search, whether the play in the holes is enough, which
//! spacer lengths would do, and what to remake when nothing does. [`advise`]
//! works from a symptom alone.
//!
//! Positive offsets are forward, away from the engine. A mount moves as a rigid
//! body: lifts at its bolts tip it onto a plane, exactly, not to first order.
//!
//! # The rod readings file
//!
//! TOML, beside the job. Lengths are mm, or strings with a unit.
//!
//! ```toml
//! reference = "crank"           # the pulley whose face the rod lies on
//! stock = [0.1, 0.15, 0.2, 0.3, 0.5, 1.0]   # washers at hand; default: this DIN 988 series (from memory)
//! sd = 0.1                      # of a gap
//!
//! # One table a rod position; the gap is air between rod and front face, below 0 when the pulley stands proud.
//! [[rod]]
//! at = "tensioner"
//! near = 0.75                   # at the rim nearer the reference
//! far = 0.30
//!
//! [[rod]]
//! at = "tensioner"              # a second rod across the first gives the whole tilt
//! direction = 90                # deg from +X, from near to far rim
//! near = 0.50
//! far = "0.021 in"
//!
//! [[rod]]
//! at = "charger"
//! grooves = 6                   # groove by groove instead: groove, near, far; groove 1 is the front one
//! read = [[1, 3.5, 3.3], [6, 21.3, 21.1]]
//!
//! # Where washers can go, and what play there is, where the job does not say it.
//! [[place]]
//! mount = "tensioner plate"
//! bolt = "lower"
//! between = ["plate", "head"]
//! fitted = [0.5]                # washers there now
//! most = 3.0                    # thickest pack
//! pieces = 2                    # most washers in it
//! play = 0.5                    # how far the hole lets it move, each way
//! spacer = 24.0                 # length of a spacer that stands there
//! ```

mod motion;
mod mount;
mod plan;
mod play;
mod remake;
mod rod;
mod search;
mod state;
mod symptom;

pub use mount::{
    BEND_LIMIT_MM, Bolt, Drive, Fault, LEAN_LIMIT_DEG, Mount, Place, Pulley, SPAN_LIMIT_DEG,
    STOCK_MM, Span, Stand, TILT_LIMIT_DEG,
};
pub use plan::{Plan, plan, words};
pub use play::{Push, PushPlan};
pub use remake::{Need, Needs};
pub use rod::{GAP_SD_MM, GROOVE_PITCH_MM, Gaps, ReadStand, RodReading, stands};
pub use search::{MOST_PIECES, Searched, WasherPlan, Washers};
pub use symptom::{Advice, Remedy, Symptom, Towards, advise};
