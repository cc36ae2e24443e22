//! The head of the page: which job it is, whether it holds, and how many places say so.

use std::fmt::Write as _;

use crate::drive::picture::escape;
use crate::project::{Strength, variants};
use crate::report::check::{Tally, sentence};

use super::Page;

/// The head as HTML.
pub(super) fn header(page: &Page<'_>) -> String {
    let project = page.project;
    let job = &project.loaded.job;
    let block = &job.title_block;
    let tally = Tally::of(&project.findings);
    let holds = tally.releasable();
    let (class, word) = if holds {
        ("holds", "Holds")
    } else {
        ("fails", "Does not hold")
    };
    let mut out = format!(
        "<div class=\"stamp {class}\"><p class=\"verdict\">{word}</p><p>{}</p></div>\n\
         <div class=\"card-head\"><h1>{}</h1><dl>",
        sentence(tally),
        escape(&job.title)
    );
    let variant = if project.variant == variants::BASE {
        ""
    } else {
        &project.variant
    };
    let mass: f64 = project
        .plates
        .iter()
        .map(|m| m.plate.properties().mass_kg * f64::from(m.quantity))
        .sum();
    let belt = project
        .drive
        .as_ref()
        .map_or(String::new(), |(_, a)| a.belt.designation.clone());
    let cells = [
        ("job", job.name.clone()),
        ("revision", job.revision.clone()),
        ("variant", variant.to_owned()),
        ("date", job.date.clone()),
        ("for", block.customer.clone()),
        ("owner", block.owner.clone()),
        ("drawn by", block.drawn_by.clone()),
        ("approved by", block.approved_by.clone()),
        ("belt", belt),
        (
            "plates",
            if project.plates.is_empty() {
                String::new()
            } else {
                format!("{}, {mass:.2} kg", project.plates.len())
            },
        ),
    ];
    for (name, text) in cells.iter().filter(|(_, text)| !text.is_empty()) {
        let _ = write!(out, "<div><dt>{name}</dt><dd>{}</dd></div>", escape(text));
    }
    out.push_str("</dl></div>\n");
    if let Some(matrix) = page.fit {
        let failing = matrix.variants.iter().filter(|r| !r.holds).count();
        if failing > 0 {
            let _ = writeln!(
                out,
                "<p class=\"missing\">{failing} of {} variants {} not hold: <a href=\"#variants\">see which</a>.</p>",
                matrix.variants.len(),
                if failing == 1 { "does" } else { "do" }
            );
        }
    }
    let unlooked = match &project.strength {
        Strength::Skipped => Some(
            "Strength and vibration were not calculated: no rule from F401 on was looked at."
                .to_owned(),
        ),
        Strength::Refused(e) => Some(format!("Strength and vibration cannot be calculated: {e}.")),
        Strength::Calculated(_) => None,
    };
    if let Some(words) = unlooked {
        let _ = writeln!(out, "<p class=\"missing\">{}</p>", escape(&words));
    }
    out
}
