//! Whole joints by hand calculation: length, preload, temperature, pressure, groups of bolts.
//!
//! Formulas are those of VDI 2230-1 and of a ring seat under even pressure;
//! sizes are table rows.

use platewright::geom::{Frame, Point, Point3, Vector3};
use platewright::joint::group::{Group, GroupBolt};
use platewright::joint::preload::{Assembly, UTILISATION};
use platewright::joint::stack::{End, Layer, LayerKind, Metal, Screw, Stack, TappedHole};
use platewright::joint::{
    Demands, Face, Fastening, RULES, StackError, Wrench, judge_group, purchase_list,
};
use platewright::tables::{
    Embeddings, Engagements, Frictions, Heads, Lengths, Materials, Nuts, PropertyClasses, Threads,
    Tightenings, Washers,
};

fn metal(name: &str, thickness: f64) -> Metal {
    Metal::from(
        Materials::standard()
            .material(name, thickness)
            .expect("a table row"),
    )
}

fn layer(kind: LayerKind, name: &str, thickness_mm: f64, metal: Metal) -> Layer {
    Layer {
        kind,
        name: name.to_owned(),
        thickness_mm,
        sunk_mm: 0.0,
        hole_mm: 11.0,
        outer_mm: 40.0,
        metal,
    }
}

/// M10 flange bolt through a 15 mm 6061 plate into grey iron, 30 mm of thread, 36 mm deep.
fn plate_on_block() -> Fastening {
    let t = Threads::standard()
        .thread("M10")
        .expect("a table row")
        .clone();
    let iron = metal("EN-GJL-250", 60.0);
    Fastening {
        stack: Stack {
            place: "block.A1".to_owned(),
            screw: Screw {
                class: PropertyClasses::standard()
                    .class("8.8", t.d_mm)
                    .expect("a table row")
                    .clone(),
                head: Heads::standard()
                    .head("EN 1665", "M10")
                    .expect("a table row")
                    .clone(),
                thread: t,
                finish: "zinc flake".to_owned(),
            },
            layers: vec![layer(
                LayerKind::Plate,
                "front plate",
                15.0,
                metal("6061-T6", 15.0),
            )],
            engagement: Engagements::standard()
                .rule(iron.group)
                .expect("a table row")
                .clone(),
            end: End::Tapped(TappedHole {
                name: "block.A1".to_owned(),
                metal: iron,
                thread_depth_mm: 30.0,
                floor_mm: Some(36.0),
                mouth_mm: 1.0,
                outer_mm: 60.0,
            }),
            fixed_length_mm: None,
            lengths_mm: Lengths::standard().preferred_mm(),
        },
        assembly: Assembly {
            lubrication: Frictions::standard()
                .get("oiled")
                .expect("a table row")
                .clone(),
            locker: None,
            method: Tightenings::standard()
                .get("torque wrench")
                .expect("a table row")
                .clone(),
            utilisation: UTILISATION,
            fixed_torque_nm: None,
        },
        surface: Embeddings::standard()
            .get("machined")
            .expect("a table row")
            .clone(),
        service_c: vec![-30.0, 110.0],
    }
}

#[test]
fn the_shortest_length_that_engages_is_chosen() {
    // Grip 15, engagement 1.5 d + 1 mm mouth: 31 mm at least; 45 mm at most (30 mm of thread).
    let (r, judgements) = plate_on_block().stack.work_out().expect("a table row");
    assert!((r.length_mm - 35.0).abs() < 1e-12);
    assert!((r.grip_mm - 15.0).abs() < 1e-12);
    assert!((r.engagement_mm - 19.0).abs() < 1e-12);
    assert!((r.carrying_mm - (19.0 - 0.8 * 1.5)).abs() < 1e-12);
    assert!((r.tip_clearance_mm.expect("a table row") - 16.0).abs() < 1e-12);
    assert!((r.shortest_mm - 31.0).abs() < 1e-12 && (r.longest_mm.unwrap() - 45.0).abs() < 1e-12);
    assert!(judgements.iter().all(platewright::joint::Judgement::holds));
}

