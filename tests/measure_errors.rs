//! Bad readings get an error that names the reading.

mod measure_support;

use measure_support::{block_face, simulate};
use platewright::measure::{
    Edge, Finding, Hole, Kind, Matter, Network, Options, Pair, Reading, Severity, Side, Sight,
    Verdict, solve,
};

fn errors(network: &Network) -> Vec<Finding> {
    solve(network, Options::default()).expect_err("an unusable network")
}

fn error(network: &Network, matter: Matter) -> Finding {
    let all = errors(network);
    all.iter()
        .find(|f| f.matter == matter && f.severity == Severity::Error)
        .cloned()
        .expect("an error of that matter")
}

fn plain(names: &[&str], readings: &[(&str, &str, f64)]) -> Network {
    Network {
        holes: names
            .iter()
            .map(|n| Hole {
                name: (*n).to_owned(),
                ..Hole::default()
            })
            .collect(),
        readings: readings
            .iter()
            .enumerate()
            .map(|(i, (a, b, v))| Reading {
                source: Some(i),
                ..Reading::new(
                    Kind::Centres {
                        a: (*a).to_owned(),
                        b: (*b).to_owned(),
                    },
                    *v,
                )
            })
            .collect(),
        ..Network::default()
    }
}

#[test]
fn an_impossible_triangle_names_its_three_readings() {
    let f = error(
        &plain(
            &["A", "B", "C"],
            &[("A", "B", 50.0), ("B", "C", 40.0), ("A", "C", 120.0)],
        ),
        Matter::ImpossibleTriangle,
    );
    for name in ["A–B", "B–C", "A–C"] {
        assert!(f.message.contains(name), "{f}");
    }
    assert_eq!(f.sources.len(), 3);
}

#[test]
fn the_one_reading_that_breaks_several_triangles_is_named_alone() {
    let mut network = block_face();
    network.readings[5].value_mm += 150.0;
    let f = error(&network, Matter::ImpossibleTriangle);
    assert!(f.message.starts_with("reading 6 (A1–A8 over, pins)"), "{f}");
    assert_eq!(f.sources, [network.readings[5].source.expect("given")]);
    assert!(
        f.help.expect("help").contains("110."),
        "the value that would fit"
    );
}

#[test]
fn a_hole_named_twice_is_an_error() {
    let f = error(
        &plain(&["A", "B", "A"], &[("A", "B", 50.0)]),
        Matter::NamedTwice,
    );
    assert!(f.message.contains("hole A is named twice"), "{f}");
    let f = error(&plain(&["A", "B"], &[("A", "A", 50.0)]), Matter::NamedTwice);
    assert!(
        f.message
            .contains("reading 1 (A–A centres) goes from A to itself"),
        "{f}"
    );
}

#[test]
fn an_unknown_hole_gets_the_nearest_name() {
    let f = error(
        &plain(&["left", "right"], &[("left", "rihgt", 50.0)]),
        Matter::UnknownName,
    );
    assert!(f.message.contains("reading 1"), "{f}");
    assert_eq!(f.help.as_deref(), Some("did you mean right?"));
}

#[test]
fn numbers_that_are_none_name_their_reading() {
    for bad in [f64::NAN, f64::INFINITY, -3.0, 0.0] {
        let f = error(&plain(&["A", "B"], &[("A", "B", bad)]), Matter::BadNumber);
        assert!(f.message.contains("reading 1 (A–B centres)"), "{f}");
    }
    let mut network = block_face();
    network.readings[3].sd_mm = Some(f64::NAN);
    network.readings[7].value_mm = f64::NAN;
    network.holes[0].bore = Some(platewright::measure::Size {
        diameter_mm: -1.0,
        sd_mm: 0.1,
    });
    let all = errors(&network);
    assert_eq!(
        all.iter().filter(|f| f.matter == Matter::BadNumber).count(),
        3,
        "all at once: {all:#?}"
    );
}

