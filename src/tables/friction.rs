//! Friction: in threads and under heads by lubrication, and between clamped faces.

use serde::{Deserialize, Serialize};

use super::table::{Confidence, Table, increasing, positive, row};

/// Where a friction row acts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum ActsOn {
    /// In the thread and under the head.
    Both,
    /// In the thread only: a thread-locker.
    Thread,
}

/// Friction of a lubrication state or a thread-locker.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Friction {
    /// State, such as `oiled`.
    pub name: String,
    /// Other names, separated by `;`.
    #[serde(default)]
    pub aliases: String,
    /// Least coefficient: it gives the greatest preload for a torque.
    pub mu_min: f64,
    /// Middle coefficient.
    pub mu_mean: f64,
    /// Greatest coefficient.
    pub mu_max: f64,
    /// Thread and head, or thread only.
    pub acts_on: ActsOn,
    /// Where the row is from.
    pub source: String,
    /// How sure it is.
    pub confidence: Confidence,
}

row!(Friction, "lubrication", "frictions.csv", |r|
name: r.name.clone(),
aliases: r.aliases,
check: positive(&[("mu_min", r.mu_min)]).and_then(|()| increasing(&[
    ("mu_min", r.mu_min),
    ("mu_mean", r.mu_mean),
    ("mu_max", r.mu_max),
])));

/// Lubrication states by name.
pub type Frictions = Table<Friction>;

/// Friction between two clamped faces.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Interface {
    /// State of the faces, such as `as rolled`.
    pub name: String,
    /// Other names, separated by `;`.
    #[serde(default)]
    pub aliases: String,
    /// Slip factor: the share of the clamp force that resists sliding.
    pub slip_factor: f64,
    /// Where the row is from.
    pub source: String,
    /// How sure it is.
    pub confidence: Confidence,
}

row!(Interface, "interface", "interfaces.csv", |r|
    name: r.name.clone(),
    aliases: r.aliases,
    check: positive(&[("slip_factor", r.slip_factor)])
        .and_then(|()| increasing(&[("slip_factor", r.slip_factor), ("one", 1.0)])));

/// Interface states by name.
pub type Interfaces = Table<Interface>;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_oiled_bolt_has_the_friction_of_the_torque_table() {
        let f = Frictions::standard().get("as received").unwrap();
        assert!((f.mu_mean - 0.12).abs() < 1e-12);
    }

    #[test]
    fn a_thread_locker_acts_in_the_thread_only() {
        let f = Frictions::standard().get("threadlocker").unwrap();
        assert_eq!(f.acts_on, ActsOn::Thread);
    }

    #[test]
    fn rolled_faces_have_the_slip_factor_of_class_d() {
        let i = Interfaces::standard().get("as rolled").unwrap();
        assert!((i.slip_factor - 0.2).abs() < 1e-12);
    }
}
