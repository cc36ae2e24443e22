//! The main road end to end: one plate to STEP and DXF bytes, and the demo job to its whole package.

use std::path::Path;

use divan::{Bencher, black_box};
use platewright::export::dxf::{Drawing, Version};
use platewright::export::step::{self, Colour, Header, Part, Schema};
use platewright::package::{self, Formats};
use platewright::{project, solid};

fn main() {
    divan::main();
}

const JOB: &str = "params/jobs/forwarder.toml";

/// The demo's compressor plate: eight holes and its windows, from features to STEP and DXF bytes.
#[divan::bench]
fn one_plate_to_step_and_dxf(bencher: Bencher<'_, '_>) {
    let project = project::open(Path::new(JOB)).expect("the demo opens");
    let made = project
        .plates
        .iter()
        .find(|m| m.plate.id == "side")
        .expect("the demo has a side plate");
    let header = Header {
        file_name: "side.step",
        time_stamp: "2026-01-01T00:00:00",
        author: "",
        organization: "",
        schema: Schema::Ap242,
    };
    bencher.bench_local(|| {
        let body = solid::from_plate(black_box(&made.plate)).expect("a sound plate");
        let step = step::part(
            &Part {
                id: "side",
                description: "",
                body: &body,
                colour: Colour::PLATE,
            },
            &header,
        );
        let dxf = Drawing::of_plate(&made.plate, &made.marked)
            .and_then(|d| d.to_bytes(Version::R2000))
            .expect("a drawable plate");
        (step.len(), dxf.len())
    });
}

/// The demo job from its files to checked plates and findings.
#[divan::bench(sample_count = 20)]
fn demo_job_checked() -> usize {
    project::open(Path::new(JOB))
        .expect("the demo opens")
        .findings
        .len()
}

/// The demo job from its files to every byte of its package.
#[divan::bench(sample_count = 20)]
fn demo_job_to_package() -> usize {
    let project = project::open(Path::new(JOB)).expect("the demo opens");
    package::files(&project, None, Formats::default())
        .expect("the demo's package")
        .len()
}
