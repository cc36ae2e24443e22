//! The page of a package: in a real browser, on paper, and byte for byte.
//!
//! The browser is Debian's Chromium, driven by selenium (pinned) from the
//! interpreter that `PLATEWRIGHT_PYTHON` names; without them these tests fail.
//! With `PLATEWRIGHT_PICTURES` naming a folder, screens and prints are written there.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a helper of a test fails it by panicking"
)]

#[path = "support/jobs.rs"]
#[allow(dead_code, reason = "each test file uses its own share of the support")]
mod jobs;

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::process::Command;

use platewright::package;
use platewright::params;
use platewright::project::{self, Project, variants::Fleet};
use platewright::report::fit::Matrix;
use platewright::rules::Verdict;

use jobs::Job;

/// The greatest size of a demo's page, bytes.
const MOST_BYTES: usize = 2_000_000;

fn demo(job: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("params/jobs")
        .join(job)
}

fn opened(path: &Path) -> Project {
    project::open(path).unwrap_or_else(|f| panic!("{}: {:?}", path.display(), f.findings))
}

/// The forwarder with a boss too small, a belt too short and an accessory moved.
fn failing(folder: &Path) -> Project {
    let source = Path::new(env!("CARGO_MANIFEST_DIR")).join("params");
    copy(&source, &folder.join("params"));
    let path = folder.join("params/jobs/forwarder.toml");
    let mut text = std::fs::read_to_string(&path).unwrap();
    for (old, new) in [
        (
            "take = \"block.F4\", boss = 44",
            "take = \"block.F4\", boss = 22",
        ),
        ("length = 2120", "length = 2100"),
        ("at = [276, 94]", "at = [270, 94]"),
        (
            "title = \"Forwarder accessory brackets\"",
            "title = \"Brackets <b>&amp; 'more'</b> {{rules}}\"",
        ),
    ] {
        assert!(text.contains(old), "`{old}` in the demo");
        text = text.replacen(old, new, 1);
    }
    std::fs::write(&path, text).unwrap();
    opened(&path)
}

fn copy(from: &Path, to: &Path) {
    std::fs::create_dir_all(to).unwrap();
    for entry in std::fs::read_dir(from).unwrap() {
        let entry = entry.unwrap();
        let target = to.join(entry.file_name());
        if entry.file_type().unwrap().is_dir() {
            copy(&entry.path(), &target);
        } else {
            std::fs::copy(entry.path(), target).unwrap();
        }
    }
}

/// Opens a page in the browser and asserts that nothing is wrong with it.
fn look(name: &str, html: &str, options: &[&str]) {
    let python = std::env::var("PLATEWRIGHT_PYTHON")
        .expect("PLATEWRIGHT_PYTHON names an interpreter with selenium");
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join(format!("{name}.html"));
    std::fs::write(&path, html).unwrap();
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/python/check_page.py");
    let mut command = Command::new(python);
    command.arg(script).arg(&path).args(options);
    if let Ok(pictures) = std::env::var("PLATEWRIGHT_PICTURES") {
        std::fs::copy(&path, Path::new(&pictures).join(format!("{name}.html"))).unwrap();
        command.args(["--pictures", &pictures]);
    }
    let out = command.output().expect("the interpreter runs");
    assert!(
        out.status.success(),
        "{}",
        String::from_utf8_lossy(&out.stderr)
    );
    let found: BTreeMap<String, Vec<String>> =
        serde_json::from_slice(&out.stdout).expect("faults by check");
    assert!(found.len() >= 6, "{found:?}");
    let faults: Vec<_> = found.iter().filter(|(_, f)| !f.is_empty()).collect();
    assert!(faults.is_empty(), "{name}: {faults:#?}");
}

/// What has to be true of every page as text.
fn sound(html: &str) {
    for outside in ["src=", "<link", "@import", "url(http", "//cdn", "fetch("] {
        assert!(!html.contains(outside), "`{outside}` asks for something");
    }
    let addresses: Vec<&str> = html
        .match_indices("http")
        .map(|(i, _)| html[i..].split(['"', ' ', ')', '<']).next().unwrap())
        .filter(|a| a.contains("://") && *a != "http://www.w3.org/2000/svg")
        .collect();
    assert_eq!(addresses, Vec::<&str>::new());
    let mut ids: Vec<&str> = html
        .match_indices(" id=\"")
        .map(|(i, head)| html[i + head.len()..].split('"').next().unwrap())
        .collect();
    let all = ids.len();
    ids.sort_unstable();
    ids.dedup();
    assert_eq!(ids.len(), all, "an id stands twice");
    assert!(
        !html.contains("NaN") && !html.contains("{{"),
        "a hole in the page"
    );
}

