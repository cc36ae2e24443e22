//! Manual take-up, belt choice, slipping-on, tensions and gaps on small drives whose answers are known.

mod demo_drives;

use std::f64::consts::PI;

use platewright::drive::takeup::{self, Slot};
use platewright::drive::tension::{self, Pretension};
use platewright::drive::{self, Drive, Face, Load, ManualTakeUp, Motion, Obstacle, TakeUp, belt};
use platewright::geom::{Path, Point};

/// Two equal pulleys of 100 mm, the second sliding along +x from 250 mm.
fn sliding() -> Drive {
    let mut drive = demo_drives::four_rib();
    drive.pulleys.truncate(2);
    for (p, x) in drive.pulleys.iter_mut().zip([0.0, 250.0]) {
        p.centre = Point::new(x, 0.0);
        p.face = Face::Ribbed {
            effective_diameter_mm: 100.0,
            grooves: 4,
        };
        p.rim_diameter_mm = 106.0;
        p.load = Load::None;
    }
    drive.belt.length_mm = Some(830.0);
    drive.belt.length_tolerance = 0.005;
    drive.belt.life_stretch = 0.01;
    drive.last_on = None;
    drive.take_up = TakeUp::Manual(ManualTakeUp {
        pulley: 1,
        motion: Motion::Slide {
            bolt: Point::new(250.0, 80.0),
            direction_deg: 0.0,
        },
        set_tension_n: 300.0,
        kept: 0.7,
        fitting_mm: 10.0,
        available: None,
    });
    drive
}

#[test]
fn a_slide_between_equal_pulleys_moves_half_the_length_it_takes_up() {
    let range = takeup::range(&sliding()).unwrap().unwrap();
    // L = 2 C + π d, so C = (L − 100 π) / 2.
    let travel = |length: f64| (length - 100.0 * PI) / 2.0 - 250.0;
    let lengths = [
        830.0 * 0.995 - 10.0,
        830.0 * 0.995,
        830.0,
        830.0 * 1.005,
        830.0 * 1.005 * 1.01,
    ];
    for (need, length) in range.needs.iter().zip(lengths) {
        let at = need.position.unwrap().travel;
        assert!((at - travel(length)).abs() < 1e-9, "{} {at}", need.what);
        assert!((need.position.unwrap().take_up_mm - 2.0).abs() < 1e-12);
    }
    let Some(Slot::Straight { from_mm, to_mm }) = range.slot else {
        unreachable!("a slide gives a straight slot");
    };
    assert!((from_mm.x - (250.0 + travel(lengths[0]))).abs() < 1e-9);
    assert!((to_mm.x - (250.0 + travel(lengths[4]))).abs() < 1e-9);
    assert!((from_mm.y - 80.0).abs() < 1e-12 && (to_mm.y - 80.0).abs() < 1e-12);
}

#[test]
fn slipping_over_a_rim_needs_half_a_turn_more_of_its_height() {
    let mut drive = sliding();
    drive.last_on = Some(1);
    let range = takeup::range(&drive).unwrap().unwrap();
    // Two pulleys: on the rim the belt's line stands 3 mm plus the rib depth higher on one of them.
    let lift = 3.0 + drive.belt.section.rib_depth_mm();
    let (big, small) = (50.0 + lift, 50.0);
    let fitting = range.needs[0].position.unwrap();
    let c = fitting.centre_mm.x;
    let over_rim = 2.0 * (c * c - (big - small) * (big - small)).sqrt()
        + PI * (big + small)
        + 2.0 * (big - small) * ((big - small) / c).asin();
    assert!(
        (over_rim - (830.0 * 0.995 - 10.0)).abs() < 1e-8,
        "{over_rim}"
    );
    let slip_on = range.slip_on.unwrap();
    assert!((slip_on.room_mm - 10.0).abs() < 1e-8, "{slip_on:?}");
}

#[test]
fn a_slot_that_exists_is_held_against_the_need() {
    let mut drive = sliding();
    if let TakeUp::Manual(m) = &mut drive.take_up {
        m.available = Some((-2.0, 6.0));
    }
    let analysis = drive::analyse(&drive, &[830.0]).unwrap();
    let verdict = |id: &str| {
        analysis
            .judgements
            .iter()
            .find(|j| j.rule.id == id)
            .unwrap()
            .holds
    };
    let range = analysis.take_up.as_ref().unwrap();
    assert_eq!(verdict("B216"), range.from.unwrap() >= -2.0);
    assert_eq!(verdict("B217"), range.to.unwrap() <= 6.0);
    assert!(!verdict("B217"), "the old belt needs {:?}", range.to);
}

#[test]
fn an_accessory_that_moves_along_the_belts_dead_centre_is_refused() {
    let mut drive = sliding();
    if let TakeUp::Manual(m) = &mut drive.take_up {
        m.motion = Motion::Slide {
            bolt: Point::new(250.0, 80.0),
            direction_deg: 90.0,
        };
    }
    let text = takeup::range(&drive).unwrap_err().to_string();
    assert!(text.contains("takes up no belt"), "{text}");
}

#[test]
fn stocked_lengths_are_sorted_into_fitting_and_not() {
    let drive = demo_drives::seven_rib();
    let choices = belt::choices(&drive, &[2040.0, 2100.0, 2120.0, 2195.0, 3000.0]).unwrap();
    let verdicts: Vec<(f64, bool)> = choices.iter().map(|c| (c.length_mm, c.fits)).collect();
    // 3000 mm is no neighbour of a 2120 mm drive and is not listed.
    assert_eq!(
        verdicts,
        [
            (2040.0, false),
            (2100.0, true),
            (2120.0, true),
            (2195.0, false)
        ]
    );
    for c in &choices {
        assert_eq!(c.fits, c.why_not.is_empty());
    }
}

