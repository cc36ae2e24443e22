//! The command as a person or a script meets it: exit status, streams, files left behind.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a helper of a test fails it by panicking"
)]

use std::fs;
use std::io::Read as _;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use assert_cmd::assert::{Assert, OutputAssertExt as _};
use predicates::prelude::*;
use tempfile::TempDir;

const DEMO: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/params/jobs/forwarder.toml");

/// A folder of its own for each test, with the command started in it.
struct Bench {
    folder: TempDir,
}

impl Bench {
    fn new() -> Self {
        Self {
            folder: tempfile::tempdir().expect("a temporary folder"),
        }
    }

    /// A bench with the demo started as `mine/mine.toml`.
    fn with_job() -> Self {
        let bench = Self::new();
        bench.run(&["new", "mine"]).success();
        bench
    }

    fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    fn command(&self, args: &[&str]) -> Command {
        let mut c = Command::new(assert_cmd::cargo::cargo_bin!("platewright"));
        c.current_dir(self.folder.path())
            .env_remove("NO_COLOR")
            .args(args);
        // Strength has tests of its own and takes its time.
        if args.iter().any(|a| ["check", "release"].contains(a)) && args.len() > 1 {
            c.arg("--no-strength");
        }
        c
    }

    fn run(&self, args: &[&str]) -> Assert {
        self.command(args).assert()
    }

    fn read(&self, name: &str) -> String {
        fs::read_to_string(self.path(name)).expect("a text file")
    }

    fn write(&self, name: &str, text: &str) {
        fs::write(self.path(name), text).expect("written");
    }

    /// Replaces a piece of a file that is there once.
    fn change(&self, name: &str, old: &str, new: &str) {
        let text = self.read(name);
        assert_eq!(text.matches(old).count(), 1, "`{old}` once in {name}");
        self.write(name, &text.replace(old, new));
    }

    /// Every file below the folder with its content, by path.
    fn tree(&self, below: &str) -> Vec<(String, Vec<u8>)> {
        let root = self.path(below);
        let mut files = Vec::new();
        let mut open = vec![root.clone()];
        while let Some(folder) = open.pop() {
            for entry in fs::read_dir(&folder).expect("a folder") {
                let path = entry.expect("an entry").path();
                if path.is_dir() {
                    open.push(path);
                } else {
                    let name = path.strip_prefix(&root).expect("below the root");
                    files.push((
                        name.to_string_lossy().into_owned(),
                        fs::read(&path).expect("a file"),
                    ));
                }
            }
        }
        files.sort();
        files
    }

    /// Names in the folder, hidden ones too.
    fn names(&self, folder: &str) -> Vec<String> {
        let mut names: Vec<String> = fs::read_dir(self.path(folder))
            .expect("a folder")
            .map(|e| {
                e.expect("an entry")
                    .file_name()
                    .to_string_lossy()
                    .into_owned()
            })
            .collect();
        names.sort();
        names
    }
}

fn stdout(a: &Assert) -> String {
    String::from_utf8(a.get_output().stdout.clone()).expect("text")
}

fn stderr(a: &Assert) -> String {
    String::from_utf8(a.get_output().stderr.clone()).expect("text")
}

/// A deviation-free change that breaks one rule of the demo: a boss with too little edge distance.
fn break_a_rule(bench: &Bench) {
    bench.change(
        "mine/mine.toml",
        "holes = [\"block.F7\", \"block.F8\", \"idler.axle\"]",
        "holes = [{ take = \"block.F7\", boss = 25 }, \"block.F8\", \"idler.axle\"]",
    );
}

#[test]
fn a_sound_job_checks_with_status_0_and_says_nothing_on_standard_error() {
    let a = Bench::new().run(&["check", DEMO]).success().code(0);
    assert!(stdout(&a).starts_with("forwarder"));
    assert_eq!(stderr(&a), "");
}

