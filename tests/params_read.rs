//! Jobs read from the files of `tests/data/params`: what is written is what is held.

#![allow(
    clippy::float_cmp,
    reason = "a length read is the one written, to the last bit"
)]

use std::path::Path;

use platewright::geom::{Point, Vector3};
use platewright::params::{
    self, BackFace, Failure, HoleRef, Lookup, Make, MountKind, OutlineStep, PlacedZ, SlotSpec,
    TakeUp, Webs,
};

const JOBS: &str = "tests/data/params/jobs";

fn open(name: &str) -> Result<params::Loaded, Failure> {
    let lookup = Lookup {
        built_in: false,
        ..Lookup::default()
    };
    params::open(&Path::new(JOBS).join(name), &lookup)
}

fn said(f: &Failure) -> String {
    platewright::diag::render::text(&f.findings, &f.sources, false)
}

#[test]
fn every_key_of_a_job_arrives() {
    let l = open("whole.toml").unwrap_or_else(|f| panic!("{}", said(&f)));
    let j = &l.job;
    assert_eq!(
        (j.name.as_str(), j.revision.as_str(), j.date.as_str()),
        ("whole", "B", "2026-03-02")
    );
    assert_eq!(j.title_block.customer, "Forwarder 3");
    let d = j.drive.as_ref().unwrap();
    assert_eq!(
        (d.section.as_str(), d.ribs, d.length_mm),
        ("PK", 7, Some(1850.0))
    );
    let run: Vec<_> = d
        .run
        .iter()
        .map(|s| (s.pulley.to_string(), s.back))
        .collect();
    assert_eq!(
        run,
        [
            ("block.crank".to_owned(), false),
            ("tensioner".to_owned(), true),
            ("alternator".to_owned(), false),
            ("block.pump".to_owned(), true)
        ]
    );
    assert!(matches!(&d.take_up, Some(TakeUp::Swing { pivot, .. }) if pivot.id == "pivot"));
    assert_eq!(j.placed[0].z, PlacedZ::Drive);
    assert_eq!(
        (j.placed[0].at, j.placed[0].clock_deg),
        (Point::new(-180.5, 160.0), -12.5)
    );
    assert_eq!(j.placed[1].z, PlacedZ::Given(38.0));
}

#[test]
fn every_key_of_a_plate_arrives() {
    let l = open("whole.toml").unwrap_or_else(|f| panic!("{}", said(&f)));
    let j = &l.job;
    let upper = &j.plates[0];
    let a1 = HoleRef {
        owner: "block".into(),
        id: "A1".into(),
    };
    assert_eq!(
        upper.back,
        BackFace::On {
            hole: a1.clone(),
            plus_mm: 8.0
        }
    );
    assert_eq!(upper.takes[0].target, a1);
    assert_eq!(upper.takes[1].boss_mm, Some(34.0));
    assert!(upper.takes[1].counterbore);
    assert!(matches!(
        upper.takes[2].slot,
        Some(SlotSpec::Swing { from_deg, to_deg, .. }) if (from_deg, to_deg) == (-6.0, 10.0)
    ));
    assert_eq!(upper.takes[3].make, Some(Make::Reamed));
    assert!(matches!(&upper.webs, Webs::Listed(w) if w.len() == 2 && w[1].width_mm == Some(20.0)));
    assert_eq!(upper.auto_windows, Some(Some(8.0)));
    assert_eq!(
        (upper.features.len(), upper.windows.len(), upper.quantity),
        (9, 3, 2)
    );
    let side = &j.plates[1];
    assert_eq!(
        (side.frame.normal, side.frame.x),
        (Vector3::X, Vector3::new(0.0, 0.0, -1.0))
    );
    assert_eq!((side.title.as_str(), &side.webs), ("side", &Webs::None));
    assert!(matches!(
        side.outline[2],
        OutlineStep::ArcTo { ccw: true, major: false, radius_mm, .. } if radius_mm == 40.0
    ));
    let lower = &j.plates[2];
    assert_eq!(lower.takes[1].slot, Some(SlotSpec::Drive));
    assert_eq!(
        (lower.webs.clone(), lower.auto_windows),
        (Webs::Hull, Some(None))
    );
}

#[test]
fn every_key_of_the_files_a_job_names_arrives() {
    let l = open("whole.toml").unwrap_or_else(|f| panic!("{}", said(&f)));
    let j = &l.job;
    assert_eq!(j.hoses[0].points.len(), 3);
    assert_eq!(j.variants[0].hoses["coolant"], 50.8);
    assert_eq!(j.variants[0].pulleys[0].pulley.diameter_mm, 160.0);
    assert_eq!(j.variants[1].run.as_ref().unwrap().len(), 3);
    assert_eq!(j.deviations[0].reason, "Proven on the last set");

    assert_eq!(l.block.holes[1].depth_mm, 22.225, "7/8 in");
    assert_eq!(l.block.holes[2].axis, Vector3::Z, "made a unit vector");
    assert_eq!(
        l.block.pulleys[1].pulley.rim_mm, 120.0,
        "the diameter unless given"
    );
    assert!(
        l.block.keepouts[1].outline.area() > 0.0,
        "turned counter-clockwise"
    );
    assert_eq!(
        l.variant_blocks.keys().collect::<Vec<_>>(),
        ["test-four-old"]
    );
    assert_eq!(
        l.accessories.keys().collect::<Vec<_>>(),
        ["alt-a", "alt-b", "tensioner-t"]
    );
    let alt = &l.accessories["alt-a"];
    assert!(
        matches!(&alt.mounts[0].kind, MountKind::ThroughEar { ears_mm, .. }
        if ears_mm[..] == [(-110.0, -85.0), (-45.0, -20.0)])
    );
    assert!(matches!(
        alt.mounts[1].kind,
        MountKind::ThreadedEar {
            mouth_low: false,
            ..
        }
    ));
    assert_eq!(
        l.accessories["tensioner-t"]
            .arm
            .as_ref()
            .unwrap()
            .torque
            .len(),
        3
    );
    let mill = &l.shop.processes[0];
    assert_eq!((mill.inside_radius_mm, mill.machines), (3.0, true));
    assert_eq!(
        (l.shop.processes[1].machines, l.shop.processes[1].kerf_mm),
        (false, 1.0)
    );
    assert_eq!(l.stocks["alu-12"].thickness_mm, 12.7);
    assert!(l.findings.is_empty());
}

#[test]
fn a_job_needs_only_few_keys() {
    let l = open("small.toml").unwrap_or_else(|f| panic!("{}", said(&f)));
    assert_eq!(l.job.revision, "1");
    assert_eq!(l.job.fasteners.class, "10.9");
    assert_eq!(l.job.plates[0].webs, Webs::Automatic);
    assert_eq!(l.job.plates[0].quantity, 1);
}
