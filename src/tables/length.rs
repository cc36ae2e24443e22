//! Nominal bolt lengths (ISO 888).

use serde::{Deserialize, Serialize};

use super::table::{Confidence, Table, positive, row};

/// One length bolts are made in.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Length {
    /// Nominal length, mm.
    pub length_mm: f64,
    /// Whether it is commonly stocked; the others exist and are avoided.
    pub preferred: bool,
    /// Where the row is from.
    pub source: String,
    /// How sure it is.
    pub confidence: Confidence,
}

row!(Length, "bolt length", "lengths.csv", |r|
    name: format!("{}", r.length_mm),
    check: positive(&[("length_mm", r.length_mm)]));

/// Bolt lengths.
pub type Lengths = Table<Length>;

impl Lengths {
    /// The preferred lengths, shortest first, mm.
    #[must_use]
    pub fn preferred_mm(&self) -> Vec<f64> {
        let mut all: Vec<f64> = self
            .rows()
            .iter()
            .filter(|r| r.preferred)
            .map(|r| r.length_mm)
            .collect();
        all.sort_by(f64::total_cmp);
        all
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn preferred_lengths_step_by_five_from_20_to_70() {
        let all = Lengths::standard().preferred_mm();
        let between: Vec<f64> = all
            .into_iter()
            .filter(|l| (20.0..=70.0).contains(l))
            .collect();
        assert_eq!(between.len(), 11);
        assert!(
            between
                .windows(2)
                .all(|w| (w[1] - w[0] - 5.0).abs() < 1e-12)
        );
    }
}
