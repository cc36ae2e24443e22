//! Variants: each with its own accessories, block, drive and hoses on plates that all of them share.
//!
//! Variants that differ in hoses alone share one build: its layout, drive, joints and everything that
//! stands on the engine are worked out once, and only the hoses are measured for each of them.

mod shared;
mod views;

use std::sync::Arc;

use rayon::prelude::*;

use crate::bolting::{self, Bolted, Bolting};
use crate::bracket;
use crate::diag::{Code, Diag, Severity, Sink, Spot};
use crate::drive::{self, Analysis, Drive};
use crate::fitup::{self, Assembly};
use crate::layout::{self, Layout, Parts};
use crate::mounting;
use crate::params::job::VariantSpec;
use crate::params::{Failure, Loaded};
use crate::parts::{self, Kit};
use crate::platework::{self, DriveSlots, MadePlate};
use crate::rules::{self, Finding};
use crate::run;
use crate::strength::Progress;
use crate::surroundings::{self, Ground, Near};
use crate::tables::belt;
use crate::tol;

use super::{Project, Strength};

pub use views::{View, as_it_stands};

/// Name of the job as it stands, before any variant changes it.
pub const BASE: &str = "base";

/// A job with a variant's replacements made, laid out.
#[derive(Debug, Clone)]
struct Build {
    loaded: Loaded,
    layout: Layout,
    faults: Vec<Diag>,
}

/// A job with all its variants on shared plates.
#[derive(Debug)]
pub struct Fleet {
    /// The job as it stands first, then the variants in job order.
    pub views: Vec<View>,
    /// The variants as the job lists them; builds carry the job without its list.
    specs: Vec<VariantSpec>,
    /// What the variants come to; the job as it stands first.
    builds: Vec<Build>,
    /// Plates with the holes of every variant that uses them.
    shared: Vec<MadePlate>,
    shared_faults: Vec<Diag>,
    /// What the plate rules say of them; the same for every variant.
    pub plate_findings: Vec<Finding>,
}

/// What one variant comes to.
#[derive(Debug, Clone)]
pub struct Outcome {
    /// Every rule measured, worst first; variants share what is the same for them.
    pub findings: Vec<Arc<Finding>>,
    /// What is near what, least room first.
    pub near: Vec<Arc<Near>>,
}

type Analysed = Option<(Drive, Analysis)>;

/// A build worked out as far as its variants have it in common.
struct Worked {
    plates: Vec<MadePlate>,
    drive: Analysed,
    bolting: Bolting,
    /// The order in which the set goes together; hoses come last and change nothing of it.
    assembly: Assembly,
    /// Faults met on the way.
    faults: Vec<Diag>,
}

impl Worked {
    fn sources<'a>(&'a self, build: &'a Build) -> surroundings::Sources<'a> {
        surroundings::Sources {
            loaded: &build.loaded,
            layout: &build.layout,
            plates: &self.plates,
            bolting: &self.bolting,
            drive: self.drive.as_ref(),
        }
    }
}

impl Fleet {
    /// Lays every variant out and makes the plates they share.
    #[must_use]
    pub fn of(loaded: Loaded) -> Self {
        let mut all = loaded.job.clone();
        let (views, loaded) = views::views(loaded);
        let builds: Vec<Build> = loaded.into_par_iter().map(lay_out).collect();
        let mut sink = Sink::new();
        let base = &builds[0].loaded;
        let layouts: Vec<&Layout> = builds.iter().map(|b| &b.layout).collect();
        let places = shared::places(&views, &layouts);
        // Nothing but plates is needed of this layout: each variant has its own.
        all.plates.retain(|p| places.contains_key(&p.id));
        let layout = Layout {
            placed: Vec::new(),
            holes: Vec::new(),
            plates: all
                .plates
                .iter()
                .filter_map(|p| places.get(&p.id).cloned())
                .collect(),
            joints: Vec::new(),
        };
        let parts = Parts {
            job: &all,
            block: &base.block,
            accessories: &base.accessories,
            stocks: &base.stocks,
        };
        let mut shared =
            platework::make(&parts, &layout, &base.shop, &DriveSlots::new(), &mut sink);
        let mounted: Vec<mounting::View<'_>> = builds
            .iter()
            .map(|b| mounting::View {
                layout: &b.layout,
                block: &b.loaded.block,
            })
            .collect();
        mounting::mark_mixups(&mut shared, &mounted, &base.shop, &all.revision);
        let plate_findings = rules::run(&shared, &base.shop, &base.stocks);
        Self {
            shared_faults: sink.sorted(),
            views,
            specs: std::mem::take(&mut all.variants),
            builds,
            shared,
            plate_findings,
        }
    }

