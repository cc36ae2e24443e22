//! Every named tolerance of the program, with its meaning and its reason.
//!
//! Nothing else compares floating-point lengths: a bare `== 0.0` or `< 1e-9`
//! elsewhere in `src/` is a mistake.

/// Two points closer than this are one vertex, mm.
///
/// Vertices of an arrangement come from different pairs of carriers and differ
/// by rounding only (about 1e-12 mm in a 1 m plate), while the smallest
/// feature a shop can cut is 0.1 mm: 1e-6 sits far from both.
pub const SNAP_MM: f64 = 1e-6;

/// A boundary piece shorter than this carries no shape and is dropped, mm.
pub const SLIVER_MM: f64 = 1e-5;

/// Input lengths are rounded to this grid before an outline is built, mm.
///
/// Near-degenerate input (two bosses 1e-11 … 1e-3 mm from tangent) is what
/// breaks arrangements; a tenth of a micron is beyond any machine's reach.
pub const INPUT_GRID_MM: f64 = 1e-4;

/// How far a position may move on its way through the pipeline, mm.
pub const POSITION_MM: f64 = 1e-9;

/// Slack given to a rule's comparison so that a limit met exactly passes, mm.
///
/// Exported coordinates print to 1e-6 mm; a shortfall below that cannot be
/// made, measured or drawn.
pub const RULE_MM: f64 = 1e-6;

/// Two unit vectors are parallel when the sine of their angle is below this.
///
/// 1e-9 rad over a metre is a nanometre.
pub const PARALLEL: f64 = 1e-9;

/// Rounds a length to [`INPUT_GRID_MM`].
#[must_use]
pub fn on_input_grid(mm: f64) -> f64 {
    (mm / INPUT_GRID_MM).round() * INPUT_GRID_MM
}
