//! One verdict about a joint: a measured value against its limit, with source and place.

use serde::Serialize;

use crate::tol;

/// The rules of this module: id and what is judged.
pub const RULES: &[(&str, &str)] = &[
    ("J101", "thread engagement"),
    ("J102", "screw tip to the hole's floor"),
    ("J103", "screw tip within the full thread"),
    ("J104", "free thread in the grip"),
    ("J105", "thread past the nut"),
    ("J106", "a stocked length exists"),
    ("J107", "head sinks into its counterbore"),
    ("J201", "the bolt breaks before the thread strips"),
    ("J202", "pressure between clamped faces"),
    ("J203", "preload left after settling and temperature"),
    ("J301", "slip"),
    ("J302", "separation"),
    ("J303", "seat opening under a tilting moment"),
    ("J304", "bolt proof load"),
    ("J305", "bolt yield in service"),
    ("J306", "thread load in service"),
    ("J307", "bolt fatigue"),
    ("J308", "bolt shear and tension should the joint slip"),
    ("J401", "hole bearing"),
    ("J402", "tear-out to the edge"),
    ("J403", "punching under the head"),
];

/// Relative slack of a comparison that is not a length, so that a limit met exactly passes.
///
/// Values come from some tens of operations on doubles: 1e-9 is far above
/// their rounding and far below anything measured.
const RELATIVE_SLACK: f64 = 1e-9;

/// Which side of the limit is right.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Sense {
    /// The measured value must reach the limit.
    AtLeast,
    /// The measured value must not pass the limit.
    AtMost,
}

/// One verdict.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Judgement {
    /// Rule id, one of [`RULES`].
    pub rule: &'static str,
    /// What was measured, in words.
    pub what: String,
    /// Measured value, in `unit`.
    pub measured: f64,
    /// Limit, in `unit`.
    pub limit: f64,
    /// Unit of both; empty for a ratio.
    pub unit: &'static str,
    /// Which side of the limit is right.
    pub sense: Sense,
    /// Standard, handbook or practice the limit comes from.
    pub source: String,
    /// Where: joint, bolt, hole, face.
    pub place: String,
}

impl Judgement {
    /// Whether the measured value is on the right side, within the named slack; not a number never is.
    #[must_use]
    pub fn holds(&self) -> bool {
        let slack = if self.unit == "mm" {
            tol::RULE_MM
        } else {
            RELATIVE_SLACK * self.limit.abs().max(1.0)
        };
        match self.sense {
            Sense::AtLeast => self.measured >= self.limit - slack,
            Sense::AtMost => self.measured <= self.limit + slack,
        }
    }

    /// Distance to the limit as a share of it, positive when it holds; in `unit` where the limit is 0.
    #[must_use]
    pub fn margin(&self) -> f64 {
        let room = match self.sense {
            Sense::AtLeast => self.measured - self.limit,
            Sense::AtMost => self.limit - self.measured,
        };
        if self.limit == 0.0 {
            room
        } else {
            room / self.limit.abs()
        }
    }
}

/// The part of a verdict that the place of a check fixes: where, and by what source.
#[derive(Debug, Clone, Copy)]
pub(super) struct Bench<'a> {
    pub(super) place: &'a str,
}

impl Bench<'_> {
    pub(super) fn at_least(
        self,
        rule: &'static str,
        what: impl Into<String>,
        (measured, limit, unit): (f64, f64, &'static str),
        source: impl Into<String>,
    ) -> Judgement {
        self.judge(
            rule,
            what.into(),
            (measured, limit, unit),
            Sense::AtLeast,
            source.into(),
        )
    }

    pub(super) fn at_most(
        self,
        rule: &'static str,
        what: impl Into<String>,
        (measured, limit, unit): (f64, f64, &'static str),
        source: impl Into<String>,
    ) -> Judgement {
        self.judge(
            rule,
            what.into(),
            (measured, limit, unit),
            Sense::AtMost,
            source.into(),
        )
    }

    fn judge(
        self,
        rule: &'static str,
        what: String,
        (measured, limit, unit): (f64, f64, &'static str),
        sense: Sense,
        source: String,
    ) -> Judgement {
        Judgement {
            rule,
            what,
            measured,
            limit,
            unit,
            sense,
            source,
            place: self.place.to_owned(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_limit_met_exactly_holds_and_not_a_number_fails() {
        let bench = Bench { place: "a" };
        let j = |m, unit| bench.at_least("J101", "x", (m, 15.0, unit), "s");
        assert!(j(15.0, "mm").holds() && j(15.0 - 0.9e-6, "mm").holds());
        assert!(!j(15.0 - 2e-6, "mm").holds());
        assert!(!j(f64::NAN, "mm").holds());
        assert!((j(18.0, "mm").margin() - 0.2).abs() < 1e-12);
        let most = bench.at_most("J202", "x", (90.0, 100.0, "MPa"), "s");
        assert!(most.holds() && (most.margin() - 0.1).abs() < 1e-12);
    }

    #[test]
    fn rule_ids_are_used_once() {
        for (i, (id, _)) in RULES.iter().enumerate() {
            assert!(
                RULES.iter().skip(i + 1).all(|(other, _)| other != id),
                "{id}"
            );
        }
    }
}
