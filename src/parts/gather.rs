//! The parts of one variant's set, each with its places.

use std::collections::BTreeMap;

use crate::bolting::Bolted;
use crate::feature::{Purpose, Shape};
use crate::joint::{End, LayerKind};
use crate::layout::stack::SPACER_MATERIAL;
use crate::layout::{Layout, SpacerSize};
use crate::order::Name;
use crate::params::Loaded;
use crate::params::job::Placed;
use crate::params::pulley::Pulley;
use crate::platework::MadePlate;
use crate::units::plain;

use super::{Item, Kind, Kit, Spec};

/// One variant's set, as the list reads it.
#[derive(Debug, Clone, Copy)]
pub struct Set<'a> {
    /// The variant's name.
    pub variant: &'a str,
    /// Its files, replacements made.
    pub loaded: &'a Loaded,
    /// Where everything is.
    pub layout: &'a Layout,
    /// Its plates.
    pub plates: &'a [MadePlate],
    /// Its fasteners.
    pub bolted: &'a [Bolted],
    /// Effective length of its belt, mm, if it has one.
    pub belt_mm: Option<f64>,
}

impl Kit {
    /// The kit of all variants, the one at `shown` being the package's.
    #[must_use]
    pub fn of(sets: &[Set<'_>], shown: usize) -> Self {
        let mut all: BTreeMap<Spec, (Vec<usize>, Vec<Name>)> = BTreeMap::new();
        for (v, set) in sets.iter().enumerate() {
            for (spec, count, place) in parts(set) {
                let (counts, places) = all
                    .entry(spec)
                    .or_insert_with(|| (vec![0; sets.len()], Vec::new()));
                counts[v] += count;
                let place = Name(place);
                if !places.contains(&place) {
                    places.push(place);
                }
            }
        }
        let items = all
            .into_iter()
            .enumerate()
            .map(|(k, (spec, (counts, mut places)))| {
                places.sort();
                Item {
                    number: k + 1,
                    spec,
                    counts,
                    places: places.into_iter().map(|n| n.0).collect(),
                }
            })
            .collect();
        Self {
            variants: sets.iter().map(|s| s.variant.to_owned()).collect(),
            shown,
            items,
        }
    }
}

/// Every part of a set: what, how many, where.
fn parts(set: &Set<'_>) -> Vec<(Spec, usize, String)> {
    let mut out = Vec::new();
    for made in set.plates {
        let n = made.quantity as usize;
        let id = &made.plate.id;
        out.push((Spec::plate(made, set.loaded), n, id.clone()));
        out.extend(own_parts(made).into_iter().map(|(s, at)| (s, n, at)));
    }
    for joint in &set.layout.joints {
        out.extend(
            joint
                .spacers()
                .map(|s| (Spec::spacer(&s), 1, joint.id.clone())),
        );
    }
    for b in set.bolted {
        out.push((Spec::bolt(b), 1, b.joint.clone()));
        out.extend(Spec::washers(b).map(|s| (s, 1, b.joint.clone())));
        out.extend(Spec::nut(b).map(|s| (s, 1, b.joint.clone())));
    }
    out.extend(Spec::belt(set.loaded, set.belt_mm).map(|s| (s, 1, "drive".to_owned())));
    for placed in &set.loaded.job.placed {
        out.extend(Spec::accessory(placed, set.loaded).map(|s| (s, 1, placed.id.clone())));
    }
    let swaps = set
        .loaded
        .job
        .variants
        .iter()
        .filter(|v| v.name == set.variant)
        .flat_map(|v| &v.pulleys);
    out.extend(swaps.map(|s| (Spec::pulley(&s.pulley), 1, s.on.to_string())));
    out
}

/// Pins and seals that belong to a plate's own features.
fn own_parts(made: &MadePlate) -> Vec<(Spec, String)> {
    let mut out = Vec::new();
    for f in &made.plate.features {
        // A reamed hole that the plate takes belongs to the accessory's own pin.
        let taken = made.holes.iter().any(|h| h.name == f.id);
        let at = format!("{} {}", made.plate.id, f.id);
        match &f.shape {
            Shape::Hole(h) if !taken && matches!(h.purpose, Purpose::Dowel { .. }) => {
                let name = format!(
                    "Parallel pin {} m6, length to suit",
                    plain(h.diameter_mm, 3)
                );
                let mut spec = Spec::named(Kind::Pin, name);
                "ISO 8734".clone_into(&mut spec.standard);
                out.push((spec, at));
            }
            Shape::Groove {
                inner_mm,
                outer_mm,
                depth_mm,
                ..
            } => {
                let name = format!(
                    "Sealing ring for a face groove {} / {} x {}",
                    plain(*inner_mm, 3),
                    plain(*outer_mm, 3),
                    plain(*depth_mm, 3)
                );
                out.push((Spec::named(Kind::Seal, name), at));
            }
            _ => {}
        }
    }
    out
}

impl Spec {
    fn named(kind: Kind, name: String) -> Self {
        Self {
            kind,
            name: Name(name),
            standard: String::new(),
            size: String::new(),
            length_mm: String::new(),
            class: String::new(),
            finish: String::new(),
        }
    }

