//! Findings as JSON, a stable contract.
//!
//! Each finding is an object with the members `code`, `severity`, `title`,
//! `key`, `place`, `label`, `others` and `help`. `place` is `null` or an object
//! with `file`, `line`, `column`, `end_line`, `end_column` (lines and columns
//! from 1, columns in characters, the end is one past the last character).
//! `others` holds objects with `place` and `label`; `help` holds texts.

use serde_json::{Value, json};

use super::{Diag, Sources, Spot};

/// A list of findings as a JSON array.
#[must_use]
pub fn value(diags: &[Diag], sources: &Sources) -> Value {
    diags
        .iter()
        .map(|d| {
            json!({
                "code": d.code.id(),
                "severity": d.severity.word(),
                "title": d.title,
                "key": d.key,
                "place": place(d.spot(), sources),
                "label": d.primary.as_ref().map_or("", |l| l.text.as_str()),
                "others": d.others.iter().map(|l| json!({
                    "place": place(l.spot, sources),
                    "label": l.text,
                })).collect::<Vec<_>>(),
                "help": d.help,
            })
        })
        .collect()
}

fn place(spot: Spot, sources: &Sources) -> Value {
    let end = Spot {
        start: spot.end,
        ..spot
    };
    match (sources.place(spot), sources.place(end)) {
        (Some(from), Some(to)) => json!({
            "file": from.file,
            "line": from.line,
            "column": from.column,
            "end_line": to.line,
            "end_column": to.column,
        }),
        _ => Value::Null,
    }
}

#[cfg(test)]
mod tests {
    use super::super::Code;
    use super::*;

    #[test]
    fn a_finding_carries_everything_a_tool_needs() {
        let mut s = Sources::new();
        let id = s.add("a.toml", "x = 1\ny = 2\n");
        let d = Diag::new(Code::DuplicateName, "twice")
            .labelled(Spot::new(id, 6..7), "second")
            .key("y")
            .also(Spot::new(id, 0..1), "first")
            .help("drop one");
        insta::assert_snapshot!(serde_json::to_string_pretty(&value(&[d], &s)).unwrap());
        let nowhere = Diag::new(Code::Unreadable, "gone");
        assert!(value(&[nowhere], &s)[0]["place"].is_null());
    }
}