#[test]
fn a_broken_rule_is_status_1_on_standard_output() {
    let bench = Bench::with_job();
    break_a_rule(&bench);
    let a = bench.run(&["check", "mine/mine.toml"]).code(1);
    let said = stdout(&a);
    assert!(said.contains("FAILS") && said.contains("H301"), "{said}");
    assert!(
        said.contains("12.50 mm") && said.contains("13.20 mm"),
        "{said}"
    );
    assert_eq!(stderr(&a), "");
}

#[test]
fn input_that_cannot_be_used_is_status_2_on_standard_error() {
    let bench = Bench::with_job();
    bench.change("mine/mine.toml", "[\"block.F7\"", "[\"block.F77\"");
    for command in ["check", "release"] {
        let a = bench.run(&[command, "mine/mine.toml"]).code(2);
        assert_eq!(stdout(&a), "");
        let said = stderr(&a);
        assert!(
            said.contains("mine.toml:") && said.contains("block.F7`?"),
            "{said}"
        );
    }
    assert_eq!(bench.names("."), ["mine"]);
}

#[test]
fn every_fault_of_every_file_comes_at_once() {
    let bench = Bench::with_job();
    bench.change(
        "mine/mine.toml",
        "back = \"block.F7\"",
        "back = \"block.F0\"",
    );
    bench.change(
        "mine/stock/al-6061-25.toml",
        "thickness = 25",
        "thickness = -25",
    );
    let said = stderr(&bench.run(&["check", "mine/mine.toml"]).code(2));
    assert!(
        said.contains("block.F0") && said.contains("al-6061-25.toml"),
        "{said}"
    );
    assert!(said.contains("2 errors"), "{said}");
}

#[test]
fn a_missing_file_a_folder_and_an_unreadable_one_are_told_apart() {
    let bench = Bench::with_job();
    let missing = stderr(&bench.run(&["check", "mine/mime.toml"]).code(2));
    assert!(
        missing.contains("mime.toml") && missing.contains("mine.toml"),
        "{missing}"
    );
    let folder = stderr(&bench.run(&["check", "mine"]).code(2));
    assert!(
        folder.contains("is a directory") && folder.contains("job file"),
        "{folder}"
    );
    bench.write("empty.toml", "");
    assert!(stderr(&bench.run(&["check", "empty.toml"]).code(2)).contains("P104"));
    fs::write(bench.path("noise.toml"), [0xff, 0xfe, 0, 1]).expect("written");
    assert!(stderr(&bench.run(&["check", "noise.toml"]).code(2)).contains("P102"));
}

#[test]
fn an_unknown_option_or_command_is_status_2_with_usage() {
    let bench = Bench::new();
    for args in [
        &["check", DEMO, "--colour", "always"][..],
        &["chekc", DEMO],
        &[],
        &["check"],
        &["check", DEMO, "--format", "xml"],
    ] {
        let a = bench.run(args).code(2);
        assert!(
            stderr(&a).contains("Usage") || stderr(&a).contains("possible values"),
            "{args:?}"
        );
        assert_eq!(stdout(&a), "");
    }
}

#[test]
fn json_of_check_is_a_stable_contract() {
    let bench = Bench::new();
    let first = stdout(&bench.run(&["check", DEMO, "--format", "json"]).success());
    let again = stdout(&bench.run(&["check", DEMO, "--format", "json"]).success());
    assert_eq!(first, again);
    let json: serde_json::Value = serde_json::from_str(&first).expect("JSON");
    assert_eq!(json["verdict"], "holds");
    let findings = json["findings"].as_array().expect("a list");
    assert_eq!(json["tally"]["hold"].as_u64(), Some(findings.len() as u64));
    // What a program may rely on: names and kinds, with one of each rule's findings.
    let mut seen = std::collections::BTreeSet::new();
    let shape: Vec<serde_json::Value> = findings
        .iter()
        .filter(|f| seen.insert(f["rule"].as_str().map(str::to_owned)))
        .map(|f| {
            serde_json::json!({
                "rule": f["rule"],
                "on": f["on"],
                "unit": f["unit"],
                "sense": f["sense"],
                "keys": f.as_object().map(|o| o.keys().cloned().collect::<Vec<_>>()),
            })
        })
        .collect();
    let contract = serde_json::json!({
        "keys": json.as_object().map(|o| o.keys().cloned().collect::<Vec<_>>()),
        "plate keys": json["plates"][0].as_object().map(|o| o.keys().cloned().collect::<Vec<_>>()),
        "findings": shape,
    });
    let text = serde_json::to_string_pretty(&contract).expect("JSON");
    insta::assert_snapshot!("check_json", text);
}

