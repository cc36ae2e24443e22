//! How long a thousand variants take, on all cores: the fleet demo with its hoses in 42 sizes each.

use divan::Bencher;
use platewright::params::{self, Loaded};
use platewright::project::{self, variants::Fleet};

fn main() {
    divan::main();
}

/// The fleet demo with further hose sizes, `count` variants and the job as it stands.
fn fleet(count: usize) -> Loaded {
    let mut loaded = params::open(
        "params/jobs/forwarder-fleet.toml".as_ref(),
        &project::disk(),
    )
    .expect("the demo opens");
    let patterns = loaded.job.variants.clone();
    loaded.job.variants = (0..count)
        .map(|i| {
            let mut v = patterns[i % patterns.len()].clone();
            v.name = format!("{}-{i}", v.name);
            let size = 30.0 + 0.5 * (i / patterns.len()) as f64;
            v.hoses.insert("coolant".to_owned(), size);
            v
        })
        .collect();
    loaded
}

#[divan::bench(sample_count = 5)]
fn a_thousand_variants(bencher: Bencher) {
    let loaded = fleet(1000);
    bencher
        .with_inputs(|| loaded.clone())
        .bench_values(|l| Fleet::of(l).judge_all(&|| ()).len());
}

#[divan::bench(sample_count = 5)]
fn the_demos_24(bencher: Bencher) {
    let loaded = fleet(24);
    bencher
        .with_inputs(|| loaded.clone())
        .bench_values(|l| Fleet::of(l).judge_all(&|| ()).len());
}
