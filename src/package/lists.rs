//! Lists for the shop as CSV: holes of every plate, spacers to turn, fasteners by joint.

use std::collections::BTreeMap;

use crate::callout::label_features;
use crate::export::ShopFile;
use crate::feature::Shape;
use crate::geom::Point;
use crate::layout::{Joint, ThreadIn, fastener};
use crate::number;
use crate::order::Name;
use crate::project::Project;

use super::PackageError;
use super::assembly::spacer_name;

/// The lists of a package.
pub(super) fn files(project: &Project) -> Result<Vec<ShopFile>, PackageError> {
    Ok(vec![
        ShopFile::new("holes.csv", holes(project)?),
        ShopFile::new("spacers.csv", spacers(&project.layout.joints)?),
        ShopFile::new("fasteners.csv", fasteners(&project.layout.joints)?),
    ])
}

fn write(
    name: &'static str,
    head: &[&str],
    rows: impl IntoIterator<Item = Vec<String>>,
) -> Result<Vec<u8>, PackageError> {
    let fault = |e: &dyn std::fmt::Display| PackageError::List {
        name,
        why: e.to_string(),
    };
    let mut w = csv::WriterBuilder::new()
        .terminator(csv::Terminator::Any(b'\n'))
        .from_writer(Vec::new());
    w.write_record(head).map_err(|e| fault(&e))?;
    for row in rows {
        w.write_record(&row).map_err(|e| fault(&e))?;
    }
    w.into_inner().map_err(|e| fault(&e))
}

fn mm(name: &'static str, v: f64, decimals: u32) -> Result<String, PackageError> {
    number::fixed(v, decimals).map_err(|e| PackageError::List {
        name,
        why: e.to_string(),
    })
}

/// Holes and other openings of every plate, x and y from the plate's own origin.
fn holes(project: &Project) -> Result<Vec<u8>, PackageError> {
    let name = "holes.csv";
    let mut rows = Vec::new();
    for made in &project.plates {
        for l in label_features(&made.plate) {
            let f = l.feature;
            let at = match &f.shape {
                Shape::Hole(h) => h.centre,
                _ => f.centroid().unwrap_or(Point::ORIGIN),
            };
            if matches!(f.shape, Shape::Mark(_)) {
                continue;
            }
            rows.push(vec![
                made.plate.id.clone(),
                l.label.clone(),
                f.id.clone(),
                mm(name, at.x, 4)?,
                mm(name, at.y, 4)?,
                crate::callout::Callout::of(f).line(),
                made.marked.get(&f.id).cloned().unwrap_or_default(),
            ]);
        }
    }
    write(
        name,
        &[
            "plate",
            "label",
            "feature",
            "x_mm",
            "y_mm",
            "callout",
            "left_to_drill",
        ],
        rows,
    )
}

/// Spacers to turn, equal ones together.
fn spacers(joints: &[Joint]) -> Result<Vec<u8>, PackageError> {
    let name = "spacers.csv";
    let mut by_name: BTreeMap<Name, (crate::layout::SpacerSize, Vec<&str>)> = BTreeMap::new();
    for joint in joints {
        for s in joint.spacers() {
            by_name
                .entry(Name(spacer_name(&s)))
                .or_insert_with(|| (s, Vec::new()))
                .1
                .push(&joint.id);
        }
    }
    let mut rows = Vec::new();
    for (id, (s, at)) in by_name {
        rows.push(vec![
            id.0,
            mm(name, s.outside_mm, 2)?,
            mm(name, s.bore_mm, 2)?,
            mm(name, s.length_mm, 3)?,
            at.len().to_string(),
            at.join(" "),
        ]);
    }
    write(
        name,
        &[
            "spacer",
            "outside_mm",
            "bore_mm",
            "length_mm",
            "quantity",
            "joints",
        ],
        rows,
    )
}

/// One line a joint: thread, head, class, clamped length and where the thread is.
fn fasteners(joints: &[Joint]) -> Result<Vec<u8>, PackageError> {
    let name = "fasteners.csv";
    let mut rows = Vec::new();
    for j in joints {
        let thread_in = match &j.thread_in {
            ThreadIn::Block { material, .. } => format!("block ({material})"),
            ThreadIn::Ear { material, .. } => format!("ear ({material})"),
            ThreadIn::Plate { plate } => format!("plate {plate}"),
            ThreadIn::Nut => "nut ISO 4032".to_owned(),
        };
        let served: Vec<String> = j.holes.iter().map(ToString::to_string).collect();
        rows.push(vec![
            j.id.clone(),
            j.thread.clone(),
            fastener::head_standard(j.head).to_owned(),
            j.class.clone(),
            if j.washer { "ISO 7089" } else { "" }.to_owned(),
            mm(name, j.grip_mm(), 3)?,
            thread_in,
            served.join(" "),
        ]);
    }
    write(
        name,
        &[
            "joint",
            "thread",
            "head",
            "class",
            "washer",
            "clamped_mm",
            "thread_in",
            "holes",
        ],
        rows,
    )
}
