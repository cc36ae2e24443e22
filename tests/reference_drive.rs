//! Published and derived check values of belt drives.
//!
//! Layout lengths were verified by closed form, by 40-digit Newton iteration on
//! tangency and by dense polylines; span frequencies use the string formula;
//! the moving belt is the axially moving string (Mote 1965); standards are
//! cited as read in quotations.

use platewright::drive::course::{self, Circle};
use platewright::drive::tensioner::Arm;
use platewright::drive::{
    self, ArmTorque, Belt, Drive, Duty, Engine, Face, Fault, Friction, Load, Play, Pulley,
    Rotation, Side, TakeUp, Tensioner, load, span, tension,
};
use platewright::geom::Point;
use platewright::tables::belt::BeltSection;

const LAYOUTS: &str = include_str!("data/belt_layouts.toml");
const SPRING_ARM: &str = include_str!("data/spring_arm.csv");

fn close(measured: f64, expected: f64, tolerance: f64, what: &str) {
    assert!(
        (measured - expected).abs() <= tolerance,
        "{what}: {measured} against {expected}"
    );
}

fn relative(measured: f64, expected: f64, what: &str) {
    close(measured, expected, 1e-9 * expected.abs(), what);
}

fn pk() -> &'static BeltSection {
    BeltSection::named("PK").expect("PK is a standard section")
}

/// A section without thickness, so that a flat pulley of radius r carries the line at r.
fn bare_section() -> BeltSection {
    BeltSection {
        back_offset_mm: 1e-12,
        ..pk().clone()
    }
}

fn pulley(id: &str, at: (f64, f64), radius: f64, rib: bool) -> Pulley {
    Pulley {
        id: id.to_owned(),
        owner: id.to_owned(),
        duty: Duty::Other,
        centre: Point::new(at.0, at.1),
        rib_plane_z_mm: 0.0,
        face: if rib {
            Face::Ribbed {
                effective_diameter_mm: 2.0 * radius,
                grooves: 6,
            }
        } else {
            Face::Flat {
                diameter_mm: 2.0 * radius,
                width_mm: 30.0,
            }
        },
        rim_diameter_mm: 2.0 * radius,
        width_mm: 30.0,
        contact: if rib { Side::Rib } else { Side::Back },
        load: Load::None,
        greatest_rpm: None,
        full_output_rpm: None,
        least_wrap_deg: None,
        tilt_deg: (0.0, 0.0),
        contributors: vec![],
        play: Play::default(),
    }
}

fn drive_of(pulleys: Vec<Pulley>, take_up: TakeUp) -> Drive {
    Drive {
        name: "reference".to_owned(),
        belt: Belt {
            section: bare_section(),
            ribs: 6,
            length_mm: None,
            length_tolerance: 0.0,
            life_stretch: 0.0,
        },
        pulleys,
        driver: 0,
        rotation: Rotation::CounterClockwise,
        engine: Engine {
            cylinders: 4,
            strokes: 4,
            idle_rpm: 800.0,
            top_rpm: 2400.0,
            more_rpm: vec![],
        },
        take_up,
        friction: Friction {
            rib: 0.5,
            back: 0.3,
        },
        last_on: None,
        obstacles: vec![],
    }
}

struct Layout {
    name: String,
    length: f64,
    pulleys: Vec<(String, Point, f64, f64, f64, f64)>,
}

fn layouts() -> Vec<Layout> {
    let table: toml::Table = LAYOUTS.parse().expect("the layouts are TOML");
    let number = |v: &toml::Value, key: &str| {
        v[key]
            .as_float()
            .or_else(|| v[key].as_integer().map(|i| i as f64))
            .expect("a number")
    };
    table["layout"]
        .as_array()
        .expect("a list")
        .iter()
        .map(|l| Layout {
            name: l["name"].as_str().expect("a name").to_owned(),
            length: number(l, "length_mm"),
            pulleys: l["pulley"]
                .as_array()
                .expect("a list")
                .iter()
                .map(|p| {
                    (
                        p["name"].as_str().expect("a name").to_owned(),
                        Point::new(number(p, "x"), number(p, "y")),
                        number(p, "r"),
                        number(p, "side"),
                        number(p, "wrap_deg"),
                        number(p, "span_next_mm"),
                    )
                })
                .collect(),
        })
        .collect()
}

