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
//! TOML of the kind `rod-readings`; `platewright schema rod-readings` prints
//! every key. The job says the rest: which bolts hold what, and the belt.
//!
//! ```
//! # use platewright::shim::Rods;
//! # use platewright::params::{read_text, spec::Designations};
//! # let text = r#"
//! kind = "rod-readings"
//! reference = "crank"           # the rod lies on its face; the driving pulley unless given
//! stock = [0.1, 0.15, 0.2, 0.3, 0.5, 1.0]   # washers at hand
//! sd = 0.1                      # of a gap
//!
//! ## One table a rod position: air between rod and front face, below 0 when the pulley stands proud.
//! [[rod]]
//! at = "tensioner"
//! near = 0.75                   # at the rim nearer the reference
//! far = 0.30
//!
//! [[rod]]
//! at = "tensioner"              # a second rod across the first gives the whole tilt
//! direction = 90                # from near to far rim, deg from +x
//! near = 0.50
//! far = "0.021 in"
//!
//! [[rod]]
//! at = "alternator"
//! grooves = 7                   # groove by groove instead: groove, near, far; 1 is the front one
//! read = [[1, 3.5, 3.3], [7, 24.9, 24.7]]
//!
//! [[place]]                     # what the job does not say of a bolt
//! plate = "tensioner"           # or: accessory = "tensioner"
//! bolt = "F9"
//! fitted = [0.5]                # washers there now
//! most = 2                      # thickest pack; 0 where no washer can go
//! pieces = 2
//! play = 0.5                    # how far its hole lets the mount move, each way
//! ## spacer = 20                 # length of a spacer that stands there
//! # "#;
//! # let opened = read_text::<Rods>("rods.toml", text.as_bytes(), &Designations::default()).unwrap();
//! # assert_eq!(opened.value.readings.len(), 3);
//! ```

mod choice;
mod file;
mod forest;
mod job;
mod motion;
mod mount;
mod plan;
mod play;
mod remake;
mod rod;
mod search;
mod state;
mod symptom;
mod washers;

pub use file::{RODS, Rods, diag};
pub use job::{MOST_IN_PACK, MOST_PACK_MM, drive_of};
pub use mount::{
    BEND_LIMIT_MM, Bolt, Drive, Fault, Fork, LEAN_LIMIT_DEG, Mount, Place, Pulley, SPAN_LIMIT_DEG,
    STOCK_MM, Span, Stand, TILT_LIMIT_DEG,
};
pub use plan::{Plan, plan, words};
pub use play::{Push, PushPlan};
pub use remake::{Need, Needs};
pub use rod::{GAP_SD_MM, GROOVE_PITCH_MM, Gaps, ReadStand, RodReading, stands};
pub use symptom::{Advice, Remedy, Symptom, Towards, advise};
pub use washers::{MOST_PIECES, Searched, WasherPlan, Washers};
