//! The whole way of a job, in one place: read, lay out, make, judge.

pub mod variants;

use std::path::Path;
use std::sync::Arc;

use crate::bolting::Bolting;
use crate::bracket::{self, BracketError, Calculated};
use crate::diag::{Code, Diag, Sink, Sources};
use crate::drive::{self, Analysis, Drive, Motion, TakeUp, takeup};
use crate::feature::SlotTrack;
use crate::fitup::Assembly;
use crate::geom::Point;
use crate::layout::Layout;
use crate::params::job::{HoleRef, Take};
use crate::params::spec::Designations;
use crate::params::{self, Disk, Failure, Loaded, Lookup};
use crate::parts::Kit;
use crate::platework::{DriveSlots, MadePlate, SlotTrackInEngine};
use crate::rules::{self, Finding};
use crate::run;
use crate::strength::Progress;
use crate::surroundings::Near;
use crate::tables::{Materials, PropertyClasses, Threads};

use variants::Fleet;

/// A job with everything computed from it.
#[derive(Debug)]
pub struct Project {
    /// Which variant it is; [`variants::BASE`] for the job as it stands.
    pub variant: String,
    /// It and the variants that differ from it in hoses alone: they are built alike. Empty without variants.
    pub alike: Vec<String>,
    /// The files as read.
    pub loaded: Loaded,
    /// Where everything is.
    pub layout: Layout,
    /// Plates as made.
    pub plates: Vec<MadePlate>,
    /// The belt drive, if the job has one: as laid out, and what follows from it.
    pub drive: Option<(Drive, Analysis)>,
    /// Strength and vibration of the set.
    pub strength: Strength,
    /// Every fastener worked out, with what it carries.
    pub bolting: Bolting,
    /// What the set and all its variants are made of.
    pub kit: Kit,
    /// What is near what, least room first.
    pub near: Vec<Arc<Near>>,
    /// The order in which the set goes together.
    pub assembly: Assembly,
    /// Every rule measured, worst first.
    pub findings: Vec<Finding>,
    /// What was found in the input on the way that does not keep it from being used.
    pub diags: Vec<Diag>,
}

/// What is known of a set's strength and vibration.
#[derive(Debug)]
pub enum Strength {
    /// It was not asked for.
    Skipped,
    /// It was asked for and could not be calculated; a finding says so too.
    Refused(BracketError),
    /// It was calculated.
    Calculated(Box<Calculated>),
}

