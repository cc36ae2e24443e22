//! Plates to test with: made by hand, and at random from a fixed seed.
#![allow(dead_code, reason = "each test file takes the samples it needs")]
#![allow(
    unreachable_pub,
    reason = "shared by several test files, which are crates of their own"
)]

mod everything;
mod features;
mod outlines;
pub mod titles;

pub use everything::everything;
pub use features::{feature, through_hole};
pub use outlines::rounded_polygon;

use platewright::feature::Feature;
use platewright::geom::{Frame, Path, Point, Segment};
use platewright::plate::Plate;

/// A repeatable source of numbers (splitmix64; Steele, Lea and Flood 2014).
#[derive(Debug)]
pub struct Dice(u64);

impl Dice {
    pub fn new(seed: u64) -> Self {
        Self(seed)
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    /// A number in `low..high`.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * (self.next() >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// A whole number in `0..n`.
    pub fn below(&mut self, n: usize) -> usize {
        (self.next() % n as u64) as usize
    }
}

/// A plate of `thickness_mm` with the given outline and features.
pub fn plate(id: &str, thickness_mm: f64, outline: Path, features: Vec<Feature>) -> Plate {
    Plate {
        id: id.to_string(),
        title: id.replace('_', " "),
        frame: Frame::FRONT,
        thickness_mm,
        material: "EN AW-6082-T651".to_string(),
        density_kg_m3: 2700.0,
        outline,
        features,
    }
}

/// A round plate whose outline is one circle.
pub fn disc() -> Plate {
    plate(
        "disc",
        8.0,
        Path::circle(Point::new(-40.0, 25.5), 37.25),
        vec![through_hole("centre", -40.0, 25.5, 20.0)],
    )
}

/// An ear with a boss of more than three quarters of a turn, far from its origin.
pub fn far_ear() -> Plate {
    let (centre, radius) = (Point::new(1500.0, -820.0), 30.0);
    let boss = Segment::arc(centre, radius, 0.3, 0.3 + 5.7);
    let outline = Path::new(vec![
        boss,
        Segment::Line {
            from: boss.to(),
            to: boss.from(),
        },
    ]);
    plate(
        "far_ear",
        12.0,
        outline,
        vec![through_hole("pin", 1500.0, -820.0, 16.0)],
    )
}

/// Twelve clearance holes in a filleted outline: the plate that times are quoted for.
pub fn twelve_holes() -> Plate {
    let outline = rounded_polygon(
        &[
            (0.0, 0.0),
            (300.0, 0.0),
            (300.0, 110.0),
            (200.0, 110.0),
            (170.0, 200.0),
            (60.0, 200.0),
            (40.0, 120.0),
            (0.0, 110.0),
        ],
        &[18.0, 18.0, 18.0, 12.0, 20.0, 20.0, 12.0, 18.0],
    );
    let features = [
        (20.0, 20.0),
        (85.0, 20.0),
        (150.0, 20.0),
        (215.0, 20.0),
        (280.0, 20.0),
        (20.0, 90.0),
        (100.0, 90.0),
        (180.0, 90.0),
        (280.0, 90.0),
        (80.0, 180.0),
        (115.0, 150.0),
        (150.0, 180.0),
    ]
    .iter()
    .enumerate()
    .map(|(k, &(x, y))| through_hole(&format!("block.A{}", k + 1), x, y, 11.0))
    .collect();
    plate("twelve_holes", 16.0, outline, features)
}

/// The plates made by hand.
pub fn by_hand() -> Vec<Plate> {
    vec![everything(), disc(), far_ear(), twelve_holes()]
}

/// A random plate: a filleted star-shaped outline with convex and concave corners, and up to fourteen features of any kind.
pub fn random(seed: u64) -> Plate {
    let mut dice = Dice::new(seed);
    let outline = outlines::random(&mut dice);
    let thickness_mm = [6.0, 8.0, 10.0, 12.0, 16.0, 20.0][dice.below(6)];
    let features = features::random(&mut dice, &outline, thickness_mm);
    plate(&format!("random_{seed}"), thickness_mm, outline, features)
}
