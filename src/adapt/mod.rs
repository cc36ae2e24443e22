//! Adapting a job to another accessory: where the existing plates hold it, else the smallest new plates that do.

mod carrier;
mod edit;
mod existing;
mod verdicts;

use serde::Serialize;

use crate::diag::{Severity, Sink, Spot};
use crate::geom::Point3;
use crate::layout::EngineHole;
use crate::layout::place::{mount_hole, place};
use crate::params::Loaded;
use crate::params::accessory::Accessory;
use crate::params::job::{HoleRef, PlateSpec, Take};
use crate::platework::MadePlate;
use crate::project::Project;
use crate::project::variants::{Fleet, as_it_stands};
use crate::tol;

use verdicts::Verdicts;

pub use edit::{EditError, next_revision, revised};
pub use verdicts::Broken;

/// How one mount of the new accessory is held.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Held {
    /// The mount.
    pub mount: String,
    /// The plate that takes it.
    pub plate: String,
    /// How.
    pub how: How,
    /// Spacers of its stack, mm, low to high.
    pub spacers_mm: Vec<f64>,
}

/// What a plate needs for a mount.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum How {
    /// A hole that is there serves.
    Serves,
    /// A hole is drilled into metal that is there.
    Drill,
    /// The plate grows a boss.
    Grow,
    /// A new plate carries it.
    NewPlate,
}

impl How {
    /// In words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Serves => "a hole that is there serves",
            Self::Drill => "drill a hole into metal that is there",
            Self::Grow => "the plate must grow a boss for it",
            Self::NewPlate => "on the new plate",
        }
    }
}

/// The change a job needs to hold another accessory.
#[derive(Debug, Clone)]
pub struct Plan {
    /// The placed accessory that is replaced.
    pub placed: String,
    /// Name of the accessory file that takes its place.
    pub with: String,
    /// How each mount is held, in the file's order.
    pub held: Vec<Held>,
    /// Takes added to existing plates: plate and take.
    pub added: Vec<(String, Take)>,
    /// Takes of the old accessory that stay, since a variant's accessory needs them.
    pub kept: Vec<HoleRef>,
    /// Plates that carried only the old accessory and go.
    pub removed: Vec<String>,
    /// New plates, one a direction of mounts, where the existing ones cannot hold it.
    pub new_plates: Vec<PlateSpec>,
    /// Rules that the change breaks, in any variant: those that hold in the job as it was.
    pub broken: Vec<Broken>,
    /// Rules that fail with the change and failed before it too, over all variants.
    pub failed_before: usize,
    /// Layouts tried.
    pub tried: usize,
}

/// Why no change can be proposed.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum AdaptError {
    /// The job places nothing of that name.
    #[error("the job places nothing as `{0}`")]
    NotPlaced(String),
    /// The accessory has no mounts, or sits nowhere.
    #[error(
        "accessory `{0}` cannot be placed there: it has no mounts, or no pulley for the drive's rib plane"
    )]
    CannotPlace(String),
    /// Neither the existing plates nor new ones lay out.
    #[error(
        "no plate on this block can hold `{with}` at `{placed}`; {tried} layouts were tried: move it, or give the block more holes"
    )]
    Nowhere {
        /// The placed accessory.
        placed: String,
        /// The new accessory.
        with: String,
        /// Layouts tried.
        tried: usize,
    },
}

