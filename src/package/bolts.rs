//! Lists for bolting up: fasteners by joint, fasteners to buy, the torque sheet and its cautions.

use crate::joint::End;
use crate::layout::{Joint, ThreadIn};
use crate::project::Project;
use crate::report::torque;

use super::PackageError;
use super::lists::{mm, write};

/// One line a joint: standard, size, length, class, washer, nut and how it sits.
pub(super) fn fasteners(project: &Project) -> Result<Vec<u8>, PackageError> {
    let name = "fasteners.csv";
    let mut rows = Vec::new();
    for (joint, bolted) in joints(project) {
        let thread_in = match &joint.thread_in {
            ThreadIn::Block { material, .. } => format!("block ({material})"),
            ThreadIn::Ear { material, .. } => format!("ear ({material})"),
            ThreadIn::Plate { plate } => format!("plate {plate}"),
            ThreadIn::Nut => "nut".to_owned(),
        };
        let served: Vec<String> = joint.holes.iter().map(ToString::to_string).collect();
        let screw = &bolted.fastening.stack.screw;
        let stack = &bolted.report.stack;
        let washers = bolted
            .fastening
            .stack
            .layers
            .iter()
            .filter(|l| l.kind == crate::joint::LayerKind::Washer)
            .count();
        rows.push(vec![
            joint.id.clone(),
            screw.head.standard.clone(),
            screw.thread.name.clone(),
            mm(name, stack.length_mm, 0)?,
            screw.class.class.clone(),
            "1".to_owned(),
            if washers > 0 { "ISO 7089" } else { "" }.to_owned(),
            washers.to_string(),
            match &bolted.fastening.stack.end {
                End::Nut(n) => n.standard.clone(),
                End::Tapped(_) => String::new(),
            },
            mm(name, stack.grip_mm, 3)?,
            mm(name, stack.engagement_mm, 2)?,
            mm(name, stack.engagement_min_mm, 2)?,
            stack
                .tip_clearance_mm
                .map_or(Ok(String::new()), |t| mm(name, t, 2))?,
            thread_in,
            served.join(" "),
        ]);
    }
    write(
        name,
        &[
            "joint",
            "standard",
            "thread",
            "length_mm",
            "class",
            "quantity",
            "washer",
            "washers",
            "nut",
            "clamped_mm",
            "engaged_mm",
            "engaged_least_mm",
            "tip_to_floor_mm",
            "thread_in",
            "holes",
        ],
        rows,
    )
}

/// One list of everything to buy, equal pieces counted together.
pub(super) fn to_buy(project: &Project) -> Result<Vec<u8>, PackageError> {
    let rows = project
        .bolting
        .purchase_list()
        .into_iter()
        .map(|l| vec![l.item, l.finish, l.count.to_string(), l.places.join(" ")]);
    write(
        "fasteners-to-buy.csv",
        &["item", "finish", "quantity", "joints"],
        rows,
    )
}

/// The torque sheet, in the sequence in which the bolts are tightened.
pub(super) fn torque(project: &Project) -> Result<Vec<u8>, PackageError> {
    let name = "torque.csv";
    let mut rows = Vec::new();
    for r in torque::rows(project) {
        rows.push(vec![
            r.sequence.to_string(),
            r.joint,
            r.bolt,
            r.tool,
            mm(name, r.first_nm, 1)?,
            mm(name, r.torque_nm, 1)?,
            mm(name, r.preload_kn, 1)?,
            mm(name, r.preload_least_kn, 1)?,
            r.lubrication,
            r.locker,
            r.tightening,
            r.when,
            r.retorque,
        ]);
    }
    write(
        name,
        &[
            "sequence",
            "joint",
            "bolt",
            "tool_mm",
            "first_pass_nm",
            "torque_nm",
            "preload_kn",
            "preload_least_kn",
            "lubrication",
            "thread_locker",
            "tightening",
            "when",
            "retorque",
        ],
        rows,
    )
}

fn joints(project: &Project) -> impl Iterator<Item = (&Joint, &crate::bolting::Bolted)> {
    project
        .layout
        .joints
        .iter()
        .filter_map(|j| Some((j, project.bolting.of(&j.id)?)))
}
