//! Units at the edge of the program: lengths as people write them, numbers as people read them.
//!
//! Inside the program a length is a plain `f64` in mm. A file may also write it
//! as text with a unit; it is mm from the moment it is read.

use std::fmt::Write as _;

/// Millimetres in one inch, exactly (ISO 31-1:1992 annex; the international inch of 1959).
pub const MM_PER_INCH: f64 = 25.4;

/// Regular expression of the length texts [`parse_length`] takes, for schemas.
///
/// ECMA 262 syntax. It is a little wider than the parser: `1/0 in` matches it.
pub const LENGTH_PATTERN: &str = concat!(
    "^\\s*[+-]?\\s*([0-9]*[.]?[0-9]+|([0-9]+[ -]+)?[0-9]+ */ *[0-9]+)",
    "\\s*(mm|in|inch|\")\\s*$"
);

/// Why a text is not a length.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum LengthError {
    /// No unit follows the number.
    #[error("it has no unit: write `mm` or `in` after the number")]
    NoUnit,
    /// A unit that is not one of ours.
    #[error("its unit is not `mm` or `in`")]
    UnknownUnit,
    /// A comma where a point belongs.
    #[error("it has a comma: write a decimal point")]
    Comma,
    /// The number itself cannot be read.
    #[error("its number cannot be read: write `12 mm`, `0.5 in`, `3/8 in` or `1 1/4 in`")]
    BadNumber,
    /// A fraction with a zero below its line.
    #[error("its fraction divides by zero")]
    ZeroDivision,
}

/// Reads a length with its unit, such as `1 1/4 in`, `0.5 in`, `-3/8 in` or `12 mm`; the answer is in mm.
///
/// A whole number and its fraction may be joined by blanks or a hyphen
/// (`1-1/4 in`); the inch may be written `in`, `inch` or `"`.
///
/// # Errors
///
/// A [`LengthError`] that says what is wrong with the text.
///
/// ```
/// use platewright::units::parse_length;
/// assert_eq!(parse_length("1 1/4 in"), Ok(31.75));
/// assert_eq!(parse_length("12 mm"), Ok(12.0));
/// assert!(parse_length("12").is_err());
/// ```
pub fn parse_length(text: &str) -> Result<f64, LengthError> {
    let text = text.trim();
    let unit_at = text
        .find(|c: char| !(c.is_ascii_digit() || " .,/+-".contains(c)))
        .unwrap_or(text.len());
    let (number, unit) = text.split_at(unit_at);
    let inch = match unit.trim() {
        "mm" => false,
        "in" | "inch" | "\"" => true,
        "" if number.trim().is_empty() => return Err(LengthError::BadNumber),
        "" => return Err(LengthError::NoUnit),
        _ => return Err(LengthError::UnknownUnit),
    };
    if number.contains(',') {
        return Err(LengthError::Comma);
    }
    let number = number.trim();
    let (sign, magnitude) = match number.strip_prefix(['-', '+']) {
        Some(rest) if number.starts_with('-') => (-1.0, rest),
        Some(rest) => (1.0, rest),
        None => (1.0, number),
    };
    let value = mixed_number(magnitude.trim())?;
    // 25.4 = 127/5: in this order a fraction of a power of two, such as 7/8 in,
    // comes out as the double nearest to its true length.
    let mm = if inch { value * 127.0 / 5.0 } else { value };
    Ok(sign * mm)
}

/// Reads `12`, `0.5`, `.5`, `3/8`, `1 3/8` or `1-3/8`.
fn mixed_number(text: &str) -> Result<f64, LengthError> {
    let digits = |s: &str| -> Result<f64, LengthError> {
        if s.is_empty() || !s.bytes().all(|b| b.is_ascii_digit()) {
            return Err(LengthError::BadNumber);
        }
        s.parse().map_err(|_| LengthError::BadNumber)
    };
    let Some((above, below)) = text.split_once('/') else {
        let plain = text.bytes().all(|b| b.is_ascii_digit() || b == b'.');
        let ends_well = text.ends_with(|c: char| c.is_ascii_digit());
        return if plain && ends_well {
            text.parse().map_err(|_| LengthError::BadNumber)
        } else {
            Err(LengthError::BadNumber)
        };
    };
    let (whole, above) = match above.trim_end().rsplit_once([' ', '-']) {
        Some((whole, above)) => (digits(whole.trim_end_matches([' ', '-']))?, above),
        None => (0.0, above.trim_end()),
    };
    let (above, below) = (digits(above)?, digits(below.trim())?);
    if below == 0.0 {
        return Err(LengthError::ZeroDivision);
    }
    Ok(whole + above / below)
}

