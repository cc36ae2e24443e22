//! Every row of the independently gathered reference tables against the compiled-in tables.
//!
//! The reference rows (`tests/data/*.csv`) were gathered apart from the
//! program's own, each with its source beside it: ISO 261/724/965-1 and 898-1
//! (threads), ISO 273, ISO 898-1 Table 3, EN 1665 Table 1, ISO 4162, ISO 4762,
//! DIN 974-1, ISO 7089, EN 1993-1-8 Table 3.3, EN 1999-1-1 Table 8.2,
//! AISC 360-16 J3, ISO 2768-1, ISO 9013, EN 10025-2 and material data sheets.

use std::collections::BTreeMap;
use std::path::Path;

use platewright::tables::edge_distance::Quantity;
use platewright::tables::tolerance::{CutTolerances, GeneralTolerances};
use platewright::tables::{
    AiscEdges, Basis, ClearanceHoles, Cuttings, EdgeDistances, Fit, Heads, Lengths, Materials,
    PropertyClasses, Row, Series, Sockets, Table, Threads, Washers,
};

type Record = BTreeMap<String, String>;

fn records(file: &str) -> Vec<Record> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests/data")
        .join(file);
    let mut reader = csv::Reader::from_path(&path).expect("reference table");
    let rows: Vec<Record> = reader
        .deserialize()
        .map(|r| r.expect("reference row"))
        .collect();
    assert!(!rows.is_empty(), "{file} is empty");
    rows
}

fn number(r: &Record, column: &str) -> f64 {
    r[column].parse().expect(column)
}

fn assert_near(got: f64, want: f64, tolerance: f64, what: &str) {
    assert!(
        (got - want).abs() <= tolerance,
        "{what}: {got}, reference {want} ± {tolerance}"
    );
}

#[test]
fn threads_have_the_reference_profile_and_areas() {
    let rows = records("threads.csv");
    assert_eq!(rows.len(), 13);
    for r in rows {
        let name = &r["thread"];
        let t = Threads::standard().thread(name).unwrap();
        assert_near(t.d_mm, number(&r, "d"), 0.0, name);
        assert_near(t.pitch_mm, number(&r, "P"), 0.0, name);
        assert_eq!(
            t.series,
            if r["series"] == "coarse" {
                Series::Coarse
            } else {
                Series::Fine
            }
        );
        assert_near(t.d2_mm(), number(&r, "d2"), 1e-3, name);
        assert_near(t.d1_mm(), number(&r, "D1_d1"), 1e-3, name);
        assert_near(t.d3_mm(), number(&r, "d3"), 1e-3, name);
        let area = number(&r, "As_calc");
        assert_near(t.stress_area_exact_mm2(), area, 1e-3 * area, name);
        assert_near(
            t.stress_area_mm2,
            number(&r, "As_ISO898_rounded"),
            0.0,
            name,
        );
        let root = number(&r, "A_d3");
        assert_near(t.root_area_mm2(), root, 1e-3 * root, name);
        assert_near(t.tap_drill_mm, number(&r, "tap_drill"), 0.0, name);
    }
}

#[test]
fn printed_stress_areas_are_the_formula_to_three_digits() {
    // ISO 898-1:2013 Tables 4 and 6 print As to three digits.
    for t in Threads::standard().rows() {
        let exact = t.stress_area_exact_mm2();
        let digit = 10.0_f64.powf(exact.log10().floor() - 2.0);
        assert_near(t.stress_area_mm2, exact, 0.51 * digit, &t.name);
    }
}

#[test]
fn clearance_holes_are_those_of_iso_273() {
    for r in records("clearance_iso273.csv") {
        let row = ClearanceHoles::standard().get(&r["d"]).unwrap();
        for (fit, column) in [
            (Fit::Fine, "fine"),
            (Fit::Medium, "medium"),
            (Fit::Coarse, "coarse"),
        ] {
            assert_near(row.diameter_mm(fit), number(&r, column), 0.0, &r["d"]);
        }
    }
}

