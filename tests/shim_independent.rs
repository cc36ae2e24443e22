//! Offset and tilt after washers against finite rotations in scipy, through the interpreter named by `PLATEWRIGHT_PYTHON`.

mod shim_support;

use std::collections::BTreeMap;
use std::io::Write as _;
use std::process::{Command, Stdio};

use platewright::shim::plan;
use serde_json::{Value, json};
use shim_support::drive;

#[test]
fn offset_and_tilt_agree_with_scipy_rotations_to_1e_9() {
    let python = std::env::var("PLATEWRIGHT_PYTHON")
        .expect("PLATEWRIGHT_PYTHON names the interpreter with scipy");
    let mut cases: Vec<Value> = Vec::new();
    for seed in 0..400 {
        let (drive, readings) = drive(seed);
        let plan = plan(&drive, &readings).expect("a sound drive");
        let Some(washers) = &plan.washers.plan else {
            continue;
        };
        let mut mounts = BTreeMap::new();
        let mut lifts = BTreeMap::new();
        for m in &drive.mounts {
            let v = |p: platewright::geom::Vector3| [p.x, p.y, p.z];
            mounts.insert(
                m.name.clone(),
                json!({
                    "origin": [m.seat.origin.x, m.seat.origin.y, m.seat.origin.z],
                    "x": v(m.seat.x), "y": v(m.seat.y), "normal": v(m.seat.normal),
                    "bolts": m.bolts.iter().map(|b| [b.at.x, b.at.y]).collect::<Vec<_>>(),
                }),
            );
            let h: Vec<f64> = m
                .bolts
                .iter()
                .map(|b| {
                    washers
                        .washers
                        .iter()
                        .filter(|w| w.mount == m.name && w.bolt == b.name)
                        .map(|w| w.add_mm.iter().sum::<f64>() - w.remove_mm.iter().sum::<f64>())
                        .sum()
                })
                .collect();
            lifts.insert(m.name.clone(), h);
        }
        for (i, p) in drive.pulleys.iter().enumerate() {
            let mut chain = Vec::new();
            let mut carrier = p.mount.clone();
            while let Some(name) = carrier {
                carrier = drive
                    .mounts
                    .iter()
                    .find(|m| m.name == name)
                    .expect("listed")
                    .on
                    .clone();
                chain.push(name);
            }
            let plane = drive.pulleys[0].centre.z;
            cases.push(json!({
                "mounts": mounts, "lifts": lifts, "chain": chain, "plane": plane,
                "place": [p.centre.x, p.centre.y, plane + plan.now[i].offset_mm],
                "axis": plan.now[i].axis,
                "offset": washers.stands[i].offset_mm, "then": washers.stands[i].axis,
            }));
        }
    }
    assert!(cases.len() > 300);
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/python/check_shim.py");
    let mut child = Command::new(python)
        .arg(script)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the interpreter starts");
    child
        .stdin
        .take()
        .expect("a pipe")
        .write_all(Value::Array(cases).to_string().as_bytes())
        .expect("the script reads");
    let output = child.wait_with_output().expect("the script ends");
    println!("{}", String::from_utf8_lossy(&output.stdout));
    assert!(
        output.status.success(),
        "{}{}",
        String::from_utf8_lossy(&output.stdout),
        String::from_utf8_lossy(&output.stderr)
    );
}
