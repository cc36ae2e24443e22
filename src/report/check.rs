//! The verdict on a job as a shop person reads it: the answer first, then what fails, then the margins.

use std::collections::BTreeSet;
use std::fmt::Write as _;

use crate::joint::group::NOT_COVERED;
use crate::project::{Project, variants};
use crate::rules::{Finding, Sense, Verdict, YES_NO, belt};

use super::paint::Paint;
use super::strength;
use super::table::{Align, Table};
use crate::units::plain;

/// How many findings stand in each verdict.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
pub struct Tally {
    /// Limits broken.
    pub fail: usize,
    /// Limits broken and accepted with a reason.
    pub accepted: usize,
    /// Advice not followed.
    pub advises: usize,
    /// Limits kept.
    pub hold: usize,
}

impl Tally {
    /// Counts findings.
    #[must_use]
    pub fn of(findings: &[Finding]) -> Self {
        let count = |v| findings.iter().filter(|f| f.verdict == v).count();
        Self {
            fail: count(Verdict::Fails),
            accepted: count(Verdict::Accepted),
            advises: count(Verdict::Advises),
            hold: count(Verdict::Holds),
        }
    }

    /// Whether nothing stands in the way of a release.
    #[must_use]
    pub const fn releasable(&self) -> bool {
        self.fail == 0
    }
}

/// Widest line of the text, columns: a usual terminal of 120 with a margin.
const WIDTH: usize = 118;

/// Narrowest column of words that can still be read, columns, whatever the others need.
const FEWEST_WORDS: usize = 30;

/// The text of `check`: the verdict, then what fails, the plates, and how close the limits are.
///
/// With `all`, every place is listed; otherwise the one nearest its limit for
/// each rule. Lines keep to 118 columns but for names and reasons that are
/// longer than that without a blank.
#[must_use]
pub fn text(project: &Project, all: bool, paint: Paint) -> String {
    let job = &project.loaded.job;
    let tally = Tally::of(&project.findings);
    let verdict = if tally.releasable() {
        paint.good("HOLDS")
    } else {
        paint.bad("DOES NOT HOLD")
    };
    let mut out = format!(
        "{}{}, revision {}: {verdict}. {}\n\n",
        job.name,
        if project.variant == variants::BASE {
            String::new()
        } else {
            format!(" as {}", project.variant)
        },
        job.revision,
        sentence(tally)
    );
    for f in &project.findings {
        if f.verdict != Verdict::Holds {
            out.push_str(&paragraph(project, f, paint));
        }
    }
    if !project.plates.is_empty() {
        out.push_str(&plates(project));
        out.push('\n');
    }
    let strength = strength::text(project);
    if !strength.is_empty() {
        out.push_str(&strength);
        out.push('\n');
    }
    if all && !project.bolting.joints.is_empty() {
        out.push_str(&bolts(project));
        out.push('\n');
    }
    out.push_str(&margins(&project.findings, all));
    if !project.bolting.joints.is_empty() {
        out.push_str(&taken(project));
    }
    out
}

/// Which shock is held against what, and what the bolt calculation leaves out.
fn taken(project: &Project) -> String {
    let job = &project.loaded.job;
    let lines = [
        format!(
            "shock: joints may not slip or open under {} g ([fasteners] shock), plates may not yield under {} g \
             ([strength] shock-g)",
            plain(job.fasteners.shock_g, 2),
            plain(job.strength.shock_g, 2)
        ),
        format!("joints: {NOT_COVERED}"),
    ];
    let mut out = String::from("\n");
    for line in lines {
        for (n, part) in wrapped(&line, WIDTH - 4).into_iter().enumerate() {
            let indent = if n == 0 { 2 } else { 4 };
            let _ = writeln!(out, "{:indent$}{part}", "");
        }
    }
    out
}

/// The tally in one sentence.
#[must_use]
pub fn sentence(t: Tally) -> String {
    let all = t.fail + t.accepted + t.advises + t.hold;
    let places = |n: usize| if n == 1 { "place" } else { "places" };
    let mut parts = Vec::new();
    if t.fail > 0 {
        parts.push(format!(
            "{} of {all} {} {}",
            t.fail,
            places(all),
            if t.fail == 1 { "fails" } else { "fail" }
        ));
    } else if all == 0 {
        parts.push("Nothing was measured: the job has neither plate nor drive".to_owned());
    } else if t.accepted + t.advises == 0 {
        parts.push(format!(
            "All {all} {} measured keep their limit",
            places(all)
        ));
    } else {
        parts.push(format!(
            "{} of {all} {} keep their limit",
            t.hold,
            places(all)
        ));
    }
    if t.accepted > 0 {
        parts.push(format!("{} accepted with a reason", t.accepted));
    }
    if t.advises > 0 {
        parts.push(format!("{} worth knowing", t.advises));
    }
    format!("{}.", parts.join(", "))
}