    /// Place of a variant in [`Self::views`].
    #[must_use]
    pub fn index_of(&self, name: &str) -> Option<usize> {
        self.views.iter().position(|v| v.name == name)
    }

    /// The places in [`Self::views`] of the variants built alike, for each way the set is built; the job as it stands first.
    #[must_use]
    pub fn alike(&self) -> Vec<Vec<usize>> {
        let mut out = vec![Vec::new(); self.builds.len()];
        for (i, view) in self.views.iter().enumerate() {
            out[view.build].push(i);
        }
        out
    }

    /// Names of the variants at some places of [`Self::views`].
    #[must_use]
    pub fn names(&self, places: &[usize]) -> Vec<String> {
        let names = places.iter().map(|&i| self.views[i].name.clone());
        names.collect()
    }

    /// Name and revision of the job.
    #[must_use]
    pub fn job(&self) -> (&str, &str) {
        let job = &self.builds[0].loaded.job;
        (&job.name, &job.revision)
    }

    /// One variant taken all the way to findings.
    ///
    /// # Errors
    ///
    /// A [`Failure`] where the variant contradicts itself.
    pub fn project(
        &self,
        i: usize,
        strength: Option<&mut dyn Progress>,
    ) -> Result<Project, Failure> {
        let mut sink = Sink::new();
        let View {
            name, build, hoses, ..
        } = self.views[i].clone();
        let mut built = self.builds[build].clone();
        built.loaded.job.hoses = hoses;
        built.loaded.job.variants.clone_from(&self.specs);
        let worked = self.worked(build, &mut sink);
        let near = surroundings::measure(&worked.sources(&built));
        let kit = self.kit(i);
        let mut findings = self.standing_findings(build, &worked);
        findings.extend(rules::gaps::findings(&near, &built.loaded));
        let several = self.views.len() > 1;
        let errors = |d: &Diag| d.severity == Severity::Error;
        let sound = !sink.has_errors()
            && !self.shared_faults.iter().any(errors)
            && !built.faults.iter().any(errors);
        let strength = match strength {
            // A set that cannot be built has no strength to calculate.
            Some(progress) if sound => {
                let sources = bracket::Sources {
                    loaded: &built.loaded,
                    layout: &built.layout,
                    plates: &worked.plates,
                    drive: worked.drive.as_ref().map(|(d, a)| (d, a)),
                };
                let (strength, measured) = super::calculated(&sources, progress);
                findings.extend(measured);
                strength
            }
            _ => Strength::Skipped,
        };
        let Build {
            loaded,
            layout,
            faults,
        } = built;
        let mut diags = loaded.findings.clone();
        diags.extend(faults);
        diags.extend(self.shared_faults.iter().cloned());
        if !sink.has_errors() && !diags.iter().any(errors) {
            rules::accept(&mut findings, &loaded.job, &mut sink);
            // A deviation may be for another variant: whether it is idle shows with one alone.
            if !several {
                let measured = |rule: &str| {
                    !matches!(strength, Strength::Skipped) || rules::strength::rule(rule).is_none()
                };
                rules::idle_deviations(&loaded.job, &measured, &findings, &mut sink);
            }
        }
        rules::rank(&mut findings);
        diags.extend(sink.sorted());
        if diags.iter().any(errors) {
            return Err(Failure {
                findings: diags,
                sources: loaded.sources,
            });
        }
        let Worked {
            plates,
            drive,
            bolting,
            assembly,
            ..
        } = worked;
        let alike = if several {
            self.names(&self.alike()[build])
        } else {
            Vec::new()
        };
        Ok(Project {
            variant: name,
            alike,
            loaded,
            layout,
            plates,
            drive,
            strength,
            bolting,
            kit,
            near,
            assembly,
            findings,
            diags,
        })
    }

