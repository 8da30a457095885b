//! Scores in a CSV file: one row for a cup or a tray.

use std::path::Path;

use crate::files::{Diagnostic, Fault, Mistakes};
use crate::session::plan::Plan;
use crate::session::score::{AnswerError, ParsedAnswer, parse_answer};

/// Reads the rows, each with its line in the file.
///
/// # Errors
/// When the file is no such table; else every row that cannot be read.
pub fn read(file: &Path, plan: &Plan) -> Result<Vec<(u64, ParsedAnswer)>, Mistakes> {
    let unreadable = |error: &dyn std::fmt::Display| {
        Diagnostic::new(Fault::Content, format!("the CSV cannot be read: {error}"))
            .about(file)
            .expected("a head `taster,code,` with the attributes, or `taster,codes`")
            .into()
    };
    if !file.is_file() {
        return Err(Diagnostic::new(Fault::Missing, "there is no such file").about(file).into());
    }
    let mut reader = csv::ReaderBuilder::new()
        .trim(csv::Trim::All)
        .from_path(file)
        .map_err(|e| unreadable(&e))?;
    let heads = reader.headers().map_err(|e| unreadable(&e))?.clone();
    for wanted in ["taster", "code"] {
        if !heads.iter().any(|h| h == wanted || (wanted == "code" && h == "codes")) {
            return Err(unreadable(&format!("there is no column `{wanted}`")));
        }
    }
    let (mut rows, mut wrong) = (Vec::new(), Vec::new());
    for row in reader.records() {
        let row = row.map_err(|e| unreadable(&e))?;
        let line = row.position().map_or(0, csv::Position::line);
        let (mut taster, mut words, mut note) = ("", Vec::new(), None);
        let mut scores = Vec::new();
        for (head, cell) in heads.iter().zip(&row).filter(|(_, cell)| !cell.is_empty()) {
            match head {
                "taster" => taster = cell,
                "code" | "codes" => words.extend(cell.split_whitespace().map(str::to_owned)),
                "note" => note = Some(cell.to_owned()),
                attribute => scores.push(format!("{attribute}={cell}")),
            }
        }
        words.extend(scores);
        match parse_answer(plan, taster, &words, note) {
            Ok(said) => rows.push((line, said)),
            Err(error) => wrong.push((line, error)),
        }
    }
    if wrong.is_empty() { Ok(rows) } else { Err(refused(file, wrong)) }
}

/// What is wrong with rows of a file, of which nothing was entered.
#[must_use]
pub fn refused(file: &Path, wrong: Vec<(u64, AnswerError)>) -> Mistakes {
    wrong
        .into_iter()
        .map(|(line, error)| {
            Diagnostic::new(Fault::Content, format!("line {line}: {error}"))
                .about(file)
                .remedy(format!("{}; nothing of the file was entered", error.remedy()))
        })
        .collect()
}
