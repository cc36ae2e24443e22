//! Rules: every measured value against its limit, with source, margin and place.
//!
//! One rule is one file. A rule reads the job, the layout and the plates, and
//! answers findings; it changes nothing. [`RULES`] is the table of all of
//! them, [`run`] judges a job and applies the deviations it names.

pub mod assembly;
pub mod belt;
pub mod bolt_pages;
pub mod bolts;
pub mod edge_distance;
pub mod feature_inside;
pub mod floor;
pub mod gap_pages;
pub mod gaps;
pub mod hole_pitch;
pub mod inside_radius;
pub mod least_hole;
pub mod ligament;
pub mod mix_up;
pub mod neck;
pub mod one_piece;
pub mod openings;
pub mod seat_on_metal;
pub mod second_operation;
pub mod sheet;
pub mod strength;
pub mod tap_depth;
pub mod wall;

use std::borrow::Cow;
use std::collections::BTreeSet;

use serde::Serialize;

use crate::diag::{Code, Diag, Sink, Spot};
use crate::geom::Point;
use crate::order;
use crate::params::job::{Deviation, Job};
use crate::params::nearest::nearest;
use crate::params::shop::{Process, Shop, Stock};
use crate::platework::MadePlate;
use crate::surroundings;
use crate::tol;

/// Unit of a finding that is true or not: measured 1 for yes, 0 for no.
pub const YES_NO: &str = "yes/no";

/// Which way a limit bounds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Sense {
    /// The measured value must not be less.
    AtLeast,
    /// The measured value must not be more.
    AtMost,
}

/// What a rule says of one place.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Verdict {
    /// The limit is broken.
    Fails,
    /// The limit is broken and the job accepts that with a reason.
    Accepted,
    /// The limit is broken, but it is advice: worth knowing, no bar to a release.
    Advises,
    /// The limit is kept.
    Holds,
}

/// One rule measured at one place.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Finding {
    /// Rule id, such as `H301`.
    pub rule: &'static str,
    /// What the rule is called.
    pub title: &'static str,
    /// Plate, joint or pulley it is about.
    pub on: String,
    /// Hole or feature it is about; empty when it is about the whole part.
    pub at: String,
    /// What was measured, in words.
    pub what: String,
    /// Measured value, in `unit`.
    pub measured: f64,
    /// Limit, in `unit`.
    pub limit: f64,
    /// Unit of measured value, limit and margin.
    pub unit: &'static str,
    /// Which way the limit bounds.
    pub sense: Sense,
    /// Distance kept from the limit, in `unit`; negative when it is broken.
    pub margin: f64,
    /// What the rule says.
    pub verdict: Verdict,
    /// The reason the job gives, for an accepted deviation.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub reason: Option<String>,
    /// Where, in the plate's frame, mm.
    #[serde(serialize_with = "as_pairs")]
    pub places: Vec<Point>,
    /// Published source of the limit, or `common practice, no source`.
    pub source: Cow<'static, str>,
    /// What would mend it, when it fails.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub mend: Option<String>,
    /// Where in the input it comes from.
    #[serde(skip)]
    pub spot: Spot,
}

fn as_pairs<S: serde::Serializer>(points: &[Point], s: S) -> Result<S::Ok, S::Error> {
    s.collect_seq(points.iter().map(|p| [p.x, p.y]))
}

impl Finding {
    /// Whether it stands in the way of a release.
    #[must_use]
    pub fn blocks(&self) -> bool {
        self.verdict == Verdict::Fails
    }

    /// Margin as a share of the limit; the measure by which findings are ranked.
    #[must_use]
    pub fn share(&self) -> f64 {
        let is_right =
            self.unit.is_empty() || self.unit == YES_NO || self.rule == surroundings::BOLTED.id;
        if is_right && self.margin >= 0.0 {
            // A count that holds, or faces that touch as they are bolted, is simply right: nothing to rank.
            return f64::INFINITY;
        }
        if self.limit.abs() > tol::RULE_MM {
            self.margin / self.limit.abs()
        } else {
            self.margin
        }
    }
}

