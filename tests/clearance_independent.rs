//! Gaps against independent libraries: shapely for prisms of one direction and
//! hoses, a solid kernel for prisms of different directions.
//!
//! The interpreter is the one named by `PLATEWRIGHT_PYTHON`, with shapely,
//! scipy, numpy and the kernel's bindings.

use std::f64::consts::{PI, TAU};
use std::io::Write;
use std::path::Path as FilePath;
use std::process::Command;

use platewright::clearance::{Body, Prism, Scene, Solid, Tube};
use platewright::geom::{Frame, Path, Point, Point3, Region, Segment, Vector3};
use platewright::tables::gap::{Kind, Limits};
use serde_json::{Value, json};

/// A small repeatable source of numbers (SplitMix64).
struct Dice(u64);

impl Dice {
    fn next(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
    }

    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.next()
    }

    fn below(&mut self, n: usize) -> usize {
        ((self.next() * n as f64) as usize).min(n - 1)
    }

    fn point(&mut self, half: f64) -> Point {
        Point::new(self.between(-half, half), self.between(-half, half))
    }
}

fn xy(p: Point) -> Value {
    json!([p.x, p.y])
}

fn xyz(v: Vector3) -> Value {
    json!([v.x, v.y, v.z])
}

/// Corners of a convex polygon about `centre`, counter-clockwise.
fn convex(dice: &mut Dice, centre: Point, reach: f64) -> Vec<Point> {
    let n = 3 + dice.below(5);
    let turn = dice.between(0.0, TAU);
    let (a, b) = (
        dice.between(0.4, 1.0) * reach,
        dice.between(0.4, 1.0) * reach,
    );
    (0..n)
        .map(|i| {
            let t = turn + TAU * (i as f64 + 0.3 * dice.next()) / n as f64;
            Point::new(centre.x + a * t.cos(), centre.y + b * t.sin())
        })
        .collect()
}

/// The polygon grown by `r` with round corners, on lines and arcs.
fn rounded(corners: &[Point], r: f64) -> Path {
    let n = corners.len();
    let out = |i: usize| {
        let d = (corners[(i + 1) % n] - corners[i])
            .unit()
            .expect("corners differ");
        -d.left()
    };
    let mut segments = Vec::new();
    for i in 0..n {
        let (c, next) = (corners[(i + 1) % n], (i + 1) % n);
        let (a, b) = (corners[i] + out(i) * r, c + out(i) * r);
        segments.push(Segment::Line { from: a, to: b });
        segments.push(Segment::Arc {
            from: b,
            to: c + out(next) * r,
            centre: c,
            radius: r,
            ccw: true,
        });
    }
    Path::new(segments)
}

/// A random shape as the checker knows it and as a region.
fn shape(dice: &mut Dice, simple: bool, arc_slot_left: &mut bool) -> (Value, Region) {
    let c = dice.point(90.0);
    let r = dice.between(2.0, 18.0);
    match dice.below(if simple { 5 } else { 7 }) {
        0 => (
            json!({"kind": "disc", "points": [xy(c)], "r": r}),
            Region::solid(Path::circle(c, r)),
        ),
        1 => {
            let to = Point::new(
                c.x + dice.between(5.0, 50.0),
                c.y + dice.between(-40.0, 40.0),
            );
            (
                json!({"kind": "slot", "points": [xy(c), xy(to)], "r": r}),
                Region::solid(Path::slot(c, to, r)),
            )
        }
        2 => {
            let reach = dice.between(8.0, 40.0);
            let corners = convex(dice, c, reach);
            let points: Vec<Value> = corners.iter().map(|&p| xy(p)).collect();
            (
                json!({"kind": "rounded", "points": points, "r": r}),
                Region::solid(rounded(&corners, r)),
            )
        }
        3 => {
            let mut corners = convex(dice, c, 45.0);
            if !simple {
                // Every second corner drawn in makes a star.
                for p in corners.iter_mut().step_by(2) {
                    *p = c + (*p - c) * 0.35;
                }
            }
            let points: Vec<Value> = corners.iter().map(|&p| xy(p)).collect();
            (
                json!({"kind": "polygon", "points": points}),
                Region::solid(Path::polygon(&corners).oriented(true)),
            )
        }
        4 => {
            let outer = dice.between(30.0, 70.0);
            let hole = outer * dice.between(0.3, 0.9);
            (
                json!({"kind": "ring", "points": [xy(c)], "r": outer, "hole": hole}),
                Region {
                    outer: Path::circle(c, outer),
                    openings: vec![Path::circle(c, hole)],
                },
            )
        }
        5 if std::mem::take(arc_slot_left) => {
            let track = dice.between(25.0, 60.0);
            let start = dice.between(0.0, TAU);
            let end = start + dice.between(0.3, 4.5);
            let half = dice.between(3.0, 12.0);
            (
                json!({"kind": "arcslot", "points": [xy(c)], "track": track, "start": start, "end": end, "r": half}),
                Region::solid(Path::arc_slot(c, track, start, end, half)),
            )
        }
        _ => {
            let corners: Vec<Point> = (0..4)
                .map(|i| c.polar(80.0, PI / 4.0 + PI / 2.0 * f64::from(i)))
                .collect();
            let hole = dice.between(20.0, 50.0);
            let mut points: Vec<Value> = corners.iter().map(|&p| xy(p)).collect();
            points.push(xy(c));
            (
                json!({"kind": "window", "points": points, "hole": hole}),
                Region {
                    outer: Path::polygon(&corners),
                    openings: vec![Path::circle(c, hole)],
                },
            )
        }
    }
}

