//! Time of each stage of the strength calculation on one bracket plate.
//!
//! `cargo bench --bench strength`; the Python counterpart on the same mesh is
//! `tests/python/bench_strength.py`.

use divan::{Bencher, black_box};

use platewright::feature::{Depth, Feature, Hole, Purpose, Shape};
use platewright::geom::{Frame, Path, Point};
use platewright::plate::Plate;
use platewright::strength::mass::Mass;
use platewright::strength::mesh::{MeshOptions, mesh_plate};
use platewright::strength::reduction::Reduction;
use platewright::strength::system::{GRAVITY_MM_S2, System, translation};
use platewright::strength::{Elastic, Hold, Silent, Structure, assemble, element::Rules};

fn main() {
    divan::main();
}

/// Longest edges that give about 20,000, 60,000 and 100,000 unknowns.
const EDGES_MM: [f64; 3] = [14.0, 6.3, 4.75];

const ALUMINIUM: Elastic = Elastic {
    young_mpa: 68_900.0,
    poisson: 0.33,
    density_t_mm3: 2.7e-9,
};

/// A bracket plate: 280 × 200 mm, 12 thick, four bolts and a window.
fn plate() -> Plate {
    let hole = |id: &str, x: f64, y: f64, d: f64| Feature {
        id: id.into(),
        variants: std::sync::Arc::default(),
        shape: Shape::Hole(Hole {
            centre: Point::new(x, y),
            diameter_mm: d,
            depth: Depth::Through,
            mouth: None,
            purpose: Purpose::Plain,
        }),
    };
    Plate {
        id: "bracket".into(),
        title: "Bracket".into(),
        frame: Frame::FRONT,
        thickness_mm: 12.0,
        material: "EN AW-6061-T6".into(),
        density_kg_m3: 2700.0,
        outline: Path::slot(Point::new(0.0, 0.0), Point::new(120.0, 60.0), 80.0),
        features: vec![
            hole("a", -40.0, 0.0, 11.0),
            hole("b", 0.0, -50.0, 11.0),
            hole("c", 150.0, 60.0, 13.0),
            hole("d", 120.0, 110.0, 13.0),
            Feature {
                id: "window".into(),
                variants: std::sync::Arc::default(),
                shape: Shape::Window(Path::slot(
                    Point::new(20.0, 15.0),
                    Point::new(80.0, 40.0),
                    20.0,
                )),
            },
        ],
    }
}

fn structure(edge_mm: f64) -> Structure {
    let plate = plate();
    let options = MeshOptions {
        edge_mm,
        ..MeshOptions::default()
    };
    let mesh = mesh_plate(&plate, &[], &options, &[]).expect("a mesh");
    let mut s = Structure::default();
    s.add_part("bracket", &mesh.wedges, &plate.frame, ALUMINIUM);
    for name in ["a", "b"] {
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

fn loads(s: &Structure, mass: &Mass) -> Vec<Vec<f64>> {
    (0..3)
        .map(|d| {
            let mut a = [0.0; 3];
            a[d] = 10.0 * GRAVITY_MM_S2;
            mass.apply(&translation(s, a))
        })
        .collect()
}

#[divan::bench(args = EDGES_MM, sample_count = 3)]
fn mesh(b: Bencher, edge_mm: f64) {
    b.bench_local(|| structure(black_box(edge_mm)));
}

#[divan::bench(args = EDGES_MM, sample_count = 3)]
fn assembled(b: Bencher, edge_mm: f64) {
    let s = structure(edge_mm);
    let rules = Rules::new();
    b.bench_local(|| {
        let r = Reduction::new(&s).expect("numbered");
        assemble::stiffness(&s, &r, &rules, 0.0)
    });
}

#[divan::bench(args = EDGES_MM, sample_count = 3)]
fn assembled_and_factored(b: Bencher, edge_mm: f64) {
    let s = structure(edge_mm);
    b.bench_local(|| System::new(&s, 1, &mut Silent).expect("held"));
}

#[divan::bench(args = EDGES_MM, sample_count = 3)]
fn three_load_cases(b: Bencher, edge_mm: f64) {
    let s = structure(edge_mm);
    let system = System::new(&s, 1, &mut Silent).expect("held");
    let loads = loads(&s, &Mass::new(&s, &system.rules));
    b.bench_local(|| system.solve(&loads).expect("solved"));
}

#[divan::bench(args = EDGES_MM, sample_count = 3)]
fn ten_modes(b: Bencher, edge_mm: f64) {
    let s = structure(edge_mm);
    let system = System::new(&s, 1, &mut Silent).expect("held");
    b.bench_local(|| {
        let mass = Mass::new(&s, &system.rules);
        system.modes(&mass, 10).expect("modes")
    });
}

#[divan::bench(args = EDGES_MM, sample_count = 3)]
fn everything(b: Bencher, edge_mm: f64) {
    let s = structure(edge_mm);
    b.bench_local(|| {
        let system = System::new(&s, 1, &mut Silent).expect("held");
        let mass = Mass::new(&s, &system.rules);
        let u = system.solve(&loads(&s, &mass)).expect("solved");
        (u, system.modes(&mass, 10).expect("modes"))
    });
}
