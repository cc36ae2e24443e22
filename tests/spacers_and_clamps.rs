//! Spacers that a variant replaces, spacers stacked from stocked pieces, and clamps on hoses.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a helper of a test fails it by panicking"
)]

use std::path::{Path, PathBuf};

use platewright::params;
use platewright::project::{self, Project, variants::Fleet};

/// A demo job with pieces of its text replaced, every file it names beside it.
fn changed(job: &str, swaps: &[(&str, &str)]) -> (tempfile::TempDir, PathBuf) {
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
        text = text.replacen(from, to, 1);
    }
    let path = folder.path().join(format!("{job}.toml"));
    std::fs::write(&path, text).unwrap();
    (folder, path)
}

fn spacers(p: &Project, joint: &str) -> Vec<f64> {
    let joint = p.layout.joints.iter().find(|j| j.id == joint).unwrap();
    joint.spacers().map(|s| s.length_mm).collect()
}

/// What was said of a job that cannot be used.
fn refused(path: &Path) -> String {
    let failure = project::open(path).unwrap_err();
    let all: Vec<String> = failure
        .findings
        .iter()
        .map(|d| format!("{} {}", d.title, d.help.join(" ")))
        .collect();
    all.join("\n")
}

const PLACE: &str = "[[place]]\nid = \"alternator\"";

#[test]
fn a_variant_with_other_spacers_moves_its_plate_and_no_other() {
    let variant = "[[variant]]\nname = \"far\"\nspacers = { upper = 25 }\n\n";
    let (_folder, path) = changed("forwarder", &[(PLACE, &format!("{variant}{PLACE}"))]);
    let fleet = || Fleet::of(params::open(&path, &project::disk()).unwrap());
    let base = fleet().project(0, None).unwrap();
    let far = fleet().project(1, None).unwrap();
    assert_eq!(spacers(&base, "block.F1").len(), 1);
    assert!((spacers(&base, "block.F1")[0] - 20.0).abs() < 1e-9);
    assert!((spacers(&far, "block.F1")[0] - 25.0).abs() < 1e-9);
    let z = |p: &Project, id: &str| {
        let made = p.plates.iter().find(|m| m.plate.id == id).unwrap();
        made.plate.frame.origin.z
    };
    assert!((z(&far, "upper") - z(&base, "upper") - 5.0).abs() < 1e-9);
    assert!((z(&base, "pivot") - z(&far, "pivot")).abs() < 1e-12);
    // 5 mm more under the bolt: one of 60 where 55 was; and 5 mm between plate and ear.
    assert!((spacers(&far, "alternator.adjust")[0] - 5.0).abs() < 1e-9);
    let long = |p: &Project| p.bolting.of("block.F1").unwrap().report.stack.length_mm;
    assert!((long(&base) - 55.0).abs() < 1e-9 && (long(&far) - 60.0).abs() < 1e-9);
}

#[test]
fn spacers_of_a_plate_that_is_not_there_or_stands_on_none_are_refused() {
    let variant = "[[variant]]\nname = \"near\"\nspacers = { uper = 12 }\n\n";
    let (_folder, path) = changed("forwarder", &[(PLACE, &format!("{variant}{PLACE}"))]);
    let said = refused(&path);
    assert!(
        said.contains("no plate `uper`") && said.contains("did you mean `upper`?"),
        "{said}"
    );
    let variant = "[[variant]]\nname = \"near\"\nspacers = { upper = 12 }\n\n";
    let (_folder, path) = changed(
        "forwarder",
        &[
            (PLACE, &format!("{variant}{PLACE}")),
            ("back = { on = \"block.F1\", plus = 20 }", "back = 38"),
        ],
    );
    assert!(refused(&path).contains("no spacer carries it"));
}