#[test]
fn a_shallow_hole_fails_with_the_packing_that_would_help() {
    let mut f = plate_on_block();
    if let End::Tapped(h) = &mut f.stack.end {
        h.thread_depth_mm = 18.0;
        h.floor_mm = Some(22.0);
    }
    // 31 to 33 mm: no ISO 888 length; 35 mm fits under 2 to 4 mm of packing.
    let (r, judgements) = f.stack.work_out().unwrap();
    assert!((r.length_mm - 30.0).abs() < 1e-12);
    let (low, high) = r.packing_mm.unwrap();
    assert!((low - 2.0).abs() < 1e-9 && (high - 4.0).abs() < 1e-9);
    let failed: Vec<&str> = judgements
        .iter()
        .filter(|j| !j.holds())
        .map(|j| j.rule)
        .collect();
    assert_eq!(failed, ["J101", "J106"]);
    // A 2.5 mm washer under the head is in the range: it must then pass.
    f.stack.layers.insert(
        0,
        layer(LayerKind::Washer, "washer", 2.5, metal("S355", 2.5)),
    );
    let (r, judgements) = f.stack.work_out().unwrap();
    assert!((r.length_mm - 35.0).abs() < 1e-12);
    assert!(judgements.iter().all(platewright::joint::Judgement::holds));
}

#[test]
fn an_impossible_stack_is_an_error_with_its_number() {
    let mut f = plate_on_block();
    f.stack.layers.push(layer(
        LayerKind::Spacer,
        "spacer",
        -1.25,
        metal("S355", 5.0),
    ));
    let e = f.work_out().unwrap_err();
    assert!(
        matches!(&e, StackError::Overlap { thickness_mm, .. } if (*thickness_mm + 1.25).abs() < 1e-12)
    );
    assert!(e.to_string().contains("-1.250 mm"), "{e}");
    let mut f = plate_on_block();
    f.stack.layers[0].hole_mm = 20.0;
    assert!(matches!(f.work_out(), Err(StackError::NoSeat { .. })));
    let mut f = plate_on_block();
    f.stack.layers[0].hole_mm = 9.5;
    assert!(matches!(f.work_out(), Err(StackError::HoleTooSmall { .. })));
    let mut f = plate_on_block();
    f.stack.layers[0].thickness_mm = 300.0;
    assert!(matches!(f.work_out(), Err(StackError::TooThick { .. })));
}

#[test]
fn an_aluminium_plate_on_an_iron_block_gains_preload_when_hot() {
    let r = plate_on_block().work_out().unwrap();
    // Δl = (23.6 − 11.5)·10⁻⁶·15 mm per kelvin, over both compliances (VDI 2230-1 5.4.2.3).
    let s = &r.settling;
    let per_kelvin = (23.6e-6 - 11.5e-6) * 15.0 / (s.screw_mm_per_n + s.parts_mm_per_n);
    assert!((s.thermal_gain_n / (90.0 * per_kelvin) - 1.0).abs() < 1e-9);
    assert!((s.thermal_loss_n / (50.0 * per_kelvin) - 1.0).abs() < 1e-9);
    assert!(
        s.thermal_gain_n > 1_000.0 && s.thermal_gain_n < 8_000.0,
        "{}",
        s.thermal_gain_n
    );
    // Settlement of one bearing face, one inner face and the thread: 3 + 4.5 + 2.5 µm.
    assert!((s.embedding_um - 10.0).abs() < 1e-9);
    assert!((s.embedding_loss_n * (s.screw_mm_per_n + s.parts_mm_per_n) * 1e3 - 10.0).abs() < 1e-9);
    assert!((0.05..0.5).contains(&s.load_factor), "{}", s.load_factor);
    for j in &r.judgements {
        assert!(
            j.holds(),
            "{} {}: {} against {}",
            j.rule,
            j.what,
            j.measured,
            j.limit
        );
    }
    assert!(
        (r.preload.torque_nm - 52.0).abs() < 5.0,
        "{}",
        r.preload.torque_nm
    );
}

