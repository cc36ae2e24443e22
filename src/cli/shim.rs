//! `shim`: washers and spacers from rod readings taken on the mocked-up engine, or advice from a symptom.

use std::fmt::Write as _;

use crate::diag::Sink;
use crate::params;
use crate::project::{self, Project};
use crate::report::json_text;
use crate::shim::{self, Drive, Rods, Symptom, Towards};

use super::args::{Format, ShimArgs, SymptomWord, TowardsWord};
use super::{Outcome, Status, remarks};

pub(super) fn run(args: &ShimArgs, colour: bool) -> Outcome {
    let project = match project::open(&args.job.job) {
        Ok(p) => p,
        Err(failure) => return Outcome::bad_input(&failure, colour),
    };
    let Some((belt, analysis)) = &project.drive else {
        return Outcome::complaint(
            "the job has no belt drive, so there is nothing to line up: give it a [drive]",
            Status::BadInput,
        );
    };
    let drive = shim::drive_of(&project.layout, belt, &analysis.path);
    match (&args.readings, args.symptom, &args.at) {
        (Some(path), _, _) => from_readings(args, path, &project, drive, colour),
        (None, Some(symptom), Some(at)) => from_symptom(args, &project, &drive, symptom, at),
        _ => Outcome::complaint(
            "give --readings FILE, or --symptom with --at PULLEY",
            Status::BadInput,
        ),
    }
}

/// Washers from rod readings.
fn from_readings(
    args: &ShimArgs,
    path: &std::path::Path,
    project: &Project,
    mut drive: Drive,
    colour: bool,
) -> Outcome {
    let opened = match params::open_file::<Rods, _>(path, &project::disk()) {
        Ok(o) => o,
        Err(failure) => return Outcome::bad_input(&failure, colour),
    };
    let mut sink = Sink::new();
    opened.value.apply(&mut drive, &mut sink);
    let mut diags = opened.findings.clone();
    let faulty = sink.has_errors();
    diags.extend(sink.sorted());
    let said = |diags: &[crate::diag::Diag]| {
        remarks(&project.diags, project.sources(), colour)
            + &remarks(diags, &opened.sources, colour)
    };
    let plan = match shim::plan(&drive, &opened.value.readings) {
        Ok(plan) if !faulty => plan,
        Ok(_) => {
            return Outcome {
                remarks: said(&diags),
                status: Status::BadInput,
                ..Outcome::default()
            };
        }
        Err(faults) => {
            diags.extend(
                faults
                    .iter()
                    .map(|f| shim::diag(f, opened.value.spot, None)),
            );
            return Outcome {
                remarks: said(&diags),
                status: Status::BadInput,
                ..Outcome::default()
            };
        }
    };
    let helped = plan.is_true
        || plan.push.is_some()
        || plan.washers.plan.is_some()
        || plan.spacers.is_some();
    Outcome {
        results: match args.job.format {
            Format::Text => shim::words(&drive, &plan),
            Format::Json => json_text(&serde_json::to_value(&plan).unwrap_or_default()),
        },
        remarks: said(&diags),
        status: if helped { Status::Holds } else { Status::Fails },
    }
}

/// Advice from a symptom alone.
fn from_symptom(
    args: &ShimArgs,
    project: &Project,
    drive: &Drive,
    symptom: SymptomWord,
    at: &str,
) -> Outcome {
    let symptom = match symptom {
        SymptomWord::Climbs => Symptom::Climbs,
        SymptomWord::Walks => Symptom::Walks,
        SymptomWord::Squeals => Symptom::Squeals,
    };
    let towards = args.towards.map(|t| match t {
        TowardsWord::Front => Towards::Front,
        TowardsWord::Back => Towards::Back,
    });
    let advice = match shim::advise(drive, symptom, at, towards) {
        Ok(a) => a,
        Err(faults) => {
            let text: Vec<String> = faults.iter().map(ToString::to_string).collect();
            let names: Vec<&str> = drive.pulleys.iter().map(|p| p.name.as_str()).collect();
            return Outcome::complaint(
                format!(
                    "{}\n  help: the pulleys are {}",
                    text.join("\nerror: "),
                    names.join(", ")
                ),
                Status::BadInput,
            );
        }
    };
    let mut text = String::new();
    for a in &advice {
        let _ = writeln!(text, "If the belt goes to the {}:", a.towards.side());
        let _ = writeln!(text, "  likely: {}", a.likely);
        let _ = writeln!(text, "  do: {}", a.correction);
    }
    let _ = writeln!(
        text,
        "Common practice, no source; signs from the geometry. Engine off, belt guarded, before touching anything."
    );
    Outcome {
        results: match args.job.format {
            Format::Text => text,
            Format::Json => json_text(&serde_json::to_value(&advice).unwrap_or_default()),
        },
        remarks: remarks(&project.diags, project.sources(), false),
        status: Status::Holds,
    }
}
