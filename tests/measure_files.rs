//! The example readings as the command takes them: kept texts, whole files written and read back, files left alone.

#![allow(clippy::unwrap_used, clippy::panic, reason = "helpers of tests")]

use std::path::{Path, PathBuf};
use std::process::Output;

use assert_cmd::Command;
use platewright::diag::{Code, Diag};
use platewright::params::spec::Designations;
use platewright::params::{Accessory, Block, ParamFile, read_text};

const LEFT_BANK: &str = "params/readings/forwarder-left-bank.toml";

fn run(args: &[&str]) -> Output {
    Command::new(assert_cmd::cargo::cargo_bin!("platewright"))
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .env("NO_COLOR", "1")
        .args(args)
        .output()
        .expect("the program runs")
}

/// Standard output, then standard error.
fn said(o: &Output) -> String {
    format!(
        "{}---\n{}",
        String::from_utf8_lossy(&o.stdout),
        String::from_utf8_lossy(&o.stderr)
    )
}

/// A file in a folder of its own.
fn target(folder: &tempfile::TempDir, name: &str) -> (PathBuf, String) {
    let path = folder.path().join(name);
    let text = path.to_str().expect("a plain path").to_owned();
    (path, text)
}

/// What the reader finds wrong with a written file.
fn faults<T: ParamFile>(path: &Path) -> Vec<Diag> {
    let bytes = std::fs::read(path).expect("written");
    match read_text::<T>("written.toml", &bytes, &Designations::default()) {
        Ok(opened) => opened.findings,
        Err(failure) => failure.findings,
    }
}

#[test]
fn the_left_bank_of_the_forwarder_reads_as_kept() {
    let args = ["measure", LEFT_BANK, "--clearance", "medium"];
    let first = run(&args);
    assert_eq!(first.status.code(), Some(0), "{}", said(&first));
    let second = run(&args);
    assert_eq!(first.stdout, second.stdout, "the same bytes every time");
    insta::assert_snapshot!(said(&first));
}

#[test]
fn the_left_bank_is_where_the_block_file_has_it() {
    let out = run(&["measure", LEFT_BANK, "--format", "json"]);
    let found: serde_json::Value = serde_json::from_slice(&out.stdout).expect("JSON");
    let text = std::fs::read(concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/params/blocks/forwarder-diesel.toml"
    ))
    .expect("the block file");
    let block = read_text::<Block>("block.toml", &text, &Designations::default())
        .expect("a sound block")
        .value;
    let holes = found["survey"]["holes"].as_array().expect("holes");
    assert_eq!(holes.len(), 6);
    for h in holes {
        let known = block
            .holes
            .iter()
            .find(|k| k.id == h["name"].as_str().expect("a name"))
            .expect("a hole of the block");
        for (key, sd, known) in [
            ("x_mm", "sd_x_mm", known.at.x),
            ("y_mm", "sd_y_mm", known.at.y),
        ] {
            let off = h[key].as_f64().expect("a number") - known;
            let sd = h[sd].as_f64().expect("a number");
            assert!(off.abs() < 3.0 * sd, "{}: {off} at ± {sd}", h["name"]);
        }
    }
}

#[test]
fn the_left_bank_is_found_on_the_front_of_the_forwarder_block() {
    let out = run(&["measure", LEFT_BANK, "--against"]);
    let text = String::from_utf8_lossy(&out.stdout).into_owned();
    assert!(
        text.contains("6 of 6 holes lie on block forwarder-diesel, face front within 0.0"),
        "{text}"
    );
}

#[test]
fn the_rods_of_the_mock_up_read_as_kept() {
    let args = [
        "shim",
        "params/jobs/forwarder.toml",
        "--readings",
        "params/readings/forwarder-rods.toml",
    ];
    let first = run(&args);
    assert_eq!(first.status.code(), Some(0), "{}", said(&first));
    assert_eq!(first.stdout, run(&args).stdout, "the same bytes every time");
    insta::assert_snapshot!(said(&first));
}

