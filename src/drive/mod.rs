//! The belt drive: path, belt choice, take-up, tensions, hub loads, vibration, alignment and clearances.
//!
//! [`analyse`] takes a [`Drive`] and answers everything at once; each part can
//! be had alone: [`path::solve`], [`tensioner::window`], [`takeup::range`],
//! [`belt::choices`], [`tension::at_speed`], [`span::survey`], [`align::align`].
//!
//! # Three lines along the belt
//!
//! The *effective line* sets the belt's length: it runs at half the effective
//! diameter in grooves and `back_offset_mm` off a flat face on the back. The
//! *pitch line* lies `effective_line_differential_mm` further towards the back
//! and sets speeds. The *outside* is the back itself.
//!
//! # Example
//!
//! ```
//! use platewright::drive::{self, *};
//! use platewright::geom::Point;
//! use platewright::tables::belt::BeltSection;
//!
//! let pulley = |id: &str, duty, x, diameter| Pulley {
//!     id: id.into(),
//!     owner: id.into(),
//!     duty,
//!     centre: Point::new(x, 0.0),
//!     rib_plane_z_mm: 40.0,
//!     face: Face::Ribbed { effective_diameter_mm: diameter, grooves: 6 },
//!     rim_diameter_mm: diameter + 4.0,
//!     width_mm: 26.0,
//!     contact: Side::Rib,
//!     load: Load::None,
//!     greatest_rpm: None,
//!     full_output_rpm: None,
//!     least_wrap_deg: None,
//!     tilt_deg: (0.0, 0.0),
//!     contributors: vec![],
//!     play: Play::default(),
//! };
//! let drive = Drive {
//!     name: "two pulleys".into(),
//!     belt: Belt {
//!         section: BeltSection::named("PK").unwrap().clone(),
//!         ribs: 6,
//!         length_mm: None,
//!         length_tolerance: drive::limits::LENGTH_TOLERANCE,
//!         life_stretch: drive::limits::LIFE_STRETCH,
//!     },
//!     pulleys: vec![
//!         pulley("crank", Duty::Crank, 0.0, 150.0),
//!         pulley("alternator", Duty::Alternator, 300.0, 60.0),
//!     ],
//!     driver: 0,
//!     rotation: Rotation::Clockwise,
//!     engine: Engine { cylinders: 4, strokes: 4, idle_rpm: 800.0, top_rpm: 2400.0, more_rpm: vec![] },
//!     take_up: TakeUp::Fixed { set_tension_n: 400.0 },
//!     friction: Friction { rib: 0.5, back: 0.3 },
//!     last_on: None,
//!     obstacles: vec![],
//! };
//! let path = drive::path::solve(&drive)?;
//! assert!((path.effective_length_mm - 936.629_971_175).abs() < 1e-6);
//! # Ok::<(), drive::Faults>(())
//! ```

pub mod align;
pub mod belt;
pub mod clearance;
pub mod course;
pub mod fault;
mod gap;
pub mod input;
pub mod judge;
pub mod limits;
pub mod load;
mod obstruction;
pub mod path;
pub mod picture;
pub mod report;
pub mod rule;
pub mod span;
pub mod takeup;
pub mod tension;
pub mod tensioner;
pub mod travel;
pub mod validate;
mod xy;

use serde::Serialize;

pub use fault::{Fault, Faults};
pub use input::{
    ArmTorque, Belt, Contributor, Drive, Duty, Engine, Face, Friction, Load, ManualTakeUp, Motion,
    Obstacle, Play, Pulley, Rotation, Side, TakeUp, Tensioner,
};
pub use judge::Judgement;
pub use rule::{RULES, Rule, Sense, Weight};

use belt::{BeltChoice, BeltFacts};
use path::BeltPath;
use takeup::TakeUpRange;
use tension::{OperatingPoint, Pretension};
use tensioner::{Arm, BeltState, TensionerWindow};

/// Positions looked at over the sweep of an arm or a slot, ends included.
///
/// An arm sweeps some 20 deg in service, so neighbouring positions differ by
/// about a degree; least gaps between them are refined.
const SWEEP_POSITIONS: usize = 17;

/// Speed of one shaft.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ShaftSpeed {
    /// Pulley.
    pub id: String,
    /// Speed over the driver's.
    pub ratio: f64,
    /// Speed at idle, rpm.
    pub idle_rpm: f64,
    /// Speed at the engine's top speed, rpm.
    pub top_rpm: f64,
    /// Greatest speed the accessory allows, rpm.
    pub greatest_rpm: Option<f64>,
    /// Least speed for its full output, rpm.
    pub full_output_rpm: Option<f64>,
}

