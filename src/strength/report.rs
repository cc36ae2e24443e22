//! What a strength calculation answers.

use serde::Serialize;

use crate::geom::Frame;

use super::campbell::Meeting;
use super::deflection::PulleyShift;
use super::mesh::Plan;
use super::places::Kind;

/// What every result is worth.
pub const CAUTION: &str =
    "Strength and vibration results are an aid to judgement, not a certification.";

/// What the model takes as given.
pub const ASSUMPTIONS: [&str; 5] = [
    "Linear elastic, small displacements; clamp rings are tied: they neither slide nor lift.",
    "Accessories and the engine block are rigid.",
    "Bolt preload is not in these stresses; the joint checks hold it.",
    "Threads are smooth bores; marks and edge breaks are left out.",
    "Stress within 15 % of a clamp ring's radius of its rim, and at sharp inner edges, grows without limit in this model and is named, not judged.",
];

/// Everything found.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StrengthReport {
    /// [`CAUTION`].
    pub caution: &'static str,
    /// [`ASSUMPTIONS`].
    pub assumptions: Vec<&'static str>,
    /// Mesh and solver, pass by pass.
    pub passes: Vec<Pass>,
    /// Whether every plate's peak settled within the asked change.
    pub is_converged: bool,
    /// Greatest change of a plate's peak between two passes up to which it has settled, as a share.
    pub peak_change_limit: f64,
    /// Plates.
    pub plates: Vec<PlateReport>,
    /// Load cases.
    pub cases: Vec<CaseReport>,
    /// Pulleys, case by case.
    pub pulleys: Vec<PulleyShift>,
    /// Natural modes, ascending.
    pub modes: Vec<ModeReport>,
    /// Modes against orders.
    pub campbell: Vec<Meeting>,
    /// Sharp places and clamp rims, named.
    pub sharp: Vec<SharpPlace>,
    /// Clamp rings drawn smaller than asked, because a boundary is near.
    pub trimmed: Vec<TrimmedRing>,
}

/// One pass of the adaptive loop.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Pass {
    /// Elements.
    pub elements: usize,
    /// Unknowns.
    pub unknowns: usize,
    /// Entries of the factor.
    pub factor_entries: usize,
    /// Greatest change of a plate's peak from the pass before, as a share; `None` in the first.
    pub peak_change: Option<f64>,
    /// Estimated error in the energy norm, all plates, worst case, as a share.
    pub energy_error: f64,
}

/// One plate.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PlateReport {
    /// Plate.
    pub plate: String,
    /// Mass of its mesh, kg.
    pub mass_kg: f64,
    /// Elements.
    pub elements: usize,
    /// Least angle of its mesh, deg.
    pub least_angle_deg: f64,
    /// Least Jacobian ratio of its mesh.
    pub least_jacobian: f64,
    /// Estimated error in the energy norm, worst case, as a share.
    pub energy_error: f64,
    /// Change of its greatest judged stress in the last pass, as a share; `None` after one pass.
    pub peak_change: Option<f64>,
    /// Places with their peaks; the first is the one nearest to its limit.
    pub places: Vec<PlaceReport>,
}

/// Peaks of one place.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PlaceReport {
    /// Kind.
    pub kind: Kind,
    /// Feature, clamp, `outline` or `face`.
    pub name: String,
    /// Greatest von Mises stress over all cases, MPa.
    pub von_mises_mpa: f64,
    /// Case of that.
    pub case: String,
    /// Where, engine frame, mm.
    pub at: [f64; 3],
    /// Where, plate frame, mm: x, y, height.
    pub at_plate: [f64; 3],
    /// Greatest principal stress over all cases, MPa.
    pub principal_max_mpa: f64,
    /// Least principal stress over all cases, MPa.
    pub principal_min_mpa: f64,
    /// Yield strength over von Mises stress.
    pub yield_safety: f64,
    /// Least fatigue safety over all cycles; `None` without a cycle.
    pub fatigue_safety: Option<f64>,
    /// Cycle of that.
    pub fatigue_cycle: Option<String>,
    /// Change of the peak in the last pass, as a share; `None` after one pass.
    pub peak_change: Option<f64>,
    /// Von Mises peak case by case, MPa, in the model's order of cases.
    pub by_case_mpa: Vec<f64>,
}

/// One load case.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CaseReport {
    /// Case.
    pub case: String,
    /// Sum of loads, N.
    pub load_n: [f64; 3],
    /// Sum of what the ground gives back, N.
    pub reaction_n: [f64; 3],
    /// Largest imbalance of force or moment, over the largest load.
    pub imbalance: f64,
    /// Force and moment that each clamp puts on its plate.
    pub clamps: Vec<ClampForce>,
    /// Greatest displacement of a plate, mm, and the plate.
    pub greatest_mm: f64,
    /// Plate of that.
    pub greatest_in: String,
}

/// What a clamp puts on its plate.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ClampForce {
    /// Clamp.
    pub clamp: String,
    /// Force, engine frame, N.
    pub force_n: [f64; 3],
    /// Moment about the ring's centre, N·m.
    pub moment_nm: [f64; 3],
}

/// One natural mode.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ModeReport {
    /// Mode, counted from 1.
    pub mode: usize,
    /// Natural frequency, Hz.
    pub hz: f64,
    /// Share of the kinetic energy by thing (plate, body, spacer), greatest first; shares under 1 % left out.
    pub moves: Vec<(String, f64)>,
    /// Share of the whole mass that shaking along engine x, y, z brings into the mode.
    pub effective_mass: [f64; 3],
}

/// A place whose stress is named, not judged.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SharpPlace {
    /// Plate.
    pub plate: String,
    /// Kind.
    pub kind: Kind,
    /// Name.
    pub name: String,
    /// Von Mises peak, pass by pass, MPa.
    pub peaks_mpa: Vec<f64>,
    /// Whether the peak settled all the same.
    pub is_settled: bool,
}

/// A clamp ring as drawn.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TrimmedRing {
    /// Clamp.
    pub clamp: String,
    /// Outer radius asked, mm.
    pub asked_mm: f64,
    /// Outer radius held, mm.
    pub held_mm: f64,
}

/// Fields of one plate, for pictures; plan points as in [`PlateField::plan`].
#[derive(Debug, Clone, PartialEq)]
pub struct PlateField {
    /// Plate.
    pub plate: String,
    /// The plate's frame.
    pub frame: Frame,
    /// Mid-height, where mode shapes are read, mm.
    pub middle_mm: f64,
    /// Plan of the last mesh.
    pub plan: Plan,
    /// Greatest judged von Mises stress over height and cases, MPa; 0 where none is judged.
    pub von_mises_mpa: Vec<f64>,
    /// Whether stress somewhere over the point is not to be judged.
    pub is_singular: Vec<bool>,
    /// Mode shapes at mid-height in the plate's frame (x, y, along the normal), mm, scaled alike over all plates.
    pub modes: Vec<Vec<[f64; 3]>>,
}

/// How one rigid body swings in each mode.
#[derive(Debug, Clone, PartialEq)]
pub struct BodyField {
    /// Body.
    pub body: String,
    /// Its centre of mass, engine frame, mm.
    pub centre: [f64; 3],
    /// Displacement of the centre in each mode, engine frame, scaled as the plates' shapes.
    pub modes: Vec<[f64; 3]>,
}

/// Report and fields.
#[derive(Debug, Clone, PartialEq)]
pub struct Strength {
    /// What is said.
    pub report: StrengthReport,
    /// What is drawn: plates.
    pub fields: Vec<PlateField>,
    /// What is drawn: rigid bodies.
    pub bodies: Vec<BodyField>,
}
