//! The verdict on a job as a shop person reads it: the answer first, then what fails, then the margins.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use crate::project::{Project, variants};
use crate::rules::{Finding, Sense, Verdict, belt};

use super::table::{Align, Table};

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

/// The text of `check`.
///
/// With `all`, every finding is listed; otherwise the one nearest its limit
/// for each rule.
#[must_use]
pub fn text(project: &Project, all: bool) -> String {
    let job = &project.loaded.job;
    let tally = Tally::of(&project.findings);
    let mut out = String::new();
    let _ = writeln!(
        out,
        "{}{} {}, revision {}: {}",
        job.name,
        if project.variant == variants::BASE {
            String::new()
        } else {
            format!(" as {}", project.variant)
        },
        if tally.releasable() {
            "HOLDS"
        } else {
            "DOES NOT HOLD"
        },
        job.revision,
        verdict_line(tally)
    );
    let _ = writeln!(out);
    for f in &project.findings {
        if f.verdict != Verdict::Holds {
            out.push_str(&paragraph(f));
        }
    }
    out.push_str(&plates(project));
    out.push('\n');
    if all {
        out.push_str(&bolts(project));
        out.push('\n');
    }
    out.push_str(&margins(&project.findings, all));
    out
}

fn verdict_line(t: Tally) -> String {
    let places = |n: usize| if n == 1 { "place" } else { "places" };
    let all = t.fail + t.accepted + t.advises + t.hold;
    let mut line = format!("{all} {} measured", places(all));
    let _ = write!(line, ", {} fail", t.fail);
    if t.accepted > 0 {
        let _ = write!(line, ", {} accepted with a reason", t.accepted);
    }
    let _ = write!(line, ", {} hold", t.hold);
    if t.advises > 0 {
        let _ = write!(line, ", {} worth knowing", t.advises);
    }
    line
}

/// A failing or accepted finding in words.
fn paragraph(f: &Finding) -> String {
    let mut out = String::new();
    let word = match f.verdict {
        Verdict::Fails => "FAILS",
        Verdict::Accepted => "accepted",
        Verdict::Advises => "worth knowing",
        Verdict::Holds => "holds",
    };
    let _ = writeln!(
        out,
        "  {word}: {} {}, {}: {} is {}, {} {} is needed",
        f.rule,
        f.title,
        f.on,
        f.what,
        value(f.measured, f.unit),
        match f.sense {
            Sense::AtLeast => "at least",
            Sense::AtMost => "at most",
        },
        value(f.limit, f.unit),
    );
    if let Some(p) = f.places.first() {
        let frame = if f.on == belt::DRIVE || f.rule.starts_with('C') {
            "seen from the front"
        } else {
            "of the plate"
        };
        let _ = writeln!(out, "        at x {:.2}, y {:.2} {frame}", p.x, p.y);
    }
    let _ = writeln!(out, "        source: {}", f.source);
    if let Some(mend) = &f.mend {
        let _ = writeln!(out, "        mend: {mend}");
    }
    if let Some(reason) = &f.reason {
        let _ = writeln!(out, "        reason: {reason}");
    }
    out.push('\n');
    out
}

/// A value with its unit, two decimals for lengths.
#[must_use]
pub fn value(v: f64, unit: &str) -> String {
    // Kills the sign of a zero that only rounding made negative.
    let shown = if v.abs() < 0.005 { 0.0 } else { v };
    if unit.is_empty() {
        format!("{shown:.0}")
    } else if unit == "-" {
        format!("{shown:.2}")
    } else {
        format!("{shown:.2} {unit}")
    }
}

fn plates(project: &Project) -> String {
    let mut t = Table::new(&[
        ("plate", Align::Left),
        ("stock", Align::Left),
        ("thick mm", Align::Right),
        ("size mm", Align::Right),
        ("mass kg", Align::Right),
        ("openings", Align::Right),
        ("cut mm", Align::Right),
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

/// Longest text of the table's middle column, so that a line fits a usual terminal.
const PLACE_CHARS: usize = 68;

fn shortened(text: &str) -> String {
    if text.chars().count() <= PLACE_CHARS {
        return text.to_owned();
    }
    let mut short: String = text.chars().take(PLACE_CHARS - 1).collect();
    short.push('\u{2026}');
    short
}

fn margins(findings: &[Finding], all: bool) -> String {
    let mut t = Table::new(&[
        ("rule", Align::Left),
        ("", Align::Left),
        ("part", Align::Left),
        ("closest place", Align::Left),
        ("measured", Align::Right),
        ("limit", Align::Right),
        ("margin", Align::Right),
    ]);
    let mut seen: BTreeMap<&str, usize> = BTreeMap::new();
    let mut hidden = 0;
    for f in findings {
        let n = seen.entry(f.rule).or_default();
        *n += 1;
        if !all && *n > 1 && f.verdict == Verdict::Holds {
            hidden += 1;
            continue;
        }
        t.row([
            f.rule.to_owned(),
            match f.verdict {
                Verdict::Fails => "FAILS".to_owned(),
                Verdict::Accepted => "accepted".to_owned(),
                Verdict::Advises => "worth knowing".to_owned(),
                Verdict::Holds => "holds".to_owned(),
            },
            f.on.clone(),
            shortened(&format!("{}: {}", f.title, f.what)),
            value(f.measured, f.unit),
            format!(
                "{} {}",
                match f.sense {
                    Sense::AtLeast => "\u{2265}",
                    Sense::AtMost => "\u{2264}",
                },
                value(f.limit, f.unit)
            ),
            value(f.margin, f.unit),
        ]);
    }
    let mut out = t.render();
    if hidden > 0 {
        let _ = writeln!(
            out,
            "\n  {hidden} more places hold with a wider margin; --all lists them"
        );
    }
    out
}

/// The JSON of `check`: `{job, variant, title, revision, verdict, tally, plates, fasteners, findings}`.
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
        "fasteners": project.bolting.joints.iter().map(|b| &b.report).collect::<Vec<_>>(),
        "findings": project.findings,
    })
}