#[test]
fn a_wide_plate_has_the_compliance_of_the_closed_cone() {
    // VDI 2230-1 eq. for one material, tapped joint (w = 2), substitutional cone inside the part:
    // δP = 2·ln[(dW + dh)(dW + w·lK·tanφ − dh) / ((dW − dh)(dW + w·lK·tanφ + dh))] / (w·E·π·dh·tanφ).
    let mut f = plate_on_block();
    f.stack.layers[0].outer_mm = 90.0;
    let r = f.work_out().unwrap();
    let (dw, dh, l, e) = (19.6_f64, 11.0_f64, 15.0_f64, 68_900.0_f64);
    let tan = 0.348 + 0.013 * (l / dw).ln() + 0.193 * (90.0 / dw).ln();
    let wide = dw + 2.0 * l * tan;
    let delta = 2.0 * ((dw + dh) * (wide - dh) / ((dw - dh) * (wide + dh))).ln()
        / (2.0 * e * std::f64::consts::PI * dh * tan);
    assert!((r.settling.parts_mm_per_n / delta - 1.0).abs() < 1e-9);
}

#[test]
fn a_nut_joint_has_the_compliance_of_the_double_cone() {
    // As above with w = 1: two cones that meet in the middle of a 30 mm steel pack.
    let mut f = plate_on_block();
    f.stack.screw.head = Heads::standard().head("ISO 4014", "M10").unwrap().clone();
    f.stack.layers = vec![
        layer(LayerKind::Plate, "one", 12.0, metal("S355", 12.0)),
        layer(LayerKind::Ear, "two", 18.0, metal("S355", 18.0)),
    ];
    for l in &mut f.stack.layers {
        l.outer_mm = 60.0;
    }
    let mut nut = Nuts::standard().nut("ISO 4032", "M10").unwrap().clone();
    nut.bearing_dia_mm = 14.63;
    f.stack.end = End::Nut(nut);
    let r = f.work_out().unwrap();
    let (dw, dh, l, e) = (14.63_f64, 11.0_f64, 30.0_f64, 210_000.0_f64);
    let tan = 0.362 + 0.032 * (0.5 * l / dw).ln() + 0.153 * (60.0 / dw).ln();
    let wide = dw + l * tan;
    let delta = 2.0 * ((dw + dh) * (wide - dh) / ((dw - dh) * (wide + dh))).ln()
        / (e * std::f64::consts::PI * dh * tan);
    assert!((r.settling.parts_mm_per_n / delta - 1.0).abs() < 1e-9);
    assert!(r.strip.is_none());
    // Grip 30, nut 8.4, one pitch: 39.9, so 40 mm.
    assert!((r.stack.length_mm - 40.0).abs() < 1e-12);
}

#[test]
fn a_washer_spreads_the_pressure_on_the_plate() {
    let mut f = plate_on_block();
    f.stack.screw.head = Heads::standard().head("ISO 4017", "M10").unwrap().clone();
    let bare = f.work_out().unwrap();
    let w = Washers::standard().washer("ISO 7089", "M10").unwrap();
    let mut washer = layer(
        LayerKind::Washer,
        "ISO 7089 M10",
        w.thickness_mm,
        metal("S355", 2.0),
    );
    (washer.hole_mm, washer.outer_mm) = (w.inner_mm, w.outer_mm);
    f.stack.layers.insert(0, washer);
    let washed = f.work_out().unwrap();
    let on_plate = |r: &platewright::joint::FasteningReport| {
        r.faces
            .iter()
            .find(|p| p.between.ends_with("on front plate"))
            .unwrap()
            .pressure_mpa
    };
    // Head alone: ring 14.63 / 11.
    let ring = std::f64::consts::PI / 4.0 * (14.63_f64.powi(2) - 121.0);
    let want = bare.settling.greatest_preload_n / ring;
    assert!((on_plate(&bare) / want - 1.0).abs() < 1e-12);
    assert!(on_plate(&washed) < 0.8 * on_plate(&bare));
    let list = purchase_list(&[(&f, &washed), (&f, &washed)]);
    assert_eq!(list.len(), 2);
    assert_eq!(
        (list[0].item.as_str(), list[0].count),
        ("ISO 4017 M10x1.5 x 35 8.8", 2)
    );
    assert_eq!((list[1].item.as_str(), list[1].count), ("ISO 7089 M10", 2));
}

fn four_bolts() -> Group {
    Group {
        bolts: [(0.0, 0.0), (120.0, 0.0), (120.0, 80.0), (0.0, 80.0)]
            .iter()
            .enumerate()
            .map(|(i, &(x, y))| GroupBolt {
                id: format!("A{}", i + 1),
                at: Point::new(x, y),
                weight: 58.0,
            })
            .collect(),
        height_mm: 0.0,
    }
}

