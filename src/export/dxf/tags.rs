//! Group codes and values, the grain of a DXF file.

use std::fmt::Write;
use std::sync::LazyLock;

use super::{DxfError, Layer};
use crate::geom::{Extents, Point};
use crate::number::{LENGTH_DECIMALS, NotFinite, RATIO_DECIMALS, push_trimmed};

/// How much larger than the drawing the opening view is (common practice, no source).
const VIEW_MARGIN: f64 = 1.1;

/// Snap, grid and direction of the view: seen along z.
static VIEW_CENTRED: LazyLock<String> = LazyLock::new(|| {
    spread(
        "13=0.0 23=0.0 14=10.0 24=10.0 15=10.0 25=10.0 16=0.0 26=0.0 36=1.0 17=0.0 27=0.0 37=0.0",
    )
});

/// Lens and switches of the view.
static VIEW_REST: LazyLock<String> = LazyLock::new(|| {
    spread(
        "42=50.0 43=0.0 44=0.0 50=0.0 51=0.0
        71=0 72=100 73=1 74=3 75=0 76=0 77=0 78=0",
    )
});

/// The text of a file while it grows, with the next free handle.
#[derive(Debug)]
pub(super) struct Tags {
    text: String,
    next_handle: u32,
}

impl Tags {
    /// An empty file whose first own handle is `first_handle`.
    pub(super) fn new(capacity: usize, first_handle: u32) -> Self {
        Self {
            text: String::with_capacity(capacity),
            next_handle: first_handle,
        }
    }

    /// A group with a text value.
    pub(super) fn put(&mut self, code: &str, value: &str) {
        self.text.push_str(code);
        self.text.push('\n');
        self.text.push_str(value);
        self.text.push('\n');
    }

    /// Groups already in file form.
    pub(super) fn put_all(&mut self, ready: &str) {
        self.text.push_str(ready);
    }

    /// A group with a whole number.
    pub(super) fn count(&mut self, code: &str, value: usize) {
        self.put(code, &value.to_string());
    }

    /// A group with a length, mm.
    pub(super) fn length(&mut self, code: &str, value: f64, layer: Layer) -> Result<(), DxfError> {
        self.real(code, value, LENGTH_DECIMALS, layer)
    }

    /// A group with a ratio or an angle.
    pub(super) fn ratio(&mut self, code: &str, value: f64, layer: Layer) -> Result<(), DxfError> {
        self.real(code, value, RATIO_DECIMALS, layer)
    }

    fn real(
        &mut self,
        code: &str,
        value: f64,
        decimals: u32,
        layer: Layer,
    ) -> Result<(), DxfError> {
        self.text.push_str(code);
        self.text.push('\n');
        push_trimmed(&mut self.text, value, decimals).map_err(|NotFinite| DxfError::NotFinite {
            layer: layer.name(),
        })?;
        self.text.push('\n');
        Ok(())
    }

    /// x and y of a point under codes 10 and 20.
    pub(super) fn point(&mut self, p: Point, layer: Layer) -> Result<(), DxfError> {
        self.length("10", p.x, layer)?;
        self.length("20", p.y, layer)
    }

    /// A header variable that is a corner of the drawing.
    pub(super) fn corner(&mut self, name: &str, p: Point) -> Result<(), DxfError> {
        self.put("9", name);
        self.point(p, Layer::OUTLINE)?;
        self.put("30", "0.0");
        Ok(())
    }

    /// The header's four box variables.
    pub(super) fn extents(&mut self, e: Extents) -> Result<(), DxfError> {
        self.corner("$EXTMIN", e.min)?;
        self.corner("$EXTMAX", e.max)?;
        for (name, p) in [("$LIMMIN", e.min), ("$LIMMAX", e.max)] {
            self.put("9", name);
            self.point(p, Layer::OUTLINE)?;
        }
        Ok(())
    }

