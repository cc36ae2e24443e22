//! The torque sheet's lines: every bolt in the order it is tightened, with tool, torque and what was assumed.

use crate::fitup;
use crate::joint::End;
use crate::project::Project;
use crate::tables::HeadStyle;

use super::document::{Document, Part};
use super::fitup::cautions;

/// One bolt of the torque sheet.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// Place in the order of tightening, from 1.
    pub sequence: usize,
    /// Joint.
    pub joint: String,
    /// What it is: standard, size, class.
    pub bolt: String,
    /// Tool and its size.
    pub tool: String,
    /// Torque of the first pass, N·m.
    pub first_nm: f64,
    /// Full torque, N·m.
    pub torque_nm: f64,
    /// Preload at that torque, middle friction, kN.
    pub preload_kn: f64,
    /// Least preload after tightening, kN.
    pub preload_least_kn: f64,
    /// Lubrication assumed.
    pub lubrication: String,
    /// Thread-locker, and what it does to the torque.
    pub locker: String,
    /// Method of tightening.
    pub tightening: String,
    /// When it gets its full torque.
    pub when: String,
    /// What to check afterwards, and what to hold against.
    pub retorque: String,
}

/// The torque sheet in the order of tightening.
#[must_use]
pub fn rows(project: &Project) -> Vec<Row> {
    let fasteners = &project.loaded.job.fasteners;
    fitup::tightening(&project.plates, &project.layout, &project.assembly)
        .into_iter()
        .filter_map(|t| Some((project.bolting.of(&t.joint)?, t)))
        .enumerate()
        .map(|(k, (bolted, t))| {
            let head = &bolted.fastening.stack.screw.head;
            let p = &bolted.report.preload;
            let tool = match head.style {
                HeadStyle::SocketCap | HeadStyle::Countersunk => {
                    format!("hexagon key {}", head.drive_mm)
                }
                HeadStyle::Hex | HeadStyle::HexFlange => format!("socket {}", head.drive_mm),
            };
            let against = match &bolted.fastening.stack.end {
                End::Nut(n) => format!(", hold the nut with a {} mm spanner", n.across_flats_mm),
                End::Tapped(_) => String::new(),
            };
            let reach = if t.before.is_empty() {
                String::new()
            } else {
                format!("; take {} off to reach it", t.before.join(" and "))
            };
            Row {
                sequence: k + 1,
                joint: t.joint,
                bolt: bolted.report.designation.clone(),
                tool,
                first_nm: 0.5 * p.torque_nm,
                torque_nm: p.torque_nm,
                preload_kn: 1e-3 * p.preload_max_n,
                preload_least_kn: 1e-3 * p.preload_min_n,
                lubrication: fasteners.lubrication.clone(),
                locker: match p.locker_ratio {
                    Some(r) => format!("yes, counted: {r:.2} times the torque without"),
                    None => "no; do not add any, the preload would fall short".to_owned(),
                },
                tightening: fasteners.tightening.clone(),
                when: if t.before.is_empty() {
                    "after the belt lines up".to_owned()
                } else {
                    format!("before {} goes on", t.before.join(" and "))
                },
                retorque: format!("check again cold after the first heat cycle{against}{reach}"),
            }
        })
        .collect()
}

/// A joint's full torque in words.
pub(super) fn of(project: &Project, joint: &str) -> String {
    project.bolting.of(joint).map_or_else(
        || "as the torque sheet says".to_owned(),
        |b| format!("{:.1} N·m", b.report.preload.torque_nm),
    )
}

/// The torque sheet as a document.
#[must_use]
pub fn sheet(project: &Project) -> Document {
    let all = rows(project);
    let mut parts = cautions();
    parts.push(Part::Heading("Torque sheet".to_owned()));
    let same = |f: fn(&Row) -> &str| {
        let mut found: Vec<&str> = all.iter().map(f).collect();
        found.dedup();
        found.join("; ")
    };
    parts.push(Part::Points(vec![
        format!("Lubrication assumed: {}.", same(|r| &r.lubrication)),
        format!("Thread-locker: {}.", same(|r| &r.locker)),
        format!("Tightening: {}.", same(|r| &r.tightening)),
    ]));
    parts.push(Part::Table {
        head: vec![
            "no.",
            "joint",
            "bolt",
            "tool",
            "first, N·m",
            "full, N·m",
            "when",
            "retorque",
        ],
        shares: vec![0.05, 0.24, 0.19, 0.08, 0.07, 0.07, 0.13, 0.17],
        rows: all
            .into_iter()
            .map(|r| {
                vec![
                    r.sequence.to_string(),
                    r.joint,
                    r.bolt,
                    r.tool,
                    format!("{:.1}", r.first_nm),
                    format!("{:.1}", r.torque_nm),
                    r.when,
                    r.retorque,
                ]
            })
            .collect(),
    });
    Document {
        kind: "torque sheet",
        parts,
    }
}
