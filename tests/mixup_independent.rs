//! Mix-ups against the symmetry groups of textbook patterns and against a brute-force minimax in scipy.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a helper of a test fails it by panicking"
)]

use std::collections::BTreeSet;
use std::f64::consts::TAU;
use std::io::Write as _;
use std::process::{Command, Stdio};

use platewright::geom::Point;
use platewright::mixup::{Bolt, Centre, Face, Opening, Place, Way, ways};
use serde_json::{Value, json};

const D: f64 = 10.0;

fn opening(name: String, at: Point, diameter_mm: f64) -> Opening {
    Opening {
        name,
        centre: Centre::Round(at),
        diameter_mm,
        mounting: true,
    }
}

fn bolt(name: String, at: Point) -> Bolt {
    Bolt {
        name,
        at,
        face_mm: 0.0,
        d_mm: D,
        thread: "M10x1.5".to_owned(),
        seat_mm: 22.0,
    }
}

/// A plate on its own bolts, all holes 11 mm over M10.
fn on_itself(points: &[(f64, f64)]) -> Vec<Way> {
    let at = |k: usize| Point::new(points[k].0, points[k].1);
    let names = (0..points.len()).map(|k| format!("block.A{k}"));
    let openings: Vec<Opening> = names
        .clone()
        .enumerate()
        .map(|(k, n)| opening(n, at(k), 11.0))
        .collect();
    let bolts: Vec<Bolt> = names.enumerate().map(|(k, n)| bolt(n, at(k))).collect();
    let face = Face {
        bolts: bolts.clone(),
        own: true,
    };
    ways("p", &openings, &face, &[("p".to_owned(), bolts)])
}

fn polygon(n: usize, r: f64) -> Vec<(f64, f64)> {
    (0..n)
        .map(|k| {
            let a = 0.3 + TAU * k as f64 / n as f64;
            (120.0 + r * a.cos(), -40.0 + r * a.sin())
        })
        .collect()
}

/// The symmetries of plane figures: dihedral groups, order 2n for a regular n-gon, 4 for a rectangle
/// or a segment, 2 for an isosceles triangle (H. S. M. Coxeter, Introduction to Geometry, 2nd ed.,
/// Wiley 1969, section 2.7). The plate as drawn is the identity and counts for none.
#[test]
fn textbook_patterns_fit_in_as_many_wrong_ways_as_they_have_symmetries() {
    /// What it is, its holes, and how many motions carry it into itself.
    type Figure = (&'static str, Vec<(f64, f64)>, usize);
    let cases: [Figure; 9] = [
        ("two holes", vec![(0.0, 0.0), (80.0, 15.0)], 4),
        ("equilateral triangle", polygon(3, 40.0), 6),
        ("square", polygon(4, 40.0), 8),
        ("regular pentagon", polygon(5, 40.0), 10),
        ("regular hexagon", polygon(6, 40.0), 12),
        (
            "rectangle",
            vec![(0.0, 0.0), (90.0, 0.0), (90.0, 60.0), (0.0, 60.0)],
            4,
        ),
        (
            "isosceles triangle",
            vec![(0.0, 0.0), (60.0, 0.0), (30.0, 70.0)],
            2,
        ),
        (
            "scalene triangle",
            vec![(0.0, 0.0), (60.0, 0.0), (20.0, 70.0)],
            1,
        ),
        (
            "parallelogram",
            vec![(0.0, 0.0), (90.0, 0.0), (120.0, 60.0), (30.0, 60.0)],
            2,
        ),
    ];
    for (name, points, symmetries) in cases {
        let found = on_itself(&points);
        assert_eq!(found.len(), symmetries - 1, "{name}: {found:?}");
        assert!(found.iter().all(|w| w.place == Place::Own), "{name}");
        let turned = found.iter().filter(|w| w.motion.turned_over).count();
        let expected = match name {
            "scalene triangle" | "parallelogram" => 0,
            _ => symmetries / 2,
        };
        assert_eq!(turned, expected, "{name}");
    }
}

/// A small generator of its own, so that a case is its seed (Numerical Recipes' constants).
struct Random(u64);

impl Random {
    fn next(&mut self) -> f64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1_u64 << 53) as f64
    }

    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.next()
    }
}

