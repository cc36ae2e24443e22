//! C106: whether the set goes together at all, as a finding.

use crate::diag::Spot;
use crate::fitup::{self, Assembly};

use super::{Finding, Sense, Verdict};

/// What the finding is on.
pub const SET: &str = "set";

/// The finding of a set's order of assembly; `spot` is the job's.
#[must_use]
pub fn findings(assembly: &Assembly, spot: Spot) -> Vec<Finding> {
    let (rule, title, _) = fitup::RULE;
    let left = assembly.order.as_ref().err().map_or(0, |s| s.left.len());
    let holds = left == 0;
    let what = if holds {
        "pieces that cannot be put on".to_owned()
    } else {
        format!(
            "pieces that cannot be put on: {}",
            assembly.stuck_words().join("; ")
        )
    };
    vec![Finding {
        rule,
        title,
        on: SET.to_owned(),
        at: String::new(),
        what,
        measured: left as f64,
        limit: 0.0,
        unit: "",
        sense: Sense::AtMost,
        margin: -(left as f64),
        verdict: if holds {
            Verdict::Holds
        } else {
            Verdict::Fails
        },
        reason: None,
        places: Vec::new(),
        source: "geometry".into(),
        mend: (!holds).then(|| {
            "move a bolt out from under what covers it, open a window over its head, or split the part \
             that is in the way"
                .to_owned()
        }),
        spot,
    }]
}
