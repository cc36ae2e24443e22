//! The nest of the demo job, and the picture of its set.

use std::path::Path;

use divan::{Bencher, black_box};
use platewright::{package, project};

fn main() {
    divan::main();
}

const JOB: &str = "params/jobs/forwarder.toml";

fn demo(sets: u32) -> project::Project {
    let mut loaded =
        platewright::params::open(Path::new(JOB), &project::disk()).expect("the demo opens");
    loaded.job.sets = sets;
    project::build(loaded, None).expect("the demo builds")
}

/// Six plates of two stocks: laid, and each sheet drawn.
#[divan::bench(args = [1, 10], sample_count = 10)]
fn demo_nested(bencher: Bencher<'_, '_>, sets: u32) {
    let project = demo(sets);
    bencher.bench_local(|| {
        package::nest_pictures(black_box(&project))
            .expect("the demo nests")
            .len()
    });
}

/// The assembly picture: solids, hidden lines, balloons.
#[divan::bench(sample_count = 10)]
fn assembly_picture(bencher: Bencher<'_, '_>) {
    let project = demo(1);
    bencher.bench_local(|| {
        package::assembly_picture(black_box(&project))
            .expect("the demo's picture")
            .expect("the demo has parts")
            .items
            .len()
    });
}
