//! The bracket against an independent finite-element library (scikit-fem) on the same mesh.

use std::path::PathBuf;
use std::process::Command;

use serde_json::{Value, json};

use platewright::strength::build::{Built, build};
use platewright::strength::mass::Mass;
use platewright::strength::mesh::MeshOptions;
use platewright::strength::model::Model;
use platewright::strength::places::places;
use platewright::strength::recover::{recover, von_mises};
use platewright::strength::system::add_force;
use platewright::strength::{Silent, System};

use crate::bracket::bracket;

/// Runs a script of `tests/python` with the interpreter named by `PLATEWRIGHT_PYTHON`; answers what it prints.
pub(crate) fn python(script: &str, input: &Value) -> Value {
    let interpreter = std::env::var("PLATEWRIGHT_PYTHON")
        .expect("PLATEWRIGHT_PYTHON must name a Python with scikit-fem");
    let folder = tempfile::tempdir().expect("a temporary folder");
    let file = folder.path().join("input.json");
    std::fs::write(&file, input.to_string()).expect("written");
    let path: PathBuf = [env!("CARGO_MANIFEST_DIR"), "tests", "python", script]
        .iter()
        .collect();
    let out = Command::new(interpreter)
        .arg(path)
        .arg(&file)
        .output()
        .expect("the interpreter runs");
    assert!(
        out.status.success(),
        "{}",
        String::from_utf8_lossy(&out.stderr)
    );
    serde_json::from_slice(&out.stdout).expect("JSON on standard output")
}

/// A structure as the scripts read it.
pub(crate) fn export(model: &Model, built: &Built) -> Value {
    let s = &built.structure;
    let material = model.plates[0].material.elastic();
    json!({
        "nodes": s.nodes,
        "wedges": s.wedges.iter().map(|w| w.nodes.to_vec()).collect::<Vec<_>>(),
        "young_mpa": material.young_mpa,
        "poisson": material.poisson,
        "density_t_mm3": material.density_t_mm3,
        "bodies": s.bodies.iter().map(|b| json!({
            "at": b.at, "ground": b.ground, "mass_matrix": b.mass_matrix(),
        })).collect::<Vec<_>>(),
        "tied": s.tied.iter().enumerate()
            .filter_map(|(n, b)| b.map(|b| (n, b))).collect::<Vec<_>>(),
    })
}

#[track_caller]
fn within(what: &str, got: f64, want: f64, share: f64) {
    let off = got / want - 1.0;
    assert!(off.abs() <= share, "{what}: {got} against {want}");
}

#[test]
fn the_bracket_agrees_with_an_independent_library() {
    // Same mesh, ten-node tetrahedra there, fifteen-node wedges here: displacement 1 %, first five
    // modes 1 %, peak stress 3 %.
    let model = bracket();
    let options = MeshOptions {
        edge_mm: 6.0,
        layers: 2,
        ..MeshOptions::default()
    };
    let built = build(&model, &options, &[]).expect("built");
    let s = &built.structure;
    let system = System::new(s, 1, &mut Silent).expect("held");
    let mass = Mass::new(s, &system.rules);
    let idler = built.body_group[0];
    let mut load = vec![0.0; s.full_size()];
    add_force(
        s,
        &mut load,
        idler,
        [60.0, 110.0, 45.0],
        [800.0, -500.0, 300.0],
        [0.0; 3],
    );
    let u = system.solve(&[load.clone()]).expect("solved").remove(0);
    let stresses = recover(s, &system.rules, std::slice::from_ref(&u)).remove(0);
    let modes = system.modes(&mass, 5).expect("modes");
    let places = places(&model, &built);
    let watched: Vec<_> = places
        .iter()
        .filter(|p| p.kind.is_judged() && ["window", "outline"].contains(&p.name.as_str()))
        .collect();
    assert_eq!(watched.len(), 2);

    let mut input = export(&model, &built);
    let start = s.body_start(idler);
    input["body_loads"] = json!([[idler, &load[start..start + 6]]]);
    input["watched_body"] = json!(idler);
    input["places"] = watched
        .iter()
        .map(|p| (p.name.clone(), json!(p.nodes)))
        .collect::<serde_json::Map<_, _>>()
        .into();
    let theirs = python("check_strength.py", &input);

    let number = |v: &Value| v.as_f64().expect("a number");
    for d in 0..3 {
        within(
            "idler displacement",
            u[start + d],
            number(&theirs["moved_mm"][d]),
            0.01,
        );
    }
    for (k, m) in modes.iter().enumerate() {
        within("mode", m.hz(), number(&theirs["hz"][k]), 0.01);
    }
    for p in watched {
        let peak = p
            .nodes
            .iter()
            .map(|&n| von_mises(&stresses.nodes[n]))
            .fold(0.0, f64::max);
        within(&p.name, peak, number(&theirs["peaks_mpa"][&p.name]), 0.03);
    }
    let own: f64 = {
        let x = platewright::strength::system::translation(s, [1.0, 0.0, 0.0]);
        let shares = mass.shares(&x);
        shares.parts[0]
    };
    within("plate mass", own, number(&theirs["mass_t"]), 1e-5);
}