#[test]
fn the_text_of_check_is_kept() {
    let text = stdout(&Bench::new().run(&["check", DEMO]).success());
    insta::assert_snapshot!("check_text", text);
    let widest = text.lines().map(|l| l.chars().count()).max();
    assert!(widest <= Some(118), "{widest:?} columns");
}

#[test]
fn json_stays_json_when_a_rule_fails_or_a_release_is_made() {
    let bench = Bench::with_job();
    let released = stdout(
        &bench
            .run(&["release", "mine/mine.toml", "--format", "json"])
            .success(),
    );
    let json: serde_json::Value = serde_json::from_str(&released).expect("JSON");
    assert_eq!(json["folder"], "exports/mine-C");
    let listed: Vec<&str> = json["files"]
        .as_array()
        .expect("a list")
        .iter()
        .filter_map(|f| f.as_str())
        .collect();
    let there: Vec<String> = bench
        .tree("exports/mine-C")
        .into_iter()
        .map(|f| f.0)
        .collect();
    assert_eq!(listed, there);
    break_a_rule(&bench);
    for command in ["check", "release"] {
        let a = bench
            .run(&[command, "mine/mine.toml", "--format", "json"])
            .code(1);
        let json: serde_json::Value = serde_json::from_str(&stdout(&a)).expect("JSON");
        assert_eq!(json["verdict"], "fails");
    }
}

#[test]
fn colour_follows_the_option_then_no_color_then_the_terminal() {
    let bench = Bench::with_job();
    bench.change("mine/mine.toml", "[\"block.F7\"", "[\"block.F77\"");
    let coloured = |args: &[&str], no_color: Option<&str>| {
        let mut c = bench.command(args);
        if let Some(v) = no_color {
            c.env("NO_COLOR", v);
        }
        let a = c.assert().code(2);
        stderr(&a).contains('\u{1b}')
    };
    let check = ["check", "mine/mine.toml"];
    // Standard error is a pipe here, so nothing is coloured unless asked for.
    assert!(!coloured(&check, None));
    assert!(coloured(
        &["--color", "always", "check", "mine/mine.toml"],
        None
    ));
    assert!(coloured(
        &["--color", "always", "check", "mine/mine.toml"],
        Some("1")
    ));
    assert!(!coloured(
        &["--color", "never", "check", "mine/mine.toml"],
        None
    ));
    assert!(!coloured(
        &["check", "mine/mine.toml", "--color", "auto"],
        Some("1")
    ));
}

#[test]
fn a_reader_that_stops_reading_is_no_fault() {
    let bench = Bench::new();
    let mut child = bench
        .command(&["check", DEMO, "--all"])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("started");
    drop(child.stdout.take());
    let status = child.wait().expect("ended");
    let mut said = String::new();
    child
        .stderr
        .take()
        .expect("piped")
        .read_to_string(&mut said)
        .expect("text");
    assert_eq!((status.code(), said.as_str()), (Some(0), ""));
}

#[cfg(target_os = "linux")]
#[test]
fn results_that_cannot_be_written_are_status_3() {
    let full = fs::OpenOptions::new()
        .write(true)
        .open("/dev/full")
        .expect("/dev/full");
    Bench::new()
        .command(&["check", DEMO])
        .stdout(full)
        .assert()
        .code(3)
        .stderr(predicate::str::contains("cannot write"));
}