/// The fixed part of a rule: who it is and where its limit comes from.
#[derive(Debug, Clone, Copy)]
pub struct Rule {
    /// Id, such as `H301`; never used again for another rule.
    pub id: &'static str,
    /// What it is called.
    pub title: &'static str,
    /// Source of its limit.
    pub source: &'static str,
    /// Its page, printed by `explain`: what it checks, why, limit and source, bad and good input.
    pub page: &'static str,
    /// Measured value at or below which there is no part to be made, so that no deviation can accept it.
    pub firm_at: Option<f64>,
    /// Judges one plate.
    pub check: fn(&Rule, &Bench<'_>, &mut Vec<Finding>),
}

/// What a plate rule looks at.
#[derive(Debug, Clone, Copy)]
pub struct Bench<'a> {
    /// The plate as made.
    pub made: &'a MadePlate,
    /// Its stock.
    pub stock: &'a Stock,
    /// The process that cuts it.
    pub process: &'a Process,
}

/// One measurement, before it becomes a finding.
#[derive(Debug, Clone)]
pub struct Measured {
    /// Hole or feature; empty for the whole part.
    pub at: String,
    /// What was measured, in words.
    pub what: String,
    /// Value.
    pub measured: f64,
    /// Limit.
    pub limit: f64,
    /// Unit of both.
    pub unit: &'static str,
    /// Which way the limit bounds.
    pub sense: Sense,
    /// Where.
    pub places: Vec<Point>,
    /// What would mend it.
    pub mend: Option<String>,
    /// Where in the input it comes from.
    pub spot: Spot,
}

impl Rule {
    /// Turns a measurement on `on` into a finding.
    ///
    /// Lengths met within [`tol::RULE_MM`] hold.
    #[must_use]
    pub fn judge(&self, on: &str, m: Measured) -> Finding {
        let margin = match m.sense {
            Sense::AtLeast => m.measured - m.limit,
            Sense::AtMost => m.limit - m.measured,
        };
        // A value that is no number never holds.
        let holds = margin >= -tol::RULE_MM;
        Finding {
            rule: self.id,
            title: self.title,
            on: on.to_owned(),
            at: m.at,
            what: m.what,
            measured: m.measured,
            limit: m.limit,
            unit: m.unit,
            sense: m.sense,
            margin,
            verdict: if holds {
                Verdict::Holds
            } else {
                Verdict::Fails
            },
            reason: None,
            places: m.places,
            source: Cow::Borrowed(self.source),
            mend: if holds { None } else { m.mend },
            spot: m.spot,
        }
    }
}

/// Every plate rule, in order of id.
pub const RULES: &[Rule] = &[
    neck::RULE,
    inside_radius::RULE,
    sheet::RULE,
    one_piece::RULE,
    edge_distance::RULE,
    hole_pitch::RULE,
    ligament::RULE,
    wall::RULE,
    least_hole::RULE,
    tap_depth::RULE,
    seat_on_metal::RULE,
    feature_inside::RULE,
    floor::RULE,
    second_operation::RULE,
    mix_up::RULE,
];

/// A rule by its id, letter case ignored.
#[must_use]
pub fn rule(id: &str) -> Option<&'static Rule> {
    RULES.iter().find(|r| r.id.eq_ignore_ascii_case(id))
}

