//! The prompt for scores: code, numbers, note. Each line is on disk before it is confirmed.

use std::io::{BufRead, Write, stdin};

use serde_json::json;

use crate::bench::session_folder::SessionFolder;
use crate::cli::outcome::{Mistakes, Outcome};
use crate::cli::session::{Refused, shown};
use crate::cli::session_score::{answer, undo};
use crate::report::Page;
use crate::scores::{Entry, OwedWhat};
use crate::tasting::Code;

/// Reads lines until the input or the session ends.
pub(super) fn run(
    session: &SessionFolder,
    taster: Option<&str>,
    json: bool,
    out: &mut dyn Write,
) -> Outcome {
    let mut say = |text: String| {
        // A reader that has gone away does not stop the entries.
        if !json && out.write_all(text.as_bytes()).is_ok() {
            let _gone = out.flush();
        }
    };
    let names: Vec<&str> =
        session.plan.method.attributes().iter().map(|a| a.name.as_str()).collect();
    let order =
        if names.is_empty() { "codes".to_owned() } else { format!("code {}", names.join(" ")) };
    let who = if taster.is_none() { "taster " } else { "" };
    say(format!("Enter: {who}{order} note. `undo` takes back, `owed` lists, `end` ends.\n"));
    let (mut entered, mut refused) = (Vec::new(), 0);
    for line in stdin().lock().lines() {
        let Ok(line) = line else { break };
        let line = line.trim();
        match line {
            "" => continue,
            "end" => break,
            "owed" => {
                say(owed(session, taster)?);
                continue;
            }
            _ => {}
        }
        let result = if line == "undo" { undo(session) } else { enter(session, taster, line) };
        match result {
            Ok((book, lines)) => {
                for recorded in lines {
                    say(format!("line {}: {line} ({} owed)\n", recorded.n, book.owing()));
                    entered.push(recorded.n);
                }
            }
            Err(mistakes) => {
                refused += 1;
                for mistake in mistakes {
                    let details = mistake.details();
                    let way = details.remedy.as_deref().or(details.expected.as_deref());
                    say(format!("refused: {}; {}\n", details.title, way.unwrap_or_default()));
                }
            }
        }
    }
    let owing = session.book().map_err(|m| vec![m])?.owing();
    let mut page = Page::default();
    page.say(format!("{} entered, {refused} refused, {owing} answers are owed", entered.len()));
    let data = json!({
        "session": session.name, "entered": entered, "refused": refused, "owing": owing,
    });
    shown(&page, &data, json)
}

type Entered = (crate::scores::Book, Vec<crate::scores::Line>);

fn enter(session: &SessionFolder, taster: Option<&str>, line: &str) -> Result<Entered, Mistakes> {
    let mut rest = line;
    let taster = if let Some(taster) = taster {
        taster.to_owned()
    } else {
        // The longest name that the line begins with, since names may hold blanks.
        let mut named: Vec<&String> =
            session.plan.tasters.iter().filter(|t| line.starts_with(t.as_str())).collect();
        named.sort_by_key(|name| name.len());
        let name = named.last().map_or_else(
            || line.split_whitespace().next().unwrap_or_default().to_owned(),
            |name| (*name).clone(),
        );
        rest = line.strip_prefix(name.as_str()).unwrap_or_default();
        name
    };
    let scoring = !session.plan.method.attributes().is_empty();
    let is_value = |word: &str| {
        word == "-" || word.contains('=') || word.parse::<f64>().is_ok_and(f64::is_finite)
    };
    let mut words: Vec<String> = Vec::new();
    let mut note: Vec<&str> = Vec::new();
    for word in rest.split_whitespace() {
        let belongs = words.is_empty()
            || (scoring && is_value(word))
            || (!scoring && word.parse::<Code>().is_ok());
        if note.is_empty() && belongs {
            words.push(word.to_owned());
        } else {
            note.push(word);
        }
    }
    let note = (!note.is_empty()).then(|| note.join(" "));
    let answer = answer(&session.plan, &taster, &words, note)?;
    Ok(session.record::<Refused>(|_| Ok(vec![Entry::Answer(answer)]))?)
}

fn owed(session: &SessionFolder, taster: Option<&str>) -> Result<String, Mistakes> {
    let book = session.book().map_err(|m| vec![m])?;
    let mut text = String::new();
    for one in book.progress().iter().filter(|p| taster.is_none_or(|t| t == p.taster)) {
        let owes: Vec<String> = one
            .owed
            .iter()
            .map(|o| match &o.what {
                OwedWhat::Cup { code, .. } => code.to_string(),
                OwedWhat::Tray => format!("tray {}", o.tray),
                OwedWhat::Turning => format!("turning of tray {}", o.tray),
            })
            .collect();
        text.push_str(&format!("{} owes {}\n", one.taster, owes.join(" ")));
    }
    Ok(text)
}
