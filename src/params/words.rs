//! Words for types, ranges and examples in findings.

use toml::de::DeValue;

use crate::units::plain;

use super::spec::{Key, Need, Range, Table, Type};

/// A number with its unit, as a person writes it.
pub(super) fn with_unit(value: f64, unit: &str) -> String {
    let number = if value != 0.0 && (value.abs() < 1e-3 || value.abs() >= 1e9) {
        format!("{value:e}")
    } else {
        plain(value, 6)
    };
    if unit.is_empty() {
        number
    } else {
        format!("{number} {unit}")
    }
}

/// The range in words: `more than 0 mm, at most 10000 mm`.
pub(super) fn range_words(r: Range) -> String {
    let least = if r.above { "more than" } else { "at least" };
    format!(
        "{least} {} and at most {}",
        with_unit(r.least, r.unit),
        with_unit(r.most, r.unit)
    )
}

/// The end of the range that a value breaks, in words.
pub(super) fn bound_words(value: f64, r: Range) -> String {
    let (words, bound) = if value > r.most {
        ("at most", r.most)
    } else if r.above {
        ("more than", r.least)
    } else {
        ("at least", r.least)
    };
    format!("{words} {}", with_unit(bound, r.unit))
}

pub(super) fn range_help(value: f64, r: Range) -> String {
    if value < r.least && r.holds(-value) {
        format!("drop the sign: {}", plain(-value, 6))
    } else if r == Range::SIZE && value < r.least {
        "write the size as measured; leave the part out if there is none".to_owned()
    } else if r.unit == "mm" && value > r.most {
        "a length is in mm; look for a lost decimal point".to_owned()
    } else if value > r.most {
        format!("use at most {}", with_unit(r.most, r.unit))
    } else if r.above {
        format!("use more than {}", with_unit(r.least, r.unit))
    } else {
        format!("use at least {}", with_unit(r.least, r.unit))
    }
}

/// The type in words.
pub(super) fn describe(t: &Type) -> String {
    match t {
        Type::Text { .. } => "a text".to_owned(),
        Type::Id => "a name".to_owned(),
        Type::File(kind) => format!("the name of a {kind} file"),
        Type::Reference => "a reference `owner.hole`".to_owned(),
        Type::Date => "a day".to_owned(),
        Type::Flag => "true or false".to_owned(),
        Type::Choice(words) => either_words(
            &words
                .iter()
                .map(|(w, _)| format!("\"{w}\""))
                .collect::<Vec<_>>(),
        ),
        Type::Designation(s) => format!("a {}", s.word()),
        Type::Length(_) => "a length".to_owned(),
        Type::Number(_) => "a number".to_owned(),
        Type::Count(..) | Type::CountOf(_) => "a whole number".to_owned(),
        Type::List {
            of: Type::Table(_) | Type::Tagged(..),
            ..
        } => "a list of tables".to_owned(),
        Type::List { of, least, most } if least == most => {
            format!("a list of {least}, each {}", describe(of))
        }
        Type::List { of, .. } => format!("a list, each element {}", describe(of)),
        Type::Table(t) => format!("a table {{ {} }}", key_words(t)),
        Type::Tagged(..) | Type::Marked(_) | Type::Map(_) => "a table".to_owned(),
        Type::Either(types) => either_words(&types.iter().map(describe).collect::<Vec<_>>()),
    }
}

/// What a value is, in words.
pub(super) fn found(v: &DeValue<'_>) -> String {
    match v {
        DeValue::String(_) => "a text".to_owned(),
        DeValue::Integer(_) | DeValue::Float(_) => "a number".to_owned(),
        DeValue::Boolean(b) => format!("`{b}`"),
        DeValue::Datetime(_) => "a date or time".to_owned(),
        DeValue::Array(a) if a.is_empty() => "an empty list".to_owned(),
        DeValue::Array(a) if a.len() == 1 => "a list of one".to_owned(),
        DeValue::Array(a) => format!("a list of {}", a.len()),
        DeValue::Table(_) => "a table".to_owned(),
    }
}

/// A value of the key, as a user could type it.
pub(super) fn key_example(key: &Key) -> String {
    if key.example.is_empty() {
        example(&key.takes)
    } else {
        key.example.to_owned()
    }
}

