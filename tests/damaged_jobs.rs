//! The demo with one number or one line damaged, everywhere in turn: never a panic, a refusal always says
//! where, and what holds every rule also makes a package.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a helper of a test fails it by panicking"
)]

use std::collections::BTreeMap;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};

use platewright::diag::{Severity, render};
use platewright::package::{self, Formats};
use platewright::params::{self, Lookup, Memory};
use platewright::project::{self, Project};
use platewright::report::check::Tally;
use rayon::prelude::*;

/// What a number is replaced with: nothing, a wrong sign, too small to be made, far too large, another kind.
const WRONG: [&str; 7] = ["0", "-1.5", "0.0004", "0.37", "1e7", "nan", "\"seven\""];

/// Every parameter file, by its path in memory.
fn demo() -> Memory {
    let mut files = BTreeMap::new();
    let params = Path::new(env!("CARGO_MANIFEST_DIR")).join("params");
    for kind in ["jobs", "blocks", "accessories", "shops", "stock"] {
        for entry in std::fs::read_dir(params.join(kind)).unwrap() {
            let path = entry.unwrap().path();
            files.insert(
                PathBuf::from(format!("/params/{kind}")).join(path.file_name().unwrap()),
                std::fs::read(&path).unwrap(),
            );
        }
    }
    Memory(files)
}

fn lookup(files: Memory) -> Lookup<Memory> {
    let mut lookup = Lookup::new(files);
    lookup.known = project::designations();
    lookup.built_in = false;
    lookup
}

/// Where the numbers of a file stand: outside texts and comments, not within a word or a date.
fn numbers(text: &str) -> Vec<std::ops::Range<usize>> {
    let bytes = text.as_bytes();
    let mut found = Vec::new();
    let (mut quoted, mut i) = (false, 0);
    while i < bytes.len() {
        let c = bytes[i];
        if c == b'"' {
            quoted = !quoted;
        } else if !quoted && c == b'#' {
            while i < bytes.len() && bytes[i] != b'\n' {
                i += 1;
            }
        } else if !quoted && (c.is_ascii_digit() || c == b'-' && bytes[i + 1].is_ascii_digit()) {
            let before = if i == 0 { b' ' } else { bytes[i - 1] };
            let start = i;
            i += 1;
            while i < bytes.len() && (bytes[i].is_ascii_digit() || bytes[i] == b'.') {
                i += 1;
            }
            let after = *bytes.get(i).unwrap_or(&b' ');
            let word = |b: u8| b.is_ascii_alphanumeric() || b == b'_' || b == b'-' || b == b'.';
            if !word(before) && !word(after) {
                found.push(start..i);
            }
            while i < bytes.len() && word(bytes[i]) {
                i += 1;
            }
            continue;
        }
        i += 1;
    }
    found
}

/// A damaged set of files and how it came about.
struct Case {
    said: String,
    file: PathBuf,
    text: String,
}

/// Every number of `file` replaced, and every line of it left out, each in a case of its own.
fn cases(files: &Memory, file: &str) -> Vec<Case> {
    let path = PathBuf::from(file);
    let text = String::from_utf8(files.0[&path].clone()).unwrap();
    let mut all = Vec::new();
    for at in numbers(&text) {
        let line = text[..at.start].matches('\n').count() + 1;
        for wrong in WRONG {
            let mut t = text.clone();
            t.replace_range(at.clone(), wrong);
            all.push(Case {
                said: format!("{file}:{line}: {} -> {wrong}", &text[at.clone()]),
                file: path.clone(),
                text: t,
            });
        }
    }
    let lines: Vec<&str> = text.lines().collect();
    for i in 0..lines.len() {
        if lines[i].trim().is_empty() || lines[i].trim_start().starts_with('#') {
            continue;
        }
        let mut t = lines.clone();
        t.remove(i);
        all.push(Case {
            said: format!("{file}:{}: `{}` left out", i + 1, lines[i]),
            file: path.clone(),
            text: t.join("\n") + "\n",
        });
    }
    all
}