#[test]
fn property_classes_are_those_of_iso_898_1() {
    for r in records("bolt_classes_iso898.csv") {
        let mut parts = r["class"].split(' ');
        let class = parts.next().unwrap();
        let d = if parts.next() == Some("d>16") {
            20.0
        } else {
            12.0
        };
        let row = PropertyClasses::standard().class(class, d).unwrap();
        for (got, column) in [
            (row.rm_nominal_mpa, "Rm_nom"),
            (row.rm_min_mpa, "Rm_min"),
            (row.yield_nominal_mpa, "Rp02_nom"),
            (row.yield_min_mpa, "Rp02_min"),
            (row.proof_mpa, "proof_Sp"),
            (row.elongation_min_percent, "A_min_pct"),
        ] {
            assert_near(got, number(&r, column), 0.0, &r["class"]);
        }
    }
}

#[test]
fn tensile_loads_are_those_iso_898_1_prints() {
    // ISO 898-1 minimum tensile loads, N: rel 3e-3.
    for (thread, class, load) in [
        ("M10", "8.8", 46_400.0),
        ("M10", "10.9", 60_300.0),
        ("M12", "8.8", 67_400.0),
        ("M8", "10.9", 38_100.0),
    ] {
        let t = Threads::standard().thread(thread).unwrap();
        let c = PropertyClasses::standard().class(class, t.d_mm).unwrap();
        assert_near(c.rm_min_mpa * t.stress_area_mm2, load, 3e-3 * load, thread);
    }
}

#[test]
fn flange_bolts_are_those_of_en_1665_and_iso_4162() {
    let rows = records("hex_flange_bolts.csv");
    assert_eq!(rows.len(), 14);
    for r in rows {
        let standard = r["standard"].split(':').next().unwrap();
        let h = Heads::standard().head(standard, &r["d"]).unwrap();
        let name = h.name();
        assert_near(h.drive_mm, number(&r, "s_max"), 0.0, &name);
        assert_near(h.head_dia_mm, number(&r, "dc_max"), 0.0, &name);
        assert_near(h.bearing_dia_mm, number(&r, "dw_min"), 0.0, &name);
        assert_near(h.corners_min_mm.unwrap(), number(&r, "e_min"), 0.0, &name);
        assert_near(h.head_height_mm, number(&r, "k_max"), 0.0, &name);
        assert_near(h.flange_edge_mm.unwrap(), number(&r, "c_min"), 0.0, &name);
    }
}

#[test]
fn hexagon_heads_are_those_of_iso_4014() {
    // s: ISO 4014/4017; k: nominal; dw: grade A minimum, M5 to M16.
    let sizes = ["M5", "M6", "M8", "M10", "M12", "M14", "M16"];
    let s = [8.0, 10.0, 13.0, 16.0, 18.0, 21.0, 24.0];
    let k = [3.5, 4.0, 5.3, 6.4, 7.5, 8.8, 10.0];
    let dw = [6.88, 8.88, 11.63, 14.63, 16.63, 19.64, 22.49];
    for standard in ["ISO 4014", "ISO 4017"] {
        for (i, size) in sizes.iter().enumerate() {
            let h = Heads::standard().head(standard, size).unwrap();
            assert_near(h.drive_mm, s[i], 0.0, size);
            assert_near(h.head_height_mm, k[i], 0.0, size);
            assert_near(h.bearing_dia_mm, dw[i], 0.0, size);
        }
    }
}

#[test]
fn cap_screws_and_counterbores_are_those_of_iso_4762_and_din_974_1() {
    for r in records("socket_cap_iso4762.csv") {
        let h = Heads::standard().head("ISO 4762", &r["d"]).unwrap();
        assert_near(h.head_dia_mm, number(&r, "dk_max"), 0.0, &r["d"]);
        assert_near(h.head_height_mm, number(&r, "k_max"), 0.0, &r["d"]);
        assert_near(h.drive_mm, number(&r, "hex_key"), 0.0, &r["d"]);
        let dia = number(&r, "cbore_dia_DIN974-1_series1");
        assert_near(h.counterbore_dia_mm.unwrap(), dia, 0.0, &r["d"]);
        let depth = number(&r, "cbore_depth_k_plus_Z");
        assert_near(h.counterbore_depth_mm.unwrap(), depth, 0.5, &r["d"]);
    }
}