/// Everything the drive module knows about a drive; every field's unit is in its name.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Analysis {
    /// The drive's name.
    pub name: String,
    /// The belt.
    pub belt: BeltFacts,
    /// The path of the nominal belt.
    pub path: BeltPath,
    /// Shaft speeds in path order.
    pub speeds: Vec<ShaftSpeed>,
    /// The spring tensioner's window.
    pub tensioner: Option<TensionerWindow>,
    /// The manual take-up's range.
    pub take_up: Option<TakeUpRange>,
    /// Whether the belt goes on over the named pulley with fixed centres; the take-ups tell their own.
    pub slip_on_fixed: Option<tensioner::SlipOn>,
    /// What each stocked length would cost.
    pub choices: Vec<BeltChoice>,
    /// Tensions and loads for each belt state or setting at each held speed.
    pub points: Vec<OperatingPoint>,
    /// Span vibration of the nominal belt.
    pub spans: Vec<span::SpanSurvey>,
    /// Alignment.
    pub alignment: align::Alignment,
    /// Least gaps over the sweep, tightest against its limit first.
    pub gaps: Vec<clearance::Gap>,
    /// Every value held against its limit.
    pub judgements: Vec<Judgement>,
}

/// One belt state with its path and what sets its tension.
struct Setting<'a> {
    state: String,
    path: BeltPath,
    pretension: Pretension<'a>,
}

/// Analyses a drive, choosing among the lengths `stocked_mm` (see [`crate::tables::belt::stocked_lengths_mm`]).
///
/// # Errors
/// Unusable input, no belt path as drawn, or a nominal belt that the take-up cannot hold.
pub fn analyse(drive: &Drive, stocked_mm: &[f64]) -> Result<Analysis, Faults> {
    validate::validate(drive)?;
    let nominal_mm = tensioner::nominal_length_mm(drive)?;
    let (window, take_up) = match &drive.take_up {
        TakeUp::Fixed { .. } => (None, None),
        TakeUp::Spring(_) => (tensioner::window(drive)?, None),
        TakeUp::Manual(manual) => (None, Some(takeup::range_for(drive, manual, nominal_mm)?)),
    };
    let settings = settings(drive, window.as_ref(), take_up.as_ref())?;
    let Some(nominal) = settings
        .iter()
        .find(|s| s.state == BeltState::Nominal.words() || s.state == AS_SET)
    else {
        return Err(nominal_fault(window.as_ref(), take_up.as_ref()));
    };
    let path = nominal.path.clone();
    let held = span::held_rpm(&drive.engine);
    let points = settings
        .iter()
        .flat_map(|s| {
            held.iter()
                .map(move |&rpm| tension::at_speed(drive, &s.path, s.pretension, rpm, &s.state))
        })
        .collect();
    let speeds = speeds(drive, &path);
    let spans = span::survey(drive, &path, nominal.pretension);
    let alignment = align::align(drive, &path);
    let gaps = gaps(drive, window.as_ref(), take_up.as_ref());
    let mut analysis = Analysis {
        name: drive.name.clone(),
        belt: belt::facts(drive, nominal_mm, stocked_mm),
        path,
        speeds,
        tensioner: window,
        take_up,
        slip_on_fixed: tensioner::slip_on_fixed(drive, nominal_mm),
        choices: belt::choices(drive, stocked_mm)?,
        points,
        spans,
        alignment,
        gaps,
        judgements: Vec::new(),
    };
    analysis.judgements = judge::judge(drive, &analysis, stocked_mm);
    Ok(analysis)
}

/// Name of the state of a drive without a spring: tension as set.
const AS_SET: &str = "as set";

/// Name of that drive's state after running in.
const RUN_IN: &str = "run in";

fn settings<'a>(
    drive: &'a Drive,
    window: Option<&TensionerWindow>,
    take_up: Option<&TakeUpRange>,
) -> Result<Vec<Setting<'a>>, Faults> {
    let fixed = |path: BeltPath, set: f64, kept: f64| {
        [(AS_SET, set), (RUN_IN, kept * set)]
            .into_iter()
            .map(|(state, tension_n)| Setting {
                state: state.to_owned(),
                path: path.clone(),
                pretension: Pretension::Static { tension_n },
            })
            .collect()
    };
    match &drive.take_up {
        TakeUp::Fixed { set_tension_n } => Ok(fixed(
            path::solve_valid(drive)?,
            *set_tension_n,
            limits::KEPT_TENSION,
        )),
        TakeUp::Manual(manual) => {
            let Some(position) = take_up.and_then(|t| t.position(BeltState::Nominal)) else {
                return Ok(Vec::new());
            };
            let path = path::solve_moved(drive, manual.pulley, position.centre_mm)?;
            Ok(fixed(path, manual.set_tension_n, manual.kept))
        }
        TakeUp::Spring(tensioner) => {
            let mut settings = Vec::new();
            for state in [
                BeltState::Shortest,
                BeltState::Nominal,
                BeltState::EndOfLife,
            ] {
                if let Some(arm) = window.and_then(|w| w.arm(state)) {
                    settings.push(Setting {
                        state: state.words().to_owned(),
                        path: path::solve_moved(drive, tensioner.pulley, arm.centre_mm)?,
                        pretension: Pretension::Arm {
                            tensioner,
                            torque_nm: arm.torque_nm,
                        },
                    });
                }
            }
            Ok(settings)
        }
    }
}

