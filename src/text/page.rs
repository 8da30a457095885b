//! A page to be read at the table: text, tables and charts in order.

use crate::text::chart::Chart;

/// What a person reads: parts in order, drawn as text or handed to `--json`.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Page {
    /// Its parts, in order.
    pub parts: Vec<Part>,
}

/// A part of a page.
#[derive(Debug, Clone, PartialEq)]
pub enum Part {
    /// A line of text, broken where it is too long.
    Text(String),
    /// A table: heads, and rows of the same length.
    Table(Vec<String>, Vec<Vec<String>>),
    /// Values with intervals on one axis.
    Chart(Chart),
    /// What is read on request.
    Rest(Vec<Part>),
}

impl Page {
    /// Adds a line of text.
    pub fn say(&mut self, text: impl Into<String>) {
        self.parts.push(Part::Text(text.into()));
    }

    /// Adds what is read on request.
    pub fn rest(&mut self, write: impl FnOnce(&mut Page)) {
        let mut rest = Page::default();
        write(&mut rest);
        if !rest.parts.is_empty() {
            self.parts.push(Part::Rest(rest.parts));
        }
    }

    /// All parts in order, those that are read on request among them.
    #[must_use]
    pub fn all_parts(&self) -> Vec<&Part> {
        fn flat<'a>(parts: &'a [Part], all: &mut Vec<&'a Part>) {
            for part in parts {
                match part {
                    Part::Rest(rest) => flat(rest, all),
                    part => all.push(part),
                }
            }
        }
        let mut all = Vec::new();
        flat(&self.parts, &mut all);
        all
    }

    /// Adds a chart, where there is one.
    pub fn draw(&mut self, chart: Option<Chart>) {
        self.parts.extend(chart.map(Part::Chart));
    }

    /// Adds a table with an empty line around it; one without rows is left out.
    pub fn show<Head: AsRef<str>>(&mut self, heads: &[Head], rows: Vec<Vec<String>>) {
        if rows.is_empty() {
            return;
        }
        self.say("");
        let heads = heads.iter().map(|head| head.as_ref().to_owned()).collect();
        self.parts.push(Part::Table(heads, rows));
        self.say("");
    }

    /// Adds a table without the columns in which no row says anything.
    pub fn show_filled(&mut self, heads: &[&'static str], rows: &[Vec<String>]) {
        let says = |column: usize| {
            let cells = rows.iter().filter_map(|row| row.get(column));
            cells.into_iter().any(|cell| !matches!(cell.as_str(), "" | "–"))
        };
        let kept: Vec<usize> = (0..heads.len()).filter(|column| says(*column)).collect();
        let heads: Vec<&'static str> =
            kept.iter().filter_map(|column| heads.get(*column).copied()).collect();
        let cells = |row: &Vec<String>| -> Vec<String> {
            kept.iter().map(|column| row.get(*column).cloned().unwrap_or_default()).collect()
        };
        let rows = rows.iter().map(cells).collect();
        self.show(&heads, rows);
    }
}
