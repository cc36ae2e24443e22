//! What a thermal or jet cutting process can make, and how squarely it cuts.

use serde::{Deserialize, Serialize};

use super::table::{Confidence, Table, UnknownName, increasing, positive, row};

/// Limits of one cutting process.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Cutting {
    /// Process, such as `laser`.
    pub process: String,
    /// Least hole diameter, in plate thicknesses.
    pub hole_t: f64,
    /// … and no less than this, mm.
    pub hole_min_mm: Option<f64>,
    /// Least width of metal between two cuts, in plate thicknesses.
    pub web_t: f64,
    /// … and no less than this, mm.
    pub web_min_mm: Option<f64>,
    /// Least metal between a hole's edge and the part's edge, in plate thicknesses.
    pub hole_edge_t: f64,
    /// Width of the cut at its least, mm.
    pub kerf_min_mm: f64,
    /// Width of the cut at its greatest, mm.
    pub kerf_max_mm: f64,
    /// Tolerance of a thin part, ± mm.
    pub tolerance_min_mm: Option<f64>,
    /// Tolerance of a thick part, ± mm.
    pub tolerance_max_mm: Option<f64>,
    /// Where the row is from.
    pub source: String,
    /// How sure it is.
    pub confidence: Confidence,
}

row!(Cutting, "cutting process", "cuttings.csv", |r|
    name: r.process.clone(),
    check: positive(&[("hole_t", r.hole_t), ("web_t", r.web_t), ("hole_edge_t", r.hole_edge_t)])
        .and_then(|()| increasing(&[("kerf_min_mm", r.kerf_min_mm), ("kerf_max_mm", r.kerf_max_mm)])));

/// Cutting processes by name.
pub type Cuttings = Table<Cutting>;

impl Cutting {
    /// Least hole diameter in a plate `thickness_mm`, mm.
    #[must_use]
    pub fn least_hole_mm(&self, thickness_mm: f64) -> f64 {
        (self.hole_t * thickness_mm).max(self.hole_min_mm.unwrap_or(0.0))
    }

    /// Least width of metal between two cuts in a plate `thickness_mm`, mm.
    #[must_use]
    pub fn least_web_mm(&self, thickness_mm: f64) -> f64 {
        (self.web_t * thickness_mm).max(self.web_min_mm.unwrap_or(0.0))
    }

    /// Least metal between a hole's edge and the part's edge, mm.
    #[must_use]
    pub fn least_hole_edge_mm(&self, thickness_mm: f64) -> f64 {
        self.hole_edge_t * thickness_mm
    }
}

/// Squareness and roughness range of a thermal cut (ISO 9013).
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CutQuality {
    /// Range number, 1 (best) to 5.
    pub range: u8,
    /// Perpendicularity tolerance u at no thickness, mm.
    pub u_base_mm: f64,
    /// … and per mm of thickness, mm.
    pub u_per_mm: f64,
    /// Mean height of the profile Rz5 at no thickness, µm.
    pub rz5_base_um: Option<f64>,
    /// … and per mm of thickness, µm.
    pub rz5_per_mm_um: Option<f64>,
    /// Where the row is from.
    pub source: String,
    /// How sure it is.
    pub confidence: Confidence,
}

row!(CutQuality, "ISO 9013 range", "iso9013_quality.csv", |r|
    name: r.range.to_string(),
    check: positive(&[("u_base_mm", r.u_base_mm), ("u_per_mm", r.u_per_mm)]));

/// ISO 9013 ranges by number.
pub type CutQualities = Table<CutQuality>;

impl CutQualities {
    /// Perpendicularity tolerance u of a range for a plate `thickness_mm`, mm.
    ///
    /// # Errors
    ///
    /// [`UnknownName`] for a range other than 1 to 5.
    pub fn perpendicularity_mm(&self, range: u8, thickness_mm: f64) -> Result<f64, UnknownName> {
        let r = self.get(&range.to_string())?;
        Ok(r.u_base_mm + r.u_per_mm * thickness_mm)
    }

    /// Roughness Rz5 of a range for a plate `thickness_mm`, µm; none where the standard gives none.
    ///
    /// # Errors
    ///
    /// [`UnknownName`] for a range other than 1 to 5.
    pub fn rz5_um(&self, range: u8, thickness_mm: f64) -> Result<Option<f64>, UnknownName> {
        let r = self.get(&range.to_string())?;
        Ok(r.rz5_base_um
            .zip(r.rz5_per_mm_um)
            .map(|(a, b)| a + b * thickness_mm))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn plasma_needs_wider_holes_than_a_laser() {
        let t = Cuttings::standard();
        assert!((t.get("laser").unwrap().least_hole_mm(10.0) - 10.0).abs() < 1e-12);
        assert!((t.get("plasma").unwrap().least_hole_mm(10.0) - 15.0).abs() < 1e-12);
        assert!((t.get("waterjet").unwrap().least_hole_mm(2.0) - 2.0).abs() < 1e-12);
        assert!(t.get("lazer").unwrap_err().nearest[0] == "laser");
    }

    #[test]
    fn squareness_at_8_mm_is_as_iso_9013_prints_it() {
        // ISO 9013:2017 Table 4 (from memory), a = 8 mm.
        for (range, u) in [(1, 0.074), (2, 0.206), (3, 0.48), (4, 0.96), (5, 1.48)] {
            let got = CutQualities::standard()
                .perpendicularity_mm(range, 8.0)
                .unwrap();
            assert!((got - u).abs() < 1e-12, "range {range}: {got}");
        }
        assert_eq!(CutQualities::standard().rz5_um(1, 10.0), Ok(Some(16.0)));
    }
}
