//! Lists for bolting up: fasteners by joint, fasteners to buy, the torque sheet and its cautions.

use std::collections::BTreeMap;

use crate::joint::End;
use crate::layout::{Joint, Part, ThreadIn};
use crate::project::Project;
use crate::tables::HeadStyle;

use super::PackageError;
use super::lists::{mm, write};

/// What every fit-up and torque sheet says before anyone picks up a wrench.
pub(super) const CAUTIONS: &str = "\
Before fitting up

- Isolate the battery. Engine cold, locked out, and tagged so that nobody starts it.
- Coolant and refrigerant are under pressure and hot: let down and drain before a line is opened.
  Refrigerant work is for licensed practice only.
- A spring tensioner stores force: let it back slowly, fingers clear of belt and pulleys.
- Guard the belt before the engine turns. Nobody reaches past a running belt.
- Use new bolts of the standard and class listed. Threads clean, in the lubrication listed: another
  lubrication gives another preload for the same torque.
- Tighten in the sequence listed, first all bolts of a part to half the torque, then to the full one.
- Check every torque again after the first heat cycle, engine cold.

Strength, slip and thread results are an aid to judgement and no certification. The engine's and the
accessories' makers' data, local codes, licensed practice (refrigerant work, pressure equipment) and
road approval go before anything printed here.
";

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
    let fasteners = &project.loaded.job.fasteners;
    let bolts: BTreeMap<&str, _> = joints(project)
        .map(|(joint, bolted)| (joint.id.as_str(), (joint, bolted)))
        .collect();
    let mut rows = Vec::new();
    for id in sequence(project) {
        let Some((joint, bolted)) = bolts.get(id.as_str()) else {
            continue;
        };
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
        rows.push(vec![
            (rows.len() + 1).to_string(),
            joint.id.clone(),
            bolted.report.designation.clone(),
            tool,
            mm(name, 0.5 * p.torque_nm, 1)?,
            mm(name, p.torque_nm, 1)?,
            mm(name, 1e-3 * p.preload_max_n, 1)?,
            mm(name, 1e-3 * p.preload_min_n, 1)?,
            fasteners.lubrication.clone(),
            match p.locker_ratio {
                Some(r) => format!("yes, counted: {r:.2} times the torque without"),
                None => "no; do not add any, the preload would fall short".to_owned(),
            },
            fasteners.tightening.clone(),
            format!("check again cold after the first heat cycle{against}"),
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
            "note",
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

/// Joints in the order they are tightened: plate by plate, the block's bolts before the accessories',
/// across from each other in turn.
fn sequence(project: &Project) -> Vec<String> {
    let mut out: Vec<String> = Vec::new();
    for made in &project.plates {
        let in_plate = |j: &&Joint| {
            j.layers
                .iter()
                .any(|l| matches!(&l.part, Part::Plate(p) if *p == made.plate.id))
        };
        let block = |j: &Joint| j.holes.iter().any(|h| h.owner == "block");
        for on_block in [true, false] {
            let mut round: Vec<(f64, &Joint)> = Vec::new();
            let mine: Vec<&Joint> = project
                .layout
                .joints
                .iter()
                .filter(in_plate)
                .filter(|j| block(j) == on_block)
                .collect();
            let places: Vec<_> = mine
                .iter()
                .map(|j| made.plate.frame.to_plane(j.at).0)
                .collect();
            let n = places.len().max(1) as f64;
            let (cx, cy) = places
                .iter()
                .fold((0.0, 0.0), |(x, y), p| (x + p.x / n, y + p.y / n));
            for (j, p) in mine.iter().zip(&places) {
                round.push(((p.y - cy).atan2(p.x - cx), j));
            }
            round.sort_by(|a, b| a.0.total_cmp(&b.0).then_with(|| a.1.id.cmp(&b.1.id)));
            // Round the circle from both of its halves in turn: each bolt lies across from the last.
            let half = round.len().div_ceil(2);
            for i in 0..half {
                for k in [i, i + half] {
                    if let Some((_, j)) = round.get(k)
                        && !out.contains(&j.id)
                    {
                        out.push(j.id.clone());
                    }
                }
            }
        }
    }
    out
}
