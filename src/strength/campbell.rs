//! Natural frequencies against excitation orders over the speed range.

use serde::Serialize;

use super::model::Excitation;

/// One mode against one order.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Meeting {
    /// Mode, counted from 1.
    pub mode: usize,
    /// Natural frequency, Hz.
    pub hz: f64,
    /// Order's name.
    pub order: String,
    /// Cycles per turn.
    pub per_turn: f64,
    /// Lowest excitation, at idle, Hz.
    pub idle_hz: f64,
    /// Highest excitation, at top speed, Hz.
    pub top_hz: f64,
    /// Speed at which the order meets the mode, rpm.
    pub at_rpm: f64,
    /// Whether that speed lies in the range.
    pub is_met: bool,
    /// Natural frequency over the highest excitation, less one: positive when the mode lies above the range.
    pub above_top: f64,
    /// One less natural frequency over the lowest excitation: positive when the mode lies below the range.
    pub below_idle: f64,
}

/// All modes against all orders.
#[must_use]
pub fn table(hz: &[f64], excitation: &Excitation) -> Vec<Meeting> {
    let mut out = Vec::new();
    for (k, &f) in hz.iter().enumerate() {
        for o in &excitation.orders {
            let idle_hz = o.per_turn * excitation.idle_rpm / 60.0;
            let top_hz = o.per_turn * excitation.top_rpm / 60.0;
            out.push(Meeting {
                mode: k + 1,
                hz: f,
                order: o.id.clone(),
                per_turn: o.per_turn,
                idle_hz,
                top_hz,
                at_rpm: 60.0 * f / o.per_turn,
                is_met: f >= idle_hz && f <= top_hz,
                above_top: f / top_hz - 1.0,
                below_idle: 1.0 - f / idle_hz,
            });
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::super::model::Order;
    use super::*;

    #[test]
    fn a_four_cylinder_fires_twice_a_turn() {
        // n = 4: 26.6667 Hz at 800 rpm, 200 Hz at 6000 rpm.
        let e = Excitation {
            idle_rpm: 800.0,
            top_rpm: 6000.0,
            orders: vec![Order {
                id: "firing".into(),
                per_turn: 2.0,
            }],
        };
        let t = table(&[150.0, 260.0], &e);
        assert!((t[0].idle_hz - 26.6667).abs() < 1e-4 && (t[0].top_hz - 200.0).abs() < 1e-9);
        assert!(t[0].is_met && (t[0].at_rpm - 4500.0).abs() < 1e-9);
        assert!(!t[1].is_met && (t[1].above_top - 0.3).abs() < 1e-12);
    }
}
