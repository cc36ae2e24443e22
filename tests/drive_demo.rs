//! The two demo drives hold every rule that refuses a drive, on a stocked belt that can be put on and taken off.

mod demo_drives;

use platewright::drive::tensioner::BeltState;
use platewright::drive::{self, Analysis, Drive, Weight};
use platewright::tables::belt::stocked_lengths_mm;

fn analysed(drive: &Drive) -> Analysis {
    drive::analyse(drive, stocked_lengths_mm("PK")).expect("the drive is sound")
}

fn failing(analysis: &Analysis, weight: Weight) -> Vec<String> {
    analysis
        .judgements
        .iter()
        .filter(|j| !j.holds && j.rule.weight == weight)
        .map(|j| {
            format!(
                "{} {} {}: {:?} against {}",
                j.rule.id, j.rule.title, j.what, j.measured, j.limit
            )
        })
        .collect()
}

#[test]
fn the_seven_rib_drive_holds_every_rule_and_advice() {
    let analysis = analysed(&demo_drives::seven_rib());
    assert_eq!(failing(&analysis, Weight::Must), Vec::<String>::new());
    assert_eq!(failing(&analysis, Weight::Advice), Vec::<String>::new());
    let wrap = |id: &str| {
        analysis
            .path
            .contacts
            .iter()
            .find(|c| c.id == id)
            .unwrap()
            .wrap_deg
    };
    assert!(wrap("crank") >= 150.0);
    assert!(wrap("alternator") >= 120.0 && wrap("compressor") >= 120.0);
    assert!(wrap("steering pump") >= 90.0 && wrap("coolant pump") >= 90.0);
    assert!(analysis.belt.is_stocked);
}

#[test]
fn the_seven_rib_belt_goes_on_over_the_alternator_with_the_arm_wound() {
    let analysis = analysed(&demo_drives::seven_rib());
    let window = analysis.tensioner.unwrap();
    assert!(window.reaches.iter().all(|r| r.arm.is_some()));
    let slip_on = window.slip_on.clone().unwrap();
    assert_eq!(slip_on.over, "alternator");
    assert!(slip_on.room_mm > 20.0, "{slip_on:?}");
    let (short, old) = (
        window.arm(BeltState::Shortest).unwrap(),
        window.arm(BeltState::EndOfLife).unwrap(),
    );
    assert!(short.tension_n > old.tension_n && old.tension_n > 150.0);
}

#[test]
fn the_four_rib_drive_holds_every_rule_and_gets_an_arc_slot() {
    let analysis = analysed(&demo_drives::four_rib());
    assert_eq!(failing(&analysis, Weight::Must), Vec::<String>::new());
    let range = analysis.take_up.unwrap();
    let slot = range.slot.unwrap();
    assert!((10.0..90.0).contains(&slot.track_length_mm()), "{slot:?}");
    let opening = slot.outline(11.0);
    assert!(opening.area() > slot.track_length_mm() * 11.0);
    // Every need lies on the slot's centre line and within its ends.
    for need in &range.needs {
        let bolt = need.position.unwrap().bolt_mm;
        assert!(opening.signed_distance(bolt) > 5.5 - 1e-6, "{}", need.what);
    }
}

#[test]
fn the_analysis_serialises_with_a_number_for_every_measured_value() {
    for drive in [demo_drives::seven_rib(), demo_drives::four_rib()] {
        let analysis = analysed(&drive);
        let json = serde_json::to_value(&analysis).unwrap();
        for judgement in json["judgements"].as_array().unwrap() {
            assert!(judgement["measured"].is_number(), "{judgement}");
            assert!(judgement["id"].as_str().unwrap().starts_with('B'));
        }
        assert!(json["path"]["contacts"][0]["centre_mm"]["x"].is_number());
    }
}

#[test]
fn the_same_drive_gives_the_same_bytes() {
    let text = || serde_json::to_string(&analysed(&demo_drives::seven_rib())).unwrap();
    assert_eq!(text(), text());
}

#[test]
fn listing_the_pulleys_against_the_travel_changes_nothing_but_the_note() {
    let forward = demo_drives::seven_rib();
    let mut backward = forward.clone();
    backward.pulleys.reverse();
    backward.driver = 6;
    backward.last_on = Some(2);
    if let drive::TakeUp::Spring(t) = &mut backward.take_up {
        t.pulley = 5;
    }
    let (a, b) = (analysed(&forward), analysed(&backward));
    assert!(b.path.listed_against_travel && !a.path.listed_against_travel);
    assert!((a.path.effective_length_mm - b.path.effective_length_mm).abs() < 1e-9);
    assert_eq!(a.judgements.len(), b.judgements.len());
    for (x, y) in a.judgements.iter().zip(&b.judgements) {
        assert_eq!((x.rule.id, &x.what, x.holds), (y.rule.id, &y.what, y.holds));
    }
}

#[test]
fn the_report_tells_every_rule_with_its_source() {
    for drive in [demo_drives::seven_rib(), demo_drives::four_rib()] {
        let analysis = analysed(&drive);
        let text = drive::report::write(&analysis);
        if std::env::var("PLATEWRIGHT_PICTURES").is_ok() {
            println!("{text}");
        }
        for judgement in &analysis.judgements {
            assert!(text.contains(judgement.rule.id) && text.contains(judgement.rule.source));
        }
        for contact in &analysis.path.contacts {
            assert!(text.contains(&contact.id));
        }
        assert!(!text.contains("NaN") && !text.contains("inf"));
    }
}
