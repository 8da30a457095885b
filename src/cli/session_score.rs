//! `session score`: what a taster said, as one command, from CSV, or at the prompt.

use std::collections::BTreeMap;
use std::io::Write;
use std::path::Path;

use serde_json::json;

use crate::bench::session_folder::SessionFolder;
use crate::cli::outcome::{Mistakes, Outcome};
use crate::cli::session::{Refused, choice, open, shown};
use crate::cli::session_arguments::ScoreOptions;
use crate::cli::session_prompt;
use crate::files::{Diagnostic, Fault};
use crate::report::Page;
use crate::scores::{Answer, Book, Entry, Line, TurnedCup};
use crate::tasting::{Code, Method, Plan};

pub(super) fn run(
    bench: Option<&Path>,
    options: &ScoreOptions,
    json: bool,
    out: &mut dyn Write,
) -> Outcome {
    let session = open(bench, &options.name)?;
    if let Some(file) = &options.csv {
        let (book, lines, known) = from_csv(&session, file)?;
        return confirmed(&session, &book, &lines, known, json);
    }
    if options.undo {
        let (book, lines) = undo(&session)?;
        return confirmed(&session, &book, &lines, 0, json);
    }
    if options.entry.is_empty() {
        return session_prompt::run(&session, options.taster.as_deref(), json, out);
    }
    let taster = options.taster.as_deref().unwrap_or_default();
    let answer = answer(&session.plan, taster, &options.entry, options.note.clone())?;
    let entry = match (options.correct, options.late) {
        (Some(of), _) => Entry::Correction { of, answer },
        (None, true) => Entry::Late { answer },
        (None, false) => Entry::Answer(answer),
    };
    let (book, lines) = session.record::<Refused>(|_| Ok(vec![entry]))?;
    confirmed(&session, &book, &lines, 0, json)
}

/// Takes the last answer that stands back.
pub(super) fn undo(session: &SessionFolder) -> Result<(Book, Vec<Line>), Mistakes> {
    Ok(session.record::<Refused>(|book| match book.last_answer() {
        Some(of) => Ok(vec![Entry::Undo { of }]),
        None => Err(Refused(choice(&"there is nothing to take back"))),
    })?)
}

fn confirmed(
    session: &SessionFolder,
    book: &Book,
    lines: &[Line],
    known: usize,
    json: bool,
) -> Outcome {
    let mut page = Page::default();
    match lines {
        [line] => page.say(format!("line {} is on disk", line.n)),
        lines => page.say(format!("{} entries are on disk", lines.len())),
    }
    if known > 0 {
        page.say(format!("{known} rows were there already and are left as they are"));
    }
    page.say(format!("{} answers are owed", book.owing()));
    let data = json!({
        "session": session.name, "recorded": lines, "known": known, "owing": book.owing(),
    });
    shown(&page, &data, json)
}

/// Reads an answer: a code and scores, or the codes of a tray.
pub(super) fn answer(
    plan: &Plan,
    taster: &str,
    words: &[String],
    note: Option<String>,
) -> Result<Answer, Mistakes> {
    let code = |text: &String| text.parse::<Code>().map_err(|e| choice(&e));
    let taster = taster.to_owned();
    let Method::Scoring { attributes } = &plan.method else {
        let codes: Vec<Code> = words.iter().map(code).collect::<Result<_, _>>()?;
        let tray = plan
            .trays_of(&taster)
            .find(|tray| codes.first().is_some_and(|first| tray.cups.contains(first)))
            .map_or(1, |tray| tray.number);
        return Ok(match plan.method {
            Method::Ranking { .. } => Answer::Ranking { taster, tray, order: codes, note },
            _ => Answer::Choice { taster, tray, chosen: codes, note },
        });
    };
    let Some((first, scores)) = words.split_first() else {
        return Err(choice(&"no code is given"));
    };
    let code = code(first)?;
    let mut values = BTreeMap::new();
    let mut places = attributes.iter().map(|a| &a.name);
    for word in scores {
        let (name, value) = match word.split_once('=') {
            Some((name, value)) => (name.trim().to_owned(), value),
            None => match places.next() {
                Some(name) => (name.clone(), word.as_str()),
                None => return Err(choice(&format!("`{word}` is one score too many"))),
            },
        };
        if value == "-" {
            continue;
        }
        let number = value.trim().parse().map_err(|_| {
            vec![
                Diagnostic::new(Fault::Choice, format!("`{value}` is no score for {name}"))
                    .expected("a number, as in body=6.5; `-` leaves an attribute out"),
            ]
        })?;
        values.insert(name, number);
    }
    Ok(Answer::Scores { taster, code, values, note })
}