/// A value the type takes, as a user could type it.
pub(super) fn example(t: &Type) -> String {
    match t {
        Type::Text { .. } => "\"...\"".to_owned(),
        Type::Id => "\"A1\"".to_owned(),
        Type::File(kind) => format!("\"{kind}-file-name\""),
        Type::Reference => "\"block.A1\"".to_owned(),
        Type::Date => "2026-03-02".to_owned(),
        Type::Flag => "true".to_owned(),
        Type::Choice(words) => words
            .first()
            .map_or_else(String::new, |(w, _)| format!("\"{w}\"")),
        Type::Designation(s) => format!("\"{}\"", s.example()),
        Type::Length(r) | Type::Number(r) => {
            let middle = [12.5, 1.5, 0.5, 1.0, r.most]
                .into_iter()
                .find(|v| r.holds(*v))
                .unwrap_or(r.most);
            plain(middle, 3)
        }
        Type::Count(least, most) => least.midpoint((*most).min(least + 6)).to_string(),
        Type::CountOf(choices) => choices.last().map_or_else(String::new, ToString::to_string),
        Type::List { of, least, .. } => list_example(of, *least),
        Type::Table(t) => format!("{{ {} }}", key_words(t)),
        Type::Tagged(tag, tables) => tables.first().map_or_else(String::new, |t| {
            format!("{{ {tag} = \"{}\", ... }}", t.name)
        }),
        Type::Marked(tables) => tables
            .first()
            .map_or_else(String::new, |t| format!("{{ {} }}", key_words(t))),
        Type::Map(of) => format!("{{ name = {} }}", example(of)),
        Type::Either(types) => types.first().map_or_else(String::new, example),
    }
}

pub(super) fn list_example(of: &Type, least: usize) -> String {
    format!("[{}]", vec![example(of); least.clamp(1, 4)].join(", "))
}

/// The required keys of a table with `= ...`, or its first key.
pub(super) fn key_words(t: &Table) -> String {
    let mut keys: Vec<String> = t
        .keys
        .iter()
        .filter(|k| k.need == Need::Required)
        .map(|k| format!("{} = ...", k.name))
        .collect();
    if keys.is_empty() {
        keys.extend(t.keys.first().map(|k| format!("{} = ...", k.name)));
    }
    keys.join(", ")
}

/// The keys of a table, in words.
pub(super) fn key_list(t: &Table) -> String {
    t.keys.iter().map(|k| k.name).collect::<Vec<_>>().join(", ")
}

/// `a`, `a or b`, `a, b or c`.
pub(super) fn either_words(words: &[String]) -> String {
    match words {
        [] => String::new(),
        [one] => one.clone(),
        [first @ .., last] => format!("{} or {last}", first.join(", ")),
    }
}

/// A text of the user's short enough for a title.
pub(super) fn shortened(text: &str) -> String {
    const MOST: usize = 48;
    let mut out: String = text
        .chars()
        .take(MOST)
        .map(|c| if c.is_control() { ' ' } else { c })
        .collect();
    if text.chars().nth(MOST).is_some() {
        out.push('\u{2026}');
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::params::reader::Reader;

    /// Every key of a kind, with those of its inner tables.
    fn each_key(t: &Table, visit: &mut dyn FnMut(&Key)) {
        fn within(t: &Type, visit: &mut dyn FnMut(&Key)) {
            match t {
                Type::List { of, .. } | Type::Map(of) => within(of, visit),
                Type::Table(t) => each_key(t, visit),
                Type::Tagged(_, ts) | Type::Marked(ts) => {
                    ts.iter().for_each(|t| each_key(t, visit));
                }
                Type::Either(ts) => ts.iter().for_each(|t| within(t, visit)),
                _ => {}
            }
        }
        for k in t.keys {
            visit(k);
            within(&k.takes, visit);
        }
    }

    #[test]
    fn defaults_and_examples_are_values_their_keys_take() {
        for kind in crate::params::keys::KINDS {
            each_key(kind.table, &mut |key| {
                let default = match key.need {
                    Need::Default(d) => d,
                    _ => "",
                };
                // The example of a bare table shows its keys, not a value.
                let shown = key_example(key);
                for text in [default, &shown] {
                    if text.is_empty() || text.contains("...") {
                        continue;
                    }
                    let mut sink = crate::diag::Sink::new();
                    let known = crate::params::spec::Designations::default();
                    let value = DeValue::parse(text).unwrap_or_else(|e| panic!("{text}: {e}"));
                    Reader::for_test(text, kind, &known, &mut sink).datum(&value, &key.takes);
                    assert!(sink.is_empty(), "{}: {text}: {sink:?}", key.name);
                }
            });
        }
    }

    #[test]
    fn ranges_read_as_a_person_says_them() {
        assert_eq!(
            range_words(Range::above(0.0, 10_000.0, "mm")),
            "more than 0 mm and at most 10000 mm"
        );
        assert_eq!(
            range_words(Range::SIZE),
            "at least 0.001 mm and at most 10000 mm"
        );
        assert_eq!(range_help(-3.0, Range::SIZE), "drop the sign: 3");
    }
}
