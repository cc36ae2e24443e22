//! Nests: parts keep their gap and margin by our exact distances on random plates, and by shapely on what
//! ezdxf reads from the nested files.
//!
//! The interpreter with both (pinned) is named by the environment variable `PLATEWRIGHT_PYTHON`.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a helper of a test fails it by panicking"
)]

mod samples;

use std::path::Path as FilePath;
use std::process::Command;

use platewright::export::dxf::{Drawing, Entity, Layer, NotCut, Shape, Version};
use platewright::geom::{Path, Point};
use platewright::nest::{self, Limits, Nest, Piece};
use platewright::package::{self, Formats};
use platewright::params::shop::Turns;
use platewright::plate::Plate;
use platewright::project;
use proptest::prelude::*;
use serde_json::{Value, json};

fn pieces(plates: &[Plate], count: usize) -> Vec<Piece> {
    plates
        .iter()
        .map(|p| Piece {
            id: p.id.clone(),
            outline: p.outline.clone(),
            count,
        })
        .collect()
}

fn laid(nest: &Nest) -> usize {
    nest.sheets.iter().map(|s| s.laid.len()).sum()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(16))]

    #[test]
    fn random_plates_keep_gap_and_margin_and_none_is_lost(
        seed in 0_u64..10_000,
        kinds in 1_usize..7,
        count in 1_usize..4,
        gap_mm in 0.5..25.0_f64,
        margin_mm in 0.0..25.0_f64,
        length in 260.0..1200.0_f64,
        width in 200.0..700.0_f64,
        turns in prop_oneof![Just(Turns::Any), Just(Turns::Quarter), Just(Turns::Half), Just(Turns::None)],
    ) {
        let plates: Vec<Plate> = (0..kinds as u64).map(|k| samples::random(seed + k)).collect();
        let pieces = pieces(&plates, count);
        let limits = Limits { gap_mm, margin_mm, turns };
        let sizes = [(length.max(width), length.min(width))];
        let nest = nest::pack(&pieces, &sizes, &limits);
        prop_assert_eq!(nest::faults(&nest, &limits), Vec::<String>::new());
        prop_assert_eq!(laid(&nest) + nest.left.len() * count, pieces.len() * count);
        for &k in &nest.left {
            // Left over only where no allowed turn of its box goes inside the margin.
            let usable = (sizes[0].0 - 2.0 * margin_mm, sizes[0].1 - 2.0 * margin_mm);
            let (w, h) = nest::best_box(&pieces[k].outline, turns, usable);
            prop_assert!(w > usable.0 - 0.01 || h > usable.1 - 0.01, "{w} x {h} in {usable:?}");
        }
        for l in nest.sheets.iter().flat_map(|s| &s.laid) {
            let own = nest::turned(&pieces[l.piece].outline, l.turn_deg).moved(l.at);
            prop_assert_eq!(&own, &l.outline);
            prop_assert!(nest::turns_deg(turns, &pieces[l.piece].outline).contains(&l.turn_deg));
        }
        prop_assert_eq!(&nest::pack(&pieces, &sizes, &limits), &nest);
    }
}

#[test]
fn rectangles_that_tile_a_sheet_fill_it() {
    let at = Point::new;
    let tile = Path::polygon(&[at(0.0, 0.0), at(90.0, 0.0), at(90.0, 40.0), at(0.0, 40.0)]);
    let piece = |count| Piece {
        id: "tile".to_owned(),
        outline: tile.clone(),
        count,
    };
    let limits = Limits {
        gap_mm: 10.0,
        margin_mm: 10.0,
        turns: Turns::Quarter,
    };
    // Nine across, (980 + 10) / (90 + 10), and four up, (200 + 10) / (40 + 10).
    let nest = nest::pack(&[piece(36)], &[(1000.0, 220.0)], &limits);
    assert_eq!(
        nest.sheets.len(),
        1,
        "{:?}",
        nest.sheets.iter().map(|s| s.laid.len()).collect::<Vec<_>>()
    );
    assert!(nest::faults(&nest, &limits).is_empty());
}

