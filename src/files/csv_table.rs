//! A table of comma- or semicolon-separated values, as text with its lines.

use std::borrow::Cow;
use std::ops::Range;

use csv::{QuoteStyle, ReaderBuilder, WriterBuilder};

use crate::files::Diagnostic;
use crate::files::SourceText;

/// A table as it stands in a file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CsvTable {
    /// The heads of the columns.
    pub heads: Vec<String>,
    /// Where each head stands in the file.
    pub head_places: Vec<Range<usize>>,
    /// The rows below the heads.
    pub rows: Vec<CsvRow>,
}

/// A row of a table, with its places in the file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CsvRow {
    /// Its line, counted from 1.
    pub line: u64,
    /// As many cells as there are heads.
    pub cells: Vec<String>,
    /// Where each cell stands in the file.
    pub places: Vec<Range<usize>>,
}

impl CsvRow {
    /// Where it stands in the file, from its first cell to its last.
    #[must_use]
    pub fn place(&self) -> Option<Range<usize>> {
        Some(self.places.first()?.start..self.places.last()?.end)
    }
}

/// Reads a table; what separates the columns is seen from the first line. Empty lines and lines
/// that begin with `#` are passed over. Curly quotes around a cell count as straight ones.
///
/// # Errors
/// When a row has another number of columns than the heads, or there are no heads.
pub fn parse(source: &SourceText) -> Result<CsvTable, Diagnostic> {
    let text = with_straight_quotes(source.text());
    let first = text.lines().find(|l| !l.trim().is_empty() && !l.starts_with('#'));
    let separator = [b'\t', b';'];
    let separator =
        separator.into_iter().find(|s| first.is_some_and(|l| l.contains(char::from(*s))));
    let separator = separator.unwrap_or(b',');
    let mut reader = ReaderBuilder::new()
        .delimiter(separator)
        .comment(Some(b'#'))
        .trim(csv::Trim::All)
        .flexible(true)
        .has_headers(false)
        .from_reader(text.as_bytes());
    let mut table: Option<CsvTable> = None;
    // Lines are counted as the rows come: from the beginning for each would take the square of the time.
    let (mut line, mut counted) = (1, 0);
    for record in reader.records() {
        let record = record.map_err(|error| {
            Diagnostic::content(format!("this is no table: {error}")).at(source, None)
        })?;
        let begins = record.position().and_then(|p| usize::try_from(p.byte()).ok());
        let places = places(&text, begins.unwrap_or_default(), char::from(separator));
        let start = places.first().map_or(counted, |place| place.start);
        let between = text.as_bytes().get(counted..start).unwrap_or_default();
        line += between.iter().map(|byte| u64::from(*byte == b'\n')).sum::<u64>();
        counted = start;
        let row = CsvRow { line, cells: record.iter().map(as_it_was).collect(), places };
        if row.cells.iter().all(String::is_empty) {
            continue;
        }
        match &mut table {
            None => {
                let CsvRow { cells, places, .. } = row;
                table = Some(CsvTable { heads: cells, head_places: places, rows: Vec::new() });
            }
            Some(table) if table.heads.len() == row.cells.len() => table.rows.push(row),
            Some(table) => return Err(ragged(source, table, &row, separator)),
        }
    }
    table.ok_or_else(|| {
        Diagnostic::content("this table is empty")
            .at(source, None)
            .expected("a first line with the names and units of the columns")
    })
}

/// A row that has more or fewer cells than there are heads.
fn ragged(source: &SourceText, table: &CsvTable, row: &CsvRow, separator: u8) -> Diagnostic {
    let (heads, cells) = (table.heads.len(), row.cells.len());
    let (sign, name) = match separator {
        b'\t' => ("tab", "tab"),
        b';' => ("`;`", "semicolon"),
        _ => ("`,`", "comma"),
    };
    let remedy = if cells > heads {
        format!("put a cell that holds a {name} into quotes, or name the column in the first line")
    } else {
        format!("leave a cell empty where there is nothing, with its {sign}: none may be left off")
    };
    Diagnostic::content(format!("line {} has not as many cells as the heads", row.line))
        .at(source, row.place())
        .found(format!("{cells} cells; the first line has {heads}"))
        .expected(format!("{heads} cells with a {sign} between two"))
        .remedy(remedy)
}

const CURLY: [char; 4] = ['“', '”', '„', '‟'];