/// What became of a case.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Became {
    Refused,
    Failing,
    Released,
}

fn try_out(files: &Memory, case: &Case, job: &str, make: bool) -> Result<Became, String> {
    let mut files = files.clone();
    files
        .0
        .insert(case.file.clone(), case.text.clone().into_bytes());
    let lookup = lookup(files);
    let built = params::open(Path::new(job), &lookup).and_then(|l| project::build(l, None));
    let project: Project = match built {
        Ok(p) => p,
        Err(failure) => {
            let text = render::text(&failure.findings, &failure.sources, false);
            let errors = failure
                .findings
                .iter()
                .filter(|d| d.severity == Severity::Error)
                .count();
            return if errors == 0 {
                Err("refused without an error".to_owned())
            } else if !text.contains(" --> ") {
                Err(format!("refused without a place:\n{text}"))
            } else {
                Ok(Became::Refused)
            };
        }
    };
    if let Some(f) = project.findings.iter().find(|f| f.margin.is_nan()) {
        return Err(format!("a margin that is no number: {f:?}"));
    }
    if !Tally::of(&project.findings).releasable() {
        return Ok(Became::Failing);
    }
    if make {
        package::files(&project, None, Formats::default())
            .map_err(|e| format!("no package: {e}"))?;
    }
    Ok(Became::Released)
}

/// Runs the cases on all cores and answers how many became what; a fault of any fails the test with all of them.
fn hold(job: &str, all: &[Case], files: &Memory, make: bool) -> BTreeMap<Became, usize> {
    let became: Vec<(&str, Result<Became, String>)> = all
        .par_iter()
        .map(|case| {
            let outcome = catch_unwind(AssertUnwindSafe(|| try_out(files, case, job, make)))
                .unwrap_or_else(|_| Err("a panic".to_owned()));
            (case.said.as_str(), outcome)
        })
        .collect();
    let mut count = BTreeMap::new();
    let mut faults = Vec::new();
    for (said, outcome) in became {
        match outcome {
            Ok(b) => *count.entry(b).or_insert(0) += 1,
            Err(e) => faults.push(format!("{said}: {e}")),
        }
    }
    assert!(
        faults.is_empty(),
        "{} of {}:\n{}",
        faults.len(),
        all.len(),
        faults[..faults.len().min(20)].join("\n")
    );
    count
}

#[test]
fn every_number_and_line_of_the_auxiliary_job_may_be_wrong() {
    let files = demo();
    let mut all = Vec::new();
    for file in [
        "/params/jobs/auxiliary.toml",
        "/params/blocks/auxiliary-diesel.toml",
        "/params/accessories/alternator-24v-small.toml",
        "/params/stock/al-6061-12.toml",
        "/params/shops/river-mill.toml",
    ] {
        all.extend(cases(&files, file));
    }
    let count = hold("/params/jobs/auxiliary.toml", &all, &files, true);
    // Each of the three ends is met: a test that only ever refuses has lost its way.
    assert!(all.len() > 500 && count.len() == 3, "{count:?}");
    assert!(count.values().all(|n| *n > 20), "{count:?}");
}

#[test]
fn a_share_of_the_forwarders_numbers_and_lines_may_be_wrong() {
    let files = demo();
    let mut all = Vec::new();
    for file in [
        "/params/jobs/forwarder.toml",
        "/params/blocks/forwarder-diesel.toml",
        "/params/accessories/alternator-24v-pivot.toml",
        "/params/accessories/spring-tensioner.toml",
    ] {
        all.extend(cases(&files, file));
    }
    // Every thirteenth case, thirteen being coprime to the seven replacements.
    let some: Vec<Case> = all.into_iter().step_by(13).collect();
    let count = hold("/params/jobs/forwarder.toml", &some, &files, false);
    assert!(some.len() > 100 && count.len() == 3, "{count:?}");
}
