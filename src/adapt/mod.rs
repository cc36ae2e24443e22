//! Adapting a job to another accessory: where the existing plates hold it, else the smallest new plate that does.

mod edit;

use rayon::prelude::*;
use serde::Serialize;

use crate::diag::{Severity, Sink, Spot};
use crate::geom::{Frame, Point, Point3};
use crate::layout::place::{mount_hole, place};
use crate::layout::seat::Made;
use crate::layout::{EngineHole, Offer, Parts, lay_out};
use crate::params::Loaded;
use crate::params::accessory::Accessory;
use crate::params::job::{BackFace, HoleRef, PlateSpec, Take, Webs, WindowKind, WindowSpec};
use crate::project::Project;
use crate::project::variants::Fleet;
use crate::tol;

pub use edit::{EditError, next_revision, revised};

/// Longest stack of spacers by which an existing plate holds a mount, mm (common practice, no source:
/// a longer one bends its bolt).
const MOST_SPACER_MM: f64 = 45.0;

/// How far outside an existing plate a boss may grow before a new plate is proposed, mm (common practice, no source).
const MOST_GROWTH_MM: f64 = 40.0;

/// Bolts with which a new plate sits on the block, least and greatest tried.
const BLOCK_BOLTS: [usize; 2] = [3, 4];

/// Block holes tried for a new plate: those nearest its accessory.
const BLOCK_HOLES_TRIED: usize = 7;

/// Room round a nose that passes through a new plate, mm a side (common practice, no source).
const NOSE_ROOM_MM: f64 = 10.0;

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
    /// Plates that carried only the old accessory and go.
    pub removed: Vec<String>,
    /// The new plate, where the existing ones cannot hold it.
    pub new_plate: Option<PlateSpec>,
    /// Rules that fail with the change; 0 where it holds.
    pub fails: usize,
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
    /// Neither the existing plates nor a new one lays out.
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
/// # Errors
///
/// [`AdaptError`] where nothing is placed so, or nothing can hold it.
pub fn plan(old: &Project, placed: &str, with: &Accessory) -> Result<Plan, AdaptError> {
    let mut bare = old.loaded.clone();
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
    let before = bare.job.plates.clone();
    for p in &mut bare.job.plates {
        p.takes.retain(|t| t.target.owner != placed);
    }
    let pattern = |mount: &EngineHole| -> Take {
        before
            .iter()
            .flat_map(|p| &p.takes)
            .find(|t| t.target == mount.target)
            .cloned()
            .unwrap_or_else(|| take(mount.target.clone()))
    };
    let search = Search {
        old,
        bare: &bare,
        before: &before,
        placed,
        with,
        at: there.frame.origin,
    };
    let mut tried = 0;
    if let Some(plan) = search.on_existing(&mounts, &pattern, &mut tried)
        && plan.fails == 0
    {
        return Ok(plan);
    }
    search
        .on_new_plate(&mounts, &pattern, &mut tried)
        .ok_or_else(|| AdaptError::Nowhere {
            placed: placed.to_owned(),
            with: with.name.clone(),
            tried,
        })
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

struct Search<'a> {
    old: &'a Project,
    /// The job with the new accessory and no hole taken for it.
    bare: &'a Loaded,
    /// Plates as they were.
    before: &'a [PlateSpec],
    placed: &'a str,
    with: &'a Accessory,
    /// Where its local origin lies.
    at: Point3,
}

