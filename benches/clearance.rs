//! How long one variant's clearance takes: about sixty bodies, built and measured.

use std::hint::black_box;
use std::sync::Arc;

use divan::Bencher;
use platewright::clearance::body::ACCESS_LENGTH_MM;
use platewright::clearance::{Body, Clamp, Motion, Prism, ReadyBody, Scene, Solid};
use platewright::geom::{Frame, Path, Point, Point3, Region, Vector3};
use platewright::tables::gap::{Kind, Limits};

/// How far beyond its limit a gap is still reported, mm.
const NEAR_MM: f64 = 10.0;

fn main() {
    divan::main();
}

/// An outline of `n` round bosses about a centre, joined by lines: 2 n pieces.
fn outline(centre: Point, reach: f64, n: u32, boss: f64) -> Path {
    let corner = |i: u32| {
        let t = std::f64::consts::TAU * f64::from(i % n) / f64::from(n);
        let r = if i.is_multiple_of(2) {
            reach
        } else {
            0.8 * reach
        };
        centre.polar(r, t)
    };
    let mut segments = Vec::new();
    let out = |i: u32| {
        -(corner(i + 1) - corner(i))
            .unit()
            .unwrap_or_default()
            .left()
            * boss
    };
    for i in 0..n {
        let (a, b) = (corner(i) + out(i), corner(i + 1) + out(i));
        segments.push(platewright::geom::Segment::Line { from: a, to: b });
        segments.push(platewright::geom::Segment::Arc {
            from: b,
            to: corner(i + 1) + out((i + 1) % n),
            centre: corner(i + 1),
            radius: boss,
            ccw: out(i).cross(out((i + 1) % n)) > 0.0,
        });
    }
    Path::new(segments)
}

fn plate(id: &str, frame: Frame, centre: Point, reach: f64, low: f64, high: f64) -> Body {
    let mut openings: Vec<Path> = (0..14)
        .map(|i| Path::circle(centre.polar(0.8 * reach, f64::from(i) * 0.449), 5.5))
        .collect();
    openings.extend((0..4).map(|i| {
        let t = 0.4 + f64::from(i) * 1.571;
        Path::slot(
            centre.polar(0.3 * reach, t),
            centre.polar(0.55 * reach, t),
            9.0,
        )
    }));
    let region = Region {
        outer: outline(centre, reach, 16, 14.0),
        openings,
    };
    Body::new(
        id,
        Kind::Fixed,
        vec![Solid::Prism(Prism::new("plate", frame, region, low, high))],
    )
    .part_of("bracket")
}

fn turned(id: &str, kind: Kind, at: Point3, parts: &[(f64, f64)]) -> Body {
    let mut z = at.z;
    let solids = parts
        .iter()
        .filter_map(|&(radius, length)| {
            let p = Prism::cylinder(
                "part",
                Point3::new(at.x, at.y, z),
                Vector3::Z,
                radius,
                length,
            );
            z += length;
            p.map(Solid::Prism)
        })
        .collect();
    Body::new(id, kind, solids)
}

fn accessories() -> Vec<Body> {
    let places = [
        (-260.0, 120.0),
        (240.0, 180.0),
        (250.0, -60.0),
        (-200.0, -120.0),
        (40.0, 260.0),
    ];
    let mut bodies = Vec::new();
    for (i, &(x, y)) in places.iter().enumerate() {
        let name = format!("accessory {i}");
        let ears = (0..3).filter_map(|k| {
            let at = Point::new(x, y).polar(75.0, 0.5 + 2.1 * f64::from(k));
            Prism::cylinder("ear", Point3::new(at.x, at.y, 20.0), Vector3::Z, 14.0, 22.0)
        });
        let mut body = turned(
            &name,
            Kind::Fixed,
            Point3::new(x, y, -90.0),
            &[(62.0, 110.0), (40.0, 25.0)],
        );
        body.solids.extend(ears.map(Solid::Prism));
        bodies.push(body);
        let pulley = format!("pulley {i}");
        bodies.push(
            turned(
                &pulley,
                Kind::Moving,
                Point3::new(x, y, 45.0),
                &[(34.0, 4.0), (31.0, 22.0), (34.0, 4.0)],
            )
            .part_of(&name),
        );
    }
    bodies.push(turned(
        "crank pulley",
        Kind::Moving,
        Point3::new(0.0, 0.0, 40.0),
        &[(88.0, 30.0)],
    ));
    bodies.push(turned(
        "idler",
        Kind::Moving,
        Point3::new(120.0, 60.0, 45.0),
        &[(38.0, 26.0)],
    ));
    bodies
}

fn hoses() -> Vec<Body> {
    let clamp = |mm: f64| Clamp {
        along_mm: mm,
        outer_mm: 48.0,
        width_mm: 12.0,
    };
    [(-60.0, 34.0), (150.0, 40.0), (330.0, 28.0)]
        .iter()
        .enumerate()
        .map(|(i, &(x, diameter))| {
            Body::hose(
                format!("hose {i}"),
                vec![
                    Point3::new(x, -180.0, -40.0),
                    Point3::new(x + 15.0, -60.0, -20.0),
                    Point3::new(x + 10.0, 90.0, -30.0),
                    Point3::new(x - 30.0, 200.0, -60.0),
                    Point3::new(x - 60.0, 320.0, -70.0),
                ],
                diameter,
                &[clamp(15.0), clamp(480.0)],
            )
        })
        .collect()
}

