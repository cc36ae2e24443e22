//! One value of a parameter file against its type: what is taken, and what is said when it is not.

use toml::Spanned;
use toml::de::{DeArray, DeTable, DeValue};

use crate::diag::{Code, Diag, Spot};

use super::reader::Reader;
use super::record::{Datum, Node};
use super::scalar::{choice_words, id_fault, reference_fault, unknown_word};
use super::spec::{Table, Type};
use super::words::{describe, either_words, example, found, key_list, list_example, shortened};

impl Reader<'_> {
    /// Checks a value against its type and reports what is wrong with it.
    pub(super) fn datum(&mut self, v: &Spanned<DeValue<'_>>, takes: &Type) -> Datum {
        match (takes, v.get_ref()) {
            (Type::Either(types), _) => self.either(v, takes, types),
            (Type::Flag, DeValue::Boolean(b)) => Datum::Flag(*b),
            (
                Type::Length(range) | Type::Number(range),
                DeValue::Integer(_) | DeValue::Float(_),
            ) => self.number(v, *range),
            (Type::Length(range), DeValue::String(text)) => self.length(v, text, *range),
            (Type::Count(least, most), DeValue::Integer(_) | DeValue::Float(_)) => {
                self.count(v, *least, *most)
            }
            (Type::CountOf(choices), DeValue::Integer(i)) => self.count_of(v, i, choices),
            (Type::Date, DeValue::Datetime(d)) => match (d.date, d.time, d.offset) {
                (Some(date), None, None) => Datum::Text(date.to_string()),
                _ => self.wrong_type(v, takes),
            },
            (
                Type::Text { .. }
                | Type::Id
                | Type::File(_)
                | Type::Reference
                | Type::Date
                | Type::Choice(_)
                | Type::Designation(_),
                DeValue::String(text),
            ) => self.text_datum(v, text, takes),
            (Type::List { of, least, most }, DeValue::Array(list)) => {
                self.list(v, list, of, *least, *most)
            }
            (Type::Table(table), DeValue::Table(toml)) => {
                Datum::Table(self.table(toml, v.span(), table, None))
            }
            (Type::Tagged(tag, tables), DeValue::Table(toml)) => self.tagged(v, toml, tag, tables),
            (Type::Marked(tables), DeValue::Table(toml)) => self.marked(v, toml, tables),
            (Type::Map(of), DeValue::Table(toml)) => self.map(toml, of),
            _ => self.wrong_type(v, takes),
        }
    }

    fn either(&mut self, v: &Spanned<DeValue<'_>>, takes: &Type, types: &[Type]) -> Datum {
        if let Some(t) = types.iter().find(|t| fits(v.get_ref(), t)) {
            return self.datum(v, t);
        }
        match (
            types.iter().find(|t| resembles(v.get_ref(), t)),
            v.get_ref(),
        ) {
            (Some(Type::Choice(_)), DeValue::String(text)) => {
                let words: Vec<&str> = types.iter().flat_map(choice_words).collect();
                let others = types.iter().filter(|t| !matches!(t, Type::Choice(_)));
                let others: Vec<String> = others.map(describe).collect();
                let spot = self.spot(v.span());
                let diag = unknown_word(&self.here(), text, &words, &others, spot);
                self.refuse(diag)
            }
            (Some(t), _) => self.datum(v, t),
            (None, _) => self.wrong_type(v, takes),
        }
    }

    pub(super) fn refuse(&mut self, diag: Diag) -> Datum {
        self.report(diag);
        Datum::Refused
    }

    fn wrong_type(&mut self, v: &Spanned<DeValue<'_>>, takes: &Type) -> Datum {
        let span = v.span();
        if span.is_empty() {
            // The parser's stand-in for a value that is not there; reported as syntax.
            return Datum::Refused;
        }
        let diag = Diag::new(
            Code::WrongType,
            format!(
                "`{}` must be {}, found {}",
                self.here(),
                describe(takes),
                found(v.get_ref())
            ),
        )
        .at(self.spot(span));
        let diag = match (takes, v.get_ref()) {
            (Type::Length(_) | Type::Number(_) | Type::Count(..), DeValue::String(s))
                if s.trim().parse::<f64>().is_ok() =>
            {
                diag.help(format!("write {} without quotes", s.trim()))
            }
            (
                Type::List {
                    of: Type::Table(_) | Type::Tagged(..),
                    ..
                },
                DeValue::Table(_),
            ) => diag.help(format!(
                "it may come more than once: write [[{}]]",
                self.path_words()
            )),
            (Type::Table(_), DeValue::Array(a)) if a.iter().all(|e| e.get_ref().is_table()) => {
                diag.help(format!("it comes once: write [{}]", self.path_words()))
            }
            _ => diag.help(format!("for example {}", example(takes))),
        };
        self.refuse(diag)
    }

    fn list(
        &mut self,
        v: &Spanned<DeValue<'_>>,
        list: &DeArray<'_>,
        of: &Type,
        least: usize,
        most: usize,
    ) -> Datum {
        let n = list.len();
        if n < least || n > most {
            let wanted = match (least, most) {
                (l, m) if l == m => format!("{l} are needed"),
                (l, _) if n < l => format!("at least {l} are needed"),
                (_, m) => format!("at most {m} are possible"),
            };
            let diag = Diag::new(
                Code::BadCount,
                format!("`{}` has {n} elements, {wanted}", self.here()),
            )
            .at(self.spot(v.span()))
            .help(format!("for example {}", list_example(of, least)));
            return self.refuse(diag);
        }
        Datum::List(
            list.iter()
                .enumerate()
                .map(|(i, e)| {
                    // Numbers of a point need no step of their own: the key says it all.
                    if matches!(of, Type::Length(_) | Type::Number(_)) {
                        return self.value(e, of);
                    }
                    match element_name(e.get_ref()) {
                        Some(name) => self.at(name, |r| r.value(e, of)),
                        None => self.at(format!("[{}]", i + 1), |r| r.value(e, of)),
                    }
                })
                .collect(),
        )
    }

    fn tagged(
        &mut self,
        v: &Spanned<DeValue<'_>>,
        toml: &DeTable<'_>,
        tag: &'static str,
        tables: &'static [&'static Table],
    ) -> Datum {
        let names = || tables.iter().map(|t| t.name);
        let Some(value) = toml.get(tag) else {
            if self.mistyped(toml, tag) {
                return Datum::Refused;
            }
            let list: Vec<String> = names().map(|n| format!("\"{n}\"")).collect();
            let diag = Diag::new(
                Code::MissingKey,
                format!("missing key `{tag}`{}", self.place_words()),
            )
            .at(self.spot(v.span()))
            .help(format!("add {tag} = {}", either_words(&list)));
            return self.refuse(diag);
        };
        let DeValue::String(word) = value.get_ref() else {
            return self.at(tag, |r| r.wrong_type(value, &Type::TEXT));
        };
        if let Some(table) = tables.iter().find(|t| t.name == word) {
            return Datum::Table(self.table(toml, v.span(), table, Some(tag)));
        }
        let spot = self.spot(value.span());
        let words: Vec<&str> = names().collect();
        self.at(tag, |r| {
            let diag = unknown_word(&r.here(), word, &words, &[], spot);
            r.refuse(diag)
        })
    }

    fn marked(
        &mut self,
        v: &Spanned<DeValue<'_>>,
        toml: &DeTable<'_>,
        tables: &'static [&'static Table],
    ) -> Datum {
        let mark = |t: &Table| t.keys.first().map_or("", |k| k.name);
        let marked = tables.iter().find(|t| toml.contains_key(mark(t)));
        // Without a mark, the table that shares most keys is the one that was meant.
        let shared = |t: &&&Table| toml.keys().filter(|k| t.key(k.get_ref()).is_some()).count();
        let nearly = || {
            tables
                .iter()
                .rev()
                .max_by_key(shared)
                .filter(|t| shared(t) > 0)
        };
        if let Some(table) = marked.or_else(nearly) {
            return Datum::Table(self.table(toml, v.span(), table, None));
        }
        let marks: Vec<String> = tables.iter().map(|t| format!("`{}`", mark(t))).collect();
        let diag = Diag::new(
            Code::KeysClash,
            format!(
                "one of {} is needed in `{}`",
                either_words(&marks),
                self.here()
            ),
        )
        .at(self.spot(v.span()))
        .help(
            tables
                .iter()
                .map(|t| format!("{}: {}", t.doc, key_list(t)))
                .collect::<Vec<_>>()
                .join("; or "),
        );
        self.refuse(diag)
    }

    fn map(&mut self, toml: &DeTable<'_>, of: &Type) -> Datum {
        let mut out: Vec<(String, Spot, Node)> = Vec::with_capacity(toml.len());
        for (key, v) in toml {
            let name = key.get_ref();
            let spot = self.spot(key.span());
            if let Some((what, help)) = id_fault(name, false) {
                let diag = Diag::new(
                    Code::BadText,
                    format!("the key `{}` {what}", shortened(name)),
                )
                .at(spot)
                .help(help);
                self.report(diag);
                continue;
            }
            let node = self.at(name.as_ref(), |r| r.value(v, of));
            out.push((name.to_string(), spot, node));
        }
        Datum::Map(out)
    }
}

