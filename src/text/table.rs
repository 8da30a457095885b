//! The look of every table: no frames, a rule below the head, numbers to the right.

use std::borrow::Cow;
use std::fmt::Display;
use std::sync::atomic::{AtomicU16, Ordering};

use anstream::adapter::strip_str;
use comfy_table::{
    CellAlignment, Column, ColumnConstraint, ContentArrangement, LineStyle, Row, Table, TableStyle,
    Width,
};

use crate::text::proposed::{at_blanks, breakable, words};

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
        column.set_padding((0, PADDING));
    }
    table
}

/// The text of a table without trailing blanks. No word is broken: a table whose longest words do not fit
/// beside each other is written row by row, each cell behind the head of its column.
pub(crate) fn text(table: &Table) -> String {
    if !can_be_drawn(table) {
        return row_by_row(table);
    }
    let mut table = table.clone();
    let longest = longest_words(&table);
    let padding: Vec<u16> = table.column_iter().map(Column::padding_width).collect();
    for ((column, word), blanks) in table.column_iter_mut().zip(&longest).zip(padding) {
        let width = u16::try_from(*word).unwrap_or(COLUMNS).saturating_add(blanks);
        column.set_constraint(ColumnConstraint::LowerBoundary(Width::Fixed(width)));
    }
    let lines: Vec<String> = table.lines().map(|line| line.trim_end().to_owned()).collect();
    // The rule below the head runs on below the blanks behind the last column.
    let is_rule = |line: &str| line.starts_with('─');
    if lines.iter().any(|line| !is_rule(line) && letters(line) > columns()) {
        return row_by_row(&table);
    }
    let shown = |line: &String| -> String {
        let cut = if is_rule(line) { columns() } else { usize::MAX };
        line.chars().take(cut).chain(['\n']).collect()
    };
    lines.iter().map(shown).collect()
}

/// Blanks behind the text of a column.
const PADDING: u16 = 2;

fn cells(row: &Row) -> Vec<String> {
    row.cell_iter().map(comfy_table::Cell::content).collect()
}

fn longest_words(table: &Table) -> Vec<usize> {
    let rows = table.header().into_iter().chain(table.row_iter());
    let mut longest: Vec<usize> = Vec::new();
    for row in rows {
        for (n, cell) in cells(row).iter().enumerate() {
            let word = cell.split_whitespace().map(letters).max().unwrap_or(0);
            let wide = blanks_before(cell) + word;
            match longest.get_mut(n) {
                Some(known) => *known = wide.max(*known),
                None => longest.push(wide),
            }
        }
    }
    longest
}

/// Whether the widths of a table, counted in 16 bits where it is drawn, have room for what is in it. A
/// letter of some scripts is two columns wide.
fn can_be_drawn(table: &Table) -> bool {
    let mut widest: Vec<usize> = Vec::new();
    for row in table.header().into_iter().chain(table.row_iter()) {
        let cells = cells(row);
        widest.resize(widest.len().max(cells.len()), 0);
        for (wide, cell) in widest.iter_mut().zip(&cells) {
            *wide = (2 * letters(cell) + usize::from(PADDING)).max(*wide);
        }
    }
    u16::try_from(widest.iter().sum::<usize>()).is_ok()
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

/// Text broken at blanks to the width of a table, but never within a command. The blanks it begins with
/// stay, and each further line begins with `indent` blanks.
pub(crate) fn wrapped(text: &str, indent: usize) -> String {
    wrapped_words(words(text), blanks_before(text), indent) + "\n"
}

/// Texts in lines of their own behind a mark. What goes on in the next line stands below the text; where blanks
/// alone stand before it, two further in.
pub(crate) fn each<T: Display>(mark: &str, texts: impl IntoIterator<Item = T>) -> String {
    let indent = letters(mark) + if mark.trim().is_empty() { 2 } else { 0 };
    texts.into_iter().map(|text| wrapped(&format!("{mark}{text}"), indent)).collect()
}

/// How many letters a text has.
pub(crate) fn letters(text: &str) -> usize {
    text.chars().count()
}

/// How many blanks a line begins with.
pub(crate) fn blanks_before(line: &str) -> usize {
    line.chars().take_while(|c| *c == ' ').count()
}

/// Words in lines of the width of a table, without a line end behind the last; the first line begins with
/// `start` blanks, each further one with `indent`.
pub(crate) fn wrapped_words<'a>(
    words: impl Iterator<Item = &'a str>,
    start: usize,
    indent: usize,
) -> String {
    in_lines_of(columns(), words, start, indent)
}

