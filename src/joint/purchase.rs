//! One list of fasteners to buy for all joints.

use std::collections::BTreeMap;

use serde::Serialize;

use super::fastening::{Fastening, FasteningReport};
use super::stack::{End, LayerKind};

/// One line of the list.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct PurchaseLine {
    /// What it is: standard, size, length, class.
    pub item: String,
    /// Coating and other words.
    pub finish: String,
    /// Pieces needed.
    pub count: usize,
    /// Joints that take it, in order.
    pub places: Vec<String>,
}

/// Screws, washers and nuts of all joints, equal ones counted together.
///
/// Sorted by name; a joint that takes two equal washers is named twice.
#[must_use]
pub fn purchase_list(joints: &[(&Fastening, &FasteningReport)]) -> Vec<PurchaseLine> {
    // The order of the first key keeps screws before washers before nuts.
    let mut lines: BTreeMap<(u8, String, String), Vec<String>> = BTreeMap::new();
    for (fastening, report) in joints {
        let finish = fastening.stack.screw.finish.clone();
        let mut add = |kind: u8, item: String, finish: String| {
            lines
                .entry((kind, item, finish))
                .or_default()
                .push(report.place.clone());
        };
        add(0, report.designation.clone(), finish.clone());
        for layer in &fastening.stack.layers {
            if layer.kind == LayerKind::Washer {
                add(1, layer.name.clone(), finish.clone());
            }
        }
        if let End::Nut(nut) = &fastening.stack.end {
            let item = format!("{} {}", nut.standard, fastening.stack.screw.thread.name);
            add(2, item, finish);
        }
    }
    lines
        .into_iter()
        .map(|((_, item, finish), places)| PurchaseLine {
            item,
            finish,
            count: places.len(),
            places,
        })
        .collect()
}
