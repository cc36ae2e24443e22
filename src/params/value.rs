//! One value of a parameter file against its type: what is taken, and what is said when it is not.

use std::ops::Range as Bytes;

use toml::Spanned;
use toml::de::{DeArray, DeInteger, DeTable, DeValue};

use crate::diag::{Code, Diag, Spot};
use crate::units::{parse_length, plain};

use super::keys::{LONGEST_ID, LONGEST_TEXT};
use super::nearest::nearest;
use super::reader::Reader;
use super::record::{Datum, Node};
use super::spec::{Key, Range, Standard, Table, Type};

impl Reader<'_> {
    /// Checks a value against its type and reports what is wrong with it.
    pub(super) fn datum(&mut self, v: &Spanned<DeValue<'_>>, takes: &Type) -> Datum {
        match (takes, v.get_ref()) {
            (Type::Either(types), _) => self.either(v, takes, types),
            (Type::Flag, DeValue::Boolean(b)) => Datum::Flag(*b),
            (Type::Length(range), DeValue::Integer(_) | DeValue::Float(_))
            | (Type::Number(range), DeValue::Integer(_) | DeValue::Float(_)) => {
                self.number(v, *range)
            }
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

    fn refuse(&mut self, diag: Diag) -> Datum {
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

    fn number(&mut self, v: &Spanned<DeValue<'_>>, range: Range) -> Datum {
        let value = match v.get_ref() {
            DeValue::Integer(i) if i.radix() == 10 => i.as_str().parse::<f64>().ok(),
            DeValue::Float(f) => f.as_str().parse::<f64>().ok(),
            _ => None,
        };
        let Some(value) = value else {
            let diag = Diag::new(
                Code::WrongType,
                format!("`{}` must be a decimal number", self.here()),
            )
            .at(self.spot(v.span()))
            .help("write it with the digits 0 to 9 and a point");
            return self.refuse(diag);
        };
        self.in_range(value, range, self.spot(v.span()))
    }

    fn length(&mut self, v: &Spanned<DeValue<'_>>, text: &str, range: Range) -> Datum {
        match parse_length(text) {
            Ok(mm) => self.in_range(mm, range, self.spot(v.span())),
            Err(e) => {
                let diag = Diag::new(
                    Code::BadLength,
                    format!("`{}` is not a length: {e}", self.here()),
                )
                .at(self.spot(v.span()))
                .help("a number is mm; with a unit: \"12 mm\", \"0.5 in\", \"1 1/4 in\"");
                self.refuse(diag)
            }
        }
    }

    fn in_range(&mut self, value: f64, range: Range, spot: Spot) -> Datum {
        if range.holds(value) {
            // -0.0 and 0.0 are the same place; only one of them prints well.
            return Datum::Number(value + 0.0);
        }
        let key = self.here();
        let diag = if value.is_finite() {
            Diag::new(
                Code::OutOfRange,
                format!(
                    "`{key}` is {}, it must be {}",
                    with_unit(value, range.unit),
                    bound_words(value, range)
                ),
            )
            .at(spot)
            .help(range_help(value, range))
        } else {
            Diag::new(Code::NotFinite, format!("`{key}` is not a finite number"))
                .at(spot)
                .help(format!("write a number: {}", range_words(range)))
        };
        self.refuse(diag)
    }

    fn count(&mut self, v: &Spanned<DeValue<'_>>, least: u32, most: u32) -> Datum {
        let spot = self.spot(v.span());
        let number = match v.get_ref() {
            DeValue::Integer(i) if i.radix() == 10 => i.as_str().parse::<f64>().ok(),
            DeValue::Float(f) => f.as_str().parse::<f64>().ok(),
            _ => None,
        };
        let whole = match v.get_ref() {
            DeValue::Integer(i) if i.radix() == 10 => i.as_str().parse::<i64>().ok(),
            _ => None,
        };
        if let Some(n) = whole.and_then(|n| u32::try_from(n).ok())
            && (least..=most).contains(&n)
        {
            return Datum::Count(n);
        }
        let key = self.here();
        let range = Range::new(f64::from(least), f64::from(most), "");
        let diag = match number {
            Some(n) if !n.is_finite() => {
                Diag::new(Code::NotFinite, format!("`{key}` is not a finite number"))
                    .help(format!("write a whole number, {}", range_words(range)))
            }
            Some(n) if n.fract() == 0.0 && matches!(v.get_ref(), DeValue::Integer(_)) => Diag::new(
                Code::OutOfRange,
                format!(
                    "`{key}` is {}, it must be {}",
                    plain(n, 0),
                    bound_words(n, range)
                ),
            )
            .help(range_help(n, range)),
            _ => Diag::new(Code::WrongType, format!("`{key}` must be a whole number")).help(
                match number {
                    Some(n) if n.fract() == 0.0 && range.holds(n) => {
                        format!("write {}", plain(n, 0))
                    }
                    _ => "write it in decimal, without a point".to_owned(),
                },
            ),
        };
        self.refuse(diag.at(spot))
    }

    fn count_of(
        &mut self,
        v: &Spanned<DeValue<'_>>,
        integer: &DeInteger<'_>,
        choices: &[u32],
    ) -> Datum {
        let n = (integer.radix() == 10)
            .then(|| integer.as_str().parse().ok())
            .flatten();
        if let Some(n) = n.filter(|n| choices.contains(n)) {
            return Datum::Count(n);
        }
        let list: Vec<String> = choices.iter().map(u32::to_string).collect();
        let diag = Diag::new(
            Code::UnknownChoice,
            format!(
                "`{}` cannot be {}",
                self.here(),
                shortened(integer.as_str())
            ),
        )
        .at(self.spot(v.span()))
        .help(format!("it may be {}", either_words(&list)));
        self.refuse(diag)
    }

    fn text_datum(&mut self, v: &Spanned<DeValue<'_>>, text: &str, takes: &Type) -> Datum {
        let spot = self.spot(v.span());
        let key = self.here();
        if let Type::Choice(choices) = takes {
            return if choices.iter().any(|(word, _)| *word == text) {
                Datum::Text(text.to_owned())
            } else {
                let words = choice_words(takes);
                let diag = unknown_word(&key, text, &words, &[], spot);
                self.refuse(diag)
            };
        }
        if let Type::Designation(standard) = takes {
            return self.designation(text, *standard, spot);
        }
        let fault = match takes {
            Type::Id => id_fault(text, false),
            Type::File(_) => id_fault(text, true),
            Type::Reference => reference_fault(text),
            Type::Date => date_fault(text),
            Type::Text { filled } => text_fault(text, *filled),
            _ => None,
        };
        match fault {
            None => Datum::Text(text.to_owned()),
            Some((what, help)) => {
                let diag = Diag::new(Code::BadText, format!("`{key}` {what}"))
                    .at(spot)
                    .help(help);
                self.refuse(diag)
            }
        }
    }

    fn designation(&mut self, text: &str, standard: Standard, spot: Spot) -> Datum {
        let known = self.known.of(standard);
        if known.iter().any(|k| k == text) {
            return Datum::Text(text.to_owned());
        }
        let key = self.here();
        let word = standard.word();
        let diag = if known.is_empty() {
            match text_fault(text, true) {
                None => return Datum::Text(text.to_owned()),
                Some((what, help)) => {
                    Diag::new(Code::BadText, format!("`{key}` {what}")).help(help)
                }
            }
        } else {
            let title = format!("`{key}`: no {word} `{}` in the tables", shortened(text));
            let diag = Diag::new(Code::UnknownChoice, title);
            match nearest(text, known.iter().map(String::as_str)) {
                Some(n) => diag.help(format!("did you mean `{n}`?")),
                None => diag.help(format!("a {word} is written like `{}`", standard.example())),
            }
        };
        self.refuse(diag.at(spot))
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
        match tables.iter().find(|t| t.name == word) {
            Some(table) => Datum::Table(self.table(toml, v.span(), table, Some(tag))),
            None => {
                let spot = self.spot(value.span());
                self.at(tag, |r| {
                    let key = r.here();
                    let words: Vec<&str> = names().collect();
                    r.refuse(unknown_word(&key, word, &words, &[], spot))
                })
            }
        }
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

/// The words of a choice.
fn choice_words(t: &Type) -> Vec<&'static str> {
    match t {
        Type::Choice(choices) => choices.iter().map(|(w, _)| *w).collect(),
        _ => Vec::new(),
    }
}

/// A word that is none of the choices; `others` says what else may be written.
fn unknown_word(key: &str, text: &str, words: &[&str], others: &[String], spot: Spot) -> Diag {
    let mut list: Vec<String> = words.iter().map(|w| format!("\"{w}\"")).collect();
    list.extend_from_slice(others);
    let diag = Diag::new(
        Code::UnknownChoice,
        format!("`{key}` cannot be \"{}\"", shortened(text)),
    )
    .at(spot);
    let diag = match nearest(text, words.iter().copied()) {
        Some(n) => diag.help(format!("did you mean \"{n}\"?")),
        None => diag,
    };
    if list.len() > 1 || diag.help.is_empty() {
        diag.help(format!("it may be {}", either_words(&list)))
    } else {
        diag
    }
}

type Fault = Option<(&'static str, &'static str)>;

/// Why a text cannot be a name.
pub(super) fn id_fault(text: &str, points: bool) -> Fault {
    let ok = |c: char| c.is_ascii_alphanumeric() || c == '-' || c == '_' || (points && c == '.');
    if !text.starts_with(|c: char| c.is_ascii_alphanumeric()) {
        Some((
            "must begin with a letter or digit",
            "write it like `A1` or `upper-plate`",
        ))
    } else if !text.chars().all(ok) {
        Some((
            "holds a character that a name cannot have",
            "use letters without accents, digits, `-` and `_`",
        ))
    } else if text.len() > LONGEST_ID {
        Some(("is too long for a name", "use at most 40 characters"))
    } else {
        None
    }
}

/// Why a text cannot be a reference.
fn reference_fault(text: &str) -> Fault {
    let (owner, id) = text
        .split_once('.')
        .map_or((text, None), |(o, i)| (o, Some(i)));
    if id_fault(owner, false).is_some() || id.is_some_and(|i| id_fault(i, false).is_some()) {
        Some((
            "is not a reference",
            "write owner.hole, such as `block.A1` or `alternator.pivot`",
        ))
    } else {
        None
    }
}

/// Why a text cannot be a calendar day.
fn date_fault(text: &str) -> Fault {
    match text.parse::<toml::value::Datetime>() {
        Ok(d) if d.date.is_some() && d.time.is_none() && d.offset.is_none() => None,
        _ => Some(("is not a calendar day", "write it like 2026-03-02")),
    }
}

/// Why a text cannot be printed on a drawing.
fn text_fault(text: &str, filled: bool) -> Fault {
    if filled && text.trim().is_empty() {
        Some(("is blank", "say something, it is printed"))
    } else if text.chars().any(|c| c.is_control() && c != '\n') {
        Some(("holds a control character", "use printable characters only"))
    } else if text.chars().count() > LONGEST_TEXT {
        Some(("is too long", "use at most 2000 characters"))
    } else {
        None
    }
}

/// A number with its unit, as a person writes it.
fn with_unit(value: f64, unit: &str) -> String {
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
fn range_words(r: Range) -> String {
    let least = if r.above { "more than" } else { "at least" };
    format!(
        "{least} {} and at most {}",
        with_unit(r.least, r.unit),
        with_unit(r.most, r.unit)
    )
}

/// The end of the range that a value breaks, in words.
fn bound_words(value: f64, r: Range) -> String {
    let (words, bound) = if value > r.most {
        ("at most", r.most)
    } else if r.above {
        ("more than", r.least)
    } else {
        ("at least", r.least)
    };
    format!("{words} {}", with_unit(bound, r.unit))
}

fn range_help(value: f64, r: Range) -> String {
    if value < r.least && r.holds(-value) {
        format!("drop the sign: {}", plain(-value, 6))
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
fn found(v: &DeValue<'_>) -> String {
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

fn list_example(of: &Type, least: usize) -> String {
    format!("[{}]", vec![example(of); least.clamp(1, 4)].join(", "))
}

/// The required keys of a table with `= ...`, or its first key.
fn key_words(t: &Table) -> String {
    let mut keys: Vec<String> = t
        .keys
        .iter()
        .filter(|k| k.need == super::spec::Need::Required)
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

/// A syntax fault in our own words: title and mend.
pub(super) fn syntax_words(
    text: &str,
    span: &Bytes<usize>,
    message: &str,
) -> (String, Option<String>) {
    let before = text.get(..span.start).unwrap_or("").trim_end();
    if span.is_empty() && before.ends_with('=') {
        return (
            "a value is missing after `=`".to_owned(),
            Some("write the value, or take the line out".to_owned()),
        );
    }
    if message == "duplicate key" {
        let key = shortened(text.get(span.clone()).unwrap_or(""));
        return (
            format!("the key `{key}` is given twice"),
            Some(format!(
                "keep one; a table that may come more than once is written [[{key}]]"
            )),
        );
    }
    if message.starts_with("string values must be quoted") {
        let word = shortened(text.get(span.clone()).unwrap_or("").trim());
        let parts: Vec<&str> = word.split_whitespace().collect();
        if parts.len() > 1 && parts.iter().all(|p| p.parse::<f64>().is_ok()) {
            return (
                "a comma is missing between two numbers".to_owned(),
                Some(format!("write {}", parts.join(", "))),
            );
        }
        return (
            "a text must stand in quotes".to_owned(),
            Some(format!("write \"{word}\"")),
        );
    }
    (format!("not TOML: {message}"), None)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_and_references_keep_to_what_files_and_layers_can_carry() {
        assert!(id_fault("upper-plate_2", false).is_none());
        for bad in ["", "-a", "a b", "a.b", "pl\u{e4}te", "a/b"] {
            assert!(id_fault(bad, false).is_some(), "{bad}");
        }
        assert!(id_fault(&"a".repeat(41), false).is_some());
        assert!(id_fault("om-4.2", true).is_none() && id_fault("../om", true).is_some());
        assert!(reference_fault("block.A1").is_none() && reference_fault("tensioner").is_none());
        for bad in ["block.", ".A1", "a.b.c", "a b"] {
            assert!(reference_fault(bad).is_some(), "{bad}");
        }
    }

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
                    crate::params::spec::Need::Default(d) => d,
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
    fn only_days_that_exist_are_dates() {
        assert!(date_fault("2026-02-28").is_none());
        for bad in [
            "2026-02-30",
            "2026-13-01",
            "28.2.2026",
            "2026-02-28T10:00:00",
            "",
        ] {
            assert!(date_fault(bad).is_some(), "{bad}");
        }
    }

    #[test]
    fn ranges_read_as_a_person_says_them() {
        assert_eq!(
            range_words(Range::SIZE),
            "more than 0 mm and at most 10000 mm"
        );
        assert_eq!(range_help(-3.0, Range::SIZE), "drop the sign: 3");
    }
}
