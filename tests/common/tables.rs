//! The committed tables of numbers, row by row.

use std::error::Error;

pub(crate) fn rows(table: &str) -> Result<Vec<csv::StringRecord>, csv::Error> {
    csv::Reader::from_reader(table.as_bytes()).records().collect()
}

pub(crate) fn text(row: &csv::StringRecord, column: usize) -> Result<&str, Box<dyn Error>> {
    row.get(column).ok_or_else(|| "a column is missing".into())
}

pub(crate) fn number(row: &csv::StringRecord, column: usize) -> Result<f64, Box<dyn Error>> {
    Ok(text(row, column)?.parse()?)
}