#[test]
fn every_layout_has_its_length_wraps_and_spans() {
    let layouts = layouts();
    assert_eq!(layouts.len(), 4);
    for l in layouts {
        let circles: Vec<Circle> = l
            .pulleys
            .iter()
            .map(|p| Circle {
                centre: p.1,
                radius: p.2,
                turn: p.3,
            })
            .collect();
        let laid = course::lay(&circles).unwrap();
        close(laid.length, l.length, 1e-6, &l.name);
        for (k, p) in l.pulleys.iter().enumerate() {
            close(
                laid.wraps[k].to_degrees(),
                p.4,
                1e-6,
                &format!("{} wrap on {}", l.name, p.0),
            );
            close(
                laid.runs[k].length,
                p.5,
                1e-6,
                &format!("{} span after {}", l.name, p.0),
            );
        }
        let turns = if l.name == "two_crossed" { 0.0 } else { 1.0 };
        close(laid.turns, turns, 1e-12, "turns");
    }
}

#[test]
fn every_layout_but_the_crossed_one_is_a_drive() {
    for l in layouts() {
        let pulleys = l
            .pulleys
            .iter()
            .map(|p| pulley(&p.0, (p.1.x, p.1.y), p.2, p.3 > 0.0))
            .collect();
        let drive = drive_of(
            pulleys,
            TakeUp::Fixed {
                set_tension_n: 300.0,
            },
        );
        match drive::path::solve(&drive) {
            Ok(path) => {
                close(path.effective_length_mm, l.length, 1e-6, &l.name);
                for (c, p) in path.contacts.iter().zip(&l.pulleys) {
                    close(c.wrap_deg, p.4, 1e-6, &c.id);
                }
                assert_ne!(l.name, "two_crossed");
            }
            Err(faults) => {
                assert_eq!(l.name, "two_crossed");
                assert!(
                    matches!(faults.faults[0], Fault::BeltCrosses { .. }),
                    "{faults}"
                );
            }
        }
    }
}

#[test]
fn open_and_crossed_two_pulley_lengths_follow_the_handbook_formulas() {
    let (big, small, centres) = (75.0_f64, 30.0_f64, 300.0_f64);
    let (difference, sum) = (big - small, big + small);
    let open = 2.0 * (centres * centres - difference * difference).sqrt()
        + std::f64::consts::PI * sum
        + 2.0 * difference * (difference / centres).asin();
    let crossed = 2.0 * (centres * centres - sum * sum).sqrt()
        + sum * (std::f64::consts::PI + 2.0 * (sum / centres).asin());
    close(open, 936.629_971_175_385_7, 1e-9, "open");
    close(crossed, 967.006_980_248_341_3, 1e-9, "crossed");
    for (turn, expected) in [(1.0, open), (-1.0, crossed)] {
        let circle = |x, radius, turn| Circle {
            centre: Point::new(x, 0.0),
            radius,
            turn,
        };
        let laid = course::lay(&[circle(0.0, big, 1.0), circle(centres, small, turn)]).unwrap();
        close(laid.length, expected, 1e-9, "laid");
    }
}

#[test]
fn span_frequencies_follow_the_string_and_the_moving_string() {
    relative(
        span::still_hz(300.0, 0.11, 250.0),
        104.446_593_573_418_71,
        "f at rest",
    );
    relative(
        span::tension_from_hz(220.0, 0.11, 170.0),
        615.4544,
        "T from f",
    );
    relative(
        span::still_hz(624.0, 0.11, 170.0),
        221.522_087_456_769_8,
        "f of 624 N",
    );
    relative(
        span::running_hz(300.0, 0.11, 250.0, 30.0),
        69.979_217_694_190_54,
        "moving belt",
    );
    relative(tension::centrifugal_n(0.11, 30.0), 99.0, "centrifugal");
}

