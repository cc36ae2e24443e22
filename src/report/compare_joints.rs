//! What changed of the joints between two jobs: bolt, head, grip, spacers, engagement, what the bolt passes.

use std::collections::BTreeMap;

use crate::layout::{Joint, Part, ThreadIn, fastener, stocked};
use crate::order::Name;
use crate::project::Project;
use crate::tol;

/// Joints whose stack differs, in words, one change each.
pub(super) fn changes(old: &Project, new: &Project) -> Vec<String> {
    let (a, b) = (facts(old), facts(new));
    let mut out = Vec::new();
    for (id, before) in &a {
        match b.get(id) {
            None => out.push(format!("`{}` is gone", id.0)),
            Some(after) => {
                let pairs = before.iter().zip(after);
                out.extend(
                    pairs
                        .filter(|(x, y)| x.value != y.value)
                        .map(|(x, y)| format!("`{}` {} {} -> {}", id.0, x.name, x.value, y.value)),
                );
            }
        }
    }
    for id in b.keys().filter(|k| !a.contains_key(*k)) {
        out.push(format!("`{}` is new", id.0));
    }
    out
}

/// One thing said of a joint; equal values are the same thing.
struct Fact {
    name: &'static str,
    value: String,
}

/// What is said of every joint, in the same order for each.
fn facts(p: &Project) -> BTreeMap<Name, Vec<Fact>> {
    let joints = p.layout.joints.iter();
    joints
        .map(|j| (Name(j.id.clone()), of_joint(p, j)))
        .collect()
}

fn of_joint(p: &Project, j: &Joint) -> Vec<Fact> {
    let mm = |v: f64| {
        // Rounds away what no tool can see.
        let shown = if v.abs() < tol::RULE_MM { 0.0 } else { v };
        format!("{shown:.3} mm")
    };
    let report = p.bolting.of(&j.id).map(|b| &b.report);
    let none = || "none".to_owned();
    let spacers: Vec<String> = j
        .stacked()
        .map(|(s, pieces)| {
            let made = if pieces.is_empty() {
                String::new()
            } else {
                format!(" ({})", stocked::words(pieces))
            };
            format!("{:.3} mm{made}", s.length_mm)
        })
        .collect();
    let parts: Vec<String> = j
        .layers
        .iter()
        .filter_map(|l| match &l.part {
            Part::Plate(id) => Some(format!("plate {id}")),
            Part::Ear(e) => Some(format!("ear {e}")),
            Part::Spacer { .. } => None,
        })
        .collect();
    let thread_in = match &j.thread_in {
        ThreadIn::Block { material, .. } => format!("the block, {material}"),
        ThreadIn::Ear { material, .. } => format!("an ear, {material}"),
        ThreadIn::Plate { plate } => format!("plate {plate}"),
        ThreadIn::Nut => "a nut".to_owned(),
    };
    let with = |what: bool, word: &str| if what { word.to_owned() } else { none() };
    let pairs = [
        ("bolt", report.map_or_else(none, |r| r.designation.clone())),
        ("head", fastener::head_standard(j.head).to_owned()),
        (
            "head on the",
            if j.head_high { "high end" } else { "low end" }.to_owned(),
        ),
        ("washer", with(j.washer, "under the head")),
        ("counterbore", with(j.counterbored, "for the head")),
        ("passes", parts.join(", ")),
        ("thread in", thread_in),
        ("grip", report.map_or_else(none, |r| mm(r.stack.grip_mm))),
        (
            "spacers",
            if spacers.is_empty() {
                none()
            } else {
                spacers.join(", ")
            },
        ),
        (
            "engagement",
            report.map_or_else(none, |r| mm(r.stack.engagement_mm)),
        ),
        (
            "torque",
            report.map_or_else(none, |r| format!("{:.1} N·m", r.preload.torque_nm)),
        ),
    ];
    pairs
        .into_iter()
        .map(|(name, value)| Fact { name, value })
        .collect()
}
