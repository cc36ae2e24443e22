//! One number or text of a parameter file against its type.

use toml::Spanned;
use toml::de::{DeInteger, DeValue};

use crate::diag::{Code, Diag, Spot};
use crate::units::{parse_length, plain};

use super::keys::{LONGEST_ID, LONGEST_TEXT};
use super::nearest::nearest;
use super::reader::Reader;
use super::record::Datum;
use super::spec::{Range, Standard, Type};
use super::words::{bound_words, either_words, range_help, range_words, shortened, with_unit};

impl Reader<'_> {
    pub(super) fn number(&mut self, v: &Spanned<DeValue<'_>>, range: Range) -> Datum {
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

    pub(super) fn length(&mut self, v: &Spanned<DeValue<'_>>, text: &str, range: Range) -> Datum {
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

    pub(super) fn in_range(&mut self, value: f64, range: Range, spot: Spot) -> Datum {
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

    pub(super) fn count(&mut self, v: &Spanned<DeValue<'_>>, least: u32, most: u32) -> Datum {
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

    pub(super) fn count_of(
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

    pub(super) fn text_datum(
        &mut self,
        v: &Spanned<DeValue<'_>>,
        text: &str,
        takes: &Type,
    ) -> Datum {
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

    pub(super) fn designation(&mut self, text: &str, standard: Standard, spot: Spot) -> Datum {
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
}

/// The words of a choice.
pub(super) fn choice_words(t: &Type) -> Vec<&'static str> {
    match t {
        Type::Choice(choices) => choices.iter().map(|(w, _)| *w).collect(),
        _ => Vec::new(),
    }
}

/// A word that is none of the choices; `others` says what else may be written.
pub(super) fn unknown_word(
    key: &str,
    text: &str,
    words: &[&str],
    others: &[String],
    spot: Spot,
) -> Diag {
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
pub(super) fn reference_fault(text: &str) -> Fault {
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
pub(super) fn date_fault(text: &str) -> Fault {
    match text.parse::<toml::value::Datetime>() {
        Ok(d) if d.date.is_some() && d.time.is_none() && d.offset.is_none() => None,
        _ => Some(("is not a calendar day", "write it like 2026-03-02")),
    }
}

/// Why a text cannot be printed on a drawing.
pub(super) fn text_fault(text: &str, filled: bool) -> Fault {
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
}
