//! Clearance holes for bolts (ISO 273).

use serde::{Deserialize, Serialize};

use super::table::{Confidence, Table, UnknownName, increasing, positive, row, size_name};

/// How loosely a bolt sits in its hole (ISO 273; tolerance fields H12, H13, H14).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Fit {
    /// H12.
    Fine,
    /// H13: general engineering.
    #[default]
    Medium,
    /// H14.
    Coarse,
}

/// Clearance hole diameters of one bolt size.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ClearanceHole {
    /// Bolt size, such as `M10`.
    pub size: String,
    /// Fine series, mm.
    pub fine_mm: f64,
    /// Medium series, mm.
    pub medium_mm: f64,
    /// Coarse series, mm.
    pub coarse_mm: f64,
    /// Where the row is from.
    pub source: String,
    /// How sure it is.
    pub confidence: Confidence,
}

row!(ClearanceHole, "clearance hole for", "clearance_holes.csv", |r|
name: r.size.clone(),
check: positive(&[("fine_mm", r.fine_mm)]).and_then(|()| increasing(&[
    ("fine_mm", r.fine_mm),
    ("medium_mm", r.medium_mm),
    ("coarse_mm", r.coarse_mm),
])));

/// Clearance holes by bolt size.
pub type ClearanceHoles = Table<ClearanceHole>;

impl ClearanceHoles {
    /// The hole for a bolt of nominal diameter `d_mm`, mm.
    ///
    /// # Errors
    ///
    /// [`UnknownName`] for a diameter without a row.
    pub fn diameter_mm(&self, d_mm: f64, fit: Fit) -> Result<f64, UnknownName> {
        self.get(&size_name(d_mm)).map(|r| r.diameter_mm(fit))
    }
}

impl ClearanceHole {
    /// The diameter of a fit, mm.
    #[must_use]
    pub const fn diameter_mm(&self, fit: Fit) -> f64 {
        match fit {
            Fit::Fine => self.fine_mm,
            Fit::Medium => self.medium_mm,
            Fit::Coarse => self.coarse_mm,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_m10_bolt_passes_an_11_mm_hole() {
        let holes = ClearanceHoles::standard();
        assert_eq!(holes.diameter_mm(10.0, Fit::Medium), Ok(11.0));
        assert!(holes.diameter_mm(9.0, Fit::Medium).is_err());
    }
}
