//! The lists of the page: variants against rules, what the shop needs, cautions.

use std::fmt::Write as _;

use crate::drive::picture::escape;
use crate::report::check::value;
use crate::report::fit::{Cell, GROUPS, Row};

use super::Page;
use super::rules::capital;

/// A list of the shop package.
#[derive(Debug, Clone, Copy)]
pub struct List<'a> {
    /// Heading.
    pub title: &'a str,
    /// Its file in the package.
    pub file: &'a str,
    /// Its text: CSV with a head line.
    pub csv: &'a [u8],
}

/// The lists as HTML.
pub(super) fn section(lists: &[List<'_>]) -> String {
    let mut out = String::new();
    for list in lists {
        table(&mut out, list);
    }
    out
}

fn table(out: &mut String, list: &List<'_>) {
    let mut reader = csv::Reader::from_reader(list.csv);
    let head: Vec<String> = reader
        .headers()
        .map(|h| h.iter().map(str::to_owned).collect())
        .unwrap_or_default();
    let rows: Vec<csv::StringRecord> = reader.records().filter_map(Result::ok).collect();
    let numbers: Vec<bool> = (0..head.len())
        .map(|c| {
            let mut cells = rows
                .iter()
                .filter_map(|r| r.get(c))
                .filter(|v| !v.is_empty());
            let all = cells.clone().all(|v| v.parse::<f64>().is_ok());
            all && cells.next().is_some()
        })
        .collect();
    let title = escape(list.title);
    let _ = write!(
        out,
        "<section class=\"list\"><h3>{title} <small>{}</small></h3><div class=\"wide\" tabindex=\"0\" \
         role=\"region\" aria-label=\"{title}, scrolls\"><table><thead><tr>",
        escape(list.file)
    );
    let cell = |c: usize| {
        if numbers.get(c) == Some(&true) {
            " class=\"num\""
        } else {
            ""
        }
    };
    for (c, name) in head.iter().enumerate() {
        let _ = write!(
            out,
            "<th scope=\"col\"{}>{}</th>",
            cell(c),
            escape(&heading(name))
        );
    }
    out.push_str("</tr></thead><tbody>\n");
    for row in &rows {
        out.push_str("<tr>");
        for (c, text) in row.iter().enumerate() {
            let _ = write!(out, "<td{}>{}</td>", cell(c), escape(text));
        }
        out.push_str("</tr>\n");
    }
    if rows.is_empty() {
        let _ = write!(
            out,
            "<tr><td colspan=\"{}\">none</td></tr>",
            head.len().max(1)
        );
    }
    out.push_str("</tbody></table></div></section>\n");
}

/// A column's head as a person reads it: `length_mm` is `length, mm`.
fn heading(name: &str) -> String {
    for (tail, unit) in [("_mm", "mm"), ("_nm", "N·m"), ("_kn", "kN")] {
        if let Some(stem) = name.strip_suffix(tail) {
            return format!("{}, {unit}", stem.replace('_', " "));
        }
    }
    name.replace('_', " ")
}

/// Variants against groups of rules; nothing for a job without variants.
pub(super) fn variants(page: &Page<'_>) -> String {
    let Some(matrix) = page.fit else {
        return String::new();
    };
    let holding = matrix.variants.iter().filter(|r| r.holds).count();
    let mut out = format!(
        "<section id=\"variants\" class=\"list\"><h2>Variants</h2><p>{holding} of {} hold. Each cell: the rule \
         with the least room, and its margin. Strength is not looked at here.</p><div class=\"wide\" \
         tabindex=\"0\" role=\"region\" aria-label=\"Variants, scrolls\"><table class=\"matrix\"><thead><tr>\
         <th scope=\"col\">variant</th><th scope=\"col\">verdict</th>",
        matrix.variants.len()
    );
    for (name, _) in GROUPS {
        let _ = write!(out, "<th scope=\"col\">{name}</th>");
    }
    out.push_str("</tr></thead><tbody>\n");
    for r in &matrix.variants {
        variant(&mut out, r, r.name == page.project.variant);
    }
    out.push_str("</tbody></table></div></section>\n");
    out
}

fn variant(out: &mut String, r: &Row, is_this: bool) {
    let (class, word) = if r.holds {
        ("holds", "holds")
    } else {
        ("fails", "fails")
    };
    let this = if is_this {
        " <small>shown here</small>"
    } else {
        ""
    };
    let _ = write!(
        out,
        "<tr{}><th scope=\"row\">{}{this}</th><td class=\"{class}\">{word}</td>",
        if is_this {
            " aria-current=\"true\""
        } else {
            ""
        },
        escape(&r.name)
    );
    for k in 0..GROUPS.len() {
        match r.groups.get(k) {
            Some(c) => cell(out, c),
            None => out.push_str("<td>–</td>"),
        }
    }
    out.push_str("</tr>\n");
    if let Some(why) = &r.first_failure {
        let more = if r.fails > 1 {
            format!(" And {} more.", r.fails - 1)
        } else {
            String::new()
        };
        let mend = r
            .mend
            .as_ref()
            .map_or(String::new(), |m| format!(" Mend: {m}."));
        let _ = writeln!(
            out,
            "<tr class=\"because\"><td colspan=\"{}\">{}.{}{}</td></tr>",
            GROUPS.len() + 2,
            escape(&capital(why)),
            escape(&mend),
            more
        );
    }
}

/// One group of rules of one variant.
fn cell(out: &mut String, c: &Cell) {
    let class = if c.fails > 0 {
        "fails"
    } else if c.accepted {
        "accepted"
    } else {
        "holds"
    };
    let text = match (c.worst_rule, c.margin) {
        (Some(rule), Some(m)) => {
            let unit = if c.unit.is_empty() { "-" } else { c.unit };
            let sign = if m >= 0.0 { "+" } else { "" };
            format!("{rule} {sign}{}", value(m, unit))
        }
        (Some(rule), None) => rule.to_owned(),
        (None, _) => "–".to_owned(),
    };
    let word = if c.fails > 0 {
        format!("{} fail: ", c.fails)
    } else if c.accepted {
        "accepted: ".to_owned()
    } else {
        String::new()
    };
    let _ = write!(out, "<td class=\"{class}\">{word}{}</td>", escape(&text));
}

/// The cautions: a heading, points and paragraphs from plain text.
pub(super) fn cautions(text: &str) -> String {
    let mut out = String::new();
    let mut points: Vec<String> = Vec::new();
    let close = |out: &mut String, points: &mut Vec<String>| {
        if !points.is_empty() {
            let items: Vec<String> = points.drain(..).map(|p| format!("<li>{p}</li>")).collect();
            let _ = writeln!(out, "<ul>{}</ul>", items.join("\n"));
        }
    };
    for (n, paragraph) in text.split("\n\n").enumerate() {
        let lines: Vec<&str> = paragraph.lines().filter(|l| !l.trim().is_empty()).collect();
        let whole = |lines: &[&str]| {
            let all: Vec<String> = lines.iter().map(|l| escape(l.trim())).collect();
            all.join(" ")
        };
        if lines.iter().any(|l| l.starts_with("- ")) {
            for line in &lines {
                match line.strip_prefix("- ") {
                    Some(point) => points.push(escape(point.trim())),
                    None => {
                        if let Some(last) = points.last_mut() {
                            last.push(' ');
                            last.push_str(&escape(line.trim()));
                        }
                    }
                }
            }
            close(&mut out, &mut points);
        } else if n == 0 {
            let _ = writeln!(out, "<h3>{}</h3>", whole(&lines));
        } else if !lines.is_empty() {
            let _ = writeln!(out, "<p>{}</p>", whole(&lines));
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn heads_of_columns_name_their_unit() {
        assert_eq!(heading("engaged_least_mm"), "engaged least, mm");
        assert_eq!(heading("torque_nm"), "torque, N·m");
        assert_eq!(heading("thread_in"), "thread in");
    }

    #[test]
    fn cautions_become_a_heading_points_and_paragraphs() {
        let html = cautions("Before\n\n- One\n  goes on.\n- Two <b>\n\nLast\nwords.\n");
        assert_eq!(
            html,
            "<h3>Before</h3>\n<ul><li>One goes on.</li>\n<li>Two &lt;b&gt;</li></ul>\n<p>Last words.</p>\n"
        );
    }

    #[test]
    fn a_list_escapes_its_cells_and_sets_numbers_apart() {
        let html = section(&[List {
            title: "T",
            file: "t.csv",
            csv: b"name,length_mm\na<b,12.5\n",
        }]);
        assert!(
            html.contains("<td>a&lt;b</td><td class=\"num\">12.5</td>"),
            "{html}"
        );
    }
}
