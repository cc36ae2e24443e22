//! What is done with a measured pattern: clearance holes, rounding, symmetry.

mod measure_support;

use measure_support::{block_face, simulate};
use platewright::measure::statistics::NormalSequence;
use platewright::measure::{
    ClearanceHole, Datum, Hole, Kind, Network, Options, Pair, Reading, Side, Sight, Survey,
    assembly, assembly_words, snap_to_grid, snap_to_mirror, snapped_words, solve,
};

fn clearance(survey: &Survey, over_mm: f64) -> Vec<ClearanceHole> {
    survey
        .holes
        .iter()
        .map(|h| ClearanceHole {
            hole: h.name.clone(),
            diameter_mm: 10.0 + over_mm,
            bolt_mm: 10.0,
            drilled_sd_mm: 0.0,
        })
        .collect()
}

#[test]
fn wide_clearance_goes_on_and_none_does_not() {
    let survey = solve(&block_face(), Options::default()).expect("sound");
    let wide = assembly(&survey, &clearance(&survey, 1.0)).expect("sound");
    assert!(wide.goes_on && wide.probability > 0.999 && wide.wider_mm == 0.0);
    let tight = assembly(&survey, &clearance(&survey, 0.05)).expect("sound");
    assert!(!tight.goes_on && tight.tightest.is_some());
    // As much wider as it says is enough, a fifth less is not.
    let enough = assembly(&survey, &clearance(&survey, 0.05 + tight.wider_mm)).expect("sound");
    let short = assembly(&survey, &clearance(&survey, 0.05 + 0.8 * tight.wider_mm)).expect("sound");
    assert!(
        enough.goes_on && !short.goes_on,
        "{tight:?} {enough:?} {short:?}"
    );
    assert!(assembly_words(&tight).contains("larger would go on 95 times in 100"));
    assert!(assembly(&survey, &[]).is_err());
    assert!(assembly(&survey, &clearance(&survey, -0.1)).is_err());
}

#[test]
fn two_holes_go_on_as_often_as_their_distance_allows() {
    // With two holes only the distance counts: |Δd| ≤ sum of the radial plays, Δd ~ N(0, 0.1).
    let network = pair_network(0.1);
    let survey = solve(&network, Options::default()).expect("sound");
    let a = assembly(&survey, &clearance(&survey, 0.1)).expect("sound");
    // Radial play 0.05 each, 0.1 together = one standard deviation: 68.27 in 100.
    assert!(
        (a.probability - 0.6827).abs() < 2.5 * a.counting_error / 1.96 + 0.005,
        "{a:?}"
    );
}

fn pair_network(sd: f64) -> Network {
    Network {
        holes: ["A", "B"]
            .iter()
            .map(|n| Hole {
                name: (*n).to_owned(),
                ..Hole::default()
            })
            .collect(),
        readings: vec![
            Reading::new(
                Kind::Centres {
                    a: "A".to_owned(),
                    b: "B".to_owned(),
                },
                100.0,
            )
            .with_sd(sd),
        ],
        ..Network::default()
    }
}

/// All distances between some holes, with noise.
fn full(points: &[(&str, f64, f64)], sd: f64, seed: u64) -> Network {
    let mut s = NormalSequence::new(seed);
    let mut readings = Vec::new();
    for (i, p) in points.iter().enumerate() {
        for q in &points[i + 1..] {
            let d = (p.1 - q.1).hypot(p.2 - q.2) + sd * s.normal();
            readings.push(
                Reading::new(
                    Kind::Centres {
                        a: p.0.to_owned(),
                        b: q.0.to_owned(),
                    },
                    d,
                )
                .with_sd(sd),
            );
        }
    }
    Network {
        holes: points
            .iter()
            .map(|p| Hole {
                name: p.0.to_owned(),
                ..Hole::default()
            })
            .collect(),
        readings,
        datum: Datum {
            pair: Some(Pair::Level(points[0].0.to_owned(), points[1].0.to_owned())),
            ..Datum::default()
        },
        sights: vec![Sight {
            hole: points[2].0.to_owned(),
            side: Side::Above,
            of: points[0].0.to_owned(),
            source: None,
        }],
        ..Network::default()
    }
}

const EVEN: [(&str, f64, f64); 6] = [
    ("A", 0.0, 0.0),
    ("B", 120.0, 0.0),
    ("C", 140.0, 75.0),
    ("D", -20.0, 75.0),
    ("E", 60.0, 110.0),
    ("F", 60.0, 40.0),
];

