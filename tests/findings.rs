//! What is said of every fault that shows once the files are read: one job for each code, its text kept as a snapshot.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a helper of a test fails it by panicking"
)]

#[path = "support/jobs.rs"]
#[allow(dead_code, reason = "each test file uses its own share of the support")]
mod jobs;

use std::collections::BTreeSet;

use jobs::Job;
use platewright::diag::{Code, Diag, Family};

/// An accessory at the origin, z as given.
fn placed(z: f64) -> Job {
    Job::drawn().and(&format!(
        "[[place]]\nid = \"thing\"\naccessory = \"thing\"\nat = [0, 0]\nz = {z}\n"
    ))
}

/// The job with other holes in its plate.
fn taking(job: Job, holes: &str) -> Job {
    job.with(
        "holes = [\"block.A1\", \"block.A2\"]",
        &format!("holes = [{holes}]"),
    )
}

fn feature(text: &str) -> Job {
    Job::drawn().and(&format!("[[plate.feature]]\nid = \"x\"\n{text}\n"))
}

/// The job with a belt over the crank and the pump, and what follows in `[drive]`.
fn driven(job: Job, run: &str, more: &str) -> Job {
    job.and(&format!(
        "[drive]\nsection = \"PK\"\nribs = 6\nrib-plane = 60\nrun = [{run}]\n{more}\n"
    ))
}

/// Every code with a job that shows it.
#[expect(clippy::too_many_lines, reason = "one list, a case a code")]
fn cases() -> Vec<(Code, Job)> {
    let plain = Job::drawn;
    vec![
        (
            Code::NoMaterialRow,
            plain().with_in("sheet", "thickness = 15", "thickness = 400"),
        ),
        (
            Code::OutlineFails,
            plain().with(
                "outline = [[-30, -30], [110, -30], [110, 30], [-30, 30]]\n",
                "",
            ),
        ),
        (
            Code::AxisNotNormal,
            taking(plain(), "\"block.A1\", \"block.R1\""),
        ),
        (
            Code::UnknownThread,
            taking(plain(), "\"block.A1\", \"block.A4\""),
        ),
        (
            Code::SlotAboutItself,
            taking(
                placed(55.0).with("at = [0, 0]\nz", "at = [4, 0]\nz"),
                "\"block.A2\", { take = \"thing.ear\", slot = { about = \"block.A1\", from = -10, to = 10 } }",
            ),
        ),
        (
            Code::DeeperThanPlate,
            feature("kind = \"hole\"\nat = [40, 0]\ndiameter = 8\ndepth = 15"),
        ),
        (
            Code::CannotEngrave,
            feature("kind = \"mark\"\nat = [40, 0]\ntext = \"PLATE ☺\""),
        ),
        (
            Code::TakeClash,
            taking(
                plain(),
                "\"block.A1\", { take = \"block.A2\", make = \"tapped\" }",
            ),
        ),
        (
            Code::OnePlace,
            taking(
                placed(40.0),
                "\"block.A1\", { take = \"thing.ear\", make = \"reamed\" }",
            ),
        ),
        (
            Code::MouthMisfit,
            feature(
                "kind = \"hole\"\nat = [40, 0]\nthread = \"M10x1.5\"\ncounterbore = { diameter = 18, depth = 15 }",
            ),
        ),
        (
            Code::BossWithoutMetal,
            taking(plain(), "\"block.A1\", { take = \"block.A2\", boss = 9 }"),
        ),
        (
            Code::SlotClosesOnItself,
            feature(
                "kind = \"arc-slot\"\nabout = [40, 0]\nradius = 15\nfrom = 0\nto = 340\nwidth = 6",
            ),
        ),
        (
            Code::NoDriver,
            driven(placed(60.0), "\"block.pump\", \"thing\"", "length = 1000"),
        ),
        (
            Code::NoPath,
            driven(placed(60.0), "\"block.crank\", \"block.pump\", \"thing\"", ""),
        ),
        (
            Code::SlotWithoutTakeUp,
            driven(
                taking(
                    placed(60.0).with("at = [0, 0]\nz", "at = [-160, -60]\nz"),
                    "\"block.A1\", { take = \"block.A2\", slot = \"drive\" }",
                ),
                "\"block.crank\", \"block.pump\", \"thing\"",
                "take-up = { pivot = \"thing.second\", adjust = \"thing.ear\" }",
            ),
        ),
        (
            Code::StackOverlaps,
            plain().with("back = \"block.A1\"", "back = -3"),
        ),
        (
            Code::SpacerNotStocked,
            plain()
                .with("back = \"block.A1\"", "back = { on = \"block.A1\", plus = 9 }")
                .and("[[stocked]]\nthread = \"M10x1.5\"\nwashers = [2]\ntubes = [6]\n"),
        ),
        (
            Code::ThreadsDiffer,
            taking(
                placed(40.0).with("at = [0, 0]\nz", "at = [0, -60]\nz"),
                "\"block.A1\", \"block.A2\", \"thing.threaded\"",
            ),
        ),
        (
            Code::ThreadBuried,
            taking(
                placed(40.0)
                    .with("at = [0, 0]\nz", "at = [40, -60]\nz")
                    .with("back = \"block.A1\"", "back = 20"),
                "\"block.A1\", \"block.A2\", \"thing.threaded\"",
            ),
        ),
        (
            Code::IdleDeviation,
            plain().and("[[deviation]]\nrule = \"H340\"\non = \"plate\"\nreason = \"a slip of the pen\"\n"),
        ),
        (
            Code::FirmRule,
            plain()
                .and("[[plate.window]]\nkind = \"circle\"\nid = \"x\"\nat = [40, 27]\ndiameter = 10\n")
                .and("[[deviation]]\nrule = \"H304\"\non = \"plate\"\nreason = \"looks fine\"\n"),
        ),
    ]
}

