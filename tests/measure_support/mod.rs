//! Random bench networks with a known truth.

#![allow(
    dead_code,
    reason = "each test file uses its own share of these networks"
)]

use platewright::measure::statistics::NormalSequence;
use platewright::measure::{
    Datum, Edge, EdgeTarget, Face, Hole, Kind, Network, Pair, Reading, Side, Sight, Size, Surface,
};

/// A network and the true places of its holes.
pub(crate) struct Simulated {
    pub(crate) network: Network,
    pub(crate) truth: Vec<[f64; 2]>,
}

/// A random pattern with `holes` holes, each read to `reach` nearest-numbered random others at least.
///
/// Readings and diameters carry normal noise of their stated deviation. The
/// first two holes are level and the third is seen above the first.
pub(crate) fn simulate(seed: u64, holes: usize, reach: usize) -> Simulated {
    let mut s = NormalSequence::new(seed);
    let truth = scatter(&mut s, holes);
    let bores: Vec<f64> = (0..holes).map(|_| 8.0 + 6.0 * s.uniform()).collect();
    let names: Vec<String> = (0..holes).map(|i| format!("H{}", i + 1)).collect();
    let hole_list = (0..holes)
        .map(|i| {
            let mut bore = Size::bore(bores[i]);
            bore.diameter_mm += bore.sd_mm * s.normal();
            let mut pin = Size::pin(bores[i] - 0.05);
            pin.diameter_mm += pin.sd_mm * s.normal();
            Hole {
                name: names[i].clone(),
                bore: Some(bore),
                pin: Some(pin),
                ..Hole::default()
            }
        })
        .collect();
    let mut pairs: Vec<(usize, usize)> = Vec::new();
    for i in 0..holes {
        let mut tries = 0;
        while pairs.iter().filter(|p| p.0 == i || p.1 == i).count() < reach.min(holes - 1)
            && tries < 200
        {
            let j = (s.uniform() * holes as f64) as usize % holes;
            let pair = (i.min(j), i.max(j));
            if i != j && !pairs.contains(&pair) {
                pairs.push(pair);
            }
            tries += 1;
        }
    }
    let readings = pairs
        .iter()
        .enumerate()
        .map(|(n, (i, j))| Reading {
            source: Some(n),
            ..read(&mut s, &truth, &bores, &names, *i, *j)
        })
        .collect();
    Simulated {
        network: Network {
            name: format!("random {seed}"),
            holes: hole_list,
            readings,
            datum: Datum {
                origin: Some(names[0].clone()),
                pair: Some(Pair::Level(names[0].clone(), names[1].clone())),
                ..Datum::default()
            },
            sights: vec![Sight {
                hole: names[2].clone(),
                side: Side::Above,
                of: names[0].clone(),
                source: None,
            }],
            ..Network::default()
        },
        truth,
    }
}

/// Hole places: at least 28 mm apart in 320 × 220 mm, the first two level, the third above.
fn scatter(s: &mut NormalSequence, holes: usize) -> Vec<[f64; 2]> {
    let mut points: Vec<[f64; 2]> = vec![[0.0, 0.0]];
    while points.len() < holes {
        let x = 320.0 * (s.uniform() - 0.4);
        let y = 220.0 * (s.uniform() - 0.5);
        let p = match points.len() {
            1 => [x.abs() + 60.0, 0.0],
            2 => [x, y.abs() + 15.0],
            _ => [x, y],
        };
        if points
            .iter()
            .all(|q| (p[0] - q[0]).hypot(p[1] - q[1]) > 28.0)
        {
            points.push(p);
        }
    }
    points
}

/// One reading between two holes, of a random kind.
fn read(
    s: &mut NormalSequence,
    truth: &[[f64; 2]],
    bores: &[f64],
    names: &[String],
    i: usize,
    j: usize,
) -> Reading {
    let d = (truth[i][0] - truth[j][0]).hypot(truth[i][1] - truth[j][1]);
    let (a, b) = (names[i].clone(), names[j].clone());
    let (ri, rj) = (0.5 * bores[i], 0.5 * bores[j]);
    let (kind, value) = match (s.uniform() * 5.0) as usize {
        0 => (
            Kind::Inside {
                a,
                b,
                surface: Surface::Bore,
            },
            d - ri - rj,
        ),
        1 => (
            Kind::SameSide {
                a,
                b,
                surface: Surface::Bore,
            },
            d + ri - rj,
        ),
        2 => (Kind::Centres { a, b }, d),
        _ => (
            Kind::Over {
                a,
                b,
                surface: Surface::Pin,
            },
            d + ri + rj - 0.05,
        ),
    };
    let sd = kind.default_sd_mm().0;
    Reading::new(kind, value + sd * s.normal())
}

/// The front of the forwarder's block: eight holes, twenty-four readings with noise, one edge, three faces.
pub(crate) fn block_face() -> Network {
    let text = include_str!("../data/measure_block_face.csv");
    let mut network = Network {
        name: "Forwarder engine, front face, left side".to_owned(),
        datum: Datum {
            origin: Some("A1".to_owned()),
            pair: Some(Pair::Level("A1".to_owned(), "A2".to_owned())),
            ..Datum::default()
        },
        ..Network::default()
    };
    for (n, line) in text.lines().enumerate() {
        let f: Vec<&str> = line.split(',').map(str::trim).collect();
        let number = |i: usize| f[i].parse::<f64>().expect("a number");
        match f[0] {
            "hole" => network.holes.push(Hole {
                name: f[1].to_owned(),
                bore: (f[2] != "-").then(|| Size::bore(number(2))),
                pin: (f[3] != "-").then(|| Size::pin(number(3))),
                face: (f[4] != "-").then(|| f[4].to_owned()),
                ..Hole::default()
            }),
            "face" => network.faces.push(Face {
                name: f[1].to_owned(),
                ..Face::default()
            }),
            "edge" => network.edges.push(Edge {
                name: f[1].to_owned(),
                holes_lie: Side::Above,
                square: false,
                at_mm: None,
                source: None,
            }),
            "step" => network.readings.push(Reading::new(
                Kind::Step {
                    upper: f[1].to_owned(),
                    lower: f[2].to_owned(),
                },
                number(3),
            )),
            "from" => network.readings.push(Reading::new(
                Kind::FromEdge {
                    edge: f[1].to_owned(),
                    hole: f[2].to_owned(),
                    to: EdgeTarget::Near(Surface::Bore),
                },
                number(3),
            )),
            word => {
                let (a, b) = (f[1].to_owned(), f[2].to_owned());
                let kind = match word {
                    "inside" => Kind::Inside {
                        a,
                        b,
                        surface: Surface::Bore,
                    },
                    "over" => Kind::Over {
                        a,
                        b,
                        surface: Surface::Pin,
                    },
                    "same" => Kind::SameSide {
                        a,
                        b,
                        surface: Surface::Bore,
                    },
                    _ => Kind::Centres { a, b },
                };
                network.readings.push(Reading::new(kind, number(3)));
            }
        }
        if let Some(r) = network.readings.last_mut()
            && r.source.is_none()
        {
            r.source = Some(n + 1);
        }
    }
    network
}
