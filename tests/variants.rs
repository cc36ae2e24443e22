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
        let short = |f: &platewright::rules::Finding| {
            format!(
                "{} {} {} {:.9} {:?}",
                f.rule, f.on, f.what, f.margin, f.verdict
            )
        };
        let all: Vec<String> = together.findings.iter().map(|f| short(f)).collect();
        let alone: Vec<String> = one.findings.iter().map(short).collect();
        assert_eq!(all, alone, "{i}");
        assert_eq!(together.near, one.near, "{i}");
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
    assert!(said.contains("the plates there are hold it"), "{said}");
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

#[test]
fn a_deviation_that_no_variant_needs_is_a_warning_of_fit() {
    let folder = copied();
    let job = folder.path().join("forwarder-fleet.toml");
    let job_text = std::fs::read_to_string(&job).unwrap();
    let idle =
        "[[deviation]]\nrule = \"C101\"\non = \"alternator\"\nreason = \"looked at\"\n\n[[hose]]";
    std::fs::write(&job, job_text.replacen("[[hose]]", idle, 1)).unwrap();
    let out = run(&["fit", job.to_str().unwrap()]);
    let said = String::from_utf8_lossy(&out.stderr).into_owned();
    // The one for B230 excuses variants without the pump, and is not idle.
    assert!(
        said.contains("deviation from C101 on `alternator`"),
        "{said}"
    );
    assert_eq!(said.matches("accepts nothing").count(), 1, "{said}");
}

#[test]
fn variants_that_fail_alike_are_told_together() {
    let text = matrix(&fleet_job()).text();
    let sentence = "the rear lug of steering-pump is 4.00 mm from hose coolant";
    assert_eq!(text.matches(sentence).count(), 1, "{text}");
    assert!(
        text.contains(
            "pivot-base-52-pump, pivot-long-52-pump, pad-base-52-pump, pad-long-52-pump: "
        ),
        "{text}"
    );
    // Faces that touch as they are bolted together are nobody's worst margin.
    assert!(!text.contains("C102"), "{text}");
}

#[test]
fn adapt_does_not_count_what_failed_before_the_change() {
    let folder = copied();
    let from = folder.path().join("accessories/alternator-24v-pivot.toml");
    let text = std::fs::read_to_string(&from)
        .unwrap()
        .replace("mass = 7.4", "mass = 7.3");
    std::fs::write(
        folder.path().join("accessories/alternator-other.toml"),
        text,
    )
    .unwrap();
    let job = folder.path().join("forwarder-fleet.toml");
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
        "--format",
        "json",
    ]);
    let said = String::from_utf8_lossy(&out.stdout).into_owned();
    let json: serde_json::Value = serde_json::from_str(&said).unwrap();
    // The pump's lug and the largest hose clash in four variants, before and after.
    assert_eq!(json["broken"].as_array().unwrap().len(), 0, "{said}");
    assert_eq!(json["failed_before"], 4, "{said}");
    assert_eq!(out.status.code(), Some(1));
    // Holes that only the variants' pad alternator takes are still there.
    let text = std::fs::read_to_string(&to).unwrap();
    assert!(text.contains("\"alternator.pad-low\""), "{text}");
    assert_eq!(matrix(&to).variants.iter().filter(|r| !r.holds).count(), 4);
}

#[test]
fn adapt_tells_what_the_change_breaks_in_a_variant() {
    let folder = copied();
    // A larger hose runs where the heavier alternator's housing will be; only one variant has it.
    let job = folder.path().join("forwarder.toml");
    let text = std::fs::read_to_string(&job).unwrap();
    let hose = "[[hose]]\nid = \"upper\"\npoints = [[236, 412, -200], [236, 412, -20]]\ndiameter = 10\n\n[[variant]]\nname = \"large-hose\"\nhoses = { upper = 16 }\n";
    std::fs::write(&job, format!("{text}\n{hose}")).unwrap();
    let from = folder.path().join("accessories/alternator-24v-pivot.toml");
    let old = std::fs::read_to_string(&from).unwrap();
    let body = "\n[[body]]\nname = \"cover\"\ncylinder = { at = [0, 66], diameter = 4 }\nz = [-100, -80]\n";
    let new = old.replacen("\n[[body]]", &format!("{body}\n[[body]]"), 1);
    std::fs::write(folder.path().join("accessories/alternator-other.toml"), new).unwrap();
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
    // The cover reaches y = 400; the hose's axis lies at 412: 7 mm of room as it stands, 4 mm with the larger.
    assert!(
        said.contains("The change breaks one rule that held before"),
        "{said}"
    );
    assert!(said.contains("large-hose: C101"), "{said}");
    assert!(
        said.contains("4.00mm, at least 6.00mm") || said.contains("4.00 mm, at least 6.00 mm"),
        "{said}"
    );
}