#[test]
fn the_demo_s_page_works_in_a_browser() {
    let project = opened(&demo("forwarder.toml"));
    let html = package::page(&project, None).unwrap();
    sound(&html);
    assert!(html.len() < MOST_BYTES, "{} bytes", html.len());
    assert!(html.contains(">Holds</p>"));
    look("demo", &html, &[]);
}

#[test]
fn the_same_project_gives_the_same_bytes() {
    let page = || package::page(&opened(&demo("auxiliary.toml")), None).unwrap();
    assert_eq!(page(), page());
}

#[test]
fn failing_rules_come_first_and_carry_numbers_on_the_pictures() {
    let folder = tempfile::tempdir().unwrap();
    let project = failing(folder.path());
    let html = package::page(&project, None).unwrap();
    assert!(html.contains("{{rules}}"), "a title stays as it is written");
    let unfilled = html.replace("{{rules}}", "");
    sound(&unfilled);
    assert!(
        html.contains("Brackets &lt;b&gt;&amp;amp; &#39;more&#39;")
            || html.contains("Brackets &lt;b&gt;&amp;amp; 'more'")
    );
    assert!(
        !html.contains(&folder.path().display().to_string()),
        "where the job lies is nobody's business"
    );
    let failing: Vec<_> = project
        .findings
        .iter()
        .filter(|f| f.verdict == Verdict::Fails)
        .collect();
    assert!(failing.len() >= 3, "{failing:?}");
    let at = |text: &str| {
        html.find(text)
            .unwrap_or_else(|| panic!("`{text}` on the page"))
    };
    assert!(at("Does not hold</p>") < at("What fails") && at("What fails") < at("Limits kept"));
    // Every failing rule with a point has its number drawn on a picture.
    for (n, f) in failing.iter().enumerate() {
        assert!(
            f.places.is_empty()
                || html.contains(&format!("class=\"no fails\" data-no=\"{}\"", n + 1)),
            "{f:?}"
        );
    }
    look("failing", &html, &[]);
}

#[test]
fn a_fleet_s_page_shows_every_variant() {
    let path = demo("forwarder-fleet.toml");
    let loaded = params::open(&path, &project::disk()).unwrap();
    let fleet = Fleet::of(loaded);
    let matrix = Matrix::of(&fleet, &fleet.judge_all(&|| {}));
    let project = opened(&path);
    let html = package::page(&project, Some(&matrix)).unwrap();
    sound(&html);
    assert!(html.len() < MOST_BYTES, "{} bytes", html.len());
    for row in &matrix.variants {
        assert!(
            html.contains(&format!("<th scope=\"row\">{}", row.name)),
            "{}",
            row.name
        );
    }
    look("fleet", &html, &[]);
}

#[test]
fn strength_brings_its_pictures() {
    let project = Job::drawn()
        .with(
            "holes = [\"block.A1\", \"block.A2\"]",
            "holes = [\"block.A1\", \"block.A2\", \"weight.ear\"]",
        )
        .with(
            "outline = [[-30, -30], [110, -30], [110, 30], [-30, 30]]",
            "outline = [[-30, -30], [210, -30], [210, 30], [-30, 30]]",
        )
        .replaced(
            "thing",
            "kind = \"accessory\"\ntitle = \"Weight\"\nmass = 2\ncentre = [0, 0, 4]\n\n[[mount]]\nid = \"ear\"\n\
             at = [0, 0]\nthread = \"M10x1.5\"\nthrough-ear = { hole = 10.5, ears = [[-20, 0]], diameter = 22 }\n",
        )
        .and("[[place]]\nid = \"weight\"\naccessory = \"thing\"\nat = [180, 0]\nz = 0\n")
        .calculated();
    let calculated = project.strength.calculated().expect("a calculated set");
    let html = package::page(&project, None).unwrap();
    sound(&html);
    for id in ["stress-1", "modes", "resonance"] {
        assert!(html.contains(&format!("<figure id=\"{id}\"")), "{id}");
    }
    assert!(!html.contains("were not calculated"));
    assert!(!calculated.strength.report.modes.is_empty());
    look("strength", &html, &[]);
}

#[test]
fn without_webgl_the_page_says_so_and_works_on() {
    let project = opened(&demo("auxiliary.toml"));
    let html = package::page(&project, None).unwrap();
    look("plain", &html, &["--no-3d"]);
}
