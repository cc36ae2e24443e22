//! Two hundred random drives against an independent computation in Python, and the balances a right answer must keep.
//!
//! The interpreter is named by the environment variable `PLATEWRIGHT_PYTHON`;
//! it needs numpy, scipy and shapely.

mod random_drives;

use std::io::Write;
use std::process::{Command, Stdio};

use platewright::drive::tensioner::Arm;
use platewright::drive::{self, Drive, Rotation, Side, TakeUp, tension::Pretension};
use random_drives::Random;
use serde_json::{Value, json};

const DRIVES: usize = 200;

fn circles(drive: &Drive) -> Value {
    let path = drive::path::solve(drive).expect("random drives have a path");
    Value::Array(
        path.contacts
            .iter()
            .map(|c| {
                json!({
                    "x": c.centre_mm.x,
                    "y": c.centre_mm.y,
                    "r": c.line_radius_mm,
                    "turn": if c.turns == Rotation::CounterClockwise { 1 } else { -1 },
                    "wrap_deg": c.wrap_deg,
                })
            })
            .collect(),
    )
}

fn arm_case(random: &mut Random, drive: Drive) -> Value {
    let drive = random_drives::with_arm(random, drive);
    let TakeUp::Spring(t) = &drive.take_up else {
        unreachable!("with_arm gives a spring");
    };
    let arm = Arm::of(&drive, t).expect("the arm pushes into the belt");
    let state = arm.at_angle(t.drawn_deg).expect("the drive is drawn there");
    let path = drive::path::solve(&drive).expect("random drives have a path");
    let k = path
        .contacts
        .iter()
        .position(|c| c.pulley == t.pulley)
        .expect("the tensioner is on the belt");
    json!({
        "pivot": [t.pivot.x, t.pivot.y],
        "arm": t.arm_mm,
        "deg": t.drawn_deg,
        "index": k,
        "rate_mm_per_rad": state.rate_mm_per_rad,
        "torque_nm": state.torque_nm,
        "tension_n": state.tension_n,
        "hub_load": [state.hub_load_n.x, state.hub_load_n.y],
    })
}

fn ask_python(request: &Value) -> Value {
    let python = std::env::var("PLATEWRIGHT_PYTHON")
        .expect("PLATEWRIGHT_PYTHON must name a Python with numpy, scipy and shapely");
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/python/check_drive.py");
    let mut child = Command::new(python)
        .arg(script)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .expect("the Python interpreter starts");
    child
        .stdin
        .take()
        .expect("stdin is piped")
        .write_all(request.to_string().as_bytes())
        .expect("the request is written");
    let output = child.wait_with_output().expect("the check ends");
    assert!(output.status.success(), "the check failed");
    serde_json::from_slice(&output.stdout).expect("the check answers in JSON")
}

#[test]
fn two_hundred_random_drives_agree_with_minimised_curves_hulls_and_numeric_work() {
    let mut random = Random::new(20);
    let cases: Vec<Value> = (0..DRIVES)
        .map(|i| {
            let convex = i % 4 == 0;
            let drive = random_drives::drive(&mut random, convex);
            let path = drive::path::solve(&drive).expect("random drives have a path");
            json!({
                "circles": circles(&drive),
                "length_mm": path.effective_length_mm,
                "all_ribbed": drive.pulleys.iter().all(|p| p.contact == Side::Rib),
                "arm": if convex { Value::Null } else { arm_case(&mut random, drive) },
            })
        })
        .collect();
    let answer = ask_python(&json!({ "cases": cases }));
    println!("{answer}");
    let count = |key: &str| answer[key].as_u64().unwrap_or_default() as usize;
    let worst = |key: &str| answer[key].as_f64().unwrap_or(f64::INFINITY);
    assert_eq!(count("minimised"), DRIVES, "{answer}");
    assert_eq!(count("hulls"), DRIVES / 4, "{answer}");
    assert_eq!(count("arms"), DRIVES - DRIVES / 4, "{answer}");
    assert!(worst("worst_length_mm") < 1e-7, "{answer}");
    assert!(worst("worst_wrap_deg") < 1e-6, "{answer}");
    assert!(worst("worst_hull_relative") < 1e-6, "{answer}");
    assert!(worst("worst_rate_relative") < 1e-6, "{answer}");
    assert!(worst("worst_tension_relative") < 1e-6, "{answer}");
    assert!(worst("worst_hub_relative") < 1e-5, "{answer}");
}

#[test]
fn torques_times_speeds_sum_to_nothing() {
    let mut random = Random::new(77);
    for i in 0..DRIVES {
        let drive = random_drives::drive(&mut random, i % 4 == 0);
        let path = drive::path::solve(&drive).expect("random drives have a path");
        for rpm in [600.0, 1500.0, 3100.0] {
            let set = Pretension::Static { tension_n: 700.0 };
            let point = drive::tension::at_speed(&drive, &path, set, rpm, "as set");
            let (mut sum, mut size) = (0.0, 0.0);
            for p in &point.pulleys {
                let power = p.torque_nm * p.rpm;
                sum += power;
                size += power.abs();
            }
            assert!(size > 0.0, "drive {i} carries nothing");
            assert!(
                (sum / size).abs() < 1e-9,
                "drive {i} at {rpm}: {sum} of {size}"
            );
            assert!(point.energy_residual.abs() < 1e-9, "drive {i} at {rpm}");
        }
    }
}

#[test]
fn hub_loads_of_a_closed_belt_sum_to_nothing() {
    let mut random = Random::new(5);
    for i in 0..50 {
        let drive = random_drives::drive(&mut random, i % 4 == 0);
        let path = drive::path::solve(&drive).expect("random drives have a path");
        let set = Pretension::Static { tension_n: 700.0 };
        let point = drive::tension::at_speed(&drive, &path, set, 1500.0, "as set");
        let (x, y) = point.pulleys.iter().fold((0.0, 0.0), |s, p| {
            (s.0 + p.hub_load_n.x, s.1 + p.hub_load_n.y)
        });
        assert!(x.hypot(y) < 1e-9 * 700.0, "drive {i}: {x} {y}");
    }
}

#[test]
fn a_spring_arm_holds_the_moment_of_its_own_hub_load_under_load() {
    let mut random = Random::new(9);
    for _ in 0..50 {
        let plain = random_drives::drive(&mut random, false);
        let drive = random_drives::with_arm(&mut random, plain);
        let TakeUp::Spring(t) = &drive.take_up else {
            unreachable!("with_arm gives a spring");
        };
        let path = drive::path::solve(&drive).expect("random drives have a path");
        let set = Pretension::Arm {
            tensioner: t,
            torque_nm: 25.0,
        };
        let point = drive::tension::at_speed(&drive, &path, set, 1800.0, "nominal");
        let k = path
            .contacts
            .iter()
            .position(|c| c.pulley == t.pulley)
            .expect("the tensioner is on the belt");
        let moment =
            (path.contacts[k].centre_mm - t.pivot).cross(point.pulleys[k].hub_load_n) / 1000.0;
        assert!((moment + t.spring.sign() * 25.0).abs() < 1e-9, "{moment}");
    }
}
