//! The whole calculation: mesh, solve, refine until the peaks settle, modes, report.

use crate::geom::Point;

use super::StrengthError;
use super::adapt::{Peaks, finer_edges, peaks, plate_changes};
use super::build::{Built, build};
use super::judge;
use super::mass::Mass;
use super::mesh::MeshOptions;
use super::model::{LoadCase, Model};
use super::places::{Place, places};
use super::progress::{Progress, Stage};
use super::recover::{Stresses, recover};
use super::report::{Pass, Strength};
use super::system::{GRAVITY_MM_S2, System, add_force, translation};

/// How thoroughly to calculate.
#[derive(Debug, Clone, PartialEq)]
pub struct Options {
    /// First mesh.
    pub mesh: MeshOptions,
    /// A plate's peak has settled when it changes by no more than this share between passes.
    pub peak_change: f64,
    /// Passes, at most.
    pub passes: usize,
    /// Modes wanted.
    pub modes: usize,
    /// Unknowns, at most.
    pub unknowns: usize,
}

impl Default for Options {
    fn default() -> Self {
        Self {
            mesh: MeshOptions::default(),
            peak_change: 0.03,
            passes: 4,
            modes: 10,
            unknowns: 250_000,
        }
    }
}

/// Solution of one pass, kept for the next and for the report.
pub(super) struct Solved {
    pub(super) built: Built,
    pub(super) places: Vec<Place>,
    pub(super) loads: Vec<Vec<f64>>,
    pub(super) displacements: Vec<Vec<f64>>,
    pub(super) stresses: Vec<Stresses>,
    pub(super) peaks: Peaks,
}

/// Calculates strength and vibration of a bracket set.
///
/// # Errors
/// Anything of [`StrengthError`]: all name the part and what to do.
pub fn run(
    model: &Model,
    options: &Options,
    progress: &mut dyn Progress,
) -> Result<Strength, StrengthError> {
    model.validate()?;
    let mut finer: Vec<Vec<(Point, f64)>> = vec![Vec::new(); model.plates.len()];
    let mut history: Vec<Peaks> = Vec::new();
    let mut passes: Vec<Pass> = Vec::new();
    let mut number = 1;
    loop {
        progress.begins(Stage::Mesh, number);
        let built = build(model, &options.mesh, &finer)?;
        let unknowns = 3 * built.structure.nodes.len() + 6 * built.structure.bodies.len();
        if unknowns > options.unknowns {
            return Err(StrengthError::TooLarge {
                unknowns,
                limit: options.unknowns,
            });
        }
        let places = places(model, &built);
        let system = System::new(&built.structure, number, progress)?;
        progress.begins(Stage::Solve, number);
        let mass = Mass::new(&built.structure, &system.rules);
        let loads = loads(model, &built, &mass);
        let displacements = system.solve(&loads)?;
        progress.begins(Stage::Recover, number);
        let stresses = recover(&built.structure, &system.rules, &displacements);
        let peaks = peaks(&places, &stresses);
        let changes = history
            .last()
            .map(|before| plate_changes(before, &peaks, model.plates.len()));
        let settled: Vec<bool> = changes
            .iter()
            .flatten()
            .map(|c| *c <= options.peak_change)
            .collect();
        passes.push(Pass {
            elements: built.structure.wedges.len(),
            unknowns: system.reduction.unknowns,
            factor_entries: system.factor.entries(),
            peak_change: changes
                .as_ref()
                .map(|c| c.iter().copied().fold(0.0, f64::max)),
            energy_error: stresses
                .iter()
                .map(|s| s.relative_error(|_| true))
                .fold(0.0, f64::max),
        });
        history.push(peaks.clone());
        let converged = model.cases.is_empty() || changes.is_some() && settled.iter().all(|is| *is);
        let asked = if converged || number >= options.passes {
            0
        } else {
            finer_edges(
                model,
                &built,
                (&places, &stresses, history.last().unwrap_or(&peaks)),
                &settled,
                &mut finer,
            )
        };
        // A next mesh that would pass the limit is not tried: what is known now is reported as it is.
        let next = unknowns as f64
            * (1.0 + 3.0 * asked as f64 / built.structure.wedges.len().max(1) as f64);
        if asked > 0 && next < options.unknowns as f64 {
            number += 1;
            continue;
        }
        progress.begins(Stage::Modes, number);
        let modes = system.modes(&mass, options.modes)?;
        progress.begins(Stage::Judge, number);
        let shapes: Vec<Vec<f64>> = modes
            .iter()
            .map(|m| system.reduction.expand(&built.structure, &m.shape, false))
            .collect();
        let hz: Vec<f64> = modes.iter().map(super::modes::Mode::hz).collect();
        let reactions = system.tied_reactions(&displacements, &loads);
        let solved = Solved {
            places,
            loads,
            displacements,
            stresses,
            peaks,
            built: built.clone(),
        };
        return Ok(judge::report(
            model,
            options,
            &solved,
            &judge::Found {
                passes: &passes,
                converged,
                changes: changes.as_deref(),
                history: &history,
                reactions: &reactions,
                mass: &mass,
                hz: &hz,
                shapes: &shapes,
            },
        ));
    }
}

/// Each case's load on all places (three a node, six a body).
fn loads(model: &Model, built: &Built, mass: &Mass) -> Vec<Vec<f64>> {
    let s = &built.structure;
    let axes = [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]];
    let masses = axes.map(|d| mass.apply(&translation(s, d)));
    model
        .cases
        .iter()
        .map(|case| load(model, built, &masses, case))
        .collect()
}

/// One case's load; `masses` is mass times a unit translation along each axis.
fn load(model: &Model, built: &Built, masses: &[Vec<f64>; 3], case: &LoadCase) -> Vec<f64> {
    let s = &built.structure;
    let g = case.weight_factor * GRAVITY_MM_S2;
    let [x, y, z] = masses;
    let mut f: Vec<f64> = x
        .iter()
        .zip(y)
        .zip(z)
        .map(|((x, y), z)| g.x * x + g.y * y + g.z * z)
        .collect();
    for force in &case.forces {
        if let Some(body) = built.group(model, &force.on) {
            let m = force.moment_nm * 1e3;
            add_force(
                s,
                &mut f,
                body,
                [force.at.x, force.at.y, force.at.z],
                [force.force_n.x, force.force_n.y, force.force_n.z],
                [m.x, m.y, m.z],
            );
        }
    }
    f
}
