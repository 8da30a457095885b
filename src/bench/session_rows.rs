//! Scores in a CSV file: one row for a cup or a tray.

use std::path::Path;

use crate::files::{self, Diagnostic, Mistakes, csv_table};
use crate::session::plan::Plan;
use crate::session::score::{AnswerError, ParsedAnswer, parse_answer};

/// Reads the rows, each with its line in the file.
///
/// # Errors
/// When the file is no such table; else every row that cannot be read.
pub fn read(file: &Path, plan: &Plan) -> Result<Vec<(u64, ParsedAnswer)>, Mistakes> {
    let source = files::read::streamed_text(file)?;
    let table = csv_table::parse(&source)?;
    let heads: Vec<String> = table.heads.iter().map(|head| head.to_lowercase()).collect();
    for wanted in ["taster", "code"] {
        if !heads.iter().any(|h| h == wanted || (wanted == "code" && h == "codes")) {
            return Err(Diagnostic::content(format!("there is no column `{wanted}`"))
                .about(file)
                .expected("a head `taster,code,` with the attributes, or `taster,codes`")
                .into());
        }
    }
    let column = |head: &str| if head == "codes" { "code".to_owned() } else { head.to_owned() };
    for (n, (head, lower)) in table.heads.iter().zip(&heads).enumerate() {
        if heads.iter().take(n).any(|before| column(before) == column(lower)) {
            return Err(Diagnostic::content("two columns of this table are the same")
                .about(file)
                .found(format!("`{head}` twice"))
                .expected("each column once")
                .remedy("leave the wrong one out; nothing of the file was entered")
                .into());
        }
    }
    let (mut rows, mut wrong) = (Vec::new(), Vec::new());
    for row in &table.rows {
        let (mut taster, mut words, mut note) = ("", Vec::new(), None);
        let mut scores = Vec::new();
        let named = table.heads.iter().zip(&heads).zip(&row.cells);
        for ((head, lower), cell) in named.filter(|(_, cell)| !cell.is_empty()) {
            match lower.as_str() {
                "taster" => taster = cell,
                "code" | "codes" => words.extend(cell.split_whitespace().map(str::to_owned)),
                "note" => note = Some(cell.clone()),
                _ => scores.push(format!("{head}={cell}")),
            }
        }
        words.extend(scores);
        match parse_answer(plan, taster, &words, note) {
            Ok(said) => rows.push((row.line, said)),
            Err(error) => wrong.push((row.line, error)),
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
            Diagnostic::content(format!("line {line}: {error}"))
                .about(file)
                .remedy(format!("{}; nothing of the file was entered", error.remedy()))
        })
        .collect()
}