/// A finding that does not hold, in words: what, how much, where, whence, and what to do.
fn paragraph(project: &Project, f: &Finding, paint: Paint) -> String {
    let word = match f.verdict {
        Verdict::Fails => paint.bad("FAILS"),
        Verdict::Accepted => paint.note("accepted"),
        Verdict::Advises => paint.note("worth knowing"),
        Verdict::Holds => paint.good("holds"),
    };
    let mut out = format!("{word}  {} {}, {}\n", f.rule, f.title, f.on);
    let mut lines = vec![against_limit(f)];
    if let Some(p) = f.places.first() {
        let frame = if f.on == belt::DRIVE || f.rule.starts_with('C') {
            "of the engine, seen from the front"
        } else {
            "of the plate"
        };
        lines.push(format!("at x {:.2}, y {:.2} {frame}", p.x, p.y));
    }
    if let Some(place) = project.sources().place(f.spot) {
        lines.push(format!("written in {place}"));
    }
    if let Some(mend) = &f.mend {
        lines.push(format!("mend: {mend}"));
    }
    if let Some(reason) = &f.reason {
        lines.push(format!("reason: {reason}"));
    }
    lines.push(format!("source: {}", f.source));
    for line in lines {
        for (n, part) in wrapped(&line, WIDTH - 8).into_iter().enumerate() {
            let indent = if n == 0 { 4 } else { 8 };
            let _ = writeln!(out, "{:indent$}{part}", "");
        }
    }
    out.push('\n');
    out
}

/// What was measured against its limit, in words.
#[must_use]
pub fn against_limit(f: &Finding) -> String {
    // What is true or not says itself.
    if f.unit == YES_NO {
        return f.what.clone();
    }
    let bound = match f.sense {
        Sense::AtLeast => "at least",
        Sense::AtMost => "at most",
    };
    let measured = if f.measured.is_finite() {
        format!("is {}", value(f.measured, f.unit))
    } else {
        "cannot be had".to_owned()
    };
    format!(
        "{} {measured}, {bound} {} is needed",
        f.what,
        value(f.limit, f.unit)
    )
}

/// A text in lines of at most `width` characters, broken at blanks; a longer word stays whole.
fn wrapped(text: &str, width: usize) -> Vec<String> {
    let mut lines = vec![String::new()];
    for word in text.split_whitespace() {
        let Some(line) = lines.last_mut() else { break };
        if line.is_empty() {
            line.push_str(word);
        } else if line.chars().count() + 1 + word.chars().count() <= width {
            line.push(' ');
            line.push_str(word);
        } else {
            lines.push(word.to_owned());
        }
    }
    lines
}

/// A value with its unit, two decimals unless it is a count or a large number.
#[must_use]
pub fn value(v: f64, unit: &str) -> String {
    match unit {
        "" | "-" | YES_NO => number(v, unit),
        _ => format!("{} {unit}", number(v, unit)),
    }
}

/// A value without its unit: two decimals unless it is a count or a large number.
fn number(v: f64, unit: &str) -> String {
    if !v.is_finite() {
        return "none".to_owned();
    }
    if unit == YES_NO {
        return if v > 0.5 { "yes" } else { "no" }.to_owned();
    }
    // Kills the sign of a zero that only rounding made negative.
    let shown = if v.abs() < 0.005 { 0.0 } else { v };
    // Hundredths of a thousand newtons or turns are noise; of a millimetre they are not.
    let whole = unit.is_empty() || (unit != "mm" && shown.abs() >= 1000.0);
    if whole {
        format!("{shown:.0}")
    } else {
        format!("{shown:.2}")
    }
}

fn plates(project: &Project) -> String {
    let mut t = Table::new(&[
        ("plate", Align::Left),
        ("cut from", Align::Left),
        ("thickness mm", Align::Right),
        ("size mm", Align::Right),
        ("mass kg", Align::Right),
        ("cuts through", Align::Right),
        ("cut length mm", Align::Right),
        ("process", Align::Left),
    ]);
    for m in &project.plates {
        let p = m.plate.properties();
        let e = m.plate.outline.extents();
        t.row([
            m.plate.id.clone(),
            m.stock.clone(),
            format!("{:.2}", m.plate.thickness_mm),
            format!("{:.1} x {:.1}", e.width(), e.height()),
            format!("{:.3}", p.mass_kg),
            format!("{}", p.pierces - 1),
            format!("{:.0}", p.cut_length_mm),
            m.process.clone(),
        ]);
    }
    t.render()
}

/// Every fastener with its length, engagement and torque.
fn bolts(project: &Project) -> String {
    let mut t = Table::new(&[
        ("joint", Align::Left),
        ("bolt", Align::Left),
        ("grip mm", Align::Right),
        ("engaged mm", Align::Right),
        ("torque N·m", Align::Right),
        ("preload kN", Align::Right),
        ("least left kN", Align::Right),
    ]);
    for b in &project.bolting.joints {
        let r = &b.report;
        t.row([
            b.joint.clone(),
            r.designation.clone(),
            format!("{:.2}", r.stack.grip_mm),
            format!("{:.2}", r.stack.engagement_mm),
            format!("{:.1}", r.preload.torque_nm),
            format!("{:.1}", 1e-3 * r.preload.preload_max_n),
            format!("{:.1}", 1e-3 * r.settling.least_clamp_n),
        ]);
    }
    t.render()
}

