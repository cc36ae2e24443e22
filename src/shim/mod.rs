//! Washers and spacers from rod readings on a mocked-up drive.

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
