//! The mark that tells which way a plate goes on: where it is put, which way it reads, why it may be missing.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a helper of a test fails it by panicking"
)]

#[path = "support/jobs.rs"]
#[allow(dead_code, reason = "each test file uses its own share of the support")]
mod jobs;

use std::path::Path as FilePath;

use jobs::Job;
use platewright::feature::{Mark, Shape};
use platewright::geom::{Path, Point, Vector3};
use platewright::platework::{MadePlate, Unmarked};
use platewright::project::{self, Project};

fn mark(made: &MadePlate) -> Option<&Mark> {
    made.plate.features.iter().find_map(|f| match &f.shape {
        Shape::Mark(m) if f.id == "way-up" => Some(m),
        _ => None,
    })
}

/// One round plate of the given boss on the only hole of the right face.
fn on_the_right(boss: f64) -> Job {
    Job::drawn()
        .with(
            "back = \"block.A1\"",
            "frame = \"right\"\nback = \"block.R1\"",
        )
        .with(
            "holes = [\"block.A1\", \"block.A2\"]\nwebs = \"none\"\n\
             outline = [[-30, -30], [110, -30], [110, 30], [-30, 30]]\n",
            &format!("holes = [{{ take = \"block.R1\", boss = {boss} }}]\nwebs = []\n"),
        )
}

/// Where the first letter's upright and its base line point once the plate is on.
fn reads(made: &MadePlate, m: &Mark) -> (Vector3, Vector3) {
    // Every number here begins with P or I: P's first stroke rises, I's first runs to the right.
    let f = &made.plate.frame;
    let way = |s: &[Point]| {
        (f.to_engine(s[1], 0.0) - f.to_engine(s[0], 0.0))
            .unit()
            .unwrap()
    };
    let rises = way(&m.strokes[0]);
    if m.text.starts_with('P') {
        // Seen with the face towards the viewer the base line lies to the right of what rises.
        (rises, rises.cross(f.normal))
    } else {
        (f.normal.cross(rises), rises)
    }
}

fn assert_is_well_placed(made: &MadePlate) {
    let m = mark(made).unwrap_or_else(|| panic!("{} carries a mark", made.plate.id));
    let openings: Vec<Path> = made
        .plate
        .features
        .iter()
        .filter_map(platewright::feature::Feature::footprint)
        .collect();
    for p in m.strokes.iter().flatten() {
        let edge = -made.plate.outline.signed_distance(*p);
        assert!(
            edge.abs() >= 2.0 - 1e-9 && made.plate.region().contains(*p),
            "{edge}"
        );
        for o in &openings {
            assert!(!o.contains(*p) && o.gap_to_point(*p).distance >= 2.0 - 1e-9);
        }
        for h in &made.holes {
            if let Some(seat) = &h.front {
                assert!(h.at.distance(*p) >= 0.5 * seat.diameter_mm + 2.0 - 1e-9);
            }
        }
    }
    let (rises, base) = reads(made, m);
    let up = if m.text.contains('↑') { rises } else { base };
    assert!((up - Vector3::Y).length() < 1e-9, "{} {up:?}", m.text);
}

fn marked(project: &Project) -> Vec<&MadePlate> {
    project
        .plates
        .iter()
        .filter(|m| !m.mixups.is_empty())
        .collect()
}

#[test]
fn marks_lie_on_free_metal_and_point_up() {
    let mut count = 0;
    for job in ["forwarder", "auxiliary", "forwarder-fleet"] {
        let p = project::open(FilePath::new(&format!("params/jobs/{job}.toml"))).unwrap();
        for made in marked(&p) {
            // The letters of other plates' numbers have other first strokes.
            if made.plate.id.starts_with(['p', 'i']) {
                assert_is_well_placed(made);
                count += 1;
            }
        }
    }
    for job in [Job::drawn(), on_the_right(90.0)] {
        let p = job.project();
        for made in marked(&p) {
            assert_is_well_placed(made);
            count += 1;
        }
    }
    assert!(count >= 5, "{count}");
}

#[test]
fn the_mark_names_the_side_its_face_looks_to() {
    for (job, face) in [(Job::drawn(), "FRONT"), (on_the_right(90.0), "RIGHT")] {
        let p = job.project();
        let text = p.plates[0].way_up.clone().unwrap().unwrap();
        assert!(
            text.starts_with("PLATE-A ") && text.contains(face) && text.ends_with("UP"),
            "{text}"
        );
    }
}

#[test]
fn a_plate_without_room_or_engraving_tells_why_it_has_no_mark() {
    let small = on_the_right(34.0).project();
    assert_eq!(small.plates[0].way_up, Some(Err(Unmarked::NoRoom)));
    assert!(mark(&small.plates[0]).is_none());
    let plain = Job::drawn()
        .with_in(
            "shop",
            "sheet = [760, 420]",
            "sheet = [760, 420]\nengraves = false",
        )
        .project();
    assert_eq!(
        plain.plates[0].way_up,
        Some(Err(Unmarked::NotEngraved("mill".to_owned())))
    );
}

#[test]
fn a_number_that_is_engraved_already_is_not_engraved_twice() {
    let p = Job::drawn()
        .and("[[plate.feature]]\nkind = \"mark\"\nid = \"number\"\nat = [10, 20]\ntext = \"plate-a\"\nheight = 5\n")
        .project();
    let text = p.plates[0].way_up.clone().unwrap().unwrap();
    assert!(text.starts_with("FRONT"), "{text}");
}

#[test]
fn a_plate_on_three_holes_of_unequal_sides_has_no_wrong_way_and_no_mark() {
    let p = Job::drawn()
        .with_in(
            "stand",
            "at = [0, 120, 0]\nthread = \"M8x1.25\"",
            "at = [0, 120, 0]\nthread = \"M10x1.5\"",
        )
        .with(
            "holes = [\"block.A1\", \"block.A2\"]",
            "holes = [\"block.A1\", \"block.A2\", \"block.A3\"]",
        )
        .with(
            "outline = [[-30, -30], [110, -30], [110, 30], [-30, 30]]",
            "outline = [[-30, -30], [110, -30], [110, 150], [-30, 150]]",
        )
        .project();
    assert_eq!(p.plates[0].mixups, Vec::new());
    assert_eq!(p.plates[0].way_up, None);
}
