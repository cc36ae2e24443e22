//! Every reason why no belt path exists is told with the pulleys and the numbers.

mod demo_drives;

use platewright::drive::{self, Drive, Duty, Face, Fault, Pulley, Rotation, Side, TakeUp};
use platewright::geom::Point;

/// Crank and two ribbed pulleys in a ring, fixed centres.
fn three() -> Drive {
    let mut drive = demo_drives::four_rib();
    drive.take_up = TakeUp::Fixed {
        set_tension_n: 300.0,
    };
    drive.belt.length_mm = None;
    drive.last_on = None;
    drive
}

fn flat(id: &str, x: f64, y: f64, diameter_mm: f64) -> Pulley {
    Pulley {
        id: id.to_owned(),
        duty: Duty::Idler,
        centre: Point::new(x, y),
        face: Face::Flat {
            diameter_mm,
            width_mm: 30.0,
        },
        rim_diameter_mm: diameter_mm,
        contact: Side::Back,
        ..demo_drives::four_rib().pulleys[0].clone()
    }
}

fn faults(drive: &Drive) -> Vec<Fault> {
    drive::path::solve(drive)
        .expect_err("this drive has no path")
        .faults
}

#[test]
fn overlapping_pulleys_are_named_with_both_distances() {
    let mut drive = three();
    drive.pulleys[1].centre = Point::new(0.0, 120.0);
    let faults = faults(&drive);
    let Fault::Overlap {
        a,
        b,
        distance_mm,
        least_mm,
    } = &faults[0]
    else {
        unreachable!("{faults:?}");
    };
    assert_eq!((a.as_str(), b.as_str()), ("crank", "coolant pump"));
    // Rims of 156 and 126 mm.
    assert!((distance_mm - 120.0).abs() < 1e-9 && (least_mm - 141.0).abs() < 1e-9);
    let text = faults[0].to_string();
    assert!(
        text.contains("120.000 mm") && text.contains("141.000 mm"),
        "{text}"
    );
}

#[test]
fn a_back_idler_out_of_reach_is_told_how_far_to_move() {
    let mut drive = three();
    // Between coolant pump and alternator the belt's back faces up.
    let straight = drive::path::solve(&drive).unwrap();
    let span = straight
        .spans
        .iter()
        .find(|s| straight.contacts[s.from].id == "coolant pump")
        .unwrap();
    let out = span.direction.left();
    let clear = 7.5;
    let radius = 35.0 + drive.belt.section.back_offset_mm;
    let centre = span.start_mm.midpoint(span.end_mm) + out * (radius + clear);
    drive
        .pulleys
        .insert(2, flat("idler", centre.x, centre.y, 70.0));
    let faults = faults(&drive);
    let Fault::WrapVanishes {
        pulley,
        before,
        after,
        clear_mm,
    } = &faults[0]
    else {
        unreachable!("{faults:?}");
    };
    assert_eq!(pulley, "idler");
    assert_eq!(
        (before.as_str(), after.as_str()),
        ("coolant pump", "alternator")
    );
    assert!((clear_mm - clear).abs() < 1e-9, "{clear_mm}");
    // Moved by a little more than told, the path exists.
    drive.pulleys[2].centre = drive.pulleys[2].centre + out * -(clear_mm + 0.01);
    assert!(drive::path::solve(&drive).is_ok());
}

#[test]
fn a_span_through_a_pulley_is_told_with_its_depth() {
    let mut drive = three();
    drive.rotation = Rotation::CounterClockwise;
    // The lower span runs from the first to the second along y = −40; the third, wrapped over its top, reaches to −50.
    for (k, (x, y, diameter)) in [(0.0, 0.0, 80.0), (400.0, 0.0, 80.0), (200.0, 130.0, 360.0)]
        .into_iter()
        .enumerate()
    {
        drive.pulleys[k].centre = Point::new(x, y);
        drive.pulleys[k].face = Face::Ribbed {
            effective_diameter_mm: diameter,
            grooves: 4,
        };
        drive.pulleys[k].rim_diameter_mm = diameter;
    }
    let faults = faults(&drive);
    assert_eq!(faults.len(), 1, "{faults:?}");
    let Fault::SpanCutsPulley {
        from,
        to,
        pulley,
        cut_mm,
    } = &faults[0]
    else {
        unreachable!("{faults:?}");
    };
    assert_eq!((from.as_str(), to.as_str()), ("crank", "coolant pump"));
    assert_eq!(pulley, "alternator");
    assert!((cut_mm - 10.0).abs() < 1e-9, "{cut_mm}");
}