#[test]
fn adapt_proposes_a_new_plate_for_each_direction_of_mounts() {
    let folder = copied();
    let pad =
        std::fs::read_to_string(folder.path().join("accessories/alternator-24v-pad.toml")).unwrap();
    let lug = |id: &str, y: i32, z: i32| {
        format!(
            "[[mount]]\nid = \"{id}\"\nat = [0, {y}, {z}]\naxis = \"right\"\nthread = \"M10x1.5\"\npad = {{ face = -28, seat = -8, hole = 10.5, diameter = 26 }}\n\n"
        )
    };
    let lugs = lug("side-top", 24, -50) + &lug("side-low", -24, -50);
    let two = pad.replacen("[pulley]", &format!("{lugs}[pulley]"), 1);
    std::fs::write(
        folder.path().join("accessories/alternator-two-face.toml"),
        two,
    )
    .unwrap();
    let block = folder.path().join("blocks/forwarder-diesel.toml");
    let text = std::fs::read_to_string(&block).unwrap();
    let start = text.find("id = \"S4\"").unwrap();
    let start = text[..start].rfind("[[hole]]").unwrap();
    let end = start + text[start..].find("\n\n").unwrap();
    let pattern = text[start..end].to_owned();
    let mut more = String::new();
    for (id, at) in [
        ("S5", "[184, 270, -20]"),
        ("S6", "[184, 300, -100]"),
        ("S7", "[184, 396, -60]"),
    ] {
        more += &pattern.replace("S4", id).replace("[184, 8, -62]", at);
        more += "\n\n";
    }
    std::fs::write(
        &block,
        text.replacen(&pattern, &format!("{more}{pattern}"), 1),
    )
    .unwrap();
    let job = folder.path().join("forwarder.toml");
    let out = run(&[
        "adapt",
        job.to_str().unwrap(),
        "--accessory",
        "alternator",
        "--with",
        "alternator-two-face",
    ]);
    let said =
        String::from_utf8_lossy(&out.stdout).into_owned() + &String::from_utf8_lossy(&out.stderr);
    assert!(
        said.contains("2 new plates, one for each direction"),
        "{said}"
    );
    assert!(
        said.contains("alternator.side-top  on new plate alternator-carrier-right"),
        "{said}"
    );
    assert!(
        said.contains("alternator.pad-low  on new plate alternator-carrier-front"),
        "{said}"
    );
    let text = std::fs::read_to_string(folder.path().join("forwarder-d.toml")).unwrap();
    assert!(text.contains("frame = \"right\""), "{text}");
}

#[test]
fn every_variant_has_the_fit_up_sheet_of_the_way_it_is_built() {
    let out = tempfile::tempdir().unwrap();
    let done = Command::new(assert_cmd::cargo::cargo_bin!("platewright"))
        .args(["release", "--no-strength", "--out"])
        .arg(out.path())
        .arg(fleet_job())
        .output()
        .unwrap();
    assert!(done.status.success(), "{done:?}");
    let folder = out.path().join("forwarder-fleet-A/fit-up");
    let mut rows = csv::Reader::from_path(folder.join("variants.csv")).unwrap();
    let sheet_of: std::collections::BTreeMap<String, String> = rows
        .records()
        .map(|r| r.unwrap())
        .map(|r| (r[0].to_owned(), r[1].to_owned()))
        .collect();
    let fleet = Fleet::of(params::open(&fleet_job(), &project::disk()).unwrap());
    let names: std::collections::BTreeSet<&str> =
        fleet.views.iter().map(|v| v.name.as_str()).collect();
    assert_eq!(sheet_of.len(), names.len());
    for name in names {
        let sheet = folder.join(&sheet_of[name]);
        assert!(sheet.is_file(), "{}", sheet.display());
        // The pad alternator hangs on the plate `pad`, the other on `pivot`; the idler takes the pump's place.
        let text = std::fs::read_to_string(sheet.with_extension("txt")).unwrap();
        let pad = name.starts_with("pad-");
        assert_eq!(text.contains("Plate pad:"), pad, "{name}");
        assert_eq!(text.contains("Plate pivot:"), !pad, "{name}");
    }
    // Hoses change nothing of how a set goes together; another block does.
    assert_eq!(sheet_of["pad-base-38-pump"], sheet_of["pad-base-52-pump"]);
    assert_ne!(sheet_of["pad-base-38-pump"], sheet_of["pad-long-38-pump"]);
}