/// Proposes the change that lets a job hold `with` in place of `placed`.
///
/// Of all ways to hold it on existing plates, or on a new plate for each
/// direction of its mounts, the one with fewest new plates that breaks no rule
/// in any variant; else the one that breaks fewest.
///
/// # Errors
///
/// [`AdaptError`] where nothing is placed so, or nothing can hold it.
pub fn plan(loaded: &Loaded, placed: &str, with: &Accessory) -> Result<Plan, AdaptError> {
    let mut bare = loaded.clone();
    bare.accessories.insert(with.name.clone(), with.clone());
    let Some(at) = bare.job.placed.iter_mut().find(|p| p.id == placed) else {
        return Err(AdaptError::NotPlaced(placed.to_owned()));
    };
    at.accessory.clone_from(&with.name);
    let at = at.clone();
    let cannot = || AdaptError::CannotPlace(with.name.clone());
    let there = place(&at, with, bare.job.drive.as_ref(), &mut Sink::new()).ok_or_else(cannot)?;
    let mounts: Vec<EngineHole> = with.mounts.iter().map(|m| mount_hole(&there, m)).collect();
    if mounts.is_empty() {
        return Err(cannot());
    }
    // Plates without the old accessory; its takes are patterns for mounts of the same name.
    // What a variant's own accessory needs in its place stays.
    let before = bare.job.plates.clone();
    let needed = |t: &HoleRef| {
        let others = bare
            .job
            .variants
            .iter()
            .filter_map(|v| v.replace.get(placed));
        others
            .filter_map(|name| bare.accessories.get(name))
            .any(|a| a.mounts.iter().any(|m| m.id == t.id))
    };
    let mut kept: Vec<HoleRef> = before
        .iter()
        .flat_map(|p| &p.takes)
        .map(|t| t.target.clone())
        .filter(|t| t.owner == placed && needed(t))
        .collect();
    kept.sort();
    kept.dedup();
    for p in &mut bare.job.plates {
        p.takes
            .retain(|t| t.target.owner != placed || kept.contains(&t.target));
    }
    let old = Fleet::of(loaded.clone()).project(0, None).ok();
    let search = Search {
        old_plates: old.as_ref().map_or(&[], |p| &p.plates),
        old_base: old
            .as_ref()
            .map(|p| Verdicts::of_findings(&p.findings))
            .unwrap_or_default(),
        old_all: Verdicts::of_job(loaded.clone()),
        bare: &bare,
        before: &before,
        kept: &kept,
        placed,
        with,
        at: there.frame.origin,
    };
    search.best(&mounts)
}

fn take(target: HoleRef) -> Take {
    Take {
        target,
        make: None,
        fit: None,
        boss_mm: None,
        counterbore: false,
        slot: None,
        head: None,
        spot: Spot::NOWHERE,
    }
}

/// What a search for plates knows.
struct Search<'a> {
    /// Plates as they are made for the job as it stands.
    old_plates: &'a [MadePlate],
    /// What fails in the job as it stands.
    old_base: Verdicts,
    /// What fails in any of its variants.
    old_all: Verdicts,
    /// The job with the new accessory and no hole taken for it alone.
    bare: &'a Loaded,
    /// Plates as they were.
    before: &'a [PlateSpec],
    /// Takes that variants need.
    kept: &'a [HoleRef],
    placed: &'a str,
    with: &'a Accessory,
    /// Where its local origin lies.
    at: Point3,
}

