//! Plain text tables: columns as wide as what stands in them, numbers flush right.

use std::fmt::Write as _;

/// A number to `digits` decimals without a negative zero.
pub(super) fn f(value: f64, digits: usize) -> String {
    let text = format!("{value:.digits$}");
    match text.strip_prefix('-') {
        Some(rest) if rest.chars().all(|c| c == '0' || c == '.') => rest.to_owned(),
        _ => text,
    }
}

pub(super) fn optional(value: Option<f64>, digits: usize) -> String {
    value.map_or_else(|| "-".to_owned(), |v| f(v, digits))
}

/// A table: the first `left` columns flush left, the rest flush right; the last flush left where `note`.
pub(super) fn table(
    out: &mut String,
    head: &[&str],
    left: usize,
    note: bool,
    rows: &[Vec<String>],
) {
    let widths: Vec<usize> = (0..head.len())
        .map(|i| {
            rows.iter()
                .filter_map(|r| r.get(i))
                .map(|c| c.chars().count())
                .chain([head[i].chars().count()])
                .max()
                .unwrap_or(0)
        })
        .collect();
    let line = |cells: &[&str]| {
        let mut text = String::new();
        for (i, cell) in cells.iter().enumerate() {
            let pad = " ".repeat(widths[i].saturating_sub(cell.chars().count()));
            let flush_left = i < left || (note && i + 1 == head.len());
            text.push_str("  ");
            if flush_left {
                text.push_str(cell);
                text.push_str(&pad);
            } else {
                text.push_str(&pad);
                text.push_str(cell);
            }
        }
        text.trim_end().to_owned()
    };
    let _ = writeln!(out, "{}", line(head));
    let rules: Vec<String> = widths.iter().map(|w| "-".repeat(*w)).collect();
    let rules: Vec<&str> = rules.iter().map(String::as_str).collect();
    let _ = writeln!(out, "{}", line(&rules));
    for row in rows {
        let cells: Vec<&str> = row.iter().map(String::as_str).collect();
        let _ = writeln!(out, "{}", line(&cells));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_carry_no_negative_zero() {
        assert_eq!(f(-0.0001, 2), "0.00");
        assert_eq!(f(-0.126, 2), "-0.13");
    }

    #[test]
    fn columns_line_up() {
        let mut out = String::new();
        let rows = vec![
            vec!["a".to_owned(), "1".to_owned()],
            vec!["long name".to_owned(), "1000".to_owned()],
        ];
        table(&mut out, &["x", "y"], 1, false, &rows);
        let ends: Vec<usize> = out.lines().map(|l| l.chars().count()).collect();
        assert!(ends.iter().all(|e| *e == ends[0]), "{out}");
    }
}
