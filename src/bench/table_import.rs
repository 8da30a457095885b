//! Targets and analyses of a table as new files of a bench.

use std::path::{Path, PathBuf};

use crate::bench::table_entry::StockCell;
use crate::bench::{Bench, NewFlight, table_entry};
use crate::files::csv_table::{self, CsvTable};
use crate::files::{Diagnostic, Fault, Mistakes, SourceText, read, write};
use crate::stock::Stock;
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
        let mut order = order.for_others(targets.len());
        for (target, rule) in targets.iter().zip(&mut order.rules) {
            let columns = [(&target.with, &mut rule.with), (&target.without, &mut rule.without)];
            for (cell, own) in columns {
                let Some(cell) = cell else { continue };
                are_stocks(source, cell, &stocks)?;
                own.clone_from(&cell.names);
            }
        }
        let text = NewFlight {
            remark: format!("Read from the table {}.", from.file_name()),
            title: into.to_owned(),
            like: &like,
            stocks: &stocks,
            order: &order,
            targets: targets.into_iter().map(|row| (row.target, None)).collect(),
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
            let what = if names::alike(name, DISTILLED) {
                Some(format!("`{name}` is the water that every bench has"))
            } else if stem.is_empty() {
                Some(format!("`{name}` has no letter or digit that its file could be called by"))
            } else if named.is_some_and(|w| !is_written || w.path != path) {
                Some(format!("there is a base water `{name}` already"))
            } else if path.exists() && !is_written {
                Some(format!("there is a file waters/{stem}.ron already"))
            } else if files.iter().any(|(known, _)| *known == stem) {
                Some(format!("two waters of the table would have the file waters/{stem}.ron"))
            } else {
                None
            };
            if let Some(what) = what {
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

/// Tests that a cell names stocks of a flight.
fn are_stocks(source: &SourceText, cell: &StockCell, stocks: &[Stock]) -> Result<(), Diagnostic> {
    let known: Vec<&str> = stocks.iter().map(Stock::name).collect();
    let unknown = cell.names.iter().find(|name| !known.contains(&name.as_str()));
    unknown.map_or(Ok(()), |name| {
        Err(Diagnostic::content(format!("there is no stock `{name}` in the flight it is like"))
            .at(source, Some(cell.place.clone()))
            .expected(format!("{}; `;` stands between two", names::listed(&known)))
            .near(name, &known))
    })
}

/// A name as a file name.
fn stem(name: &str) -> String {
    let plain: String =
        name.to_lowercase().chars().map(|c| if c.is_alphanumeric() { c } else { '-' }).collect();
    plain.split('-').filter(|part| !part.is_empty()).collect::<Vec<_>>().join("-")
}

#[cfg(test)]
mod tests {
    use std::error::Error;
    use std::fs;

    use super::*;
    use crate::bench::starter;

    #[test]
    fn a_name_that_no_water_can_have_is_refused_for_what_it_is() -> Result<(), Box<dyn Error>> {
        let folder = tempfile::tempdir()?;
        starter::empty(folder.path())?;
        fs::create_dir_all(folder.path().join("waters"))?;
        let water = "Water(name: \"tap\", analysis: (calcium: \"50 mg/L\"))";
        fs::write(folder.path().join("waters/kitchen.ron"), water)?;
        let bench = Bench::open(folder.path()).map_err(|wrong| format!("{wrong:?}"))?;
        let control =
            "this name cannot be used: it holds a line break or another control character";
        for (names, why) in [
            (&["w1", "w1"][..], "the water `w1` stands twice"),
            (&["w.1", "w 1"], "two waters of the table would have the file waters/w-1.ron"),
            (&[".."], "`..` has no letter or digit that its file could be called by"),
            (&["Tap"], "there is a base water `Tap` already"),
            (&["kitchen"], "there is a file waters/kitchen.ron already"),
            (&["distilled"], "`distilled` is the water that every bench has"),
            (&["a\u{9b}b"], control),
            (&["\"a\nb\""], control),
            (&[""], "a row has no name"),
        ] {
            let rows: Vec<String> = names.iter().map(|name| format!("{name},20\n")).collect();
            let text = format!("name,calcium [mg/L]\n{}", rows.concat());
            let source = SourceText::new("t.csv", &text);
            let table = csv_table::parse(&source)?;
            let refused = bench.import_analyses(&TableFile { source, table }).err();
            let refused = refused.ok_or_else(|| format!("{names:?} went in"))?;
            let titles: Vec<&str> =
                refused.iter().map(|one| one.details().title.as_str()).collect();
            assert_eq!(titles, [why], "{names:?}");
        }
        Ok(())
    }
}
