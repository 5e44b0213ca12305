//! Aligned columns.

use std::fmt;
use textwrap::core::display_width;

/// A table of text cells; a column whose head begins with `<` is aligned to the left, every other to the right.
#[derive(Debug, Default)]
pub(super) struct Table {
    rows: Vec<Vec<String>>,
    left: Vec<bool>,
}

impl Table {
    /// A table with a head of one line.
    pub(super) fn new(head: &[&str]) -> Self {
        let left = head.iter().map(|cell| cell.starts_with('<')).collect();
        let mut table = Self { rows: Vec::new(), left };
        table.row(head.iter().map(|cell| cell.trim_start_matches('<').to_owned()));
        table
    }

    /// Its rows, the head first, and whether each column is aligned to the left.
    pub(super) fn parts(&self) -> (&[Vec<String>], &[bool]) {
        (&self.rows, &self.left)
    }

    /// Adds a row; missing cells at its end are empty.
    pub(super) fn row(&mut self, cells: impl IntoIterator<Item = String>) {
        self.rows.push(cells.into_iter().collect());
    }
}

impl fmt::Display for Table {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let width = |column: usize| {
            self.rows
                .iter()
                .filter_map(|row| row.get(column))
                .map(|cell| display_width(cell))
                .max()
                .unwrap_or(0)
        };
        let widths: Vec<usize> = (0..self.left.len()).map(width).collect();
        for row in &self.rows {
            let mut line = String::new();
            for (column, cell) in row.iter().enumerate() {
                let pad = " ".repeat(widths[column] - display_width(cell));
                let (before, after) = if self.left[column] { ("", pad.as_str()) } else { (pad.as_str(), "") };
                line.extend(["  ", before, cell, after]);
            }
            writeln!(f, "{}", line.trim_end())?;
        }
        Ok(())
    }
}
