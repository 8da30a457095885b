//! Targets and analyses of a table as new files of a bench.

use std::path::{Path, PathBuf};

use crate::bench::{Bench, NewFlight, table_entry};
use crate::files::csv_table::{self, CsvTable};
use crate::files::{Diagnostic, Fault, Mistakes, SourceText, read, write};
use crate::text::names;
use crate::water::base_water::DISTILLED;

/// A table that was read.
#[derive(Debug, Clone)]
pub struct TableFile {
    source: SourceText,
    table: CsvTable,
}

impl TableFile {
    /// Reads a table of any separator, from a file or a pipe.
    ///
    /// # Errors
    /// When it cannot be read, or is no table.
    pub fn read(path: &Path) -> Result<Self, Diagnostic> {
        let source = read::streamed_text(path)?;
        let table = csv_table::parse(&source)?;
        Ok(Self { source, table })
    }

    fn file_name(&self) -> String {
        self.source.path().file_name().unwrap_or_default().to_string_lossy().into_owned()
    }
}

impl Bench {
    /// Writes the targets of a table as a new flight; base, bottle and conventions are those of the flight
    /// `like`, or of the only one.
    ///
    /// # Errors
    /// When a row is no target, no flight is there to be like, or as [`Bench::write_new`].
    pub fn import_targets(
        &self,
        from: &TableFile,
        into: &str,
        like: Option<&str>,
    ) -> Result<PathBuf, Mistakes> {
        let TableFile { source, table } = from;
        let targets = table_entry::targets(source, table)?;
        if targets.is_empty() {
            return Err(Diagnostic::content("this table has no rows")
                .at(source, None)
                .expected("one row for each target")
                .into());
        }
        let file = self.flight_file(like).map_err(|error| match like {
            None => error.remedy(
                "`--like FLIGHT` names the one whose base, bottle and conventions it takes",
            ),
            Some(_) => error,
        })?;
        let (like, stocks, order) = self.ordered_flight(file)?;
        let count = targets.len();
        let text = NewFlight {
            remark: format!("Read from the table {}.", from.file_name()),
            title: into.to_owned(),
            like: &like,
            stocks: &stocks,
            order: &order.for_others(count),
            targets: targets.into_iter().map(|t| (t, None)).collect(),
        }
        .text();
        Ok(self.write_new("flights", into, &text)?)
    }

    /// Writes each analysis of a table as a new base water; all of them or none.
    ///
    /// # Errors
    /// When a row is no analysis, a water of that name is there, or as [`Bench::write_new`].
    pub fn import_analyses(&self, from: &TableFile) -> Result<Vec<PathBuf>, Mistakes> {
        let waters = table_entry::analyses(&from.source, &from.table)?;
        let folder = self.root.join("waters");
        let mut files: Vec<(String, String)> = Vec::new();
        for file in waters {
            let name = &file.water.name;
            let stem = stem(name);
            let path = folder.join(format!("{stem}.ron"));
            // What a run that was stopped has written of the same table already.
            let is_written = write::holds(&path, &file.text);
            let named = self.waters.iter().find(|w| names::alike(&w.value.name, name));
            let there = named.is_some_and(|w| !is_written || w.path != path)
                || (path.exists() && !is_written)
                || files.iter().any(|(known, _)| *known == stem);
            if there || stem.is_empty() || names::alike(name, DISTILLED) {
                let what = format!("there is a base water `{name}` already");
                return Err(Diagnostic::new(Fault::Write, what)
                    .about(folder)
                    .remedy("give it another name in the table; nothing was written")
                    .into());
            }
            files.push((stem, file.text));
        }
        let files: Vec<(&str, &str)> =
            files.iter().map(|(stem, text)| (stem.as_str(), text.as_str())).collect();
        Ok(self.write_all_new("waters", &files)?)
    }
}

/// A name as a file name.
fn stem(name: &str) -> String {
    let plain: String =
        name.to_lowercase().chars().map(|c| if c.is_alphanumeric() { c } else { '-' }).collect();
    plain.split('-').filter(|part| !part.is_empty()).collect::<Vec<_>>().join("-")
}
