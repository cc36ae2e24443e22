//! Bolts and clearances of the demo jobs: they hold, and planted faults are named with their numbers.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a helper of a test fails it by panicking"
)]

use std::path::{Path, PathBuf};

use platewright::project::{self, Project};

fn demo(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("params/jobs")
        .join(format!("{name}.toml"))
}

/// The demo job with pieces of its text replaced, every file it names beside it.
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
    let mut text = std::fs::read_to_string(demo(job)).unwrap();
    for (from, to) in swaps {
        assert!(text.contains(from), "`{from}` is in the job");
        text = text.replace(from, to);
    }
    let path = folder.path().join(format!("{job}.toml"));
    std::fs::write(&path, text).unwrap();
    (folder, path)
}

fn opened(path: &Path) -> Project {
    project::open(path).unwrap_or_else(|f| panic!("{:?}", f.findings))
}

fn failing(p: &Project, rule: &str) -> Vec<String> {
    p.findings
        .iter()
        .filter(|f| f.blocks() && f.rule == rule)
        .map(|f| format!("{} {}: {}", f.on, f.at, f.what))
        .collect()
}

#[test]
fn every_bolt_and_gap_of_both_demo_jobs_holds() {
    for name in ["forwarder", "auxiliary"] {
        let p = opened(&demo(name));
        assert_eq!(p.bolting.joints.len(), p.layout.joints.len(), "{name}");
        let bad: Vec<_> = p
            .findings
            .iter()
            .filter(|f| f.blocks() && (f.rule.starts_with('J') || f.rule.starts_with('C')))
            .collect();
        assert!(bad.is_empty(), "{name}: {bad:?}");
    }
}

#[test]
fn a_block_bolt_is_as_long_as_plate_and_engagement_ask() {
    let p = opened(&demo("forwarder"));
    // 20 mm plate and 1.5 d in cast iron: 35 mm, a length of ISO 888.
    let b = p.bolting.of("block.F4").unwrap();
    assert!((b.report.stack.grip_mm - 20.0).abs() < 1e-9);
    assert!((b.report.stack.length_mm - 35.0).abs() < 1e-9);
    assert!((b.report.stack.engagement_mm - 15.0).abs() < 1e-9);
    // The same plate 20 mm off the block: 20 mm longer.
    let b = p.bolting.of("block.F1").unwrap();
    assert!((b.report.stack.length_mm - 55.0).abs() < 1e-9);
    // Two ears 15 mm thick 40 mm apart and a washer 2 mm thick.
    let b = p.bolting.of("alternator.pivot").unwrap();
    assert!((b.report.stack.grip_mm - 72.0).abs() < 1e-9);
    assert!(b.report.designation.starts_with("EN 1665 M10x1.5 x 90"));
}

#[test]
fn hub_loads_balance_on_the_idlers_single_bolt() {
    let p = opened(&demo("forwarder"));
    let group = p
        .bolting
        .groups
        .iter()
        .find(|g| g.holds == "idler")
        .unwrap();
    let (_, analysis) = p.drive.as_ref().unwrap();
    let pull = analysis
        .points
        .iter()
        .flat_map(|o| &o.pulleys)
        .filter(|f| f.id == "idler")
        .map(|f| f.hub_load_size_n)
        .fold(0.0, f64::max);
    let weight = 0.7 * 9.80665;
    let shear = group.report.bolts[0].shear_n;
    // All of the pull, and the weight once for standing and five times for the shock.
    assert!(
        shear >= pull && shear <= pull + 6.0 * weight + 1e-6,
        "{shear} {pull}"
    );
}

#[test]
fn more_shock_and_a_weaker_class_break_the_tensioners_joint() {
    let (_folder, path) = changed(
        "forwarder",
        &[
            ("hot = 80", "hot = 80\nshock = 40"),
            ("faces = \"brushed\"", "faces = \"oily\""),
        ],
    );
    let p = opened(&path);
    let slips = failing(&p, "J301");
    assert!(
        slips.iter().any(|s| s.starts_with("tensioner.pivot")),
        "{slips:?}"
    );
}

#[test]
fn a_hose_too_near_the_pump_is_named_with_its_gap() {
    let hose = "\n[[hose]]\nid = \"lower\"\npoints = [[-290, 200, -25], [-290, 370, -25]]\ndiameter = 30\n";
    let (_folder, path) = changed(
        "forwarder",
        &[(
            "[[place]]\nid = \"alternator\"",
            &format!("{hose}\n[[place]]\nid = \"alternator\""),
        )],
    );
    let p = opened(&path);
    let near = p
        .near
        .iter()
        .find(|n| n.gap.second == "hose lower" && n.gap.first == "steering-pump")
        .expect("the pump is near the hose");
    // The housing's radius 44 at x = -230 reaches x = -274; the hose -275: 1 mm.
    assert!((near.gap.gap_mm - 1.0).abs() < 1e-6, "{}", near.gap.gap_mm);
    assert!((near.gap.limit_mm - 6.0).abs() < 1e-9);
    assert_eq!(failing(&p, "C101").len(), 1);
}

#[test]
fn a_plate_in_the_way_of_another_clashes_by_its_overlap() {
    // The side plate 20 mm farther forward runs into the pivot plate's room.
    let (_folder, path) = changed(
        "forwarder",
        &[(
            "back = { on = \"block.F1\", plus = 20 }",
            "back = { on = \"block.F1\", plus = 1 }",
        )],
    );
    // The upper plate then no longer meets its ear, or lies over the pivot plate: either is said.
    match project::open(&path) {
        Ok(p) => assert!(!failing(&p, "C101").is_empty()),
        Err(f) => assert!(f.findings.iter().any(|d| d.title.contains("mm"))),
    }
}