    /// Every variant taken to findings, strength left out; what variants have in common is worked out once.
    ///
    /// `done` is told after each variant. Faults of a variant's input take the place of its findings.
    pub fn judge_all(&self, done: &(dyn Fn() + Sync)) -> Vec<Result<Outcome, Vec<Diag>>> {
        let builds: Vec<usize> = (0..self.builds.len()).collect();
        let worked: Vec<Worked> = builds
            .par_iter()
            .map(|&b| {
                let mut sink = Sink::new();
                let mut worked = self.worked(b, &mut sink);
                worked.faults = self.builds[b]
                    .faults
                    .iter()
                    .chain(&self.shared_faults)
                    .cloned()
                    .chain(sink.sorted())
                    .filter(|d| d.severity == Severity::Error)
                    .collect();
                worked
            })
            .collect();
        let sources: Vec<surroundings::Sources<'_>> = worked
            .iter()
            .zip(&self.builds)
            .map(|(w, b)| w.sources(b))
            .collect();
        let grounds = Ground::of_all(&sources);
        let standing: Vec<Vec<Arc<Finding>>> = builds
            .par_iter()
            .map(|&b| {
                let mut findings = self.standing_findings(b, &worked[b]);
                let loaded = &self.builds[b].loaded;
                findings.extend(rules::gaps::findings(grounds[b].standing(), loaded));
                judged(findings, loaded)
            })
            .collect();
        self.views
            .par_iter()
            .map(|view| {
                let b = view.build;
                let out = if worked[b].faults.is_empty() {
                    let loaded = &self.builds[b].loaded;
                    let near = grounds[b].near_hoses(&view.hoses);
                    let findings = judged(rules::gaps::findings(&near, loaded), loaded);
                    Ok(Outcome {
                        findings: merged(&standing[b], findings, rules::order),
                        near: merged(grounds[b].standing(), near, Near::order),
                    })
                } else {
                    Err(worked[b].faults.clone())
                };
                done();
                out
            })
            .collect()
    }

    /// Deviations that accept nothing in any variant, as findings; none where a variant could not be judged.
    #[must_use]
    pub fn idle_deviations(&self, outcomes: &[Result<Outcome, Vec<Diag>>]) -> Vec<Diag> {
        let mut sink = Sink::new();
        if let Ok(judged) = outcomes
            .iter()
            .map(Result::as_ref)
            .collect::<Result<Vec<_>, _>>()
        {
            let measured = |rule: &str| rules::strength::rule(rule).is_none();
            let all = judged.iter().flat_map(|o| &o.findings).map(Arc::as_ref);
            rules::idle_deviations(&self.builds[0].loaded.job, &measured, all, &mut sink);
        }
        sink.sorted()
    }

    /// Plates, drive and joints of a build.
    fn worked(&self, build: usize, sink: &mut Sink) -> Worked {
        let Build { loaded, layout, .. } = &self.builds[build];
        let plates = self.plates_of(build);
        let sources = run::Sources {
            loaded,
            layout,
            plates: &plates,
        };
        let drive = run::drive_of(&sources, sink).and_then(|d| analysed(loaded, d, sink));
        let sources = bolting::Sources {
            loaded,
            layout,
            plates: &plates,
            drive: drive.as_ref(),
        };
        let bolting = bolting::work_out(&sources, sink);
        let assembly = fitup::assemble(&surroundings::Sources {
            loaded,
            layout,
            plates: &plates,
            bolting: &bolting,
            drive: drive.as_ref(),
        });
        Worked {
            plates,
            drive,
            bolting,
            assembly,
            faults: Vec::new(),
        }
    }

    /// The shared plates as one build has them: on its planes, with the holes it uses as its own.
    fn plates_of(&self, build: usize) -> Vec<MadePlate> {
        let layout = &self.builds[build].layout;
        self.shared
            .iter()
            .filter_map(|m| {
                let place = layout.plates.iter().find(|p| p.id == m.plate.id)?;
                let mut mine = m.clone();
                mine.plate.frame = place.frame;
                if self.views.len() > 1 {
                    mine.holes
                        .retain(|h| place.holes.iter().any(|own| shared::is_same(h, own)));
                    // A merged hole keeps one variant's name for it; each variant knows its own.
                    for h in &mut mine.holes {
                        if let Some(own) = place.holes.iter().find(|o| {
                            o.at.distance(h.at) <= tol::INPUT_GRID_MM
                                && (o.diameter_mm - h.diameter_mm).abs() <= tol::RULE_MM
                        }) {
                            h.target = own.target.clone();
                        }
                    }
                }
                Some(mine)
            })
            .collect()
    }

    /// Findings of a build but for its gaps.
    fn standing_findings(&self, build: usize, worked: &Worked) -> Vec<Finding> {
        let mut findings = self.plate_findings.clone();
        if let Some((_, analysis)) = &worked.drive {
            let spot = run::spot(&self.builds[build].loaded);
            findings.extend(rules::belt::findings(analysis, spot));
        }
        findings.extend(rules::bolts::findings(&worked.bolting));
        let spot = set_spot(&self.builds[build].loaded);
        findings.extend(rules::assembly::findings(&worked.assembly, spot));
        findings
    }