#[test]
fn too_few_readings_name_what_moves_and_the_best_one_to_add() {
    // A square of four sides is a hinge; either diagonal fixes it.
    let f = error(
        &plain(
            &["A", "B", "C", "D"],
            &[
                ("A", "B", 100.0),
                ("B", "C", 101.0),
                ("C", "D", 100.0),
                ("D", "A", 99.0),
            ],
        ),
        Matter::Hinge,
    );
    assert!(
        f.message
            .contains("hole C and hole D can still move: 1 more reading is needed"),
        "{f}"
    );
    let help = f.help.expect("help");
    assert!(
        help.contains("A–C centres") || help.contains("B–D centres"),
        "{help}"
    );
    let f = error(
        &plain(&["A", "B", "C"], &[("A", "B", 100.0)]),
        Matter::TooFew,
    );
    assert!(f.message.contains("no reading reaches hole C"), "{f}");
    let f = error(&plain(&["A"], &[]), Matter::TooFew);
    assert!(
        f.message.contains("two holes at least") || f.message.contains("no reading reaches"),
        "{f}"
    );
}

#[test]
fn the_reading_said_to_fix_a_hinge_does_fix_it() {
    let mut flat = 0;
    for seed in 0..40 {
        let mut s = simulate(9000 + seed, 6 + (seed % 4) as usize, 2);
        for _ in 0..40 {
            let Err(findings) = solve(&s.network, Options::default()) else {
                break;
            };
            let Some(f) = findings.iter().find(|f| f.matter == Matter::Hinge) else {
                break;
            };
            let help = f.help.clone().expect("help");
            let first = help
                .split(": ")
                .nth(1)
                .expect("a reading")
                .split([';', ' '])
                .next()
                .expect("a pair")
                .to_owned();
            let (a, b) = first.split_once('–').expect("two holes");
            let place = |n: &str| {
                s.network
                    .holes
                    .iter()
                    .position(|h| h.name == n)
                    .expect("listed")
            };
            let (p, q) = (s.truth[place(a)], s.truth[place(b)]);
            let before = movers(f);
            s.network.readings.push(Reading::new(
                Kind::Centres {
                    a: a.to_owned(),
                    b: b.to_owned(),
                },
                (p[0] - q[0]).hypot(p[1] - q[1]),
            ));
            let after = match solve(&s.network, Options::default()) {
                Ok(_) => 0,
                Err(f) => f
                    .iter()
                    .find(|f| f.matter == Matter::Hinge)
                    .map_or(0, movers),
            };
            if after != before - 1 {
                println!("seed {seed}: {f}");
                flat += 1;
            }
        }
    }
    // Seed 33: the three holes the new reading closes happen to lie on a line within 1 in 100, and the noise of
    // the readings leaves that triangle flat. No one could know before the reading was taken.
    assert!(flat <= 1, "{flat} proposals did not fix anything");
}

/// How many readings a hinge finding asks for.
fn movers(f: &Finding) -> usize {
    let tail = f.message.split("can still move: ").nth(1).expect("a count");
    tail.split(' ')
        .next()
        .expect("a count")
        .parse()
        .expect("a number")
}