#[test]
fn two_releases_are_the_same_bytes_here_and_in_another_folder() {
    let bench = Bench::with_job();
    let first = stdout(&bench.run(&["release", "mine/mine.toml"]).success());
    assert!(first.contains("wrote"), "{first}");
    let again = stdout(&bench.run(&["release", "mine/mine.toml"]).success());
    assert!(again.contains("unchanged"), "{again}");
    bench
        .run(&["release", "mine/mine.toml", "--out", "else/where"])
        .success();
    let (a, b) = (
        bench.tree("exports/mine-C"),
        bench.tree("else/where/mine-C"),
    );
    assert!(a.len() > 10);
    assert!(a == b, "the two packages differ");
    // Nothing of the way it was made is left behind.
    assert_eq!(bench.names("exports"), ["mine-C"]);
    assert_eq!(bench.names("else/where"), ["mine-C"]);
}

#[test]
fn r12_and_ap214_are_had_on_request() {
    let bench = Bench::with_job();
    bench
        .run(&[
            "release",
            "mine/mine.toml",
            "--dxf",
            "r12",
            "--step",
            "ap214",
        ])
        .success();
    assert!(
        bench
            .read("exports/mine-C/dxf/upper.dxf")
            .contains("AC1009")
    );
    assert!(
        bench
            .read("exports/mine-C/step/upper.step")
            .contains("AUTOMOTIVE_DESIGN")
    );
}

#[test]
fn a_revision_with_other_content_is_kept_unless_forced() {
    let bench = Bench::with_job();
    bench.run(&["release", "mine/mine.toml"]).success();
    let before = bench.tree("exports");
    bench.change("mine/mine.toml", "diameter = 60", "diameter = 62");
    let a = bench.run(&["release", "mine/mine.toml"]).code(3);
    assert!(
        stderr(&a).contains("differs") && stderr(&a).contains("--force"),
        "{}",
        stderr(&a)
    );
    assert!(bench.tree("exports") == before, "the old package changed");
    let forced = stdout(
        &bench
            .run(&["release", "mine/mine.toml", "--force"])
            .success(),
    );
    assert!(forced.contains("replaced"), "{forced}");
    assert!(bench.tree("exports") != before);
    assert_eq!(bench.names("exports"), ["mine-C"]);
}

#[test]
fn a_failing_rule_is_not_released_and_leaves_nothing() {
    let bench = Bench::with_job();
    break_a_rule(&bench);
    let a = bench.run(&["release", "mine/mine.toml"]).code(1);
    assert!(stderr(&a).contains("[[deviation]]"));
    assert_eq!(bench.names("."), ["mine"]);
}

#[test]
fn an_accepted_deviation_is_released_with_its_reason() {
    let bench = Bench::with_job();
    break_a_rule(&bench);
    let text = bench.read("mine/mine.toml");
    bench.write(
        "mine/mine.toml",
        &format!(
            "{text}\n[[deviation]]\nrule = \"H301\"\non = \"idler\"\nat = \"block.F7\"\nreason = \"thread not loaded sideways\"\n"
        ),
    );
    let a = bench.run(&["release", "mine/mine.toml"]).success();
    assert!(stdout(&a).contains("1 accepted"), "{}", stdout(&a));
    assert_eq!(stderr(&a), "");
    assert!(
        bench
            .read("exports/mine-C/check.txt")
            .contains("thread not loaded sideways")
    );
    let checked = stdout(&bench.run(&["check", "mine/mine.toml"]).success());
    assert!(checked.contains("thread not loaded sideways"), "{checked}");
}

#[test]
fn an_idle_deviation_is_a_warning_and_no_bar() {
    let bench = Bench::with_job();
    let text = bench.read("mine/mine.toml");
    bench.write(
        "mine/mine.toml",
        &format!(
            "{text}\n[[deviation]]\nrule = \"H301\"\non = \"idler\"\nreason = \"just in case\"\n"
        ),
    );
    let a = bench.run(&["check", "mine/mine.toml"]).success();
    assert!(stderr(&a).contains("warning[X101]"), "{}", stderr(&a));
    bench.run(&["release", "mine/mine.toml"]).success();
}

