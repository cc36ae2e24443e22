//! Least thread engagement by the material the thread is cut in.

use serde::{Deserialize, Serialize};

use super::material::Group;
use super::table::{Confidence, Row, Table, UnknownName, positive, row};

/// Length at each end of an engagement that does not carry, in pitches: VDI 2230
/// takes 0.8·P off for chamfers (VDI 2230-1, from memory).
pub const CHAMFER_PITCHES: f64 = 0.8;

/// Engagement rule of one group of materials.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Engagement {
    /// Group of materials, such as `cast-iron`.
    pub group: Group,
    /// Least engaged length, in nominal diameters.
    pub minimum_d: f64,
    /// What the more cautious pages ask, in nominal diameters.
    pub cautious_d: f64,
    /// Where the row is from.
    pub source: String,
    /// How sure it is.
    pub confidence: Confidence,
}

row!(Engagement, "engagement rule for", "engagements.csv", |r|
    name: r.group.to_string(),
    check: positive(&[("minimum_d", r.minimum_d), ("cautious_d", r.cautious_d)]));

/// Engagement rules by material group.
pub type Engagements = Table<Engagement>;

impl Engagements {
    /// The rule for a group.
    ///
    /// # Errors
    ///
    /// [`UnknownName`] for a group without a row.
    pub fn rule(&self, group: Group) -> Result<&Engagement, UnknownName> {
        self.get(&group.to_string())
    }
}

impl Engagement {
    /// Least engaged length for a thread of nominal diameter `d_mm`, mm.
    #[must_use]
    pub fn minimum_mm(&self, d_mm: f64) -> f64 {
        self.minimum_d * d_mm
    }

    /// Text of the source, for a judgement.
    #[must_use]
    pub fn source_text(&self) -> &str {
        Row::source(self)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_group_has_a_rule() {
        for g in [
            Group::Steel,
            Group::Stainless,
            Group::CastIron,
            Group::Aluminium,
        ] {
            assert!(Engagements::standard().rule(g).is_ok(), "{g}");
        }
    }
}
