//! Metrics of the drawing's lettering, so that every text's box is known exactly.
//!
//! The letters are Helvetica, one of the fourteen fonts every PDF reader
//! supplies (ISO 32000-1, 9.6.2.2); fonts made to the same widths stand in for
//! it in a browser.

use std::sync::LazyLock;

/// Height of a capital, share of the font size (Helvetica.afm: CapHeight 718).
pub const CAPITAL: f64 = 0.718;

/// Weight of a text.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Weight {
    /// Helvetica.
    Regular,
    /// Helvetica-Bold.
    Bold,
}

/// One character's metrics, shares of the font size.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Glyph {
    /// The character.
    pub character: char,
    /// Its glyph's name in the font.
    pub name: &'static str,
    regular: f64,
    bold: f64,
    /// Lowest ink below the base line (negative), in either weight.
    pub bottom: f64,
    /// Highest ink above the base line, in either weight.
    pub top: f64,
}

impl Glyph {
    /// Advance width, share of the font size.
    #[must_use]
    pub const fn width(&self, weight: Weight) -> f64 {
        match weight {
            Weight::Regular => self.regular,
            Weight::Bold => self.bold,
        }
    }
}

static GLYPHS: LazyLock<Vec<Glyph>> = LazyLock::new(|| {
    include_str!("helvetica.csv")
        .lines()
        .filter(|l| !l.starts_with('#'))
        .filter_map(parse)
        .collect()
});

fn parse(line: &'static str) -> Option<Glyph> {
    let mut cells = line.split(',');
    let character = char::from_u32(u32::from_str_radix(cells.next()?, 16).ok()?)?;
    let name = cells.next()?;
    let mut share = || Some(cells.next()?.parse::<f64>().ok()? / 1000.0);
    Some(Glyph {
        character,
        name,
        regular: share()?,
        bold: share()?,
        bottom: share()?,
        top: share()?,
    })
}

/// The metrics of a character, `None` where the font has none.
#[must_use]
pub fn glyph(c: char) -> Option<&'static Glyph> {
    let at = GLYPHS.binary_search_by_key(&c, |g| g.character).ok()?;
    GLYPHS.get(at)
}

/// Characters without a glyph that have a plain spelling.
fn spelling(c: char) -> Option<&'static str> {
    Some(match c {
        '↑' => "(arrow up)",
        '↓' => "(arrow down)",
        '←' => "(arrow left)",
        '→' => "(arrow right)",
        '⌀' => "Ø",
        'μ' => "µ",
        '″' => "\"",
        '′' => "'",
        '\t' | '\n' | '\r' | '\u{2009}' | '\u{202F}' => " ",
        '‑' | '‐' => "-",
        _ => return None,
    })
}

/// `text` in characters the font has.
///
/// # Errors
///
/// The first character with neither a glyph nor a spelling.
pub fn printable(text: &str) -> Result<String, char> {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        if glyph(c).is_some() {
            out.push(c);
        } else {
            out.push_str(spelling(c).ok_or(c)?);
        }
    }
    Ok(out)
}

/// Width of `text`, share of the font size. A character without a glyph counts as a question mark.
#[must_use]
pub fn width(text: &str, weight: Weight) -> f64 {
    text.chars().map(|c| of(c).width(weight)).sum()
}

/// Lowest and highest ink of `text` about its base line, shares of the font size.
#[must_use]
pub fn reach(text: &str) -> (f64, f64) {
    text.chars().map(of).fold((0.0, 0.0), |(low, high), g| {
        (g.bottom.min(low), g.top.max(high))
    })
}

fn of(c: char) -> Glyph {
    const BLANK: Glyph = Glyph {
        character: '?',
        name: "question",
        regular: 0.556,
        bold: 0.611,
        bottom: 0.0,
        top: 0.727,
    };
    glyph(c).copied().unwrap_or(BLANK)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_table_is_complete_sorted_and_has_the_published_widths() {
        assert_eq!(GLYPHS.len(), 313);
        assert!(GLYPHS.windows(2).all(|w| w[0].character < w[1].character));
        for c in ' '..='~' {
            assert!(glyph(c).is_some(), "{c}");
        }
        // Helvetica.afm: A 667, zero 556, i 222; Helvetica-Bold.afm: A 722.
        for (c, weight, width) in [
            ('A', Weight::Regular, 0.667),
            ('0', Weight::Regular, 0.556),
            ('i', Weight::Regular, 0.222),
            ('A', Weight::Bold, 0.722),
        ] {
            assert!((glyph(c).expect("there").width(weight) - width).abs() < 1e-12);
        }
    }

    #[test]
    fn signs_without_a_glyph_are_spelled_and_strange_scripts_are_named() {
        assert_eq!(
            printable("UP ↑ ⌀8 ≥ 2").as_deref(),
            Ok("UP (arrow up) Ø8 ≥ 2")
        );
        assert_eq!(
            printable("Łódź Şişli Țara").as_deref(),
            Ok("Łódź Şişli Țara")
        );
        assert_eq!(printable("плита"), Err('п'));
    }
}
