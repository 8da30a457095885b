//! A table narrow enough to stand on one screen: its columns are closer than those of other tables. Where
//! they do not fit beside the names of the rows, the rows stand by their short names, and columns that do
//! not fit follow in a table below.

use crate::text::table::{columns, letters};

/// Blanks between columns.
const BETWEEN: usize = 2;
/// Our choice: the letters that a cell takes at least, as in `12.34`.
const LEAST_WIDTH: usize = 5;

/// Numbers by row and column.
#[derive(Debug)]
pub(crate) struct CloseTable {
    /// What stands above the names of the rows.
    pub(crate) head: String,
    /// The heads of the columns.
    pub(crate) columns: Vec<String>,
    /// The rows.
    pub(crate) rows: Vec<CloseRow>,
}

/// A row.
#[derive(Debug)]
pub(crate) struct CloseRow {
    /// Its name.
    pub(crate) label: String,
    /// What stands for it where there is no room for names.
    pub(crate) short: String,
    /// A cell for each column.
    pub(crate) cells: Vec<String>,
}

impl CloseTable {
    /// The table as lines.
    pub(crate) fn text(&self) -> String {
        let widths: Vec<usize> = (0..self.columns.len()).map(|n| self.width(n)).collect();
        let wide: usize = widths.iter().map(|width| BETWEEN + width).sum();
        let label = |row: &CloseRow, by_number: bool| {
            if by_number { row.short.clone() } else { row.label.clone() }
        };
        let widest = |by_number: bool| {
            let labels = self.rows.iter().map(|row| letters(&label(row, by_number)));
            labels.max().unwrap_or(0)
        };
        let named = widest(false).max(letters(&self.head));
        let by_number = named + wide > columns();
        // A head that is wider than its column goes on in the next line.
        let longest_word = self.head.split(' ').map(letters).max().unwrap_or(0);
        let first = if by_number { widest(true).max(longest_word) } else { named };
        let mut out = String::new();
        for group in across(&widths, columns().saturating_sub(first)) {
            let widths: Vec<usize> = group.iter().filter_map(|n| widths.get(*n)).copied().collect();
            let cell = |cells: &[String], n: &usize| cells.get(*n).cloned().unwrap_or_default();
            let heads: Vec<String> =
                group.iter().filter_map(|n| self.columns.get(*n)).cloned().collect();
            out.push_str(&row(&self.head, &heads, first, &widths));
            let wide = first + widths.iter().map(|w| w + BETWEEN).sum::<usize>();
            out.push_str(&"─".repeat(wide.min(columns())));
            out.push('\n');
            for line in &self.rows {
                let cells: Vec<String> = group.iter().map(|n| cell(&line.cells, n)).collect();
                out.push_str(&row(&label(line, by_number), &cells, first, &widths));
            }
        }
        out
    }

    /// The widest of the head and the cells of a column.
    fn width(&self, column: usize) -> usize {
        let cells = self.rows.iter().filter_map(|row| row.cells.get(column));
        let all = cells.chain(self.columns.get(column)).map(|cell| letters(cell));
        all.fold(LEAST_WIDTH, usize::max)
    }
}

/// A row; a label that is longer than its column goes on in the next line.
fn row(label: &str, cells: &[String], first: usize, widths: &[usize]) -> String {
    let mut lines = vec![String::new()];
    for word in label.split(' ') {
        match lines.last_mut() {
            Some(line) if line.is_empty() => line.push_str(word),
            Some(line) if letters(line) + 1 + letters(word) <= first => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    let mut out = String::new();
    for (n, line) in lines.iter().enumerate() {
        out.push_str(line);
        if n == 0 {
            out.push_str(&" ".repeat(first.saturating_sub(letters(line))));
            for (cell, width) in cells.iter().zip(widths) {
                out.push_str(&" ".repeat(BETWEEN + width.saturating_sub(letters(cell))));
                out.push_str(cell);
            }
        }
        out.push('\n');
    }
    out
}

/// The columns in groups that fit into a width, by their places.
fn across(widths: &[usize], room: usize) -> Vec<Vec<usize>> {
    let mut groups: Vec<Vec<usize>> = Vec::new();
    let mut used = 0;
    for (place, width) in widths.iter().enumerate() {
        let width = width + BETWEEN;
        match groups.last_mut() {
            Some(group) if used + width <= room => {
                group.push(place);
                used += width;
            }
            _ => {
                groups.push(vec![place]);
                used = width;
            }
        }
    }
    groups
}
