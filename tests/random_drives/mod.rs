//! Random drives with mixed sides, the same on every run.

#![allow(dead_code, reason = "each test binary uses the parts it needs")]

use platewright::drive::{
    self, ArmTorque, Belt, Drive, Duty, Engine, Face, Friction, Load, Play, Pulley, Rotation, Side,
    TakeUp, Tensioner,
};
use platewright::geom::{Point, Vector};
use platewright::tables::belt::BeltSection;

/// A small xorshift generator, so that the drives need no clock and no crate.
pub(crate) struct Random(u64);

impl Random {
    pub(crate) fn new(seed: u64) -> Self {
        let mut r = Self(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1);
        for _ in 0..16 {
            r.unit();
        }
        r
    }

    /// A number from 0 to below 1.
    pub(crate) fn unit(&mut self) -> f64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 >> 11) as f64 / (1_u64 << 53) as f64
    }

    pub(crate) fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }
}

fn pulley(id: String, centre: Point, radius: f64, contact: Side, load: Load) -> Pulley {
    Pulley {
        owner: id.clone(),
        id,
        duty: Duty::Other,
        centre,
        rib_plane_z_mm: 0.0,
        face: match contact {
            Side::Rib => Face::Ribbed {
                effective_diameter_mm: 2.0 * radius,
                grooves: 6,
            },
            Side::Back => Face::Flat {
                diameter_mm: 2.0 * radius,
                width_mm: 30.0,
            },
        },
        rim_diameter_mm: 2.0 * radius,
        width_mm: 28.0,
        contact,
        load,
        greatest_rpm: None,
        full_output_rpm: None,
        least_wrap_deg: None,
        tilt_deg: (0.0, 0.0),
        contributors: vec![],
        play: Play::default(),
    }
}

/// Ribbed pulleys round a ring, some gaps between them pressed in by a pulley on the back.
///
/// Candidates without a path are drawn again. With `convex`, no back pulleys
/// and every pulley on the hull.
pub(crate) fn drive(random: &mut Random, convex: bool) -> Drive {
    loop {
        let candidate = candidate(random, convex);
        let with_back = candidate.pulleys.iter().any(|p| p.contact == Side::Back);
        if (convex || with_back) && drive::path::solve(&candidate).is_ok() {
            return candidate;
        }
    }
}

fn candidate(random: &mut Random, convex: bool) -> Drive {
    let ribbed = 2 + (random.unit() * 5.0) as usize;
    let spread = random.between(150.0, 320.0);
    let mut ring: Vec<(Point, f64)> = (0..ribbed)
        .map(|i| {
            let angle =
                std::f64::consts::TAU * (i as f64 + random.between(-0.3, 0.3)) / ribbed as f64;
            let centre = Point::ORIGIN.polar(spread * random.between(0.75, 1.25), angle);
            (centre, random.between(28.0, 95.0))
        })
        .collect();
    let turn = random.unit() < 0.5;
    if turn {
        ring.reverse();
    }
    let outward = if turn { 1.0 } else { -1.0 };
    let mut pulleys = Vec::new();
    for i in 0..ribbed {
        let (a, ra) = ring[i];
        let (b, rb) = ring[(i + 1) % ribbed];
        let load = Load::Torque {
            points: vec![
                (500.0, random.between(1.0, 12.0)),
                (8000.0, random.between(1.0, 8.0)),
            ],
        };
        pulleys.push(pulley(format!("rib {i}"), a, ra, Side::Rib, load));
        if !convex && random.unit() < 0.45 {
            let along = (b - a).unit().unwrap_or(Vector::new(1.0, 0.0));
            let out = along.left() * outward;
            let radius = random.between(30.0, 55.0);
            let reach = 0.5 * (ra + rb) + radius - random.between(8.0, 60.0);
            let centre = a + (b - a) * random.between(0.35, 0.65) + out * reach;
            pulleys.push(pulley(
                format!("back {i}"),
                centre,
                radius,
                Side::Back,
                Load::None,
            ));
        }
    }
    let shift = (random.unit() * pulleys.len() as f64) as usize;
    pulleys.rotate_left(shift);
    let driver = pulleys
        .iter()
        .position(|p| p.contact == Side::Rib)
        .unwrap_or(0);
    Drive {
        name: "random".to_owned(),
        belt: Belt {
            section: BeltSection::named("PK")
                .expect("PK is a standard section")
                .clone(),
            ribs: 6,
            length_mm: None,
            length_tolerance: 0.005,
            life_stretch: 0.01,
        },
        pulleys,
        driver,
        rotation: if turn {
            Rotation::Clockwise
        } else {
            Rotation::CounterClockwise
        },
        engine: Engine {
            cylinders: 4,
            strokes: 4,
            idle_rpm: 800.0,
            top_rpm: 2400.0,
            more_rpm: vec![],
        },
        take_up: TakeUp::Fixed {
            set_tension_n: 600.0,
        },
        friction: Friction {
            rib: 0.5,
            back: 0.3,
        },
        last_on: None,
        obstacles: vec![],
    }
}

/// Gives the drive a spring arm on its first back pulley, pushing it into the belt.
pub(crate) fn with_arm(random: &mut Random, mut drive: Drive) -> Drive {
    let path = drive::path::solve(&drive).expect("random drives have a path");
    let k = path
        .contacts
        .iter()
        .position(|c| c.side == Side::Back)
        .expect("random mixed drives have a back pulley");
    let contact = &path.contacts[k];
    // The belt gives way along arriving less leaving direction.
    let give = path.span_before(k).direction + -path.spans[k].direction;
    let arm_mm = random.between(50.0, 120.0);
    let off_square = random.between(-0.5, 0.5);
    let counter = random.unit() < 0.5;
    let spring = if counter {
        Rotation::CounterClockwise
    } else {
        Rotation::Clockwise
    };
    // The arm points so that turning with the spring moves the pulley along `give`.
    let direction = give.angle() - spring.sign() * std::f64::consts::FRAC_PI_2 + off_square;
    let drawn_deg = direction.to_degrees();
    drive.take_up = TakeUp::Spring(Tensioner {
        pulley: contact.pulley,
        pivot: contact.centre_mm + Vector::unit_at(direction) * -arm_mm,
        arm_mm,
        spring,
        drawn_deg,
        slack_stop_deg: drawn_deg + spring.sign() * 25.0,
        wound_stop_deg: drawn_deg - spring.sign() * 25.0,
        torque: ArmTorque::Linear {
            torque_nm: random.between(10.0, 40.0),
            at_deg: drawn_deg,
            rate_nm_per_deg: random.between(0.0, 0.3),
        },
        damping: 0.0,
    });
    drive
}
