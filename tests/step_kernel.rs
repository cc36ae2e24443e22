//! STEP files read back with an independent kernel: valid, exact, named, coloured, placed.
//!
//! The kernel runs in Python (`tests/python/check_step.py`, cadquery-ocp
//! 8.0.1.1.0) under the interpreter that `PLATEWRIGHT_PYTHON` names.

#![allow(clippy::panic, reason = "a test says what is wrong by panicking")]

use std::fs;
use std::path::Path;
use std::process::Command;

use platewright::export::step::{Assembly, Colour, Header, Part, Placement, Schema, part};
use platewright::feature::Depth;
use platewright::geom::{Extents, Frame, Path as Loop, Point, Point3, Vector3};
use platewright::solid::{Body, cylinder, from_plate, prism, tube};
use serde_json::{Value, json};

#[allow(dead_code, reason = "the bench uses the rest")]
#[path = "support/plates.rs"]
mod plates;

#[allow(dead_code, reason = "other tests use the rest")]
#[path = "support/samples.rs"]
mod samples;

use samples::{Expected, Sample, careless, gallery, random};

fn header(schema: Schema) -> Header<'static> {
    Header {
        file_name: "part.step",
        time_stamp: "2026-01-31T08:00:00",
        author: "",
        organization: "",
        schema,
    }
}

fn part_of(body: &Body, colour: Colour) -> Part<'_> {
    Part {
        id: body.name(),
        description: "",
        body,
        colour,
    }
}

/// The interpreter with a script of `tests/python`.
fn python(script: &str) -> Command {
    let interpreter = std::env::var_os("PLATEWRIGHT_PYTHON")
        .expect("PLATEWRIGHT_PYTHON names a Python interpreter with cadquery-ocp");
    let scripts = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/python");
    let mut command = Command::new(interpreter);
    command.arg(scripts.join(script));
    command
}

/// Writes a manifest beside the files, runs the kernel over it and answers its faults.
fn kernel_faults(folder: &Path, files: &[Value]) -> Result<(), String> {
    let manifest = folder.join("manifest.json");
    fs::write(&manifest, serde_json::to_vec(files).expect("plain values")).expect("written");
    let output = python("check_step.py")
        .arg(&manifest)
        .output()
        .expect("the interpreter of PLATEWRIGHT_PYTHON runs");
    let said = String::from_utf8_lossy(&output.stdout).into_owned();
    let whole = format!("{}{}", said, String::from_utf8_lossy(&output.stderr));
    let count = format!("{} files, ", files.len());
    if output.status.success() && said.lines().last().is_some_and(|l| l.starts_with(&count)) {
        return Ok(());
    }
    Err(whole)
}

fn part_entry(
    name: &str,
    expected: &Expected,
    colour: Colour,
    around: Extents,
    z: (f64, f64),
) -> Value {
    let share = |c: u8| f64::from(c) / 255.0;
    json!({
        "name": name,
        "colour": [share(colour.red), share(colour.green), share(colour.blue)],
        "volume_mm3": expected.volume_mm3,
        "planes": expected.planes,
        "cylinders": expected.cylinders,
        "cones": expected.cones,
        "box": [around.min.x, around.min.y, z.0, around.max.x, around.max.y, z.1],
    })
}

fn sample_entry(sample: &Sample, colour: Colour) -> Value {
    let plate = &sample.plate;
    part_entry(
        &plate.title,
        &sample.expected,
        colour,
        plate.outline.extents(),
        (0.0, plate.thickness_mm),
    )
}

fn write_sample(folder: &Path, sample: &Sample, colour: Colour, schema: Schema) -> Value {
    let body = from_plate(&sample.plate).unwrap_or_else(|e| panic!("{}: {e}", sample.plate.title));
    let file = folder.join(format!("{}-{schema:?}.step", sample.plate.id));
    fs::write(&file, part(&part_of(&body, colour), &header(schema))).expect("written");
    json!({ "file": file, "parts": [sample_entry(sample, colour)] })
}

#[test]
fn every_kind_of_plate_is_one_exact_solid_in_both_schemas() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut files = Vec::new();
    for (i, mut sample) in gallery().into_iter().enumerate() {
        sample.plate.title = format!("Platte {} „{}“ Ø'\\", i + 1, sample.plate.title);
        let shade = u8::try_from(20 * i % 256).expect("below 256");
        let colour = Colour::rgb(shade, 255 - shade, 128);
        for schema in [Schema::Ap242, Schema::Ap214] {
            files.push(write_sample(folder.path(), &sample, colour, schema));
        }
    }
    kernel_faults(folder.path(), &files).unwrap_or_else(|e| panic!("{e}"));
}