/// A frame with the given normal (either way round), turned and moved at random.
fn frame(dice: &mut Dice, normal: Vector3) -> Frame {
    let normal = if dice.below(2) == 0 { normal } else { -normal };
    loop {
        let x = Vector3::new(
            dice.between(-1.0, 1.0),
            dice.between(-1.0, 1.0),
            dice.between(-1.0, 1.0),
        );
        let o = Point3::new(
            dice.between(-9.0, 9.0),
            dice.between(-9.0, 9.0),
            dice.between(-9.0, 9.0),
        );
        if let Some(f) = Frame::new(o, normal, x)
            && x.cross(normal).length() > 0.2
        {
            return f;
        }
    }
}

fn prism(
    dice: &mut Dice,
    normal: Vector3,
    simple: bool,
    arc_slot_left: &mut bool,
) -> (Value, Solid) {
    let f = frame(dice, normal);
    let (spec, region) = shape(dice, simple, arc_slot_left);
    let low = dice.between(-30.0, 20.0);
    let high = low + dice.between(3.0, 25.0);
    (
        json!({
            "type": "prism", "shape": spec, "heights": [low, high],
            "frame": {"origin": [f.origin.x, f.origin.y, f.origin.z], "normal": xyz(f.normal), "x": xyz(f.x)},
        }),
        Solid::Prism(Prism::new("p", f, region, low, high)),
    )
}

fn hose(dice: &mut Dice) -> (Value, Solid) {
    let n = 2 + dice.below(3);
    let centres: Vec<Point3> = (0..n)
        .map(|_| {
            Point3::new(
                dice.between(-110.0, 110.0),
                dice.between(-110.0, 110.0),
                dice.between(-60.0, 60.0),
            )
        })
        .collect();
    let radius = dice.between(4.0, 16.0);
    let points: Vec<Value> = centres.iter().map(|p| json!([p.x, p.y, p.z])).collect();
    (
        json!({"type": "hose", "centres": points, "radius": radius}),
        Solid::Tube(Tube {
            name: "h".to_owned(),
            centres,
            radius_mm: radius,
        }),
    )
}

const AXES: [Vector3; 4] = [
    Vector3::Z,
    Vector3::X,
    Vector3::Y,
    Vector3 {
        x: 0.48,
        y: 0.6,
        z: 0.64,
    },
];

/// A scene and its bodies.
fn scene(dice: &mut Dice, mixed: bool) -> (Value, Vec<Solid>) {
    let first = dice.below(4);
    let axis = AXES[first];
    let step = 1 + dice.below(3);
    let mut arc_slot_left = true;
    let (mut specs, mut solids) = (Vec::new(), Vec::new());
    let count = if mixed { 2 } else { 2 + dice.below(4) };
    for i in 0..count {
        let (spec, solid) = if mixed {
            prism(dice, AXES[(first + i * step) % 4], true, &mut arc_slot_left)
        } else if dice.below(5) == 0 {
            hose(dice)
        } else {
            prism(dice, axis, false, &mut arc_slot_left)
        };
        specs.push(spec);
        solids.push(solid);
    }
    let x = if axis.x.abs() < 0.5 {
        Vector3::X
    } else {
        Vector3::Y
    };
    (
        json!({"mixed": mixed, "normal": xyz(axis), "x": xyz(x), "bodies": specs}),
        solids,
    )
}