fn findings(job: &Job) -> Vec<Diag> {
    match job.open() {
        Ok(p) => p.diags,
        Err(f) => f.findings,
    }
}

#[test]
fn every_fault_is_said_with_file_line_and_mend() {
    for (code, job) in cases() {
        let found = findings(&job);
        let of_code = found.iter().find(|d| d.code == code);
        let diag = of_code.unwrap_or_else(|| panic!("no {code}:\n{}", job.said()));
        assert!(diag.spot().is_somewhere(), "{code} names no line");
        assert!(!diag.help.is_empty(), "{code} says no mend");
        insta::assert_snapshot!(code.id(), job.said());
    }
}

#[test]
fn every_code_past_the_files_has_a_case() {
    let tried: BTreeSet<Code> = cases().into_iter().map(|(c, _)| c).collect();
    let all: BTreeSet<Code> = Code::ALL
        .iter()
        .copied()
        .filter(|c| {
            matches!(
                c.family(),
                Family::Geometry | Family::Holes | Family::Belt | Family::Joint | Family::Export
            )
        })
        .collect();
    assert_eq!(tried, all);
}

#[test]
fn every_clash_of_a_take_is_told() {
    let ear = "thing.ear";
    let second = "thing.second";
    let cases = [
        (
            "{ take = \"block.A2\", make = \"tapped\", slot = { direction = 0, from = -5, to = 5 } }",
            "tapped and a slot",
        ),
        (
            "{ take = \"block.A2\", make = \"reamed\", counterbore = true }",
            "reamed and counterbored",
        ),
        (
            "{ take = \"block.A2\", make = \"reamed\", fit = \"fine\" }",
            "a clearance hole of a given fit",
        ),
        (
            "{ take = \"block.A2\", make = \"reamed\", head = \"cap\" }",
            "a bolt head",
        ),
        (
            "{ take = \"block.A2\", counterbore = true }",
            "a hexagon head",
        ),
        (
            "{ take = \"block.A2\", counterbore = true, head = \"cap\", slot = { direction = 0, from = -5, to = 5 } }",
            "a slot and counterbored",
        ),
        (ear, "counterbored for a head, and covered by the ear"),
        (second, "two heads"),
    ];
    for (take, said) in cases {
        let job = match take {
            // An ear in front of the plate lies on the head.
            "thing.ear" => taking(
                placed(55.0),
                "\"block.A2\", { take = \"block.A1\", counterbore = true, head = \"cap\" }, \"thing.ear\"",
            ),
            "thing.second" => taking(
                placed(55.0).with("at = [0, 0]\nz", "at = [20, 0]\nz"),
                "\"block.A1\", { take = \"block.A2\", head = \"cap\" }, { take = \"thing.second\", head = \"hex\" }",
            ),
            _ => taking(plain_with_room(), &format!("\"block.A1\", {take}")),
        };
        let found = findings(&job);
        assert!(
            found
                .iter()
                .any(|d| d.code == Code::TakeClash && d.title.contains(said)),
            "`{said}` for {take}:\n{}",
            job.said()
        );
    }
}

fn plain_with_room() -> Job {
    Job::drawn().with("[110, -30], [110, 30]", "[130, -30], [130, 30]")
}

#[test]
fn holes_that_share_a_bolt_become_one() {
    let job = taking(placed(55.0), "\"block.A1\", \"block.A2\", \"thing.ear\"");
    let project = job.project();
    let holes: Vec<&str> = project.plates[0]
        .plate
        .cuts()
        .map(|f| f.id.as_str())
        .collect();
    assert_eq!(holes, ["block.A1", "block.A2"]);
    let joint = &project.layout.joints[0];
    let served: Vec<String> = joint.holes.iter().map(ToString::to_string).collect();
    assert_eq!(served, ["block.A1", "thing.ear"]);
}