#[test]
fn sixty_random_plates_are_one_exact_solid_each() {
    let folder = tempfile::tempdir().expect("a folder");
    let files: Vec<Value> = (10_000..10_060)
        .map(|seed| write_sample(folder.path(), &random(seed), Colour::PLATE, Schema::Ap242))
        .collect();
    kernel_faults(folder.path(), &files).unwrap_or_else(|e| panic!("{e}"));
}

#[test]
fn careless_plates_are_refused_or_have_no_crossing_faces() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut files = Vec::new();
    let mut refused = 0;
    for seed in 0..2_000 {
        let plate = careless(seed);
        let Ok(body) = from_plate(&plate) else {
            refused += 1;
            continue;
        };
        let file = folder.path().join(format!("{}.step", plate.id));
        fs::write(
            &file,
            part(&part_of(&body, Colour::PLATE), &header(Schema::Ap242)),
        )
        .expect("written");
        files.push(json!({ "file": file, "crossing_only": true }));
        if files.len() == 150 {
            break;
        }
    }
    assert_eq!(files.len(), 150, "{refused} refused");
    assert!(refused > 150, "{refused} refused");
    kernel_faults(folder.path(), &files).unwrap_or_else(|e| panic!("{e}"));
}

#[test]
fn the_kernel_check_sees_crossing_faces() {
    let folder = tempfile::tempdir().expect("a folder");
    let hole = |x: f64| plates::hole(Point::new(x, 0.0), 10.0, Depth::Through, None);
    let features = vec![
        plates::feature("A", hole(-60.0)),
        plates::feature("B", hole(60.5)),
    ];
    let outline = Loop::slot(Point::new(-80.0, 0.0), Point::new(80.0, 0.0), 30.0);
    let plate = plates::plate("X", "X", 10.0, outline, features);
    let body = from_plate(&plate).expect("apart, as drawn");
    let text = part(&part_of(&body, Colour::PLATE), &header(Schema::Ap242));
    let file = folder.path().join("crossing.step");
    let entry = [json!({ "file": file, "crossing_only": true })];
    fs::write(&file, &text).expect("written");
    kernel_faults(folder.path(), &entry).unwrap_or_else(|e| panic!("{e}"));
    // Hole B moved over hole A, all of it.
    let moved = text.replace("(60.5,", "(-55.,").replace("(65.5,", "(-50.,");
    assert_ne!(moved, text);
    fs::write(&file, moved).expect("written");
    assert!(kernel_faults(folder.path(), &entry).is_err());
}

/// Two plates, a spacer and two envelopes, each with its colour and what the kernel must find.
fn assembly_parts() -> Vec<(Body, Colour, Value)> {
    let pi = std::f64::consts::PI;
    let turned = |volume_mm3: f64, cylinders: Vec<f64>, planes| Expected {
        volume_mm3,
        planes,
        cylinders,
        cones: Vec::new(),
    };
    let round = |r: f64| Loop::circle(Point::ORIGIN, r).extents();
    let plate = |sample: &Sample| {
        let body = from_plate(&sample.plate).expect("a plate");
        (body, Colour::PLATE, sample_entry(sample, Colour::PLATE))
    };
    let other = |body: Body, colour, expected: &Expected, around, z| {
        let entry = part_entry(body.name(), expected, colour, around, z);
        (body, colour, entry)
    };
    let pump = Loop::slot(Point::new(-20.0, 0.0), Point::new(40.0, 10.0), 35.0);
    vec![
        plate(&random(3)),
        plate(&gallery().swap_remove(4)),
        other(
            tube("Spacer 22 × 31.5", 10.5, 22.0, 31.5).expect("a tube"),
            Colour::SPACER,
            &turned(pi * (121.0 - 5.25 * 5.25) * 31.5, vec![5.25, 11.0], 2),
            round(11.0),
            (0.0, 31.5),
        ),
        other(
            cylinder("Alternator body", 120.0, -35.0, 110.0).expect("a rod"),
            Colour::ENVELOPE,
            &turned(pi * 3600.0 * 145.0, vec![60.0], 2),
            round(60.0),
            (-35.0, 110.0),
        ),
        other(
            prism("Pump body", &pump, 4.0, 64.0).expect("a prism"),
            Colour::ENVELOPE,
            &turned(pump.area() * 60.0, vec![35.0, 35.0], 4),
            pump.extents(),
            (4.0, 64.0),
        ),
    ]
}