    /// The rest of the active view's record, so that the file opens on the whole drawing.
    pub(super) fn view(&mut self, e: Extents) -> Result<(), DxfError> {
        let (width, height) = (e.width() * VIEW_MARGIN, e.height() * VIEW_MARGIN);
        // The view is as high as the drawing, or as wide seen through a 4:3 window.
        let aspect = 4.0 / 3.0;
        let height = height.max(width / aspect);
        let middle = e.centre();
        self.put_all("10\n0.0\n20\n0.0\n11\n1.0\n21\n1.0\n");
        for (code, value) in [("12", middle.x), ("22", middle.y)] {
            self.length(code, value, Layer::OUTLINE)?;
        }
        self.put_all(&VIEW_CENTRED);
        self.length("40", height, Layer::OUTLINE)?;
        self.length("41", aspect, Layer::OUTLINE)?;
        self.put_all(&VIEW_REST);
        Ok(())
    }

    /// A fresh handle under code 5.
    pub(super) fn handle(&mut self) {
        let handle = format!("{:X}", self.next_handle);
        self.next_handle += 1;
        self.put("5", &handle);
    }

    /// The file's bytes in the header's code page, the placeholder `mark` replaced by the first handle never used.
    pub(super) fn finish(self, mark: &str) -> Vec<u8> {
        let text = self
            .text
            .replacen(mark, &format!("{:X}", self.next_handle), 1);
        if text.is_ascii() {
            return text.into_bytes();
        }
        // `escape` lets through nothing above U+00FF, where code page 1252 is Latin-1.
        text.chars()
            .map(|c| u8::try_from(u32::from(c)).unwrap_or(b'?'))
            .collect()
    }
}

/// Turns a compact table into file form: `code=value` words, `~` for a space within a value, `#` to the line's end for a comment.
pub(super) fn spread(compact: &str) -> String {
    let mut out = String::with_capacity(compact.len() + compact.len() / 4);
    for line in compact.lines() {
        let line = line.split('#').next().unwrap_or(line);
        for word in line.split_whitespace() {
            let (code, value) = word.split_once('=').unwrap_or((word, ""));
            out.push_str(code);
            out.push('\n');
            out.extend(value.chars().map(|c| if c == '~' { ' ' } else { c }));
            out.push('\n');
        }
    }
    out
}

/// A text as a file may hold it: Latin-1 characters, the rest spelled out or coded as `\U+XXXX`.
///
/// Stroke fonts lack most signs, so those with a plain spelling get it;
/// diameter, degree and plus-minus have codes of the format's own.
pub(super) fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            'Ø' | '⌀' => out.push_str("%%c"),
            '°' => out.push_str("%%d"),
            '±' => out.push_str("%%p"),
            '×' => out.push('x'),
            '–' | '—' | '−' => out.push('-'),
            '’' => out.push('\''),
            '≤' => out.push_str("<="),
            '≥' => out.push_str(">="),
            '\\' | '^' | '%' => push_code(&mut out, u32::from(c)),
            ' '..='~' | '\u{A0}'..='\u{FF}' => out.push(c),
            c if c.is_control() => out.push(' '),
            c => {
                // Four digits are all the escape holds; rarer characters go as two halves.
                let mut halves = [0; 2];
                for &half in c.encode_utf16(&mut halves).iter() {
                    push_code(&mut out, u32::from(half));
                }
            }
        }
    }
    out
}

fn push_code(out: &mut String, code: u32) {
    // Writing to a string cannot fail.
    let _ = write!(out, "\\U+{code:04X}");
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn compact_tables_spread_to_one_group_a_line_pair() {
        assert_eq!(
            spread("0=CLASS 3=a~b 1= # why\n 70=1"),
            "0\nCLASS\n3\na b\n1\n\n70\n1\n"
        );
    }

    #[test]
    fn text_keeps_plain_characters_and_codes_the_rest() {
        assert_eq!(escape("Ø6.6 H7, 90°"), "%%c6.6 H7, 90%%d");
        assert_eq!(
            escape("50 %\n≥ a\\b^c"),
            "50 \\U+0025 >= a\\U+005Cb\\U+005Ec"
        );
        assert_eq!(escape("Gehäuse 2 × 3 — Ω"), "Gehäuse 2 x 3 - \\U+03A9");
        assert_eq!(escape("𝛼"), "\\U+D835\\U+DEFC");
    }
}
