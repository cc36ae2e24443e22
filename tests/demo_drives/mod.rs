//! Two invented drives of a four-cylinder industrial diesel, used by the drive tests and benches.

#![allow(dead_code, reason = "each test binary uses the drives it needs")]

use platewright::drive::{
    ArmTorque, Belt, Contributor, Drive, Duty, Engine, Face, Friction, Load, ManualTakeUp, Motion,
    Obstacle, Play, Pulley, Rotation, Side, TakeUp, Tensioner, limits,
};
use platewright::geom::{Path, Point};
use platewright::tables::belt::BeltSection;

fn engine() -> Engine {
    Engine {
        cylinders: 4,
        strokes: 4,
        idle_rpm: 800.0,
        top_rpm: 2400.0,
        more_rpm: vec![1500.0],
    }
}

fn tolerance(id: &str, shift_mm: f64, tilt_deg: f64) -> Contributor {
    Contributor {
        id: id.to_owned(),
        shift_mm,
        tilt_deg,
    }
}

fn ribbed(id: &str, duty: Duty, at: (f64, f64), diameter: f64, grooves: u32) -> Pulley {
    Pulley {
        id: id.to_owned(),
        owner: id.to_owned(),
        duty,
        centre: Point::new(at.0, at.1),
        rib_plane_z_mm: 62.0,
        face: Face::Ribbed {
            effective_diameter_mm: diameter,
            grooves,
        },
        rim_diameter_mm: diameter + 6.0,
        width_mm: f64::from(grooves) * 3.56 + 6.0,
        contact: Side::Rib,
        load: Load::None,
        greatest_rpm: None,
        full_output_rpm: None,
        least_wrap_deg: None,
        tilt_deg: (0.0, 0.0),
        contributors: vec![tolerance(&format!("{id} pulley offset"), 0.25, 0.03)],
        play: Play {
            shift_mm: 0.0,
            tilt_deg: 0.05,
        },
    }
}

fn flat(id: &str, duty: Duty, at: (f64, f64), diameter: f64) -> Pulley {
    Pulley {
        face: Face::Flat {
            diameter_mm: diameter,
            width_mm: 30.0,
        },
        rim_diameter_mm: diameter,
        width_mm: 32.0,
        contact: Side::Back,
        ..ribbed(id, duty, at, diameter, 7)
    }
}

/// Pulleys of the seven-rib drive in the order of the belt's travel.
fn seven_rib_pulleys() -> Vec<Pulley> {
    let crank = ribbed("crank", Duty::Crank, (0.0, 0.0), 190.0, 7);
    let tensioner = flat("tensioner", Duty::Tensioner, (-101.5, 126.7), 90.0);
    let steering = Pulley {
        load: Load::Torque {
            points: vec![(800.0, 9.0), (3500.0, 11.0)],
        },
        greatest_rpm: Some(4000.0),
        ..ribbed(
            "steering pump",
            Duty::HydraulicPump,
            (-230.0, 284.0),
            135.0,
            7,
        )
    };
    let coolant = Pulley {
        load: Load::Torque {
            points: vec![(800.0, 0.8), (1500.0, 1.6), (4000.0, 4.2)],
        },
        greatest_rpm: Some(5000.0),
        owner: "block".to_owned(),
        ..flat("coolant pump", Duty::CoolantPump, (25.0, 205.0), 120.0)
    };
    let alternator = Pulley {
        load: Load::Electrical {
            volts: 28.0,
            amps: vec![
                (1500.0, 12.0),
                (2500.0, 32.0),
                (4500.0, 62.0),
                (7000.0, 80.0),
            ],
            efficiency: 0.62,
        },
        greatest_rpm: Some(8000.0),
        full_output_rpm: Some(2200.0),
        ..ribbed("alternator", Duty::Alternator, (236.0, 332.0), 64.0, 7)
    };
    let compressor = Pulley {
        load: Load::Torque {
            points: vec![(1000.0, 12.0), (4000.0, 11.0)],
        },
        greatest_rpm: Some(6000.0),
        ..ribbed("compressor", Duty::Compressor, (276.0, 94.0), 135.0, 7)
    };
    let idler = flat("idler", Duty::Idler, (164.0, 10.0), 90.0);
    vec![
        crank, tensioner, steering, coolant, alternator, compressor, idler,
    ]
}

