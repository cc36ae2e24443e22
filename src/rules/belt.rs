//! The belt family, B201 and on: what the drive analysis held against its limits, as findings.

use crate::diag::Spot;
use crate::drive::{self, Analysis, Weight};

use super::{Finding, Sense, Verdict};

/// What a finding about the belt is on; its places are in the engine frame.
pub const DRIVE: &str = "drive";

/// Findings of a drive; places are in the engine frame, seen from the front.
#[must_use]
pub fn findings(analysis: &Analysis, spot: Spot) -> Vec<Finding> {
    analysis
        .judgements
        .iter()
        .map(|j| {
            let rule = j.rule;
            let at_least = rule.sense == drive::Sense::AtLeast;
            // What cannot be had counts as broken without bound.
            let nothing = if at_least {
                f64::NEG_INFINITY
            } else {
                f64::INFINITY
            };
            Finding {
                rule: rule.id,
                title: rule.title,
                on: DRIVE.to_owned(),
                at: j.what.clone(),
                what: if j.note.is_empty() {
                    j.what.clone()
                } else {
                    format!("{}, {}", j.what, j.note)
                },
                measured: j.measured.unwrap_or(nothing),
                limit: j.limit,
                // The drive counts shares and numbers in "1".
                unit: if rule.unit == "1" { "-" } else { rule.unit },
                sense: if at_least {
                    Sense::AtLeast
                } else {
                    Sense::AtMost
                },
                margin: j.margin.unwrap_or(f64::NEG_INFINITY),
                verdict: match (j.holds, rule.weight) {
                    (true, _) => Verdict::Holds,
                    (false, Weight::Must) => Verdict::Fails,
                    (false, Weight::Advice) => Verdict::Advises,
                },
                reason: None,
                places: j.place_mm.into_iter().collect(),
                source: rule.source.into(),
                mend: None,
                spot,
            }
        })
        .collect()
}
