//! Offsets and entry angles of the spans, checked by hand.

mod demo_drives;

use platewright::drive::align::{self, Alignment};
use platewright::drive::{self, Contributor, Drive, TakeUp};

/// The four-rib drive as drawn, on fixed centres, without tolerances.
fn bare() -> Drive {
    let mut drive = demo_drives::four_rib();
    drive.take_up = TakeUp::Fixed {
        set_tension_n: 300.0,
    };
    drive.belt.length_mm = None;
    for p in &mut drive.pulleys {
        p.contributors.clear();
        p.play = drive::Play::default();
    }
    drive
}

fn aligned(drive: &Drive) -> Alignment {
    let path = drive::path::solve(drive).expect("the drive is sound");
    align::align(drive, &path)
}

fn contributor(id: &str, shift_mm: f64, tilt_deg: f64) -> Contributor {
    Contributor {
        id: id.to_owned(),
        shift_mm,
        tilt_deg,
    }
}

#[test]
fn an_offset_pulley_bends_both_its_spans_by_offset_over_span() {
    let mut drive = bare();
    drive.pulleys[2].rib_plane_z_mm += 1.2;
    let path = drive::path::solve(&drive).unwrap();
    let a = aligned(&drive);
    for (span, s) in path.spans.iter().zip(&a.spans) {
        let touches = s.from == "alternator" || s.to == "alternator";
        let expected = if touches {
            (1.2 / span.length_mm).atan().to_degrees()
        } else {
            0.0
        };
        assert!((s.angle_deg - expected).abs() < 1e-12, "{s:?}");
        assert!(
            (s.worst_deg - s.angle_deg).abs() < 1e-12 && (s.rss_deg - s.angle_deg).abs() < 1e-12
        );
    }
}

#[test]
fn worst_case_adds_and_root_sum_square_adds_squares() {
    let mut drive = bare();
    drive.pulleys[0].contributors = vec![contributor("hub", 0.3, 0.0)];
    drive.pulleys[1].contributors = vec![
        contributor("spacer", 0.4, 0.0),
        contributor("plate", 0.0, 0.1),
    ];
    let path = drive::path::solve(&drive).unwrap();
    let a = aligned(&drive);
    let k = a
        .spans
        .iter()
        .position(|s| s.from == "crank" && s.to == "coolant pump")
        .unwrap();
    let span = path.spans[k].length_mm;
    let (hub, spacer) = ((0.3 / span).to_degrees(), (0.4 / span).to_degrees());
    assert!((a.spans[k].worst_deg - (hub + spacer + 0.1)).abs() < 1e-12);
    assert!((a.spans[k].rss_deg - (hub * hub + spacer * spacer + 0.01).sqrt()).abs() < 1e-12);
}

#[test]
fn a_plate_under_both_pulleys_moves_them_alike_and_cancels() {
    let mut drive = bare();
    for k in [0, 1] {
        drive.pulleys[k].contributors = vec![contributor("plate A thickness", 0.5, 0.0)];
    }
    let a = aligned(&drive);
    let between = a
        .spans
        .iter()
        .find(|s| s.from == "crank" && s.to == "coolant pump")
        .unwrap();
    assert!(between.worst_deg.abs() < 1e-12);
    let outward = a.spans.iter().find(|s| s.to == "alternator").unwrap();
    assert!(outward.worst_deg > 0.05);
}

#[test]
fn a_tilted_axis_shows_its_part_along_each_span() {
    let mut drive = bare();
    // Turned about +x: heights rise along +y, so a span along +y enters at the tilt itself.
    drive.pulleys[1].tilt_deg = (0.2, 0.0);
    let path = drive::path::solve(&drive).unwrap();
    let a = aligned(&drive);
    for (span, s) in path.spans.iter().zip(&a.spans) {
        let slope = 0.2_f64.to_radians() * span.direction.y;
        let expected = -slope.atan().to_degrees();
        if s.to == "coolant pump" {
            assert!((s.entry_deg - expected).abs() < 1e-12, "{s:?}");
        }
        if s.from == "coolant pump" {
            assert!((s.leaving_deg - expected).abs() < 1e-12, "{s:?}");
        }
    }
}

#[test]
fn play_takes_away_what_it_can_reach() {
    let mut drive = bare();
    drive.pulleys[2].contributors = vec![contributor("bracket", 2.0, 0.0)];
    drive.pulleys[2].play = drive::Play {
        shift_mm: 0.5,
        tilt_deg: 0.02,
    };
    let path = drive::path::solve(&drive).unwrap();
    for (span, s) in path.spans.iter().zip(&aligned(&drive).spans) {
        if s.to == "alternator" {
            let reach = (0.5 / span.length_mm).atan().to_degrees() + 0.02;
            assert!((s.correctable_deg - reach).abs() < 1e-12);
            assert!((s.worst_corrected_deg - (s.worst_deg - reach)).abs() < 1e-12);
        }
    }
}

#[test]
fn a_flat_pulley_does_not_steer_so_the_offset_falls_behind_it() {
    let mut drive = demo_drives::seven_rib();
    for p in &mut drive.pulleys {
        p.contributors.clear();
    }
    // Steering pump, then the flat coolant pump, then the alternator 1 mm out.
    drive.pulleys[4].rib_plane_z_mm += 1.0;
    let path = drive::path::solve(&drive).unwrap();
    let a = align::align(&drive, &path);
    let onto_flat = a.spans.iter().find(|s| s.to == "coolant pump").unwrap();
    let after_flat = a.spans.iter().find(|s| s.from == "coolant pump").unwrap();
    assert!(onto_flat.offset_mm.abs() < 1e-12);
    assert!((after_flat.offset_mm - 1.0).abs() < 1e-12);
    // From the alternator to the compressor the belt comes back.
    let back = a.spans.iter().find(|s| s.from == "alternator").unwrap();
    assert!((back.offset_mm + 1.0).abs() < 1e-12);
}

#[test]
fn a_narrow_flat_face_is_found_too_narrow() {
    let mut drive = demo_drives::seven_rib();
    drive.pulleys[6].rib_plane_z_mm += 4.0;
    let analysis = drive::analyse(&drive, &[2120.0]).unwrap();
    let failing: Vec<&str> = analysis
        .judgements
        .iter()
        .filter(|j| !j.holds)
        .map(|j| j.rule.id)
        .collect();
    assert!(failing.contains(&"B244"), "{failing:?}");
}
