//! Faults of the TOML grammar, in our own words.

use std::ops::Range as Bytes;

use crate::diag::source::floor_char;
use crate::diag::{Code, Diag};

use super::reader::Reader;
use super::words::shortened;

impl Reader<'_> {
    /// Reports every fault of the grammar and notes the lines that hold one.
    pub(super) fn syntax(&mut self, errors: &[toml::de::Error]) {
        let mut faults = Vec::new();
        for e in errors {
            let span = e.span().unwrap_or_else(|| deep_header(self.text));
            let start = floor_char(self.text, span.start);
            faults.push(line_of(self.text, start));
            let diag = if e.message().contains("recurs") {
                Diag::new(Code::TooDeep, "lists or tables are nested too deeply")
                    .labelled(self.spot(span), "deeper than 80")
                    .help("close the brackets before it, or take out what is nested")
            } else {
                let (title, help) = words_for(self.text, &span, e.message());
                Diag::new(Code::Syntax, title)
                    .at(self.spot(span))
                    .help(help)
            };
            self.push(diag);
        }
        self.faults = faults;
    }
}

/// The first line with a key of more than eighty steps; the parser does not say where it stood.
fn deep_header(text: &str) -> Bytes<usize> {
    let mut start = 0;
    for line in text.split_inclusive('\n') {
        if line.matches('.').count() > 80 {
            return start..start + line.trim_end().len();
        }
        start += line.len();
    }
    0..0
}

/// The line a byte stands on, without its end.
fn line_of(text: &str, at: usize) -> Bytes<usize> {
    let start = text
        .get(..at)
        .and_then(|t| t.rfind('\n'))
        .map_or(0, |i| i + 1);
    let end = text
        .get(at..)
        .and_then(|t| t.find('\n'))
        .map_or(text.len(), |i| at + i);
    start..end
}

/// What the parser's messages begin with, what they mean, and the mend.
const FAULTS: &[(&str, &str, &str)] = &[
    (
        "invalid basic string",
        "a text is not closed",
        "end it with \" on its own line; write \\\\ for a backslash",
    ),
    (
        "invalid multi-line basic string",
        "a text is not closed",
        "end it with \"\"\"",
    ),
    (
        "invalid literal string",
        "a text is not closed",
        "end it with ' on its own line",
    ),
    (
        "invalid multi-line literal string",
        "a text is not closed",
        "end it with '''",
    ),
    (
        "missing opening quote",
        "a text ends without having begun",
        "begin it with the same quote",
    ),
    (
        "missing escaped value",
        "a backslash in a text stands for nothing",
        "write \\\\ for a backslash, or put the text in '...'",
    ),
    (
        "too few unicode value digits",
        "a backslash in a text stands for nothing",
        "write \\\\ for a backslash, or put the text in '...'",
    ),
    (
        "unclosed array table",
        "a table's header is not closed",
        "end it with ]]",
    ),
    (
        "unclosed table",
        "a table's header is not closed",
        "end it with ]",
    ),
    (
        "unclosed inline table",
        "a table is not closed",
        "end it with }",
    ),
    ("unclosed array", "a list is not closed", "end it with ]"),
    ("extra comma", "there is a comma too many", "take it out"),
    (
        "missing comma",
        "a comma is missing",
        "put a comma between the elements",
    ),
    (
        "missing value",
        "a value is missing",
        "write the value, or take the key out",
    ),
    (
        "key with no value",
        "a key has no value",
        "write key = value, or begin the line with # if it is a remark",
    ),
    (
        "missing assignment",
        "`=` is missing between key and value",
        "write key = value",
    ),
    ("extra assignment", "there is a `=` too many", "take it out"),
    ("extra `=`", "there is a `=` too many", "take it out"),
    (
        "unexpected `=` in array",
        "a list cannot hold keys",
        "put keys into { }",
    ),
    (
        "unexpected leading zero",
        "a number begins with a zero too many",
        "take it out",
    ),
    (
        "unexpected sign",
        "a number has a sign too many",
        "take it out",
    ),
    (
        "redundant numeric sign",
        "a number has a sign too many",
        "take it out",
    ),
    (
        "`_` may only go between digits",
        "a `_` does not stand between two digits",
        "take it out",
    ),
    (
        "invalid boolean",
        "a word stands where a value belongs",
        "write true or false, or put a text in quotes",
    ),
    (
        "invalid date-time",
        "a date cannot be read",
        "write it like 2026-03-02",
    ),
    (
        "cannot extend value",
        "the key has a value already and is no table",
        "give one of the two another name",
    ),
    (
        "carriage return must be followed by newline",
        "a line ends in a carriage return alone",
        "save the file with line feeds",
    ),
    (
        "invalid comment character",
        "a remark holds a control character",
        "take it out",
    ),
];

