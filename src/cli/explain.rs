//! `explain`: the page of a finding or a rule.

use std::fmt::Write as _;

use crate::diag::Code;
use crate::drive;
use crate::fitup;
use crate::joint;
use crate::rules::{self, bolt_pages, gap_pages};
use crate::surroundings;

use super::args::ExplainArgs;
use super::{Outcome, Status};

pub(super) fn run(args: &ExplainArgs) -> Outcome {
    let Some(id) = &args.id else {
        return Outcome {
            results: list(),
            ..Outcome::default()
        };
    };
    if let Some(rule) = rules::rule(id) {
        return Outcome {
            results: format!("{} {}\n\n{}", rule.id, rule.title, rule.page),
            ..Outcome::default()
        };
    }
    if let Some(rule) = drive::RULES.iter().find(|r| r.id.eq_ignore_ascii_case(id)) {
        let kind = match rule.weight {
            drive::Weight::Must => "a rule: the drive is not right while it fails",
            drive::Weight::Advice => "advice: worth knowing, no bar to a release",
        };
        return Outcome {
            results: format!(
                "{} {}\n\n{kind}\nunit: {}\nsource of the limit: {}\n",
                rule.id, rule.title, rule.unit, rule.source
            ),
            ..Outcome::default()
        };
    }
    if let Some(rule) = rules::strength::rule(id) {
        return Outcome {
            results: format!(
                "{} {}\n\n{}\nsource of the limit: {}\n",
                rule.id, rule.title, rule.page, rule.source
            ),
            ..Outcome::default()
        };
    }
    if let Some((id, title, page)) = families().find(|(k, ..)| k.eq_ignore_ascii_case(id)) {
        return Outcome {
            results: format!("{id} {title}\n\n{page}"),
            ..Outcome::default()
        };
    }
    if let Some(code) = Code::from_id(id) {
        return Outcome {
            results: format!("{code} {}\n\n{}\n", code.headline(), code.page()),
            ..Outcome::default()
        };
    }
    Outcome::complaint(
        format!("there is no finding or rule `{id}`; `platewright explain` lists them all"),
        Status::BadInput,
    )
}

/// Rules on bolts, gaps and the order of assembly: id, title and page.
fn families() -> impl Iterator<Item = (&'static str, &'static str, &'static str)> {
    let bolts = joint::RULES
        .iter()
        .map(|(id, title)| (*id, *title, bolt_pages::page(id)));
    let gaps = surroundings::RULES
        .iter()
        .map(|r| (r.id, r.title, gap_pages::page(r.id)));
    bolts
        .chain(gaps)
        .map(|(id, title, page)| (id, title, page.unwrap_or_default()))
        .chain(std::iter::once(fitup::RULE))
}

fn list() -> String {
    let mut out = String::from("Rules\n");
    for r in rules::RULES {
        let _ = writeln!(out, "  {}  {}", r.id, r.title);
    }
    for r in drive::RULES {
        let _ = writeln!(out, "  {}  {}", r.id, r.title);
    }
    for r in rules::strength::RULES {
        let _ = writeln!(out, "  {}  {}", r.id, r.title);
    }
    for (id, title, _) in families() {
        let _ = writeln!(out, "  {id}  {title}");
    }
    out.push_str("\nFindings in the input\n");
    for c in Code::ALL {
        let _ = writeln!(out, "  {}  {}", c.id(), c.headline());
    }
    out
}
