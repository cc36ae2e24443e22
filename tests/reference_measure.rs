//! Worked adjustments from surveying texts, with the printed values.

use platewright::measure::{Datum, Face, Hole, Kind, Network, Options, Reading, solve};

/// A hole with a known place.
fn known(name: &str, x: f64, y: f64) -> Hole {
    Hole {
        name: name.to_owned(),
        known_mm: Some([x, y]),
        ..Hole::default()
    }
}

fn distance(a: &str, b: &str, value: f64) -> Reading {
    Reading::new(
        Kind::Centres {
            a: a.to_owned(),
            b: b.to_owned(),
        },
        value,
    )
    .with_sd(0.1)
}

/// C. D. Ghilani and P. R. Wolf, Adjustment Computations, chapter 14, example 14.2: station U from three
/// control stations (feet in the book, taken as the unit here).
///
/// Given values as in the book's published worksheet of chapter 14; printed results (adjusted coordinates
/// 6861.32 and 3727.82, residuals −0.04, 0.08 and −0.05 with the book's sign, S0 = 0.10, standard deviations
/// 0.08 and 0.15) from memory of the book.
#[test]
fn ghilani_and_wolf_example_14_2_station_from_three_distances() {
    let network = Network {
        holes: vec![
            known("A", 865.40, 4527.15),
            known("B", 2432.55, 2047.25),
            known("C", 2865.22, 27.15),
            Hole {
                name: "U".to_owned(),
                ..Hole::default()
            },
        ],
        readings: vec![
            distance("A", "U", 6049.00),
            distance("B", "U", 4736.83),
            distance("C", "U", 5446.49),
        ],
        ..Network::default()
    };
    let options = Options {
        achieved_scatter: true,
        ..Options::default()
    };
    let survey = solve(&network, options).expect("the book's network");
    let u = &survey.holes[3];
    assert!((u.x_mm - 6861.32).abs() < 0.005, "{}", u.x_mm);
    assert!((u.y_mm - 3727.82).abs() < 0.005, "{}", u.y_mm);
    for (reading, printed) in survey.readings.iter().zip([-0.04, 0.08, -0.05]) {
        // The book states adjusted less observed, this program observed less adjusted.
        assert!(
            (-reading.residual_mm - printed).abs() < 0.005,
            "{reading:?}"
        );
    }
    // The book's S0 is in the readings' unit; the weights here are 1/0.1².
    assert!((survey.scatter.expect("one to spare") * 0.1 - 0.10).abs() < 0.005);
    assert!((u.sd_x_mm - 0.08).abs() < 0.005, "{}", u.sd_x_mm);
    assert!((u.sd_y_mm - 0.15).abs() < 0.005, "{}", u.sd_y_mm);
}

/// The same book, chapter 12: a level net of seven lines between two bench marks (100.00 and 107.50) and three
/// stations; printed elevations 105.141, 104.483 and 106.188, residuals 0.041, 0.019, −0.062, −0.058, 0.022,
/// −0.017 and 0.005, S0 = 0.050 (from memory of the book). Here the lines are depth-gauge steps.
#[test]
fn ghilani_and_wolf_level_net_of_chapter_12_as_face_heights() {
    let face = |name: &str, z: Option<f64>| Face {
        name: name.to_owned(),
        known_mm: z,
        source: None,
    };
    // From lower to upper the rise is positive.
    let rise = |from: &str, to: &str, value: f64| {
        Reading::new(
            Kind::Step {
                upper: to.to_owned(),
                lower: from.to_owned(),
            },
            value,
        )
        .with_sd(0.05)
    };
    let network = Network {
        holes: vec![known("P", 0.0, 0.0), known("Q", 10.0, 0.0)],
        faces: vec![
            face("X", Some(100.0)),
            face("Y", Some(107.5)),
            face("A", None),
            face("B", None),
            face("C", None),
        ],
        readings: vec![
            rise("X", "A", 5.10),
            rise("A", "Y", 2.34),
            rise("Y", "C", -1.25),
            rise("C", "X", -6.13),
            rise("A", "B", -0.68),
            rise("Y", "B", -3.00),
            rise("B", "C", 1.70),
        ],
        datum: Datum::default(),
        ..Network::default()
    };
    let survey = solve(&network, Options::default()).expect("the book's net");
    let z = |name: &str| {
        survey
            .faces
            .iter()
            .find(|f| f.name == name)
            .expect("listed")
            .z_mm
    };
    assert!((z("A") - 105.141).abs() < 0.0005);
    assert!((z("B") - 104.483).abs() < 0.0005);
    assert!((z("C") - 106.188).abs() < 0.0005);
    let printed = [0.041, 0.019, -0.062, -0.058, 0.022, -0.017, 0.005];
    for (reading, v) in survey.readings.iter().zip(printed) {
        assert!((-reading.residual_mm - v).abs() < 0.0006, "{reading:?}");
    }
    assert!((survey.scatter.expect("four to spare") * 0.05 - 0.050).abs() < 0.0005);
}
