//! The table of all finding codes, each with the page that `explain` prints.
//!
//! A code is never reused for another meaning. The letter is the family, the
//! number is arbitrary but grouped.

use super::Severity;

/// What a family of codes is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Family {
    /// Parameter files.
    Params,
    /// Geometry of plates.
    Geometry,
    /// Holes and other features.
    Holes,
    /// Belt drive.
    Belt,
    /// Joints.
    Joint,
    /// Clearances.
    Clearance,
    /// Strength.
    Strength,
    /// Written files.
    Export,
}

impl Family {
    /// The family's letter.
    #[must_use]
    pub const fn letter(self) -> char {
        match self {
            Self::Params => 'P',
            Self::Geometry => 'G',
            Self::Holes => 'H',
            Self::Belt => 'B',
            Self::Joint => 'J',
            Self::Clearance => 'C',
            Self::Strength => 'F',
            Self::Export => 'X',
        }
    }
}

macro_rules! codes {
    ($($variant:ident $id:literal $family:ident $severity:ident $headline:literal $page:literal;)*) => {
        /// A kind of finding.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
        pub enum Code {
            $(#[doc = concat!("`", $id, "`: ", $headline, ".")] $variant,)*
        }

        impl Code {
            /// Every code, in the order of the table.
            pub const ALL: &'static [Self] = &[$(Self::$variant,)*];

            /// The code as printed, such as `P201`.
            #[must_use]
            pub const fn id(self) -> &'static str {
                match self { $(Self::$variant => $id,)* }
            }

            /// The family it belongs to.
            #[must_use]
            pub const fn family(self) -> Family {
                match self { $(Self::$variant => Family::$family,)* }
            }

            /// How much it weighs unless a finding says otherwise.
            #[must_use]
            pub const fn severity(self) -> Severity {
                match self { $(Self::$variant => Severity::$severity,)* }
            }

            /// What it is, in a few words.
            #[must_use]
            pub const fn headline(self) -> &'static str {
                match self { $(Self::$variant => $headline,)* }
            }

            /// Its page: what it means, why it matters, what to do.
            #[must_use]
            pub const fn page(self) -> &'static str {
                match self { $(Self::$variant => $page,)* }
            }
        }
    };
}

codes! {
    Unreadable "P101" Params Error "a file cannot be read"
        "The file or its folder is missing, is not a file, or may not be read.";
    UnknownKey "P201" Params Error "unknown key"
        "The table has no such key.";

    NoRibPlane "G101" Geometry Error "an accessory cannot be set to the rib plane"
        "z = \"drive\" puts an accessory where its pulley's rib plane meets the belt drive's. It needs a [drive] table in the job and a [pulley] in the accessory; otherwise give z in mm.";
    OutlineFails "G201" Geometry Error "a plate's outline cannot be made"
        "The bosses, webs and drawn parts of the plate do not give one closed outline. The message says which part stands in the way.";
    AxisNotNormal "H101" Holes Error "a hole's axis is not the plate's normal"
        "A plate can only take holes that run straight through it: the axis of every hole it takes is its own normal, pointing the same way. Put the plate on a frame that faces along the hole, or turn the accessory.";
    UnknownThread "H102" Holes Error "a thread or head is in no table"
        "The size of a hole follows from its thread, so the thread has to be one the tables know.";
    SlotAboutItself "H103" Holes Error "a slot swings about its own hole"
        "An arc slot runs along a circle about a pivot, which has to be another hole, farther away than the slot is wide.";
    TooDeep "H104" Holes Error "a blind feature is as deep as the plate"
        "A blind hole, pocket or groove has to leave a floor. Leave `depth` out for a hole that goes right through.";
    StackOverlaps "J101" Joint Error "a stack cannot be built"
        "Along a bolt's axis two parts claim the same room: a plate lies inside the block, inside an ear or inside another plate. The message gives the overlap in mm.";
    ThreadsDiffer "J102" Joint Error "two holes on one axis ask for different bolts"
        "Holes that share an axis share a bolt, so they have to have one thread.";
    ThreadBuried "J103" Joint Error "a bolt cannot reach its thread"
        "The part that holds the thread has to be the last of the stack, with the thread open towards the head.";
    IdleDeviation "X101" Export Warning "a deviation accepts nothing"
        "A deviation names a rule that does not fail where it says. Remove it: it could hide a later fault.";
}

impl Code {
    /// The code printed as `id`, letter case ignored.
    #[must_use]
    pub fn from_id(id: &str) -> Option<Self> {
        Self::ALL
            .iter()
            .copied()
            .find(|c| c.id().eq_ignore_ascii_case(id))
    }
}

impl std::fmt::Display for Code {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(self.id())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    #[test]
    fn codes_are_unique_and_carry_their_familys_letter() {
        let ids: BTreeSet<_> = Code::ALL.iter().map(|c| c.id()).collect();
        assert_eq!(ids.len(), Code::ALL.len());
        for c in Code::ALL {
            assert!(c.id().starts_with(c.family().letter()), "{c}");
            assert_eq!(Code::from_id(&c.id().to_lowercase()), Some(*c));
        }
    }
}
