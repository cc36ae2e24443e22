//! The keys of a kind of file as a page for people, printed from its description.

use std::fmt::Write as _;

use crate::params::spec::{FileKind, Key, Need, Range, Table, Type};

/// A page about a kind of file in Markdown: one section a table, one row a key.
///
/// ```
/// use platewright::{params::keys, schema};
/// let page = schema::page(keys::kind("stock").unwrap());
/// assert!(page.contains("| `thickness` | length from 0.001 mm | required |"));
/// ```
#[must_use]
pub fn page(kind: &FileKind) -> String {
    let mut sections = vec![Section {
        header: format!("# {} file", capital(kind.name)),
        table: kind.table,
        tag: Some(("kind", kind.name)),
    }];
    let mut out = String::new();
    let mut next = 0;
    while let Some(section) = sections.get(next) {
        section.write(&mut out);
        let table = section.table;
        let at = sections.len();
        for key in table.keys {
            inner(&key.takes, key.name, &mut sections);
        }
        // A table's own tables follow it, before those of its neighbours.
        let found = sections.split_off(at);
        let mut later = sections.split_off(next + 1);
        sections.extend(found);
        sections.append(&mut later);
        next += 1;
    }
    out
}

/// One table of the page.
struct Section {
    header: String,
    table: &'static Table,
    tag: Option<(&'static str, &'static str)>,
}

impl Section {
    fn write(&self, out: &mut String) {
        if !out.is_empty() {
            out.push('\n');
        }
        // Writing into a String cannot fail.
        let _ = writeln!(out, "{}\n\n{}.\n", self.header, capital(self.table.doc));
        out.push_str("| key | takes | unless given | meaning |\n|---|---|---|---|\n");
        if let Some((key, value)) = self.tag {
            let _ = writeln!(out, "| `{key}` | \"{value}\" | required | what it is |");
        }
        for key in self.table.keys {
            row(key, out);
        }
        for group in self.table.one_of {
            let _ = writeln!(out, "\nExactly one of {} is given.", listed(group));
        }
        for group in self.table.not_both {
            let _ = writeln!(out, "\nAt most one of {} is given.", listed(group));
        }
    }
}

fn row(key: &Key, out: &mut String) {
    let need = match key.need {
        Need::Required => "required".to_owned(),
        Need::Optional => "left out".to_owned(),
        Need::Default(text) => format!("`{text}`"),
    };
    let _ = writeln!(
        out,
        "| `{}` | {} | {need} | {} |",
        key.name,
        takes(&key.takes).replace('|', "\\|"),
        key.doc.replace('|', "\\|"),
    );
}

/// Adds the tables a key may hold, unless the page has them already.
fn inner(t: &Type, key: &str, sections: &mut Vec<Section>) {
    let mut add = |table: &'static Table, tag: Option<(&'static str, &'static str)>| {
        let header = if table.name == key {
            format!("## `{key}`")
        } else {
            format!("## `{key}`: {}", table.name)
        };
        if !sections.iter().any(|s| s.header == header) {
            sections.push(Section { header, table, tag });
        }
    };
    match t {
        Type::Table(table) => add(table, None),
        Type::Tagged(tag, tables) => tables.iter().for_each(|t| add(t, Some((tag, t.name)))),
        Type::Marked(tables) => tables.iter().for_each(|t| add(t, None)),
        Type::List { of, .. } | Type::Map(of) => inner(of, key, sections),
        Type::Either(types) => types.iter().for_each(|t| inner(t, key, sections)),
        _ => {}
    }
}

/// What a type takes, in few words.
fn takes(t: &Type) -> String {
    match t {
        Type::Text { .. } => "text".to_owned(),
        Type::Id => "name".to_owned(),
        Type::File(kind) => format!("name of a file of kind {kind}"),
        Type::Reference => "reference".to_owned(),
        Type::Date => "day".to_owned(),
        Type::Flag => "true or false".to_owned(),
        Type::Choice(words) => {
            let quoted: Vec<String> = words.iter().map(|(w, _)| format!("\"{w}\"")).collect();
            quoted.join(", ")
        }
        Type::Designation(standard) => standard.word().to_owned(),
        Type::Length(range) => format!("length{}", limits(*range)),
        Type::Number(range) => format!("number{}", limits(*range)),
        Type::Count(least, most) => format!("whole number {least} to {most}"),
        Type::CountOf(choices) => {
            let each: Vec<String> = choices.iter().map(u32::to_string).collect();
            each.join(" or ")
        }
        Type::List { of, least, most } if least == most => {
            format!("[{}]", vec![takes(of); *least].join(", "))
        }
        Type::List { of, .. } => match of {
            Type::Table(_) | Type::Tagged(..) => "tables, `[[...]]`".to_owned(),
            _ => format!("[{}, ...]", takes(of)),
        },
        Type::Table(_) | Type::Tagged(..) | Type::Marked(_) => "table".to_owned(),
        Type::Map(of) => format!("table of name = {}", takes(of)),
        Type::Either(types) => {
            let each: Vec<String> = types.iter().map(takes).collect();
            each.join("; or ")
        }
    }
}

/// The limits of a range that say something: those every position has are left out.
fn limits(r: Range) -> String {
    let number = |x: f64| {
        let n = crate::units::plain(x, 6);
        if r.unit.is_empty() {
            n
        } else {
            format!("{n} {}", r.unit)
        }
    };
    if r == Range::POSITION || r == Range::ANGLE || r == Range::DIRECTION {
        String::new()
    } else if r.most >= crate::params::spec::REACH_MM {
        let word = if r.above { "above" } else { "from" };
        format!(" {word} {}", number(r.least))
    } else {
        let word = if r.above { "above" } else { "from" };
        format!(" {word} {} to {}", number(r.least), number(r.most))
    }
}

fn listed(keys: &[&str]) -> String {
    let quoted: Vec<String> = keys.iter().map(|k| format!("`{k}`")).collect();
    quoted.join(", ")
}

fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(chars).collect()
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_job_page_is_as_kept() {
        let kind = crate::params::keys::kind("job").unwrap();
        insta::assert_snapshot!(page(kind));
    }
}