#[test]
fn a_static_tension_is_kept_in_the_mean_of_the_running_belt() {
    let mut drive = sliding();
    drive.pulleys[1].load = Load::Torque {
        points: vec![(0.0, 6.0)],
    };
    drive.take_up = TakeUp::Fixed {
        set_tension_n: 400.0,
    };
    drive.belt.length_mm = None;
    let path = drive::path::solve(&drive).unwrap();
    let point = tension::at_speed(
        &drive,
        &path,
        Pretension::Static { tension_n: 400.0 },
        2000.0,
        "as set",
    );
    // Equal pulleys: the two spans share the difference evenly about the mean.
    let difference = 6000.0 / 52.0;
    let (tight, slack) = (point.spans_n[1], point.spans_n[0]);
    assert!((tight - slack - difference).abs() < 1e-9);
    assert!((0.5 * (tight + slack) - 400.0).abs() < 1e-9);
    // The hubs feel the tension less its centrifugal part, along the line of centres.
    let hub = point.pulleys[1].hub_load_n;
    let expected = -(tight + slack - 2.0 * point.centrifugal_n);
    assert!((hub.x - expected).abs() < 1e-9 && hub.y.abs() < 1e-9);
    let ratio = (tight - point.centrifugal_n) / (slack - point.centrifugal_n);
    assert!((point.pulleys[0].tension_ratio.unwrap() - ratio).abs() < 1e-12);
    assert!((point.pulleys[0].torque_nm + 6.0).abs() < 1e-9);
}

#[test]
fn the_gap_to_a_post_is_its_distance_less_the_belts_half() {
    let mut drive = sliding();
    drive.take_up = TakeUp::Fixed {
        set_tension_n: 400.0,
    };
    drive.belt.length_mm = None;
    let section = drive.belt.section.clone();
    let post = |id: &str, y: f64, z: (f64, f64)| Obstacle {
        id: id.to_owned(),
        owner: "block".to_owned(),
        outline: Path::circle(Point::new(125.0, y), 6.0),
        z_from_mm: z.0,
        z_to_mm: z.1,
    };
    let z = drive.pulleys[0].rib_plane_z_mm;
    let half = 0.5 * drive.belt.width_mm();
    drive.obstacles = vec![
        post("outside", 80.0, (0.0, 200.0)),
        post("inside", 20.0, (0.0, 200.0)),
        post("behind", 50.0, (0.0, z - half - 7.0)),
        post("through", 50.0, (0.0, 200.0)),
    ];
    let analysis = drive::analyse(&drive, &[]).unwrap();
    let gap = |id: &str| {
        analysis
            .gaps
            .iter()
            .find(|g| g.a == "belt" && g.b == id)
            .unwrap()
            .gap_mm
    };
    assert!((gap("outside") - (80.0 - 6.0 - 50.0 - section.back_offset_mm)).abs() < 1e-9);
    assert!((gap("inside") - (50.0 - section.rib_depth_mm() - 20.0 - 6.0)).abs() < 1e-9);
    assert!((gap("behind") - 7.0).abs() < 1e-9);
    assert!(gap("through") <= 0.0);
    let failing: Vec<&str> = analysis
        .judgements
        .iter()
        .filter(|j| !j.holds && j.rule.id == "B253")
        .map(|j| j.what.as_str())
        .collect();
    assert_eq!(failing.len(), 2, "{failing:?}");
}

#[test]
fn a_weak_spring_slips_at_the_crank_and_says_so() {
    let mut drive = demo_drives::seven_rib();
    if let TakeUp::Spring(t) = &mut drive.take_up {
        t.torque = drive::ArmTorque::Table {
            points: vec![(250.0, 8.0), (310.0, 6.0)],
        };
    }
    let analysis = drive::analyse(&drive, &[2120.0]).unwrap();
    let slip = analysis
        .judgements
        .iter()
        .find(|j| j.rule.id == "B220" && j.what == "crank")
        .unwrap();
    assert!(!slip.holds && slip.measured.unwrap() < 1.0, "{slip:?}");
    assert!(slip.note.contains("end of life"), "{slip:?}");
}

#[test]
fn resonances_are_where_the_spans_frequency_is_the_orders() {
    let drive = demo_drives::seven_rib();
    let analysis = drive::analyse(&drive, &[2120.0]).unwrap();
    let mut seen = 0;
    for span in &analysis.spans {
        for r in &span.resonances {
            assert!(
                (r.frequency_hz - r.order.order * r.crank_rpm / 60.0).abs() < 1e-5,
                "{r:?}"
            );
            assert!(r.crank_rpm >= 800.0 && r.crank_rpm <= 2400.0);
            seen += 1;
        }
        // Two meetings of one order and the speeds between: the sign of the miss tells an odd number apart from an even one.
        let (idle, top) = (span.held.first().unwrap(), span.held.last().unwrap());
        let crossed = (idle.running_hz > idle.firing_hz) != (top.running_hz > top.firing_hz);
        let count = span.resonances.iter().filter(|r| r.order.is_firing).count();
        assert_eq!(crossed, count % 2 == 1, "span {}", span.number);
    }
    assert!(seen > 0);
}