/// The page of a rule in a family's list of pages, letter case ignored.
fn page_in(pages: &[(&str, &'static str)], rule: &str) -> Option<&'static str> {
    let mut pages = pages.iter();
    pages
        .find(|(id, _)| id.eq_ignore_ascii_case(rule))
        .map(|p| p.1)
}

/// Judges every plate of a job; worst first.
#[must_use]
pub fn run(
    plates: &[MadePlate],
    shop: &Shop,
    stocks: &std::collections::BTreeMap<String, Stock>,
) -> Vec<Finding> {
    let mut findings = Vec::new();
    for made in plates {
        let process = shop
            .processes
            .iter()
            .find(|p| p.id == made.process)
            .or(shop.processes.first());
        if let (Some(process), Some(stock)) = (process, stocks.get(&made.stock)) {
            let bench = Bench {
                made,
                stock,
                process,
            };
            for rule in RULES {
                (rule.check)(rule, &bench, &mut findings);
            }
        }
    }
    findings
}

/// Sorts findings worst first, see [`order()`].
pub fn rank(findings: &mut [Finding]) {
    findings.sort_by(order);
}

/// Worst first: failing before accepted before holding, then by share of the limit, then by name.
#[must_use]
pub fn order(a: &Finding, b: &Finding) -> std::cmp::Ordering {
    a.verdict
        .cmp(&b.verdict)
        .then(a.share().total_cmp(&b.share()))
        .then(a.rule.cmp(b.rule))
        .then_with(|| order::natural(&a.on, &b.on))
        .then_with(|| order::natural(&a.at, &b.at))
        .then_with(|| order::natural(&a.what, &b.what))
}

/// Applies the job's deviations: a failing finding they name becomes accepted.
///
/// A deviation from what cannot be made at all is an error in `sink`, and the finding still fails.
pub fn accept(findings: &mut [Finding], job: &Job, sink: &mut Sink) {
    for d in &job.deviations {
        for f in findings
            .iter_mut()
            .filter(|f| f.verdict == Verdict::Fails && covers(d, f))
        {
            if firm(f) {
                sink.push(
                    Diag::new(
                        Code::FirmRule,
                        format!(
                            "deviation from {} on `{}`: {} is {:.3} {}, which cannot be made",
                            d.rule, d.on, f.what, f.measured, f.unit
                        ),
                    )
                    .labelled(d.spot, "no reason can accept this")
                    .help("mend the plate"),
                );
            } else {
                f.verdict = Verdict::Accepted;
                f.reason = Some(d.reason.clone());
            }
        }
    }
}

/// Warns of deviations that name nothing that fails: they would hide a later fault.
///
/// `findings` have been through [`accept`]; of several variants, all of them.
/// `measured` tells whether a rule, by id, was looked at at all; a deviation
/// from one that was not stands without a word.
pub fn idle_deviations<'a>(
    job: &Job,
    measured: &dyn Fn(&str) -> bool,
    findings: impl IntoIterator<Item = &'a Finding, IntoIter: Clone>,
    sink: &mut Sink,
) {
    let findings = findings.into_iter();
    for d in job.deviations.iter().filter(|d| measured(&d.rule)) {
        let broken = |f: &Finding| matches!(f.verdict, Verdict::Fails | Verdict::Accepted);
        if !findings.clone().any(|f| broken(f) && covers(d, f)) {
            sink.push(idle(d, findings.clone()));
        }
    }
}

/// Whether a finding is about something that cannot be made at all.
fn firm(f: &Finding) -> bool {
    let limit = rule(f.rule).and_then(|r| r.firm_at);
    limit.is_some_and(|l| f.measured <= l + tol::RULE_MM)
}

/// A deviation that accepts nothing, and why.
fn idle<'a>(d: &Deviation, findings: impl Iterator<Item = &'a Finding> + Clone) -> Diag {
    let ids: BTreeSet<&str> = RULES
        .iter()
        .map(|r| r.id)
        .chain(findings.clone().map(|f| f.rule))
        .collect();
    let known = ids.iter().any(|id| id.eq_ignore_ascii_case(&d.rule));
    let parts: BTreeSet<&str> = findings.map(|f| f.on.as_str()).collect();
    let (why, help) = if !known {
        let near = nearest(&d.rule, ids.iter().copied());
        (
            "there is no such rule".to_owned(),
            near.map(|n| format!("did you mean `{n}`?")),
        )
    } else if !parts.contains(d.on.as_str()) {
        let near = nearest(&d.on, parts.iter().copied());
        (
            format!("no rule is measured on `{}`", d.on),
            near.map(|n| format!("did you mean `{n}`?")),
        )
    } else {
        ("the rule does not fail there".to_owned(), None)
    };
    let place = if d.at.is_empty() {
        format!("`{}`", d.on)
    } else {
        format!("`{}` at `{}`", d.on, d.at)
    };
    Diag::new(
        Code::IdleDeviation,
        format!(
            "deviation from {} on {place} accepts nothing: {why}",
            d.rule
        ),
    )
    .labelled(d.spot, "nothing to accept")
    .help(help.unwrap_or_else(|| "remove it, so that it cannot hide a later fault".to_owned()))
}

fn covers(d: &Deviation, f: &Finding) -> bool {
    f.rule.eq_ignore_ascii_case(&d.rule) && f.on == d.on && (d.at.is_empty() || d.at == f.at)
}