#[test]
fn a_triangle_that_can_flip_is_told_with_the_reading_that_decides() {
    let network = plain(
        &["A", "B", "C", "D"],
        &[
            ("A", "B", 100.0),
            ("A", "C", 80.0),
            ("B", "C", 70.0),
            ("A", "D", 60.0),
            ("B", "D", 90.0),
        ],
    );
    let survey = solve(&network, Options::default()).expect("rigid");
    let mirrors: Vec<_> = survey
        .findings
        .iter()
        .filter(|f| f.matter == Matter::Mirror)
        .collect();
    assert!(
        mirrors
            .iter()
            .any(|f| f.message.contains("mirror image in the line A–B")),
        "{mirrors:#?}"
    );
    assert!(
        mirrors
            .iter()
            .any(|f| f.help.as_ref().is_some_and(|h| h.contains("C–D centres"))),
        "{mirrors:#?}"
    );
    // One look and one reading settle it.
    let mut settled = network.clone();
    settled.sights.push(Sight {
        hole: "C".to_owned(),
        side: Side::Above,
        of: "A".to_owned(),
        source: None,
    });
    // C = (57.5, 55.62), D = (27.5, 53.33): both above the line
    let d = (57.5_f64 - 27.5).hypot(55.621_488 - 53.327_292);
    settled
        .readings
        .push(plain(&["C", "D"], &[("C", "D", d)]).readings.remove(0));
    let survey = solve(&settled, Options::default()).expect("rigid");
    assert!(
        !survey.findings.iter().any(|f| f.matter == Matter::Mirror),
        "{:#?}",
        survey.findings
    );
    assert!(
        (survey.holes[2].y_mm - 55.621).abs() < 0.01
            && (survey.holes[3].y_mm - 53.327).abs() < 0.01
    );
}

#[test]
fn an_inch_taken_for_a_millimetre_is_pointed_out() {
    // Far too short: the pins alone need more.
    let mut network = block_face();
    network.readings[5].value_mm = 4.357;
    let f = error(&network, Matter::InchSlip);
    assert!(f.message.contains("reading 6 (A1–A8 over, pins)"), "{f}");
    assert!(f.help.expect("help").contains("inches were taken for mm"));
    // Far too long.
    let mut network = block_face();
    network.readings[8].value_mm *= 25.4;
    let f = error(&network, Matter::InchSlip);
    assert!(f.message.contains("reading 9 (A2–A8 same side)"), "{f}");
    assert!(f.help.expect("help").contains("check the unit"));
}

#[test]
fn an_inch_slip_that_breaks_no_triangle_is_a_doubtful_reading_with_its_reason() {
    let mut network = block_face();
    // The depth of the pad: 4.52 mm, written as if inches.
    network.readings[25].value_mm *= 25.4;
    let survey = solve(&network, Options::default()).expect("still rigid");
    let f = survey
        .findings
        .iter()
        .find(|f| f.matter == Matter::InchSlip)
        .expect("pointed out");
    assert!(f.message.contains("reading 26 (pad down to deck)"), "{f}");
    assert!(matches!(
        survey.readings[25].verdict,
        Verdict::Doubtful {
            inch_slip: true,
            ..
        } | Verdict::Suspect
    ));
}

#[test]
fn a_frame_defined_twice_is_refused() {
    let mut network = plain(
        &["A", "B", "C"],
        &[("A", "B", 100.0), ("A", "C", 80.0), ("B", "C", 70.0)],
    );
    network.datum.pair = Some(Pair::Level("A".to_owned(), "B".to_owned()));
    network.edges.push(Edge {
        name: "sump".to_owned(),
        holes_lie: Side::Above,
        square: true,
        at_mm: Some(0.0),
        source: None,
    });
    let f = error(&network, Matter::Datum);
    assert!(f.message.contains("defined twice"), "{f}");
}

#[test]
fn random_rubbish_never_panics() {
    let mut s = platewright::measure::statistics::NormalSequence::new(77);
    for round in 0..300 {
        let mut network = block_face();
        for _ in 0..=round % 5 {
            let i = (s.uniform() * network.readings.len() as f64) as usize;
            let values = [
                0.0,
                -1.0,
                f64::NAN,
                1e300,
                1e-300,
                f64::INFINITY,
                3.7,
                25.4 * 80.0,
            ];
            network.readings[i].value_mm = values[(s.uniform() * 8.0) as usize];
            if s.uniform() < 0.3 {
                network.readings.remove(i);
            }
            if s.uniform() < 0.2 {
                network.holes.pop();
            }
        }
        let _ = solve(&network, Options::default());
    }
}
