//! Whole calculations: settled peaks, balanced reactions, modes with names, words for what is wrong.

use std::f64::consts::{PI, TAU};

use platewright::feature::Shape;
use platewright::geom::{Path, Point, Point3, Vector3};
use platewright::strength::mesh::MeshOptions;
use platewright::strength::model::{Anchor, Body, LoadCase, Model, Seat, Spacer};
use platewright::strength::places::Kind;
use platewright::strength::{Options, Silent, Stage, StrengthError, StrengthReport, run};

use crate::bracket::{bracket, hole, ring, solved_bracket, solved_set, steel};

/// One pass and one mode: enough where only what is said matters.
fn quick() -> Options {
    Options {
        passes: 1,
        modes: 1,
        ..Options::default()
    }
}

fn quick_report(model: &Model) -> StrengthReport {
    run(model, &quick(), &mut Silent)
        .expect("a sound model")
        .report
}

fn peak(r: &StrengthReport, plate: usize, name: &str) -> f64 {
    r.plates[plate]
        .places
        .iter()
        .find(|p| p.name == name && p.kind == Kind::Edge)
        .expect("a place of that name")
        .von_mises_mpa
}

#[test]
fn a_bracket_settles_balances_and_says_where_it_is_nearest_to_its_limit() {
    let r = &solved_bracket().report;
    assert!(r.is_converged, "{:?}", r.passes);
    assert!(r.passes.len() > 1);
    let last = r.passes.last().expect("a pass");
    assert!(last.peak_change.expect("a second pass") <= r.peak_change_limit);
    for c in &r.cases {
        assert!(c.imbalance < 1e-9, "{}: {:e}", c.case, c.imbalance);
        // What the ground gives is what the four bolt clamps put on the plate.
        for d in 0..3 {
            let sum: f64 = c.clamps[..4].iter().map(|f| f.force_n[d]).sum();
            assert!((sum - c.reaction_n[d]).abs() < 1e-6);
        }
    }
    // The belt's pull and the weight of idler and plate.
    let weight = (1.2 + r.plates[0].mass_kg) * 9.80665;
    assert!((r.cases[0].load_n[1] + 500.0 + weight).abs() < 1e-9);
    let first = &r.plates[0].places[0];
    for p in &r.plates[0].places {
        assert!(p.fatigue_safety >= first.fatigue_safety);
        assert!(p.principal_max_mpa >= p.principal_min_mpa);
        assert!((p.yield_safety * p.von_mises_mpa / 240.0 - 1.0).abs() < 1e-9);
        assert_eq!(p.by_case_mpa.len(), 3);
    }
    assert!(
        r.sharp
            .iter()
            .any(|s| s.kind == Kind::Rim && s.name == "A seat")
    );
    assert!(r.caution.contains("not a certification"));
    // Mass: closed form of the outline less its openings; arcs on second-order edges.
    let exact = bracket().plates[0].plate.properties().mass_kg;
    assert!((r.plates[0].mass_kg / exact - 1.0).abs() < 1e-5);
}

#[test]
fn settled_peaks_agree_with_a_mesh_twice_as_fine_everywhere() {
    let adapted = &solved_bracket().report;
    let options = Options {
        mesh: MeshOptions {
            edge_mm: 5.0,
            edges_per_turn: 40,
            ..MeshOptions::default()
        },
        passes: 1,
        modes: 1,
        ..Options::default()
    };
    let fine = run(&bracket(), &options, &mut Silent)
        .expect("a sound model")
        .report;
    for name in ["window", "outline"] {
        let (a, b) = (peak(adapted, 0, name), peak(&fine, 0, name));
        assert!((a / b - 1.0).abs() < 0.03, "{name}: {a} against {b}");
    }
}