#[test]
fn washers_are_those_of_iso_7089() {
    for r in records("washers_iso7089.csv") {
        let w = Washers::standard().washer("ISO 7089", &r["d"]).unwrap();
        assert_near(w.inner_mm, number(&r, "d1_min"), 0.0, &r["d"]);
        assert_near(w.outer_mm, number(&r, "d2_max"), 0.0, &r["d"]);
        assert_near(w.thickness_mm, number(&r, "h_nom"), 0.0, &r["d"]);
    }
}

#[test]
fn sockets_have_the_reference_outside_diameters() {
    for r in records("sockets_access.csv") {
        let s = Sockets::standard().get(&r["s_AF"]).unwrap();
        let (ten, twelve) = (
            number(&r, "d1_fit_10mm_drive"),
            number(&r, "d1_fit_12.5mm_drive"),
        );
        assert_near(s.outer_10_drive_mm, ten, 0.0, &r["s_AF"]);
        assert_near(s.outer_12_5_drive_mm, twelve, 0.0, &r["s_AF"]);
    }
}

#[test]
fn edge_rules_are_those_of_the_codes() {
    let rows = records("edge_distance_rules.csv");
    assert_eq!(rows.len(), 12);
    for r in rows {
        let code = r["code"]
            .split([':', ' '])
            .take(2)
            .collect::<Vec<_>>()
            .join(" ");
        let what = r["quantity"].as_str();
        let quantity = if what.contains("e1") {
            Quantity::End
        } else if what.contains("e2") || what == "max edge distance" {
            Quantity::Edge
        } else if what.contains("e3") {
            Quantity::SlotEdge
        } else if what.contains("p1") || what.contains("spacing") {
            Quantity::Pitch
        } else if what.contains("p2") {
            Quantity::Gauge
        } else if what.contains("floor") {
            Quantity::EdgeFloor
        } else {
            panic!("reference quantity `{what}` is not covered");
        };
        let rule = EdgeDistances::standard().rule(&code, quantity).unwrap();
        if !r["min"].is_empty() {
            // The reference prints 2 2/3 as 2.667.
            assert_near(rule.minimum, number(&r, "min"), 4e-4, what);
        }
        let more = r["preferred_or_max"].as_str();
        match more {
            "" => {}
            "max 4t+40 (exposed)" => {
                assert_near(rule.maximum_mm(10.0).unwrap(), 80.0, 1e-12, what);
            }
            "min(12t,150 mm)" => {
                assert_near(rule.maximum_mm(10.0).unwrap(), 120.0, 1e-12, what);
                assert_near(rule.maximum_mm(20.0).unwrap(), 150.0, 1e-12, what);
            }
            m if m.starts_with("max min(14t,200 mm)") => {
                assert_near(rule.maximum_mm(10.0).unwrap(), 140.0, 1e-12, what);
                assert_near(rule.maximum_mm(20.0).unwrap(), 200.0, 1e-12, what);
            }
            m => {
                let preferred: f64 = m.split(' ').next_back().unwrap().parse().unwrap();
                assert_near(rule.preferred.unwrap(), preferred, 0.0, what);
            }
        }
    }
}

#[test]
fn aisc_edge_distances_are_those_of_table_j3_4m() {
    // AISC 360-16 Table J3.4M, mm.
    for (d, edge) in [
        (16.0, 22.0),
        (20.0, 26.0),
        (22.0, 28.0),
        (24.0, 30.0),
        (27.0, 34.0),
        (30.0, 38.0),
        (36.0, 46.0),
    ] {
        assert_near(AiscEdges::standard().minimum_mm(d), edge, 0.0, "J3.4M");
    }
}

