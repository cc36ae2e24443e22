//! What must not change a drive: mirroring, turning, moving, scaling, and the place where its list starts.

mod random_drives;

use platewright::drive::path::BeltPath;
use platewright::drive::{self, Drive, Face, Rotation, TakeUp};
use platewright::geom::{Point, Vector};
use proptest::prelude::*;
use random_drives::Random;

fn random_drive(seed: u64) -> Drive {
    random_drives::drive(&mut Random::new(seed), seed.is_multiple_of(3))
}

fn solved(drive: &Drive) -> BeltPath {
    drive::path::solve(drive).expect("the drive is sound")
}

fn mapped(drive: &Drive, map: impl Fn(Point) -> Point) -> Drive {
    let mut drive = drive.clone();
    for p in &mut drive.pulleys {
        p.centre = map(p.centre);
    }
    drive
}

fn same_wraps(a: &BeltPath, b: &BeltPath) {
    for c in &a.contacts {
        let other = b
            .contacts
            .iter()
            .find(|o| o.id == c.id)
            .expect("the same pulleys");
        assert!(
            (c.wrap_deg - other.wrap_deg).abs() < 1e-7,
            "{} {}",
            c.wrap_deg,
            other.wrap_deg
        );
        assert!((c.ratio - other.ratio).abs() < 1e-12);
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn turning_and_moving_leaves_the_length(seed in 0_u64..100_000, angle in -3.2..3.2_f64, x in -500.0..500.0_f64, y in -500.0..500.0_f64) {
        let drive = random_drive(seed);
        let turned = mapped(&drive, |p| Point::ORIGIN + p.to_vector().turned(angle) + Vector::new(x, y));
        let (a, b) = (solved(&drive), solved(&turned));
        prop_assert!((a.effective_length_mm - b.effective_length_mm).abs() < 1e-8);
        same_wraps(&a, &b);
    }

    #[test]
    fn mirroring_leaves_the_length_and_turns_the_rotation(seed in 0_u64..100_000) {
        let drive = random_drive(seed);
        let mut mirrored = mapped(&drive, |p| Point::new(-p.x, p.y));
        mirrored.rotation = drive.rotation.reversed();
        let (a, b) = (solved(&drive), solved(&mirrored));
        prop_assert!((a.effective_length_mm - b.effective_length_mm).abs() < 1e-8);
        same_wraps(&a, &b);
        for c in &a.contacts {
            let other = b.contact(c.pulley).unwrap();
            prop_assert_eq!(c.turns, other.turns.reversed());
        }
    }

    #[test]
    fn running_backwards_leaves_every_wrap(seed in 0_u64..100_000) {
        let drive = random_drive(seed);
        let mut backwards = drive.clone();
        backwards.rotation = drive.rotation.reversed();
        let (a, b) = (solved(&drive), solved(&backwards));
        prop_assert!((a.effective_length_mm - b.effective_length_mm).abs() < 1e-8);
        same_wraps(&a, &b);
        if a.contacts.len() > 2 {
            prop_assert!(a.listed_against_travel != b.listed_against_travel);
        }
    }

    #[test]
    fn scaling_by_k_scales_the_length_by_k(seed in 0_u64..100_000, k in 0.3..3.0_f64) {
        let drive = random_drive(seed);
        let mut scaled = mapped(&drive, |p| Point::new(k * p.x, k * p.y));
        for p in &mut scaled.pulleys {
            p.face = match p.face {
                Face::Ribbed { effective_diameter_mm, grooves } => Face::Ribbed {
                    effective_diameter_mm: k * effective_diameter_mm,
                    grooves,
                },
                Face::Flat { diameter_mm, width_mm } => Face::Flat {
                    diameter_mm: k * diameter_mm,
                    width_mm,
                },
            };
            p.rim_diameter_mm *= k;
        }
        let section = &mut scaled.belt.section;
        section.back_offset_mm *= k;
        section.height_mm *= k;
        section.effective_line_differential_mm *= k;
        let (a, b) = (solved(&drive), solved(&scaled));
        prop_assert!((k * a.effective_length_mm - b.effective_length_mm).abs() < 1e-8 * k.max(1.0));
        same_wraps(&a, &b);
    }

    #[test]
    fn the_start_of_the_list_changes_nothing(seed in 0_u64..100_000, shift in 1_usize..8) {
        let drive = random_drive(seed);
        let n = drive.pulleys.len();
        let shift = shift % n;
        let mut shifted = drive.clone();
        shifted.pulleys.rotate_left(shift);
        shifted.driver = (drive.driver + n - shift) % n;
        let (a, b) = (solved(&drive), solved(&shifted));
        // The same driver comes first either way, so even rounding agrees.
        prop_assert_eq!(a.effective_length_mm.to_bits(), b.effective_length_mm.to_bits());
        for (c, d) in a.contacts.iter().zip(&b.contacts) {
            prop_assert_eq!(&c.id, &d.id);
            prop_assert_eq!(c.wrap_deg.to_bits(), d.wrap_deg.to_bits());
        }
    }

    #[test]
    fn wraps_sum_to_one_turn_and_lines_differ_by_one_turn_of_their_offset(seed in 0_u64..100_000) {
        let drive = random_drive(seed);
        let path = solved(&drive);
        let sum: f64 = path
            .contacts
            .iter()
            .map(|c| c.wrap_deg * c.turns.sign() * path.travel.sign())
            .sum();
        prop_assert!((sum - 360.0).abs() < 1e-9);
        let section = &drive.belt.section;
        let turn = std::f64::consts::TAU;
        let gain = |offset: f64| path.effective_length_mm + turn * offset;
        prop_assert!((path.pitch_length_mm - gain(section.effective_line_differential_mm)).abs() < 1e-9);
        prop_assert!((path.outside_length_mm - gain(section.back_offset_mm)).abs() < 1e-9);
        // The exact outline of the back is as long as the sum says.
        let back = path.offset_loop(section.back_offset_mm);
        prop_assert!((back.length() - path.outside_length_mm).abs() < 1e-6);
    }

    #[test]
    fn no_numbers_make_the_solver_panic(
        values in prop::collection::vec(prop_oneof![
            -400.0..400.0_f64,
            Just(0.0),
            Just(f64::NAN),
            Just(f64::INFINITY),
            Just(1e300),
            Just(-1e-300),
        ], 24),
        sides in prop::collection::vec(any::<bool>(), 6),
        driver in 0_usize..8,
    ) {
        let mut drive = random_drive(1);
        let template = drive.pulleys[0].clone();
        drive.pulleys = (0..6)
            .map(|i| {
                let mut p = template.clone();
                p.id = format!("p{i}");
                p.centre = Point::new(values[4 * i], values[4 * i + 1]);
                let diameter_mm = values[4 * i + 2].abs() / 3.0;
                p.face = if sides[i] {
                    Face::Ribbed { effective_diameter_mm: diameter_mm, grooves: 6 }
                } else {
                    Face::Flat { diameter_mm, width_mm: 30.0 }
                };
                p.contact = if sides[i] { drive::Side::Rib } else { drive::Side::Back };
                p.rim_diameter_mm = diameter_mm;
                p.tilt_deg = (values[4 * i + 3] / 100.0, 0.0);
                p
            })
            .collect();
        drive.driver = driver;
        drive.rotation = Rotation::Clockwise;
        drive.take_up = TakeUp::Fixed { set_tension_n: 300.0 };
        match drive::analyse(&drive, &[1500.0]) {
            Ok(analysis) => prop_assert!(analysis.path.effective_length_mm.is_finite()),
            Err(faults) => {
                prop_assert!(!faults.faults.is_empty());
                prop_assert!(!faults.to_string().contains("NaN mm"));
            }
        }
    }
}