fn alternator() -> Demands {
    Demands {
        hubs: vec![Wrench {
            force_n: Vector3::new(600.0, 800.0, 0.0),
            at: Point3::new(60.0, 60.0, 80.0),
            moment_nm: Vector3::default(),
        }],
        torque_reaction_nm: Vector3::new(0.0, 0.0, 12.0),
        mass_kg: 8.0,
        centre: Point3::new(60.0, 60.0, 30.0),
        down: Vector3::new(0.0, -1.0, 0.0),
        shock_g: 10.0,
        shock_source: "common practice, no source".to_owned(),
    }
}

fn face() -> Face {
    Face {
        slip_factor: 0.2,
        slip_source: "EN 1090-2:2018 T.17 class D".to_owned(),
        seat_mm: Some(30.0),
    }
}

#[test]
fn a_sound_bracket_holds_and_a_tenfold_load_does_not() {
    let f = plate_on_block();
    let r = f.work_out().unwrap();
    let joints = [(&f, &r); 4];
    let report = judge_group(
        &four_bolts(),
        &Frame::FRONT,
        &alternator().cases(),
        &face(),
        &joints,
    );
    assert_eq!((report.cases.len(), report.bolts.len()), (7, 4));
    for j in report.bolts.iter().flat_map(|b| &b.judgements) {
        assert!(
            j.holds(),
            "{} at {}: {} against {}",
            j.rule,
            j.place,
            j.measured,
            j.limit
        );
        assert!(
            RULES.iter().any(|(id, _)| *id == j.rule),
            "{} is in no list",
            j.rule
        );
        assert!(!j.source.is_empty() && j.measured.is_finite());
    }
    let mut heavy = alternator();
    heavy.mass_kg *= 10.0;
    heavy.hubs[0].force_n = heavy.hubs[0].force_n * 10.0;
    let report = judge_group(
        &four_bolts(),
        &Frame::FRONT,
        &heavy.cases(),
        &face(),
        &joints,
    );
    let failed: Vec<&str> = report
        .bolts
        .iter()
        .flat_map(|b| &b.judgements)
        .filter(|j| !j.holds())
        .map(|j| j.rule)
        .collect();
    assert!(failed.contains(&"J301"), "{failed:?}");
}

#[test]
fn a_single_bolt_idler_is_judged_on_its_seat() {
    let f = plate_on_block();
    let r = f.work_out().unwrap();
    let group = Group {
        bolts: vec![GroupBolt {
            id: "idler".to_owned(),
            at: Point::ORIGIN,
            weight: 1.0,
        }],
        height_mm: 0.0,
    };
    let idler = |pull: f64| Demands {
        hubs: vec![Wrench {
            force_n: Vector3::new(pull, 0.0, 0.0),
            at: Point3::new(0.0, 0.0, 25.0),
            moment_nm: Vector3::default(),
        }],
        torque_reaction_nm: Vector3::default(),
        mass_kg: 0.5,
        centre: Point3::new(0.0, 0.0, 25.0),
        down: Vector3::new(0.0, -1.0, 0.0),
        shock_g: 10.0,
        shock_source: "common practice, no source".to_owned(),
    };
    let tilt = |pull: f64| {
        let cases = idler(pull).cases();
        let report = judge_group(&group, &Frame::FRONT, &cases[..1], &face(), &[(&f, &r)]);
        let j = report.bolts[0]
            .judgements
            .iter()
            .find(|j| j.rule == "J303")
            .unwrap()
            .clone();
        (j.measured, j.holds())
    };
    // Steady case by hand: M = (pull, weight) at 25 mm; opening at F·(30² + 11²)/(8·30).
    let weight = 0.5 * 9.80665;
    let arm = (30.0_f64.powi(2) + 11.0_f64.powi(2)) / 240.0;
    let want = 25.0 * 400.0_f64.hypot(weight) / (r.settling.least_clamp_n * arm);
    assert!((tilt(400.0).0 / want - 1.0).abs() < 1e-9);
    assert!(tilt(400.0).1 && !tilt(4_000.0).1);
}
