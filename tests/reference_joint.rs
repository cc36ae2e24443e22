//! Published and independently derived values for bolted joints.
//!
//! `joint_checks.csv`: rows C (torque, strip), D (plate holes), I (Shigley
//! Example 8-7) with their sources; `vdi2230_mu012.csv`: preloads and torques by
//! VDI 2230-1 at µ = 0.12, fine rows also as printed in the public table.

use std::collections::BTreeMap;
use std::path::Path;

use platewright::geom::{Point, Point3, Vector3};
use platewright::joint::Wrench;
use platewright::joint::group::{Group, GroupBolt};
use platewright::joint::hole::{
    PlateHole, Row, Surroundings, alpha_d, bearing_n, bolt_shear_n, bolt_tension_n, k1, punching_n,
    tear_out_n,
};
use platewright::joint::preload::{
    UTILISATION, assembly_preload_n, reusable_preload_n, torque_nm, torque_short_form_nm,
};
use platewright::joint::strip::{
    external_area_per_mm, internal_area_basic_per_mm, internal_area_per_mm, strip,
};
use platewright::tables::{
    ClearanceHoles, Fit, Heads, Materials, PropertyClass, PropertyClasses, Thread, Threads,
};

fn reader(file: &str) -> csv::Reader<std::fs::File> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests/data")
        .join(file);
    csv::Reader::from_path(path).expect("reference table")
}

/// Value and relative tolerance of a check by its id.
fn check(id: &str) -> (f64, f64) {
    for row in reader("joint_checks.csv").deserialize() {
        let row: BTreeMap<String, String> = row.expect("reference row");
        if row["id"] == id {
            let tolerance = row["tolerance"].as_str();
            let relative = if tolerance == "exact" {
                0.0
            } else {
                tolerance
                    .trim_start_matches("rel ")
                    .parse()
                    .expect("tolerance")
            };
            return (row["value"].parse().expect("value"), relative);
        }
    }
    (f64::NAN, 0.0)
}

fn assert_check(id: &str, got: f64) {
    let (want, relative) = check(id);
    assert!(
        (got - want).abs() <= relative * want.abs(),
        "{id}: {got}, reference {want}, rel {relative}"
    );
}

fn thread(name: &str) -> Thread {
    Threads::standard()
        .thread(name)
        .expect("a table row")
        .clone()
}

fn class(name: &str, d: f64) -> PropertyClass {
    PropertyClasses::standard()
        .class(name, d)
        .expect("a table row")
        .clone()
}

#[test]
fn short_torque_and_reusable_preload_match_shigley() {
    assert_check("C1", torque_short_form_nm(0.20, 25_000.0, 10.0));
    let t = thread("M10");
    assert_check(
        "C2",
        reusable_preload_n(class("8.8", 10.0).proof_mpa, t.stress_area_mm2),
    );
}

#[test]
fn strip_areas_and_forces_match_the_handbook_form() {
    let t = thread("M10x1.5");
    assert_check("C3", internal_area_per_mm(&t));
    assert_check("C4", external_area_per_mm(&t));
    assert_check(
        "C5",
        internal_area_basic_per_mm(&t) / (std::f64::consts::PI * t.d_mm),
    );
    let c = class("10.9", 10.0);
    // 6061-T6 typical shear strength 207 MPa (Aluminum Association).
    let r = strip(&t, &c, 1.0, 15.0, 207.0, 3.0);
    assert_check("C6", r.hole_n);
    assert_check("C7", r.break_n);
    assert_check("C8", r.break_n / (r.hole_n / 15.0));
    assert_check("C9", r.break_n / (internal_area_basic_per_mm(&t) * 207.0));
}

#[test]
fn strip_areas_match_the_printed_table_for_m5_to_m16() {
    // Metric stress and shear areas after Bickford, 6H/6g, engagement 1 d: rel 1e-3.
    let sizes = ["M5", "M6", "M8", "M10", "M12", "M14", "M16"];
    let external = [35.366, 51.875, 97.290, 155.80, 227.72, 313.94, 417.55];
    let internal = [49.994, 73.145, 134.63, 214.77, 313.41, 434.47, 569.12];
    for (i, size) in sizes.iter().enumerate() {
        let t = thread(size);
        let (e, n) = (
            external_area_per_mm(&t) * t.d_mm,
            internal_area_per_mm(&t) * t.d_mm,
        );
        assert!((e / external[i] - 1.0).abs() < 1e-3, "{size} external {e}");
        assert!((n / internal[i] - 1.0).abs() < 1e-3, "{size} internal {n}");
    }
}