/// A syntax fault in our own words: title and mend.
fn words_for(text: &str, span: &Bytes<usize>, message: &str) -> (String, String) {
    let marked = shortened(text.get(span.clone()).unwrap_or("").trim());
    let before = text.get(..span.start).unwrap_or("").trim_end();
    if span.is_empty() && before.ends_with('=') {
        return (
            "a value is missing after `=`".to_owned(),
            "write the value, or take the line out".to_owned(),
        );
    }
    if message == "duplicate key" {
        return (
            format!("the key `{marked}` is given twice"),
            format!("keep one; a table that may come more than once is written [[{marked}]]"),
        );
    }
    if message.starts_with("string values must be quoted") {
        let parts: Vec<&str> = marked.split_whitespace().collect();
        if parts.len() > 1 && parts.iter().all(|p| p.parse::<f64>().is_ok()) {
            return (
                "a comma is missing between two numbers".to_owned(),
                format!("write {}", parts.join(", ")),
            );
        }
        return (
            "a text must stand in quotes".to_owned(),
            format!("write \"{marked}\""),
        );
    }
    if let Some((_, title, help)) = FAULTS.iter().find(|(m, ..)| message.starts_with(m)) {
        return ((*title).to_owned(), (*help).to_owned());
    }
    let number = [
        "float", "fraction", "exponent", "mantissa", "number", "radix",
    ]
    .iter()
    .any(|word| message.contains(word));
    if number {
        return (
            "a number cannot be read".to_owned(),
            "write it with digits and a point, such as -12.5".to_owned(),
        );
    }
    if message.contains("key") {
        return (
            "a key cannot be read".to_owned(),
            "a key is made of letters, digits and `-`, and ends at `=`".to_owned(),
        );
    }
    (
        format!("not TOML: {message}"),
        "a line is `key = value`, `[table]`, `[[table]]` or `# remark`".to_owned(),
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use toml::de::DeTable;

    #[test]
    fn common_faults_are_said_in_plain_words() {
        for (text, title) in [
            ("a = \"b\nc = 1\n", "a text is not closed"),
            ("a = 'b\n", "a text is not closed"),
            ("a = [1, 2\n", "a list is not closed"),
            ("a = { b = 1\n", "a table is not closed"),
            ("[a\nb = 1\n", "a table's header is not closed"),
            ("[[a]\nb = 1\n", "a table's header is not closed"),
            ("a = [1,, 2]\n", "there is a comma too many"),
            ("a = [\"x\" \"y\"]\n", "a comma is missing"),
            ("a = [1 2]\n", "a comma is missing between two numbers"),
            ("a\n", "a key has no value"),
            ("a = 012\n", "a number begins with a zero too many"),
            ("a = 1.2.3\n", "a number cannot be read"),
            ("a = 12 mm\n", "a text must stand in quotes"),
            (
                "a = \"c:\\temp \\q\"\n",
                "a backslash in a text stands for nothing",
            ),
            (
                "a = 1\na.b = 2\n",
                "the key has a value already and is no table",
            ),
            ("a = 1\na = 2\n", "the key `a` is given twice"),
        ] {
            let (_, errors) = DeTable::parse_recoverable(text);
            let said: Vec<(String, String)> = errors
                .iter()
                .map(|e| {
                    let span = e.span().unwrap_or(0..0);
                    (
                        words_for(text, &span, e.message()).0,
                        e.message().to_owned(),
                    )
                })
                .collect();
            assert!(said.iter().any(|s| s.0 == title), "{text:?}: {said:?}");
        }
    }
}