#[test]
fn capstan_values_follow_euler_eytelwein() {
    relative(
        tension::ratio_limit(0.30, 150.0),
        2.193_280_050_738_015_2,
        "flat",
    );
    relative(
        tension::wedge_friction(1.0, 40.0),
        2.923_804_400_163_087_6,
        "wedge",
    );
    let ribbed = tension::wedge_friction(0.30, 40.0);
    relative(
        tension::ratio_limit(ribbed, 150.0),
        9.937_849_071_163_308,
        "ribbed",
    );
    relative(
        tension::slack_needed_n(200.0, 4.0, 99.0),
        165.666_666_666_666_69,
        "slack needed",
    );
}

#[test]
fn alternator_torque_tension_and_speed_follow_from_output_and_pitch_diameters() {
    let torque = load::electrical_torque_nm(14.0, 150.0, 0.60, 6000.0);
    relative(torque, 5.570_423_008_216_337, "torque");
    relative(
        load::tension_difference_n(torque, 27.5),
        202.560_836_662_412_24,
        "difference",
    );
    let mut drive = drive_of(
        vec![
            pulley("crank", (0.0, 0.0), 75.0, true),
            pulley("alternator", (300.0, 0.0), 27.5, true),
        ],
        TakeUp::Fixed {
            set_tension_n: 300.0,
        },
    );
    drive.belt.section = pk().clone();
    let path = drive::path::solve(&drive).unwrap();
    relative(
        6500.0 * path.contacts[1].ratio,
        16_966.101_694_915_254,
        "rotor speed",
    );
}

fn spring_arm(drawn_deg: f64, torque: ArmTorque) -> Drive {
    let pulleys = vec![
        pulley("crank", (0.0, 0.0), 75.0, true),
        pulley("compressor", (260.0, 60.0), 55.0, true),
        pulley("alternator", (230.0, 250.0), 30.0, true),
        pulley("tensioner", (0.0, 0.0), 36.0, false),
        pulley("pump", (-30.0, 260.0), 60.0, true),
    ];
    drive_of(
        pulleys,
        TakeUp::Spring(Tensioner {
            pulley: 3,
            pivot: Point::new(95.0, 190.0),
            arm_mm: 90.0,
            spring: Rotation::Clockwise,
            drawn_deg,
            slack_stop_deg: 45.0,
            wound_stop_deg: 100.0,
            torque,
            damping: 0.0,
        }),
    )
}

fn tensioner(drive: &Drive) -> &Tensioner {
    let TakeUp::Spring(t) = &drive.take_up else {
        unreachable!("the reference drive has a spring");
    };
    t
}

fn constant_torque(nm: f64) -> ArmTorque {
    ArmTorque::Table {
        points: vec![(0.0, nm)],
    }
}

#[test]
fn the_spring_arm_table_is_met_row_by_row() {
    let drive = spring_arm(60.0, constant_torque(15.0));
    let arm = Arm::of(&drive, tensioner(&drive)).unwrap();
    let mut rows = 0;
    for record in csv::Reader::from_reader(SPRING_ARM.as_bytes()).records() {
        let row: Vec<f64> = record.unwrap().iter().map(|v| v.parse().unwrap()).collect();
        let state = arm.at_angle(row[0]).unwrap();
        let at = format!("at {} deg", row[0]);
        close(state.length_mm, row[1], 1e-6, &at);
        close(state.rate_mm_per_rad, row[2], 1e-4, &at);
        close(state.rate_mm_per_rad.to_radians(), row[3], 1e-6, &at);
        close(state.wrap_deg, row[4], 1e-4, &at);
        close(
            state.hub_load_n.length() / state.tension_n,
            row[5],
            1e-6,
            &at,
        );
        // The printed tension carries the print's own digits: 5261.10 has two.
        let digits = if row[6] > 1000.0 { 6e-3 } else { 1e-3 };
        close(state.tension_n, row[6], digits, &at);
        rows += 1;
    }
    assert_eq!(rows, 4);
}