#[test]
fn a_set_of_two_plates_names_what_each_mode_moves() {
    let r = &solved_set().report;
    assert_eq!(r.modes.len(), 10);
    for pair in r.modes.windows(2) {
        assert!(pair[0].hz <= pair[1].hz);
    }
    for m in &r.modes {
        let sum: f64 = m.moves.iter().map(|(_, s)| s).sum();
        assert!(sum > 0.9 && sum < 1.0 + 1e-9, "{sum}");
    }
    assert_eq!(r.modes[0].moves[0].0, "idler");
    for d in 0..3 {
        let sum: f64 = r.modes.iter().map(|m| m.effective_mass[d]).sum();
        assert!(
            sum > 0.5 && sum < 1.0,
            "ten modes carry most of the mass: {sum}"
        );
    }
    // The counterbore's floor is sharp in the drawing, so it is named.
    assert!(
        r.sharp
            .iter()
            .any(|s| s.kind == Kind::Floor && s.name == "bolt A")
    );
    assert_eq!(r.campbell.len(), 20);
    assert_eq!(r.pulleys.len(), 3);
    let shift = &r.pulleys[0];
    assert!(shift.tilt_deg > 0.0 && shift.spans.len() == 1);
    for c in &r.cases {
        assert!(c.imbalance < 1e-9, "{}: {:e}", c.case, c.imbalance);
    }
}

#[test]
fn the_same_set_gives_the_same_bytes() {
    let text = || {
        let s = run(&bracket(), &quick(), &mut Silent).expect("sound");
        serde_json::to_string(&s.report).expect("JSON")
    };
    assert_eq!(text(), text());
}

#[test]
fn stages_come_in_order_in_every_pass() {
    let mut seen: Vec<(usize, Stage)> = Vec::new();
    let options = Options {
        mesh: MeshOptions {
            layers: 1,
            ..MeshOptions::default()
        },
        ..Options::default()
    };
    run(&bracket(), &options, &mut |stage, pass| {
        seen.push((pass, stage));
    })
    .expect("sound");
    let mut sorted = seen.clone();
    sorted.sort();
    assert_eq!(seen, sorted);
    assert_eq!(seen.last().map(|s| s.1), Some(Stage::Judge));
}

fn says(model: &Model, words: &str) {
    let e = run(model, &Options::default(), &mut Silent).expect_err(words);
    assert_eq!(e.to_string(), words);
}

#[test]
fn a_plate_without_a_block_joint_is_said_to_be_free() {
    let mut m = bracket();
    m.clamps.retain(|c| c.tied_to != Anchor::Block);
    says(
        &m,
        "plate `upper` with `idler` is free to move and turn in every direction: add a support",
    );
}

#[test]
fn a_body_that_nothing_holds_is_named() {
    let mut m = bracket();
    m.bodies.push(Body {
        id: "pump".into(),
        mass_kg: 2.0,
        centre: Point3::ORIGIN,
        inertia_kg_mm2: [1.0, 1.0, 1.0, 0.0, 0.0, 0.0],
    });
    says(
        &m,
        "`pump` is free to move and turn in every direction: add a support",
    );
}

#[test]
fn missing_and_double_names_are_told() {
    let mut m = bracket();
    m.clamps[0].plate = "uper".into();
    says(
        &m,
        "clamp `A seat` names plate `uper`, which the model does not have",
    );
    let mut m = bracket();
    m.clamps[1].id = "A seat".into();
    says(
        &m,
        "two clamps are called `A seat`: every one needs its own name",
    );
    let mut m = bracket();
    m.cycles[0].amplitude[0].0 = "topspeed".into();
    says(
        &m,
        "fatigue cycle `belt and shock` names load case `topspeed`, which the model does not have",
    );
}

#[test]
fn numbers_that_cannot_be_used_are_told() {
    let mut m = bracket();
    m.plates[0].material.poisson = 0.5;
    says(
        &m,
        "Poisson's ratio of plate `upper` is 0.5: it must be from 0 to below 0.5",
    );
    let mut m = bracket();
    m.cases[0].weight_factor = Vector3::new(f64::NAN, 0.0, 0.0);
    says(
        &m,
        "weight factor of load case `top speed` is NaN: it must be a finite number",
    );
}