#[test]
fn round_numbers_are_found_where_they_are_true_and_refused_where_not() {
    let survey = solve(&full(&EVEN, 0.05, 3), Options::default()).expect("sound");
    let snapped = snap_to_grid(&survey, 5.0).expect("a step");
    for (hole, p) in snapped.holes.iter().zip(EVEN) {
        assert!(
            (hole.x_mm - p.1).abs() < 1e-6 && (hole.y_mm - p.2).abs() < 1e-6,
            "{hole:?}"
        );
    }
    assert!(
        snapped.chi_square <= snapped.chi_square_limit && snapped.refused.is_empty(),
        "{}",
        snapped_words(&snapped)
    );
    let mut odd = EVEN;
    odd[2].1 = 141.7;
    let survey = solve(&full(&odd, 0.05, 3), Options::default()).expect("sound");
    let snapped = snap_to_grid(&survey, 5.0).expect("a step");
    assert!(
        snapped.refused.iter().any(|r| r.starts_with("C x")),
        "{}",
        snapped_words(&snapped)
    );
    assert!((snapped.holes[2].x_mm - 141.7).abs() < 0.2);
    let fine = snap_to_grid(&survey, 0.01).expect("a step");
    assert!(
        fine.refused.iter().any(|r| r.contains("says nothing")),
        "{}",
        snapped_words(&fine)
    );
    assert!(snap_to_grid(&survey, f64::NAN).is_err());
}

#[test]
fn a_symmetric_pattern_becomes_exactly_symmetric_and_a_crooked_one_is_refused() {
    let survey = solve(&full(&EVEN, 0.05, 8), Options::default()).expect("sound");
    let s = snap_to_mirror(&survey).expect("symmetric");
    let h = |n: &str| {
        s.holes
            .iter()
            .find(|h| h.name == n)
            .map(|h| [h.x_mm, h.y_mm])
            .expect("listed")
    };
    // The pairs A–B and C–D are parallel and square to the line through E and F.
    let (ab, dc) = (sub(h("B"), h("A")), sub(h("C"), h("D")));
    assert!((ab[0] * dc[1] - ab[1] * dc[0]).abs() / (norm(ab) * norm(dc)) < 1e-7);
    let fe = sub(h("E"), h("F"));
    assert!((fe[0] * ab[0] + fe[1] * ab[1]).abs() / (norm(fe) * norm(ab)) < 1e-7);
    assert!(s.holes.iter().all(|h| h.moved_mm < 0.3));
    let mut odd = EVEN;
    odd[2].1 = 141.0;
    let survey = solve(&full(&odd, 0.05, 8), Options::default()).expect("sound");
    let error = snap_to_mirror(&survey).expect_err("crooked");
    assert!(error.message.contains("symmetr"), "{error}");
    let rough = simulate(5, 7, 5);
    let survey = solve(&rough.network, Options::default()).expect("sound");
    assert!(snap_to_mirror(&survey).is_err());
}

fn sub(a: [f64; 2], b: [f64; 2]) -> [f64; 2] {
    [a[0] - b[0], a[1] - b[1]]
}

fn norm(a: [f64; 2]) -> f64 {
    a[0].hypot(a[1])
}

#[test]
fn square_edges_and_known_holes_define_the_frame() {
    use platewright::measure::{Edge, EdgeTarget};
    let edge = |name: &str, side: Side| Edge {
        name: name.to_owned(),
        holes_lie: side,
        square: true,
        at_mm: Some(-10.0),
        source: None,
    };
    let from = |edge: &str, hole: &str, v: f64| {
        Reading::new(
            Kind::FromEdge {
                edge: edge.to_owned(),
                hole: hole.to_owned(),
                to: EdgeTarget::Centre,
            },
            v,
        )
    };
    let mut n = full(&EVEN[..4], 0.05, 4);
    n.datum = Datum::default();
    n.sights.clear();
    n.edges = vec![edge("sump", Side::Above), edge("left", Side::Right)];
    n.readings.extend([
        from("sump", "A", 10.02),
        from("sump", "C", 84.95),
        from("sump", "D", 85.06),
        from("left", "A", 9.96),
        from("left", "B", 130.05),
    ]);
    let survey = solve(&n, Options::default()).expect("sound");
    for (h, p) in survey.holes.iter().zip(EVEN) {
        assert!((h.x_mm - p.1).hypot(h.y_mm - p.2) < 0.3, "{h:?}");
    }
    // One edge only: x counts from the first hole, and left and right stay open until something tells.
    n.edges.pop();
    n.readings.truncate(n.readings.len() - 2);
    let survey = solve(&n, Options::default()).expect("rigid");
    assert!(
        survey
            .findings
            .iter()
            .any(|f| f.matter == platewright::measure::Matter::Mirror),
        "{:#?}",
        survey.findings
    );
    n.sights.push(Sight {
        hole: "B".to_owned(),
        side: Side::Right,
        of: "A".to_owned(),
        source: None,
    });
    let survey = solve(&n, Options::default()).expect("rigid");
    assert!(
        !survey
            .findings
            .iter()
            .any(|f| f.matter == platewright::measure::Matter::Mirror),
        "{:#?}",
        survey.findings
    );
    assert!((survey.holes[1].x_mm - 120.0).abs() < 0.3);
}
