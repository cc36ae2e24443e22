//! What fails in a job, variant by variant, so that before and after a change can be told apart.

use std::borrow::Borrow;
use std::collections::BTreeMap;

use serde::Serialize;

use crate::params::Loaded;
use crate::project::variants::{BASE, Fleet};
use crate::rules::{Finding, Sense};

/// A rule that a change breaks.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Broken {
    /// The variant it is broken in; `base` for the job as it stands.
    pub variant: String,
    /// The rule; empty where the variant can no longer be laid out.
    pub rule: String,
    /// In words, with numbers.
    pub what: String,
}

/// Failing rules by variant, rule, part and place, in words.
#[derive(Debug, Default)]
pub(super) struct Verdicts(BTreeMap<[String; 4], String>);

impl Verdicts {
    /// What fails in the job as it stands.
    pub(super) fn of_findings(findings: &[Finding]) -> Self {
        let mut out = Self::default();
        out.add(BASE, findings);
        out
    }

    /// What fails in a job and its variants.
    pub(super) fn of_job(loaded: Loaded) -> Self {
        let fleet = Fleet::of(loaded);
        let outcomes = fleet.judge_all(&|| ());
        let mut out = Self::default();
        for (view, outcome) in fleet.views.iter().zip(outcomes) {
            match outcome {
                Ok(o) => out.add(&view.name, &o.findings),
                Err(faults) => {
                    let what = faults.first().map_or_else(String::new, |d| d.title.clone());
                    let nowhere = [
                        view.name.clone(),
                        String::new(),
                        String::new(),
                        String::new(),
                    ];
                    out.0.insert(nowhere, what);
                }
            }
        }
        out
    }

    fn add<F: Borrow<Finding>>(&mut self, variant: &str, findings: &[F]) {
        for f in findings.iter().map(Borrow::borrow).filter(|f| f.blocks()) {
            let place = [variant, f.rule, &f.on, &f.at].map(str::to_owned);
            self.0.entry(place).or_insert_with(|| sentence(f));
        }
    }

    pub(super) fn len(&self) -> usize {
        self.0.len()
    }

    /// What fails here and does not fail in `before`.
    pub(super) fn beyond(&self, before: &Self) -> Vec<Broken> {
        self.0
            .iter()
            .filter(|(place, _)| !before.0.contains_key(*place))
            .map(|([variant, rule, _, _], what)| Broken {
                variant: variant.clone(),
                rule: rule.clone(),
                what: what.clone(),
            })
            .collect()
    }
}

/// A failing finding as one sentence.
fn sentence(f: &Finding) -> String {
    let bound = match f.sense {
        Sense::AtLeast => "at least",
        Sense::AtMost => "at most",
    };
    let unit = f.unit.trim_matches('-');
    let space = if unit.is_empty() { "" } else { " " };
    format!(
        "{} on {}: {} is {:.2}{space}{unit}, {bound} {:.2}{space}{unit} is needed",
        f.title, f.on, f.what, f.measured, f.limit
    )
}
