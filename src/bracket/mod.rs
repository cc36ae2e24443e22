//! The bracket set as the strength calculation takes it: a job's plates, joints, accessories and loads as one model.
//!
//! ```text
//! layout, plates, drive -> clamping (rings, spacers), bodies, loading -> strength::Model
//! ```

mod bodies;
mod clamping;
mod loading;
mod material;

use thiserror::Error;

use crate::diag::Spot;
use crate::drive::{Analysis, Drive};
use crate::layout::Layout;
use crate::params::Loaded;
use crate::platework::MadePlate;
use crate::strength::mesh::MeshOptions;
use crate::strength::model::PlatePart;
use crate::strength::{self, Model, Options, Progress, Strength, StrengthError};

pub use loading::{IDLE, TOP};
pub use material::{RELIABILITY_99, SPACER_MATERIAL, SURFACE};

/// What a bracket model is made from.
#[derive(Debug, Clone, Copy)]
pub struct Sources<'a> {
    /// The files.
    pub loaded: &'a Loaded,
    /// Where everything is.
    pub layout: &'a Layout,
    /// Plates as made.
    pub plates: &'a [MadePlate],
    /// The belt drive and what follows from it.
    pub drive: Option<(&'a Drive, &'a Analysis)>,
}

/// A calculated set: what was asked and what was answered.
#[derive(Debug, Clone, PartialEq)]
pub struct Calculated {
    /// The model.
    pub model: Model,
    /// The answer.
    pub strength: Strength,
}

/// Why a set could not be calculated.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum BracketError {
    /// The materials table has no row for a thing.
    #[error("the materials table has no `{material}` of {thickness_mm} mm for {part}")]
    NoMaterial {
        /// Designation asked for.
        material: String,
        /// Thickness or diameter, mm.
        thickness_mm: f64,
        /// What is made of it, such as ``plate `upper` ``.
        part: String,
    },
    /// Two plates without a hole for the same joint, or a hole that was not made.
    #[error("joint `{joint}` passes plate `{plate}`, which has no hole for it")]
    NoHole {
        /// Joint.
        joint: String,
        /// Plate.
        plate: String,
    },
    /// The calculation's own refusal.
    #[error(transparent)]
    Strength(#[from] StrengthError),
}

/// Meshes from the finest to the coarsest: the first whose unknowns fit is used.
///
/// Two layers through the thickness, because with one the stress beside a clamp reads a quarter
/// low; 12 edges round a hole, which the next passes refine where the stress is. The coarse one
/// is for sets several times as large as usual.
const MESHES: [MeshOptions; 2] = [
    MeshOptions {
        edge_mm: 24.0,
        edges_per_turn: 12,
        growth: 0.7,
        layers: 2,
        edges_per_gap: 1.0,
    },
    MeshOptions {
        edge_mm: 30.0,
        edges_per_turn: 12,
        growth: 0.6,
        layers: 1,
        edges_per_gap: 0.7,
    },
];

/// Passes over the mesh, at most: one to find where the stress is, the others refined there.
const PASSES: usize = 4;

/// Change of a peak between the passes up to which it counts as settled: the usual 5 % target of
/// adaptive meshing (Zienkiewicz & Zhu, Int. J. Numer. Meth. Engng 24 (1987) 337–357).
const PEAK_CHANGE: f64 = 0.05;

/// How thoroughly a set is calculated, on one of [`MESHES`].
fn options(mesh: MeshOptions) -> Options {
    Options {
        mesh,
        passes: PASSES,
        peak_change: PEAK_CHANGE,
        ..Options::default()
    }
}

/// The strength model of a set.
///
/// # Errors
///
/// [`BracketError`] for a material or hole that is missing.
pub fn model(s: &Sources<'_>) -> Result<Model, BracketError> {
    let plates = s
        .plates
        .iter()
        .map(|m| {
            Ok(PlatePart {
                material: material::of(
                    &m.plate.material,
                    m.plate.thickness_mm,
                    &format!("plate `{}`", m.plate.id),
                )?,
                plate: m.plate.clone(),
            })
        })
        .collect::<Result<Vec<_>, BracketError>>()?;
    let mut model = Model {
        plates,
        bodies: bodies::bodies(s),
        ..Model::default()
    };
    clamping::clamp(s, &mut model)?;
    loading::load(s, &mut model);
    Ok(model)
}

/// Models a set and calculates it.
///
/// # Errors
///
/// [`BracketError`]: what cannot be calculated, in the words of the person who can mend it.
pub fn calculate(s: &Sources<'_>, progress: &mut dyn Progress) -> Result<Calculated, BracketError> {
    let model = model(s)?;
    let [fine, coarse] = MESHES;
    let strength = match strength::run(&model, &options(fine), progress) {
        Err(StrengthError::TooLarge { .. }) => strength::run(&model, &options(coarse), progress),
        other => other,
    }?;
    Ok(Calculated { model, strength })
}

/// The part an error names and where that is written; the job's first plate where it names none.
#[must_use]
pub fn place_of(error: &BracketError, s: &Sources<'_>) -> (String, Spot) {
    let text = error.to_string();
    let names = |id: &str| text.contains(&format!("`{id}`"));
    let plate = s
        .plates
        .iter()
        .find(|m| names(&m.plate.id))
        .map(|m| (m.plate.id.clone(), m.spot));
    let accessory = || {
        let job = &s.loaded.job;
        job.placed
            .iter()
            .find(|p| names(&p.id))
            .map(|p| (p.id.clone(), p.spot))
    };
    plate.or_else(accessory).unwrap_or_else(|| {
        s.plates
            .first()
            .map_or(("set".to_owned(), Spot::NOWHERE), |m| {
                ("set".to_owned(), m.spot)
            })
    })
}