#[test]
fn a_spacer_is_the_stack_with_fewest_pieces_and_settles_at_every_face() {
    let stocked = "[[stocked]]\nthread = \"M10x1.5\"\nwashers = [2, 2.5]\ntubes = [15, 17.5]\n\n";
    let (_turned, path) = changed("forwarder", &[]);
    let turned = project::open(&path).unwrap();
    let (_stacked, path) = changed("forwarder", &[(PLACE, &format!("{stocked}{PLACE}"))]);
    let stacked = match project::open(&path) {
        Ok(p) => p,
        // Other joints of the demo have gaps these four pieces do not fill: the numbers are told.
        Err(f) => {
            let all: Vec<&str> = f.findings.iter().map(|d| d.title.as_str()).collect();
            assert!(
                all.iter()
                    .all(|t| t.contains("no stack of stocked pieces fills its gap of")),
                "{all:?}"
            );
            let only = "[[stocked]]\nthread = \"M10x1.5\"\nwashers = [2, 2.5, 0.5, 1]\ntubes = [4, 8, 15, 17.5, 30]\n\n";
            let (_more, path) = changed("forwarder", &[(PLACE, &format!("{only}{PLACE}"))]);
            project::open(&path).unwrap_or_else(|f| panic!("{:?}", f.findings))
        }
    };
    let joint = stacked
        .layout
        .joints
        .iter()
        .find(|j| j.id == "block.F1")
        .unwrap();
    let (size, pieces) = joint.stacked().next().unwrap();
    assert!((size.length_mm - 20.0).abs() < 1e-9);
    // 20 mm: 17.5 + 2.5.
    assert_eq!(
        platewright::layout::stocked::words(pieces),
        "tube 17.5 + washer 2.5"
    );
    let settles = |p: &Project| {
        p.bolting
            .of("block.F1")
            .unwrap()
            .report
            .settling
            .embedding_um
    };
    assert!(settles(&stacked) > settles(&turned));
    let grip = |p: &Project| p.bolting.of("block.F1").unwrap().report.stack.grip_mm;
    assert!((grip(&stacked) - grip(&turned)).abs() < 1e-9);
}

#[test]
fn a_gap_no_stack_fills_is_an_error_with_its_number() {
    let stocked = "[[stocked]]\nthread = \"M10x1.5\"\nwashers = [2]\ntubes = [15]\n\n";
    let (_folder, path) = changed("forwarder", &[(PLACE, &format!("{stocked}{PLACE}"))]);
    let said = refused(&path);
    // 15 + 2 + 2 is 19, 15 + 3 x 2 is 21: both 1 mm off.
    assert!(
        said.contains("joint `block.F1`: no stack of stocked pieces fills its gap of 20.000 mm")
            && said.contains("1.000 mm off"),
        "{said}"
    );
}

#[test]
fn a_clamp_needs_the_hoses_room_with_its_own_size() {
    // The pump's housing reaches x = -274 at y = 284; the hose's axis runs at x = -298 along y.
    let hose = |clamps: &str| {
        format!(
            "[[hose]]\nid = \"lower\"\npoints = [[-298, 200, -25], [-298, 370, -25]]\ndiameter = 30\n{clamps}\n{PLACE}"
        )
    };
    let gap = |clamps: &str| -> (f64, String) {
        let (_folder, path) = changed("forwarder", &[(PLACE, &hose(clamps))]);
        let p = project::open(&path).unwrap_or_else(|f| panic!("{:?}", f.findings));
        let mut near = p.near.iter();
        let n = near
            .find(|n| n.gap.first == "steering-pump" && n.gap.second == "hose lower")
            .unwrap();
        (n.gap.gap_mm, n.gap.second_solid.clone())
    };
    let (bare, solid) = gap("");
    assert!(
        (bare - 9.0).abs() < 1e-6 && solid == "hose",
        "{bare} {solid}"
    );
    // A clamp at y = 284 stands 7 mm out all round: 2 mm are left, 6 mm are needed.
    let (clamped, solid) = gap("clamps = [{ at = 84, width = 12, height = 7 }]");
    assert!(
        (clamped - 2.0).abs() < 0.05 && solid == "clamp 1",
        "{clamped} {solid}"
    );
    // One that sits past the housing leaves the hose itself nearest.
    let (far, _) = gap("clamps = [{ at = 10, width = 12, height = 7 }]");
    assert!((far - 9.0).abs() < 1e-6, "{far}");
    let (_folder, path) = changed("forwarder", &[(PLACE, &hose("clamps = [{ at = 500 }]"))]);
    assert!(refused(&path).contains("the clamp sits at 500.0 mm of a hose 170.0 mm long"));
}
