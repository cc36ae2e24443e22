//! Bolt property classes (ISO 898-1).

use serde::{Deserialize, Serialize};

use super::table::{Confidence, Table, UnknownName, increasing, positive, row};

/// Young's modulus of bolt steel, MPa (VDI 2230-1:2003 Table A7, from memory).
pub const BOLT_E_MPA: f64 = 205_000.0;

/// Thermal expansion of bolt steel, 1/K (VDI 2230-1:2003 Table A7, from memory).
pub const BOLT_CTE_PER_K: f64 = 11.5e-6;

/// Strength of one property class over a range of diameters.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PropertyClass {
    /// Class, such as `8.8`.
    pub class: String,
    /// The row holds for diameters over this, mm.
    pub over_d_mm: f64,
    /// … and up to this, mm.
    pub to_d_mm: f64,
    /// Nominal tensile strength, MPa.
    pub rm_nominal_mpa: f64,
    /// Least tensile strength Rm,min, MPa.
    pub rm_min_mpa: f64,
    /// Nominal 0.2 % proof strength, MPa.
    pub yield_nominal_mpa: f64,
    /// Least 0.2 % proof strength Rp0.2,min, MPa.
    pub yield_min_mpa: f64,
    /// Stress under proof load Sp, MPa.
    pub proof_mpa: f64,
    /// Least elongation after fracture, %.
    pub elongation_min_percent: f64,
    /// Where the row is from.
    pub source: String,
    /// How sure it is.
    pub confidence: Confidence,
}

row!(PropertyClass, "property class", "property_classes.csv", |r|
name: r.class.clone(),
distinction: format!("{}", r.over_d_mm),
check: increasing(&[("over_d_mm", r.over_d_mm), ("to_d_mm", r.to_d_mm)])
    .and_then(|()| positive(&[("proof_mpa", r.proof_mpa), ("rm_nominal_mpa", r.rm_nominal_mpa)]))
    .and_then(|()| increasing(&[
        ("proof_mpa", r.proof_mpa),
        ("yield_min_mpa", r.yield_min_mpa),
        ("rm_min_mpa", r.rm_min_mpa),
    ])));

/// Property classes by name.
pub type PropertyClasses = Table<PropertyClass>;

impl PropertyClasses {
    /// The class of a bolt of nominal diameter `d_mm`.
    ///
    /// # Errors
    ///
    /// [`UnknownName`] for an unknown class or a diameter outside its rows.
    pub fn class(&self, class: &str, d_mm: f64) -> Result<&PropertyClass, UnknownName> {
        self.named(class)
            .find(|r| d_mm > r.over_d_mm && d_mm <= r.to_d_mm)
            .ok_or_else(|| self.unknown(class))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn class_8_8_is_stronger_above_16_mm() {
        let t = PropertyClasses::standard();
        assert!((t.class("8.8", 16.0).unwrap().proof_mpa - 580.0).abs() < 1e-12);
        assert!((t.class("8.8", 18.0).unwrap().proof_mpa - 600.0).abs() < 1e-12);
        assert!(t.class("8.9", 10.0).is_err());
    }
}
