//! The adjustment against scipy's least squares, run through the interpreter named by `PLATEWRIGHT_PYTHON`.

mod measure_support;

use std::io::Write as _;
use std::process::{Command, Stdio};

use measure_support::simulate;
use platewright::measure::{Kind, Network, Options, Surface, Survey, solve};
use serde_json::{Value, json};

/// One network and its result for the other side.
fn case(seed: u64, network: &Network, survey: &Survey) -> Value {
    let holes: Vec<Value> = network
        .holes
        .iter()
        .map(|h| {
            let (bore, pin) = (h.bore.expect("given"), h.pin.expect("given"));
            json!({"name": h.name, "bore": [bore.diameter_mm, bore.sd_mm], "pin": [pin.diameter_mm, pin.sd_mm]})
        })
        .collect();
    let readings: Vec<Value> = network
        .readings
        .iter()
        .map(|r| {
            let (kind, a, b, surface) = match &r.kind {
                Kind::Inside { a, b, surface } => ("inside", a, b, Some(*surface)),
                Kind::Over { a, b, surface } => ("over", a, b, Some(*surface)),
                Kind::SameSide { a, b, surface } => ("same", a, b, Some(*surface)),
                Kind::Centres { a, b } => ("centres", a, b, None),
                // Edges and steps are not simulated here; the other side refuses the word.
                Kind::FromEdge { edge, hole, .. } => ("edge", edge, hole, None),
                Kind::Step { upper, lower } => ("step", upper, lower, None),
            };
            let surface = surface.map(|s| if s == Surface::Bore { "bore" } else { "pin" });
            json!({"kind": kind, "a": a, "b": b, "surface": surface, "value": r.value_mm, "sd": r.kind.default_sd_mm().0})
        })
        .collect();
    json!({
        "seed": seed,
        "holes": holes,
        "readings": readings,
        "origin": "H1",
        "level": ["H1", "H2"],
        "result": survey.holes.iter().map(|h| [h.x_mm, h.y_mm]).collect::<Vec<_>>(),
        "deviations": survey.holes.iter().map(|h| [h.sd_x_mm, h.sd_y_mm]).collect::<Vec<_>>(),
    })
}

#[test]
fn coordinates_and_deviations_agree_with_scipy_to_1e_8() {
    let python = std::env::var("PLATEWRIGHT_PYTHON")
        .expect("PLATEWRIGHT_PYTHON names the interpreter with scipy");
    let cases: Vec<Value> = (0..40)
        .map(|k| {
            let s = simulate(70_000 + k, 5 + (k % 8) as usize, 4);
            let options = Options {
                keep_doubtful: true,
                ..Options::default()
            };
            let survey = solve(&s.network, options).expect("a sound network");
            case(k, &s.network, &survey)
        })
        .collect();
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/python/check_measure.py");
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