    /// What all variants together are made of; the one at `shown` is the package's.
    ///
    /// Faults of a variant are told where it is judged; here it counts with what it has.
    fn kit(&self, shown: usize) -> Kit {
        let gathered: Vec<(Vec<MadePlate>, Vec<Bolted>, Option<f64>)> = (0..self.builds.len())
            .into_par_iter()
            .map(|b| {
                let mut quiet = Sink::new();
                let Build { loaded, layout, .. } = &self.builds[b];
                let plates = self.plates_of(b);
                let sources = bolting::Sources {
                    loaded,
                    layout,
                    plates: &plates,
                    drive: None,
                };
                let bolted = bolting::fasteners(&sources, &mut quiet);
                let given = loaded.job.drive.as_ref().and_then(|d| d.length_mm);
                // Without a length of its own a drive takes that of its drawn path.
                let belt_mm = given.or_else(|| {
                    let sources = run::Sources {
                        loaded,
                        layout,
                        plates: &plates,
                    };
                    let drive = run::drive_of(&sources, &mut quiet)?;
                    let (_, analysis) = analysed(loaded, drive, &mut quiet)?;
                    Some(analysis.belt.effective_length_mm)
                });
                (plates, bolted, belt_mm)
            })
            .collect();
        let sets: Vec<parts::Set<'_>> = self
            .views
            .iter()
            .map(|view| {
                let (plates, bolted, belt_mm) = &gathered[view.build];
                parts::Set {
                    variant: &view.name,
                    loaded: &self.builds[view.build].loaded,
                    layout: &self.builds[view.build].layout,
                    plates,
                    bolted,
                    belt_mm: *belt_mm,
                }
            })
            .collect();
        Kit::of(&sets, shown)
    }
}

/// Where the set is written: its first plate.
fn set_spot(loaded: &Loaded) -> Spot {
    loaded.job.plates.first().map_or(Spot::NOWHERE, |p| p.spot)
}

/// Findings under the job's deviations, worst first, to be shared.
fn judged(mut findings: Vec<Finding>, loaded: &Loaded) -> Vec<Arc<Finding>> {
    rules::accept(&mut findings, &loaded.job, &mut Sink::new());
    rules::rank(&mut findings);
    findings.into_iter().map(Arc::new).collect()
}

/// Two sorted lists as one.
fn merged<T>(
    common: &[Arc<T>],
    own: Vec<Arc<T>>,
    order: impl Fn(&T, &T) -> std::cmp::Ordering,
) -> Vec<Arc<T>> {
    let mut out = Vec::with_capacity(common.len() + own.len());
    let mut common = common.iter().peekable();
    for mine in own {
        while let Some(next) = common.next_if(|c| order(c, &mine).is_le()) {
            out.push(Arc::clone(next));
        }
        out.push(mine);
    }
    out.extend(common.cloned());
    out
}

fn analysed(loaded: &Loaded, drive: Drive, sink: &mut Sink) -> Analysed {
    let stocked = belt::stocked_lengths_mm(&drive.belt.section.name);
    match drive::analyse(&drive, stocked) {
        Ok(analysis) => Some((drive, analysis)),
        Err(faults) => {
            super::push_faults(&faults, loaded, sink);
            None
        }
    }
}

fn lay_out(loaded: Loaded) -> Build {
    let mut sink = Sink::new();
    let parts = Parts {
        job: &loaded.job,
        block: &loaded.block,
        accessories: &loaded.accessories,
        stocks: &loaded.stocks,
    };
    let mut layout = layout::lay_out(&parts, &mut sink);
    let slots = super::drive_slots(&loaded, &layout, &mut sink);
    for hole in layout.plates.iter_mut().flat_map(|p| &mut p.holes) {
        if let Some(slot) = slots.get(&hole.target) {
            hole.slot = Some(slot.track);
        }
    }
    Build {
        loaded,
        layout,
        faults: sink.sorted(),
    }
}

/// A finding for a variant the job does not have.
pub(super) fn unknown(loaded: &Loaded, name: &str) -> Diag {
    let names = || loaded.job.variants.iter().map(|v| v.name.as_str());
    let diag = Diag::new(
        Code::UnknownReference,
        format!("the job has no variant `{name}`"),
    );
    if let Some(n) = crate::params::nearest::nearest(name, names()) {
        return diag.help(format!("did you mean `{n}`?"));
    }
    let all: Vec<&str> = std::iter::once(BASE).chain(names()).collect();
    diag.help(format!("it has {}", all.join(", ")))
}