impl Search<'_> {
    fn carried_only(&self, plate: &PlateSpec) -> bool {
        let mut owners = plate
            .takes
            .iter()
            .map(|t| t.target.owner.as_str())
            .filter(|o| *o != "block")
            .peekable();
        owners.peek().is_some() && owners.all(|o| o == self.placed)
    }

    /// Each mount on the plate that needs least for it.
    fn on_existing(
        &self,
        mounts: &[EngineHole],
        pattern: &dyn Fn(&EngineHole) -> Take,
        tried: &mut usize,
    ) -> Option<Plan> {
        let mut added = Vec::new();
        let mut held = Vec::new();
        for mount in mounts {
            let mut best: Option<(How, f64, String)> = None;
            for spec in &self.bare.job.plates {
                *tried += 1;
                let Some((how, more)) = self.could_hold(spec, mount, &pattern(mount)) else {
                    continue;
                };
                let better = best
                    .as_ref()
                    .is_none_or(|(h, m, _)| how.cmp(h).then(more.total_cmp(m)).is_lt());
                if better {
                    best = Some((how, more, spec.id.clone()));
                }
            }
            let (how, _, plate) = best?;
            added.push((plate.clone(), pattern(mount)));
            held.push(Held {
                mount: mount.target.to_string(),
                plate,
                how,
                spacers_mm: Vec::new(),
            });
        }
        let mut trial = self.bare.clone();
        for (plate, take) in &added {
            if let Some(p) = trial.job.plates.iter_mut().find(|p| p.id == *plate) {
                p.takes.push(take.clone());
            }
        }
        let removed = self.drop_idle(&mut trial);
        *tried += 1;
        let project = built(trial)?;
        Some(self.plan(&project, held, added, removed, None, *tried))
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

    /// What a plate needs to hold a mount, and how far it must grow, mm; `None` where the stack cannot be built.
    fn could_hold(&self, spec: &PlateSpec, mount: &EngineHole, take: &Take) -> Option<(How, f64)> {
        let mut trial = self.bare.clone();
        for p in &mut trial.job.plates {
            p.takes
                .retain(|t| t.target.owner == "block" || p.id != spec.id);
            if p.id == spec.id {
                p.takes.push(take.clone());
            }
        }
        trial.job.plates.retain(|p| p.id == spec.id);
        let mut sink = Sink::new();
        let parts = Parts {
            job: &trial.job,
            block: &trial.block,
            accessories: &trial.accessories,
            stocks: &trial.stocks,
        };
        let layout = lay_out(&parts, &mut sink);
        if sink.has_errors() {
            return None;
        }
        let joint = layout
            .joints
            .iter()
            .find(|j| j.holes.contains(&mount.target))?;
        if joint.spacers().any(|s| s.length_mm > MOST_SPACER_MM) {
            return None;
        }
        let hole = layout
            .plates
            .first()?
            .holes
            .iter()
            .find(|h| h.target == mount.target)?;
        let made = self.old.plates.iter().find(|m| m.plate.id == spec.id)?;
        let serves = made.holes.iter().any(|h| {
            h.at.distance(hole.at) <= tol::INPUT_GRID_MM
                && h.made == hole.made
                && (h.diameter_mm - hole.diameter_mm).abs() <= tol::RULE_MM
                && hole.made != Made::Reamed
        });
        if serves {
            return Some((How::Serves, 0.0));
        }
        let inside = made.plate.outline.signed_distance(hole.at);
        // Signed distance is negative inside: metal must reach a boss radius beyond the centre.
        let missing = inside + 0.5 * hole.boss_mm;
        let open = made
            .plate
            .features
            .iter()
            .filter_map(crate::feature::Feature::footprint)
            .any(|f| {
                f.contains(hole.at) || f.nearest(hole.at).distance(hole.at) < 0.5 * hole.boss_mm
            });
        if missing <= 0.0 && !open {
            Some((How::Drill, 0.0))
        } else if missing <= MOST_GROWTH_MM {
            Some((How::Grow, missing.max(0.0)))
        } else {
            None
        }
    }

    /// The smallest new plate that holds every mount; the one with fewest failing rules where none holds all.
    fn on_new_plate(
        &self,
        mounts: &[EngineHole],
        pattern: &dyn Fn(&EngineHole) -> Take,
        tried: &mut usize,
    ) -> Option<Plan> {
        let normal = mounts.first()?.axis;
        // One plate holds mounts of one direction.
        if mounts
            .iter()
            .any(|m| m.axis.cross(normal).length() > tol::PARALLEL)
        {
            return None;
        }
        let mut bare = self.bare.clone();
        let removed = self.drop_idle(&mut bare);
        let frame = self
            .before
            .iter()
            .map(|p| p.frame)
            .find(|f| {
                f.normal.cross(normal).length() <= tol::PARALLEL && f.normal.dot(normal) > 0.0
            })
            .unwrap_or(Frame::FRONT);
        let sets = self.block_sets(&bare, frame);
        let takes: Vec<Take> = mounts
            .iter()
            .map(pattern)
            .map(|t| Take { slot: None, ..t })
            .collect();
        let mut candidates: Vec<PlateSpec> = Vec::new();
        for (stock, thickness) in self.bare.stocks.iter().map(|(n, s)| (n, s.thickness_mm)) {
            let mut heights: Vec<f64> = mounts.iter().map(|m| seat_height(m, thickness)).collect();
            heights.sort_by(f64::total_cmp);
            heights.dedup();
            for back in heights {
                for set in &sets {
                    candidates.push(self.new_plate(frame, stock, thickness, back, set, &takes));
                }
            }
        }
        *tried += candidates.len();
        let results: Vec<Option<(usize, f64, Project)>> = candidates
            .par_iter()
            .map(|spec| {
                let mut trial = bare.clone();
                trial.job.plates.push(spec.clone());
                let project = built(trial)?;
                let fails = project.findings.iter().filter(|f| f.blocks()).count();
                let mass = project
                    .plates
                    .iter()
                    .find(|m| m.plate.id == spec.id)?
                    .plate
                    .properties()
                    .mass_kg;
                Some((fails, mass, project))
            })
            .collect();
        let best = results
            .iter()
            .enumerate()
            .filter_map(|(i, r)| r.as_ref().map(|r| (i, r)))
            .min_by(|(_, a), (_, b)| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)))?;
        let spec = candidates.get(best.0)?.clone();
        let held = mounts
            .iter()
            .map(|m| Held {
                mount: m.target.to_string(),
                plate: spec.id.clone(),
                how: How::NewPlate,
                spacers_mm: Vec::new(),
            })
            .collect();
        Some(self.plan(&best.1.2, held, Vec::new(), removed, Some(spec), *tried))
    }

    /// Sets of block holes that a new plate may use: those no remaining plate takes, nearest first.
    fn block_sets(&self, bare: &Loaded, frame: Frame) -> Vec<Vec<HoleRef>> {
        let mut free: Vec<(f64, HoleRef)> = bare
            .block
            .holes
            .iter()
            .filter(|h| {
                h.axis.cross(frame.normal).length() <= tol::PARALLEL
                    && h.axis.dot(frame.normal) > 0.0
            })
            .map(|h| {
                let target = HoleRef {
                    owner: "block".to_owned(),
                    id: h.id.clone(),
                };
                let (p, _) = frame.to_plane(h.at);
                let (c, _) = frame.to_plane(self.at);
                (p.distance(c), target)
            })
            .filter(|(_, t)| {
                !bare
                    .job
                    .plates
                    .iter()
                    .any(|p| p.takes.iter().any(|x| x.target == *t))
            })
            .collect();
        free.sort_by(|a, b| a.0.total_cmp(&b.0).then_with(|| a.1.cmp(&b.1)));
        free.truncate(BLOCK_HOLES_TRIED);
        let mut out = Vec::new();
        for mask in 0_u32..(1 << free.len()) {
            if !BLOCK_BOLTS.contains(&(mask.count_ones() as usize)) {
                continue;
            }
            out.push(
                free.iter()
                    .enumerate()
                    .filter(|(i, _)| mask & (1 << i) != 0)
                    .map(|(_, (_, t))| t.clone())
                    .collect(),
            );
        }
        out
    }

    fn new_plate(
        &self,
        frame: Frame,
        stock: &str,
        thickness_mm: f64,
        back: f64,
        block: &[HoleRef],
        takes: &[Take],
    ) -> PlateSpec {
        let mut id = format!("{}-carrier", self.placed);
        while self.bare.job.plates.iter().any(|p| p.id == id) {
            id.push('x');
        }
        PlateSpec {
            title: format!("Carrier of {}", self.placed),
            id,
            frame,
            back: BackFace::At(back),
            stock: stock.to_owned(),
            process: None,
            takes: block
                .iter()
                .cloned()
                .map(take)
                .chain(takes.iter().cloned())
                .collect(),
            bosses: Vec::new(),
            webs: Webs::Hull,
            outline: Vec::new(),
            fillet_mm: None,
            features: Vec::new(),
            windows: self.nose(frame, back, thickness_mm).into_iter().collect(),
            auto_windows: None,
            quantity: 1,
            spot: Spot::NOWHERE,
        }
    }

    /// A bore for what of the accessory passes through a plate between two heights.
    fn nose(&self, frame: Frame, back: f64, thickness_mm: f64) -> Option<WindowSpec> {
        let (centre, base) = frame.to_plane(self.at);
        let (low, high) = (back - base, back - base + thickness_mm);
        let radius = self
            .with
            .bodies
            .iter()
            .filter(|b| b.z_mm.0 < high && b.z_mm.1 > low)
            .map(|b| {
                let e = b.outline.extents();
                [e.min, e.max]
                    .iter()
                    .map(|p| p.x.abs().max(p.y.abs()))
                    .fold(0.0, f64::max)
            })
            .fold(0.0, f64::max);
        (radius > 0.0 && frame.normal == crate::geom::Vector3::Z).then(|| WindowSpec {
            id: "nose".to_owned(),
            kind: WindowKind::Circle {
                at: Point::new(centre.x, centre.y),
                diameter_mm: 2.0 * (radius + NOSE_ROOM_MM),
            },
            spot: Spot::NOWHERE,
        })
    }

    fn plan(
        &self,
        project: &Project,
        mut held: Vec<Held>,
        added: Vec<(String, Take)>,
        removed: Vec<String>,
        new_plate: Option<PlateSpec>,
        tried: usize,
    ) -> Plan {
        for h in &mut held {
            let joint = project
                .layout
                .joints
                .iter()
                .find(|j| j.holes.iter().any(|t| t.to_string() == h.mount));
            h.spacers_mm =
                joint.map_or_else(Vec::new, |j| j.spacers().map(|s| s.length_mm).collect());
        }
        Plan {
            placed: self.placed.to_owned(),
            with: self.with.name.clone(),
            held,
            added,
            removed,
            new_plate,
            fails: project.findings.iter().filter(|f| f.blocks()).count(),
            tried,
        }
    }
}

/// Height of the back face of a plate that seats on a mount.
fn seat_height(mount: &EngineHole, thickness_mm: f64) -> f64 {
    match &mount.offer {
        Offer::BlockThread { face_mm, .. } => *face_mm,
        // Behind the foremost ear.
        Offer::Ears { spans_mm, .. } => spans_mm.last().map_or(0.0, |s| s.0) - thickness_mm,
        Offer::ThreadedEar {
            span_mm,
            from_below,
            ..
        } => {
            if *from_below {
                span_mm.0 - thickness_mm
            } else {
                span_mm.1
            }
        }
        Offer::Pad {
            span_mm, face_low, ..
        } => {
            if *face_low {
                span_mm.0 - thickness_mm
            } else {
                span_mm.1
            }
        }
    }
}

/// A trial taken to findings; `None` where it cannot be built.
fn built(mut trial: Loaded) -> Option<Project> {
    // Variants are judged by `fit`; here only the job as it stands matters.
    trial.job.variants.clear();
    let project = Fleet::of(trial).project(0, None).ok()?;
    project
        .diags
        .iter()
        .all(|d| d.severity != Severity::Error)
        .then_some(project)
}