/// A pattern, regular or not, and bolts: the pattern moved and each bolt pushed by about the clearance.
fn random_case(seed: u64) -> (Vec<Opening>, Vec<Bolt>) {
    let mut r = Random(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) + 1);
    let n = 2 + (r.next() * 4.0) as usize;
    let points: Vec<(f64, f64)> = if r.next() < 0.5 {
        polygon(n, r.between(25.0, 90.0))
    } else {
        (0..n)
            .map(|_| (r.between(-90.0, 90.0), r.between(-90.0, 90.0)))
            .collect()
    };
    let (turn, x, y) = (
        r.between(0.0, TAU),
        r.between(-300.0, 300.0),
        r.between(-300.0, 300.0),
    );
    let flip = if r.next() < 0.5 { -1.0 } else { 1.0 };
    let push = r.between(0.0, 1.2);
    let openings: Vec<Opening> = points
        .iter()
        .enumerate()
        .map(|(k, p)| {
            let wide = D + r.between(0.4, 2.0);
            opening(format!("o{k}"), Point::new(p.0, p.1), wide)
        })
        .collect();
    let mut bolts: Vec<Bolt> = points
        .iter()
        .enumerate()
        .map(|(k, p)| {
            let (px, py) = (flip * p.0, p.1);
            let at = Point::new(
                x + px * turn.cos() - py * turn.sin() + push * r.between(-1.0, 1.0),
                y + px * turn.sin() + py * turn.cos() + push * r.between(-1.0, 1.0),
            );
            bolt(format!("f{k}"), at)
        })
        .collect();
    if r.next() < 0.4 {
        let k = bolts.len();
        let at = Point::new(x + r.between(-90.0, 90.0), y + r.between(-90.0, 90.0));
        bolts.push(bolt(format!("f{k}"), at));
    }
    (openings, bolts)
}

fn choices(found: &[Way]) -> BTreeSet<(bool, Vec<usize>)> {
    let number = |s: &str| s[1..].parse::<usize>().unwrap();
    found
        .iter()
        .map(|w| {
            let mut by_hole: Vec<(usize, usize)> = w
                .through
                .iter()
                .map(|(o, b)| (number(o), number(b)))
                .collect();
            by_hole.sort_unstable();
            (
                w.motion.turned_over,
                by_hole.into_iter().map(|(_, b)| b).collect(),
            )
        })
        .collect()
}

#[test]
fn random_patterns_fit_where_a_minimax_in_scipy_says_they_do() {
    let python = std::env::var("PLATEWRIGHT_PYTHON")
        .expect("PLATEWRIGHT_PYTHON names the interpreter with scipy");
    let cases: Vec<(Vec<Opening>, Vec<Bolt>)> = (0..240).map(random_case).collect();
    let sent: Vec<Value> = cases
        .iter()
        .map(|(openings, bolts)| {
            json!({
                "d": D,
                "holes": openings.iter().map(|o| {
                    let p = o.centre.at(0.5);
                    [p.x, p.y, o.diameter_mm]
                }).collect::<Vec<_>>(),
                "bolts": bolts.iter().map(|b| [b.at.x, b.at.y]).collect::<Vec<_>>(),
            })
        })
        .collect();
    let mut child = Command::new(python)
        .arg("tests/python/check_mixup.py")
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .expect("the interpreter starts");
    let input = serde_json::to_vec(&sent).unwrap();
    child.stdin.take().unwrap().write_all(&input).unwrap();
    let output = child.wait_with_output().unwrap();
    assert!(output.status.success());
    let answers: Vec<Value> = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!(answers.len(), cases.len());
    let read = |v: &Value| -> BTreeSet<(bool, Vec<usize>)> {
        v.as_array()
            .unwrap()
            .iter()
            .map(|c| {
                let list = c[1].as_array().unwrap();
                let list = list.iter().map(|i| i.as_u64().unwrap() as usize).collect();
                (c[0].as_bool().unwrap(), list)
            })
            .collect()
    };
    let (mut fitting, mut none, mut close_calls) = (0, 0, 0);
    for (seed, ((openings, bolts), answer)) in cases.iter().zip(&answers).enumerate() {
        let face = Face {
            bolts: bolts.clone(),
            own: false,
        };
        // Its own bolts lie elsewhere: they only tell its threads.
        let own = openings
            .iter()
            .map(|o| bolt(o.name.clone(), Point::ORIGIN))
            .collect();
        let found = ways("p", openings, &face, &[("p".to_owned(), own)]);
        for w in &found {
            for (o, b) in &w.through {
                let o = openings.iter().find(|x| x.name == *o).unwrap();
                let b = bolts.iter().find(|x| x.name == *b).unwrap();
                let off = w.motion.of(o.centre.at(0.5)).distance(b.at);
                assert!(
                    off <= 0.5 * (o.diameter_mm - D) + 1e-6,
                    "case {seed}: {off}"
                );
            }
        }
        let (mine, theirs, close) = (
            choices(&found),
            read(&answer["fits"]),
            read(&answer["close"]),
        );
        let differ: Vec<_> = mine
            .symmetric_difference(&theirs)
            .filter(|c| !close.contains(c))
            .collect();
        assert!(differ.is_empty(), "case {seed}: {differ:?}");
        close_calls += close.len();
        if theirs.is_empty() {
            none += 1;
        } else {
            fitting += theirs.len();
        }
    }
    // The cases have to tell something: some fit, some do not, few are too close to call.
    assert!(
        fitting > 150 && none > 20 && close_calls < 10,
        "{fitting} {none} {close_calls}"
    );
}
