//! A table of comma- or semicolon-separated values, as text with its lines.

use std::borrow::Cow;

use csv::{ReaderBuilder, WriterBuilder};

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
        let cells: Vec<String> = record.iter().map(as_it_was).collect();
        if cells.iter().any(|c| !c.is_empty()) {
            rows.push((line, cells));
        }
    }
    Ok(CsvTable { heads, rows })
}

/// Whether a spreadsheet would take a cell for a formula. A number is none, though it begins with a
/// sign.
fn begins_a_formula(cell: &str) -> bool {
    cell.starts_with(['=', '+', '-', '@', '\t', '\r']) && cell.trim().parse::<f64>().is_err()
}

/// A cell that no spreadsheet takes for a formula: an apostrophe stands before what would be one, as is
/// usual. A cell that begins so already gets another, so that it is read back as it was.
fn harmless(cell: &str) -> Cow<'_, str> {
    if begins_a_formula(cell.trim_start_matches('\'')) {
        Cow::Owned(format!("'{cell}"))
    } else {
        Cow::Borrowed(cell)
    }
}

/// What a cell was before [`harmless`].
fn as_it_was(cell: &str) -> String {
    let bare = cell.strip_prefix('\'');
    let bare = bare.filter(|bare| begins_a_formula(bare.trim_start_matches('\'')));
    bare.unwrap_or(cell).to_owned()
}

/// A table as text. Cells that a spreadsheet would take for formulae are made harmless.
///
/// # Errors
/// Never for tables in memory; the type is that of the writer.
pub fn text(heads: &[String], rows: &[Vec<String>]) -> Result<String, csv::Error> {
    let mut writer = WriterBuilder::new().comment(Some(b'#')).from_writer(Vec::new());
    writer.write_record(heads)?;
    for row in rows {
        writer.write_record(row.iter().map(|cell| harmless(cell).into_owned()))?;
    }
    let bytes = writer.into_inner().map_err(csv::IntoInnerError::into_error)?;
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_formula_is_made_harmless_and_read_back_as_it_was() -> Result<(), csv::Error> {
        let names = ["=1+1", "+x", "-x", "@x", "'=x", "''=x", "'x", "x", "-0.5", "+3", "-1e3", "'"];
        let rows: Vec<Vec<String>> =
            names.iter().map(|n| vec![(*n).to_owned(), "1".to_owned()]).collect();
        let written = text(&["name".to_owned(), "n".to_owned()], &rows)?;
        for line in written.lines().skip(1) {
            let cell = line.split(',').next().unwrap_or_default();
            assert!(!begins_a_formula(cell), "{cell}");
        }
        assert!(written.contains("\n-0.5,1\n"), "a number stays a number");
        let read = parse(&SourceText::new("x.csv", &written)).map(|t| t.rows).unwrap_or_default();
        let back: Vec<Vec<String>> = read.into_iter().map(|(_, cells)| cells).collect();
        assert_eq!(back, rows);
        Ok(())
    }
}