/// Seven-rib drive: crank, spring tensioner, steering pump, coolant pump on the back, alternator, compressor, idler.
pub(crate) fn seven_rib() -> Drive {
    let section = BeltSection::named("PK").expect("PK is a standard section");
    Drive {
        name: "seven-rib accessory drive".to_owned(),
        belt: Belt {
            section: section.clone(),
            ribs: 7,
            length_mm: Some(2120.0),
            length_tolerance: limits::LENGTH_TOLERANCE,
            life_stretch: limits::LIFE_STRETCH,
        },
        pulleys: seven_rib_pulleys(),
        driver: 0,
        rotation: Rotation::Clockwise,
        engine: engine(),
        take_up: TakeUp::Spring(Tensioner {
            pulley: 1,
            pivot: Point::new(-134.0, 216.0),
            arm_mm: 95.0,
            spring: Rotation::CounterClockwise,
            drawn_deg: 290.0,
            slack_stop_deg: 320.0,
            wound_stop_deg: 249.0,
            torque: ArmTorque::Linear {
                torque_nm: 32.0,
                at_deg: 290.0,
                rate_nm_per_deg: 0.2,
            },
            damping: 0.2,
        }),
        friction: Friction {
            rib: limits::usual_friction(Side::Rib),
            back: limits::usual_friction(Side::Back),
        },
        last_on: Some(4),
        obstacles: vec![
            Obstacle {
                id: "oil filter".to_owned(),
                owner: "block".to_owned(),
                outline: Path::circle(Point::new(-245.0, 40.0), 48.0),
                z_from_mm: -40.0,
                z_to_mm: 90.0,
            },
            Obstacle {
                id: "thermostat housing".to_owned(),
                owner: "block".to_owned(),
                outline: Path::polygon(&[
                    Point::new(-40.0, 330.0),
                    Point::new(70.0, 330.0),
                    Point::new(70.0, 400.0),
                    Point::new(-40.0, 400.0),
                ]),
                z_from_mm: 0.0,
                z_to_mm: 85.0,
            },
        ],
    }
}

/// Four-rib drive: crank, coolant pump, alternator swinging along an arc slot.
pub(crate) fn four_rib() -> Drive {
    let section = BeltSection::named("PK").expect("PK is a standard section");
    let crank = Pulley {
        // Three wraps share 360 deg, so a three-pulley drive cannot give the usual 150; the slip margin decides.
        least_wrap_deg: Some(135.0),
        ..ribbed("crank", Duty::Crank, (0.0, 0.0), 150.0, 4)
    };
    let coolant = Pulley {
        load: Load::Torque {
            points: vec![(800.0, 0.6), (1500.0, 1.2), (4000.0, 3.2)],
        },
        greatest_rpm: Some(5000.0),
        owner: "block".to_owned(),
        ..ribbed("coolant pump", Duty::CoolantPump, (0.0, 190.0), 120.0, 4)
    };
    let alternator = Pulley {
        load: Load::Electrical {
            volts: 28.0,
            amps: vec![(1500.0, 12.0), (2500.0, 28.0), (6000.0, 45.0)],
            efficiency: 0.62,
        },
        greatest_rpm: Some(8000.0),
        full_output_rpm: Some(1800.0),
        ..ribbed("alternator", Duty::Alternator, (229.0, 182.0), 62.0, 4)
    };
    Drive {
        name: "four-rib drive with an arc slot".to_owned(),
        belt: Belt {
            section: section.clone(),
            ribs: 4,
            length_mm: Some(1063.0),
            length_tolerance: limits::LENGTH_TOLERANCE,
            life_stretch: limits::LIFE_STRETCH,
        },
        pulleys: vec![crank, coolant, alternator],
        driver: 0,
        rotation: Rotation::Clockwise,
        engine: engine(),
        take_up: TakeUp::Manual(ManualTakeUp {
            pulley: 2,
            motion: Motion::Swing {
                pivot: Point::new(240.0, 78.0),
                bolt: Point::new(222.0, 262.0),
            },
            set_tension_n: 320.0,
            kept: limits::KEPT_TENSION,
            fitting_mm: 10.0,
            available: None,
        }),
        friction: Friction {
            rib: limits::usual_friction(Side::Rib),
            back: limits::usual_friction(Side::Back),
        },
        last_on: Some(2),
        obstacles: vec![],
    }
}
