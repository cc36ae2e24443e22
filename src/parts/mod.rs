//! Everything a set is made of, numbered: plates, spacers, fasteners, seals, belt, bought-in parts.
//!
//! [`Kit::of`] takes the sets of all variants together. Item numbers are the
//! balloons of the assembly picture, the same in every variant; the kit holds
//! of each item as many as the variant that needs most of it, so that every
//! variant can be built from one kit.

mod gather;

pub use gather::Set;

use serde::Serialize;

/// What an item is; the list is in this order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Kind {
    /// A plate that is made.
    Plate,
    /// A turned spacer.
    Spacer,
    /// A bolt or screw.
    Bolt,
    /// A washer.
    Washer,
    /// A nut.
    Nut,
    /// A dowel pin.
    Pin,
    /// A seal.
    Seal,
    /// The belt.
    Belt,
    /// An accessory, bought in with its pulley.
    Accessory,
    /// A pulley that replaces an accessory's or the block's own.
    Pulley,
}

impl Kind {
    /// In a word.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Plate => "plate",
            Self::Spacer => "spacer",
            Self::Bolt => "bolt",
            Self::Washer => "washer",
            Self::Nut => "nut",
            Self::Pin => "pin",
            Self::Seal => "seal",
            Self::Belt => "belt",
            Self::Accessory => "bought in",
            Self::Pulley => "pulley",
        }
    }
}

/// What an item is, so that it can be bought or made.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub struct Spec {
    /// Kind.
    pub kind: Kind,
    /// What it is called; with kind and standard it tells items apart.
    pub name: crate::order::Name,
    /// Standard or material: `EN 1665`, `EN AW-6061-T6, 20 mm`; empty where there is none.
    pub standard: String,
    /// Size: `M10x1.5`; empty where the name says it.
    pub size: String,
    /// Length, mm, as it is written; empty where there is none.
    pub length_mm: String,
    /// Property class; empty where there is none.
    pub class: String,
    /// Finish or coating; empty where there is none.
    pub finish: String,
}

/// One item of the kit.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Item {
    /// Its number, from 1: the balloon on the assembly picture.
    pub number: usize,
    /// What it is.
    #[serde(flatten)]
    pub spec: Spec,
    /// How many each variant takes, in the order of [`Kit::variants`].
    pub counts: Vec<usize>,
    /// Where it goes: joints, plates or placed names, of all variants, in order.
    pub places: Vec<String>,
}

impl Item {
    /// How many the kit needs so that any variant can be built from it.
    #[must_use]
    pub fn kit(&self) -> usize {
        self.counts.iter().copied().max().unwrap_or(0)
    }
}

/// The parts of every variant together.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct Kit {
    /// Names of the variants; the job as it stands first.
    pub variants: Vec<String>,
    /// Which of them the package is for.
    pub shown: usize,
    /// Items by number.
    pub items: Vec<Item>,
}

/// Variants that take exactly the same parts.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Build {
    /// Its letter: `A` first.
    pub letter: String,
    /// Variants, by their place in [`Kit::variants`].
    pub variants: Vec<usize>,
}

impl Kit {
    /// The item with this spec.
    #[must_use]
    pub fn item(&self, spec: &Spec) -> Option<&Item> {
        self.items.iter().find(|i| i.spec == *spec)
    }

    /// Items the shown variant takes, with how many.
    pub fn shown_items(&self) -> impl Iterator<Item = (&Item, usize)> {
        self.items
            .iter()
            .map(|i| (i, i.counts.get(self.shown).copied().unwrap_or(0)))
            .filter(|(_, n)| *n > 0)
    }

    /// Variants grouped by what they take, in order of their first variant.
    #[must_use]
    pub fn builds(&self) -> Vec<Build> {
        let column = |v: usize| -> Vec<usize> { self.items.iter().map(|i| i.counts[v]).collect() };
        let mut groups: Vec<(Vec<usize>, Vec<usize>)> = Vec::new();
        for v in 0..self.variants.len() {
            let own = column(v);
            match groups.iter_mut().find(|(c, _)| *c == own) {
                Some((_, members)) => members.push(v),
                None => groups.push((own, vec![v])),
            }
        }
        groups
            .into_iter()
            .enumerate()
            .map(|(k, (_, variants))| Build {
                letter: crate::callout::letter(k),
                variants,
            })
            .collect()
    }
}
