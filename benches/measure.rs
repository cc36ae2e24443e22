//! How long a bench network takes: sixteen holes, sixty readings, everything from the start to the judged readings.

use std::hint::black_box;

use platewright::measure::statistics::NormalSequence;
use platewright::measure::{
    Datum, Hole, Kind, Network, Options, Pair, Reading, Side, Sight, Size, Surface, solve,
};

fn main() {
    divan::main();
}

/// Sixteen holes on a wavy ring and inside it, each read to its neighbours.
fn network() -> Network {
    let mut s = NormalSequence::new(16);
    let truth: Vec<[f64; 2]> = (0..16)
        .map(|i| {
            let (ring, size) = if i < 11 { (11.0, 150.0) } else { (5.0, 65.0) };
            let angle = std::f64::consts::TAU * f64::from(i) / ring;
            let radius = size + 20.0 * s.uniform();
            [radius * angle.cos(), radius * angle.sin()]
        })
        .collect();
    let name = |i: usize| format!("H{}", i + 1);
    let mut pairs: Vec<(f64, usize, usize)> = Vec::new();
    for i in 0..16 {
        for j in i + 1..16 {
            pairs.push((
                (truth[i][0] - truth[j][0]).hypot(truth[i][1] - truth[j][1]),
                i,
                j,
            ));
        }
    }
    pairs.sort_by(|a, b| a.0.total_cmp(&b.0));
    let readings = pairs
        .iter()
        .take(60)
        .map(|(d, i, j)| {
            let (a, b) = (name(*i), name(*j));
            let surface = Surface::Pin;
            Reading::new(Kind::Over { a, b, surface }, d + 10.0 + 0.05 * s.normal())
        })
        .collect();
    Network {
        holes: (0..16)
            .map(|i| Hole {
                name: name(i),
                pin: Some(Size::pin(10.0)),
                ..Hole::default()
            })
            .collect(),
        readings,
        datum: Datum {
            pair: Some(Pair::Level(name(0), name(1))),
            ..Datum::default()
        },
        sights: vec![Sight {
            hole: name(5),
            side: Side::Above,
            of: name(0),
            source: None,
        }],
        ..Network::default()
    }
}

#[divan::bench]
fn sixteen_holes_sixty_readings(bencher: divan::Bencher<'_, '_>) {
    let network = network();
    let checked = solve(&network, Options::default()).expect("a sound network");
    assert_eq!(checked.readings.len(), 60);
    bencher.bench_local(|| solve(black_box(&network), Options::default()));
}
