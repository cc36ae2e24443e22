//! Plain washers (ISO 7089).

use serde::{Deserialize, Serialize};

use super::table::{Confidence, Table, UnknownName, increasing, positive, row};

/// One washer: a standard and a size.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Washer {
    /// Standard, such as `ISO 7089`.
    pub standard: String,
    /// Bolt size, such as `M10`.
    pub size: String,
    /// Inner diameter d1 at its least, mm.
    pub inner_mm: f64,
    /// Outer diameter d2 at its greatest, mm.
    pub outer_mm: f64,
    /// Nominal thickness, mm.
    pub thickness_mm: f64,
    /// Hardness class, HV.
    pub hardness_hv: f64,
    /// Where the row is from.
    pub source: String,
    /// How sure it is.
    pub confidence: Confidence,
}

row!(Washer, "washer", "washers.csv", |r|
    name: format!("{} {}", r.standard, r.size),
    check: positive(&[("inner_mm", r.inner_mm), ("thickness_mm", r.thickness_mm)])
        .and_then(|()| increasing(&[("inner_mm", r.inner_mm), ("outer_mm", r.outer_mm)])));

/// Washers by standard and size.
pub type Washers = Table<Washer>;

impl Washers {
    /// The washer of a standard and size.
    ///
    /// # Errors
    ///
    /// [`UnknownName`] with the nearest rows.
    pub fn washer(&self, standard: &str, size: &str) -> Result<&Washer, UnknownName> {
        let standard = standard.split(':').next().unwrap_or_default();
        self.get(&format!("{standard} {size}"))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_m10_washer_is_2_mm_thick() {
        let w = Washers::standard().washer("ISO 7089:2000", "M10").unwrap();
        assert!((w.thickness_mm - 2.0).abs() < 1e-12);
    }
}
