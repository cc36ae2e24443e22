//! Strength and vibration in words and as JSON, rounded to what a mesh is worth.

use std::fmt::Write as _;

use serde_json::{Value, json};

use crate::bracket::{Calculated, SPACER_MATERIAL};
use crate::project::variants::BASE;
use crate::project::{Project, Strength};
use crate::strength::places::Kind;
use crate::strength::report::{CAUTION, PlaceReport, StrengthReport};

use super::table::{Align, Table};

/// Significant digits of a calculated value.
const DIGITS: i32 = 4;

/// Below this a value is rounding, whatever its unit.
const NOTHING: f64 = 1e-6;

/// What `check` says when strength was left out.
const SKIPPED: &str = "strength and vibration: NOT CALCULATED, left out on demand; no rule from F401 on was looked at";

/// What the model takes as given beside the calculation's own assumptions.
fn given() -> [String; 4] {
    [
        format!("Spacers are turned from {SPACER_MATERIAL}; the bolt inside is left out."),
        "Pins carry nothing; a slot is clamped where the layout has its bolt.".to_owned(),
        "Accessories are evenly filled envelopes of their mass; a tensioner's arm stands still."
            .to_owned(),
        "The belt state that pulls hardest on the set is taken at idle and at top speed."
            .to_owned(),
    ]
}

/// The section of `check`'s text.
#[must_use]
pub fn text(project: &Project) -> String {
    let mut out = match &project.strength {
        Strength::Skipped => format!("{SKIPPED}\n"),
        Strength::Refused(e) => format!("strength and vibration: cannot be calculated: {e}\n"),
        Strength::Calculated(done) => calculated(done),
    };
    let others = other_variants(project);
    if !others.is_empty() && !matches!(project.strength, Strength::Skipped) {
        let _ = writeln!(
            out,
            "\nstrength is that of variant {}; NOT CALCULATED here for {}: \
             `check --variant NAME` calculates one",
            project.variant,
            others.join(", ")
        );
    }
    out
}

/// The job's variants beside the one at hand.
fn other_variants(project: &Project) -> Vec<&str> {
    let job = &project.loaded.job;
    let names = job.variants.iter().map(|v| v.name.as_str());
    std::iter::once(BASE)
        .chain(names)
        .filter(|n| *n != project.variant && !job.variants.is_empty())
        .collect()
}

fn calculated(done: &Calculated) -> String {
    let report = &done.strength.report;
    let mut out = String::new();
    let last = report.passes.last();
    let _ = writeln!(
        out,
        "strength and vibration: {} unknowns, {} meshes",
        last.map_or(0, |p| p.unknowns),
        report.passes.len()
    );
    let _ = writeln!(out, "{CAUTION}\n");
    let mut t = Table::new(&[
        ("plate", Align::Left),
        ("peak MPa", Align::Right),
        ("where", Align::Left),
        ("load case", Align::Left),
        ("yield", Align::Right),
        ("fatigue", Align::Right),
    ]);
    for p in &report.plates {
        let Some(peak) = greatest(&p.places) else {
            continue;
        };
        let fatigue = p
            .places
            .iter()
            .filter_map(|p| p.fatigue_safety)
            .min_by(f64::total_cmp);
        t.row([
            p.plate.clone(),
            format!("{:.1}", peak.von_mises_mpa),
            place(peak),
            peak.case.clone(),
            format!("{:.2}", peak.yield_safety),
            fatigue.map_or_else(String::new, |f| format!("{f:.2}")),
        ]);
    }
    out.push_str(&t.render());
    out.push('\n');
    let mut t = Table::new(&[
        ("mode", Align::Right),
        ("Hz", Align::Right),
        ("moves", Align::Left),
    ]);
    for m in &report.modes {
        let moves: Vec<String> = m
            .moves
            .iter()
            .take(3)
            .map(|(name, share)| format!("{name} {:.0} %", 100.0 * share))
            .collect();
        t.row([
            format!("{}", m.mode),
            format!("{:.1}", m.hz),
            moves.join(", "),
        ]);
    }
    out.push_str(&t.render());
    out.push_str(&settling(report));
    out
}

