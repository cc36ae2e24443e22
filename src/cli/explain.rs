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
    let (order, order_title, order_page) = fitup::RULE;
    if order.eq_ignore_ascii_case(id) {
        return Outcome {
            results: format!("{order} {order_title}\n\n{order_page}"),
            ..Outcome::default()
        };
    }
    if let Some((id, title)) = families().find(|(k, _)| k.eq_ignore_ascii_case(id)) {
        let page = bolt_pages::page(id).or_else(|| gap_pages::page(id));
        return Outcome {
            results: format!("{id} {title}\n\n{}", page.unwrap_or_default()),
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

/// Rules on bolts and gaps: id and title.
fn families() -> impl Iterator<Item = (&'static str, &'static str)> {
    let gaps = surroundings::RULES.iter().map(|r| (r.id, r.title));
    joint::RULES.iter().copied().chain(gaps)
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
    let set = (fitup::RULE.0, fitup::RULE.1);
    for (id, title) in families().chain(std::iter::once(set)) {
        let _ = writeln!(out, "  {id}  {title}");
    }
    out.push_str("\nFindings in the input\n");
    for c in Code::ALL {
        let _ = writeln!(out, "  {}  {}", c.id(), c.headline());
    }
    out
}
