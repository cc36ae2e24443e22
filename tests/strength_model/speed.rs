//! Stage times here and in scikit-fem, on the same mesh in the same run.
//!
//! `PLATEWRIGHT_PYTHON=... cargo test --release --test strength_model speed -- --ignored --nocapture`

use std::time::Instant;

use serde_json::json;

use platewright::geom::Frame;
use platewright::plate::Plate;
use platewright::strength::mass::Mass;
use platewright::strength::mesh::{MeshOptions, mesh_plate};
use platewright::strength::modes::Mode;
use platewright::strength::system::{GRAVITY_MM_S2, translation};
use platewright::strength::{Hold, Stage, Structure, System};

use crate::bracket::{aluminium, plate};
use crate::python::python;

/// The bracket plate held at its two bolt holes.
fn held(plate: &Plate, edge_mm: f64) -> Structure {
    let options = MeshOptions {
        edge_mm,
        layers: 2,
        ..MeshOptions::default()
    };
    let mesh = mesh_plate(plate, &[], &options, &[]).expect("a mesh");
    let mut s = Structure::default();
    s.add_part("bracket", &mesh.wedges, &plate.frame, aluminium().elastic());
    for name in ["bolt A", "bolt B"] {
        let (_, points) = mesh.edges.iter().find(|e| e.0 == name).expect("a hole");
        for &p in points {
            for node in mesh.wedges.column(p) {
                s.holds.extend((0..3).map(|direction| Hold {
                    node,
                    direction,
                    value_mm: 0.0,
                }));
            }
        }
    }
    s
}

#[allow(
    clippy::print_stdout,
    reason = "the table of times is what this is run for"
)]
fn compare(edge_mm: f64, solve_once: bool) {
    let s = held(&plate("bracket", Frame::FRONT), edge_mm);
    let start = Instant::now();
    let mut factoring = 0.0;
    let system = System::new(&s, 1, &mut |stage: Stage, _: usize| {
        if stage == Stage::Factor {
            factoring = start.elapsed().as_secs_f64();
        }
    })
    .expect("held");
    let factored = start.elapsed().as_secs_f64();
    let mass = Mass::new(&s, &system.rules);
    let loads: Vec<Vec<f64>> = (0..3)
        .map(|d| {
            let mut a = [0.0; 3];
            a[d] = 10.0 * GRAVITY_MM_S2;
            mass.apply(&translation(&s, a))
        })
        .collect();
    system.solve(&loads).expect("solved");
    let solved = start.elapsed().as_secs_f64();
    let modes = system.modes(&mass, 10).expect("modes");
    let done = start.elapsed().as_secs_f64();

    let mut nodes: Vec<usize> = s.holds.iter().map(|h| h.node).collect();
    nodes.dedup();
    let material = aluminium().elastic();
    let theirs = python(
        "bench_strength.py",
        &json!({
            "nodes": s.nodes,
            "wedges": s.wedges.iter().map(|w| w.nodes.to_vec()).collect::<Vec<_>>(),
            "young_mpa": material.young_mpa,
            "poisson": material.poisson,
            "density_t_mm3": material.density_t_mm3,
            "held": nodes,
            "once": solve_once,
        }),
    );
    let t = |key: &str| theirs[key].as_f64().expect("a number");
    println!(
        "{} unknowns here, {} there",
        system.reduction.unknowns, theirs["unknowns"]
    );
    println!("stage            here s    scikit-fem s");
    println!(
        "assemble         {:7.3}    {:7.3}",
        factoring,
        t("assemble_s")
    );
    println!(
        "factor           {:7.3}    (in solve)",
        factored - factoring
    );
    println!(
        "three cases      {:7.3}    {:7.3}",
        solved - factored,
        t("solve_s")
    );
    println!(
        "ten modes        {:7.3}    {:7.3}",
        done - solved,
        t("modes_s")
    );
    let total = t("assemble_s") + t("solve_s") + t("modes_s");
    println!(
        "all              {done:7.3}    {total:7.3}   {:.1} times",
        total / done
    );
    println!("memory there {:.0} MiB", t("memory_mib"));
    // Straight-sided geometry there: first frequencies agree to the arcs' sagitta.
    for (m, f) in modes.iter().zip(theirs["hz"].as_array().expect("a list")) {
        let f = f.as_f64().expect("a number");
        assert!(
            (m.hz() / f - 1.0).abs() < 0.01,
            "{} against {f}",
            Mode::hz(m)
        );
    }
    assert!(total > 10.0 * done, "at least ten times faster");
}

#[test]
#[ignore = "half a minute: see the file's head for the command"]
fn speed_against_scikit_fem_at_20_000_unknowns() {
    compare(6.3, false);
}

#[test]
#[ignore = "minutes: see the file's head for the command"]
fn speed_against_scikit_fem_at_100_000_unknowns() {
    compare(2.7, true);
}
