//! What a fabricator is told: washers, pushes, spacers, parts to remake, and advice from a symptom.

use platewright::geom::{Frame, Point, Point3, Vector3};
use platewright::shim::{
    BEND_LIMIT_MM, Bolt, Drive, Fault, GAP_SD_MM, Gaps, LEAN_LIMIT_DEG, Mount, Place, Pulley,
    RodReading, SPAN_LIMIT_DEG, STOCK_MM, Span, Symptom, TILT_LIMIT_DEG, Towards, advise, plan,
    words,
};

fn pulley(name: &str, mount: Option<&str>, x: f64, y: f64, rim: f64) -> Pulley {
    Pulley {
        name: name.to_owned(),
        mount: mount.map(str::to_owned),
        centre: Point3::new(x, y, 50.0),
        rim_radius_mm: rim,
        face_mm: 12.0,
        offset_limit_mm: 0.4,
        tilt_limit_deg: TILT_LIMIT_DEG,
    }
}

fn bolt(name: &str, x: f64, y: f64) -> Bolt {
    Bolt {
        name: name.to_owned(),
        at: Point::new(x, y),
        place: Some(Place {
            between: ["plate".to_owned(), "head".to_owned()],
            fitted_mm: Vec::new(),
            inwards: false,
            most_mm: 3.0,
            most_pieces: 3,
            fork: None,
        }),
        spacer_mm: None,
        play_mm: 0.0,
    }
}

/// A crank and a tensioner pulley on a plate with an upper and a lower bolt.
fn drive() -> Drive {
    Drive {
        name: "Forwarder, charging drive".to_owned(),
        reference: "crank".to_owned(),
        pulleys: vec![
            pulley("crank", None, 0.0, 0.0, 80.0),
            pulley("tensioner", Some("tensioner plate"), 0.0, 180.0, 35.0),
        ],
        mounts: vec![Mount {
            name: "tensioner plate".to_owned(),
            on: None,
            seat: Frame::FRONT.raised(10.0),
            bolts: vec![bolt("lower", 0.0, 140.0), bolt("upper", 0.0, 220.0)],
            bend_limit_mm: BEND_LIMIT_MM,
            lean_limit_deg: LEAN_LIMIT_DEG,
        }],
        spans: vec![Span {
            from: "crank".to_owned(),
            to: "tensioner".to_owned(),
            length_mm: 150.0,
            limit_deg: SPAN_LIMIT_DEG,
        }],
        stock_mm: STOCK_MM.to_vec(),
    }
}

fn rims(pulley: &str, near: f64, far: f64) -> RodReading {
    RodReading {
        pulley: pulley.to_owned(),
        gaps: Gaps::Rims {
            near_mm: near,
            far_mm: far,
        },
        direction_deg: None,
        sd_mm: GAP_SD_MM,
    }
}

/// Where pictures and texts go to be looked at, when that is wanted.
fn keep(name: &str, text: &str) {
    if let Ok(dir) = std::env::var("PLATEWRIGHT_PICTURES") {
        std::fs::write(std::path::Path::new(&dir).join(name), text)
            .expect("the folder can be written");
    }
}

#[test]
fn a_pulley_that_looks_down_gets_a_washer_under_its_lower_bolt() {
    // Near rim (the lower one) further back than the far rim: the face looks down.
    let plan = plan(&drive(), &[rims("tensioner", 0.75, 0.30)]).expect("sound");
    assert!(plan.now[1].axis[1] < 0.0 && plan.now[1].looks() == "down");
    let washers = plan.washers.plan.as_ref().expect("a plan");
    assert_eq!(washers.pieces, 1);
    let text = words(&drive(), &plan);
    keep("shim_washer.txt", &text);
    assert!(
        text.contains("under the lower bolt of tensioner plate, between plate and head"),
        "{text}"
    );
    assert!(text.contains("put 0.5 mm"), "{text}");
    assert!(text.contains("expect tensioner"), "{text}");
}

#[test]
fn groove_readings_give_the_stand_of_rim_readings() {
    let grooves = RodReading {
        gaps: Gaps::Grooves {
            count: 6,
            // Rod to the first and the last groove; the rib plane lies 12 mm behind a true face.
            read: vec![
                (1, 12.0 - 2.5 * 3.56 + 0.4, 12.0 - 2.5 * 3.56 + 0.2),
                (6, 12.0 + 2.5 * 3.56 + 0.4, 12.0 + 2.5 * 3.56 + 0.2),
            ],
        },
        ..rims("tensioner", 0.0, 0.0)
    };
    let by_groove = plan(&drive(), &[grooves]).expect("sound").now[1];
    let by_rim = plan(&drive(), &[rims("tensioner", 0.4, 0.2)])
        .expect("sound")
        .now[1];
    assert!(
        (by_groove.offset_mm - by_rim.offset_mm).abs() < 1e-3,
        "{by_groove:?} {by_rim:?}"
    );
    assert!((by_groove.axis[1] - by_rim.axis[1]).abs() < 1e-12);
}

#[test]
fn a_true_drive_needs_nothing() {
    let plan = plan(&drive(), &[rims("tensioner", 0.05, 0.0)]).expect("sound");
    assert!(plan.is_true);
    assert_eq!(plan.washers.plan.as_ref().map(|p| p.pieces), Some(0));
    assert!(words(&drive(), &plan).contains("tighten up"));
}