impl Strength {
    /// The calculation, if there is one.
    #[must_use]
    pub fn calculated(&self) -> Option<&Calculated> {
        match self {
            Self::Calculated(c) => Some(c),
            Self::Skipped | Self::Refused(_) => None,
        }
    }
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

/// Opens the job at `path` and takes it to findings, strength left out.
///
/// # Errors
///
/// A [`Failure`] with every fault of the input at once.
pub fn open(path: &Path) -> Result<Project, Failure> {
    build(params::open(path, &disk())?, None)
}

/// Opens the job at `path` and takes it all the way to findings, strength and vibration among them.
///
/// # Errors
///
/// A [`Failure`] with every fault of the input at once.
pub fn open_with_strength(path: &Path, progress: &mut dyn Progress) -> Result<Project, Failure> {
    build(params::open(path, &disk())?, Some(progress))
}

/// Takes an opened job to findings; with somebody to tell the progress to, strength and vibration too.
///
/// # Errors
///
/// A [`Failure`] where the job contradicts itself: a stack that cannot be
/// built, an outline that cannot be closed.
pub fn build(loaded: Loaded, strength: Option<&mut dyn Progress>) -> Result<Project, Failure> {
    Fleet::of(loaded).project(0, strength)
}

/// Opens one variant of the job at `path`; the job as it stands without a name.
///
/// # Errors
///
/// As [`open`]; a variant the job does not have is a finding too.
pub fn open_variant(
    path: &Path,
    variant: Option<&str>,
    strength: Option<&mut dyn Progress>,
) -> Result<Project, Failure> {
    let loaded = params::open(path, &disk())?;
    let Some(name) = variant else {
        return build(loaded, strength);
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
    fleet.project(i, strength)
}

/// Strength and vibration with their findings.
fn calculated(
    sources: &bracket::Sources<'_>,
    progress: &mut dyn Progress,
) -> (Strength, Vec<Finding>) {
    match bracket::calculate(sources, progress) {
        Ok(done) => {
            let findings = rules::strength::findings(&done, sources);
            (Strength::Calculated(Box::new(done)), findings)
        }
        Err(e) => {
            let findings = rules::strength::refused(&e, sources);
            (Strength::Refused(e), findings)
        }
    }
}

/// The slots that a manual take-up needs, by the hole that slides.
fn drive_slots(loaded: &Loaded, layout: &Layout, sink: &mut Sink) -> DriveSlots {
    let mut slots = DriveSlots::new();
    let mut asked = following(loaded).peekable();
    if asked.peek().is_none() {
        return slots;
    }
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
    let range = match takeup::range(&drive) {
        Ok(range) => range,
        Err(faults) => {
            push_faults(&faults, loaded, sink);
            return slots;
        }
    };
    for take in asked {
        let moved = moves(loaded, &take.target);
        match (&range, moved) {
            (Some(range), true) => match (&range.slot, layout.hole(&take.target)) {
                (Some(slot), Some(hole)) => {
                    let track = track_at(slot, &drive.take_up, Point::new(hole.at.x, hole.at.y));
                    slots.insert(take.target.clone(), SlotTrackInEngine { track });
                }
                _ => sink.push(no_slot(&take.target, range).labelled(take.spot, "for this hole")),
            },
            _ => sink.push(
                Diag::new(
                    Code::SlotWithoutTakeUp,
                    format!(
                        "the slot of `{}` follows the drive, whose take-up does not move that hole",
                        take.target
                    ),
                )
                .labelled(take.spot, "this hole stands still")
                .help("give the slot's ends, or name the hole in `take-up`"),
            ),
        }
    }
    slots
}

/// Holes whose slot is to be as long as the drive's take-up asks.
fn following(loaded: &Loaded) -> impl Iterator<Item = &Take> {
    loaded
        .job
        .plates
        .iter()
        .flat_map(|p| &p.takes)
        .filter(|t| t.slot == Some(params::SlotSpec::Drive))
}

/// Whether the job's take-up moves the bolt of a hole along a slot.
fn moves(loaded: &Loaded, hole: &HoleRef) -> bool {
    let take_up = loaded.job.drive.as_ref().and_then(|d| d.take_up.as_ref());
    match take_up {
        Some(params::TakeUp::Swing { adjust, .. }) => adjust == hole,
        Some(params::TakeUp::Slide { accessory, .. }) => *accessory == hole.owner,
        None => false,
    }
}

/// Why the take-up has no slot, as a finding.
fn no_slot(hole: &HoleRef, range: &takeup::TakeUpRange) -> Diag {
    let why: Vec<String> = range
        .needs
        .iter()
        .filter_map(|n| Some(format!("{}: {}", n.what, n.fault.as_ref()?)))
        .collect();
    Diag::new(
        Code::NoPath,
        format!("no slot of `{hole}` takes the belt up ({})", why.join("; ")),
    )
    .help("choose another belt length, or place the accessory elsewhere")
}

/// The take-up's slot at a hole that moves with it, engine frame.
///
/// A swing has one bolt; an accessory that slides moves all of its bolts alike.
fn track_at(slot: &takeup::Slot, take_up: &TakeUp, hole: Point) -> SlotTrack {
    match *slot {
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
        takeup::Slot::Straight { from_mm, to_mm } => {
            let drawn = match take_up {
                TakeUp::Manual(m) => match m.motion {
                    Motion::Slide { bolt, .. } | Motion::Swing { bolt, .. } => bolt,
                },
                _ => from_mm,
            };
            SlotTrack::Straight {
                from: from_mm + (hole - drawn),
                to: to_mm + (hole - drawn),
            }
        }
    }
}

fn push_faults(faults: &drive::Faults, loaded: &Loaded, sink: &mut Sink) {
    for fault in &faults.faults {
        let said = fault.to_string();
        // Faults name pulleys in quotes, as the run does.
        let mut named = loaded
            .job
            .drive
            .iter()
            .flat_map(|d| &d.run)
            .filter(|stop| said.contains(&format!("`{}`", run::name(stop))));
        let diag = Diag::new(Code::NoPath, said.clone());
        let diag = match named.next() {
            None => diag.labelled(run::spot(loaded), "in this drive"),
            Some(first) => named.fold(diag.labelled(first.spot, run::name(first)), |d, stop| {
                d.also(stop.spot, run::name(stop))
            }),
        };
        sink.push(diag.help(
            "look at the places of these pulleys, their order in `run` and the side they are on",
        ));
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