/// A text broken at blanks into lines of at most so many letters, without a line end behind it.
pub(crate) fn wrapped_within(text: &str, width: usize) -> String {
    in_lines_of(width, at_blanks(text), 0, 0)
}

fn in_lines_of<'a>(
    width: usize,
    words: impl Iterator<Item = &'a str>,
    start: usize,
    indent: usize,
) -> String {
    let mut out = " ".repeat(start);
    let mut length = start;
    for (number, word) in words.enumerate() {
        if number > 0 && length + 1 + letters(word) > width {
            out.push('\n');
            out.push_str(&" ".repeat(indent));
            length = indent;
        } else if number > 0 {
            out.push(' ');
            length += 1;
        }
        out.push_str(word);
        length += letters(word);
    }
    out
}

/// A text of which no line is wider than the terminal, where it has blanks outside of commands to be broken
/// at; what goes on in the next line stands two blanks further in. Marks of colour take no place.
pub(crate) fn fitted(text: &str) -> Cow<'_, str> {
    let is_wide = |line: &str| line.len() > columns() && width(line) > columns();
    if !text.lines().any(is_wide) {
        return Cow::Borrowed(text);
    }
    let fit = |line: &str| {
        if !is_wide(line) {
            return line.to_owned() + "\n";
        }
        let indent = blanks_before(line) + 2;
        let mut out = String::new();
        let mut length = 0;
        let mut breakable = breakable(line);
        for word in line.split_inclusive(|c| breakable(c) && c == ' ') {
            let wide = width(word.trim_end());
            if length + wide > columns() && length > indent {
                out.truncate(out.trim_end().len());
                out.push('\n');
                out.push_str(&" ".repeat(indent));
                length = indent;
            }
            out.push_str(word);
            length += wide + word.len() - word.trim_end().len();
        }
        out + "\n"
    };
    Cow::Owned(text.lines().map(fit).collect())
}

/// Letters of a text without its marks of colour.
fn width(text: &str) -> usize {
    letters(&strip_str(text).to_string())
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
    fn cells_of_any_length_are_written() {
        for long in ["a".repeat(65_534), "words ".repeat(20_000)] {
            let mut rows = table(&[("first", Side::Left), ("second", Side::Right)]);
            rows.add_row([long.as_str(), "1.5"]);
            let said = text(&rows);
            assert!(
                said.contains("second 1.5") && said.contains(long.trim().get(..50).unwrap_or(""))
            );
        }
        let many = vec![("a".repeat(200), Side::Left); 400];
        let heads: Vec<(&str, Side)> =
            many.iter().map(|(head, side)| (head.as_str(), *side)).collect();
        let mut rows = table(&heads);
        rows.add_row(vec!["1.5"; 400]);
        assert!(text(&rows).ends_with("1.5\n"));
    }

    #[test]
    fn wide_lines_are_broken_at_blanks_alone() {
        let line = format!("  name   {} end", "word ".repeat(20));
        let fit = fitted(&line).into_owned();
        assert!(fit.lines().all(|l| l.chars().count() <= columns()), "{fit}");
        assert!(fit.starts_with("  name   word") && fit.lines().count() == 2, "{fit}");
        assert!(fit.lines().skip(1).all(|l| l.starts_with("    w")), "{fit}");
        let hash = "f".repeat(100) + "\n";
        assert_eq!(fitted(&hash), hash);
    }

    #[test]
    fn lines_stay_within_the_width() {
        let text = wrapped(&format!("  {}", "some words ".repeat(40)), 4);
        assert!(text.lines().all(|l| l.chars().count() <= usize::from(COLUMNS)));
        assert!(text.starts_with("  some"));
        assert!(text.lines().skip(1).all(|l| l.starts_with("    ")));
    }
}
