//! Lists for the shop as CSV: holes of every plate, spacers to turn.

use std::collections::BTreeMap;

use crate::callout::label_features;
use crate::export::ShopFile;
use crate::feature::Shape;
use crate::geom::Point;
use crate::layout::Joint;
use crate::number;
use crate::order::Name;
use crate::project::Project;

use super::PackageError;
use crate::layout::stocked;

/// The lists of a package.
pub(super) fn files(project: &Project) -> Result<Vec<ShopFile>, PackageError> {
    Ok(vec![
        ShopFile::new("holes.csv", holes(project)?),
        ShopFile::new("spacers.csv", spacers(&project.layout.joints)?),
        ShopFile::new("fasteners.csv", super::bolts::fasteners(project)?),
        ShopFile::new("fasteners-to-buy.csv", super::bolts::to_buy(project)?),
        super::parts::list(project)?,
        ShopFile::new("torque.csv", super::bolts::torque(project)?),
        ShopFile::new("cautions.txt", crate::report::fitup::CAUTIONS),
    ])
}

pub(super) fn write(
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

pub(super) fn mm(name: &'static str, v: f64, decimals: u32) -> Result<String, PackageError> {
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

/// Spacers to turn or to stack, equal ones together.
fn spacers(joints: &[Joint]) -> Result<Vec<u8>, PackageError> {
    let name = "spacers.csv";
    let mut by_name: BTreeMap<(Name, String), (crate::layout::SpacerSize, Vec<&str>)> =
        BTreeMap::new();
    for joint in joints {
        for (s, pieces) in joint.stacked() {
            let made = if pieces.is_empty() {
                "turned to length".to_owned()
            } else {
                stocked::words(pieces)
            };
            by_name
                .entry((Name(s.designation()), made))
                .or_insert_with(|| (s, Vec::new()))
                .1
                .push(&joint.id);
        }
    }
    let mut rows = Vec::new();
    for ((id, made), (s, at)) in by_name {
        rows.push(vec![
            id.0,
            mm(name, s.outside_mm, 2)?,
            mm(name, s.bore_mm, 2)?,
            mm(name, s.length_mm, 3)?,
            made,
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
            "made_of",
            "quantity",
            "joints",
        ],
        rows,
    )
}