#[test]
fn preloads_and_torques_match_vdi_2230() {
    let mut rows = 0;
    for row in reader("vdi2230_mu012.csv").deserialize() {
        let row: BTreeMap<String, String> = row.expect("reference row");
        let t = thread(&row["thread"]);
        let head = Heads::standard().head("ISO 4014", &t.size()).unwrap();
        let hole = ClearanceHoles::standard()
            .diameter_mm(t.d_mm, Fit::Medium)
            .unwrap();
        let mean = 0.5 * (head.bearing_dia_mm + hole);
        for c in ["8.8", "10.9", "12.9"] {
            let f = assembly_preload_n(&t, class(c, t.d_mm).yield_min_mpa, UTILISATION, 0.12);
            let m = torque_nm(&t, f, 0.12, 0.12, mean);
            for (got, column, relative) in [
                (f / 1e3, format!("FM_{c}_kN"), 1e-3),
                (m, format!("MA_{c}_Nm"), 1e-3),
                (f / 1e3, format!("pub_FM_{c}"), 1e-2),
                (m, format!("pub_MA_{c}"), 1e-2),
            ] {
                let Some(want) = row.get(&column).and_then(|v| v.parse::<f64>().ok()) else {
                    continue;
                };
                assert!(
                    (got / want - 1.0).abs() <= relative,
                    "{} {column}: {got}, reference {want}",
                    t.name
                );
                rows += 1;
            }
            let k = m / (1e-3 * f * t.d_mm);
            let want: f64 = row["K_equiv"].parse().expect("K");
            assert!((k / want - 1.0).abs() < 1e-3, "{}: K {k}", t.name);
        }
    }
    // 13 threads with 6 values each, 5 printed rows with 4 more.
    assert_eq!(rows, 13 * 6 + 5 * 4);
}

#[test]
fn bearing_shear_tension_punching_match_en_1993_1_8() {
    // M10 8.8, S355 t = 6, d0 = 11, e1 = 20, e2 = 15, p1 = 30, p2 = 30, fu = 470.
    let (t, c) = (thread("M10"), class("8.8", 10.0));
    let around = Surroundings {
        e1_mm: Some(20.0),
        e2_mm: Some(15.0),
        p1_mm: Some(30.0),
        p2_mm: Some(30.0),
    };
    let end = alpha_d(Row::End, 11.0, &around);
    assert_check("D1", end);
    let k = k1(11.0, &around);
    assert_check("D2", k);
    assert_check("D3", bearing_n(k, end, 470.0, 10.0, 6.0));
    let inner = alpha_d(Row::Inner, 11.0, &around);
    assert_check("D4", bearing_n(k, inner, 470.0, 10.0, 6.0));
    assert_check("D5", bolt_shear_n(&t, &c, true));
    assert_check("D6", bolt_tension_n(&t, &c));
    let head = Heads::standard().head("ISO 4014", "M10").unwrap();
    let mean = head.mean_dia_mm();
    assert_check("D7", punching_n(mean, 6.0, 470.0));
    assert_check("D8", tear_out_n(14.5, 10.0, 6.0, 470.0));

    let hole = PlateHole {
        place: "plate A1".to_owned(),
        thread: t,
        class: c,
        hole_mm: 11.0,
        thickness_mm: 6.0,
        ultimate_mpa: 470.0,
        head_mean_mm: mean,
        around,
        threads_in_shear: true,
    };
    let r = hole.resistances();
    assert!(
        (r.bearing_n / check("D3").0 - 1.0).abs() < 1e-6,
        "end governs"
    );
    assert!((r.tear_out_n / check("D8").0 - 1.0).abs() < 1e-9);
    assert!(
        hole.judge(28_000.0, 1_000.0)
            .iter()
            .all(platewright::joint::Judgement::holds)
    );
    assert!(!hole.judge(29_500.0, 1_000.0)[0].holds());
}

#[test]
fn an_eccentric_shear_group_matches_shigley_example_8_7() {
    // Shigley 9e Example 8-7: bolts at (±75, ±60), 16 kN down at x = +425 from the centroid.
    let group = Group {
        bolts: [
            ("A", -75.0, 60.0),
            ("B", 75.0, 60.0),
            ("C", 75.0, -60.0),
            ("D", -75.0, -60.0),
        ]
        .map(|(id, x, y)| GroupBolt {
            id: id.to_owned(),
            at: Point::new(x, y),
            weight: 1.0,
        })
        .to_vec(),
        height_mm: 0.0,
    };
    let loads = group.share(&Wrench {
        force_n: Vector3::new(0.0, -16_000.0, 0.0),
        at: Point3::new(425.0, 0.0, 0.0),
        moment_nm: Vector3::default(),
    });
    for b in &loads.bolts {
        assert_check("I1", b.primary_shear_n);
        assert_check("I2", b.secondary_shear_n);
        assert!(b.axial_n.abs() < 1e-9);
    }
    for near in [1, 2] {
        assert_check("I3", loads.bolts[near].shear_n);
    }
    for far in [0, 3] {
        assert_check("I4", loads.bolts[far].shear_n);
    }
    assert_check(
        "I5",
        loads.bolts[1].shear_n / thread("M16").shank_area_mm2(),
    );
}

#[test]
fn a_spacer_grows_as_its_expansion_says() {
    let m = Materials::standard()
        .material("6061-T6", 12.0)
        .expect("a table row");
    let (want, relative) = check("J4");
    assert!((m.cte_per_k() * 100.0 * 100.0 / want - 1.0).abs() <= relative.max(1e-9));
}