/// Writes a number with exactly `decimals` decimals and a decimal point; never `-0`.
///
/// A value that is not finite is written `n/a`, so that no one reads it as a
/// number; code that must stop instead asks [`f64::is_finite`] first.
///
/// ```
/// use platewright::units::fixed;
/// assert_eq!(fixed(-1e-7, 3), "0.000");
/// assert_eq!(fixed(f64::NAN, 3), "n/a");
/// ```
#[must_use]
pub fn fixed(value: f64, decimals: usize) -> String {
    let mut out = String::new();
    push_fixed(&mut out, value, decimals);
    out
}

/// Appends what [`fixed`] answers.
pub fn push_fixed(out: &mut String, value: f64, decimals: usize) {
    if !value.is_finite() {
        out.push_str("n/a");
        return;
    }
    let from = out.len();
    // Writing into a String cannot fail.
    let _ = write!(out, "{value:.decimals$}");
    let written = &out[from..];
    if written.starts_with('-') && written.bytes().all(|b| matches!(b, b'-' | b'0' | b'.')) {
        out.remove(from);
    }
}

/// Writes a number with at most `decimals` decimals, without trailing zeros: `6.6`, `12`.
///
/// ```
/// use platewright::units::plain;
/// assert_eq!(plain(12.0, 3), "12");
/// assert_eq!(plain(6.6000004, 3), "6.6");
/// ```
#[must_use]
pub fn plain(value: f64, decimals: usize) -> String {
    let mut out = fixed(value, decimals);
    if out.contains('.') {
        out.truncate(out.trim_end_matches('0').trim_end_matches('.').len());
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn lengths_are_read_as_a_shop_writes_them() {
        for (text, mm) in [
            ("1 1/4 in", 31.75),
            ("1-1/4 in", 31.75),
            ("1  1/4in", 31.75),
            ("0.5 in", 12.7),
            (".5in", 12.7),
            ("3/8 in", 9.525),
            ("-3/8 in", -9.525),
            ("3/8\"", 9.525),
            ("2 inch", 50.8),
            ("12 mm", 12.0),
            ("  +12.25mm ", 12.25),
            ("1/2 mm", 0.5),
        ] {
            assert_eq!(parse_length(text), Ok(mm), "{text}");
        }
    }

    #[test]
    fn what_is_no_length_says_why() {
        use LengthError as E;
        for (text, error) in [
            ("", E::BadNumber),
            ("  ", E::BadNumber),
            ("12", E::NoUnit),
            ("12 cm", E::UnknownUnit),
            ("12 mm mm", E::UnknownUnit),
            ("12,5 mm", E::Comma),
            ("mm", E::BadNumber),
            ("1. mm", E::BadNumber),
            ("1.2.3 mm", E::BadNumber),
            ("--1 mm", E::BadNumber),
            ("1/0 in", E::ZeroDivision),
            ("1/ in", E::BadNumber),
            ("1 1 1/2 in", E::BadNumber),
            ("1.5 1/2 in", E::BadNumber),
            ("nan mm", E::UnknownUnit),
            ("1e3 mm", E::UnknownUnit),
        ] {
            assert_eq!(parse_length(text), Err(error), "{text:?}");
        }
    }

    #[test]
    fn numbers_never_show_a_negative_zero_or_nan() {
        assert_eq!(fixed(-0.0, 2), "0.00");
        assert_eq!(fixed(-0.004, 2), "0.00");
        assert_eq!(fixed(-0.006, 2), "-0.01");
        assert_eq!(fixed(f64::INFINITY, 2), "n/a");
        assert_eq!(plain(-0.0, 3), "0");
        assert_eq!(plain(100.0, 0), "100");
        assert_eq!(plain(1.250, 3), "1.25");
    }

    proptest! {
        #[test]
        fn reading_a_length_never_panics(text in "\\PC{0,30}") {
            let _ = parse_length(&text);
        }

        #[test]
        fn whole_and_sixty_fourths_read_exactly(whole in 0_u32..100, part in 0_u32..64) {
            // In units of 1/320 mm the length is a whole number, so one division rounds once.
            let expected = f64::from((whole * 64 + part) * 127) / 320.0;
            prop_assert_eq!(parse_length(&format!("{whole} {part}/64 in")), Ok(expected));
        }
    }
}
