//! General tolerances: ISO 2768-1 for machined parts, ISO 9013 for thermal cuts.

use serde::{Deserialize, Serialize};

use super::table::{Confidence, Table, increasing, positive, row};

/// Permissible deviation of one class over one range of nominal size.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct GeneralTolerance {
    /// Tolerance class: `f`, `m`, `c`, `v`.
    pub class: String,
    /// The row holds for sizes over this (from this, in the first row), mm.
    pub over_mm: f64,
    /// … and up to this, mm.
    pub to_mm: f64,
    /// Permissible deviation, ± mm.
    pub deviation_mm: f64,
    /// Where the row is from.
    pub source: String,
    /// How sure it is.
    pub confidence: Confidence,
}

row!(GeneralTolerance, "ISO 2768-1 class", "iso2768.csv", |r|
    name: r.class.clone(),
    distinction: format!("{}", r.over_mm),
    check: increasing(&[("over_mm", r.over_mm), ("to_mm", r.to_mm)])
        .and_then(|()| positive(&[("deviation_mm", r.deviation_mm)])));

/// ISO 2768-1 linear tolerances.
pub type GeneralTolerances = Table<GeneralTolerance>;

impl GeneralTolerances {
    /// Permissible deviation of a linear size, ± mm; none where the class states none for it.
    #[must_use]
    pub fn deviation_mm(&self, class: &str, size_mm: f64) -> Option<f64> {
        self.named(class)
            .find(|r| size_mm <= r.to_mm && size_mm >= r.over_mm)
            .map(|r| r.deviation_mm)
    }
}

/// Permissible deviation of an external radius or chamfer height (ISO 2768-1 Table 2).
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RadiusTolerance {
    /// Tolerance class: `f`, `m`, `c`, `v`.
    pub class: String,
    /// The row holds for radii over this (from this, in the first row), mm.
    pub over_mm: f64,
    /// … and up to this, mm.
    pub to_mm: f64,
    /// Permissible deviation, ± mm.
    pub deviation_mm: f64,
    /// Where the row is from.
    pub source: String,
    /// How sure it is.
    pub confidence: Confidence,
}

row!(RadiusTolerance, "ISO 2768-1 class", "iso2768_radii.csv", |r|
    name: r.class.clone(),
    distinction: format!("{}", r.over_mm),
    check: increasing(&[("over_mm", r.over_mm), ("to_mm", r.to_mm)])
        .and_then(|()| positive(&[("deviation_mm", r.deviation_mm)])));

/// ISO 2768-1 tolerances of radii and chamfers.
pub type RadiusTolerances = Table<RadiusTolerance>;

impl RadiusTolerances {
    /// Permissible deviation of an external radius or chamfer, ± mm; none below 0.5 mm.
    #[must_use]
    pub fn deviation_mm(&self, class: &str, radius_mm: f64) -> Option<f64> {
        self.named(class)
            .find(|r| radius_mm <= r.to_mm && radius_mm >= r.over_mm)
            .map(|r| r.deviation_mm)
    }
}

/// Permissible deviation of an angle, by its shorter leg (ISO 2768-1 Table 3).
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct AngleTolerance {
    /// Tolerance class: `f`, `m`, `c`, `v`.
    pub class: String,
    /// The row holds for legs over this, mm.
    pub over_mm: f64,
    /// … and up to this, mm.
    pub to_mm: f64,
    /// Permissible deviation, ± minutes of arc.
    pub deviation_min: f64,
    /// Where the row is from.
    pub source: String,
    /// How sure it is.
    pub confidence: Confidence,
}

row!(AngleTolerance, "ISO 2768-1 class", "iso2768_angles.csv", |r|
    name: r.class.clone(),
    distinction: format!("{}", r.over_mm),
    check: increasing(&[("over_mm", r.over_mm), ("to_mm", r.to_mm)])
        .and_then(|()| positive(&[("deviation_min", r.deviation_min)])));

/// ISO 2768-1 angular tolerances.
pub type AngleTolerances = Table<AngleTolerance>;

impl AngleTolerances {
    /// Permissible deviation of an angle, ± deg, by its shorter leg.
    #[must_use]
    pub fn deviation_deg(&self, class: &str, leg_mm: f64) -> Option<f64> {
        self.named(class)
            .find(|r| leg_mm <= r.to_mm && leg_mm >= r.over_mm)
            .map(|r| r.deviation_min / 60.0)
    }
}

/// Limit deviation of a thermally cut size (ISO 9013).
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CutTolerance {
    /// Tolerance class, 1 or 2.
    pub class: u8,
    /// The row holds for plates over this thick (from 0), mm.
    pub t_over_mm: f64,
    /// … and up to this, mm.
    pub t_to_mm: f64,
    /// … and sizes from this, mm.
    pub over_mm: f64,
    /// … to under this, mm.
    pub to_mm: f64,
    /// Limit deviation, ± mm.
    pub deviation_mm: f64,
    /// Where the row is from.
    pub source: String,
    /// How sure it is.
    pub confidence: Confidence,
}

row!(CutTolerance, "ISO 9013 class", "iso9013.csv", |r|
    name: r.class.to_string(),
    distinction: format!("{} {}", r.t_over_mm, r.over_mm),
    check: increasing(&[("t_over_mm", r.t_over_mm), ("t_to_mm", r.t_to_mm)])
        .and_then(|()| increasing(&[("over_mm", r.over_mm), ("to_mm", r.to_mm)]))
        .and_then(|()| positive(&[("deviation_mm", r.deviation_mm)])));

/// ISO 9013 limit deviations.
pub type CutTolerances = Table<CutTolerance>;

impl CutTolerances {
    /// Limit deviation of a cut size in a plate `thickness_mm`, ± mm; none where the standard states none.
    #[must_use]
    pub fn deviation_mm(&self, class: u8, thickness_mm: f64, size_mm: f64) -> Option<f64> {
        self.named(&class.to_string())
            .find(|r| {
                thickness_mm > r.t_over_mm
                    && thickness_mm <= r.t_to_mm
                    && size_mm >= r.over_mm
                    && size_mm < r.to_mm
            })
            .map(|r| r.deviation_mm)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_size_on_a_range_limit_belongs_to_the_lower_range() {
        let t = GeneralTolerances::standard();
        assert_eq!(t.deviation_mm("m", 30.0), Some(0.2));
        assert_eq!(t.deviation_mm("m", 30.1), Some(0.3));
        assert_eq!(t.deviation_mm("m", 0.5), Some(0.1));
        assert_eq!(t.deviation_mm("v", 2.0), None);
    }

    #[test]
    fn angles_and_radii_follow_their_tables() {
        assert_eq!(
            AngleTolerances::standard().deviation_deg("m", 40.0),
            Some(0.5)
        );
        assert_eq!(
            RadiusTolerances::standard().deviation_mm("m", 8.0),
            Some(1.0)
        );
    }

    #[test]
    fn a_cut_length_has_its_class_1_deviation() {
        let t = CutTolerances::standard();
        assert_eq!(t.deviation_mm(1, 10.0, 100.0), Some(0.3));
        assert_eq!(t.deviation_mm(2, 8.0, 100.0), Some(1.3));
        assert_eq!(t.deviation_mm(1, 8.0, 2.0), None);
    }
}