#[test]
fn the_sheet_size_with_the_least_area_is_taken() {
    let disc = Piece {
        id: "disc".to_owned(),
        outline: Path::circle(Point::ORIGIN, 60.0),
        count: 2,
    };
    let limits = Limits {
        gap_mm: 5.0,
        margin_mm: 5.0,
        turns: Turns::Any,
    };
    let nest = nest::pack(
        &[disc],
        &[(2000.0, 1000.0), (300.0, 200.0), (200.0, 200.0)],
        &limits,
    );
    assert_eq!(nest.sheets.len(), 1);
    assert_eq!(nest.sheets[0].size_mm, (300.0, 200.0));
}

/// Random plates on sheets as files, with what each must show.
fn random_files(folder: &FilePath) -> Vec<Value> {
    let mut cases = Vec::new();
    for round in 0..6_u64 {
        let plates: Vec<Plate> = (0..6).map(|k| samples::random(50 * round + k)).collect();
        let limits = Limits {
            gap_mm: 6.0 + round as f64,
            margin_mm: 8.0,
            turns: [Turns::Any, Turns::Quarter, Turns::Half][(round % 3) as usize],
        };
        let size = (1500.0, 1000.0);
        let nest = nest::pack(&pieces(&plates, 2), &[size], &limits);
        for (n, sheet) in nest.sheets.iter().enumerate() {
            let mut drawing = Drawing::default();
            let (w, h) = sheet.size_mm;
            let corners = [(0.0, 0.0), (w, 0.0), (w, h), (0.0, h)];
            drawing.push(Entity {
                layer: Layer::SHEET,
                shape: Shape::Loop(Path::polygon(&corners.map(|(x, y)| Point::new(x, y)))),
            });
            let mut areas = Vec::new();
            for l in &sheet.laid {
                let plate = &plates[l.piece];
                areas.push(plate.outline.area());
                let single = Drawing::of_plate(plate, &NotCut::new()).unwrap();
                drawing.append(single.without_texts().placed(l.turn_deg.to_radians(), l.at));
            }
            let name = format!("random-{round}-{n}.dxf");
            let bytes = drawing.in_layer_order().to_bytes(Version::R2000).unwrap();
            std::fs::write(folder.join(&name), bytes).unwrap();
            cases.push(json!({
                "file": folder.join(&name), "gap": limits.gap_mm, "margin": limits.margin_mm,
                "size": [w, h], "areas": areas,
            }));
        }
    }
    cases
}

/// Nested files of a demo job for several sets, with what the list says of them.
fn demo_files(folder: &FilePath, job: &str, sets: u32, process: Option<&str>) -> Vec<Value> {
    let path = format!("params/jobs/{job}.toml");
    let mut loaded = platewright::params::open(FilePath::new(&path), &project::disk())
        .unwrap_or_else(|_| panic!("{job} opens"));
    loaded.job.sets = sets;
    for plate in &mut loaded.job.plates {
        plate.process = process.map(str::to_owned);
    }
    let project = project::build(loaded, None).unwrap_or_else(|_| panic!("{job} builds"));
    let files = package::files(&project, None, Formats::default()).unwrap();
    let csv_of = |name: &str| {
        let file = files.iter().find(|f| f.name == name).unwrap();
        let mut reader = csv::Reader::from_reader(&file.bytes[..]);
        let head = reader.headers().unwrap().clone();
        reader
            .records()
            .map(|r| {
                let r = r.unwrap();
                head.iter()
                    .map(str::to_owned)
                    .zip(r.iter().map(str::to_owned))
                    .collect::<std::collections::BTreeMap<_, _>>()
            })
            .collect::<Vec<_>>()
    };
    let places = csv_of("nest/places.csv");
    let per_set: u32 = project.plates.iter().map(|m| m.quantity).sum();
    assert_eq!(places.len(), (sets * per_set) as usize);
    let number = |text: &str| text.parse::<f64>().unwrap();
    csv_of("nest/sheets.csv")
        .iter()
        .map(|row| {
            let name = &row["sheet"];
            let shop = project.loaded.shop.processes.iter();
            let process = shop.clone().find(|p| p.id == row["process"]).unwrap();
            let bytes = &files
                .iter()
                .find(|f| f.name == format!("nest/{name}.dxf"))
                .unwrap()
                .bytes;
            let file = folder.join(format!("{job}-{name}.dxf"));
            std::fs::write(&file, bytes).unwrap();
            let areas: Vec<f64> = places
                .iter()
                .filter(|p| p["sheet"] == *name)
                .map(|p| {
                    let made = project.plates.iter().find(|m| m.plate.id == p["plate"]);
                    made.unwrap().plate.outline.area()
                })
                .collect();
            json!({
                "file": file, "gap": process.part_gap_mm, "margin": process.edge_margin_mm,
                "size": [number(&row["length_mm"]), number(&row["width_mm"])], "areas": areas,
                "cut": number(&row["cut_mm"]), "pierces": number(&row["pierces"]),
                "covered": number(&row["covered_percent"]), "drilled": process.machines,
            })
        })
        .collect()
}

