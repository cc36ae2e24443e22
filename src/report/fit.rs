//! The matrix of `fit`: variants by rule groups, each with its worst margin and the first thing that fails.

use std::fmt::Write as _;
use std::sync::Arc;

use serde::Serialize;

use crate::diag::Diag;
use crate::project::variants::{Fleet, Outcome};
use crate::rules::{Finding, Verdict};
use crate::surroundings::Near;

use super::check::{against_limit, value};
use super::table::{Align, Table};

/// Groups of rules, in the order of the columns: name and first letters of the rules' ids.
pub const GROUPS: &[(&str, &str)] = &[
    ("plates", "GH"),
    ("belt", "B"),
    ("joints", "J"),
    ("clearance", "C"),
];

/// What the matrix leaves out, for every variant.
const NO_STRENGTH: &str = "strength and vibration: NOT CALCULATED for any variant here; \
                           `check --variant NAME` calculates one";

/// The matrix.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Matrix {
    /// Name of the job.
    pub job: String,
    /// Its revision.
    pub revision: String,
    /// Whether every variant holds.
    pub holds: bool,
    /// Variants whose strength was calculated: none, that is left to `check`.
    pub strength_of: Vec<String>,
    /// One row a variant, the job as it stands first.
    pub variants: Vec<Row>,
}

/// One variant.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Row {
    /// Its name.
    pub name: String,
    /// What a person calls it.
    pub title: String,
    /// Whether every rule holds or is accepted.
    pub holds: bool,
    /// Rules that fail.
    pub fails: usize,
    /// Rules that hold or are accepted.
    pub held: usize,
    /// One cell a group, in the order of [`GROUPS`]; empty where the variant cannot be laid out.
    pub groups: Vec<Cell>,
    /// The first thing that fails, in words.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub first_failure: Option<String>,
    /// What would mend it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub mend: Option<String>,
}

/// The worst of a group of rules.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Cell {
    /// The group.
    pub group: &'static str,
    /// Rules that fail.
    pub fails: usize,
    /// Whether the worst is a broken limit that the job accepts with a reason.
    pub accepted: bool,
    /// The rule with the least room; none where the group has nothing to measure.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub worst_rule: Option<&'static str>,
    /// Its margin, in `unit`; none where there is no number.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub margin: Option<f64>,
    /// Unit of the margin.
    pub unit: &'static str,
}

impl Matrix {
    /// The matrix of a fleet's outcomes, in the fleet's order.
    #[must_use]
    pub fn of(fleet: &Fleet, outcomes: &[Result<Outcome, Vec<Diag>>]) -> Self {
        let rows: Vec<Row> = fleet
            .views
            .iter()
            .zip(outcomes)
            .map(|(view, outcome)| match outcome {
                Ok(o) => row(&view.name, &view.title, &o.findings, &o.near),
                Err(faults) => Row {
                    name: view.name.clone(),
                    title: view.title.clone(),
                    holds: false,
                    fails: faults.len(),
                    held: 0,
                    groups: Vec::new(),
                    first_failure: faults.first().map(|d| d.title.clone()),
                    mend: faults.first().and_then(|d| d.help.first().cloned()),
                },
            })
            .collect();
        let (job, revision) = fleet.job();
        Self {
            job: job.to_owned(),
            revision: revision.to_owned(),
            holds: rows.iter().all(|r| r.holds),
            strength_of: Vec::new(),
            variants: rows,
        }
    }

    /// The matrix as a table, then what fails in words.
    #[must_use]
    pub fn text(&self) -> String {
        let failing = self.variants.iter().filter(|r| !r.holds).count();
        let mut out = String::new();
        let _ = writeln!(
            out,
            "{} {}, revision {}: {} of {} variants hold\n",
            self.job,
            if self.holds { "FITS" } else { "DOES NOT FIT" },
            self.revision,
            self.variants.len() - failing,
            self.variants.len(),
        );
        let mut columns = vec![("variant", Align::Left), ("", Align::Left)];
        columns.extend(GROUPS.iter().map(|(name, _)| (*name, Align::Left)));
        let mut t = Table::new(&columns);
        for r in &self.variants {
            let mut cells = vec![
                r.name.clone(),
                if r.holds { "holds" } else { "FAILS" }.to_owned(),
            ];
            if r.groups.is_empty() {
                cells.extend(GROUPS.iter().map(|_| "-".to_owned()));
            }
            cells.extend(r.groups.iter().map(Cell::text));
            t.row(cells);
        }
        out.push_str(&t.render());
        let _ = writeln!(out, "\n{NO_STRENGTH}");
        if failing > 0 {
            out.push('\n');
        }
        for (names, r) in self.failures() {
            let _ = writeln!(
                out,
                "  {}: {}",
                names.join(", "),
                r.first_failure.as_deref().unwrap_or("cannot be laid out")
            );
            if r.fails > 1 {
                let _ = writeln!(out, "        and {} more", r.fails - 1);
            }
            if let Some(m) = &r.mend {
                let _ = writeln!(out, "        mend: {m}");
            }
        }
        out
    }