/// Whether the peaks settled, and what is named instead of judged.
fn settling(report: &StrengthReport) -> String {
    let limit = 100.0 * report.peak_change_limit;
    let mut out = String::new();
    let loose: Vec<String> = report
        .plates
        .iter()
        .filter_map(|p| match p.peak_change {
            Some(c) if c <= report.peak_change_limit => None,
            Some(c) => Some(format!("{} {:.1} %", p.plate, 100.0 * c)),
            None => Some(format!("{} on one mesh only", p.plate)),
        })
        .collect();
    if report.is_converged {
        let most = report.passes.last().and_then(|p| p.peak_change);
        let _ = writeln!(
            out,
            "\npeaks settled: none changed by more than {:.1} % from mesh to mesh, {limit:.0} % allowed",
            100.0 * most.unwrap_or(0.0)
        );
    } else {
        let _ = writeln!(
            out,
            "\npeaks NOT settled within {limit:.0} % from mesh to mesh: {}",
            loose.join(", ")
        );
    }
    let rims = report.sharp.iter().filter(|p| p.kind == Kind::Rim).count();
    if rims > 0 {
        let _ = writeln!(
            out,
            "{rims} clamp rims are singular in this model and not judged"
        );
    }
    for p in report.sharp.iter().filter(|p| p.kind != Kind::Rim) {
        let peaks: Vec<String> = p.peaks_mpa.iter().map(|v| format!("{v:.1}")).collect();
        let _ = writeln!(
            out,
            "{}: {} of {}, {} MPa from mesh to mesh{}",
            if p.kind.is_judged() {
                "peak that keeps growing, judged all the same"
            } else {
                "sharp place, not judged"
            },
            p.name,
            p.plate,
            peaks.join(", "),
            if p.is_settled { "" } else { ", not settled" }
        );
    }
    out
}

fn greatest(places: &[PlaceReport]) -> Option<&PlaceReport> {
    places
        .iter()
        .max_by(|a, b| a.von_mises_mpa.total_cmp(&b.von_mises_mpa))
}

fn place(p: &PlaceReport) -> String {
    match p.kind {
        Kind::Beside => format!("beside {}", p.name),
        Kind::Inside => "face".to_owned(),
        _ => p.name.clone(),
    }
}

/// The JSON: `{calculated, variant, other_variants, …}`: `why` where nothing was calculated,
/// else everything reported. Nothing here is about the other variants.
#[must_use]
pub fn json(project: &Project) -> Value {
    let mut value = json!({
        "calculated": project.strength.calculated().is_some(),
        "variant": project.variant,
        "other_variants": other_variants(project),
    });
    let more = match &project.strength {
        Strength::Skipped => json!({ "why": SKIPPED }),
        Strength::Refused(e) => json!({ "why": e.to_string() }),
        Strength::Calculated(done) => {
            let mut value = json!({ "given": given() });
            // A report always serialises: its keys are names and its numbers finite.
            let report = serde_json::to_value(&done.strength.report).unwrap_or_default();
            if let (Value::Object(all), Value::Object(report)) = (&mut value, report) {
                all.extend(report.into_iter().map(|(k, v)| (k, rounded(v))));
            }
            value
        }
    };
    if let (Value::Object(all), Value::Object(more)) = (&mut value, more) {
        all.extend(more);
    }
    value
}

/// Every number with [`DIGITS`] significant digits; what is only rounding becomes 0.
fn rounded(value: Value) -> Value {
    match value {
        Value::Number(n) if n.is_f64() => json!(n.as_f64().map_or(0.0, significant)),
        Value::Array(a) => Value::Array(a.into_iter().map(rounded).collect()),
        Value::Object(o) => Value::Object(o.into_iter().map(|(k, v)| (k, rounded(v))).collect()),
        other => other,
    }
}

fn significant(v: f64) -> f64 {
    if v.abs() < NOTHING {
        return 0.0;
    }
    let decimals = DIGITS - 1 - v.abs().log10().floor() as i32;
    // Text and back gives the shortest number with those digits.
    let places = usize::try_from(decimals).unwrap_or(0);
    format!("{v:.places$}").parse().unwrap_or(v)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_keep_four_digits_and_noise_becomes_zero() {
        assert_eq!(
            rounded(json!([123.456_789, -0.001_234_567, 3e-9, 7, "a", 98_765.4])),
            json!([123.5, -0.001_235, 0.0, 7, "a", 98_765.0])
        );
    }
}
