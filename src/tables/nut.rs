//! Hexagon nuts, style 1 (ISO 4032).

use serde::{Deserialize, Serialize};

use super::table::{Confidence, Table, UnknownName, increasing, positive, row};

/// One nut: a standard and a size.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Nut {
    /// Standard, such as `ISO 4032`.
    pub standard: String,
    /// Bolt size, such as `M10`.
    pub size: String,
    /// Across flats, mm.
    pub across_flats_mm: f64,
    /// Across corners at its greatest, mm.
    pub across_corners_mm: f64,
    /// Greatest height, mm.
    pub height_max_mm: f64,
    /// Least height, mm.
    pub height_min_mm: f64,
    /// Outer diameter of the bearing face at its least, mm.
    pub bearing_dia_mm: f64,
    /// Where the row is from.
    pub source: String,
    /// How sure it is.
    pub confidence: Confidence,
}

row!(Nut, "nut", "nuts.csv", |r|
name: format!("{} {}", r.standard, r.size),
check: positive(&[("height_min_mm", r.height_min_mm), ("bearing_dia_mm", r.bearing_dia_mm)])
    .and_then(|()| increasing(&[("height_min_mm", r.height_min_mm), ("height_max_mm", r.height_max_mm)]))
    .and_then(|()| increasing(&[
        ("bearing_dia_mm", r.bearing_dia_mm),
        ("across_flats_mm", r.across_flats_mm),
        ("across_corners_mm", r.across_corners_mm),
    ])));

/// Nuts by standard and size.
pub type Nuts = Table<Nut>;

impl Nuts {
    /// The nut of a standard and size.
    ///
    /// # Errors
    ///
    /// [`UnknownName`] with the nearest rows.
    pub fn nut(&self, standard: &str, size: &str) -> Result<&Nut, UnknownName> {
        let standard = standard.split(':').next().unwrap_or_default();
        self.get(&format!("{standard} {size}"))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_nut_of_style_1_is_about_0_8_d_high() {
        for n in Nuts::standard().rows() {
            let d: f64 = n.size[1..].parse().unwrap();
            let ratio = n.height_max_mm / d;
            assert!((0.79..=0.95).contains(&ratio), "{}: {ratio}", n.size);
        }
    }
}