/// Whether the log says exactly this already, as after a CSV file that was half read.
fn is_known(book: &Book, answer: &Answer) -> bool {
    book.lines().iter().any(|r| {
        matches!(&r.line.entry, Entry::Answer(old) | Entry::Correction { answer: old, .. } if old == answer)
            && r.status == crate::scores::Status::Stands
    })
}

fn from_csv(session: &SessionFolder, file: &Path) -> Result<(Book, Vec<Line>, usize), Mistakes> {
    let unreadable = |error: &dyn std::fmt::Display| {
        vec![
            Diagnostic::new(Fault::Content, format!("the CSV cannot be read: {error}"))
                .about(file)
                .expected("a head `taster,code,` with the attributes, or `taster,codes`"),
        ]
    };
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
    let mut answers = Vec::new();
    for (number, row) in reader.records().enumerate() {
        let row = row.map_err(|e| unreadable(&e))?;
        let (mut taster, mut words, mut note) = (String::new(), Vec::new(), None);
        let mut scores = Vec::new();
        for (head, cell) in heads.iter().zip(&row).filter(|(_, cell)| !cell.is_empty()) {
            match head {
                "taster" => cell.clone_into(&mut taster),
                "code" | "codes" => words.extend(cell.split_whitespace().map(str::to_owned)),
                "note" => note = Some(cell.to_owned()),
                attribute => scores.push(format!("{attribute}={cell}")),
            }
        }
        words.extend(scores);
        answers.push((number + 2, answer(&session.plan, &taster, &words, note)?));
    }
    let mut known = 0;
    let (book, lines) = session.record::<Refused>(|book| {
        let mut trial = book.clone();
        let mut entries = Vec::new();
        for (number, answer) in answers {
            if is_known(book, &answer) {
                known += 1;
                continue;
            }
            let entry = Entry::Answer(answer);
            let taken = trial.next_line("", entry.clone()).and_then(|line| trial.accept(line));
            if let Err(refusal) = taken {
                return Err(Refused(vec![
                    Diagnostic::new(Fault::Content, format!("row {number}: {refusal}"))
                        .about(file)
                        .remedy(format!("{}; nothing of the file was entered", refusal.remedy())),
                ]));
            }
            entries.push(entry);
        }
        Ok(entries)
    })?;
    Ok((book, lines, known))
}

/// Records what stood under the cups of a tray.
pub(super) fn turned(
    bench: Option<&Path>,
    name: &str,
    tray: usize,
    cups: &[String],
    json: bool,
) -> Outcome {
    let session = open(bench, name)?;
    let read = |text: &String| {
        let (top, under) = text.split_once('=')?;
        Some(TurnedCup { top: top.parse().ok()?, under: under.parse().ok()? })
    };
    let cups: Option<Vec<TurnedCup>> = cups.iter().map(read).collect();
    let cups = cups.ok_or_else(|| {
        vec![
            Diagnostic::new(Fault::Choice, "the turned cups cannot be read")
                .expected("TOP=UNDER for every cup of the tray, as in 317=542"),
        ]
    })?;
    let taster = session.plan.tasters.first().cloned().unwrap_or_default();
    let (book, lines) =
        session.record::<Refused>(|_| Ok(vec![Entry::Turned { taster, tray, cups }]))?;
    confirmed(&session, &book, &lines, 0, json)
}
