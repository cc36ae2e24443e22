//! Time from a plate to the bytes of its DXF file.
//!
//! `tests/python/bench_dxf.py` times an independent library on the same plate.

#[path = "../tests/samples/mod.rs"]
mod samples;

use divan::{Bencher, black_box};
use platewright::export::dxf::{Drawing, NotCut, Version};

fn main() {
    divan::main();
}

#[divan::bench(args = [Version::R2000, Version::R12])]
fn twelve_hole_plate_to_bytes(bencher: Bencher, version: Version) {
    let plate = samples::twelve_holes();
    bencher.bench_local(|| {
        Drawing::of_plate(black_box(&plate), &NotCut::new()).and_then(|d| d.to_bytes(version))
    });
}

#[divan::bench(args = [Version::R2000, Version::R12])]
fn plate_with_every_feature_to_bytes(bencher: Bencher, version: Version) {
    let plate = samples::everything();
    bencher.bench_local(|| {
        Drawing::of_plate(black_box(&plate), &NotCut::new()).and_then(|d| d.to_bytes(version))
    });
}
