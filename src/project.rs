//! The whole way of a job, in one place: read, lay out, make, judge.

pub mod variants;

use std::path::Path;

use crate::bolting::Bolting;
use crate::diag::{Code, Diag, Sink, Sources};
use crate::drive::{self, Analysis, Drive, TakeUp, takeup};
use crate::feature::SlotTrack;
use crate::layout::Layout;
use crate::params::job::HoleRef;
use crate::params::spec::Designations;
use crate::params::{self, Disk, Failure, Loaded, Lookup};
use crate::platework::{DriveSlots, MadePlate, SlotTrackInEngine};
use crate::rules::Finding;
use crate::run;
use crate::surroundings::Near;
use crate::tables::{Materials, PropertyClasses, Threads};

use variants::Fleet;

/// A job with everything computed from it.
#[derive(Debug)]
pub struct Project {
    /// Which variant it is; [`variants::BASE`] for the job as it stands.
    pub variant: String,
    /// The files as read.
    pub loaded: Loaded,
    /// Where everything is.
    pub layout: Layout,
    /// Plates as made.
    pub plates: Vec<MadePlate>,
    /// The belt drive, if the job has one: as laid out, and what follows from it.
    pub drive: Option<(Drive, Analysis)>,
    /// Every fastener worked out, with what it carries.
    pub bolting: Bolting,
    /// What is near what, least room first.
    pub near: Vec<Near>,
    /// Every rule measured, worst first.
    pub findings: Vec<Finding>,
    /// What was found in the input on the way that does not keep it from being used.
    pub diags: Vec<Diag>,
}

/// A lookup on this machine's disk that knows what the tables name.
#[must_use]
pub fn disk() -> Lookup<Disk> {
    let mut lookup = Lookup::new(Disk);
    lookup.known = designations();
    lookup
}

/// Names that the compiled-in tables know.
#[must_use]
pub fn designations() -> Designations {
    let mut threads: Vec<String> = Threads::standard()
        .rows()
        .iter()
        .map(|t| t.name.clone())
        .collect();
    let coarse: Vec<String> = Threads::standard()
        .rows()
        .iter()
        .map(crate::tables::Thread::size)
        .collect();
    threads.extend(coarse);
    threads.sort();
    threads.dedup();
    let mut materials: Vec<String> = Materials::standard()
        .rows()
        .iter()
        .flat_map(|m| {
            std::iter::once(m.name.clone()).chain(m.aliases.split(';').map(str::to_owned))
        })
        .filter(|n| !n.is_empty())
        .collect();
    materials.sort();
    materials.dedup();
    let mut classes: Vec<String> = PropertyClasses::standard()
        .rows()
        .iter()
        .map(|c| c.class.clone())
        .collect();
    classes.sort();
    classes.dedup();
    Designations {
        threads,
        materials,
        property_classes: classes,
    }
}

/// Opens the job at `path` and takes it all the way to findings.
///
/// # Errors
///
/// A [`Failure`] with every fault of the input at once.
pub fn open(path: &Path) -> Result<Project, Failure> {
    build(params::open(path, &disk())?)
}

/// Takes an opened job to findings.
///
/// # Errors
///
/// A [`Failure`] where the job contradicts itself: a stack that cannot be
/// built, an outline that cannot be closed.
pub fn build(loaded: Loaded) -> Result<Project, Failure> {
    Fleet::of(loaded).project(0)
}

/// Opens one variant of the job at `path`; the job as it stands without a name.
///
/// # Errors
///
/// As [`open`]; a variant the job does not have is a finding too.
pub fn open_variant(path: &Path, variant: Option<&str>) -> Result<Project, Failure> {
    let loaded = params::open(path, &disk())?;
    let Some(name) = variant else {
        return build(loaded);
    };
    let known = name == variants::BASE || loaded.job.variants.iter().any(|v| v.name == name);
    if !known {
        let mut findings = loaded.findings.clone();
        findings.push(variants::unknown(&loaded, name));
        return Err(Failure {
            findings,
            sources: loaded.sources,
        });
    }
    let fleet = Fleet::of(loaded);
    let i = fleet.index_of(name).unwrap_or(0);
    fleet.project(i)
}

/// The slot that a manual take-up needs, by the hole that slides in it.
fn drive_slots(loaded: &Loaded, layout: &Layout, sink: &mut Sink) -> DriveSlots {
    let mut slots = DriveSlots::new();
    // Faults of the run itself are reported once, when the drive is analysed.
    let mut quiet = Sink::new();
    let sources = run::Sources {
        loaded,
        layout,
        plates: &[],
    };
    let Some(drive) = run::drive_of(&sources, &mut quiet) else {
        return slots;
    };
    let (TakeUp::Manual(_), Some(hole)) = (&drive.take_up, sliding_hole(loaded)) else {
        return slots;
    };
    match takeup::range(&drive) {
        Ok(Some(range)) => {
            if let Some(slot) = range.slot {
                slots.insert(
                    hole,
                    SlotTrackInEngine {
                        track: match slot {
                            takeup::Slot::Arc {
                                pivot_mm,
                                track_mm,
                                start_deg,
                                end_deg,
                            } => SlotTrack::Arc {
                                pivot: pivot_mm,
                                radius_mm: track_mm,
                                start_rad: start_deg.to_radians(),
                                end_rad: end_deg.to_radians(),
                            },
                            takeup::Slot::Straight { from_mm, to_mm } => SlotTrack::Straight {
                                from: from_mm,
                                to: to_mm,
                            },
                        },
                    },
                );
            }
        }
        Ok(None) => {}
        Err(faults) => push_faults(&faults, loaded, sink),
    }
    slots
}

/// The hole of a manual take-up that moves along the slot, if a plate asks for its slot.
fn sliding_hole(loaded: &Loaded) -> Option<HoleRef> {
    loaded
        .job
        .plates
        .iter()
        .flat_map(|p| &p.takes)
        .find(|t| t.slot == Some(params::SlotSpec::Drive))
        .map(|t| t.target.clone())
}

fn push_faults(faults: &drive::Faults, loaded: &Loaded, sink: &mut Sink) {
    for fault in &faults.faults {
        sink.push(
            Diag::new(Code::NoPath, fault.to_string()).labelled(run::spot(loaded), "in this drive"),
        );
    }
}

impl Project {
    /// The files read, to show lines of them.
    #[must_use]
    pub fn sources(&self) -> &Sources {
        &self.loaded.sources
    }

    /// Name of the shop package: `<job>-<revision>`, with the variant's name where it is one.
    #[must_use]
    pub fn package_name(&self) -> String {
        let job = &self.loaded.job;
        if self.variant == variants::BASE {
            format!("{}-{}", job.name, job.revision)
        } else {
            format!("{}-{}-{}", job.name, job.revision, self.variant)
        }
    }
}