/// Curly quotes at both ends of a cell, as programs for letters write them, made straight ones. Blanks
/// fill up inside, so that no byte moves: they are trimmed off the cell.
fn with_straight_quotes(text: &str) -> Cow<'_, str> {
    let curly = |c: char| CURLY.contains(&c);
    if !text.contains(CURLY) {
        return Cow::Borrowed(text);
    }
    let border = |c: char| matches!(c, ',' | ';' | '\t' | '\n');
    let mut out = String::with_capacity(text.len());
    for (at, c) in text.char_indices() {
        if !curly(c) {
            out.push(c);
            continue;
        }
        let (before, after) = text.split_at(at);
        let behind = after.get(c.len_utf8()..).unwrap_or_default();
        let blank = |c: char| matches!(c, ' ' | '\r');
        let opens = before.trim_end_matches(' ').chars().next_back().is_none_or(border);
        let closes = behind.trim_start_matches(blank).chars().next().is_none_or(border);
        let filling = " ".repeat(c.len_utf8() - 1);
        if opens {
            // A quote with a blank before it is none to the reader.
            let blanks = out.len() - out.trim_end_matches(' ').len();
            out.truncate(out.len() - blanks);
            out.extend(["\"", &" ".repeat(blanks), &filling]);
        } else if closes {
            out.extend([filling.as_str(), "\""]);
        } else {
            out.push(c);
        }
    }
    Cow::Owned(out)
}

/// Where the cells of the record stand that begins at a byte, without the blanks and quotes around them.
/// Ends of lines and remarks before it are passed over, as the reader does.
fn places(text: &str, begins: usize, separator: char) -> Vec<Range<usize>> {
    let mut start = begins;
    loop {
        let rest = text.get(start..).unwrap_or_default();
        let line = rest.find('\n').map_or(rest.len(), |n| n + 1);
        if rest.starts_with(['\r', '\n']) {
            start += 1;
        } else if rest.starts_with('#') {
            start += line;
        } else {
            break;
        }
    }
    let rest = text.get(start..).unwrap_or_default();
    let (mut places, mut cell, mut is_quoted) = (Vec::new(), start, false);
    let mut push = |cell: Range<usize>| {
        let written = text.get(cell.clone()).unwrap_or_default();
        let from = written.len() - written.trim_start_matches([' ', '"']).len();
        let length = written.trim_matches([' ', '"', '\r']).len();
        places.push(cell.start + from..cell.start + from + length);
    };
    let mut closed = None;
    for (at, c) in rest.char_indices() {
        match c {
            '"' if is_quoted => (is_quoted, closed) = (false, Some(at)),
            // Two in a quoted cell are one of its letters; one inside another cell is a letter too.
            '"' => is_quoted = start + at == cell || closed.is_some_and(|before| before + 1 == at),
            '\n' if !is_quoted => {
                push(cell..start + at);
                return places;
            }
            _ if c == separator && !is_quoted => {
                push(cell..start + at);
                cell = start + at + 1;
            }
            _ => {}
        }
    }
    push(cell..text.len());
    places
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
    // Curly quotes around a cell would be read as straight ones.
    let has_curly = |cell: &String| cell.contains(CURLY);
    let is_curly = heads.iter().chain(rows.iter().flatten()).any(has_curly);
    let style = if is_curly { QuoteStyle::Always } else { QuoteStyle::Necessary };
    let mut writer =
        WriterBuilder::new().comment(Some(b'#')).quote_style(style).from_writer(Vec::new());
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
        let back: Vec<Vec<String>> = read.into_iter().map(|row| row.cells).collect();
        assert_eq!(back, rows);
        Ok(())
    }

    #[test]
    fn quotes_in_a_cell_stay_its_own() -> Result<(), csv::Error> {
        let rows: Vec<Vec<String>> = ["“x”", "a \"b\"", "\"c", "„d“ e", "“", " ”"]
            .map(|n| vec![n.trim().to_owned()])
            .to_vec();
        let written = text(&["name".to_owned()], &rows)?;
        let read = parse(&SourceText::new("x.csv", &written)).map(|t| t.rows).unwrap_or_default();
        assert_eq!(read.into_iter().map(|row| row.cells).collect::<Vec<_>>(), rows);
        Ok(())
    }

    /// Each row has its own line and each cell its place, whatever ends the lines and stands between.
    #[test]
    fn lines_and_places_are_those_of_the_file() -> Result<(), Diagnostic> {
        let text = "\u{feff}# remark\r\n\r\nname;Ca\r\n “a;b” ; 1 \r\n#x\r\n\r\n\"c\nd\";22\r\n";
        let source = SourceText::new("x.csv", text);
        let table = parse(&source)?;
        assert_eq!(table.heads, ["name", "Ca"]);
        let lines: Vec<u64> = table.rows.iter().map(|row| row.line).collect();
        assert_eq!(lines, [4, 7]);
        for row in &table.rows {
            for (cell, place) in row.cells.iter().zip(&row.places) {
                assert_eq!(source.text().get(place.clone()), Some(cell.as_str()));
            }
        }
        let ragged = parse(&SourceText::new("x.csv", "name;Ca;Mg\r\ny;1;2\r\nz;1\r\n"));
        assert!(ragged.is_err_and(|e| e.to_string().contains("line 3")));
        Ok(())
    }
}