#[test]
fn a_written_block_reads_back_but_for_what_the_person_has_to_fill_in() {
    let folder = tempfile::tempdir().expect("a folder");
    let (path, name) = target(&folder, "mine.toml");
    let out = run(&["measure", LEFT_BANK, "--round", "1", "--write", &name]);
    assert_eq!(out.status.code(), Some(0), "{}", said(&out));
    let faults_found = faults::<Block>(&path);
    assert!(
        faults_found.iter().all(|d| d.code == Code::MissingKey),
        "{faults_found:?}"
    );
    let stderr = String::from_utf8_lossy(&out.stderr).into_owned();
    assert!(
        stderr.contains("to fill in at [engine]: cylinders, idle-rpm, top-rpm"),
        "{stderr}"
    );
    let told = stderr
        .lines()
        .filter_map(|l| l.strip_prefix("  to fill in at "))
        .filter_map(|l| l.split_once(": "))
        .map(|(of, keys)| of.split(", ").count() * keys.split(", ").count())
        .sum::<usize>();
    assert_eq!(told, faults_found.len(), "{stderr}\n{faults_found:?}");
    // Filled in, the file is sound, and its holes are the block's.
    let filled = std::fs::read_to_string(&path)
        .expect("written")
        .replace("# cylinders = not measured", "cylinders = 4")
        .replace("# idle-rpm = not measured", "idle-rpm = 800")
        .replace("# top-rpm = not measured", "top-rpm = 2400");
    let opened = read_text::<Block>("mine.toml", filled.as_bytes(), &Designations::default())
        .expect("a sound block");
    assert!(opened.findings.is_empty(), "{:?}", opened.findings);
    let at: Vec<[f64; 2]> = (opened.value.holes.iter())
        .map(|h| [h.at.x, h.at.y])
        .collect();
    let block = [[-84.0, 214.0], [-84.0, 140.0], [-118.0, 92.0]];
    assert_eq!(at[..3], block);
    assert!((opened.value.holes[3].at.z - 32.0).abs() < 0.1);
}

#[test]
fn a_written_accessory_says_what_is_missing() {
    let folder = tempfile::tempdir().expect("a folder");
    let (path, name) = target(&folder, "mine.toml");
    let out = run(&[
        "measure",
        LEFT_BANK,
        "--write",
        &name,
        "--pattern-as",
        "accessory",
    ]);
    assert_eq!(out.status.code(), Some(0), "{}", said(&out));
    let found = faults::<Accessory>(&path);
    // Mass and centre, and the ear of each of six mounts.
    assert_eq!(found.len(), 2 + 6, "{found:?}");
    assert!(
        found
            .iter()
            .all(|d| matches!(d.code, Code::MissingKey | Code::KeysClash)),
        "{found:?}"
    );
    let stderr = String::from_utf8_lossy(&out.stderr).into_owned();
    assert!(
        stderr.contains("F9, F10, F11, F12, F13, F14: through-ear, threaded-ear or pad"),
        "{stderr}"
    );
}

#[test]
fn files_that_are_there_stay_unless_forced() {
    let folder = tempfile::tempdir().expect("a folder");
    let (path, name) = target(&folder, "mine.toml");
    std::fs::write(&path, "mine").expect("written");
    for option in ["--write", "--pattern", "--picture"] {
        let out = run(&["measure", LEFT_BANK, option, &name]);
        assert_eq!(out.status.code(), Some(3), "{}", said(&out));
        assert!(said(&out).contains("is there already"), "{}", said(&out));
        assert_eq!(std::fs::read_to_string(&path).expect("there"), "mine");
    }
    let out = run(&["measure", LEFT_BANK, "--write", &name, "--force"]);
    assert_eq!(out.status.code(), Some(0), "{}", said(&out));
    let text = std::fs::read_to_string(&path).expect("there");
    assert!(text.starts_with("kind = \"block\""), "{text}");
}
