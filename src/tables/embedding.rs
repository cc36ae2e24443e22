//! How much clamped faces and threads settle after tightening (VDI 2230).

use serde::{Deserialize, Serialize};

use super::table::{Confidence, Table, positive, row};

/// Settlement of one grade of surface.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Embedding {
    /// Surface, such as `machined`.
    pub name: String,
    /// Other names, separated by `;`.
    #[serde(default)]
    pub aliases: String,
    /// In the loaded thread flanks, µm.
    pub thread_um: f64,
    /// In each bearing face of a head or nut, µm.
    pub bearing_um: f64,
    /// In each face between two clamped parts, µm.
    pub interface_um: f64,
    /// Where the row is from.
    pub source: String,
    /// How sure it is.
    pub confidence: Confidence,
}

row!(Embedding, "surface", "embeddings.csv", |r|
name: r.name.clone(),
aliases: r.aliases,
check: positive(&[
    ("thread_um", r.thread_um),
    ("bearing_um", r.bearing_um),
    ("interface_um", r.interface_um),
]));

/// Settlements by surface.
pub type Embeddings = Table<Embedding>;

impl Embedding {
    /// Settlement of a joint with `bearings` head or nut faces and `interfaces` inner faces, mm.
    #[must_use]
    pub fn total_mm(&self, bearings: usize, interfaces: usize) -> f64 {
        1e-3 * (self.thread_um
            + self.bearing_um * bearings as f64
            + self.interface_um * interfaces as f64)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rough_faces_settle_more() {
        let t = Embeddings::standard();
        let of = |name: &str| t.get(name).unwrap().total_mm(1, 2);
        assert!((of("machined") - 12.5e-3).abs() < 1e-15);
        assert!(of("ground") < of("machined") && of("machined") < of("rough"));
    }
}
