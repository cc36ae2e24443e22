//! DXF files read back by two independent readers and held against the plates they show.
//!
//! The Python reader (ezdxf, pinned) also runs its auditor; its interpreter is
//! named by the environment variable `PLATEWRIGHT_PYTHON`.

mod samples;

use std::path::Path as FilePath;
use std::process::Command;

use dxf::entities::EntityType;
use platewright::export::dxf::{Drawing, NotCut, Version};
use platewright::feature::{Depth, Face, Hole, Mouth, Purpose, Shape};
use platewright::geom::{Path, Point};
use platewright::plate::Plate;
use serde_json::{Value, json};

const RANDOM_PLATES: u64 = 100;

fn plates() -> Vec<(Plate, NotCut)> {
    let whole = samples::by_hand()
        .into_iter()
        .chain((0..RANDOM_PLATES).map(samples::random));
    let mut all: Vec<_> = whole.map(|p| (p, NotCut::new())).collect();
    // And once more as a process that cuts none of its holes would get it.
    let mut left = samples::everything();
    left.id = "left_uncut".to_string();
    let not_cut = left
        .features
        .iter()
        .filter(|f| !matches!(f.shape, Shape::Mark(_)))
        .map(|f| {
            (
                f.id.clone(),
                "smaller than the process can pierce".to_string(),
            )
        })
        .collect();
    all.push((left, not_cut));
    all
}

/// What a plate's file must show, told from the plate alone.
#[derive(Default)]
struct Expected {
    loops: Vec<Value>,
    circles: Vec<Value>,
    mark_lines: usize,
    mark_strokes: usize,
}

impl Expected {
    fn path(&mut self, layer: &str, path: &Path) {
        if let [whole] = path.segments[..]
            && whole.is_full_circle()
        {
            let e = path.extents();
            self.circle(layer, e.centre(), e.width());
            return;
        }
        let e = path.extents();
        self.loops.push(json!({
            "layer": layer, "area": path.area().abs(), "length": path.length(),
            "extents": [e.min.x, e.min.y, e.max.x, e.max.y],
        }));
    }

    fn circle(&mut self, layer: &str, c: Point, diameter_mm: f64) {
        self.circles
            .push(json!({"layer": layer, "x": c.x, "y": c.y, "diameter": diameter_mm}));
    }

    fn hole(&mut self, h: &Hole) {
        let operation = match (&h.purpose, h.depth) {
            (Purpose::Tapped { .. }, Depth::Through) => "TAP_DRILL".to_string(),
            (Purpose::Dowel { .. }, Depth::Through) => "REAM".to_string(),
            (_, Depth::Through) => "DRILL".to_string(),
            (purpose, Depth::Blind { from, .. }) => {
                let stem = match purpose {
                    Purpose::Tapped { .. } => "TAP_DRILL_BLIND",
                    Purpose::Dowel { .. } => "REAM_BLIND",
                    _ => "DRILL_BLIND",
                };
                on_face(stem, from)
            }
        };
        self.circle(&operation, h.centre, h.diameter_mm);
        match h.mouth {
            None => {}
            Some(Mouth::Counterbore {
                diameter_mm, face, ..
            }) => self.circle(&on_face("COUNTERBORE", face), h.centre, diameter_mm),
            Some(Mouth::Countersink {
                diameter_mm, face, ..
            }) => self.circle(&on_face("COUNTERSINK", face), h.centre, diameter_mm),
        }
    }

    fn of(plate: &Plate, not_cut: &NotCut) -> Self {
        let mut all = Self::default();
        for f in &plate.features {
            let cut = !not_cut.contains_key(&f.id);
            match &f.shape {
                Shape::Hole(h) if cut => all.hole(h),
                Shape::Hole(_) => all.mark_lines += 2,
                Shape::Slot(_) if !cut => all.mark_lines += 4,
                Shape::Slot(s) => all.path("INSIDE_CUT", &s.path()),
                Shape::Window(p) => all.path(if cut { "INSIDE_CUT" } else { "MARK" }, p),
                Shape::Pocket { path, face, .. } if cut => {
                    all.path(&on_face("POCKET", *face), path);
                }
                Shape::Pocket { path, .. } => all.path("MARK", path),
                Shape::Groove {
                    centre,
                    inner_mm,
                    outer_mm,
                    face,
                    ..
                } => {
                    let layer = if cut {
                        on_face("GROOVE", *face)
                    } else {
                        "MARK".to_string()
                    };
                    all.circle(&layer, *centre, *inner_mm);
                    all.circle(&layer, *centre, *outer_mm);
                }
                Shape::Mark(m) => {
                    for s in &m.strokes {
                        match s.len() {
                            1 => all.mark_lines += 2,
                            2 => all.mark_lines += 1,
                            _ => all.mark_strokes += 1,
                        }
                    }
                }
            }
        }
        all.path("OUTLINE_CUT", &plate.outline);
        all
    }

    fn json(&self, plate: &Plate, file: &FilePath, version: Version) -> Value {
        let e = plate.outline.extents();
        json!({
            "file": file, "version": match version { Version::R2000 => "AC1015", Version::R12 => "AC1009" },
            "loops": self.loops, "circles": self.circles,
            "mark_lines": self.mark_lines, "mark_strokes": self.mark_strokes,
            "extents": [e.min.x, e.min.y, e.max.x, e.max.y],
        })
    }
}

fn on_face(stem: &str, face: Face) -> String {
    match face {
        Face::Front => stem.to_string(),
        Face::Back => format!("{stem}_BACK"),
    }
}