#[test]
fn cutting_rules_are_those_of_the_reference() {
    // The reference gives words; its factors of t and ranges are read off here.
    let first = |text: &str| -> Vec<f64> {
        text.split(|c: char| !(c.is_ascii_digit() || c == '.'))
            .filter_map(|w| w.parse().ok())
            .collect()
    };
    let rows = records("cut_feature_rules.csv");
    assert_eq!(rows.len(), 4);
    for r in rows {
        let process = r["process"].split(' ').next_back().unwrap();
        let process = if process.ends_with(')') {
            "laser"
        } else {
            process
        };
        let c = Cuttings::standard().get(process).unwrap();
        let hole = first(&r["min_hole_dia"]);
        assert!(
            hole.contains(&c.hole_t),
            "{process}: hole {} t is not among {hole:?}",
            c.hole_t
        );
        let web = first(&r["min_web_or_edge"]);
        assert!(
            web.contains(&c.web_t) && web.contains(&c.hole_edge_t),
            "{process}"
        );
        assert_eq!(
            first(&r["kerf_mm"]),
            [c.kerf_min_mm, c.kerf_max_mm],
            "{process}"
        );
        if let (Some(low), Some(high)) = (c.tolerance_min_mm, c.tolerance_max_mm) {
            let printed = first(&r["typ_tolerance_mm"]);
            assert!(
                printed.contains(&low) && printed.contains(&high),
                "{process}"
            );
        }
    }
}

#[test]
fn general_tolerances_are_those_of_iso_2768_1() {
    let ranges = [
        ("0.5-3", 2.0),
        ("3-6", 6.0),
        ("6-30", 30.0),
        ("30-120", 100.0),
        ("120-400", 400.0),
        ("400-1000", 999.0),
    ];
    for r in records("iso2768_linear.csv") {
        for (column, size) in ranges {
            let got = GeneralTolerances::standard().deviation_mm(&r["class"], size);
            let want = r[column].parse::<f64>().ok();
            assert_eq!(got, want, "{} {column}", r["class"]);
        }
    }
}

#[test]
fn cut_tolerances_are_those_of_iso_9013() {
    let sizes = [
        ("L<3", 2.0),
        ("L3-10", 3.0),
        ("L10-35", 20.0),
        ("L35-125", 100.0),
        ("L125-315", 200.0),
        ("L315-1000", 500.0),
    ];
    for r in records("iso9013_class1.csv") {
        let t: f64 = r["thickness"]
            .rsplit(['-', '='])
            .next()
            .unwrap()
            .parse()
            .unwrap();
        for (column, size) in sizes {
            let got = CutTolerances::standard().deviation_mm(1, t, size);
            let want = r[column].parse::<f64>().ok();
            assert_eq!(got, want, "t = {t}, {column}");
        }
    }
    // Class 2 (ISO 9013:2017), sizes 3-10 and 315-1000.
    for (t, a, b) in [
        (3.0, 0.6, 0.9),
        (6.0, 0.8, 1.2),
        (8.0, 1.0, 1.5),
        (12.0, 1.8, 2.3),
    ] {
        assert_eq!(CutTolerances::standard().deviation_mm(2, t, 5.0), Some(a));
        assert_eq!(CutTolerances::standard().deviation_mm(2, t, 500.0), Some(b));
    }
}

/// Name, thickness and basis of a reference material row.
fn material_of(title: &str) -> Option<(&'static str, f64, Basis)> {
    let (min, typ) = (Basis::Minimum, Basis::Typical);
    Some(match title {
        "6061-T6/T651" => ("6061-T6", 10.0, typ),
        "6061-T6/T651 (spec min)" => ("6061-T651", 10.0, min),
        "5083-H116/H321" => ("5083-H321", 10.0, typ),
        "5083-O" => ("5083-O", 10.0, typ),
        "5083-O/H111 (spec min, t<=6.3)" => ("5083-H111", 6.3, min),
        "7075-T6/T651" => ("7075-T6", 10.0, typ),
        "S235JR t<=16" => ("S235JR", 16.0, min),
        "S235JR 16<t<=40" => ("S235", 17.0, min),
        "S355J2 t<=16" => ("S355J2", 16.0, min),
        "S355J2 16<t<=40" => ("S355", 40.0, min),
        "ASTM A36 plate" => ("A36", 10.0, min),
        "AISI 304 annealed" => ("1.4301", 10.0, typ),
        _ => return None,
    })
}

