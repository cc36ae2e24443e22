//! The variants of a job with their replacements made; those that differ in hoses alone share one build.

use crate::params::Loaded;
use crate::params::job::{BackFace, HoleRef, HoseSpec, RunStop, VariantSpec};

use super::BASE;

/// One variant: a build of the job and the hoses beside it.
#[derive(Debug, Clone)]
pub struct View {
    /// Name; [`BASE`] for the job as it stands.
    pub name: String,
    /// What a person calls it.
    pub title: String,
    /// Place of its build.
    pub(super) build: usize,
    /// The job's hoses with this variant's sizes.
    pub(super) hoses: Vec<HoseSpec>,
}

/// The job as it stands and every variant, and the different builds they come to.
///
/// Builds carry the job without its list of variants.
pub(super) fn views(mut loaded: Loaded) -> (Vec<View>, Vec<Loaded>) {
    let variants = std::mem::take(&mut loaded.job.variants);
    let hoses = loaded.job.hoses.clone();
    let mut views = vec![View {
        name: BASE.to_owned(),
        title: loaded.job.title.clone(),
        build: 0,
        hoses: hoses.clone(),
    }];
    if variants.is_empty() {
        return (views, vec![loaded]);
    }
    let mut builds = vec![mounted(loaded.clone())];
    let mut made: Vec<&VariantSpec> = Vec::new();
    for v in &variants {
        let build = if changes_hoses_only(v) {
            0
        } else if let Some(same) = made.iter().position(|m| builds_alike(m, v)) {
            same + 1
        } else {
            made.push(v);
            builds.push(mounted(replaced(&loaded, v)));
            made.len()
        };
        let sized = |h: &HoseSpec| HoseSpec {
            diameter_mm: v.hoses.get(&h.id).copied().unwrap_or(h.diameter_mm),
            ..h.clone()
        };
        views.push(View {
            name: v.name.clone(),
            title: v.title.clone(),
            build,
            hoses: hoses.iter().map(sized).collect(),
        });
    }
    (views, builds)
}

/// The job as it stands, its variants and what only they mount left out.
#[must_use]
pub fn as_it_stands(mut loaded: Loaded) -> Loaded {
    if loaded.job.variants.is_empty() {
        return loaded;
    }
    loaded.job.variants.clear();
    mounted(loaded)
}

/// Whether two variants come to the same build: what they replace but hoses is the same.
fn builds_alike(a: &VariantSpec, b: &VariantSpec) -> bool {
    let pulleys = |v: &VariantSpec| -> Vec<_> {
        let swaps = v.pulleys.iter();
        swaps.map(|s| (s.on.clone(), s.pulley)).collect()
    };
    let run = |v: &VariantSpec| -> Option<Vec<_>> {
        let stop = |s: &RunStop| (s.pulley.clone(), s.back, s.least_wrap_deg);
        Some(v.run.as_ref()?.iter().map(stop).collect())
    };
    (&a.block, &a.replace, &a.without, a.belt_mm, &a.spacers)
        == (&b.block, &b.replace, &b.without, b.belt_mm, &b.spacers)
        && pulleys(a) == pulleys(b)
        && run(a) == run(b)
}

fn changes_hoses_only(v: &VariantSpec) -> bool {
    v.block.is_none()
        && v.replace.is_empty()
        && v.without.is_empty()
        && v.pulleys.is_empty()
        && v.belt_mm.is_none()
        && v.run.is_none()
        && v.spacers.is_empty()
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
    for plate in &mut l.job.plates {
        if let (Some(mm), BackFace::On { plus_mm, .. }) =
            (v.spacers.get(&plate.id), &mut plate.back)
        {
            *plus_mm = *mm;
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