/// A straight hose through the engine's rib plane, added to the demo job.
fn with_probe(at: platewright::geom::Point, z: (f64, f64)) -> (tempfile::TempDir, Project) {
    let hose = format!(
        "[[hose]]\nid = \"probe\"\npoints = [[{x:.9}, {y:.9}, {a}], [{x:.9}, {y:.9}, {b}]]\ndiameter = 20\n\n",
        x = at.x,
        y = at.y,
        a = z.0,
        b = z.1
    );
    let place = "[[place]]\nid = \"alternator\"";
    let (folder, path) = changed("forwarder", &[(place, &format!("{hose}{place}"))]);
    let p = opened(&path);
    (folder, p)
}

/// The gap to the probe that a rule measures.
fn to_probe(p: &Project, rule: &str) -> platewright::clearance::Gap {
    let near = p.near.iter().find(|n| {
        n.rule == rule && [&n.gap.first, &n.gap.second].contains(&&"hose probe".to_owned())
    });
    near.unwrap_or_else(|| panic!("{rule} is measured"))
        .gap
        .clone()
}

#[test]
fn the_arms_sweep_needs_its_room_at_its_end_not_as_drawn() {
    let p = opened(&demo("forwarder"));
    let (drive, analysis) = p.drive.as_ref().unwrap();
    let platewright::drive::TakeUp::Spring(t) = &drive.take_up else {
        panic!("the demo has a spring tensioner")
    };
    let arms: Vec<f64> = analysis
        .tensioner
        .iter()
        .flat_map(|w| &w.reaches)
        .filter_map(|r| r.arm.as_ref())
        .map(|a| a.arm_deg)
        .collect();
    let drawn = (analysis.path.contact(t.pulley).unwrap().centre_mm - t.pivot).angle();
    let radius = 0.5 * drive.pulleys[t.pulley].rim_diameter_mm;
    // The end of the sweep that lies farther from where the arm is drawn, and the way beyond it.
    let turned = |deg: f64| {
        let by = deg.to_radians() - drawn;
        by - std::f64::consts::TAU * (by / std::f64::consts::TAU).round()
    };
    let by = arms
        .iter()
        .map(|a| turned(*a))
        .max_by(|a, b| a.abs().total_cmp(&b.abs()))
        .unwrap();
    let end = t.pivot.polar(t.arm_mm, drawn + by);
    let onward = (end - t.pivot).unit().unwrap().left() * by.signum();
    let z = (drive.pulleys[t.pulley].rib_plane_z_mm - 8.0, 150.0);
    for (room, holds) in [(22.0, false), (27.0, true)] {
        // Hose of radius 10: `room` from the rim where the sweep ends. 25 mm is the limit of the gap table.
        let (_folder, p) = with_probe(end + onward * (radius + 10.0 + room), z);
        let gap = to_probe(&p, "C104");
        assert!((gap.gap_mm - room).abs() < 1e-6, "{gap:?}");
        assert!((gap.limit_mm - 25.0).abs() < 1e-9 && gap.holds() == holds);
        let t = gap.on_the_way.unwrap();
        assert!(!(0.01..=0.99).contains(&t), "at an end of the way, {t}");
        let said = failing(&p, "C104").iter().any(|f| f.contains("probe"));
        assert_eq!(said, !holds);
    }
}

#[test]
fn a_hose_before_the_belt_keeps_it_from_coming_off() {
    let p = opened(&demo("forwarder"));
    let (drive, analysis) = p.drive.as_ref().unwrap();
    let section = &drive.belt.section;
    let half = 0.5 * section.width_mm(drive.belt.ribs);
    // The longest straight of the belt's outer line.
    let outer = [section.back_offset_mm, -section.rib_depth_mm()]
        .map(|by| analysis.path.offset_loop(by))
        .into_iter()
        .max_by(|a, b| a.area().abs().total_cmp(&b.area().abs()))
        .unwrap()
        .oriented(true);
    let (from, to) = outer
        .segments
        .iter()
        .filter_map(|s| match *s {
            platewright::geom::Segment::Line { from, to } => Some((from, to)),
            platewright::geom::Segment::Arc { .. } => None,
        })
        .max_by(|a, b| a.0.distance(a.1).total_cmp(&b.0.distance(b.1)))
        .unwrap();
    let outward = -(to - from).unit().unwrap().left();
    let front = drive.pulleys[drive.driver].rib_plane_z_mm + half;
    // In front of the belt as it lies, beside or 1 mm inside the way it comes off.
    for (room, holds) in [(2.0, true), (-1.0, false)] {
        let at = from.midpoint(to) + outward * (10.0 + room);
        let (_folder, p) = with_probe(at, (front + 12.0, front + 200.0));
        let gap = to_probe(&p, "C105");
        assert!((gap.gap_mm - room).abs() < 1e-6, "{gap:?}");
        assert!(gap.limit_mm == 0.0 && gap.holds() == holds);
        let said = failing(&p, "C105").iter().any(|f| f.contains("probe"));
        assert_eq!(said, !holds);
    }
}

#[test]
fn what_the_bolt_calculation_leaves_out_is_said_in_text_and_json() {
    let p = opened(&demo("auxiliary"));
    let text =
        platewright::report::check::text(&p, false, platewright::report::paint::Paint::new(false));
    let said = text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        said.contains("prying, which adds tension where a plate bends, is not covered"),
        "{text}"
    );
    assert!(
        said.contains("joints may not slip or open under 3 g ([fasteners] shock)"),
        "{text}"
    );
    let json = platewright::report::check::json(&p);
    assert!(
        json["joints"]["not_covered"][0]
            .as_str()
            .unwrap()
            .contains("prying")
    );
    assert_eq!(json["joints"]["shock_g"], 3.0);
    assert_eq!(json["joints"]["plates_shock_g"], 20.0);
}