#[test]
fn materials_have_the_reference_values() {
    let rows = records("materials.csv");
    assert_eq!(rows.len(), 12);
    for r in rows {
        let title = r["material"].as_str();
        let (name, t, basis) = material_of(title).expect(title);
        let m = Materials::standard()
            .of_basis(name, t, basis)
            .unwrap_or_else(|| panic!("{title} is missing"));
        let cells = [
            ("rho_kg_m3", Some(m.density_kg_m3)),
            ("E_GPa", Some(m.e_gpa)),
            ("nu", Some(m.nu)),
            ("yield_MPa", Some(m.yield_mpa)),
            ("ultimate_MPa", Some(m.ultimate_mpa)),
            ("fatigue_MPa", m.fatigue_mpa),
            ("CTE_1e-6_K", Some(m.cte_1e6_k)),
        ];
        for (column, got) in cells {
            if !r[column].is_empty() {
                assert_eq!(got, Some(number(&r, column)), "{title} {column}");
            }
        }
        if let Some(rule) = r["fatigue_basis"].strip_prefix("0.5 Rm = ") {
            let want: f64 = rule.split(' ').next().unwrap().parse().unwrap();
            assert_eq!(m.fatigue_mpa, Some(want), "{title}");
        }
    }
    // Grey iron, EN 1561: Rm 250, Rp0.1 165-228, E 103-118, bending fatigue 120, CTE 11.7.
    let iron = Materials::standard().material("EN-GJL-250", 60.0).unwrap();
    assert!((103.0..=118.0).contains(&iron.e_gpa) && (165.0..=228.0).contains(&iron.yield_mpa));
    assert_eq!((iron.ultimate_mpa, iron.fatigue_mpa), (250.0, Some(120.0)));
}

#[test]
fn bolt_lengths_are_those_of_iso_888() {
    // ISO 888: preferred lengths up to 200 mm.
    let want = [
        6, 8, 10, 12, 16, 20, 25, 30, 35, 40, 45, 50, 55, 60, 65, 70, 80, 90, 100, 110, 120, 130,
        140, 150, 160, 180, 200,
    ];
    let want: Vec<f64> = want.iter().map(|&l| f64::from(l)).collect();
    assert_eq!(Lengths::standard().preferred_mm(), want);
}

fn sources_of<R: Row>(count: &mut usize) {
    for r in Table::<R>::standard().rows() {
        assert!(r.check().is_ok(), "{} {}", R::KIND, r.name());
        assert!(
            r.source().chars().any(char::is_alphabetic),
            "{} {} names no source",
            R::KIND,
            r.name()
        );
        *count += 1;
    }
}

#[test]
fn every_compiled_row_reads_checks_and_names_its_source() {
    use platewright::tables as t;
    let mut count = 0;
    sources_of::<t::Thread>(&mut count);
    sources_of::<t::ClearanceHole>(&mut count);
    sources_of::<t::PropertyClass>(&mut count);
    sources_of::<t::Head>(&mut count);
    sources_of::<t::Washer>(&mut count);
    sources_of::<t::Nut>(&mut count);
    sources_of::<t::Material>(&mut count);
    sources_of::<t::Cutting>(&mut count);
    sources_of::<t::Engagement>(&mut count);
    sources_of::<t::GapLimit>(&mut count);
    sources_of::<t::Embedding>(&mut count);
    sources_of::<t::socket::Socket>(&mut count);
    sources_of::<t::length::Length>(&mut count);
    sources_of::<t::edge_distance::EdgeDistance>(&mut count);
    sources_of::<t::edge_distance::AiscEdge>(&mut count);
    sources_of::<t::cutting::CutQuality>(&mut count);
    sources_of::<t::friction::Friction>(&mut count);
    sources_of::<t::friction::Interface>(&mut count);
    sources_of::<t::tightening::Tightening>(&mut count);
    sources_of::<t::tolerance::GeneralTolerance>(&mut count);
    sources_of::<t::tolerance::RadiusTolerance>(&mut count);
    sources_of::<t::tolerance::AngleTolerance>(&mut count);
    sources_of::<t::tolerance::CutTolerance>(&mut count);
    assert!(count > 300, "{count} rows");
}
