//! Variants of a job: shared plates, the fleet demo's matrix with its one planted clash, and adapting.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a helper of a test fails it by panicking"
)]

use std::path::{Path, PathBuf};
use std::process::Command;

use platewright::params;
use platewright::project::{self, variants::Fleet};
use platewright::report::fit::Matrix;

fn params_folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("params")
}

fn fleet_job() -> PathBuf {
    params_folder().join("jobs/forwarder-fleet.toml")
}

/// The parameter files in a folder of their own, to be changed.
fn copied() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    for kind in ["blocks", "accessories", "shops", "stock"] {
        let to = folder.path().join(kind);
        std::fs::create_dir_all(&to).unwrap();
        for entry in std::fs::read_dir(params_folder().join(kind)).unwrap() {
            let from = entry.unwrap().path();
            std::fs::copy(&from, to.join(from.file_name().unwrap())).unwrap();
        }
    }
    for job in ["forwarder", "forwarder-fleet"] {
        let name = format!("{job}.toml");
        std::fs::copy(
            params_folder().join("jobs").join(&name),
            folder.path().join(&name),
        )
        .unwrap();
    }
    folder
}

fn edit(path: &Path, from: &str, to: &str) {
    let text = std::fs::read_to_string(path).unwrap();
    assert!(text.contains(from), "`{from}` is in {}", path.display());
    std::fs::write(path, text.replace(from, to)).unwrap();
}

fn matrix(job: &Path) -> Matrix {
    let fleet = Fleet::of(params::open(job, &project::disk()).unwrap());
    let outcomes = fleet.judge_all(&|| ());
    Matrix::of(&fleet, &outcomes)
}

#[test]
fn of_24_variants_only_pump_and_largest_hose_clash() {
    let m = matrix(&fleet_job());
    assert_eq!(m.variants.len(), 24);
    let failing: Vec<&str> = m
        .variants
        .iter()
        .filter(|r| !r.holds)
        .map(|r| r.name.as_str())
        .collect();
    assert_eq!(
        failing,
        [
            "pivot-base-52-pump",
            "pivot-long-52-pump",
            "pad-base-52-pump",
            "pad-long-52-pump"
        ]
    );
    for r in m.variants.iter().filter(|r| !r.holds) {
        assert_eq!(r.fails, 1, "{}", r.name);
        assert_eq!(
            r.first_failure.as_deref(),
            Some("the rear lug of steering-pump is 4.00 mm from hose coolant, 6.00 mm is needed")
        );
        let mend = r.mend.as_deref().unwrap();
        assert!(
            mend.starts_with(
                "trim 2.0 mm off the rear lug of steering-pump (its file allows 4.0 mm)"
            ),
            "{mend}"
        );
    }
}

#[test]
fn the_matrix_of_the_fleet_is_as_kept() {
    insta::assert_snapshot!(matrix(&fleet_job()).text());
}

#[test]
fn every_variant_holds_once_the_lug_is_trimmed_as_advised() {
    let folder = copied();
    edit(
        &folder.path().join("accessories/steering-pump.toml"),
        "prism = [[-58, -10], [-40, -10], [-40, 10], [-58, 10]]",
        "prism = [[-56, -10], [-40, -10], [-40, 10], [-56, 10]]",
    );
    let m = matrix(&folder.path().join("forwarder-fleet.toml"));
    assert!(m.holds, "{}", m.text());
}

#[test]
fn a_shared_plate_carries_the_holes_of_both_blocks_and_says_whose_they_are() {
    let p = project::open(&fleet_job()).unwrap();
    let upper = p.plates.iter().find(|m| m.plate.id == "upper").unwrap();
    let ids: Vec<&str> = upper.plate.features.iter().map(|f| f.id.as_str()).collect();
    // F3 lies below the deck and is one hole; F1 lies 32 mm higher on the sister.
    assert_eq!(ids.iter().filter(|i| i.starts_with("block.F3")).count(), 1);
    let f1: Vec<_> = upper
        .plate
        .features
        .iter()
        .filter(|f| f.id.starts_with("block.F1"))
        .collect();
    assert_eq!(f1.len(), 2);
    assert!(f1[0].variants.iter().all(|v| !v.contains("long")));
    assert!(f1[1].variants.iter().all(|v| v.contains("long")));
    // Variants with the pad alternator do not mount this plate: its other holes serve all that do.
    let f3 = upper
        .plate
        .features
        .iter()
        .find(|f| f.id == "block.F3")
        .unwrap();
    assert!(f3.variants.is_empty());
}

