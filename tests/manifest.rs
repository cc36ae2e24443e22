//! The manifest of a package: sums that other programs confirm, and what they catch.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a helper of a test fails it by panicking"
)]

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use assert_cmd::assert::{Assert, OutputAssertExt as _};
use predicates::prelude::*;
use tempfile::TempDir;

fn run(folder: &Path, args: &[&str]) -> Assert {
    Command::new(assert_cmd::cargo::cargo_bin!("platewright"))
        .current_dir(folder)
        .args(args)
        .assert()
}

/// A folder with the auxiliary demo's files as `mine.toml`, released.
fn released() -> (TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let params = Path::new(env!("CARGO_MANIFEST_DIR")).join("params");
    for kind in ["blocks", "accessories", "stock", "shops"] {
        fs::create_dir(folder.path().join(kind)).unwrap();
        for entry in fs::read_dir(params.join(kind)).unwrap() {
            let from = entry.unwrap().path();
            let to = folder.path().join(kind).join(from.file_name().unwrap());
            fs::copy(from, to).unwrap();
        }
    }
    fs::copy(
        params.join("jobs/auxiliary.toml"),
        folder.path().join("mine.toml"),
    )
    .unwrap();
    run(folder.path(), &["release", "mine.toml", "--no-strength"]).success();
    let package = folder.path().join("exports/mine-A");
    (folder, package)
}

fn change(path: &Path, old: &str, new: &str) {
    let text = fs::read_to_string(path).unwrap();
    assert!(text.contains(old), "`{old}` in {}", path.display());
    fs::write(path, text.replacen(old, new, 1)).unwrap();
}

/// Python's hashlib as the independent SHA-256, over every file of the package and every input.
#[test]
fn another_implementation_finds_the_same_sums_over_every_file_and_input() {
    let (folder, package) = released();
    let python = std::env::var_os("PLATEWRIGHT_PYTHON")
        .expect("PLATEWRIGHT_PYTHON names the Python of tests/run");
    let script = "
import hashlib, json, os, sys
package, inputs = sys.argv[1:]
m = json.load(open(os.path.join(package, 'manifest.json')))
on_disk = set()
for top, _, names in os.walk(package):
    on_disk |= {os.path.relpath(os.path.join(top, n), package).replace(os.sep, '/') for n in names}
on_disk -= {'manifest.json', 'manifest.sha256'}
assert on_disk == {e['name'] for e in m['files']}, 'names'
sums = {}
for folder, entries in ((package, m['files']), (inputs, m['inputs'])):
    for e in entries:
        data = open(os.path.join(folder, e['name']), 'rb').read()
        assert len(data) == e['bytes'], e['name']
        assert hashlib.sha256(data).hexdigest() == e['sha256'], e['name']
        if folder == package:
            sums[e['name']] = e['sha256']
sums['manifest.json'] = hashlib.sha256(open(os.path.join(package, 'manifest.json'), 'rb').read()).hexdigest()
listed = dict(reversed(l.rstrip('\\n').split('  ', 1)) for l in open(os.path.join(package, 'manifest.sha256')))
assert listed == sums, 'list of sums'
print(len(m['files']), len(m['inputs']))
";
    let out = Command::new(python)
        .args(["-c", script])
        .arg(&package)
        .arg(folder.path())
        .output()
        .unwrap();
    assert!(
        out.status.success(),
        "{}",
        String::from_utf8_lossy(&out.stderr)
    );
    let text = String::from_utf8_lossy(&out.stdout);
    let counts: Vec<usize> = text
        .split_whitespace()
        .map(|n| n.parse().unwrap())
        .collect();
    assert!(counts[0] > 10 && counts[1] >= 4, "{text}");
}

#[test]
fn an_untouched_package_is_what_its_job_releases() {
    let (folder, _package) = released();
    run(folder.path(), &["compare", "exports/mine-A", "mine.toml"])
        .success()
        .stdout(predicate::str::contains("the same in every file"));
}

#[test]
fn an_altered_file_an_added_one_and_a_missing_one_are_named() {
    let (folder, package) = released();
    change(&package.join("dxf/pivot.dxf"), "EOF", "EOF ");
    fs::write(package.join("note.txt"), "cut two of these").unwrap();
    fs::remove_file(package.join("torque.csv")).unwrap();
    for args in [
        ["compare", "exports/mine-A", "mine.toml"],
        ["compare", "exports/mine-A/manifest.json", "mine.toml"],
    ] {
        run(folder.path(), &args).code(1).stdout(
            predicate::str::contains("dxf/pivot.dxf: altered")
                .and(predicate::str::contains("note.txt: not of the release"))
                .and(predicate::str::contains("torque.csv: gone")),
        );
    }
    run(folder.path(), &["compare", "mine.toml", "exports/mine-A"])
        .code(1)
        .stdout(predicate::str::contains("altered since the later release"));
}

#[test]
fn a_changed_input_is_refused_under_the_same_revision_and_named() {
    let (folder, package) = released();
    let before = fs::read(package.join("manifest.json")).unwrap();
    change(
        &folder.path().join("accessories/alternator-24v-small.toml"),
        "mass = 4.9",
        "mass = 4.8",
    );
    run(folder.path(), &["compare", "exports/mine-A", "mine.toml"])
        .success()
        .stdout(predicate::str::contains(
            "accessories/alternator-24v-small.toml: changed",
        ));
    run(folder.path(), &["release", "mine.toml", "--no-strength"])
        .code(3)
        .stderr(
            predicate::str::contains("accessories/alternator-24v-small.toml: changed")
                .and(predicate::str::contains("give the job a new revision")),
        );
    assert!(fs::read(package.join("manifest.json")).unwrap() == before);
    change(
        &folder.path().join("mine.toml"),
        "revision = \"A\"",
        "revision = \"B\"",
    );
    run(folder.path(), &["release", "mine.toml", "--no-strength"]).success();
    run(
        folder.path(),
        &["compare", "exports/mine-A", "exports/mine-B"],
    )
    .success()
    .stdout(
        predicate::str::contains("mine.toml: changed").and(predicate::str::contains("check.json")),
    );
}

#[test]
fn a_newer_program_that_writes_the_same_leaves_the_released_package_alone() {
    let (folder, package) = released();
    change(
        &package.join("manifest.json"),
        "\"program\": \"",
        "\"program\": \"0.0.",
    );
    run(folder.path(), &["release", "mine.toml", "--no-strength"])
        .success()
        .stdout(predicate::str::contains("unchanged"));
    let text = fs::read_to_string(package.join("manifest.json")).unwrap();
    assert!(
        text.contains("\"program\": \"0.0."),
        "the old manifest stays"
    );
}

#[test]
fn a_folder_that_is_no_package_and_a_torn_manifest_are_said() {
    let (folder, package) = released();
    run(folder.path(), &["compare", "blocks", "mine.toml"])
        .code(2)
        .stderr(predicate::str::contains("holds no `manifest.json`"));
    fs::write(package.join("manifest.json"), "{").unwrap();
    run(folder.path(), &["compare", "exports/mine-A", "gone.toml"])
        .code(2)
        .stderr(predicate::str::contains("`manifest.json` cannot be read"));
}
