//! Invented bracket sets: one plate with two bolts and a pivot, and a set of two plates with spacers.

use std::sync::OnceLock;

use platewright::feature::{Depth, Face, Feature, Hole, Mouth, Purpose, Shape};
use platewright::geom::{Frame, Path, Point, Point3, Segment, Vector3};
use platewright::plate::Plate;
use platewright::strength::model::{
    Anchor, Body, Clamp, Excitation, FatigueCycle, Force, LoadCase, Material, Model, Order,
    PlatePart, Pulley, Seat, Spacer, Span,
};
use platewright::strength::{Options, Silent, Strength, run};

/// The bracket's whole calculation, done once for all tests.
pub(crate) fn solved_bracket() -> &'static Strength {
    static DONE: OnceLock<Strength> = OnceLock::new();
    DONE.get_or_init(|| run(&bracket(), &Options::default(), &mut Silent).expect("sound"))
}

/// The two-plate set's whole calculation, done once for all tests.
pub(crate) fn solved_set() -> &'static Strength {
    static DONE: OnceLock<Strength> = OnceLock::new();
    DONE.get_or_init(|| run(&two_plate_set(), &Options::default(), &mut Silent).expect("sound"))
}

/// EN AW-6061-T6, EN 485-2 minimum strengths; fatigue limit 96.5 MPa (R = −1, 5e8, polished) less a
/// cut-edge factor of 0.7.
pub(crate) fn aluminium() -> Material {
    Material {
        id: "EN AW-6061-T6".into(),
        young_mpa: 68_900.0,
        poisson: 0.33,
        density_kg_m3: 2700.0,
        yield_mpa: 240.0,
        ultimate_mpa: 290.0,
        fatigue_mpa: 67.5,
    }
}

pub(crate) fn steel() -> Material {
    Material {
        id: "S235JR".into(),
        young_mpa: 210_000.0,
        poisson: 0.3,
        density_kg_m3: 7850.0,
        yield_mpa: 235.0,
        ultimate_mpa: 360.0,
        fatigue_mpa: 150.0,
    }
}

pub(crate) fn hole(id: &str, centre: Point, diameter_mm: f64) -> Feature {
    Feature {
        id: id.into(),
        variants: std::sync::Arc::default(),
        shape: Shape::Hole(Hole {
            centre,
            diameter_mm,
            depth: Depth::Through,
            mouth: None,
            purpose: Purpose::Plain,
        }),
    }
}

/// A triangle of three bosses with tangent webs, as one outline.
fn three_boss(bosses: [(Point, f64); 3]) -> Path {
    // Outer tangents of neighbouring circles, counter-clockwise.
    let tangent = |(a, r): (Point, f64), (b, s): (Point, f64)| {
        let d = b - a;
        let length = d.length();
        let u = d.unit().expect("two bosses apart");
        let sin = (r - s) / length;
        let cos = (1.0 - sin * sin).sqrt();
        let n = u * sin - u.left() * cos;
        (a + n * r, b + n * s)
    };
    let mut segments = Vec::new();
    for k in 0..3 {
        let (before, own, after) = (bosses[(k + 2) % 3], bosses[k], bosses[(k + 1) % 3]);
        let (_, start) = tangent(before, own);
        let (end, next) = tangent(own, after);
        segments.push(Segment::Arc {
            from: start,
            to: end,
            centre: own.0,
            radius: own.1,
            ccw: true,
        });
        segments.push(Segment::Line {
            from: end,
            to: next,
        });
    }
    Path::new(segments)
}

/// The plate of the check: bosses at two bolts and a pivot, a lightening window, 12 mm thick.
pub(crate) fn plate(id: &str, frame: Frame) -> Plate {
    let (a, b, p) = (
        Point::new(0.0, 0.0),
        Point::new(90.0, -20.0),
        Point::new(60.0, 110.0),
    );
    Plate {
        id: id.into(),
        title: "Bracket plate".into(),
        frame,
        thickness_mm: 12.0,
        material: "EN AW-6061-T6".into(),
        density_kg_m3: 2700.0,
        outline: three_boss([(a, 20.0), (b, 20.0), (p, 22.0)]),
        features: vec![
            hole("bolt A", a, 11.0),
            hole("bolt B", b, 11.0),
            hole("pivot", p, 13.0),
            Feature {
                id: "window".into(),
                variants: std::sync::Arc::default(),
                shape: Shape::Window(Path::slot(
                    Point::new(42.0, 22.0),
                    Point::new(55.0, 52.0),
                    14.0,
                )),
            },
        ],
    }
}

pub(crate) fn ring(id: &str, plate: &str, centre: Point, height_mm: f64, tied_to: Anchor) -> Clamp {
    Clamp {
        id: id.into(),
        plate: plate.into(),
        seat: Seat::Face {
            centre,
            inner_mm: 5.5,
            outer_mm: 10.5,
            height_mm,
        },
        tied_to,
    }
}