#[test]
fn a_mixed_up_order_says_that_the_belt_would_cross_itself() {
    let mut drive = demo_drives::seven_rib();
    drive.pulleys.swap(4, 5);
    let faults = faults(&drive);
    // Read either way round something is wrong, and both readings are told.
    assert!(
        matches!(faults[0], Fault::AgainstTheList { .. }),
        "{faults:?}"
    );
    assert!(
        faults[1..]
            .iter()
            .any(|f| matches!(f, Fault::WrapVanishes { pulley, .. } if pulley == "compressor")),
        "{faults:?}"
    );
}

#[test]
fn a_list_against_the_travel_is_told_by_its_own_fault() {
    let mut drive = demo_drives::seven_rib();
    // The idler drawn out of the belt's reach.
    drive.pulleys[6].centre = Point::new(168.0, -82.0);
    let forward = faults(&drive);
    drive.pulleys.reverse();
    drive.driver = 6;
    if let TakeUp::Spring(t) = &mut drive.take_up {
        t.pulley = 5;
    }
    drive.last_on = Some(2);
    let backward = faults(&drive);
    let Fault::AgainstTheList { faults: own } = &backward[0] else {
        unreachable!("{backward:?}");
    };
    assert_eq!(own, &forward);
    assert!(
        matches!(&forward[0], Fault::WrapVanishes { pulley, .. } if pulley == "idler"),
        "{forward:?}"
    );
}

#[test]
fn a_wrong_side_is_refused() {
    let mut drive = demo_drives::seven_rib();
    // The coolant pump's flat face on the rib side leaves it outside the loop.
    drive.pulleys[3].contact = Side::Rib;
    assert!(!faults(&drive).is_empty());
}

#[test]
fn grooves_on_the_belts_back_are_refused_at_the_door() {
    let mut drive = demo_drives::seven_rib();
    drive.pulleys[4].contact = Side::Back;
    let text = drive::path::solve(&drive).unwrap_err().to_string();
    assert!(
        text.contains("alternator") && text.contains("flat face"),
        "{text}"
    );
}

#[test]
fn all_unusable_values_are_told_at_once() {
    let mut drive = demo_drives::seven_rib();
    drive.pulleys[0].centre = Point::new(f64::NAN, 0.0);
    drive.pulleys[2].rim_diameter_mm = 10.0;
    drive.pulleys[4].id = "crank".to_owned();
    drive.engine.top_rpm = 300.0;
    drive.belt.ribs = 0;
    let faults = drive::path::solve(&drive).unwrap_err().faults;
    assert!(faults.len() >= 5, "{faults:?}");
    assert!(faults.iter().all(|f| matches!(f, Fault::Value { .. })));
}

#[test]
fn a_belt_out_of_the_arms_reach_is_told_with_the_end_it_meets() {
    for (length, word) in [(1990.0, "wound stop"), (2400.0, "slack stop")] {
        let mut drive = demo_drives::seven_rib();
        drive.belt.length_mm = Some(length);
        let text = drive::analyse(&drive, &[]).unwrap_err().to_string();
        assert!(
            text.contains(word) && text.contains(&format!("{length:.3} mm")),
            "{text}"
        );
    }
}

#[test]
fn a_spring_that_pushes_the_wrong_way_is_refused() {
    let mut drive = demo_drives::seven_rib();
    let TakeUp::Spring(t) = &mut drive.take_up else {
        unreachable!("the demo drive has a spring");
    };
    t.spring = Rotation::Clockwise;
    (t.slack_stop_deg, t.wound_stop_deg) = (t.wound_stop_deg, t.slack_stop_deg);
    let faults = drive::analyse(&drive, &[]).unwrap_err();
    assert!(
        matches!(faults.faults[0], Fault::SpringSlackens { rate_mm_per_deg, .. } if rate_mm_per_deg < 0.0),
        "{faults}"
    );
}
