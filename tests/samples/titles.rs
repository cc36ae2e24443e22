//! Title data for sample drawings.

use platewright::drawing::{Deviation, Revision, TitleData};

/// A title block with everything filled in.
pub fn full() -> TitleData {
    let text = str::to_string;
    let revision = |index: &str, change: &str, date: &str| Revision {
        index: text(index),
        change: text(change),
        date: text(date),
        by: text("N. Lindqvist"),
    };
    TitleData {
        owner: text("Storskog Fabrication"),
        number: text("FWD-1042-01"),
        title: text("Upper alternator plate"),
        supplement: text("Forwarder re-power, four-cylinder diesel, 24 V charging"),
        revision: text("B"),
        issued: text("2026-03-14"),
        creator: text("N. Lindqvist"),
        approver: text("M. Öberg"),
        status: text("released"),
        finish: text("zinc flake coated, 8 µm"),
        quantity: Some(1),
        contour_file: text("upper_plate.dxf"),
        notes: vec![text("Seats of A and B flat within 0.1 mm.")],
        revisions: vec![
            revision("A", "First issue", "2026-02-02"),
            revision(
                "B",
                "Pivot hole moved 2 mm outwards; window W1 enlarged to save mass",
                "2026-03-14",
            ),
        ],
        deviations: vec![Deviation {
            rule: text("edge-distance"),
            finding: text("block.A2 has 14.2 mm of metal to the lower edge, 16.5 mm wanted"),
            reason: text("the engine mount below leaves no room; the load there is 0.4 kN"),
        }],
        ..TitleData::default()
    }
}

/// The least a drawing can carry.
pub fn bare() -> TitleData {
    TitleData {
        number: "P-1".to_string(),
        title: "Plate".to_string(),
        ..TitleData::default()
    }
}