#[test]
fn hole_rules_act_between_holes_of_different_variants() {
    let folder = copied();
    // The sister's F1 only 12 mm beside the base engine's: both cannot be in one plate.
    edit(
        &folder.path().join("blocks/forwarder-diesel-long.toml"),
        "at = [48, 412, 18]",
        "at = [48, 392, 18]",
    );
    let m = matrix(&folder.path().join("forwarder-fleet.toml"));
    for r in &m.variants {
        assert!(!r.holds, "{}", r.name);
        assert!(r.groups[0].fails > 0, "{}", r.name);
    }
}

#[test]
fn stepped_pads_get_a_spacer_as_long_as_the_step() {
    let loaded = params::open(&fleet_job(), &project::disk()).unwrap();
    let fleet = Fleet::of(loaded);
    let i = fleet.index_of("pad-base-38-pump").unwrap();
    let p = fleet.project(i, None).unwrap();
    let spacers = |joint: &str| -> Vec<f64> {
        p.layout
            .joints
            .iter()
            .find(|j| j.id == joint)
            .unwrap()
            .spacers()
            .map(|s| s.length_mm)
            .collect()
    };
    assert!(spacers("alternator.pad-left").is_empty());
    let low = spacers("alternator.pad-low");
    assert!(low.len() == 1 && (low[0] - 9.0).abs() < 1e-9, "{low:?}");
    // The plates of the two-ear alternator stay off the engine.
    assert!(
        p.plates
            .iter()
            .all(|m| m.plate.id != "pivot" && m.plate.id != "upper")
    );
}

#[test]
fn a_stack_with_a_plate_inside_a_lug_is_said_with_its_number() {
    let folder = copied();
    // Pads 3 mm farther forward than the plate's back.
    edit(
        &folder.path().join("accessories/alternator-24v-pad.toml"),
        "rib-plane = 54",
        "rib-plane = 51",
    );
    let m = matrix(&folder.path().join("forwarder-fleet.toml"));
    let pad = m
        .variants
        .iter()
        .find(|r| r.name == "pad-base-38-pump")
        .unwrap();
    let said = pad.first_failure.as_deref().unwrap();
    assert!(!pad.holds && said.contains("overlap by 3.000 mm"), "{said}");
    // The others are none the worse for it.
    assert!(m.variants.iter().any(|r| r.holds));
}

#[test]
fn judging_all_at_once_says_what_judging_one_says() {
    let loaded = params::open(&fleet_job(), &project::disk()).unwrap();
    let fleet = Fleet::of(loaded.clone());
    let all = fleet.judge_all(&|| ());
    for i in [0, 4, 13, 23] {
        let one = Fleet::of(loaded.clone()).project(i, None).unwrap();
        let together = all[i].as_ref().unwrap();
        let short = |fs: &[platewright::rules::Finding]| -> Vec<String> {
            fs.iter()
                .map(|f| {
                    format!(
                        "{} {} {} {:.9} {:?}",
                        f.rule, f.on, f.what, f.margin, f.verdict
                    )
                })
                .collect()
        };
        assert_eq!(short(&together.findings), short(&one.findings), "{i}");
    }
}

fn run(arguments: &[&str]) -> std::process::Output {
    Command::new(env!("CARGO_BIN_EXE_platewright"))
        .args(arguments)
        .output()
        .unwrap()
}

