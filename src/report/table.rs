//! Plain-text tables with aligned columns.

/// How a column is set.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Align {
    /// Words.
    Left,
    /// Numbers.
    Right,
}

/// A table of text cells.
#[derive(Debug, Clone)]
pub struct Table {
    columns: Vec<(String, Align)>,
    rows: Vec<Vec<String>>,
}

impl Table {
    /// A table with the given column heads.
    #[must_use]
    pub fn new(columns: &[(&str, Align)]) -> Self {
        Self {
            columns: columns
                .iter()
                .map(|(name, align)| ((*name).to_owned(), *align))
                .collect(),
            rows: Vec::new(),
        }
    }

    /// Adds a row; missing cells are blank, surplus ones are dropped.
    pub fn row(&mut self, cells: impl IntoIterator<Item = String>) {
        let mut row: Vec<String> = cells.into_iter().take(self.columns.len()).collect();
        row.resize(self.columns.len(), String::new());
        self.rows.push(row);
    }

    /// Whether it has no rows.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.rows.is_empty()
    }

    /// The table as text, indented by two spaces, a line a row, without trailing blanks.
    #[must_use]
    pub fn render(&self) -> String {
        let width = |s: &str| s.chars().count();
        let widths: Vec<usize> = self
            .columns
            .iter()
            .enumerate()
            .map(|(i, (head, _))| {
                self.rows
                    .iter()
                    .map(|r| width(&r[i]))
                    .fold(width(head), usize::max)
            })
            .collect();
        let line = |cells: &mut dyn Iterator<Item = &str>| {
            let mut text = String::new();
            for ((cell, (_, align)), w) in cells.zip(&self.columns).zip(&widths) {
                let pad = " ".repeat(w - width(cell));
                text.push_str("  ");
                match align {
                    Align::Left => {
                        text.push_str(cell);
                        text.push_str(&pad);
                    }
                    Align::Right => {
                        text.push_str(&pad);
                        text.push_str(cell);
                    }
                }
            }
            text.truncate(text.trim_end().len());
            text.push('\n');
            text
        };
        let mut out = line(&mut self.columns.iter().map(|c| c.0.as_str()));
        for row in &self.rows {
            out.push_str(&line(&mut row.iter().map(String::as_str)));
        }
        out
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_line_up_on_the_right_and_lines_have_no_tail() {
        let mut t = Table::new(&[("what", Align::Left), ("mm", Align::Right)]);
        t.row(["web".to_owned(), "4.00".to_owned()]);
        t.row(["größe".to_owned(), "12.50".to_owned()]);
        assert_eq!(
            t.render(),
            "  what      mm\n  web     4.00\n  größe  12.50\n"
        );
    }
}