/// The limits that are kept, the closest first.
fn margins(findings: &[Finding], all: bool) -> String {
    let head = [
        "rule",
        "on",
        if all {
            "limits kept, closest first"
        } else {
            "limits kept, the closest place of each rule first"
        },
        "measured",
        "limit",
        "margin",
        "",
    ];
    let mut seen: BTreeSet<&str> = BTreeSet::new();
    let mut hidden = 0;
    let mut rows = Vec::new();
    for f in findings.iter().filter(|f| f.verdict == Verdict::Holds) {
        if !seen.insert(f.rule) && !all {
            hidden += 1;
            continue;
        }
        rows.push(row(f));
    }
    if rows.is_empty() {
        return String::new();
    }
    let mut t = Table::new(&head.map(|h| {
        let numbers = ["measured", "limit", "margin"].contains(&h);
        (h, if numbers { Align::Right } else { Align::Left })
    }));
    let words_wide = room(&head, &rows);
    for mut cells in rows {
        let mut words = wrapped(&cells[WORDY], words_wide).into_iter();
        cells[WORDY] = words.next().unwrap_or_default();
        t.row(cells);
        for more in wrapped(&words.collect::<Vec<_>>().join(" "), words_wide - 2) {
            if !more.is_empty() {
                t.row([String::new(), String::new(), format!("  {more}")]);
            }
        }
    }
    let mut out = t.render();
    if hidden > 0 {
        let _ = writeln!(
            out,
            "\n  {hidden} more places keep their limit with more to spare; --all lists them"
        );
    }
    out
}

/// Place of the wordy cell in a row of margins.
const WORDY: usize = 2;

/// One finding as cells of the table of margins.
fn row(f: &Finding) -> [String; 7] {
    // Some rules are named by what they measure: once is enough.
    let words = if f.what.starts_with(f.title) {
        f.what.clone()
    } else {
        format!("{}: {}", f.title, f.what)
    };
    let bound = match f.sense {
        Sense::AtLeast => '\u{2265}',
        Sense::AtMost => '\u{2264}',
    };
    [
        f.rule.to_owned(),
        f.on.clone(),
        words,
        number(f.measured, f.unit),
        if f.unit == YES_NO {
            number(f.limit, f.unit)
        } else {
            format!("{bound} {}", number(f.limit, f.unit))
        },
        if f.unit == YES_NO {
            String::new()
        } else {
            number(f.margin, f.unit)
        },
        match f.unit {
            "-" | YES_NO => String::new(),
            unit => unit.to_owned(),
        },
    ]
}

/// Columns left for words when every other cell has its room.
fn room(head: &[&str; 7], rows: &[[String; 7]]) -> usize {
    let wide = |text: &str| text.chars().count();
    let others: usize = (0..head.len())
        .filter(|&c| c != WORDY)
        .map(|c| {
            rows.iter()
                .map(|r| wide(&r[c]))
                .fold(wide(head[c]), usize::max)
        })
        .sum();
    WIDTH
        .saturating_sub(others + 2 * head.len())
        .max(wide(head[WORDY]).min(FEWEST_WORDS))
}

/// The JSON of `check`:
/// `{job, variant, title, revision, verdict, tally, plates, fasteners, joints, strength, findings}`, where
/// `joints` is `{shock_g, plates_shock_g, not_covered}`.
#[must_use]
pub fn json(project: &Project) -> serde_json::Value {
    let tally = Tally::of(&project.findings);
    let plates: Vec<serde_json::Value> = project
        .plates
        .iter()
        .map(|m| {
            let p = m.plate.properties();
            let e = m.plate.outline.extents();
            serde_json::json!({
                "id": m.plate.id,
                "title": m.plate.title,
                "stock": m.stock,
                "process": m.process,
                "material": m.plate.material,
                "thickness_mm": m.plate.thickness_mm,
                "width_mm": e.width(),
                "height_mm": e.height(),
                "area_mm2": p.section.area_mm2,
                "centroid_mm": [p.section.centroid.x, p.section.centroid.y],
                "ixx_mm4": p.section.ixx_mm4,
                "iyy_mm4": p.section.iyy_mm4,
                "ixy_mm4": p.section.ixy_mm4,
                "volume_mm3": p.volume_mm3,
                "mass_kg": p.mass_kg,
                "cut_length_mm": p.cut_length_mm,
                "pierces": p.pierces,
                "quantity": m.quantity,
            })
        })
        .collect();
    serde_json::json!({
        "job": project.loaded.job.name,
        "variant": project.variant,
        "title": project.loaded.job.title,
        "revision": project.loaded.job.revision,
        "verdict": if tally.releasable() { "holds" } else { "fails" },
        "tally": tally,
        "plates": plates,
        "strength": strength::json(project),
        "fasteners": project.bolting.joints.iter().map(|b| &b.report).collect::<Vec<_>>(),
        "joints": {
            "shock_g": project.loaded.job.fasteners.shock_g,
            "plates_shock_g": project.loaded.job.strength.shock_g,
            "not_covered": [NOT_COVERED],
        },
        "findings": project.findings,
    })
}