#[test]
fn fit_exits_1_when_a_variant_fails_and_check_takes_a_variant() {
    let job = fleet_job();
    let job = job.to_str().unwrap();
    let out = run(&["fit", job, "--format", "json"]);
    assert_eq!(out.status.code(), Some(1));
    assert!(
        out.stderr.is_empty(),
        "{}",
        String::from_utf8_lossy(&out.stderr)
    );
    let json: serde_json::Value = serde_json::from_slice(&out.stdout).unwrap();
    assert_eq!(json["variants"].as_array().unwrap().len(), 24);
    assert_eq!(json["holds"], false);
    assert_eq!(run(&["check", job]).status.code(), Some(0));
    assert_eq!(
        run(&["check", job, "--variant", "pad-long-52-pump"])
            .status
            .code(),
        Some(1)
    );
    assert_eq!(
        run(&["check", job, "--variant", "pad-long-45-pump"])
            .status
            .code(),
        Some(0)
    );
    let unknown = run(&["check", job, "--variant", "pad-long-46-pump"]);
    assert_eq!(unknown.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&unknown.stderr).contains("pad-long-45-pump"));
}

#[test]
fn adapt_proposes_a_new_plate_where_no_plate_stands_at_the_pads() {
    let folder = copied();
    let job = folder.path().join("forwarder.toml");
    let out = run(&[
        "adapt",
        job.to_str().unwrap(),
        "--accessory",
        "alternator",
        "--with",
        "alternator-24v-pad",
    ]);
    let said = String::from_utf8_lossy(&out.stdout).into_owned();
    assert_eq!(
        out.status.code(),
        Some(0),
        "{said}{}",
        String::from_utf8_lossy(&out.stderr)
    );
    assert!(
        said.contains("alternator.pad-low  on new plate alternator-carrier, spacer 9.00 mm"),
        "{said}"
    );
    assert!(said.contains("plate `alternator-carrier` is new"), "{said}");
    let text = std::fs::read_to_string(folder.path().join("forwarder-d.toml")).unwrap();
    assert!(text.contains("revision = \"D\""));
    assert!(
        text.contains("# Pilot bore: the pump's nose passes through."),
        "comments stay"
    );
    assert_eq!(
        run(&[
            "check",
            folder.path().join("forwarder-d.toml").to_str().unwrap()
        ])
        .status
        .code(),
        Some(0)
    );
    // A file that is there is not written over.
    let again = run(&[
        "adapt",
        job.to_str().unwrap(),
        "--accessory",
        "alternator",
        "--with",
        "alternator-24v-pad",
    ]);
    assert_eq!(again.status.code(), Some(3));
}

#[test]
fn adapt_keeps_the_plates_where_their_holes_serve() {
    let folder = copied();
    let from = folder.path().join("accessories/alternator-24v-pivot.toml");
    let text = std::fs::read_to_string(&from)
        .unwrap()
        .replace("at = [-66, 50]", "at = [-64, 52]")
        .replace("mass = 7.4", "mass = 7.0");
    std::fs::write(
        folder.path().join("accessories/alternator-other.toml"),
        text,
    )
    .unwrap();
    let job = folder.path().join("forwarder.toml");
    let to = folder.path().join("next.toml");
    let out = run(&[
        "adapt",
        job.to_str().unwrap(),
        "--accessory",
        "alternator",
        "--with",
        "alternator-other",
        "--out",
        to.to_str().unwrap(),
    ]);
    let said = String::from_utf8_lossy(&out.stdout).into_owned();
    assert!(said.contains("the existing plates hold it"), "{said}");
    assert!(
        said.contains(
            "alternator.pivot  plate pivot: a hole that is there serves, spacer 20.00 mm"
        ),
        "{said}"
    );
    assert!(
        said.contains("alternator.adjust  plate upper: the plate must grow"),
        "{said}"
    );
    let text = std::fs::read_to_string(&to).unwrap();
    assert!(
        text.contains("{ take = \"alternator.pivot\", boss = 38 },"),
        "{text}"
    );
}
