//! Tightening methods and their scatter (VDI 2230).

use serde::{Deserialize, Serialize};

use super::table::{Confidence, Table, positive, row};

/// One tightening method.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Tightening {
    /// Method, such as `torque wrench`.
    pub name: String,
    /// Other names, separated by `;`.
    #[serde(default)]
    pub aliases: String,
    /// Least tightening factor: greatest over least preload of the method.
    pub scatter_min: f64,
    /// Greatest tightening factor, the one a design uses.
    pub scatter_max: f64,
    /// Tolerance of the wrench's own torque, ± %.
    pub torque_tolerance_percent: Option<f64>,
    /// Where the row is from.
    pub source: String,
    /// How sure it is.
    pub confidence: Confidence,
}

row!(Tightening, "tightening method", "tightenings.csv", |r|
name: r.name.clone(),
aliases: r.aliases,
check: positive(&[("scatter_min", r.scatter_min)]).and_then(|()| {
    if r.scatter_min >= 1.0 && r.scatter_max >= r.scatter_min {
        Ok(())
    } else {
        Err(format!(
            "scatter {} to {} must be 1 or more and increasing",
            r.scatter_min, r.scatter_max
        ))
    }
}));

/// Tightening methods by name.
pub type Tightenings = Table<Tightening>;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_torque_wrench_scatters_less_than_an_impact_wrench() {
        let t = Tightenings::standard();
        assert!(t.get("wrench").unwrap().scatter_max < t.get("impact").unwrap().scatter_max);
    }
}
