//! Parts that pages are made of: tables, numbers that know where they come from, pictures, text pages.

use maud::{Markup, PreEscaped, html};

use crate::svg::{Drawing, intervals};
use crate::text::{Page, Part};

/// A cell of a table.
#[derive(Debug, Clone, PartialEq)]
pub enum Cell {
    /// Words.
    Words(String),
    /// What the row is of.
    Head(String),
    /// A number: its place in the JSON of the same report, and how it reads.
    Number(String, String),
    /// A box to tick.
    Tick(String),
    /// A blank to write into.
    Blank,
}

/// A row for each of a list, which is given its place.
#[must_use]
pub fn rows_of<T>(list: &[T], row: impl Fn(usize, &T) -> Vec<Cell>) -> Vec<Vec<Cell>> {
    list.iter().enumerate().map(|(n, one)| row(n, one)).collect()
}

/// A row of what is known: its name, the number `at` its place in the JSON, its unit.
#[must_use]
pub fn fact(what: &str, at: &str, text: String, unit: &str) -> Vec<Cell> {
    let number = Cell::Number(format!("/{at}"), text);
    vec![Cell::Head(what.to_owned()), number, Cell::Words(unit.to_owned())]
}

/// A table; nothing without rows. `name` is read to those who do not see it.
#[must_use]
pub fn table(name: &str, class: &str, heads: &[&str], rows: &[Vec<Cell>]) -> Markup {
    // Numbers stand at the right, and so do the heads of their columns.
    let is_number = |cell: Option<&Cell>| matches!(cell, Some(Cell::Number(..)));
    let holds_number = |column: usize| rows.iter().any(|row| is_number(row.get(column)));
    let ticks =
        |column: usize| matches!(rows.first().and_then(|r| r.get(column)), Some(Cell::Tick(_)));
    html! {
        @if !rows.is_empty() {
            div.scroll tabindex="0" role="region" aria-label=(name) {
                table class=(class) {
                    thead { tr {
                        @for (column, head) in heads.iter().enumerate() {
                            @if ticks(column) {
                                td.tick {}
                            } @else if head.is_empty() {
                                td {}
                            } @else if holds_number(column) {
                                th.n scope="col" { (head) }
                            } @else {
                                th scope="col" { (head) }
                            }
                        }
                    } }
                    tbody {
                        @for row in rows { tr { @for one in row { (cell(one)) } } }
                    }
                }
            }
        }
    }
}

fn cell(cell: &Cell) -> Markup {
    html! {
        @match cell {
            Cell::Words(text) => td { (text) },
            Cell::Head(text) => { @if text.is_empty() { td {} } @else { th scope="row" { (text) } } }
            Cell::Number(from, text) => td.n data-from=(from) { (text) },
            Cell::Tick(what) => td.tick { span.box role="img" aria-label=(format!("box to tick: {what}")) {} },
            Cell::Blank => td { span.blank {} },
        }
    }
}

/// A picture with its title.
#[must_use]
pub fn figure(drawing: &Drawing) -> Markup {
    html! {
        figure {
            figcaption { (drawing.title()) }
            (PreEscaped(drawing.inline()))
        }
    }
}

/// A QR code with its text below it, for those who type; `id` is its own on the page. The text alone
/// where it is too long for a code.
#[must_use]
pub fn qr_code(id: &str, text: &str) -> Markup {
    html! {
        div.code-to-read {
            @if let Some(code) = crate::svg::qr_code::inline(id, text) { (PreEscaped(code)) }
            code { (text) }
        }
    }
}

/// Steps in order.
#[must_use]
pub fn steps(list: &[String]) -> Markup {
    html! { @if !list.is_empty() { ol { @for step in list { li { (step) } } } } }
}

/// What to bear in mind.
#[must_use]
pub fn notes<Line: ToString>(list: &[Line]) -> Markup {
    html! { @for line in list { p.note { (line.to_string()) } } }
}

/// A page of text as it is read at a terminal, with its tables and charts; `name` begins the names of
/// its pictures.
#[must_use]
pub fn text_page(page: &Page, name: &str) -> Markup {
    let mut out = Vec::new();
    for (n, part) in page.all_parts().into_iter().enumerate() {
        out.push(match part {
            Part::Text(line) => text_line(line),
            Part::Table(heads, rows) => {
                text_table(&format!("table {} of {name}", n + 1), heads, rows)
            }
            Part::Chart(chart) => figure(&intervals::draw(&format!("{name}-{n}"), chart)),
            // Taken apart before.
            Part::Rest(_) => continue,
        });
    }
    html! { @for part in out { (part) } }
}

fn text_line(line: &str) -> Markup {
    let text = line.trim();
    html! {
        @if text.is_empty() {
        } @else if let Some(caution) = text.strip_prefix("* ") {
            p.note { (caution) }
        } @else if let Some(warning) = text.strip_prefix("! ") {
            p.warn { (warning) }
        } @else if line.starts_with(' ') {
            p.in { (text) }
        } @else {
            p { (text) }
        }
    }
}

fn text_table(name: &str, heads: &[String], rows: &[Vec<String>]) -> Markup {
    let rows: Vec<Vec<Cell>> = rows
        .iter()
        .map(|row| {
            let first = row.first().cloned().unwrap_or_default();
            let rest = row.iter().skip(1).cloned().map(Cell::Words);
            std::iter::once(Cell::Head(first)).chain(rest).collect()
        })
        .collect();
    let heads: Vec<&str> = heads.iter().map(String::as_str).collect();
    table(name, "", &heads, &rows)
}
