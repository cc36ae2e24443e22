//! Every rule measured, as HTML: what does not hold first, then the limits kept, each linked to its place.

use std::fmt::Write as _;

use crate::drive::picture::{escape, n};
use crate::report::check::value;
use crate::rules::{Finding, Sense, Verdict, belt};

use super::Page;
use super::figures::{Figure, MOST_NUMBERS};
use super::place::{Link, Mark};

/// Families of rules in the order shown: name and first letters of the rules' ids.
const FAMILIES: [(&str, &str); 5] = [
    ("Plates", "GH"),
    ("Belt drive", "B"),
    ("Joints", "J"),
    ("Room between parts", "C"),
    ("Strength and vibration", "F"),
];

/// The class by which a verdict is coloured.
pub(super) const fn class(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Fails => "fails",
        Verdict::Accepted => "accepted",
        Verdict::Advises => "advises",
        Verdict::Holds => "holds",
    }
}

/// The whole section.
pub(super) fn section(page: &Page<'_>, figures: &[Figure], links: &[Link]) -> String {
    let findings = &page.project.findings;
    let mut out = String::new();
    let mut number = 0;
    for (verdict, head) in [
        (Verdict::Fails, "What fails"),
        (Verdict::Accepted, "Accepted with a reason"),
        (Verdict::Advises, "Worth knowing"),
    ] {
        let mine: Vec<(&Finding, &Link)> = findings
            .iter()
            .zip(links)
            .filter(|(f, _)| f.verdict == verdict)
            .collect();
        if mine.is_empty() {
            continue;
        }
        let _ = writeln!(
            out,
            "<section class=\"group {}\"><h3>{head} <span class=\"count\">{}</span></h3><ol class=\"cards\">",
            class(verdict),
            mine.len()
        );
        for (f, link) in mine {
            // Findings come ranked by verdict, so that numbers run on from group to group.
            number += 1;
            card(&mut out, page, figures, number, f, link);
        }
        out.push_str("</ol></section>\n");
    }
    if number > MOST_NUMBERS {
        let _ = writeln!(
            out,
            "<p class=\"note\">The pictures carry the first {MOST_NUMBERS} numbers; the places of the \
             others show when they are chosen.</p>"
        );
    }
    kept(&mut out, findings, figures, links);
    out
}

/// One finding that does not hold.
fn card(
    out: &mut String,
    page: &Page<'_>,
    figures: &[Figure],
    number: usize,
    f: &Finding,
    link: &Link,
) {
    let word = match f.verdict {
        Verdict::Fails => "fails",
        Verdict::Accepted => "accepted",
        Verdict::Advises => "worth knowing",
        Verdict::Holds => "holds",
    };
    let _ = write!(
        out,
        "<li class=\"card {}\"><div class=\"line\"><span class=\"no\">{number}</span>",
        class(f.verdict)
    );
    let head = format!(
        "<b>{} {}</b> <span class=\"on\">{}</span>",
        f.rule,
        escape(f.title),
        escape(&where_words(f))
    );
    anchor(out, figures, link, &head);
    let measured = if f.measured.is_finite() {
        format!("is {}", value(f.measured, f.unit))
    } else {
        "cannot be had".to_owned()
    };
    let _ = write!(
        out,
        "<span class=\"word\">{word}</span></div><p>{} {measured}; {} {} is needed.</p>",
        escape(&capital(&f.what)),
        bound(f.sense),
        value(f.limit, f.unit)
    );
    out.push_str("<dl class=\"why\">");
    let mut row = |name: &str, text: &str| {
        let _ = write!(out, "<div><dt>{name}</dt><dd>{}</dd></div>", escape(text));
    };
    if let Some(mend) = &f.mend {
        row("mend", mend);
    }
    if let Some(reason) = &f.reason {
        row("reason", reason);
    }
    if let Some(p) = f.places.first() {
        let frame = if f.on == belt::DRIVE || f.rule.starts_with('C') {
            "of the engine"
        } else {
            "of the plate"
        };
        row("place", &format!("x {:.2}, y {:.2} {frame}", p.x, p.y));
    }
    if let Some(place) = page.project.sources().place(f.spot) {
        // The file's own name: where the job lies differs from machine to machine.
        let file = place.file.rsplit(['/', '\\']).next().unwrap_or(&place.file);
        row(
            "written in",
            &format!("{file}, line {}, column {}", place.line, place.column),
        );
    }
    row("source", &f.source);
    out.push_str("</dl></li>\n");
}

