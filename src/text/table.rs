//! The look of every table: no frames, a rule below the head, numbers to the right.

use std::sync::atomic::{AtomicU16, Ordering};

use comfy_table::{
    CellAlignment, ColumnConstraint, ContentArrangement, LineStyle, Row, Table, TableStyle, Width,
};

/// Where the text of a column stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Side {
    Left,
    Right,
}

/// Our choice: what a small terminal shows; text is no wider on a large one.
const COLUMNS: u16 = 80;
/// Our choice: nobody reads a table that is narrower.
const FEWEST_COLUMNS: u16 = 40;

/// The width that is written for. It belongs to the terminal and is set once, before anything is written.
static WIDTH: AtomicU16 = AtomicU16::new(COLUMNS);

/// Sets the width of the terminal, where there is one.
pub fn set_columns(terminal: u16) {
    WIDTH.store(terminal.clamp(FEWEST_COLUMNS, COLUMNS), Ordering::Relaxed);
}

/// The width that is written for.
pub(crate) fn columns() -> usize {
    usize::from(WIDTH.load(Ordering::Relaxed))
}

/// A table with these heads and a rule below them.
pub(crate) fn table(heads: &[(&str, Side)]) -> Table {
    styled(heads, TableStyle::new().header_separator(LineStyle::none().fill('─').junction('─')))
}

/// A table inside the section of a larger text: heads without a rule.
pub(crate) fn inner_table(heads: &[(&str, Side)]) -> Table {
    styled(heads, TableStyle::new())
}

fn styled(heads: &[(&str, Side)], style: TableStyle) -> Table {
    let mut table = Table::new();
    table
        .load_style(style)
        .set_content_arrangement(ContentArrangement::Dynamic)
        .set_width(WIDTH.load(Ordering::Relaxed))
        .set_header(Row::from(heads.iter().map(|(head, _)| *head)));
    for (column, (_, side)) in table.column_iter_mut().zip(heads) {
        column.set_cell_alignment(match side {
            Side::Left => CellAlignment::Left,
            Side::Right => CellAlignment::Right,
        });
        column.set_padding((0, 2));
    }
    table
}

/// The text of a table without trailing blanks. No word is broken: a table whose longest words do not fit
/// beside each other is written row by row, each cell behind the head of its column.
pub(crate) fn text(table: &Table) -> String {
    let mut table = table.clone();
    let longest = longest_words(&table);
    let together: usize = longest.iter().map(|word| word + BETWEEN).sum();
    if together > columns() + BETWEEN {
        return row_by_row(&table);
    }
    for (column, word) in table.column_iter_mut().zip(&longest) {
        let width = u16::try_from(word + BETWEEN).unwrap_or(COLUMNS);
        column.set_constraint(ColumnConstraint::LowerBoundary(Width::Fixed(width)));
    }
    table.lines().fold(String::new(), |text, line| text + line.trim_end() + "\n")
}

/// Blanks between columns.
const BETWEEN: usize = 2;

fn cells(row: &Row) -> Vec<String> {
    row.cell_iter().map(comfy_table::Cell::content).collect()
}

fn longest_words(table: &Table) -> Vec<usize> {
    let rows = table.header().into_iter().chain(table.row_iter());
    let mut longest: Vec<usize> = Vec::new();
    for row in rows {
        for (n, cell) in cells(row).iter().enumerate() {
            let indent = cell.chars().take_while(|c| *c == ' ').count();
            let word = cell.split_whitespace().map(|w| w.chars().count()).max().unwrap_or(0);
            match longest.get_mut(n) {
                Some(known) => *known = (*known).max(word + indent),
                None => longest.push(word + indent),
            }
        }
    }
    longest
}

fn row_by_row(table: &Table) -> String {
    let heads = table.header().map(cells).unwrap_or_default();
    let mut out = String::new();
    if let Some(head) = heads.first().filter(|head| !head.trim().is_empty()) {
        out.push_str(&wrapped(head.trim(), 2));
    }
    for row in table.row_iter() {
        for (n, cell) in cells(row).iter().enumerate() {
            let text = cell.trim();
            if n == 0 {
                out.push_str(&wrapped(text, 2));
            } else if !text.is_empty() {
                let head = heads.get(n).map_or("", String::as_str).trim();
                out.push_str(&wrapped(&format!("  {head} {text}"), 4));
            }
        }
    }
    out
}

/// Text broken at blanks to the width of a table. The blanks it begins with stay, and each
/// further line begins with `indent` blanks.
pub(crate) fn wrapped(text: &str, indent: usize) -> String {
    let start = text.chars().take_while(|c| *c == ' ').count();
    let mut out = " ".repeat(start);
    let mut length = start;
    for (number, word) in text.split_whitespace().enumerate() {
        let letters = word.chars().count();
        if number > 0 && length + 1 + letters > columns() {
            out.push('\n');
            out.push_str(&" ".repeat(indent));
            length = indent;
        } else if number > 0 {
            out.push(' ');
            length += 1;
        }
        out.push_str(word);
        length += letters;
    }
    out.push('\n');
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_too_long_for_a_line_go_row_by_row() {
        let long = "a".repeat(36);
        let mut rows = table(&[("first", Side::Left), (&long, Side::Right), (&long, Side::Right)]);
        rows.add_row(["one water", "1.5", &"b".repeat(25)]);
        let said = text(&rows);
        assert_eq!(said, format!("first\none water\n  {long} 1.5\n  {long} {}\n", "b".repeat(25)));
    }

    #[test]
    fn lines_stay_within_the_width() {
        let text = wrapped(&format!("  {}", "some words ".repeat(40)), 4);
        assert!(text.lines().all(|l| l.chars().count() <= usize::from(COLUMNS)));
        assert!(text.starts_with("  some"));
        assert!(text.lines().skip(1).all(|l| l.starts_with("    ")));
    }
}
