//! The table of doses, narrow enough to stand on one screen: its columns are closer than those of other
//! tables, so that six stocks fit beside the names of the waters; where they do not, the waters stand by
//! their numbers alone, and stocks that do not fit follow in a table below.

use crate::mix::MixReport;
use crate::mix::mix_report::WaterMix;
use crate::mix::order_report::DispenserReport;
use crate::mix::order_text;
use crate::quantities::show;
use crate::text::table::columns;

/// Blanks between columns.
const BETWEEN: usize = 2;
/// Our choice: the letters that a dose takes at least, as in `12.34`.
const LEAST_WIDTH: usize = 5;

/// Doses of each water by stock.
struct DoseTable<'a> {
    head: String,
    stocks: Vec<&'a str>,
    rows: Vec<DoseRow>,
}

/// A water, or all of them together.
struct DoseRow {
    /// Number and name.
    label: String,
    /// What stands for it where there is no room for names.
    short: String,
    /// A cell for each stock.
    cells: Vec<String>,
}

impl DoseRow {
    fn of_water(number: usize, name: &str, cells: Vec<String>) -> Self {
        Self { label: format!("{number} {name}"), short: number.to_string(), cells }
    }

    fn of_all(bottles: u32, cells: Vec<String>) -> Self {
        let label = match bottles {
            1 => "one of each".to_owned(),
            n => format!("{n} of each"),
        };
        Self { label, short: "all".to_owned(), cells }
    }
}

/// mL for a bottle of each water, and for all of them.
pub(super) fn of_volumes(report: &MixReport) -> String {
    let stocks: Vec<&str> = report.stocks_used.iter().map(|s| s.stock.as_str()).collect();
    let row = |water: &WaterMix| {
        let dose = |name: &&str| {
            let dose = water.doses.iter().find(|d| d.stock == **name);
            dose.map_or("·".to_owned(), |d| show::fixed(d.ml_per_bottle, 2))
        };
        DoseRow::of_water(water.number, &water.target, stocks.iter().map(dose).collect())
    };
    let mut rows: Vec<DoseRow> = report.waters.iter().map(row).collect();
    let used = report.stocks_used.iter().map(|s| show::fixed(s.ml, 2));
    rows.push(DoseRow::of_all(report.bottles, used.collect()));
    DoseTable { head: "mL for a bottle".to_owned(), stocks, rows }.text()
}

/// What a bottle of each water takes of the steps of a dispenser, and all of it.
pub(super) fn of_steps(report: &DispenserReport, bottles: u32) -> String {
    let stocks = report.stocks();
    let rows = report.waters.iter().map(|water| {
        let dose = |name: &&str| {
            let dose = water.doses.iter().find(|d| d.stock == **name);
            dose.map_or("·".to_owned(), |d| order_text::amount_of(report, d))
        };
        DoseRow::of_water(water.number, &water.target, stocks.iter().map(dose).collect())
    });
    let mut rows: Vec<DoseRow> = rows.collect();
    let all = |name: &&str| {
        let doses = report.waters.iter().flat_map(|w| &w.doses).filter(|d| d.stock == **name);
        let amount: f64 = doses.map(|dose| dose.amount).sum();
        format!("{} {}", show::three_figures(amount * f64::from(bottles)), report.unit)
    };
    let used = stocks.iter().map(all).collect();
    rows.push(DoseRow::of_all(bottles, used));
    DoseTable { head: order_text::unit_of_doses(report), stocks, rows }.text()
}

impl DoseTable<'_> {
    fn text(&self) -> String {
        let widths: Vec<usize> = (0..self.stocks.len()).map(|n| self.width(n)).collect();
        let doses: usize = widths.iter().map(|width| BETWEEN + width).sum();
        let label = |row: &'_ DoseRow, by_number: bool| {
            if by_number { row.short.clone() } else { row.label.clone() }
        };
        let widest = |by_number: bool| {
            let labels = self.rows.iter().map(|row| letters(&label(row, by_number)));
            labels.max().unwrap_or(0)
        };
        let named = widest(false).max(letters(&self.head));
        let by_number = named + doses > columns();
        // A head that is wider than its column goes on in the next line.
        let longest_word = self.head.split(' ').map(letters).max().unwrap_or(0);
        let first = if by_number { widest(true).max(longest_word) } else { named };
        let mut out = String::new();
        for group in across(&widths, columns().saturating_sub(first)) {
            let widths: Vec<usize> = group.iter().filter_map(|n| widths.get(*n)).copied().collect();
            let cell = |cells: &[String], n: &usize| cells.get(*n).cloned().unwrap_or_default();
            let heads: Vec<String> =
                group.iter().filter_map(|n| self.stocks.get(*n)).map(|s| (*s).to_owned()).collect();
            out.push_str(&row(&self.head, &heads, first, &widths));
            let wide = first + widths.iter().map(|w| w + BETWEEN).sum::<usize>();
            out.push_str(&"─".repeat(wide.min(columns())));
            out.push('\n');
            for water in &self.rows {
                let cells: Vec<String> = group.iter().map(|n| cell(&water.cells, n)).collect();
                out.push_str(&row(&label(water, by_number), &cells, first, &widths));
            }
        }
        out
    }

    /// The widest of a stock's name and doses.
    fn width(&self, stock: usize) -> usize {
        let name = self.stocks.get(stock).map_or(0, |name| letters(name));
        let doses = self.rows.iter().filter_map(|row| row.cells.get(stock));
        doses.map(|cell| letters(cell)).max().unwrap_or(0).max(name).max(LEAST_WIDTH)
    }
}

fn letters(text: &str) -> usize {
    text.chars().count()
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