/// The limits kept: by family and rule, the closest place of each first.
fn kept(out: &mut String, findings: &[Finding], figures: &[Figure], links: &[Link]) {
    let held: Vec<(&Finding, &Link)> = findings
        .iter()
        .zip(links)
        .filter(|(f, _)| f.verdict == Verdict::Holds)
        .collect();
    if held.is_empty() {
        return;
    }
    let _ = writeln!(
        out,
        "<section class=\"group holds\"><h3>Limits kept <span class=\"count\">{}</span></h3>\
         <p class=\"note\">The closest place of each rule; open a rule for the others. \
         Hover, focus or choose a line to see its place on the pictures.</p>",
        held.len()
    );
    for (name, letters) in FAMILIES {
        // Rules in order of their closest place.
        let mut rules: Vec<(&str, Vec<(&Finding, &Link)>)> = Vec::new();
        for (f, link) in &held {
            if !f.rule.starts_with(|c| letters.contains(c)) {
                continue;
            }
            match rules.iter_mut().find(|(id, _)| *id == f.rule) {
                Some((_, all)) => all.push((f, link)),
                None => rules.push((f.rule, vec![(f, link)])),
            }
        }
        if rules.is_empty() {
            continue;
        }
        let _ = writeln!(
            out,
            "<h4>{name}</h4><div class=\"kept\"><div class=\"row head\" aria-hidden=\"true\"><span>place</span>\
             <span>measured</span><span>limit</span><span>margin</span></div>"
        );
        for (id, places) in rules {
            let Some(((first, link), rest)) = places.split_first() else {
                continue;
            };
            let _ = write!(
                out,
                "<div class=\"rule\"><div class=\"name\"><b>{id}</b> {}</div>",
                escape(first.title)
            );
            row(out, figures, first, link);
            if !rest.is_empty() {
                let _ = write!(
                    out,
                    "<details><summary>{} more {}</summary>",
                    rest.len(),
                    if rest.len() == 1 { "place" } else { "places" }
                );
                for (f, link) in rest {
                    row(out, figures, f, link);
                }
                out.push_str("</details>");
            }
            out.push_str("</div>\n");
        }
        out.push_str("</div>\n");
    }
    out.push_str("</section>\n");
}

/// One place of a limit kept.
fn row(out: &mut String, figures: &[Figure], f: &Finding, link: &Link) {
    let sign = match f.sense {
        Sense::AtLeast => '≥',
        Sense::AtMost => '≤',
    };
    let words = if f.on == belt::DRIVE || f.what.contains(&f.on) {
        capital(&f.what)
    } else {
        format!("{}: {}", f.on, f.what)
    };
    out.push_str("<div class=\"row\"><span class=\"place\">");
    anchor(out, figures, link, &escape(&words));
    let _ = writeln!(
        out,
        "</span><span class=\"num\">{}</span><span class=\"num\">{sign} {}</span><span class=\"num\">{}</span></div>",
        value(f.measured, f.unit),
        value(f.limit, f.unit),
        value(f.margin, f.unit)
    );
}

/// Words linked to a place, where there is one.
fn anchor(out: &mut String, figures: &[Figure], link: &Link, words: &str) {
    let first = link.on.first().and_then(|(i, _)| figures.get(*i));
    let target = match first {
        Some(figure) => figure.id.as_str(),
        None if !link.parts.is_empty() => "space",
        None => {
            let _ = write!(out, "<span class=\"nowhere\">{words}</span>");
            return;
        }
    };
    let _ = write!(out, "<a class=\"go\" href=\"#{target}\"");
    let on: Vec<String> = link
        .on
        .iter()
        .filter_map(|(i, marks)| Some((figures.get(*i)?, marks)))
        .map(|(figure, marks)| {
            let marks: Vec<String> = marks.iter().map(written).collect();
            format!("{}:{}", figure.id, marks.join(" "))
        })
        .collect();
    attribute(out, "s", &on.join(";"));
    let parts: Vec<String> = link.parts.iter().map(usize::to_string).collect();
    attribute(out, "p", &parts.join(","));
    let points: Vec<String> = link
        .points
        .iter()
        .map(|p| [p.x, p.y, p.z].map(tenth).join(","))
        .collect();
    attribute(out, "x", &points.join(" "));
    let _ = write!(out, ">{words}</a>");
}

fn attribute(out: &mut String, name: &str, text: &str) {
    if !text.is_empty() {
        let _ = write!(out, " data-{name}=\"{text}\"");
    }
}

/// A mark as the page's script reads it: a letter and its numbers.
fn written(mark: &Mark) -> String {
    match *mark {
        Mark::Point((x, y)) => format!("p{},{}", tenth(x), tenth(y)),
        Mark::Ring((x, y), r) => format!("c{},{},{}", tenth(x), tenth(y), tenth(r)),
        Mark::Line(a, b) => format!(
            "l{},{},{},{}",
            tenth(a.0),
            tenth(a.1),
            tenth(b.0),
            tenth(b.1)
        ),
    }
}

/// A tenth of a millimetre is enough to point at.
fn tenth(v: f64) -> String {
    n((v * 10.0).round() / 10.0)
}

/// What a finding is on, and its hole or partner.
fn where_words(f: &Finding) -> String {
    if f.at.is_empty() || f.at == f.on {
        f.on.clone()
    } else {
        format!("{}, {}", f.on, f.at)
    }
}

const fn bound(sense: Sense) -> &'static str {
    match sense {
        Sense::AtLeast => "at least",
        Sense::AtMost => "at most",
    }
}

/// A sentence's start.
pub(super) fn capital(text: &str) -> String {
    let mut chars = text.chars();
    match chars.next() {
        // A name in back quotes stays as it is written.
        Some(first) => first.to_uppercase().chain(chars).collect(),
        None => String::new(),
    }
}
