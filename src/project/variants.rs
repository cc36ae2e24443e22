//! Variants: each with its own accessories, block, drive and hoses on plates that all of them share.

use std::collections::BTreeMap;

use rayon::prelude::*;

use crate::bolting::{self, Bolted, Bolting};
use crate::bracket;
use crate::diag::{Code, Diag, Severity, Sink, Spot};
use crate::drive::{self, Analysis, Drive};
use crate::fitup::{self, Assembly};
use crate::layout::{self, Layout, Parts, PlateHole, PlatePlace};
use crate::mounting;
use crate::params::job::{HoleRef, RunStop, VariantSpec};
use crate::params::{Failure, Loaded};
use crate::parts::{self, Kit};
use crate::platework::{self, DriveSlots, MadePlate};
use crate::rules::{self, Finding};
use crate::run;
use crate::strength::Progress;
use crate::surroundings::{self, Near};
use crate::tables::belt;
use crate::tol;

use super::{Project, Strength};

/// Name of the job as it stands, before any variant changes it.
pub const BASE: &str = "base";

/// One variant: the job with its replacements made.
#[derive(Debug, Clone)]
pub struct View {
    /// Name; [`BASE`] for the job as it stands.
    pub name: String,
    /// What a person calls it.
    pub title: String,
    /// The files with the variant's replacements made.
    pub loaded: Loaded,
}

/// A variant laid out.
#[derive(Debug)]
struct Laid {
    layout: Layout,
    faults: Vec<Diag>,
}

/// A job with all its variants on shared plates.
#[derive(Debug)]
pub struct Fleet {
    /// The job as it stands first, then the variants in job order.
    pub views: Vec<View>,
    laid: Vec<Laid>,
    /// Plates with the holes of every variant that uses them.
    shared: Vec<MadePlate>,
    shared_faults: Vec<Diag>,
    /// What the plate rules say of them; the same for every variant.
    pub plate_findings: Vec<Finding>,
}

/// What one variant comes to.
#[derive(Debug)]
pub struct Outcome {
    /// Every rule measured, worst first.
    pub findings: Vec<Finding>,
    /// What is near what, least room first.
    pub near: Vec<Near>,
}

type Analysed = Option<(Drive, Analysis)>;

impl Fleet {
    /// Lays every variant out and makes the plates they share.
    #[must_use]
    pub fn of(loaded: Loaded) -> Self {
        let full = loaded.job.clone();
        let views = views(loaded);
        let laid: Vec<Laid> = views.par_iter().map(lay_out).collect();
        let mut sink = Sink::new();
        let base = &views[0].loaded;
        let places = shared_places(&views, &laid);
        // Nothing but plates is needed of this layout: each variant has its own.
        let mut all = full;
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
        let mounted: Vec<mounting::View<'_>> = views
            .iter()
            .zip(&laid)
            .map(|(v, l)| mounting::View {
                layout: &l.layout,
                block: &v.loaded.block,
            })
            .collect();
        mounting::mark_mixups(&mut shared, &mounted, &base.shop, &all.revision);
        let plate_findings = rules::run(&shared, &base.shop, &base.stocks);
        Self {
            shared_faults: sink.sorted(),
            views,
            laid,
            shared,
            plate_findings,
        }
    }

    /// Place of a variant in [`Self::views`].
    #[must_use]
    pub fn index_of(&self, name: &str) -> Option<usize> {
        self.views.iter().position(|v| v.name == name)
    }

