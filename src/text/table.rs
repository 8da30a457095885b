//! The look of every table: no frames, a rule below the head, numbers to the right.

use comfy_table::{CellAlignment, ContentArrangement, LineStyle, Row, Table, TableStyle};

/// Where the text of a column stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Side {
    Left,
    Right,
}

/// Our choice: what a small terminal shows.
const COLUMNS: u16 = 80;

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
        .set_width(COLUMNS)
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

/// The text of a table without trailing blanks.
pub(crate) fn text(table: &Table) -> String {
    table.lines().fold(String::new(), |text, line| text + line.trim_end() + "\n")
}

/// Text broken at blanks to the width of a table. The blanks it begins with stay, and each
/// further line begins with `indent` blanks.
pub(crate) fn wrapped(text: &str, indent: usize) -> String {
    let start = text.chars().take_while(|c| *c == ' ').count();
    let mut out = " ".repeat(start);
    let mut length = start;
    for (number, word) in text.split_whitespace().enumerate() {
        let letters = word.chars().count();
        if number > 0 && length + 1 + letters > usize::from(COLUMNS) {
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
    fn lines_stay_within_the_width() {
        let text = wrapped(&format!("  {}", "some words ".repeat(40)), 4);
        assert!(text.lines().all(|l| l.chars().count() <= usize::from(COLUMNS)));
        assert!(text.starts_with("  some"));
        assert!(text.lines().skip(1).all(|l| l.starts_with("    ")));
    }
}
