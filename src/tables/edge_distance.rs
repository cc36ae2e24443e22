//! Distances of holes to edges and to each other (EN 1993-1-8, EN 1999-1-1, AISC 360).

use std::fmt;

use serde::{Deserialize, Serialize};

use super::table::{Confidence, Table, UnknownName, positive, row, size_name};

/// What a distance rule is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Quantity {
    /// Hole centre to the edge the force points to (e1).
    End,
    /// Hole centre to the edge beside the force (e2), or to any edge where the code has one rule.
    Edge,
    /// The least edge distance an engineer may approve.
    EdgeFloor,
    /// Slot's end centre to an edge (e3, e4).
    SlotEdge,
    /// Between hole centres along the force (p1), or in any direction where the code has one rule.
    Pitch,
    /// Between hole centres across the force (p2).
    Gauge,
}

impl fmt::Display for Quantity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::End => "end",
            Self::Edge => "edge",
            Self::EdgeFloor => "edge-floor",
            Self::SlotEdge => "slot-edge",
            Self::Pitch => "pitch",
            Self::Gauge => "gauge",
        })
    }
}

/// The diameter a factor multiplies.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Base {
    /// The hole's diameter d0.
    Hole,
    /// The bolt's diameter d.
    Bolt,
}

/// One distance rule.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct EdgeDistance {
    /// Code, such as `EN 1993-1-8`.
    pub code: String,
    /// What it is about.
    pub quantity: Quantity,
    /// Least distance, in diameters of `base`.
    pub minimum: f64,
    /// Preferred (regular) distance, in diameters of `base`.
    pub preferred: Option<f64>,
    /// The diameter the factors multiply.
    pub base: Base,
    /// Greatest distance: this times the thickness …
    pub t_factor_max: Option<f64>,
    /// … plus this, mm …
    pub add_max_mm: Option<f64>,
    /// … and no more than this, mm.
    pub cap_max_mm: Option<f64>,
    /// Where the row is from.
    pub source: String,
    /// How sure it is.
    pub confidence: Confidence,
}

row!(EdgeDistance, "edge-distance rule", "edge_distances.csv", |r|
    name: format!("{} {}", r.code, r.quantity),
    check: positive(&[("minimum", r.minimum)]));

/// Distance rules by code and quantity.
pub type EdgeDistances = Table<EdgeDistance>;

impl EdgeDistances {
    /// The rule of a code for a quantity.
    ///
    /// # Errors
    ///
    /// [`UnknownName`] with the nearest rules.
    pub fn rule(&self, code: &str, quantity: Quantity) -> Result<&EdgeDistance, UnknownName> {
        self.get(&format!("{code} {quantity}"))
    }
}

impl EdgeDistance {
    /// Least distance for a hole `hole_mm` and a bolt `bolt_mm`, mm.
    #[must_use]
    pub fn minimum_mm(&self, hole_mm: f64, bolt_mm: f64) -> f64 {
        self.minimum * self.diameter(hole_mm, bolt_mm)
    }

    /// Preferred distance where the code gives one, mm.
    #[must_use]
    pub fn preferred_mm(&self, hole_mm: f64, bolt_mm: f64) -> Option<f64> {
        self.preferred.map(|k| k * self.diameter(hole_mm, bolt_mm))
    }

    /// Greatest distance for a plate `thickness_mm`, where the code gives one, mm.
    #[must_use]
    pub fn maximum_mm(&self, thickness_mm: f64) -> Option<f64> {
        let k = self.t_factor_max?;
        let limit = k * thickness_mm + self.add_max_mm.unwrap_or(0.0);
        Some(self.cap_max_mm.map_or(limit, |cap| limit.min(cap)))
    }

    fn diameter(&self, hole_mm: f64, bolt_mm: f64) -> f64 {
        match self.base {
            Base::Hole => hole_mm,
            Base::Bolt => bolt_mm,
        }
    }
}

/// Least edge distance of one bolt size (AISC 360-16 Table J3.4M).
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct AiscEdge {
    /// Bolt size, such as `M16`.
    pub size: String,
    /// Least distance from the hole's centre to an edge, mm.
    pub minimum_mm: f64,
    /// Where the row is from.
    pub source: String,
    /// How sure it is.
    pub confidence: Confidence,
}

row!(AiscEdge, "AISC edge distance for", "aisc_edges.csv", |r|
    name: r.size.clone(),
    check: positive(&[("minimum_mm", r.minimum_mm)]));

/// AISC edge distances by bolt size.
pub type AiscEdges = Table<AiscEdge>;

/// Factor on the bolt's diameter where Table J3.4M has no row: 1.25 over M36
/// (AISC 360-16), 1.5 below M16 (its ratio at 1/2 in; common practice).
fn aisc_factor(d_mm: f64) -> f64 {
    if d_mm > 36.0 { 1.25 } else { 1.5 }
}

impl AiscEdges {
    /// Least edge distance for a bolt of nominal diameter `d_mm`, mm.
    #[must_use]
    pub fn minimum_mm(&self, d_mm: f64) -> f64 {
        self.named(&size_name(d_mm))
            .next()
            .map_or(aisc_factor(d_mm) * d_mm, |r| r.minimum_mm)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_end_distance_is_1_2_hole_diameters() {
        let r = EdgeDistances::standard()
            .rule("EN 1993-1-8", Quantity::End)
            .unwrap();
        assert!((r.minimum_mm(11.0, 10.0) - 13.2).abs() < 1e-12);
        assert_eq!(r.maximum_mm(10.0), Some(80.0));
        let p = EdgeDistances::standard()
            .rule("EN 1993-1-8", Quantity::Pitch)
            .unwrap();
        assert_eq!(p.maximum_mm(20.0), Some(200.0));
    }

    #[test]
    fn small_bolts_take_one_and_a_half_diameters_under_aisc() {
        let t = AiscEdges::standard();
        assert!((t.minimum_mm(10.0) - 15.0).abs() < 1e-12);
        assert!((t.minimum_mm(16.0) - 22.0).abs() < 1e-12);
        assert!((t.minimum_mm(40.0) - 50.0).abs() < 1e-12);
    }
}