    /// A plate that is made.
    #[must_use]
    pub fn plate(made: &MadePlate, loaded: &Loaded) -> Self {
        let p = &made.plate;
        let stock = loaded.stocks.get(&made.stock);
        Self {
            standard: p.material.clone(),
            size: format!("{} mm thick", plain(p.thickness_mm, 3)),
            finish: stock.map_or_else(String::new, |s| s.finish.clone()),
            ..Self::named(
                Kind::Plate,
                if p.title.is_empty() || p.title == p.id {
                    p.id.clone()
                } else {
                    format!("{} ({})", p.title, p.id)
                },
            )
        }
    }

    /// A turned spacer.
    #[must_use]
    pub fn spacer(s: &SpacerSize) -> Self {
        Self {
            standard: SPACER_MATERIAL.to_owned(),
            size: format!("{} x {}", plain(s.outside_mm, 1), plain(s.bore_mm, 1)),
            length_mm: plain(s.length_mm, 3),
            ..Self::named(Kind::Spacer, s.designation())
        }
    }

    /// A joint's bolt.
    #[must_use]
    pub fn bolt(b: &Bolted) -> Self {
        let screw = &b.fastening.stack.screw;
        Self {
            standard: screw.head.standard.clone(),
            size: screw.thread.name.clone(),
            length_mm: plain(b.report.stack.length_mm, 3),
            class: screw.class.class.clone(),
            finish: screw.finish.clone(),
            ..Self::named(Kind::Bolt, b.report.designation.clone())
        }
    }

    /// A joint's washers, one each.
    pub fn washers(b: &Bolted) -> impl Iterator<Item = Self> + '_ {
        let stack = &b.fastening.stack;
        stack
            .layers
            .iter()
            .filter(|l| l.kind == LayerKind::Washer)
            .map(|l| {
                let (standard, size) = l.name.rsplit_once(' ').unwrap_or((&l.name, ""));
                Self {
                    standard: standard.to_owned(),
                    size: size.to_owned(),
                    finish: stack.screw.finish.clone(),
                    ..Self::named(Kind::Washer, l.name.clone())
                }
            })
    }

    /// A joint's nut, if it has one.
    #[must_use]
    pub fn nut(b: &Bolted) -> Option<Self> {
        let stack = &b.fastening.stack;
        let End::Nut(nut) = &stack.end else {
            return None;
        };
        let thread = &stack.screw.thread.name;
        Some(Self {
            standard: nut.standard.clone(),
            size: thread.clone(),
            finish: stack.screw.finish.clone(),
            ..Self::named(Kind::Nut, format!("{} {thread}", nut.standard))
        })
    }

    /// The belt, of a given effective length.
    #[must_use]
    pub fn belt(loaded: &Loaded, length_mm: Option<f64>) -> Option<Self> {
        let drive = loaded.job.drive.as_ref()?;
        let length = length_mm.map_or_else(String::new, |l| plain(l, 0));
        Some(Self {
            // ISO 9981 has section PK alone; ISO 9982 has PH, PJ, PK, PL and PM.
            standard: if drive.section == "PK" {
                "ISO 9981".to_owned()
            } else {
                "ISO 9982".to_owned()
            },
            size: format!("{} ribs {}", drive.ribs, drive.section),
            length_mm: length.clone(),
            ..Self::named(
                Kind::Belt,
                format!("Multi-rib belt {}{} {length}", drive.ribs, drive.section)
                    .trim_end()
                    .to_owned(),
            )
        })
    }

    /// A placed accessory, with its own pulley.
    #[must_use]
    pub fn accessory(placed: &Placed, loaded: &Loaded) -> Option<Self> {
        let accessory = loaded.accessories.get(&placed.accessory)?;
        let pulley = accessory
            .pulley
            .map_or_else(|| "no pulley".to_owned(), |p| pulley_words(&p));
        Some(Self {
            size: pulley,
            ..Self::named(Kind::Accessory, accessory.title.clone())
        })
    }

    /// A pulley that replaces another.
    #[must_use]
    pub fn pulley(p: &Pulley) -> Self {
        Self::named(Kind::Pulley, format!("Replacement, {}", pulley_words(p)))
    }
}

fn pulley_words(p: &Pulley) -> String {
    let face = p
        .ribs
        .map_or_else(|| "flat".to_owned(), |n| format!("{n} ribs"));
    format!("pulley {} mm, {face}", plain(p.diameter_mm, 2))
}