#[test]
fn a_target_that_is_a_file_is_status_3_and_stays() {
    let bench = Bench::with_job();
    bench.write("taken", "mine");
    let a = bench
        .run(&["release", "mine/mine.toml", "--out", "taken"])
        .code(3);
    assert!(stderr(&a).contains("is a file"), "{}", stderr(&a));
    assert_eq!(bench.read("taken"), "mine");
    fs::create_dir(bench.path("exports")).expect("made");
    bench.write("exports/mine-C", "mine");
    bench.run(&["release", "mine/mine.toml"]).code(3);
    assert_eq!(bench.read("exports/mine-C"), "mine");
    assert_eq!(bench.names("exports"), ["mine-C"]);
}

#[cfg(unix)]
#[test]
fn a_disk_that_takes_no_more_is_status_3_and_leaves_nothing() {
    // A limit on the size of files stands for a full disk: writing stops half-way through one.
    let bench = Bench::with_job();
    let program = assert_cmd::cargo::cargo_bin!("platewright");
    let line = format!(
        "trap '' XFSZ; ulimit -f 16; exec '{}' release mine/mine.toml --no-strength",
        program.display()
    );
    let mut command = Command::new("sh");
    command.current_dir(bench.folder.path()).args(["-c", &line]);
    let a = command.assert().code(3);
    assert!(stderr(&a).contains("cannot be written"), "{}", stderr(&a));
    assert_eq!(bench.names("."), ["mine"]);
}

#[cfg(unix)]
#[test]
fn a_target_that_may_not_be_written_is_status_3_and_leaves_nothing() {
    use std::os::unix::fs::PermissionsExt as _;
    let bench = Bench::with_job();
    let closed = bench.path("closed");
    fs::create_dir(&closed).expect("made");
    fs::set_permissions(&closed, fs::Permissions::from_mode(0o555)).expect("closed");
    let mut command = as_someone_else(
        bench.command(&["release", "mine/mine.toml", "--out", "closed"]),
        &bench,
    );
    let a = command.assert().code(3);
    assert!(stderr(&a).contains("may not be written"), "{}", stderr(&a));
    assert_eq!(bench.names("closed"), Vec::<String>::new());
}

/// The superuser may write anywhere: a test that is run as such drops its rights for the command.
#[cfg(unix)]
fn as_someone_else(mut command: Command, bench: &Bench) -> Command {
    use std::os::unix::fs::{MetadataExt as _, PermissionsExt as _};
    use std::os::unix::process::CommandExt as _;
    if fs::metadata(bench.folder.path()).expect("there").uid() == 0 {
        const NOBODY: u32 = 65_534;
        fs::set_permissions(bench.folder.path(), fs::Permissions::from_mode(0o755))
            .expect("opened");
        // The command is copied to where nobody may reach it.
        let copy = bench.path("platewright");
        fs::copy(command.get_program(), &copy).expect("copied");
        let mut other = Command::new(copy);
        other
            .current_dir(bench.folder.path())
            .args(command.get_args())
            .uid(NOBODY)
            .gid(NOBODY);
        command = other;
    }
    command
}

#[test]
fn a_new_job_checks_releases_and_is_not_overwritten() {
    let bench = Bench::new();
    let said = stdout(&bench.run(&["new", "deep/bracket"]).success());
    assert!(
        said.contains("platewright check deep/bracket/bracket.toml"),
        "{said}"
    );
    // Its own copies are found before anything else's: a change shows.
    bench.run(&["check", "deep/bracket/bracket.toml"]).success();
    bench
        .run(&["release", "deep/bracket/bracket.toml"])
        .success();
    assert_eq!(bench.names("exports"), ["bracket-C"]);
    bench.change(
        "deep/bracket/bracket.toml",
        "revision = \"C\"",
        "revision = \"D\"",
    );
    let before = bench.tree("deep");
    let a = bench.run(&["new", "deep/bracket"]).code(3);
    assert!(stderr(&a).contains("another name"), "{}", stderr(&a));
    assert!(
        bench.tree("deep") == before,
        "a job of one's own was changed"
    );
}

