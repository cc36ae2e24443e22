//! A job's strength and vibration: one steel strip with a mass at its end, held against hand formulas.
//!
//! Cantilever of 200 x 40 x 8 mm steel with 2 kg at its end: 40.09 Hz (exact Euler–Bernoulli beam
//! with a point mass: 1 + cos β cosh β + µβ(cos β sinh β − sin β cosh β) = 0, µ = 3.9809,
//! β = 0.918395; Rayleigh's 33/140 of the beam's mass gives the same to 1e-4).

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a helper of a test fails it by panicking"
)]

#[path = "support/jobs.rs"]
#[allow(dead_code, reason = "each test file uses its own share of the support")]
mod jobs;

use std::process::Command;

use jobs::Job;
use platewright::project::{Project, Strength};
use platewright::report::{check, paint::Paint, strength};
use platewright::rules::Verdict;
use platewright::strength::picture::{campbell_chart, mode_sheet, stress_contour};
use platewright::strength::report::StrengthReport;

/// Frequency of the strip clamped 200 mm from the mass, Hz.
const HAND_HZ: f64 = 40.0861;

/// Mass at the end, kg.
const MASS_KG: f64 = 2.0;

/// Standard gravity, m/s² (CGPM 1901).
const G: f64 = 9.80665;

/// A strip from A2, 40 wide and 8 thick, with 2 kg bolted on 200 mm out, its centre in the strip's middle plane.
fn strip() -> Job {
    let accessory = r#"kind = "accessory"
title = "Weight"
mass = 2
centre = [0, 0, 4]

[[mount]]
id = "ear"
at = [0, 0]
thread = "M10x1.5"
through-ear = { hole = 10.5, ears = [[-20, 0]], diameter = 22 }

[[body]]
name = "weight"
cylinder = { at = [0, 0], diameter = 20 }
z = [-6, 14]
"#;
    Job::drawn()
        .replaced("thing", accessory)
        .with_in("sheet", "thickness = 15", "thickness = 8")
        .with_in("sheet", "EN AW-6061-T6", "S355J2")
        .with(
            "outline = [[-30, -30], [110, -30], [110, 30], [-30, 30]]",
            "outline = [[-20, -20], [300, -20], [300, 20], [-20, 20]]",
        )
        .with(
            "holes = [\"block.A1\", \"block.A2\"]",
            "holes = [\"block.A1\", \"block.A2\", \"weight.ear\"]",
        )
        .and("[[place]]\nid = \"weight\"\naccessory = \"thing\"\nat = [280, 0]\nz = 0\n")
}

fn report(project: &Project) -> &StrengthReport {
    &project
        .strength
        .calculated()
        .expect("a calculated set")
        .strength
        .report
}

#[test]
fn reactions_balance_weight_and_shock() {
    let project = strip().calculated();
    let r = report(&project);
    let plate_kg = project.plates[0].plate.properties().mass_kg;
    let weight = (MASS_KG + plate_kg) * G;
    let case = |name: &str| r.cases.iter().find(|c| c.case == name).expect("a case");
    // Mesh mass differs from the plate's by its chords only: 0.1 %.
    let near = |a: f64, b: f64| (a - b).abs() < 1e-3 * weight.max(b.abs());
    assert!(near(case("weight").load_n[1], -weight));
    let forward = case("shock forward");
    assert!(near(forward.load_n[2], 20.0 * weight) && near(forward.load_n[1], -weight));
    for c in &r.cases {
        for d in 0..3 {
            assert!((c.load_n[d] + c.reaction_n[d]).abs() < 1e-9 * 20.0 * weight);
        }
        assert!(c.imbalance < 1e-9, "{}: {}", c.case, c.imbalance);
    }
}

#[test]
fn the_first_mode_lies_between_two_hand_formulas() {
    // The strip bends from somewhere between the bolt's centre (200 mm from the mass) and its
    // ring's rim (11 mm nearer); frequency goes with length^-1.5. The ring holds a part of the
    // width only, which lets it bend a little further back: 3 %.
    let project = strip().calculated();
    let hz = report(&project).modes[0].hz;
    let shortest = HAND_HZ * (200.0_f64 / 189.0).powf(1.5);
    assert!(
        hz > 0.97 * HAND_HZ && hz < 1.02 * shortest,
        "{hz} Hz, {HAND_HZ} to {shortest}"
    );
    let moves = &report(&project).modes[0].moves[0];
    assert!(moves.0 == "weight" && moves.1 > 0.9, "{moves:?}");
    // 40 Hz lies inside 27 to 80 Hz of firing: the rule has to say so.
    let finding = project
        .findings
        .iter()
        .find(|f| f.rule == "F405")
        .expect("F405");
    assert_eq!(finding.verdict, Verdict::Fails);
    assert!((finding.measured - hz / 80.0).abs() < 1e-3);
}