#[test]
fn shapely_finds_gap_margin_and_cut_length_in_the_nested_files() {
    let folder = tempfile::tempdir().unwrap();
    let mut cases = random_files(folder.path());
    assert!(cases.len() >= 6);
    cases.extend(demo_files(folder.path(), "forwarder", 3, None));
    cases.extend(demo_files(
        folder.path(),
        "forwarder-fleet",
        1,
        Some("waterjet"),
    ));
    cases.extend(demo_files(folder.path(), "auxiliary", 5, Some("laser")));
    let list = folder.path().join("cases.json");
    std::fs::write(&list, serde_json::to_vec(&cases).unwrap()).unwrap();
    let python = std::env::var("PLATEWRIGHT_PYTHON")
        .expect("PLATEWRIGHT_PYTHON names an interpreter with ezdxf and shapely");
    let out = Command::new(python)
        .args(["tests/python/check_nest.py".as_ref(), list.as_os_str()])
        .output()
        .unwrap();
    let said = String::from_utf8_lossy(&out.stdout).into_owned();
    assert!(
        out.status.success() && said.contains(&format!("{} sheets without fault", cases.len())),
        "{said}{}",
        String::from_utf8_lossy(&out.stderr)
    );
}

#[test]
fn a_plate_larger_than_every_sheet_is_refused_with_numbers() {
    let path = FilePath::new("params/jobs/forwarder.toml");
    let mut loaded =
        platewright::params::open(path, &project::disk()).unwrap_or_else(|_| panic!("opens"));
    for stock in loaded.stocks.values_mut() {
        stock.sheet_mm = Some((200.0, 150.0));
        stock.further_sheets_mm.clear();
    }
    let project = project::build(loaded, None).unwrap_or_else(|_| panic!("builds"));
    let fails: Vec<String> = project
        .findings
        .iter()
        .filter(|f| f.rule == "G303" && f.blocks())
        .map(|f| format!("{} {} {:.1} > {:.1}", f.on, f.what, f.measured, f.limit))
        .collect();
    // 200 x 150 less 15 mm all round; the steering plate is 261.8 x 171.0.
    assert!(
        fails.contains(&"steering length on the sheet 261.8 > 170.0".to_owned())
            && fails.contains(&"steering width on the sheet 171.0 > 120.0".to_owned()),
        "{fails:?}"
    );
    let files = package::files(&project, None, Formats::default()).unwrap();
    let sheets = files.iter().find(|f| f.name == "nest/sheets.csv").unwrap();
    let text = String::from_utf8_lossy(&sheets.bytes);
    assert!(
        text.contains("plate steering of 261.8 x 171.0 mm fits on no sheet"),
        "{text}"
    );
}