/// What the independent libraries say of each pair of each scene; `None` where bodies overlap.
fn independent(scenes: &[Value]) -> Vec<Vec<Option<f64>>> {
    let python = std::env::var("PLATEWRIGHT_PYTHON")
        .expect("PLATEWRIGHT_PYTHON names an interpreter with shapely, scipy and the solid kernel");
    let mut file = tempfile::NamedTempFile::new().expect("a temporary file");
    file.write_all(Value::from(scenes.to_vec()).to_string().as_bytes())
        .expect("scenes are written");
    let script = FilePath::new(env!("CARGO_MANIFEST_DIR")).join("tests/python/check_clearance.py");
    let out = Command::new(python)
        .arg(script)
        .arg(file.path())
        .output()
        .expect("the interpreter runs");
    assert!(
        out.status.success(),
        "the checker failed: {}",
        String::from_utf8_lossy(&out.stderr)
    );
    serde_json::from_slice(&out.stdout).expect("the checker's gaps")
}

/// Runs `count` scenes and counts the pairs apart and overlapping.
fn run(count: usize, seed: u64, mixed: bool) -> (usize, usize) {
    let mut dice = Dice(seed);
    let (specs, bodies): (Vec<Value>, Vec<Vec<Solid>>) =
        (0..count).map(|_| scene(&mut dice, mixed)).unzip();
    let want = independent(&specs);
    assert_eq!(want.len(), count);
    let limits = Limits::standard();
    let (mut apart, mut overlapping) = (0, 0);
    for (n, (solids, want)) in bodies.into_iter().zip(want).enumerate() {
        let bodies: Vec<Body> = solids
            .into_iter()
            .enumerate()
            .map(|(i, s)| Body::new(i.to_string(), Kind::Fixed, vec![s]))
            .collect();
        let scene = Scene::of(&bodies, &[]);
        let mut want = want.into_iter();
        for i in 0..bodies.len() {
            for j in i + 1..bodies.len() {
                let got = scene.gap_between(i, j, &limits).expect("two bodies");
                let want = want.next().expect("one gap a pair");
                let place = || format!("scene {n}, bodies {i} and {j}: {}", specs[n]);
                let Some(want) = want else {
                    assert!(got.gap_mm <= 1e-6, "{got:?} but they overlap: {}", place());
                    overlapping += 1;
                    continue;
                };
                apart += 1;
                assert!(
                    got.gap_mm <= want + 1e-6 && want <= got.gap_mm + got.bound_mm + 1e-6,
                    "{} (bound {}) against {want}: {}",
                    got.gap_mm,
                    got.bound_mm,
                    place()
                );
                assert!(mixed || got.bound_mm == 0.0, "exact in one direction");
                let (a, b) = (got.first_at_mm, got.second_at_mm);
                let between = Point3::new(a[0], a[1], a[2]).distance(Point3::new(b[0], b[1], b[2]));
                assert!(
                    (between - got.gap_mm).abs() <= got.bound_mm + 1e-6,
                    "points {between} apart for {got:?}: {}",
                    place()
                );
            }
        }
    }
    (apart, overlapping)
}

#[test]
fn a_thousand_random_scenes_agree_with_shapely_to_1e_6_mm() {
    let (apart, overlapping) = run(1000, 20_251, false);
    println!("{apart} pairs apart, {overlapping} overlapping");
    assert!(apart > 3000 && overlapping > 300, "{apart} {overlapping}");
}

#[test]
fn prisms_of_different_directions_agree_with_a_solid_kernel_within_the_bound() {
    let (apart, overlapping) = run(150, 7, true);
    println!("{apart} pairs apart, {overlapping} overlapping");
    assert!(apart > 80 && overlapping > 5, "{apart} {overlapping}");
}
