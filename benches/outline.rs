//! How long a bracket outline with fillets takes.

use platewright::geom::Point;
use platewright::outline::{Disc, Shape, build, hull, webs};

fn main() {
    divan::main();
}

/// A front plate for alternator, idler and compressor: twelve bosses, mm.
const BOSSES: [(f64, f64, f64); 12] = [
    (0.0, 0.0, 16.0),
    (78.5, -6.0, 16.0),
    (152.0, 4.5, 16.0),
    (228.0, 22.0, 18.0),
    (262.0, 96.0, 20.0),
    (240.0, 171.0, 16.0),
    (171.0, 204.0, 24.0),
    (88.0, 192.0, 16.0),
    (14.0, 168.0, 18.0),
    (-24.0, 92.0, 20.0),
    (92.0, 96.0, 28.0),
    (171.0, 110.0, 14.0),
];

fn bracket(count: usize) -> Vec<Shape> {
    let bosses: Vec<Disc> = BOSSES[..count]
        .iter()
        .map(|&(x, y, r)| Disc::new(Point::new(x, y), r))
        .collect();
    let mut shapes: Vec<Shape> = bosses.iter().map(|&b| Shape::Disc(b)).collect();
    for (i, j) in webs::automatic(&bosses) {
        shapes.push(Shape::Taper {
            a: bosses[i],
            b: bosses[j],
        });
    }
    shapes
}

/// Bosses and automatic webs, concave corners filleted to 5 mm.
#[divan::bench(args = [8, 10, 12])]
fn bosses_and_webs(bencher: divan::Bencher, count: usize) {
    let shapes = bracket(count);
    bencher.bench(|| build(&shapes, 5.0));
}

/// The convex hull of twelve bosses as the one shape.
#[divan::bench]
fn convex_hull(bencher: divan::Bencher) {
    let discs: Vec<Disc> = BOSSES
        .iter()
        .map(|&(x, y, r)| Disc::new(Point::new(x, y), r))
        .collect();
    bencher.bench(|| build(&[Shape::Drawn(hull(&discs))], 5.0));
}

/// Choosing webs for twelve bosses.
#[divan::bench]
fn automatic_webs(bencher: divan::Bencher) {
    let discs: Vec<Disc> = BOSSES
        .iter()
        .map(|&(x, y, r)| Disc::new(Point::new(x, y), r))
        .collect();
    bencher.bench(|| webs::automatic(&discs));
}
