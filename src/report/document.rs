//! A document for people at the bench: headings, sentences, steps and tables, in no file format.

use std::fmt::Write as _;

/// What a document is made of.
#[derive(Debug, Clone, PartialEq)]
pub enum Part {
    /// A heading.
    Heading(String),
    /// A paragraph.
    Text(String),
    /// Points without an order.
    Points(Vec<String>),
    /// Numbered steps.
    Steps(Vec<String>),
    /// A table.
    Table {
        /// Column heads.
        head: Vec<&'static str>,
        /// Share of the width each column gets; they sum to 1.
        shares: Vec<f64>,
        /// Cells; as many a row as there are heads.
        rows: Vec<Vec<String>>,
    },
}

/// A document.
#[derive(Debug, Clone, PartialEq)]
pub struct Document {
    /// What kind of document it is, such as `fit-up sheet`.
    pub kind: &'static str,
    /// Its parts in order.
    pub parts: Vec<Part>,
}

/// Width of the text file, characters.
const WIDTH: usize = 100;

impl Document {
    /// The document as plain text under `title`, lines of 100 characters at most but for single long words.
    #[must_use]
    pub fn text(&self, title: &str) -> String {
        let mut out = format!("{title}\n");
        for part in &self.parts {
            out.push('\n');
            match part {
                Part::Heading(h) => {
                    let _ = writeln!(out, "{h}\n{}", "-".repeat(h.chars().count()));
                }
                Part::Text(t) => {
                    for line in wrapped(t, WIDTH) {
                        let _ = writeln!(out, "{line}");
                    }
                }
                Part::Points(points) => {
                    for p in points {
                        hang(&mut out, "- ", p);
                    }
                }
                Part::Steps(steps) => {
                    let digits = steps.len().to_string().len();
                    for (k, s) in steps.iter().enumerate() {
                        hang(&mut out, &format!("{:>digits$}. ", k + 1), s);
                    }
                }
                Part::Table { head, shares, rows } => table(&mut out, head, shares, rows),
            }
        }
        out
    }
}

/// A paragraph behind a lead, further lines indented as far.
fn hang(out: &mut String, lead: &str, text: &str) {
    let indent = lead.chars().count();
    for (k, line) in wrapped(text, WIDTH - indent).into_iter().enumerate() {
        let before = if k == 0 {
            lead.to_owned()
        } else {
            " ".repeat(indent)
        };
        let _ = writeln!(out, "{before}{line}");
    }
}

/// Rows with wrapped cells, a blank line between rows of more than one line.
fn table(out: &mut String, head: &[&str], shares: &[f64], rows: &[Vec<String>]) {
    let room = WIDTH - 2 * (head.len().saturating_sub(1));
    let widths: Vec<usize> = shares
        .iter()
        .map(|s| ((s * room as f64).floor() as usize).max(4))
        .collect();
    let mut print = |cells: Vec<String>| {
        let lines: Vec<Vec<String>> = cells
            .iter()
            .zip(&widths)
            .map(|(c, w)| wrapped(c, *w))
            .collect();
        let count = lines.iter().map(Vec::len).max().unwrap_or(0);
        for k in 0..count {
            let row: Vec<String> = lines
                .iter()
                .zip(&widths)
                .map(|(l, w)| format!("{:<w$}", l.get(k).map_or("", String::as_str), w = *w))
                .collect();
            let _ = writeln!(out, "{}", row.join("  ").trim_end());
        }
        count
    };
    print(head.iter().map(|h| (*h).to_owned()).collect());
    print(widths.iter().map(|w| "-".repeat(*w)).collect());
    for row in rows {
        print(row.clone());
    }
}

/// Breaks at spaces; a word longer than the width is broken within.
fn wrapped(text: &str, width: usize) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    let mut line = String::new();
    for word in text.split_whitespace() {
        let mut word = word.to_owned();
        loop {
            let used = line.chars().count();
            let gap = usize::from(used > 0);
            let long = word.chars().count();
            if used + gap + long <= width {
                if gap > 0 {
                    line.push(' ');
                }
                line.push_str(&word);
                break;
            }
            if used > 0 {
                lines.push(std::mem::take(&mut line));
                continue;
            }
            let head: String = word.chars().take(width.max(1)).collect();
            word = word.chars().skip(width.max(1)).collect();
            lines.push(head);
        }
    }
    if !line.is_empty() || lines.is_empty() {
        lines.push(line);
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_keeps_every_word_and_the_width() {
        let long = "Put the spacer in ".repeat(20);
        let d = Document {
            kind: "fit-up sheet",
            parts: vec![
                Part::Heading("Order".to_owned()),
                Part::Steps(vec![long.clone(); 11]),
                Part::Table {
                    head: vec!["a", "b"],
                    shares: vec![0.3, 0.7],
                    rows: vec![vec![long.clone(), "x".repeat(150)]],
                },
            ],
        };
        let text = d.text("Title");
        assert!(text.lines().all(|l| l.chars().count() <= WIDTH));
        assert_eq!(text.matches("spacer").count(), 12 * 20);
        assert_eq!(text.matches('x').count(), 150);
    }
}
