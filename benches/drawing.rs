//! Time from a plate to its drawing, and from the drawing to file bytes.

#[path = "../tests/samples/mod.rs"]
mod samples;

use divan::{Bencher, black_box};
use platewright::drawing::{Options, Page, plate_drawing};
use platewright::export::{pdf::pdf, svg::svg};

fn main() {
    divan::main();
}

fn sheets() -> Vec<Page> {
    let title = samples::titles::full();
    plate_drawing(&samples::everything(), &title, &Options::default()).unwrap_or_default()
}

#[divan::bench]
fn plate_with_every_feature_laid_out(bencher: Bencher) {
    let (plate, title) = (samples::everything(), samples::titles::full());
    bencher.bench_local(|| plate_drawing(black_box(&plate), &title, &Options::default()));
}

#[divan::bench]
fn sheet_to_svg(bencher: Bencher) {
    let pages = sheets();
    bencher.bench_local(|| pages.iter().map(|p| svg(p, "x").len()).sum::<usize>());
}

#[divan::bench]
fn sheet_to_pdf(bencher: Bencher) {
    let pages = sheets();
    bencher.bench_local(|| pdf(black_box(&pages), "x"));
}
