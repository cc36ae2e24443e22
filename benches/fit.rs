//! How long a thousand variants take, on all cores: the fleet demo with more hose sizes, belts and alternators.

use divan::Bencher;
use platewright::params::job::VariantSpec;
use platewright::params::{self, Loaded};
use platewright::project::{self, variants::Fleet};

fn main() {
    divan::main();
}

/// The fleet demo with other variants.
fn demo(variants: impl Fn(&[VariantSpec]) -> Vec<VariantSpec>) -> Loaded {
    let mut loaded = params::open(
        "params/jobs/forwarder-fleet.toml".as_ref(),
        &project::disk(),
    )
    .expect("the demo opens");
    loaded.job.variants = variants(&loaded.job.variants);
    loaded
}

/// Two alternators, two blocks, with and without the pump, five belts, twenty-five hoses: each with each.
fn a_thousand(demo: &[VariantSpec]) -> Vec<VariantSpec> {
    // The demo's variants with its middle hose have each pairing of alternator, block and pump once.
    let patterns: Vec<&VariantSpec> = demo
        .iter()
        .filter(|v| v.hoses.get("coolant") == Some(&45.0))
        .collect();
    let mut out = Vec::new();
    for pattern in patterns {
        for belt in [2110.0, 2115.0, 2120.0, 2125.0, 2130.0] {
            for size in 0..25 {
                let mut v = pattern.clone();
                v.name = format!("{}-{}", v.name, out.len());
                v.belt_mm = Some(belt);
                v.hoses.insert("coolant".to_owned(), 30.0 + f64::from(size));
                out.push(v);
            }
        }
    }
    assert_eq!(out.len(), 1000);
    out
}

/// A hundred variants of which no two have the same belt: each drive is worked out afresh.
fn a_hundred_belts(demo: &[VariantSpec]) -> Vec<VariantSpec> {
    (0..100)
        .map(|i| {
            let mut v = demo[i % demo.len()].clone();
            v.name = format!("{}-{i}", v.name);
            v.belt_mm = Some(2110.0 + 0.2 * i as f64);
            v
        })
        .collect()
}

fn judged(bencher: Bencher<'_, '_>, loaded: &Loaded) {
    bencher
        .with_inputs(|| loaded.clone())
        .bench_values(|l| Fleet::of(l).judge_all(&|| ()).len());
}

#[divan::bench(sample_count = 10)]
fn a_thousand_variants(bencher: Bencher<'_, '_>) {
    judged(bencher, &demo(a_thousand));
}

#[divan::bench(sample_count = 10)]
fn a_hundred_different_belts(bencher: Bencher<'_, '_>) {
    judged(bencher, &demo(a_hundred_belts));
}

#[divan::bench(sample_count = 20)]
fn the_demos_24(bencher: Bencher<'_, '_>) {
    judged(bencher, &demo(<[VariantSpec]>::to_vec));
}
