//! The exchange structure of ISO 10303-21: entities, references, reals and strings as text.

use std::fmt::Write as _;

/// The number of an entity instance.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Id(u32);

/// A file in the making.
#[derive(Debug)]
pub(super) struct Part21 {
    text: String,
    next: u32,
}

impl Part21 {
    /// A file that starts with its header section and an open data section.
    pub(super) fn new(header: &str, capacity: usize) -> Self {
        let mut text = String::with_capacity(capacity);
        text.push_str("ISO-10303-21;\nHEADER;\n");
        text.push_str(header);
        text.push_str("ENDSEC;\nDATA;\n");
        Self { text, next: 1 }
    }

    /// The finished file.
    pub(super) fn finish(mut self) -> String {
        self.text.push_str("ENDSEC;\nEND-ISO-10303-21;\n");
        self.text
    }

    /// Starts an entity: `#12=KEYWORD(`.
    pub(super) fn begin(&mut self, keyword: &str) -> Id {
        let id = Id(self.next);
        self.next += 1;
        self.id(id);
        self.text.push('=');
        self.text.push_str(keyword);
        self.text.push('(');
        id
    }

    /// Ends the entity that is open.
    pub(super) fn end(&mut self) {
        self.text.push_str(");\n");
    }

    /// A whole entity whose arguments are ready text.
    pub(super) fn entity(&mut self, keyword: &str, arguments: &str) -> Id {
        let id = self.begin(keyword);
        self.text.push_str(arguments);
        self.end();
        id
    }

    /// Text as it stands: commas, brackets, enumerations.
    pub(super) fn raw(&mut self, text: &str) {
        self.text.push_str(text);
    }

    /// A reference.
    pub(super) fn id(&mut self, id: Id) {
        self.text.push('#');
        push_whole(&mut self.text, u64::from(id.0));
    }

    /// References in brackets, parted by commas.
    pub(super) fn ids(&mut self, ids: impl IntoIterator<Item = Id>) {
        self.text.push('(');
        let mut first = true;
        for id in ids {
            if !first {
                self.text.push(',');
            }
            first = false;
            self.id(id);
        }
        self.text.push(')');
    }

    /// A real, with the fewest digits that read back to the same number.
    pub(super) fn real(&mut self, x: f64) {
        push_real(&mut self.text, x);
    }

    /// Three reals in brackets.
    pub(super) fn triple(&mut self, [x, y, z]: [f64; 3]) {
        self.text.push('(');
        self.real(x);
        self.text.push(',');
        self.real(y);
        self.text.push(',');
        self.real(z);
        self.text.push(')');
    }

    /// A string in quotes.
    pub(super) fn string(&mut self, s: &str) {
        push_string(&mut self.text, s);
    }
}

/// Writes a whole number.
fn push_whole(text: &mut String, mut n: u64) {
    let mut digits = [b'0'; 20];
    let mut at = digits.len();
    loop {
        at -= 1;
        digits[at] = b'0' + (n % 10) as u8;
        n /= 10;
        if n == 0 {
            break;
        }
    }
    text.push_str(std::str::from_utf8(&digits[at..]).unwrap_or_default());
}

/// Writes a real as ISO 10303-21 wants it: a decimal point always, `E` before an exponent, no negative zero.
fn push_real(text: &mut String, x: f64) {
    let size = x.abs();
    if x < 0.0 {
        text.push('-');
    }
    if size < 1e15 && size.fract() <= 0.0 {
        // Whole numbers are most of a plate's coordinates.
        push_whole(text, size as u64);
        text.push('.');
        return;
    }
    if (1e-5..1e15).contains(&size) {
        let _ = write!(text, "{size}");
        return;
    }
    let start = text.len();
    let _ = write!(text, "{size:E}");
    if let Some(e) = text[start..].find('E')
        && !text[start..start + e].contains('.')
    {
        text.insert(start + e, '.');
    }
}

/// Writes a string in quotes: quote and backslash doubled, everything beyond
/// printable ASCII as `\X2\` (four hexadecimal digits) or `\X4\` (eight).
pub(super) fn push_string(text: &mut String, s: &str) {
    #[derive(PartialEq)]
    enum Mode {
        Plain,
        Two,
        Four,
    }
    let mut mode = Mode::Plain;
    text.push('\'');
    for c in s.chars() {
        let wanted = match c {
            ' '..='~' => Mode::Plain,
            '\u{10000}'.. => Mode::Four,
            _ => Mode::Two,
        };
        if wanted != mode {
            if mode != Mode::Plain {
                text.push_str("\\X0\\");
            }
            text.push_str(match wanted {
                Mode::Plain => "",
                Mode::Two => "\\X2\\",
                Mode::Four => "\\X4\\",
            });
            mode = wanted;
        }
        let _ = match mode {
            Mode::Plain => {
                if c == '\'' || c == '\\' {
                    text.push(c);
                }
                text.push(c);
                Ok(())
            }
            Mode::Two => write!(text, "{:04X}", u32::from(c)),
            Mode::Four => write!(text, "{:08X}", u32::from(c)),
        };
    }
    if mode != Mode::Plain {
        text.push_str("\\X0\\");
    }
    text.push('\'');
}

#[cfg(test)]
mod tests {
    use super::*;

    fn real(x: f64) -> String {
        let mut s = String::new();
        push_real(&mut s, x);
        s
    }

    fn string(x: &str) -> String {
        let mut s = String::new();
        push_string(&mut s, x);
        s
    }

    #[test]
    fn reals_have_a_point_and_a_capital_exponent() {
        for (x, expected) in [
            (0.0, "0."),
            (-0.0, "0."),
            (12.0, "12."),
            (-3.5, "-3.5"),
            (1e-7, "1.E-7"),
            (-1.25e-9, "-1.25E-9"),
            (1e21, "1.E21"),
            (0.1 + 0.2, "0.30000000000000004"),
        ] {
            assert_eq!(real(x), expected);
        }
    }

    #[test]
    fn reals_read_back_to_the_same_bits() {
        let mut x = 1.234_567_890_123e-12_f64;
        while x < 1e20 {
            for y in [x, -x, x.trunc(), x.sqrt()] {
                let text = real(y);
                assert!(text.contains('.'), "{text}");
                assert_eq!(
                    text.parse::<f64>().expect("a number").to_bits(),
                    (y + 0.0).to_bits()
                );
            }
            x *= 1.618_033_988_749_9;
        }
    }

    #[test]
    fn strings_are_escaped_as_part_21_wants() {
        assert_eq!(string("Plate 'A' \\ 1"), "'Plate ''A'' \\\\ 1'");
        assert_eq!(
            string("Träger Ω"),
            "'Tr\\X2\\00E4\\X0\\ger \\X2\\03A9\\X0\\'"
        );
        assert_eq!(
            string("a😀é\n"),
            "'a\\X4\\0001F600\\X0\\\\X2\\00E9000A\\X0\\'"
        );
        assert_eq!(string(""), "''");
    }
}
