//! The joint family, J101 and on: what every fastener and bolt hole has left, as findings.

use crate::bolting::{self, Bolting, Placed};
use crate::joint;

use super::{Finding, Sense, Verdict};

/// Findings of a job's fasteners; places of holes are in their plate's frame.
#[must_use]
pub fn findings(bolting: &Bolting) -> Vec<Finding> {
    bolting.judgements.iter().map(finding).collect()
}

fn finding(p: &Placed) -> Finding {
    let j = &p.judgement;
    let at_least = j.sense == joint::Sense::AtLeast;
    let margin = if at_least {
        j.measured - j.limit
    } else {
        j.limit - j.measured
    };
    Finding {
        rule: j.rule,
        title: bolting::title(j.rule),
        on: p.on.clone(),
        at: p.at.clone(),
        what: if p.at.is_empty() {
            j.what.clone()
        } else {
            format!("{} ({})", j.what, p.at)
        },
        measured: j.measured,
        limit: j.limit,
        unit: if j.unit.is_empty() { "-" } else { j.unit },
        sense: if at_least {
            Sense::AtLeast
        } else {
            Sense::AtMost
        },
        margin,
        verdict: if j.holds() {
            Verdict::Holds
        } else {
            Verdict::Fails
        },
        reason: None,
        places: p.place.into_iter().collect(),
        source: j.source.clone().into(),
        mend: if j.holds() { None } else { mend(j.rule) },
        spot: p.spot,
    }
}

/// What would mend a failing rule of the family.
fn mend(rule: &str) -> Option<String> {
    let text = match rule {
        "J101" | "J103" => {
            "use a deeper thread, another plate thickness, or packing under the head"
        }
        "J106" => "pack the head with a washer, or change the plate's thickness",
        "J201" => "use a lower property class, a deeper thread, or a nut",
        "J202" => "use a flange head or a washer, a lower property class, or a harder plate",
        "J203" => "lengthen the grip with a spacer, or tighten with less scatter",
        "J301" | "J302" => "use a larger bolt or a higher class, one bolt more, or rougher faces",
        "J303" => "move a bolt out of the line of the others, or widen the seat",
        "J304" | "J305" | "J306" | "J307" | "J308" => {
            "use a larger bolt, one bolt more, or bring the load nearer the bolts"
        }
        "J401" | "J402" | "J403" => "move the hole away from the edge, or use a thicker plate",
        _ => return None,
    };
    Some(text.to_owned())
}
