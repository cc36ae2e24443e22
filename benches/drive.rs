//! How fast one drive is solved, so that a search may try thousands.

#![allow(missing_docs, reason = "the bench macro makes public items of its own")]

#[path = "../tests/demo_drives/mod.rs"]
mod demo_drives;

use divan::{Bencher, black_box};
use platewright::drive;
use platewright::tables::belt::stocked_lengths_mm;

fn main() {
    divan::main();
}

/// Path, wraps, lengths, ratios and every validity check of the seven-pulley drive: at most 20 µs.
#[divan::bench]
fn path_from_scratch(bencher: Bencher<'_, '_>) {
    let d = demo_drives::seven_rib();
    bencher.bench(|| drive::path::solve(black_box(&d)));
}

/// Arm equilibrium for four belt states, search of the dead centre and slipping-on included: at most 200 µs.
#[divan::bench]
fn tensioner_equilibrium(bencher: Bencher<'_, '_>) {
    let d = demo_drives::seven_rib();
    bencher.bench(|| drive::tensioner::window(black_box(&d)));
}

/// Adjusting slot of the four-rib drive.
#[divan::bench]
fn manual_take_up(bencher: Bencher<'_, '_>) {
    let d = demo_drives::four_rib();
    bencher.bench(|| drive::takeup::range(black_box(&d)));
}

/// Everything: tensions, vibration, alignment, gaps over the sweep, belt choice, judgements.
#[divan::bench]
fn whole_analysis(bencher: Bencher<'_, '_>) {
    let d = demo_drives::seven_rib();
    let stocked = stocked_lengths_mm("PK");
    bencher.bench(|| drive::analyse(black_box(&d), stocked));
}

/// The picture of the analysed drive.
#[divan::bench]
fn picture(bencher: Bencher<'_, '_>) {
    let d = demo_drives::seven_rib();
    let analysis = drive::analyse(&d, stocked_lengths_mm("PK")).expect("the demo drive is sound");
    bencher.bench(|| drive::picture::draw(black_box(&d), black_box(&analysis)));
}
