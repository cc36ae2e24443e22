//! `measure`: hole positions from caliper readings between holes.

use std::fmt::Write as _;
use std::path::Path;

use crate::diag::{Diag, FileId, Severity, Spot};
use crate::export::write_file;
use crate::measure::{
    self, ClearanceHole, KnownPattern, Options, PatternFit, PatternKind, Readings, Snapped, Survey,
    library,
};
use crate::params::{self, Accessory, Block, Disk, Lookup, ParamFile};
use crate::project;
use crate::report::json_text;
use crate::tables::{ClearanceHoles, Fit, Threads};

use super::args::{FitClass, Format, MeasureArgs, WriteAs};
use super::{Outcome, Status, remarks};

/// How far a hole may be off a known pattern and still agree, mm (common practice, no source).
const AGREE_MM: f64 = 0.5;

/// Patterns that are told, the best ones.
const TOLD: usize = 3;

/// How true a machining centre drills, each way, one standard deviation, mm (common practice, no source).
const DRILLED_SD_MM: f64 = 0.02;

/// What the command found, as JSON has it.
#[derive(Debug, serde::Serialize)]
struct Found<'a> {
    survey: &'a Survey,
    snapped: Option<&'a Snapped>,
    assembly: Option<&'a measure::Assembly>,
    patterns: Option<&'a [PatternFit]>,
}

pub(super) fn run(args: &MeasureArgs, colour: bool) -> Outcome {
    let lookup = project::disk();
    let mut opened = match params::open_file::<Readings, _>(&args.file, &lookup) {
        Ok(o) => o,
        Err(failure) => return Outcome::bad_input(&failure, colour),
    };
    opened.value.mark_units(&opened.sources);
    let readings = &opened.value;
    let file = readings
        .spots
        .first()
        .map_or(Spot::NOWHERE.file, |s| s.file);
    let mut diags = opened.findings.clone();
    let options = Options {
        keep_doubtful: args.keep_doubtful,
        achieved_scatter: args.achieved,
    };
    let survey = match measure::solve(&readings.network, options) {
        Ok(s) => s,
        Err(findings) => {
            diags.extend(findings.iter().map(|f| readings.diag(f, file)));
            return Outcome {
                remarks: remarks(&diags, &opened.sources, colour),
                status: Status::BadInput,
                ..Outcome::default()
            };
        }
    };
    diags.extend(survey.findings.iter().map(|f| readings.diag(f, file)));
    let snapped = snap(args, &survey, readings, file, &mut diags);
    let assembly = args
        .clearance
        .and_then(|class| assembly(&survey, class, readings, file, &mut diags));
    let patterns = args.against.then(|| {
        let known = known_patterns(&args.file, &lookup);
        let mut fits = measure::rank(&measure::spots(&survey), &known, AGREE_MM);
        // Any two distances meet somewhere: two holes alone are told only when nothing better is known.
        let best = fits.first().map_or(0, PatternFit::agreeing);
        fits.retain(|f| f.is_complete() || f.agreeing() > 2 || best <= 2);
        fits.truncate(TOLD);
        fits
    });
    let written = match write_files(args, readings, &survey, snapped.as_ref()) {
        Ok(said) => said,
        Err(complaint) => return Outcome::complaint(complaint, Status::CannotWrite),
    };
    let found = Found {
        survey: &survey,
        snapped: snapped.as_ref(),
        assembly: assembly.as_ref(),
        patterns: patterns.as_deref(),
    };
    let failed = diags.iter().any(|d| d.severity == Severity::Error);
    Outcome {
        results: match args.format {
            Format::Text => text(&found),
            Format::Json => json_text(&serde_json::to_value(&found).unwrap_or_default()),
        },
        remarks: remarks(&diags, &opened.sources, colour) + &written,
        status: if failed {
            Status::BadInput
        } else {
            Status::Holds
        },
    }
}

/// Rounds or mirrors, when asked.
fn snap(
    args: &MeasureArgs,
    survey: &Survey,
    readings: &Readings,
    file: FileId,
    diags: &mut Vec<Diag>,
) -> Option<Snapped> {
    let asked = match (args.round, args.symmetric) {
        (Some(step), _) => measure::snap_to_grid(survey, step),
        (None, true) => measure::snap_to_mirror(survey),
        (None, false) => return None,
    };
    asked.map_err(|f| diags.push(readings.diag(&f, file))).ok()
}