    /// Rows that fail, those that fail alike together: their names and the first of them.
    fn failures(&self) -> Vec<(Vec<&str>, &Row)> {
        let mut out: Vec<(Vec<&str>, &Row)> = Vec::new();
        for r in self.variants.iter().filter(|r| !r.holds) {
            let alike = |(_, o): &&mut (Vec<&str>, &Row)| {
                (&o.first_failure, o.fails, &o.mend) == (&r.first_failure, r.fails, &r.mend)
            };
            match out.iter_mut().find(alike) {
                Some((names, _)) => names.push(&r.name),
                None => out.push((vec![&r.name], r)),
            }
        }
        out
    }
}

impl Cell {
    fn text(&self) -> String {
        match (self.worst_rule, self.margin) {
            (Some(rule), Some(m)) => {
                let unit = if self.unit.is_empty() { "-" } else { self.unit };
                let word = if self.fails > 0 {
                    format!("{} fail, ", self.fails)
                } else if self.accepted {
                    "accepted ".to_owned()
                } else {
                    String::new()
                };
                format!(
                    "{word}{rule} {}{}",
                    if m >= 0.0 { "+" } else { "" },
                    value(m, unit)
                )
            }
            (Some(rule), None) => format!("{} fail, {rule}", self.fails),
            (None, _) => "-".to_owned(),
        }
    }
}

fn row(name: &str, title: &str, findings: &[Arc<Finding>], near: &[Arc<Near>]) -> Row {
    let fails = findings.iter().filter(|f| f.blocks()).count();
    let first = findings.iter().find(|f| f.blocks());
    Row {
        name: name.to_owned(),
        title: title.to_owned(),
        holds: fails == 0,
        fails,
        held: findings.len() - fails,
        groups: GROUPS
            .iter()
            .map(|(group, letters)| cell(group, letters, findings))
            .collect(),
        first_failure: first.map(|f| words(f, near)),
        mend: first.and_then(|f| f.mend.clone()),
    }
}

/// The worst of a group: findings come worst first.
fn cell(group: &'static str, letters: &str, findings: &[Arc<Finding>]) -> Cell {
    let mine = || {
        findings
            .iter()
            .filter(|f| f.rule.starts_with(|c| letters.contains(c)))
            .filter(|f| f.verdict != Verdict::Advises)
    };
    let worst = mine().next();
    Cell {
        group,
        fails: mine().filter(|f| f.blocks()).count(),
        accepted: worst.is_some_and(|f| f.verdict == Verdict::Accepted),
        worst_rule: worst.map(|f| f.rule),
        margin: worst.map(|f| f.margin).filter(|m| m.is_finite()),
        unit: worst.map_or("", |f| f.unit),
    }
}

/// A failing finding as one sentence.
fn words(f: &Finding, near: &[Arc<Near>]) -> String {
    let pair = near
        .iter()
        .find(|n| n.rule == f.rule && n.gap.first == f.on && n.gap.second == f.at);
    if let Some(n) = pair {
        let g = &n.gap;
        let with = |body: &str, solid: &str| {
            if solid.is_empty() || body.contains(solid) {
                body.to_owned()
            } else {
                format!("the {solid} of {body}")
            }
        };
        let (a, b) = (
            with(&g.first, &g.first_solid),
            with(&g.second, &g.second_solid),
        );
        return if g.gap_mm < 0.0 {
            format!(
                "{a} is {:.2} mm inside {b}, {:.2} mm of room is needed",
                -g.gap_mm, g.limit_mm
            )
        } else {
            format!(
                "{a} is {:.2} mm from {b}, {:.2} mm is needed",
                g.gap_mm, g.limit_mm
            )
        };
    }
    format!("{} {}, {}: {}", f.rule, f.title, f.on, against_limit(f))
}