/// Where each of those parts is used.
fn assembly_places() -> [Vec<Placement<'static>>; 5] {
    let frame = |origin, normal, x| Frame::new(origin, normal, x).expect("a frame");
    let tilted = frame(
        Point3::new(-310.25, 42.0, -7.5),
        Vector3::new(-1.0, 0.2, 0.1),
        Vector3::new(0.3, 1.0, -0.4),
    );
    let left = frame(
        Point3::new(-200.0, 50.0, -120.0),
        Vector3::new(-1.0, 0.0, 0.0),
        Vector3::Z,
    );
    let at = |x, y, z| frame(Point3::new(x, y, z), Vector3::Z, Vector3::X);
    let place = |name, frame| Placement { name, frame };
    [
        vec![place("upper plate", Frame::FRONT.raised(25.0))],
        vec![place("side plate", left)],
        vec![
            place("spacer at block.A1", at(10.0, 20.0, 0.1)),
            place("spacer at block.A2", at(90.0, -20.0, 0.1)),
            place("spacer on the side", tilted),
        ],
        vec![place("alternator", at(210.0, 330.0, 61.0))],
        vec![place("pump", tilted)],
    ]
}

#[test]
fn an_assembly_places_plates_spacers_and_envelopes_by_name() {
    let folder = tempfile::tempdir().expect("a folder");
    let parts = assembly_parts();
    let mut whole = Assembly::new("J-1", "Bracket set Ω");
    let mut placements = Vec::new();
    for ((body, colour, _), places) in parts.iter().zip(assembly_places()) {
        for Placement { name, frame: f } in &places {
            placements.push(json!({
                "part": body.name(),
                "name": name,
                "origin": [f.origin.x, f.origin.y, f.origin.z],
                "x": [f.x.x, f.x.y, f.x.z],
                "normal": [f.normal.x, f.normal.y, f.normal.z],
            }));
        }
        whole.add(part_of(body, *colour), places);
    }
    let entries: Vec<&Value> = parts.iter().map(|(_, _, entry)| entry).collect();
    let mut files = Vec::new();
    for schema in [Schema::Ap242, Schema::Ap214] {
        let file = folder.path().join(format!("whole-{schema:?}.step"));
        fs::write(&file, whole.write(&header(schema))).expect("written");
        files.push(json!({
            "file": file,
            "name": "Bracket set Ω",
            "parts": entries,
            "placements": placements,
        }));
    }
    kernel_faults(folder.path(), &files).unwrap_or_else(|e| panic!("{e}"));
}

#[test]
fn the_bench_times_the_kernel_on_the_same_plate() {
    let output = python("bench_step.py").arg("1").output().expect("runs");
    let said = String::from_utf8_lossy(&output.stdout).into_owned();
    let volume: f64 = said
        .lines()
        .find_map(|l| l.strip_prefix("volume ")?.strip_suffix(" mm3"))
        .unwrap_or_else(|| panic!("{said}{}", String::from_utf8_lossy(&output.stderr)))
        .parse()
        .expect("a number");
    let ours = from_plate(&plates::twelve_holes())
        .expect("a solid")
        .volume_mm3();
    assert!((volume / ours - 1.0).abs() < 1e-9, "{volume} and {ours}");
}

#[test]
fn the_kernel_check_sees_what_is_not_as_promised() {
    let folder = tempfile::tempdir().expect("a folder");
    let sample = gallery().swap_remove(4);
    let good = write_sample(folder.path(), &sample, Colour::PLATE, Schema::Ap242);
    kernel_faults(folder.path(), std::slice::from_ref(&good)).unwrap_or_else(|e| panic!("{e}"));
    let volume = sample.expected.volume_mm3;
    for (key, wrong, word) in [
        ("name", json!("another"), "name"),
        ("colour", json!([0.1, 0.2, 0.3]), "colour"),
        ("volume_mm3", json!(volume * (1.0 + 2e-9)), "volume"),
        ("planes", json!(1), "planes"),
        ("cylinders", json!([1.0]), "radii"),
        ("cones", json!([0.5]), "cones"),
        ("box", json!([0, 0, 0, 0, 0, 0]), "box"),
    ] {
        let mut bad = good.clone();
        bad["parts"][0][key] = wrong;
        let said = kernel_faults(folder.path(), &[bad]).expect_err(key);
        assert!(said.contains(word), "{key}: {said}");
    }
    let file = good["file"].as_str().expect("a path");
    let text = fs::read_to_string(file).expect("read");
    for (from, to) in [
        ("AXIS2_PLACEMENT_3D", "AXIS2_PLACEMENT3D"),
        ("ADVANCED_FACE", "ADVANCED_FASE"),
    ] {
        fs::write(file, text.replace(from, to)).expect("written");
        let said = kernel_faults(folder.path(), std::slice::from_ref(&good)).expect_err(to);
        assert!(said.contains("load fail"), "{to}: {said}");
    }
}
