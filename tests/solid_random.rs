//! Random plates as solids: full checks, closed forms, meshes, and careless plates that must not slip through.

#![allow(clippy::panic, reason = "a test says what is wrong by panicking")]

use platewright::solid::{SolidError, check, closed_form_mm3, from_plate, mesh};

#[allow(dead_code, reason = "the bench uses the rest")]
#[path = "support/plates.rs"]
mod plates;

#[allow(dead_code, reason = "other tests use the rest")]
#[path = "support/samples.rs"]
mod samples;

use samples::{careless, gallery, random};

#[test]
fn random_plates_pass_the_full_check_with_the_drawn_volume() {
    for sample in gallery().into_iter().chain((20_000..20_500).map(random)) {
        let title = &sample.plate.title;
        let body = from_plate(&sample.plate).unwrap_or_else(|e| panic!("{title}: {e}"));
        check(&body, Some(sample.expected.volume_mm3)).unwrap_or_else(|e| panic!("{title}: {e:?}"));
        let closed_form = closed_form_mm3(&sample.plate).expect("built once");
        assert!(
            (closed_form / sample.expected.volume_mm3 - 1.0).abs() < 1e-13,
            "{title}"
        );
    }
}

#[test]
fn meshes_of_random_plates_are_watertight_and_near_the_volume() {
    for seed in 30_000..30_100 {
        let sample = random(seed);
        let mesh = mesh::preview(&sample.plate, 0.1).unwrap_or_else(|e| panic!("{seed}: {e}"));
        assert!(mesh.is_watertight(), "{seed}");
        let off = mesh.volume_mm3() / sample.expected.volume_mm3 - 1.0;
        assert!(off.abs() < 5e-3, "{seed}: {off}");
    }
}

#[test]
fn careless_plates_are_refused_by_name_or_right() {
    let (mut right, mut refused) = (0, 0);
    for seed in 0..5_000 {
        let plate = careless(seed);
        match from_plate(&plate) {
            Ok(body) => {
                right += 1;
                check(&body, Some(closed_form_mm3(&plate).expect("built once")))
                    .unwrap_or_else(|e| panic!("{seed}: {e:?}"));
                let mesh = mesh::preview(&plate, 0.2).unwrap_or_else(|e| panic!("{seed}: {e}"));
                assert!(mesh.is_watertight(), "{seed}");
            }
            Err(SolidError::Overlap { first, second }) => {
                refused += 1;
                assert!(plate.feature(&first).is_some() && plate.feature(&second).is_some());
            }
            Err(
                e @ (SolidError::Open { .. }
                | SolidError::Misplaced { .. }
                | SolidError::Volume { .. }),
            ) => panic!("{seed}: built wrong: {e}"),
            Err(_) => refused += 1,
        }
    }
    assert!(
        right > 300 && refused > 1_000,
        "{right} right, {refused} refused"
    );
}
