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