/// The bracket of the independent check: two bolts clamped to the block, a load at the pivot.
pub(crate) fn bracket() -> Model {
    let plate = plate("upper", Frame::FRONT);
    let (a, b, p) = (
        Point::new(0.0, 0.0),
        Point::new(90.0, -20.0),
        Point::new(60.0, 110.0),
    );
    Model {
        clamps: vec![
            ring("A seat", "upper", a, 0.0, Anchor::Block),
            ring("A head", "upper", a, 12.0, Anchor::Block),
            ring("B seat", "upper", b, 0.0, Anchor::Block),
            ring("B head", "upper", b, 12.0, Anchor::Block),
            Clamp {
                seat: Seat::Face {
                    centre: p,
                    inner_mm: 6.5,
                    outer_mm: 12.0,
                    height_mm: 12.0,
                },
                ..ring("pivot", "upper", p, 12.0, Anchor::Body("idler".into()))
            },
        ],
        plates: vec![PlatePart {
            plate,
            material: aluminium(),
        }],
        bodies: vec![Body {
            id: "idler".into(),
            mass_kg: 1.2,
            centre: Point3::new(60.0, 110.0, 40.0),
            inertia_kg_mm2: [900.0, 900.0, 700.0, 0.0, 0.0, 0.0],
        }],
        cases: vec![
            LoadCase {
                id: "top speed".into(),
                forces: vec![Force {
                    on: Anchor::Body("idler".into()),
                    at: Point3::new(60.0, 110.0, 45.0),
                    force_n: Vector3::new(800.0, -500.0, 0.0),
                    moment_nm: Vector3::default(),
                }],
                weight_factor: Vector3::new(0.0, -1.0, 0.0),
            },
            LoadCase {
                id: "idle".into(),
                forces: vec![Force {
                    on: Anchor::Body("idler".into()),
                    at: Point3::new(60.0, 110.0, 45.0),
                    force_n: Vector3::new(500.0, -350.0, 0.0),
                    moment_nm: Vector3::default(),
                }],
                weight_factor: Vector3::new(0.0, -1.0, 0.0),
            },
            LoadCase {
                id: "shock out".into(),
                forces: Vec::new(),
                weight_factor: Vector3::new(0.0, 0.0, 20.0),
            },
        ],
        cycles: vec![FatigueCycle {
            id: "belt and shock".into(),
            mean: vec![("top speed".into(), 0.5), ("idle".into(), 0.5)],
            amplitude: vec![
                ("top speed".into(), 0.5),
                ("idle".into(), -0.5),
                ("shock out".into(), 1.0),
            ],
        }],
        pulleys: vec![Pulley {
            id: "idler".into(),
            on: Anchor::Body("idler".into()),
            centre: Point3::new(60.0, 110.0, 45.0),
            axis: Vector3::Z,
            spans: vec![Span {
                id: "to crank".into(),
                direction: Vector3::new(0.0, -1.0, 0.0),
                length_mm: 180.0,
            }],
        }],
        excitation: Excitation {
            idle_rpm: 800.0,
            top_rpm: 2800.0,
            orders: vec![
                Order {
                    id: "firing".into(),
                    per_turn: 2.0,
                },
                Order {
                    id: "twice firing".into(),
                    per_turn: 4.0,
                },
            ],
        },
        spacers: Vec::new(),
    }
}

/// Two plates 60 mm apart on spacers, an alternator between them, the rear one bolted to the block.
pub(crate) fn two_plate_set() -> Model {
    let mut model = bracket();
    let front = Frame::FRONT.raised(72.0);
    let mut second = plate("front", front);
    // A counterbored bolt and a pocket, so that layers have floors to follow.
    if let Shape::Hole(h) = &mut second.features[0].shape {
        h.mouth = Some(Mouth::Counterbore {
            diameter_mm: 23.0,
            depth_mm: 6.0,
            face: Face::Front,
        });
    }
    model.plates.push(PlatePart {
        plate: second,
        material: aluminium(),
    });
    let (a, b, p) = (
        Point::new(0.0, 0.0),
        Point::new(90.0, -20.0),
        Point::new(60.0, 110.0),
    );
    model.clamps.truncate(4);
    for (name, centre) in [("A", a), ("B", b)] {
        model.clamps.push(ring(
            &format!("{name} front"),
            "front",
            centre,
            0.0,
            Anchor::Free,
        ));
        model.spacers.push(Spacer {
            id: format!("spacer {name}"),
            from: Anchor::Clamp(format!("{name} head")),
            to: Anchor::Clamp(format!("{name} front")),
            start: Point3::new(centre.x, centre.y, 12.0),
            end: Point3::new(centre.x, centre.y, 72.0),
            outer_mm: 21.0,
            inner_mm: 11.0,
            material: steel(),
        });
    }
    for (name, plate, height) in [("rear ear", "upper", 12.0), ("front ear", "front", 0.0)] {
        model.clamps.push(Clamp {
            id: name.into(),
            plate: plate.into(),
            seat: Seat::Face {
                centre: p,
                inner_mm: 6.5,
                outer_mm: 12.0,
                height_mm: height,
            },
            tied_to: Anchor::Body("idler".into()),
        });
    }
    model.bodies[0].mass_kg = 5.5;
    model.bodies[0].centre = Point3::new(80.0, 160.0, 42.0);
    model.bodies[0].inertia_kg_mm2 = [18_000.0, 15_000.0, 14_000.0, 0.0, 0.0, 0.0];
    model
}