    /// One variant taken all the way to findings.
    ///
    /// # Errors
    ///
    /// A [`Failure`] where the variant contradicts itself.
    pub fn project(
        mut self,
        i: usize,
        strength: Option<&mut dyn Progress>,
    ) -> Result<Project, Failure> {
        let mut sink = Sink::new();
        let plates = self.plates_of(i);
        let drive = self
            .drive_input(i, &plates, &mut sink)
            .and_then(|d| analysed(&self.views[i].loaded, d, &mut sink));
        let bolting = self.bolting(i, &plates, drive.as_ref(), &mut sink);
        let near = self.near(i, &plates, &bolting, drive.as_ref());
        let kit = self.kit(i);
        let assembly = self.assembly(i, &plates, &bolting, drive.as_ref());
        let mut findings = self.findings(i, drive.as_ref(), &bolting, &near, &assembly);
        let several = self.views.len() > 1;
        let sound = !sink.has_errors()
            && self
                .shared_faults
                .iter()
                .all(|d| d.severity != Severity::Error)
            && self.laid[i]
                .faults
                .iter()
                .all(|d| d.severity != Severity::Error);
        let strength = match strength {
            // A set that cannot be built has no strength to calculate.
            Some(progress) if sound => {
                let sources = bracket::Sources {
                    loaded: &self.views[i].loaded,
                    layout: &self.laid[i].layout,
                    plates: &plates,
                    drive: drive.as_ref().map(|(d, a)| (d, a)),
                };
                let (strength, measured) = super::calculated(&sources, progress);
                findings.extend(measured);
                strength
            }
            _ => Strength::Skipped,
        };
        let View { loaded, name, .. } = self.views.swap_remove(i);
        let laid = self.laid.swap_remove(i);
        let mut diags = loaded.findings.clone();
        diags.extend(laid.faults);
        diags.extend(self.shared_faults);
        if !sink.has_errors() && diags.iter().all(|d| d.severity != Severity::Error) {
            // A deviation may be for another variant: whether it is idle shows with one alone.
            let mut idle = Sink::new();
            let measured = |rule: &str| {
                !matches!(strength, Strength::Skipped) || rules::strength::rule(rule).is_none()
            };
            rules::accept(
                &mut findings,
                &loaded.job,
                &measured,
                if several { &mut idle } else { &mut sink },
            );
        }
        rules::rank(&mut findings);
        diags.extend(sink.sorted());
        if diags.iter().any(|d| d.severity == Severity::Error) {
            return Err(Failure {
                findings: diags,
                sources: loaded.sources,
            });
        }
        Ok(Project {
            variant: name,
            loaded,
            layout: laid.layout,
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

    /// What all variants together are made of; the one at `shown` is the package's.
    ///
    /// Faults of a variant are told where it is judged; here it counts with what it has.
    fn kit(&self, shown: usize) -> Kit {
        let gathered: Vec<(Vec<MadePlate>, Vec<Bolted>, Option<f64>)> = (0..self.views.len())
            .into_par_iter()
            .map(|i| {
                let mut quiet = Sink::new();
                let plates = self.plates_of(i);
                let bolted = bolting::fasteners(&self.bolting_sources(i, &plates, None), &mut quiet);
                let loaded = &self.views[i].loaded;
                let given = loaded.job.drive.as_ref().and_then(|d| d.length_mm);
                // Without a length of its own a drive takes that of its drawn path.
                let belt_mm = given.or_else(|| {
                    let drive = self.drive_input(i, &plates, &mut quiet)?;
                    let (_, analysis) = analysed(loaded, drive, &mut quiet)?;
                    Some(analysis.belt.effective_length_mm)
                });
                (plates, bolted, belt_mm)
            })
            .collect();
        let sets: Vec<parts::Set<'_>> = gathered
            .iter()
            .enumerate()
            .map(|(i, (plates, bolted, belt_mm))| parts::Set {
                variant: &self.views[i].name,
                loaded: &self.views[i].loaded,
                layout: &self.laid[i].layout,
                plates,
                bolted,
                belt_mm: *belt_mm,
            })
            .collect();
        Kit::of(&sets, shown)
    }

    /// Every variant taken to findings; equal drives and equal joints are worked out once.
    ///
    /// `done` is told after each variant. Faults of a variant's input take the place of its findings.
    pub fn judge_all(&self, done: &(dyn Fn() + Sync)) -> Vec<Result<Outcome, Vec<Diag>>> {
        let plates: Vec<Vec<MadePlate>> = (0..self.views.len())
            .into_par_iter()
            .map(|i| self.plates_of(i))
            .collect();
        let inputs: Vec<(Option<Drive>, Vec<Diag>)> = (0..self.views.len())
            .into_par_iter()
            .map(|i| {
                let mut sink = Sink::new();
                let drive = self.drive_input(i, &plates[i], &mut sink);
                (drive, sink.sorted())
            })
            .collect();
        let (drive_of, drives) = distinct(&inputs, |a, b| a.0 == b.0);
        let analysed: Vec<(Analysed, Vec<Diag>)> = drives
            .par_iter()
            .map(|&i| {
                let mut sink = Sink::new();
                let out = inputs[i]
                    .0
                    .clone()
                    .and_then(|d| analysed(&self.views[i].loaded, d, &mut sink));
                (out, sink.sorted())
            })
            .collect();
        let indices: Vec<usize> = (0..self.views.len()).collect();
        let (joints_of, joints) = distinct(&indices, |&a, &b| {
            drive_of[a] == drive_of[b]
                && self.laid[a].layout == self.laid[b].layout
                && self.views[a].loaded.block.name == self.views[b].loaded.block.name
        });
        let bolted: Vec<(Bolting, Assembly, Vec<Diag>)> = joints
            .par_iter()
            .map(|&i| {
                let mut sink = Sink::new();
                let drive = analysed[drive_of[i]].0.as_ref();
                let b = self.bolting(i, &plates[i], drive, &mut sink);
                let assembly = self.assembly(i, &plates[i], &b, drive);
                (b, assembly, sink.sorted())
            })
            .collect();
        indices
            .par_iter()
            .map(|&i| {
                let (drive, drive_faults) = &analysed[drive_of[i]];
                let (bolting, assembly, joint_faults) = &bolted[joints_of[i]];
                let near = self.near(i, &plates[i], bolting, drive.as_ref());
                let mut findings = self.findings(i, drive.as_ref(), bolting, &near, assembly);
                let measured = |rule: &str| rules::strength::rule(rule).is_none();
                rules::accept(
                    &mut findings,
                    &self.views[i].loaded.job,
                    &measured,
                    &mut Sink::new(),
                );
                rules::rank(&mut findings);
                let faults: Vec<Diag> = self.laid[i]
                    .faults
                    .iter()
                    .chain(&self.shared_faults)
                    .chain(&inputs[i].1)
                    .chain(drive_faults)
                    .chain(joint_faults)
                    .filter(|d| d.severity == Severity::Error)
                    .cloned()
                    .collect();
                done();
                if faults.is_empty() {
                    Ok(Outcome { findings, near })
                } else {
                    Err(faults)
                }
            })
            .collect()
    }

    /// The shared plates as one variant sees them: on its planes, with the holes it uses as its own.
    fn plates_of(&self, i: usize) -> Vec<MadePlate> {
        let laid = &self.laid[i];
        self.shared
            .iter()
            .filter_map(|m| {
                let place = laid.layout.plates.iter().find(|p| p.id == m.plate.id)?;
                let mut mine = m.clone();
                mine.plate.frame = place.frame;
                let name = &self.views[i].name;
                if self.views.len() > 1 {
                    mine.holes
                        .retain(|h| h.variants.is_empty() || h.variants.contains(name));
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

    fn drive_input(&self, i: usize, plates: &[MadePlate], sink: &mut Sink) -> Option<Drive> {
        let sources = run::Sources {
            loaded: &self.views[i].loaded,
            layout: &self.laid[i].layout,
            plates,
        };
        run::drive_of(&sources, sink)
    }

    fn bolting(
        &self,
        i: usize,
        plates: &[MadePlate],
        drive: Option<&(Drive, Analysis)>,
        sink: &mut Sink,
    ) -> Bolting {
        bolting::work_out(&self.bolting_sources(i, plates, drive), sink)
    }

    fn bolting_sources<'a>(
        &'a self,
        i: usize,
        plates: &'a [MadePlate],
        drive: Option<&'a (Drive, Analysis)>,
    ) -> bolting::Sources<'a> {
        bolting::Sources {
            loaded: &self.views[i].loaded,
            layout: &self.laid[i].layout,
            plates,
            drive,
        }
    }

    fn near(
        &self,
        i: usize,
        plates: &[MadePlate],
        bolting: &Bolting,
        drive: Option<&(Drive, Analysis)>,
    ) -> Vec<Near> {
        surroundings::measure(&surroundings::Sources {
            loaded: &self.views[i].loaded,
            layout: &self.laid[i].layout,
            plates,
            bolting,
            drive,
        })
    }

    /// The order a variant's set goes together in.
    fn assembly(
        &self,
        i: usize,
        plates: &[MadePlate],
        bolting: &Bolting,
        drive: Option<&(Drive, Analysis)>,
    ) -> Assembly {
        fitup::assemble(&surroundings::Sources {
            loaded: &self.views[i].loaded,
            layout: &self.laid[i].layout,
            plates,
            bolting,
            drive,
        })
    }

    fn findings(
        &self,
        i: usize,
        drive: Option<&(Drive, Analysis)>,
        bolting: &Bolting,
        near: &[Near],
        assembly: &Assembly,
    ) -> Vec<Finding> {
        let loaded = &self.views[i].loaded;
        let mut findings = self.plate_findings.clone();
        if let Some((_, analysis)) = drive {
            findings.extend(rules::belt::findings(analysis, run::spot(loaded)));
        }
        findings.extend(rules::bolts::findings(bolting));
        findings.extend(rules::gaps::findings(near, loaded));
        findings.extend(rules::assembly::findings(assembly, set_spot(loaded)));
        findings
    }
}

/// Where the set is written: its first plate.
fn set_spot(loaded: &Loaded) -> Spot {
    loaded.job.plates.first().map_or(Spot::NOWHERE, |p| p.spot)
}

/// For each item the number of the first equal one, and the places of those firsts.
fn distinct<T>(items: &[T], same: impl Fn(&T, &T) -> bool) -> (Vec<usize>, Vec<usize>) {
    let mut firsts: Vec<usize> = Vec::new();
    let of = items
        .iter()
        .enumerate()
        .map(|(i, item)| {
            firsts
                .iter()
                .position(|&f| same(&items[f], item))
                .unwrap_or_else(|| {
                    firsts.push(i);
                    firsts.len() - 1
                })
        })
        .collect();
    (of, firsts)
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

fn lay_out(view: &View) -> Laid {
    let mut sink = Sink::new();
    let loaded = &view.loaded;
    let parts = Parts {
        job: &loaded.job,
        block: &loaded.block,
        accessories: &loaded.accessories,
        stocks: &loaded.stocks,
    };
    let mut layout = layout::lay_out(&parts, &mut sink);
    let slots = super::drive_slots(loaded, &layout, &mut sink);
    for hole in layout.plates.iter_mut().flat_map(|p| &mut p.holes) {
        if let Some(slot) = slots.get(&hole.target) {
            hole.slot = Some(slot.track);
        }
    }
    Laid {
        layout,
        faults: sink.sorted(),
    }
}

/// The job as it stands and every variant, each with its replacements made.
fn views(loaded: Loaded) -> Vec<View> {
    let variants = loaded.job.variants.clone();
    let mut out = Vec::with_capacity(variants.len() + 1);
    for v in &variants {
        out.push(View {
            name: v.name.clone(),
            title: v.title.clone(),
            loaded: mounted(replaced(&loaded, v)),
        });
    }
    out.insert(
        0,
        View {
            name: BASE.to_owned(),
            title: loaded.job.title.clone(),
            loaded: if variants.is_empty() {
                loaded
            } else {
                mounted(loaded)
            },
        },
    );
    out
}

/// The job with a variant's replacements made.
fn replaced(base: &Loaded, v: &VariantSpec) -> Loaded {
    let mut l = base.clone();
    if let Some(block) = v.block.as_ref().and_then(|b| base.variant_blocks.get(b)) {
        l.block = block.clone();
        l.job.block.clone_from(&block.name);
    }
    let gone = |owner: &str| v.without.iter().any(|w| w == owner);
    l.job.placed.retain(|p| !gone(&p.id));
    for p in &mut l.job.placed {
        if let Some(file) = v.replace.get(&p.id) {
            p.accessory.clone_from(file);
        }
    }
    for swap in &v.pulleys {
        if swap.on.owner == "block" {
            for fixed in l.block.pulleys.iter_mut().filter(|p| p.id == swap.on.id) {
                fixed.pulley = swap.pulley;
            }
        } else if let Some(p) = l.job.placed.iter_mut().find(|p| p.id == swap.on.owner)
            && let Some(mut own) = l.accessories.get(&p.accessory).cloned()
        {
            own.pulley = Some(swap.pulley);
            // A name no file can have: others may use the file as it is.
            p.accessory = format!("{} of {}", p.accessory, p.id);
            l.accessories.insert(p.accessory.clone(), own);
        }
    }
    for h in &mut l.job.hoses {
        if let Some(mm) = v.hoses.get(&h.id) {
            h.diameter_mm = *mm;
        }
    }
    if let Some(d) = &mut l.job.drive {
        if let Some(run) = &v.run {
            d.run.clone_from(run);
        }
        d.run.retain(|stop: &RunStop| !gone(&stop.pulley.owner));
        if d.fit_last.as_ref().is_some_and(|f| gone(&f.owner)) {
            d.fit_last = None;
        }
        if v.belt_mm.is_some() {
            d.length_mm = v.belt_mm;
        }
    }
    l
}

/// The job without the holes nothing offers, and without plates whose accessories are all gone.
fn mounted(mut l: Loaded) -> Loaded {
    let offered = |t: &HoleRef| {
        if t.owner == "block" {
            return l.block.holes.iter().any(|h| h.id == t.id);
        }
        l.job
            .placed
            .iter()
            .find(|p| p.id == t.owner)
            .and_then(|p| l.accessories.get(&p.accessory))
            .is_some_and(|a| a.mounts.iter().any(|m| m.id == t.id))
    };
    let mut plates = l.job.plates.clone();
    plates.retain_mut(|plate| {
        let carried = plate.takes.iter().any(|t| t.target.owner != "block");
        plate.takes.retain(|t| offered(&t.target));
        !carried || plate.takes.iter().any(|t| t.target.owner != "block")
    });
    l.job.plates = plates;
    l
}

/// Every plate with the holes of all variants that use it.
///
/// Holes that coincide in place, size and purpose are one hole; each tells its
/// variants where it does not serve all of them.
fn shared_places(views: &[View], laid: &[Laid]) -> BTreeMap<String, PlatePlace> {
    let mut out: BTreeMap<String, PlatePlace> = BTreeMap::new();
    for (view, laid) in views.iter().zip(laid) {
        for place in &laid.layout.plates {
            let shared = out.entry(place.id.clone()).or_insert_with(|| PlatePlace {
                holes: Vec::new(),
                ..place.clone()
            });
            for hole in &place.holes {
                if let Some(same) = shared.holes.iter_mut().find(|h| is_same(h, hole)) {
                    merge(same, hole, &view.name);
                } else {
                    let mut own = hole.clone();
                    own.variants = vec![view.name.clone()];
                    if shared.holes.iter().any(|h| h.name == own.name) {
                        own.name = format!("{} of {}", own.name, view.name);
                    }
                    shared.holes.push(own);
                }
            }
        }
    }
    for place in out.values_mut() {
        let users = views
            .iter()
            .zip(laid)
            .filter(|(_, l)| l.layout.plates.iter().any(|p| p.id == place.id))
            .count();
        for h in &mut place.holes {
            if h.variants.len() == users {
                h.variants.clear();
            }
        }
    }
    out
}

fn is_same(a: &PlateHole, b: &PlateHole) -> bool {
    a.at.distance(b.at) <= tol::INPUT_GRID_MM
        && a.made == b.made
        && a.thread == b.thread
        && (a.diameter_mm - b.diameter_mm).abs() <= tol::RULE_MM
        && a.slot == b.slot
        && a.counterbore == b.counterbore
}

/// One hole for two: metal and seats of the wider.
fn merge(into: &mut PlateHole, other: &PlateHole, variant: &str) {
    into.variants.push(variant.to_owned());
    into.boss_mm = into.boss_mm.max(other.boss_mm);
    for (mine, theirs) in [
        (&mut into.front, &other.front),
        (&mut into.back, &other.back),
    ] {
        let wider = theirs
            .as_ref()
            .is_some_and(|t| mine.as_ref().is_none_or(|m| t.diameter_mm > m.diameter_mm));
        if wider {
            mine.clone_from(theirs);
        }
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