/// Why the nominal belt has no place.
fn nominal_fault(window: Option<&TensionerWindow>, take_up: Option<&TakeUpRange>) -> Faults {
    let arm = window
        .into_iter()
        .flat_map(|w| &w.reaches)
        .filter(|r| r.state == BeltState::Nominal)
        .find_map(|r| r.fault.clone());
    let hand = take_up
        .into_iter()
        .flat_map(|t| &t.needs)
        .filter(|n| n.what == BeltState::Nominal.words())
        .find_map(|n| n.fault.clone());
    Faults {
        faults: arm.into_iter().chain(hand).collect(),
    }
}

fn speeds(drive: &Drive, path: &BeltPath) -> Vec<ShaftSpeed> {
    path.contacts
        .iter()
        .map(|c| {
            let p = &drive.pulleys[c.pulley];
            ShaftSpeed {
                id: c.id.clone(),
                ratio: c.ratio,
                idle_rpm: drive.engine.idle_rpm * c.ratio,
                top_rpm: drive.engine.top_rpm * c.ratio,
                greatest_rpm: p.greatest_rpm,
                full_output_rpm: p.full_output_rpm,
            }
        })
        .collect()
}

/// Gaps over the sweep from the shortest belt to the end of life.
fn gaps(
    drive: &Drive,
    window: Option<&TensionerWindow>,
    take_up: Option<&TakeUpRange>,
) -> Vec<clearance::Gap> {
    let between = |from: f64, to: f64| -> Vec<f64> {
        let (low, high) = (from.min(to), from.max(to));
        (0..SWEEP_POSITIONS)
            .map(|i| low + (high - low) * i as f64 / (SWEEP_POSITIONS - 1) as f64)
            .collect()
    };
    match &drive.take_up {
        TakeUp::Fixed { .. } => {
            clearance::survey(drive, &[0.0], None, &|_| path::solve_valid(drive).ok())
        }
        TakeUp::Spring(t) => {
            let angle = |state| window.and_then(|w| w.arm(state)).map(|a| a.arm_deg);
            let ends = window.map_or((t.drawn_deg, t.drawn_deg), |w| {
                (
                    angle(BeltState::Shortest).unwrap_or(w.shortest_arm_deg),
                    angle(BeltState::EndOfLife).unwrap_or(w.longest_arm_deg),
                )
            });
            let fitting = window.map(|w| w.shortest_arm_deg);
            clearance::survey(drive, &between(ends.0, ends.1), fitting, &|deg| {
                let centre = t.pivot.polar(t.arm_mm, deg.to_radians());
                path::solve_moved(drive, t.pulley, centre).ok()
            })
        }
        TakeUp::Manual(m) => {
            let travel = |state| {
                take_up
                    .and_then(|t| t.position(state))
                    .map_or(0.0, |p| p.travel)
            };
            let ends = (travel(BeltState::Shortest), travel(BeltState::EndOfLife));
            let fitting = take_up
                .and_then(|t| t.needs.first())
                .and_then(|n| n.position.as_ref())
                .map(|p| p.travel);
            clearance::survey(drive, &between(ends.0, ends.1), fitting, &|travel| {
                let centre = takeup::centre_at(drive, m, travel);
                path::solve_moved(drive, m.pulley, centre).ok()
            })
        }
    }
}

/// Arm of the drive's spring tensioner, for a caller that asks for single positions.
///
/// # Errors
/// Unusable input, no path as drawn, or a spring that slackens the belt; `None` for another take-up.
pub fn arm(drive: &Drive) -> Result<Option<Arm<'_>>, Faults> {
    validate::validate(drive)?;
    match &drive.take_up {
        TakeUp::Spring(tensioner) => Arm::of(drive, tensioner).map(Some),
        TakeUp::Fixed { .. } | TakeUp::Manual(_) => Ok(None),
    }
}