#[test]
fn past_the_dead_centre_the_spring_slackens_the_belt() {
    // The row at 90 deg: L 1365.874987, dL/dθ +17.811360, 0.310867 mm/deg, wrap 56.2060, hub 0.942116.
    let drive = spring_arm(60.0, constant_torque(15.0));
    let arm = Arm::of(&drive, tensioner(&drive)).unwrap();
    let state = arm.at_angle(90.0).unwrap();
    close(state.length_mm, 1_365.874_987, 1e-6, "length");
    close(state.rate_mm_per_rad, 17.811_36, 1e-4, "rate");
    close(
        state.rate_mm_per_rad.to_radians(),
        0.310_867,
        1e-6,
        "rate per deg",
    );
    close(state.wrap_deg, 56.2060, 1e-4, "wrap");
    close(
        state.hub_load_n.length() / state.tension_n.abs(),
        0.942_116,
        1e-6,
        "hub",
    );
    let drawn_there = spring_arm(90.0, constant_torque(15.0));
    let refused = Arm::of(&drawn_there, tensioner(&drawn_there)).unwrap_err();
    assert!(
        matches!(refused.faults[0], Fault::SpringSlackens { .. }),
        "{refused}"
    );
}

#[test]
fn the_arm_at_60_deg_has_its_wraps_and_spans() {
    let drive = spring_arm(60.0, constant_torque(15.0));
    let path = drive::path::solve(&drive).unwrap();
    let wraps = [
        103.996_743,
        89.147_268,
        108.271_891,
        66.376_597,
        124.960_695,
    ];
    let spans = [
        266.082_694,
        190.722_311,
        63.764_611,
        140.524_304,
        261.294_853,
    ];
    for (k, (wrap, length)) in wraps.iter().zip(spans).enumerate() {
        close(path.contacts[k].wrap_deg, *wrap, 1e-6, "wrap");
        close(path.spans[k].length_mm, length, 1e-6, "span");
    }
}

#[test]
fn the_moment_of_the_unit_hub_load_is_the_length_rate() {
    let drive = spring_arm(60.0, constant_torque(15.0));
    let t = tensioner(&drive);
    let arm = Arm::of(&drive, t).unwrap();
    for deg in [50.0, 60.0, 70.0, 80.0, 90.0] {
        let state = arm.at_angle(deg).unwrap();
        let moment = (state.centre_mm - t.pivot).cross(state.hub_load_n) / state.tension_n;
        close(moment, -state.rate_mm_per_rad, 1e-6, "moment");
    }
}

#[test]
fn the_dead_centre_bounds_the_shortest_belt() {
    let drive = spring_arm(60.0, constant_torque(15.0));
    let arm = Arm::of(&drive, tensioner(&drive)).unwrap();
    let window = arm.window(1373.0);
    assert!(window.ends_at_dead_centre);
    close(window.shortest_arm_deg, 81.433, 0.01, "dead centre");
    close(window.shortest_mm, 1_364.570_821, 1e-5, "least length");
    let refused = arm.at_length(1364.5).unwrap_err();
    assert!(matches!(refused, Fault::TooShort { .. }), "{refused}");
    assert!(refused.to_string().contains("dead centre"), "{refused}");
}

#[test]
fn belt_lengths_put_the_arm_at_their_angles_and_tensions() {
    // Spring torque 12 + 0.20 (70 − θ) N·m.
    let torque = ArmTorque::Table {
        points: vec![(40.0, 18.0), (90.0, 8.0)],
    };
    let drive = spring_arm(60.0, torque);
    let arm = Arm::of(&drive, tensioner(&drive)).unwrap();
    for (length, deg, rate, nm, tension) in [
        (1384.0, 51.038_197_2, -86.690_208, 15.792_361, 182.1701),
        (1376.0, 57.294_763_9, -60.872_263, 14.541_047, 238.8781),
    ] {
        let state = arm.at_length(length).unwrap();
        close(state.arm_deg, deg, 1e-5, "arm");
        close(state.rate_mm_per_rad, rate, 1e-4, "rate");
        close(state.torque_nm, nm, 1e-6, "torque");
        close(state.tension_n, tension, 1e-3, "tension");
    }
}

#[test]
fn permissible_misalignment_of_sae_j1596_is_a_third_of_a_degree() {
    close(drive::limits::ENTRY_ANGLE_DEG, 0.3323, 1e-4, "angle");
    close(drive::limits::OFFSET_PER_100_MM, 0.58, 1e-9, "offset");
}
