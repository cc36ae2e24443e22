//! What holds for every outline, whatever the shapes.

use platewright::geom::{Path, Point, Vector};
use platewright::outline::{Disc, Outline, OutlineError, Shape, build, check_outline, hull, webs};
use proptest::prelude::*;

fn metal(o: &Outline) -> f64 {
    o.outer.area() - o.inner.iter().map(Path::area).sum::<f64>()
}

fn disc() -> impl Strategy<Value = Disc> {
    (0.0..300.0, 0.0..300.0, 8.0..40.0).prop_map(|(x, y, r)| Disc::new(Point::new(x, y), r))
}

/// Bosses joined by the default webs.
fn shapes(bosses: &[Disc]) -> Vec<Shape> {
    let webs = webs::automatic(bosses)
        .into_iter()
        .map(|(i, j)| Shape::Taper {
            a: bosses[i],
            b: bosses[j],
        });
    bosses.iter().map(|&d| Shape::Disc(d)).chain(webs).collect()
}

fn bosses() -> impl Strategy<Value = Vec<Disc>> {
    prop::collection::vec(disc(), 2..9)
}

/// Numbers a file may hold, sensible and not.
fn any_number() -> impl Strategy<Value = f64> {
    prop_oneof![
        8 => -500.0..500.0,
        2 => (-30_i32..30).prop_map(|k| f64::from(k) * 10.0),
        1 => prop::sample::select(vec![
            0.0, -0.0, 1e-5, 1e-12, -1.0, 1e5, 1e300, f64::NAN, f64::INFINITY, f64::NEG_INFINITY, f64::MIN_POSITIVE,
        ]),
    ]
}

fn any_shape() -> impl Strategy<Value = Shape> {
    let point = || (any_number(), any_number()).prop_map(|(x, y)| Point::new(x, y));
    let any_disc = || (point(), any_number()).prop_map(|(p, r)| Disc::new(p, r));
    prop_oneof![
        any_disc().prop_map(Shape::Disc),
        (any_disc(), any_disc()).prop_map(|(a, b)| Shape::Taper { a, b }),
        (point(), point(), any_number()).prop_map(|(a, b, width)| Shape::Bar { a, b, width }),
        prop::collection::vec(point(), 0..6).prop_map(|p| Shape::Drawn(Path::polygon(&p))),
        (point(), point(), any_number()).prop_map(|(a, b, r)| Shape::Drawn(Path::slot(a, b, r))),
        prop::collection::vec(any_disc(), 0..6).prop_map(|d| Shape::Drawn(hull(&d))),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 256, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn the_order_of_the_shapes_does_not_matter(
        (shapes, shuffled) in bosses().prop_map(|b| shapes(&b)).prop_flat_map(|s| (Just(s.clone()), Just(s).prop_shuffle())),
        fillet in 1.0..12.0,
    ) {
        let (a, b) = (build(&shapes, fillet).unwrap(), build(&shuffled, fillet).unwrap());
        prop_assert!((metal(&a) / metal(&b) - 1.0).abs() < 1e-9);
        prop_assert_eq!(a.inner.len(), b.inner.len());
    }

    #[test]
    fn a_moved_and_turned_bracket_keeps_its_area(
        bosses in bosses(), fillet in 1.0..12.0, turn in 0.0..6.3, x in -500.0..500.0, y in -500.0..500.0,
    ) {
        let moved: Vec<Disc> = bosses
            .iter()
            .map(|d| Disc::new(Point::ORIGIN + d.centre.to_vector().turned(turn) + Vector::new(x, y), d.radius))
            .collect();
        // The same webs on both, so that a tie in the choice does not tell.
        let pairs = webs::automatic(&bosses);
        let with_webs = |discs: &[Disc]| -> Vec<Shape> {
            let webs = pairs.iter().map(|&(i, j)| Shape::Taper { a: discs[i], b: discs[j] });
            discs.iter().map(|&d| Shape::Disc(d)).chain(webs).collect()
        };
        let a = build(&with_webs(&bosses), fillet).unwrap();
        let b = build(&with_webs(&moved), fillet).unwrap();
        // A gap within the input grid of the cutter's width may be bridged in one and not in the other.
        prop_assume!(a.bridges.is_empty() && b.bridges.is_empty() && a.inner.len() == b.inner.len());
        prop_assert!((metal(&a) / metal(&b) - 1.0).abs() < 1e-5, "{} {}", metal(&a), metal(&b));
    }

    #[test]
    fn larger_bosses_and_larger_fillets_never_take_metal_away(
        bosses in bosses(), fillet in 1.0..12.0, more in 0.0..5.0,
    ) {
        let larger: Vec<Disc> = bosses.iter().map(|d| Disc::new(d.centre, d.radius + more)).collect();
        let pairs = webs::automatic(&bosses);
        let outline = |discs: &[Disc], fillet: f64| {
            let webs = pairs.iter().map(|&(i, j)| Shape::Taper { a: discs[i], b: discs[j] });
            let shapes: Vec<Shape> = discs.iter().map(|&d| Shape::Disc(d)).chain(webs).collect();
            build(&shapes, fillet).unwrap()
        };
        let (a, b, c) = (outline(&bosses, fillet), outline(&larger, fillet), outline(&bosses, fillet + more));
        // A bridge adds more than growth alone does.
        prop_assume!(a.bridges.is_empty());
        prop_assert!(metal(&b) > metal(&a) * (1.0 - 1e-6));
        prop_assert!(metal(&c) > metal(&a) * (1.0 - 1e-6));
    }

    #[test]
    fn every_boss_lies_within_the_outline(bosses in bosses(), fillet in 0.0..12.0) {
        let o = build(&shapes(&bosses), fillet).unwrap();
        prop_assert_eq!(check_outline(&o, fillet), Ok(()));
        for d in &bosses {
            for loop_path in std::iter::once(&o.outer).chain(&o.inner) {
                prop_assert!(loop_path.nearest(d.centre).distance(d.centre) > d.radius - 1e-3);
            }
            prop_assert!(o.outer.contains(d.centre));
        }
    }

    #[test]
    fn the_hull_of_bosses_holds_them_all_and_is_convex(discs in prop::collection::vec(disc(), 1..12)) {
        let path = hull(&discs);
        prop_assert!(path.area() > 0.0);
        for d in &discs {
            prop_assert!(path.nearest(d.centre).distance(d.centre) > d.radius - 1e-3);
            prop_assert!(path.contains(d.centre));
        }
        let o = build(&[Shape::Drawn(path.clone())], 5.0).unwrap();
        prop_assert!((o.outer.area() / path.area() - 1.0).abs() < 1e-9);
    }

    #[test]
    fn no_input_panics_and_what_is_built_is_sound(
        shapes in prop::collection::vec(any_shape(), 0..6), fillet in prop_oneof![3 => 0.0..30.0, 1 => 0.0..1000.0, 1 => any_number()],
    ) {
        match build(&shapes, fillet) {
            Ok(o) => prop_assert_eq!(check_outline(&o, fillet), Ok(())),
            Err(OutlineError::ConstructionFailed { check }) => prop_assert!(false, "{}", check),
            Err(e) => prop_assert!(!e.to_string().is_empty()),
        }
    }
}
