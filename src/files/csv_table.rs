//! A table of comma- or semicolon-separated values, as text with its lines.

use csv::{ReaderBuilder, Writer};

use crate::files::SourceText;
use crate::files::{Diagnostic, Fault};

/// A table as it stands in a file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CsvTable {
    /// The heads of the columns.
    pub heads: Vec<String>,
    /// Rows, each with the number of its line.
    pub rows: Vec<(u64, Vec<String>)>,
}

/// Reads a table; what separates the columns is seen from the first line. Empty lines and lines
/// that begin with `#` are passed over.
///
/// # Errors
/// When a row has another number of columns than the heads, or there are no heads.
pub fn parse(source: &SourceText) -> Result<CsvTable, Diagnostic> {
    let text = source.text();
    let first = text.lines().find(|l| !l.trim().is_empty() && !l.starts_with('#'));
    let first = first.unwrap_or_default();
    let separator = if first.contains('\t') {
        b'\t'
    } else if first.contains(';') {
        b';'
    } else {
        b','
    };
    let mut reader = ReaderBuilder::new()
        .delimiter(separator)
        .comment(Some(b'#'))
        .trim(csv::Trim::All)
        .from_reader(text.trim_start_matches('\u{feff}').as_bytes());
    let fail = |error: &csv::Error| {
        Diagnostic::new(Fault::Content, format!("this is no table: {error}"))
            .at(source, None)
            .expected("as many columns in every line as in the first")
            .remedy("put cells that hold a comma into quotes")
    };
    let heads: Vec<String> =
        reader.headers().map_err(|e| fail(&e))?.iter().map(str::to_owned).collect();
    if heads.iter().all(String::is_empty) {
        return Err(Diagnostic::new(Fault::Content, "this table is empty")
            .at(source, None)
            .expected("a first line with the names and units of the columns"));
    }
    let mut rows = Vec::new();
    for record in reader.records() {
        let record = record.map_err(|e| fail(&e))?;
        let line = record.position().map_or(0, csv::Position::line);
        let cells: Vec<String> = record.iter().map(str::to_owned).collect();
        if cells.iter().any(|c| !c.is_empty()) {
            rows.push((line, cells));
        }
    }
    Ok(CsvTable { heads, rows })
}

/// A table as text.
///
/// # Errors
/// Never for tables in memory; the type is that of the writer.
pub fn text(heads: &[String], rows: &[Vec<String>]) -> Result<String, csv::Error> {
    let mut writer = Writer::from_writer(Vec::new());
    writer.write_record(heads)?;
    for row in rows {
        writer.write_record(row)?;
    }
    let bytes = writer.into_inner().map_err(csv::IntoInnerError::into_error)?;
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}
