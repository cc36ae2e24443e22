//! The whole way of a job, in one place: read, lay out, make, judge.

use std::path::Path;

use crate::diag::{Diag, Severity, Sink, Sources};
use crate::layout::{self, Layout, Parts};
use crate::params::spec::Designations;
use crate::params::{self, Disk, Failure, Loaded, Lookup};
use crate::platework::{self, DriveSlots, MadePlate};
use crate::rules::{self, Finding};
use crate::tables::{Materials, PropertyClasses, Threads};

/// A job with everything computed from it.
#[derive(Debug)]
pub struct Project {
    /// The files as read.
    pub loaded: Loaded,
    /// Where everything is.
    pub layout: Layout,
    /// Plates as made.
    pub plates: Vec<MadePlate>,
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
    let mut sink = Sink::new();
    let parts = Parts {
        job: &loaded.job,
        block: &loaded.block,
        accessories: &loaded.accessories,
        stocks: &loaded.stocks,
    };
    let layout = layout::lay_out(&parts, &mut sink);
    let slots = DriveSlots::new();
    let plates = platework::make(&parts, &layout, &loaded.shop, &slots, &mut sink);
    let mut findings = rules::run(&plates, &loaded.shop, &loaded.stocks);
    if !sink.has_errors() {
        rules::accept(&mut findings, &loaded.job, &mut sink);
    }
    rules::rank(&mut findings);
    let mut diags = loaded.findings.clone();
    diags.extend(sink.sorted());
    if diags.iter().any(|d| d.severity == Severity::Error) {
        return Err(Failure {
            findings: diags,
            sources: loaded.sources,
        });
    }
    Ok(Project {
        loaded,
        layout,
        plates,
        findings,
        diags,
    })
}

impl Project {
    /// The files read, to show lines of them.
    #[must_use]
    pub fn sources(&self) -> &Sources {
        &self.loaded.sources
    }

    /// Name of the shop package: `<job>-<revision>`.
    #[must_use]
    pub fn package_name(&self) -> String {
        format!("{}-{}", self.loaded.job.name, self.loaded.job.revision)
    }
}