/// The name by which a person would call an element of a list.
fn element_name(v: &DeValue<'_>) -> Option<String> {
    let DeValue::Table(t) = v else { return None };
    ["id", "name", "take", "pulley"].iter().find_map(|key| {
        match t.get(*key).map(Spanned::get_ref) {
            Some(DeValue::String(s)) if reference_fault(s).is_none() => Some(s.to_string()),
            _ => None,
        }
    })
}

/// Whether a value has the shape of a type, so that among several it is the one that is meant.
fn fits(v: &DeValue<'_>, t: &Type) -> bool {
    match (v, t) {
        (DeValue::String(s), Type::Length(_)) => looks_measured(s),
        (DeValue::String(s), Type::Choice(choices)) => choices.iter().any(|(w, _)| w == s),
        _ => resembles(v, t),
    }
}

/// Whether a text begins like a number.
fn looks_measured(s: &str) -> bool {
    s.trim_start()
        .starts_with(|c: char| c.is_ascii_digit() || "+-.".contains(c))
}

/// Whether a value is of the TOML type that a type is written in.
fn resembles(v: &DeValue<'_>, t: &Type) -> bool {
    match t {
        Type::Flag => v.is_bool(),
        Type::Length(_) | Type::Number(_) | Type::Count(..) | Type::CountOf(_) => {
            matches!(v, DeValue::Integer(_) | DeValue::Float(_))
        }
        Type::List { .. } => v.is_array(),
        Type::Table(_) | Type::Tagged(..) | Type::Marked(_) | Type::Map(_) => v.is_table(),
        Type::Either(types) => types.iter().any(|t| resembles(v, t)),
        Type::Date => v.is_str() || v.is_datetime(),
        Type::Text { .. }
        | Type::Id
        | Type::File(_)
        | Type::Reference
        | Type::Choice(_)
        | Type::Designation(_) => v.is_str(),
    }
}
