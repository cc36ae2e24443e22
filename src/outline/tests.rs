use std::f64::consts::PI;

use super::*;
use crate::geom::Point;

fn disc(x: f64, y: f64, radius: f64) -> Disc {
    Disc {
        centre: Point::new(x, y),
        radius,
    }
}

fn web(a: Disc, b: Disc) -> [Shape; 3] {
    [Shape::Disc(a), Shape::Disc(b), Shape::Taper { a, b }]
}

#[test]
fn a_single_boss_is_one_full_circle() {
    let o = build(&[Shape::Disc(disc(3.0, 4.0, 12.0))], 5.0).expect("a disc");
    assert_eq!(o.outer.segments.len(), 1);
    assert!((o.outer.area() - PI * 144.0).abs() < 1e-9);
}

#[test]
fn a_tapered_web_has_the_area_of_the_hull_of_its_bosses() {
    let (a, b) = (disc(0.0, 0.0, 20.0), disc(100.0, 0.0, 10.0));
    let o = build(&web(a, b), 6.0).expect("a web");
    let lean = (10.0_f64 / 100.0).asin();
    let side = (100.0_f64 * 100.0 - 100.0).sqrt();
    let area = side * 30.0 + 400.0 * (PI / 2.0 + lean) + 100.0 * (PI / 2.0 - lean);
    assert!(
        (o.outer.area() - area).abs() < 1e-6,
        "{} {area}",
        o.outer.area()
    );
    assert_eq!(o.outer.segments.len(), 4);
}

#[test]
fn two_webs_on_one_boss_keep_their_area() {
    // A published boolean loses 70 mm2 here without a word.
    let (a, b, c) = (
        disc(40.0, 100.0, 20.0),
        disc(20.0, 190.0, 15.0),
        disc(200.0, 290.0, 20.0),
    );
    let mut shapes = web(a, b).to_vec();
    shapes.extend(web(a, c));
    let o = build(&shapes, 0.0).expect("two webs");
    assert!(
        (o.outer.area() - 13826.43).abs() < 0.01,
        "{}",
        o.outer.area()
    );
}

#[test]
fn a_ring_of_webs_encloses_an_opening_with_rounded_corners() {
    let d = [
        disc(0.0, 0.0, 12.0),
        disc(120.0, 0.0, 12.0),
        disc(120.0, 90.0, 12.0),
        disc(0.0, 90.0, 12.0),
    ];
    let mut shapes = Vec::new();
    for i in 0..4 {
        shapes.extend(web(d[i], d[(i + 1) % 4]));
    }
    let o = build(&shapes, 5.0).expect("a ring");
    assert_eq!(o.inner.len(), 1);
    let rect = 96.0 * 66.0 - (4.0 - PI) * 25.0;
    assert!(
        (o.inner[0].area() - rect).abs() < 1e-6,
        "{}",
        o.inner[0].area()
    );
}

#[test]
fn loose_bosses_are_named() {
    let e = build(
        &[
            Shape::Disc(disc(0.0, 0.0, 10.0)),
            Shape::Disc(disc(100.0, 0.0, 10.0)),
        ],
        3.0,
    )
    .expect_err("two pieces");
    assert_eq!(
        e,
        OutlineError::NotConnected {
            groups: vec![vec![0], vec![1]]
        }
    );
}

#[test]
fn touching_bosses_are_joined_and_can_be_cut() {
    let o = build(
        &[
            Shape::Disc(disc(0.0, 0.0, 20.0)),
            Shape::Disc(disc(40.0, 0.0, 20.0)),
        ],
        4.0,
    )
    .expect("touching discs");
    assert!(check::shape(&o.outer, 4.0).is_ok());
    assert!(o.outer.area() > 2.0 * PI * 400.0);
}

#[test]
fn a_hull_of_bosses_wraps_them_all() {
    let d = [
        disc(0.0, 0.0, 10.0),
        disc(100.0, 10.0, 15.0),
        disc(60.0, 80.0, 8.0),
        disc(50.0, 30.0, 5.0),
    ];
    let h = hull(&d);
    for x in &d {
        let g = h.gap_to_point(x.centre);
        assert!(h.contains(x.centre) && g.distance >= x.radius - 1e-9);
    }
    assert_eq!(h.segments.len(), 6);
}

#[test]
fn bad_sizes_are_refused_with_their_shape() {
    let bad = |s: Shape| build(&[Shape::Disc(disc(0.0, 0.0, 10.0)), s], 3.0).expect_err("bad");
    assert_eq!(bad(Shape::Disc(disc(0.0, 0.0, 0.0))).shapes(), vec![1]);
    assert_eq!(bad(Shape::Disc(disc(f64::NAN, 0.0, 5.0))).shapes(), vec![1]);
    assert_eq!(bad(Shape::Disc(disc(0.0, 0.0, f64::NAN))).shapes(), vec![1]);
    let d = disc(1.0, 1.0, 5.0);
    assert_eq!(bad(Shape::Taper { a: d, b: d }).shapes(), vec![1]);
    assert_eq!(build(&[], 3.0), Err(OutlineError::Nothing));
}