#[test]
fn play_alone_says_which_way_to_push() {
    let mut d = drive();
    // A plate on the engine's right side: its holes let it slide fore and aft.
    d.mounts[0].seat = Frame::new(
        Point3::new(60.0, 0.0, -20.0),
        Vector3::X,
        Vector3::new(0.0, 0.0, -1.0),
    )
    .expect("a frame");
    for b in &mut d.mounts[0].bolts {
        b.play_mm = 0.8;
        b.at = Point::new(b.at.x + if b.name == "lower" { 0.0 } else { 40.0 }, b.at.y);
    }
    let p = plan(&d, &[rims("tensioner", 0.7, 0.7)]).expect("sound");
    let push = p.push.as_ref().expect("play is enough");
    assert!((push.pushes[0].forward_mm - 0.7).abs() < 0.02, "{push:?}");
    let text = words(&d, &p);
    keep("shim_push.txt", &text);
    assert!(
        text.contains("push tensioner plate 0.70 mm forward, away from the engine"),
        "{text}"
    );
    // Not enough play: no push.
    for b in &mut d.mounts[0].bolts {
        b.play_mm = 0.2;
    }
    assert!(
        plan(&d, &[rims("tensioner", 0.7, 0.7)])
            .expect("sound")
            .push
            .is_none()
    );
}

#[test]
fn a_plate_that_is_too_thick_is_to_be_remade_thinner() {
    let p = plan(&drive(), &[rims("tensioner", -1.2, -1.2)]).expect("sound");
    assert!(p.washers.plan.is_none() && p.washers.is_complete);
    let text = words(&drive(), &p);
    keep("shim_remake.txt", &text);
    assert!(
        text.contains("Bring the seat of tensioner plate 1.20 mm lower"),
        "{text}"
    );
}

#[test]
fn spacers_are_turned_to_the_length_that_lines_up() {
    let mut d = drive();
    for b in &mut d.mounts[0].bolts {
        b.place = None;
        b.spacer_mm = Some(24.0);
    }
    // 0.6 mm too far forward, square.
    let p = plan(&d, &[rims("tensioner", -0.6, -0.6)]).expect("sound");
    let spacers = p.spacers.as_ref().expect("spacers do it");
    for n in &spacers.bolts {
        assert!(
            (n.spacer_mm.expect("a length")[1] - 23.4).abs() < 1e-6,
            "{n:?}"
        );
    }
    let text = words(&d, &p);
    keep("shim_spacers.txt", &text);
    assert!(
        text.contains(
            "Turn the spacer at the lower bolt of tensioner plate to 23.40 mm (now 24.00)"
        ),
        "{text}"
    );
}

#[test]
fn washers_that_would_bend_the_plate_are_not_offered() {
    let mut d = drive();
    d.mounts[0].bolts = vec![
        bolt("lower left", -40.0, 140.0),
        bolt("lower right", 40.0, 140.0),
        bolt("upper right", 40.0, 220.0),
        bolt("upper left", -40.0, 220.0),
    ];
    // The face looks down: both lower bolts have to rise together.
    let p = plan(&d, &[rims("tensioner", 0.75, 0.30)]).expect("sound");
    let washers = p.washers.plan.expect("a plan");
    let mut bolts: Vec<&str> = washers.washers.iter().map(|w| w.bolt.as_str()).collect();
    bolts.sort_unstable();
    assert_eq!(
        bolts,
        ["lower left", "lower right"],
        "one alone would bend the plate"
    );
}

#[test]
fn a_walking_belt_gets_the_sign_from_the_geometry() {
    // The belt comes up from the crank to the tensioner and walks to the front: the front end of the axis leans
    // down, against the belt. A washer at the lower bolt turns the face up.
    let advice =
        advise(&drive(), Symptom::Walks, "tensioner", Some(Towards::Front)).expect("sound");
    assert_eq!(advice.len(), 1);
    assert_eq!(advice[0].remedies[0].bolt, "lower");
    assert!(advice[0].remedies.iter().all(|r| r.bolt != "upper"));
    assert!(advice[0].likely.contains("leans down"), "{advice:?}");
    let both = advise(&drive(), Symptom::Walks, "tensioner", None).expect("sound");
    assert_eq!(both.len(), 2);
    assert_eq!(both[1].remedies[0].bolt, "upper");
    for symptom in [Symptom::Climbs, Symptom::Squeals] {
        let advice = advise(&drive(), symptom, "tensioner", None).expect("sound");
        assert!(
            advice
                .iter()
                .all(|a| !a.likely.is_empty() && a.correction.contains("bolt of tensioner plate"))
        );
    }
}

#[test]
fn faults_name_what_is_wrong() {
    let fault = |d: &Drive, r: &[RodReading]| plan(d, r).expect_err("a fault");
    assert!(matches!(
        fault(&drive(), &[rims("tensoner", 0.0, 0.0)])[0],
        Fault::Unknown { .. }
    ));
    assert!(
        fault(&drive(), &[rims("tensioner", f64::NAN, 0.0)])[0]
            .to_string()
            .contains("gap at tensioner")
    );
    assert!(matches!(
        fault(&drive(), &[rims("tensioner", 45.0, 45.0)])[0],
        Fault::Unlikely { .. }
    ));
    assert!(
        fault(&drive(), &[rims("crank", 0.0, 0.0)])[0]
            .to_string()
            .contains("reference")
    );
    let mut d = drive();
    d.mounts[0].on = Some("tensioner plate".to_owned());
    d.mounts[0].bolts[0].play_mm = -1.0;
    d.pulleys[1].rim_radius_mm = 0.0;
    let all = fault(&d, &[]);
    assert!(all.len() >= 3, "all at once: {all:?}");
    assert!(all.contains(&Fault::Circle("tensioner plate".to_owned())));
    let mut d = drive();
    d.pulleys[0].mount = Some("tensioner plate".to_owned());
    assert!(matches!(&fault(&d, &[])[0], Fault::Reference(name) if name == "crank"));
    assert!(
        advise(&drive(), Symptom::Walks, "crank", None).is_err(),
        "no span runs on to the crank"
    );
}