#[test]
fn a_clamp_off_the_plate_or_inside_it_is_told() {
    for (centre, height) in [(Point::new(500.0, 0.0), 0.0), (Point::ORIGIN, 5.0)] {
        let mut m = bracket();
        m.clamps[0] = ring("A seat", "upper", centre, height, Anchor::Block);
        let e = run(&m, &Options::default(), &mut Silent).expect_err("no metal");
        assert!(matches!(e, StrengthError::EmptyClamp { .. }), "{e}");
        assert!(
            e.to_string()
                .starts_with("clamp `A seat` finds no metal of plate `upper`")
        );
    }
}

#[test]
fn openings_that_cross_are_told_by_name() {
    let mut m = bracket();
    m.plates[0]
        .plate
        .features
        .push(hole("drain", Point::new(48.0, 8.0), 12.0));
    let e = run(&m, &Options::default(), &mut Silent).expect_err("crossing");
    let words = e.to_string();
    assert!(
        words.contains("`window`") && words.contains("`drain`") && words.contains("cross near"),
        "{words}"
    );
}

#[test]
fn a_sharp_corner_is_named_with_its_growing_stress() {
    let mut m = bracket();
    if let Shape::Window(p) = &mut m.plates[0].plate.features[3].shape {
        *p = Path::polygon(&[
            Point::new(36.0, 20.0),
            Point::new(58.0, 20.0),
            Point::new(62.0, 55.0),
            Point::new(46.0, 55.0),
        ]);
    }
    let r = quick_report(&m);
    let corners: Vec<_> = r.sharp.iter().filter(|s| s.kind == Kind::Corner).collect();
    assert_eq!(corners.len(), 4, "four corners of the window");
    assert!(corners[0].name.starts_with("window at ("));
}

#[test]
fn a_spacer_with_a_mass_at_its_end_rings_as_the_beam_formula_says() {
    // f = √(3EI/L³m)/2π for a light beam with a point mass; the tube's own mass counts 33/140
    // (Rayleigh), shear through the Timoshenko stiffness: 1 % together.
    let (l, m, d, i) = (150.0_f64, 4.0, 20.0_f64, 11.0_f64);
    let model = Model {
        bodies: vec![Body {
            id: "mass".into(),
            mass_kg: m,
            centre: Point3::new(0.0, 0.0, l),
            inertia_kg_mm2: [1.0, 1.0, 1.0, 0.0, 0.0, 0.0],
        }],
        spacers: vec![Spacer {
            id: "tube".into(),
            from: Anchor::Block,
            to: Anchor::Body("mass".into()),
            start: Point3::ORIGIN,
            end: Point3::new(0.0, 0.0, l),
            outer_mm: d,
            inner_mm: i,
            material: steel(),
        }],
        cases: vec![LoadCase {
            id: "weight".into(),
            forces: Vec::new(),
            weight_factor: Vector3::new(0.0, -1.0, 0.0),
        }],
        ..Model::default()
    };
    let r = run(&model, &Options::default(), &mut Silent)
        .expect("sound")
        .report;
    let inertia = PI / 64.0 * (d.powi(4) - i.powi(4));
    let tube = PI / 4.0 * (d * d - i * i) * l * 7.85e-6;
    let stiffness = 3.0 * 210_000.0 * inertia / l.powi(3);
    let want = (stiffness / ((m + 33.0 / 140.0 * tube) * 1e-3)).sqrt() / TAU;
    assert!(
        (r.modes[0].hz / want - 1.0).abs() < 0.01,
        "{} {want}",
        r.modes[0].hz
    );
    assert!(
        (r.modes[1].hz / r.modes[0].hz - 1.0).abs() < 1e-9,
        "round: twice the same"
    );
    assert!((r.cases[0].reaction_n[1] - (m + tube) * 9.80665).abs() < 1e-6);
}

#[test]
fn a_threaded_hole_holds_by_its_wall() {
    let mut m = bracket();
    m.clamps.drain(2..4);
    m.clamps.push(platewright::strength::model::Clamp {
        id: "B thread".into(),
        plate: "upper".into(),
        seat: Seat::Wall {
            feature: "bolt B".into(),
            from_mm: 0.0,
            to_mm: 12.0,
        },
        tied_to: Anchor::Block,
    });
    let r = quick_report(&m);
    assert!(r.cases[0].imbalance < 1e-9);
    assert!(r.sharp.iter().any(|s| s.name == "B thread"));
}