#[test]
fn an_accessory_that_nothing_holds_is_a_located_finding() {
    let job = strip().with(
        "holes = [\"block.A1\", \"block.A2\", \"weight.ear\"]",
        "holes = [\"block.A1\", \"block.A2\"]",
    );
    let project = job.calculated();
    assert!(matches!(project.strength, Strength::Refused(_)));
    let f = project
        .findings
        .iter()
        .find(|f| f.rule == "F401")
        .expect("F401");
    assert_eq!(f.verdict, Verdict::Fails);
    assert_eq!(f.on, "weight");
    assert!(f.what.contains("free to move"), "{}", f.what);
    // A plain sentence, without a count of yes against a limit.
    assert_eq!(check::against_limit(f), f.what);
    assert_ne!(f.spot, platewright::diag::Spot::NOWHERE);
}

#[test]
fn a_mount_that_nothing_takes_is_worth_knowing() {
    let spare = "[[mount]]\nid = \"spare\"\nat = [0, 60]\nthread = \"M8x1.25\"\n\
                 through-ear = { hole = 9, ears = [[-20, 0]], diameter = 20 }\n\n[[body]]";
    let job = strip().with_in("thing", "[[body]]", spare);
    let project = job.calculated();
    let f = |p: &Project, rule: &str| {
        let f = p
            .findings
            .iter()
            .find(|f| f.rule == rule && f.on == "weight");
        f.cloned().expect("a finding about the weight")
    };
    let mounts = f(&project, "F408");
    assert_eq!(mounts.verdict, Verdict::Advises);
    assert!(
        mounts.what.contains("1 of 2") && mounts.what.contains("`spare`"),
        "{}",
        mounts.what
    );
    assert_eq!(f(&strip().calculated(), "F408").verdict, Verdict::Holds);
}

#[test]
fn an_accessory_on_one_bolt_is_a_hinge_unless_its_loads_go_through_it() {
    // The strip's weight is balanced on its bolt: nothing turns it.
    let turn = |job: Job| {
        let project = job.calculated();
        let f = project.findings.iter().find(|f| f.rule == "F409");
        f.cloned().expect("F409")
    };
    assert_eq!(turn(strip()).verdict, Verdict::Holds);
    let aside = turn(strip().with_in("thing", "centre = [0, 0, 4]", "centre = [0, -60, 4]"));
    assert_eq!(aside.verdict, Verdict::Fails);
    assert!(
        aside.what.contains("turn about the line of `ear`"),
        "{}",
        aside.what
    );
    assert_eq!(aside.on, "weight");
    assert_ne!(aside.spot, platewright::diag::Spot::NOWHERE);
}

#[test]
fn results_are_the_same_to_the_bit_on_one_thread_and_on_two() {
    let on = |threads: usize| {
        rayon::ThreadPoolBuilder::new()
            .num_threads(threads)
            .build()
            .expect("a pool")
            .install(|| strip().calculated())
    };
    let said = |p: &Project| {
        let done = p.strength.calculated().expect("a calculated set");
        [
            strength::json(p).to_string(),
            stress_contour(&done.strength, 0).expect("a plate"),
            mode_sheet(&done.strength, 6),
            campbell_chart(&done.strength, &done.model.excitation),
        ]
    };
    let (one, two, again) = (on(1), on(2), on(2));
    assert_eq!(report(&one), report(&two));
    assert_eq!(report(&two), report(&again));
    assert_eq!(said(&one), said(&two));
    for picture in &said(&one)[1..] {
        assert!(picture.contains("not a certification"));
    }
}

#[test]
fn a_deviation_from_strength_stands_while_strength_is_left_out() {
    let job = strip().and(
        "[[deviation]]\nrule = \"F405\"\non = \"set\"\nreason = \"a stand that never turns\"\n",
    );
    let skipped = job.project();
    assert!(skipped.diags.is_empty(), "{:?}", skipped.diags);
    let text = check::text(&skipped, false, Paint::PLAIN);
    assert!(text.contains("NOT CALCULATED"), "{text}");
    let f = job.calculated();
    let f = f.findings.iter().find(|f| f.rule == "F405").expect("F405");
    assert_eq!(f.verdict, Verdict::Accepted);
}

#[test]
fn the_command_is_silent_on_its_way_and_says_what_it_left_out() {
    let folder = tempfile::tempdir().expect("a folder");
    strip().write(folder.path());
    let run = |more: &[&str]| {
        let out = Command::new(assert_cmd::cargo::cargo_bin!("platewright"))
            .current_dir(folder.path())
            .args(["check", "job.toml"])
            .args(more)
            .output()
            .expect("run");
        (
            String::from_utf8_lossy(&out.stdout).into_owned(),
            String::from_utf8_lossy(&out.stderr).into_owned(),
        )
    };
    let (text, progress) = run(&[]);
    assert!(text.contains("an aid to judgement"), "{text}");
    assert_eq!(progress, "");
    let (text, _) = run(&["--no-strength"]);
    assert!(
        text.contains("NOT CALCULATED") && !text.contains("F405"),
        "{text}"
    );
    let (json, _) = run(&["--no-strength", "--format", "json"]);
    let json: serde_json::Value = serde_json::from_str(&json).expect("JSON");
    assert_eq!(json["strength"]["calculated"], false);
}
