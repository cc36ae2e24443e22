//! How long one twelve-hole plate takes to become a solid and STEP bytes.

#![allow(missing_docs, reason = "the bench harness makes the items")]
#![allow(
    clippy::panic,
    reason = "the tests' plates panic on data that is not theirs"
)]

use divan::{Bencher, black_box};
use platewright::export::step::{Colour, Header, Part, Schema, part};
use platewright::solid::{check, closed_form_mm3, from_plate};

#[allow(dead_code, reason = "the tests use the rest")]
#[path = "../tests/support/plates.rs"]
mod plates;

const HEADER: Header<'_> = Header {
    file_name: "P-12.step",
    time_stamp: "2026-01-31T08:00:00",
    author: "",
    organization: "",
    schema: Schema::Ap242,
};

fn main() {
    divan::main();
}

fn step_part(body: &platewright::solid::Body) -> Part<'_> {
    Part {
        id: "P-12",
        description: "",
        body,
        colour: Colour::PLATE,
    }
}

#[divan::bench]
fn plate_to_solid_to_step(bencher: Bencher<'_, '_>) {
    let plate = plates::twelve_holes();
    bencher.bench(|| {
        let body = from_plate(black_box(&plate)).expect("a solid");
        part(&step_part(&body), &HEADER)
    });
}

#[divan::bench]
fn plate_to_checked_solid(bencher: Bencher<'_, '_>) {
    let plate = plates::twelve_holes();
    bencher.bench(|| from_plate(black_box(&plate)));
}

#[divan::bench]
fn nesting_and_closed_form_alone(bencher: Bencher<'_, '_>) {
    let plate = plates::twelve_holes();
    bencher.bench(|| closed_form_mm3(black_box(&plate)));
}

#[divan::bench]
fn full_check_of_a_solid(bencher: Bencher<'_, '_>) {
    let body = from_plate(&plates::twelve_holes()).expect("a solid");
    bencher.bench(|| check(black_box(&body), None));
}

#[divan::bench]
fn solid_to_step(bencher: Bencher<'_, '_>) {
    let body = from_plate(&plates::twelve_holes()).expect("a solid");
    bencher.bench(|| part(&step_part(black_box(&body)), &HEADER));
}