#[test]
fn a_folder_that_gives_no_usable_name_is_refused() {
    let bench = Bench::new();
    for name in ["..", "a:b", "nul", "ä".repeat(200).as_str()] {
        let a = bench.run(&["new", name]);
        let status = a.get_output().status.code();
        assert!(matches!(status, Some(2 | 3)), "{name}: {status:?}");
        assert!(stderr(&a).starts_with("error: "), "{name}: {}", stderr(&a));
        assert_eq!(bench.names("."), Vec::<String>::new(), "{name}");
    }
}

#[test]
fn a_job_compared_with_itself_has_not_changed() {
    let a = Bench::new().run(&["compare", DEMO, DEMO]).success();
    assert!(stdout(&a).contains("nothing changed"), "{}", stdout(&a));
    let json = stdout(
        &Bench::new()
            .run(&["compare", DEMO, DEMO, "--format", "json"])
            .success(),
    );
    let json: serde_json::Value = serde_json::from_str(&json).expect("JSON");
    assert_eq!(json["plates_changed"], serde_json::json!([]));
}

#[test]
fn a_hole_that_moved_is_listed_by_how_far() {
    let bench = Bench::with_job();
    fs::create_dir(bench.path("later")).expect("made");
    for (name, bytes) in bench.tree("mine") {
        let to = bench.path("later").join(&name);
        fs::create_dir_all(to.parent().unwrap_or(Path::new("."))).expect("made");
        fs::write(to, bytes).expect("copied");
    }
    // F7 was measured again: 3 mm to the right and 4 mm up are 5 mm.
    bench.change(
        "later/blocks/forwarder-diesel.toml",
        "at = [104, 60, 18]",
        "at = [107, 64, 18]",
    );
    let a = bench
        .run(&["compare", "mine/mine.toml", "later/mine.toml"])
        .success();
    let said = stdout(&a);
    assert!(
        said.contains("`block.F7` moved by 5.000 mm, from (104.000, 60.000) to (107.000, 64.000)"),
        "{said}"
    );
    assert!(
        said.contains("plate `idler`: area") && said.contains("outline area"),
        "{said}"
    );
    assert!(
        said.contains("unchanged plates: pivot, side, steering, tensioner, upper"),
        "{said}"
    );
}

#[test]
fn both_jobs_of_a_comparison_are_judged_at_once() {
    let bench = Bench::new();
    let said = stderr(&bench.run(&["compare", "one.toml", "two.toml"]).code(2));
    assert!(
        said.contains("one.toml") && said.contains("two.toml"),
        "{said}"
    );
}

#[test]
fn schemas_pages_completions_and_the_manual_print() {
    let bench = Bench::new();
    for kind in ["block", "accessory", "job", "shop", "stock"] {
        let text = stdout(&bench.run(&["schema", kind]).success());
        assert!(
            serde_json::from_str::<serde_json::Value>(&text).is_ok(),
            "{kind}"
        );
    }
    let list = stdout(&bench.run(&["explain"]).success());
    let mut ids = std::collections::BTreeSet::new();
    for line in list.lines().filter(|l| l.starts_with("  ")) {
        let id = line.split_whitespace().next().expect("an id");
        assert!(ids.insert(id.to_owned()), "two things are called {id}");
        let page = stdout(&bench.run(&["explain", &id.to_lowercase()]).success());
        assert!(page.starts_with(id) && page.len() > 80, "{id}: {page}");
    }
    bench.run(&["explain", "H999"]).code(2).stdout("");
    for shell in ["bash", "zsh", "fish", "elvish", "powershell"] {
        assert!(stdout(&bench.run(&["completions", shell]).success()).contains("release"));
    }
    assert!(stdout(&bench.run(&["man"]).success()).contains(".TH"));
    assert!(stdout(&bench.run(&["--help"]).success()).contains("Exit status"));
}

#[test]
fn a_job_file_with_a_strange_name_still_makes_a_package_or_says_why_not() {
    let bench = Bench::with_job();
    fs::copy(
        bench.path("mine/mine.toml"),
        bench.path("mine/job (2) größer.toml"),
    )
    .expect("copied");
    bench
        .run(&["release", "mine/job (2) größer.toml"])
        .success();
    assert_eq!(bench.names("exports"), ["job (2) größer-C"]);
}