/// How often a plate with clearance holes goes on; holes without a thread are located, not bolted, and left out.
fn assembly(
    survey: &Survey,
    class: FitClass,
    readings: &Readings,
    file: FileId,
    diags: &mut Vec<Diag>,
) -> Option<measure::Assembly> {
    let fit = match class {
        FitClass::Fine => Fit::Fine,
        FitClass::Medium => Fit::Medium,
        FitClass::Coarse => Fit::Coarse,
    };
    let holes: Vec<ClearanceHole> = survey
        .holes
        .iter()
        .filter_map(|h| {
            let thread = Threads::standard().thread(h.thread.as_deref()?).ok()?;
            let diameter_mm = ClearanceHoles::standard()
                .diameter_mm(thread.d_mm, fit)
                .ok()?;
            Some(ClearanceHole {
                hole: h.name.clone(),
                diameter_mm,
                bolt_mm: thread.d_mm,
                drilled_sd_mm: DRILLED_SD_MM,
            })
        })
        .collect();
    measure::assembly(survey, &holes)
        .map_err(|f| {
            let f = readings.diag(&f, file);
            diags.push(f.help(
                "give the holes a `thread`, so that their bolts and clearance holes are known",
            ));
        })
        .ok()
}

/// Every block and accessory that can be found from the readings file.
fn known_patterns(file: &Path, lookup: &Lookup<Disk>) -> Vec<KnownPattern> {
    fn every<T: ParamFile>(file: &Path, lookup: &Lookup<Disk>) -> Vec<T> {
        let mut names = lookup.names(file, T::KIND.folder);
        names.sort();
        names.dedup();
        // A file that cannot be used has no pattern to offer; opening a job with it says why.
        names
            .iter()
            .filter_map(|n| lookup.find(file, T::KIND.folder, n).ok())
            .filter_map(|f| params::read_text::<T>(&f.shown, &f.bytes, &lookup.known).ok())
            .map(|o| o.value)
            .collect()
    }
    let blocks = every::<Block>(file, lookup);
    let accessories = every::<Accessory>(file, lookup);
    blocks
        .iter()
        .flat_map(library::of_block)
        .chain(accessories.iter().flat_map(library::of_accessory))
        .collect()
}

/// Writes the picture and the pattern, where asked; answers what was written, and what is left to fill in.
fn write_files(
    args: &MeasureArgs,
    readings: &Readings,
    survey: &Survey,
    snapped: Option<&Snapped>,
) -> Result<String, String> {
    let kind = match args.pattern_as {
        WriteAs::Block => PatternKind::Block,
        WriteAs::Accessory => PatternKind::Accessory,
    };
    let places: Vec<[f64; 2]> = match snapped {
        Some(s) => s.holes.iter().map(|h| [h.x_mm, h.y_mm]).collect(),
        None => survey.holes.iter().map(|h| [h.x_mm, h.y_mm]).collect(),
    };
    let mut files: Vec<(&Path, String, Vec<String>)> = Vec::new();
    if let Some(path) = &args.picture {
        let text = measure::picture(&readings.network, survey);
        files.push((path, text, Vec::new()));
    }
    for (path, make) in [
        (&args.write, measure::whole_file as fn(_, _, _, _) -> _),
        (&args.pattern, measure::tables),
    ] {
        if let Some(path) = path {
            let written: measure::Written = make(survey, &places, &readings.cut, kind);
            let blanks = written.blank_words();
            files.push((path, written.text, blanks));
        }
    }
    let there = |path: &Path| path.symlink_metadata().is_ok();
    if let Some((path, ..)) = files.iter().find(|(p, ..)| !args.force && there(p)) {
        return Err(format!(
            "`{}` is there already, nothing was written\n  help: give another name, or replace it with --force",
            path.display()
        ));
    }
    let mut said = String::new();
    for (path, text, blanks) in &files {
        write_file(path, text.as_bytes()).map_err(|e| e.to_string())?;
        let _ = writeln!(said, "wrote {}", path.display());
        for line in blanks {
            let _ = writeln!(said, "  to fill in at {line}");
        }
    }
    Ok(said)
}

/// The result for a person.
fn text(found: &Found<'_>) -> String {
    let mut out = measure::report(found.survey);
    if let Some(a) = found.assembly {
        let _ = write!(out, "\n{}\n", measure::assembly_words(a));
    }
    if let Some(s) = found.snapped {
        let _ = write!(out, "\n{}", measure::snapped_words(s));
    }
    if let Some(fits) = found.patterns {
        out.push('\n');
        if fits.is_empty() {
            out.push_str("no known pattern shares two holes with this one\n");
        }
        for f in fits {
            out.push_str(&f.sentence());
            out.push('\n');
        }
    }
    out
}
