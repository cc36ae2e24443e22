//! What `compare` says of joints, slots and holes that changed: each with its value before and after.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a helper of a test fails it by panicking"
)]

use std::path::Path;

use platewright::project::{self, Project};
use platewright::report::compare::{Comparison, compare};

/// A demo job with pieces of its text replaced, every file it names beside it.
fn changed(job: &str, swaps: &[(&str, &str)]) -> (tempfile::TempDir, Project) {
    let folder = tempfile::tempdir().unwrap();
    let params = Path::new(env!("CARGO_MANIFEST_DIR")).join("params");
    for kind in ["blocks", "accessories", "shops", "stock"] {
        let to = folder.path().join(kind);
        std::fs::create_dir_all(&to).unwrap();
        for entry in std::fs::read_dir(params.join(kind)).unwrap() {
            let from = entry.unwrap().path();
            std::fs::copy(&from, to.join(from.file_name().unwrap())).unwrap();
        }
    }
    let mut text =
        std::fs::read_to_string(params.join("jobs").join(format!("{job}.toml"))).unwrap();
    for (from, to) in swaps {
        assert!(text.contains(from), "`{from}` is in the job");
        text = text.replace(from, to);
    }
    let path = folder.path().join(format!("{job}.toml"));
    std::fs::write(&path, text).unwrap();
    let p = project::open(&path).unwrap_or_else(|f| panic!("{:?}", f.findings));
    (folder, p)
}

fn compared(job: &str, before: &[(&str, &str)], after: &[(&str, &str)]) -> Comparison {
    let (_a, old) = changed(job, before);
    let (_b, new) = changed(job, after);
    compare(&old, &new)
}

fn has(lines: &[String], line: &str) {
    assert!(lines.iter().any(|l| l == line), "{line}\n{lines:#?}");
}

#[test]
fn a_plate_raised_by_5_mm_changes_spacer_grip_and_bolt() {
    let c = compared(
        "forwarder",
        &[],
        &[(
            "back = { on = \"block.F1\", plus = 20 }",
            "back = { on = \"block.F1\", plus = 25 }",
        )],
    );
    // Grip 20 + 20 becomes 25 + 20; the bolt of 55 engages 15 (1.5 d), so now it takes one of 60.
    has(&c.joints, "`block.F1` spacers 20.000 mm -> 25.000 mm");
    has(&c.joints, "`block.F1` grip 40.000 mm -> 45.000 mm");
    has(
        &c.joints,
        "`block.F1` bolt EN 1665 M10x1.5 x 55 8.8 -> EN 1665 M10x1.5 x 60 8.8",
    );
    assert!(
        !c.joints
            .iter()
            .any(|l| l.contains("engagement") && l.contains("F1")),
        "{:?}",
        c.joints
    );
    assert!(
        !c.joints.iter().any(|l| l.contains("block.F4")),
        "{:?}",
        c.joints
    );
}

#[test]
fn another_head_and_class_are_told_with_the_torque() {
    let c = compared(
        "auxiliary",
        &[],
        &[
            ("head = \"hex-flange\"", "head = \"hex\""),
            ("class = \"8.8\"", "class = \"10.9\""),
        ],
    );
    has(&c.joints, "`block.A1` head EN 1665 -> ISO 4017");
    assert!(
        c.joints.iter().any(|l| l.starts_with("`block.A1` torque ")),
        "{:?}",
        c.joints
    );
    assert!(
        c.joints
            .iter()
            .any(|l| l.starts_with("`block.A1` bolt ") && l.ends_with("10.9")),
        "{:?}",
        c.joints
    );
}

#[test]
fn a_slot_that_follows_another_belt_is_told_by_its_ends() {
    let c = compared("auxiliary", &[], &[("length = 1063", "length = 1066")]);
    let slotted = c
        .plates_changed
        .iter()
        .find(|p| p.plate == "slotted")
        .unwrap();
    assert!(
        slotted
            .changes
            .iter()
            .any(|l| l.starts_with("`alternator.adjust` slot from (") && l.contains(" -> from (")),
        "{slotted:?}"
    );
}

#[test]
fn depth_and_mouth_of_a_hole_are_told_before_and_after() {
    let feature = |depth: &str, bore: &str| {
        format!(
            "webs = \"hull\"\nfillet = 8\n\n[[plate.feature]]\nkind = \"hole\"\nid = \"rest\"\nat = [122, 90]\ndiameter = 5\ndepth = {depth}\ncounterbore = {{ {bore} }}\n"
        )
    };
    let (before, after) = (
        feature("6", "diameter = 9, depth = 2"),
        feature("7.5", "diameter = 10, depth = 2.5"),
    );
    let webs = "webs = \"hull\"\nfillet = 8\n";
    let c = compared("auxiliary", &[(webs, &before)], &[(webs, &after)]);
    let pivot = c
        .plates_changed
        .iter()
        .find(|p| p.plate == "pivot")
        .unwrap();
    has(
        &pivot.changes,
        "`rest` 6.000 mm deep from the front -> 7.500 mm deep from the front",
    );
    has(
        &pivot.changes,
        "`rest` counterbore 9.000 x 2.000 mm on the front -> counterbore 10.000 x 2.500 mm on the front",
    );
}