/// The demo's size: plates, spacers, heads with socket room, pulleys, belt, bodies, hoses.
fn bodies() -> Vec<Body> {
    let side =
        Frame::new(Point3::new(-330.0, 0.0, 0.0), -Vector3::X, Vector3::Z).unwrap_or(Frame::FRONT);
    let mut bodies = vec![
        plate(
            "front plate",
            Frame::FRONT,
            Point::new(-120.0, 40.0),
            170.0,
            0.0,
            12.0,
        ),
        plate(
            "right plate",
            Frame::FRONT,
            Point::new(200.0, 60.0),
            150.0,
            0.0,
            12.0,
        ),
        plate(
            "stay",
            Frame::FRONT,
            Point::new(20.0, 220.0),
            90.0,
            20.0,
            30.0,
        ),
        plate(
            "side plate",
            side,
            Point::new(-20.0, 40.0),
            110.0,
            0.0,
            10.0,
        ),
    ];
    bodies.extend(accessories());
    bodies.extend(hoses());
    for i in 0..14 {
        let at = Point::new(-120.0, 40.0).polar(136.0, f64::from(i) * 0.449);
        let here = |z: f64| Point3::new(at.x, at.y, z);
        bodies.push(
            turned(
                &format!("spacer {i}"),
                Kind::Fixed,
                here(-25.0),
                &[(11.0, 25.0)],
            )
            .part_of("bracket"),
        );
        bodies.push(
            turned(
                &format!("head {i}"),
                Kind::Fixed,
                here(12.0),
                &[(11.2, 1.5), (9.2, 8.9)],
            )
            .part_of("bracket"),
        );
        if i % 2 == 0 {
            let room = Body::tool_access(
                format!("socket {i}"),
                "bracket",
                here(22.4),
                Vector3::Z,
                12.5,
                ACCESS_LENGTH_MM,
            );
            bodies.extend(room);
        }
    }
    let band = Region {
        outer: outline(Point::new(0.0, 90.0), 300.0, 8, 36.0),
        openings: vec![outline(Point::new(0.0, 90.0), 300.0, 8, 31.0)],
    };
    bodies.push(Body::new(
        "belt",
        Kind::Belt,
        vec![Solid::Prism(Prism::new(
            "belt",
            Frame::FRONT,
            band,
            49.0,
            70.0,
        ))],
    ));
    bodies.push(turned(
        "exhaust",
        Kind::Hot,
        Point3::new(-380.0, -160.0, -300.0),
        &[(45.0, 380.0)],
    ));
    bodies
}

#[divan::bench]
fn a_variant_built_and_measured(bencher: Bencher) {
    let (bodies, limits) = (bodies(), Limits::standard());
    assert_eq!(bodies.len(), 56);
    assert_eq!(Scene::of(&bodies, &[]).gaps(&limits, NEAR_MM).len(), 44);
    bencher.bench(|| black_box(Scene::of(black_box(&bodies), &[]).gaps(&limits, NEAR_MM)));
}

#[divan::bench]
fn a_variant_measured(bencher: Bencher) {
    let limits = Limits::standard();
    let scene = Scene::of(&bodies(), &[]);
    bencher.bench(|| black_box(black_box(&scene).gaps(&limits, NEAR_MM)));
}

#[divan::bench]
fn a_variant_that_changes_one_accessory(bencher: Bencher) {
    let limits = Limits::standard();
    let ready: Vec<Arc<ReadyBody>> = bodies().iter().map(ReadyBody::new).collect();
    // The ground without the accessory is measured once; each variant adds its own.
    let mut standing = ready.clone();
    standing.drain(4..6);
    let ground = Scene::new(standing, &[]);
    let known = ground.gaps(&limits, NEAR_MM);
    let other = accessories();
    bencher.bench_local(|| {
        let guests = [ReadyBody::new(&other[0]), ReadyBody::new(&other[1])];
        let mut gaps = known.clone();
        gaps.extend(ground.gaps_to(&guests, 4, &limits, NEAR_MM));
        black_box(gaps)
    });
}

#[divan::bench]
fn a_tensioner_arm_swept_over_40_degrees(bencher: Bencher) {
    let limits = Limits::standard();
    let scene = Scene::of(&bodies(), &[]);
    let arm = turned(
        "tensioner",
        Kind::Moving,
        Point3::new(80.0, 170.0, 45.0),
        &[(36.0, 26.0)],
    );
    let motion = Motion::Turn {
        pivot: Point3::new(95.0, 90.0, 0.0),
        axis: Vector3::Z,
        from_rad: -0.35,
        to_rad: 0.35,
    };
    bencher.bench(|| black_box(scene.gaps_on_the_way(black_box(&arm), &motion, &limits, NEAR_MM)));
}