fn bytes(plate: &Plate, not_cut: &NotCut, version: Version) -> Vec<u8> {
    Drawing::of_plate(plate, not_cut)
        .and_then(|d| d.to_bytes(version))
        .expect(&plate.id)
}

/// Runs the independent reader over the cases: its verdict, or the faults it found.
fn check(folder: &FilePath, cases: &[Value]) -> Result<String, String> {
    let python = std::env::var("PLATEWRIGHT_PYTHON")
        .expect("PLATEWRIGHT_PYTHON names the interpreter that has ezdxf");
    let list = folder.join("cases.json");
    std::fs::write(&list, serde_json::to_vec(cases).expect("json")).expect("written");
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/python/check_dxf.py");
    let output = Command::new(python)
        .arg(script)
        .arg(&list)
        .output()
        .expect("the interpreter starts");
    let said = String::from_utf8_lossy(&output.stdout).trim().to_string();
    let complained = String::from_utf8_lossy(&output.stderr);
    assert!(complained.is_empty(), "{complained}");
    if output.status.success() {
        Ok(said)
    } else {
        Err(said)
    }
}

#[test]
fn the_independent_check_catches_damage() {
    let plate = samples::everything();
    let whole = String::from_utf8(bytes(&plate, &NotCut::new(), Version::R2000)).expect("text");
    let damages = [
        ("70\n1\n43\n", "70\n0\n43\n", "is open"),
        ("40\n5.5\n", "40\n5.500002\n", "should not be there"),
        ("5\n101\n", "5\n100\n", "used twice"),
        ("8\nDRILL\n", "8\nREAM\n", "should not be there"),
        (
            "$INSUNITS\n70\n4\n",
            "$INSUNITS\n70\n1\n",
            "does not say mm",
        ),
        (
            "330\n1F\n100\nAcDbEntity\n8\nD",
            "330\nFFF\n100\nAcDbEntity\n8\nD",
            "not there",
        ),
    ];
    for (old, new, complaint) in damages {
        let folder = tempfile::tempdir().expect("a folder");
        let file = folder.path().join("damaged.dxf");
        assert!(whole.contains(old), "{old:?}");
        std::fs::write(&file, whole.replacen(old, new, 1)).expect("written");
        let case = Expected::of(&plate, &NotCut::new()).json(&plate, &file, Version::R2000);
        let said = check(folder.path(), &[case]).expect_err(old);
        assert!(said.contains(complaint), "{old:?}: {said}");
    }
}

#[test]
fn an_independent_auditor_finds_no_fault_and_every_size_agrees() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut cases = Vec::new();
    for (plate, not_cut) in plates() {
        for version in [Version::R2000, Version::R12] {
            let file = folder.path().join(format!("{}_{version:?}.dxf", plate.id));
            std::fs::write(&file, bytes(&plate, &not_cut, version)).expect("written");
            cases.push(Expected::of(&plate, &not_cut).json(&plate, &file, version));
        }
    }
    let verdict = check(folder.path(), &cases);
    assert_eq!(verdict, Ok(format!("{} files without fault", cases.len())));
}

#[test]
fn the_dxf_crate_reads_the_same_circles_and_loops() {
    for (plate, not_cut) in plates() {
        let expected = Expected::of(&plate, &not_cut);
        for version in [Version::R2000, Version::R12] {
            let drawing = dxf::Drawing::load(&mut bytes(&plate, &not_cut, version).as_slice())
                .expect(&plate.id);
            assert_eq!(
                drawing.header.default_drawing_units,
                dxf::enums::Units::Millimeters
            );
            let mut circles = 0;
            let mut loops = 0;
            for entity in drawing.entities() {
                match &entity.specific {
                    EntityType::Circle(c) => {
                        circles += 1;
                        let found = expected.circles.iter().any(|e| {
                            let near = |key: &str, v: f64| {
                                (e[key].as_f64().expect("a number") - v).abs() < 1e-6
                            };
                            e["layer"] == entity.common.layer.as_str()
                                && near("x", c.center.x)
                                && near("y", c.center.y)
                                && near("diameter", 2.0 * c.radius)
                        });
                        assert!(found, "{}: {c:?}", plate.id);
                    }
                    EntityType::LwPolyline(p) if p.is_closed() => loops += 1,
                    EntityType::Polyline(p) if p.is_closed() => loops += 1,
                    _ => {}
                }
            }
            assert_eq!(circles, expected.circles.len(), "{}", plate.id);
            // Closed strokes of letters lie on the marking layer.
            assert!(loops >= expected.loops.len(), "{}", plate.id);
        }
    }
}

#[test]
fn the_same_plate_gives_the_same_bytes_on_every_machine() {
    for (make, version) in [
        (samples::everything as fn() -> Plate, Version::R2000),
        (samples::everything, Version::R12),
        (samples::twelve_holes, Version::R2000),
    ] {
        let first = bytes(&make(), &NotCut::new(), version);
        assert_eq!(first, bytes(&make(), &NotCut::new(), version));
        let kept_path = format!(
            "{}/tests/data/{}_{version:?}.dxf",
            env!("CARGO_MANIFEST_DIR"),
            make().id
        );
        if std::env::var_os("PLATEWRIGHT_RENEW").is_some() {
            std::fs::write(&kept_path, &first).expect("written");
        }
        let kept = std::fs::read(&kept_path).expect("the kept file is there");
        assert!(
            first == kept,
            "{kept_path} differs: renew it with PLATEWRIGHT_RENEW=1 and review the change"
        );
    }
}