impl Search<'_> {
    /// The take written for a mount of the same name, else a plain one.
    fn pattern(&self, mount: &EngineHole) -> Take {
        self.before
            .iter()
            .flat_map(|p| &p.takes)
            .find(|t| t.target == mount.target)
            .cloned()
            .unwrap_or_else(|| take(mount.target.clone()))
    }

    /// Tries existing and new plates for each direction of mounts, fewest new plates first.
    fn best(&self, mounts: &[EngineHole]) -> Result<Plan, AdaptError> {
        let groups = by_direction(mounts);
        let mut tried = 0;
        let on_existing: Vec<Option<Vec<Held>>> = groups
            .iter()
            .map(|g| self.on_existing(g, &mut tried))
            .collect();
        let mut ways: Vec<u32> = (0..1 << groups.len()).collect();
        ways.sort_by_key(|w| (w.count_ones(), *w));
        let mut best: Option<Plan> = None;
        for way in ways {
            let Some(plan) = self.tried(way, &groups, &on_existing, &mut tried) else {
                continue;
            };
            if plan.broken.is_empty() {
                return Ok(Plan { tried, ..plan });
            }
            if best
                .as_ref()
                .is_none_or(|b| plan.broken.len() < b.broken.len())
            {
                best = Some(plan);
            }
        }
        best.map(|plan| Plan { tried, ..plan })
            .ok_or_else(|| AdaptError::Nowhere {
                placed: self.placed.to_owned(),
                with: self.with.name.clone(),
                tried,
            })
    }

    /// One way: each direction of mounts on existing plates, or on a new one where its bit is set.
    fn tried(
        &self,
        way: u32,
        groups: &[Vec<EngineHole>],
        on_existing: &[Option<Vec<Held>>],
        tried: &mut usize,
    ) -> Option<Plan> {
        let is_new = |i: usize| way & (1 << i) != 0;
        let mut trial = self.bare.clone();
        let mut held = Vec::new();
        let mut added = Vec::new();
        for (i, group) in groups.iter().enumerate().filter(|(i, _)| !is_new(*i)) {
            for (h, mount) in on_existing[i].as_ref()?.iter().zip(group) {
                held.push(h.clone());
                if self.kept.contains(&mount.target) {
                    continue;
                }
                let take = self.pattern(mount);
                if let Some(p) = trial.job.plates.iter_mut().find(|p| p.id == h.plate) {
                    p.takes.push(take.clone());
                }
                added.push((h.plate.clone(), take));
            }
        }
        let removed = self.drop_idle(&mut trial);
        let mut new_plates = Vec::new();
        for (_, group) in groups.iter().enumerate().filter(|(i, _)| is_new(*i)) {
            let spec = self.on_new_plate(&trial, group, groups.len() > 1, tried)?;
            held.extend(group.iter().map(|m| Held {
                mount: m.target.to_string(),
                plate: spec.id.clone(),
                how: How::NewPlate,
                spacers_mm: Vec::new(),
            }));
            trial.job.plates.push(spec.clone());
            new_plates.push(spec);
        }
        *tried += 1;
        let project = built(trial.clone())?;
        for h in &mut held {
            let mut joints = project.layout.joints.iter();
            let joint = joints.find(|j| j.holes.iter().any(|t| t.to_string() == h.mount));
            h.spacers_mm =
                joint.map_or_else(Vec::new, |j| j.spacers().map(|s| s.length_mm).collect());
        }
        let order = |h: &Held| {
            self.with
                .mounts
                .iter()
                .position(|m| h.mount.ends_with(&format!(".{}", m.id)))
        };
        held.sort_by_key(order);
        let after = Verdicts::of_job(trial);
        let broken = after.beyond(&self.old_all);
        Some(Plan {
            placed: self.placed.to_owned(),
            with: self.with.name.clone(),
            held,
            added,
            kept: self.kept.to_vec(),
            removed,
            new_plates,
            failed_before: after.len() - broken.len(),
            broken,
            tried: *tried,
        })
    }

    fn carried_only(&self, plate: &PlateSpec) -> bool {
        let mut owners = plate
            .takes
            .iter()
            .map(|t| t.target.owner.as_str())
            .filter(|o| *o != "block")
            .peekable();
        owners.peek().is_some() && owners.all(|o| o == self.placed)
    }

    /// Removes plates that carried only the old accessory and carry nothing now.
    fn drop_idle(&self, trial: &mut Loaded) -> Vec<String> {
        let idle: Vec<String> = self
            .before
            .iter()
            .filter(|p| self.carried_only(p))
            .map(|p| p.id.clone())
            .filter(|id| {
                trial
                    .job
                    .plates
                    .iter()
                    .any(|p| p.id == *id && p.takes.iter().all(|t| t.target.owner == "block"))
            })
            .collect();
        trial.job.plates.retain(|p| !idle.contains(&p.id));
        idle
    }
}

/// Mounts by the direction they face, in the file's order.
fn by_direction(mounts: &[EngineHole]) -> Vec<Vec<EngineHole>> {
    let mut groups: Vec<Vec<EngineHole>> = Vec::new();
    for m in mounts {
        let alike = |g: &&mut Vec<EngineHole>| {
            g[0].axis.cross(m.axis).length() <= tol::PARALLEL && g[0].axis.dot(m.axis) > 0.0
        };
        match groups.iter_mut().find(alike) {
            Some(g) => g.push(m.clone()),
            None => groups.push(vec![m.clone()]),
        }
    }
    groups
}

/// The job as it stands taken to findings, its variants left out; `None` where it cannot be built.
fn built(trial: Loaded) -> Option<Project> {
    let project = Fleet::of(as_it_stands(trial)).project(0, None).ok()?;
    project
        .diags
        .iter()
        .all(|d| d.severity != Severity::Error)
        .then_some(project)
}
