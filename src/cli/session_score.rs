//! `session score`, `session turned`, `session note`, `session expect`: one command, a CSV file, or
//! the prompt.

use std::io::Write;
use std::path::Path;

use serde_json::json;

use crate::app::session_steps::{record, unrevealed};
use crate::bench::session_folder::SessionFolder;
use crate::bench::session_rows;
use crate::cli::bench;
use crate::cli::outcome::{Outcome, shown};
use crate::cli::session_arguments::ScoreOptions;
use crate::cli::session_prompt;
use crate::cli::session_words::{on_disk, pending};
use crate::files::{Diagnostic, Fault};
use crate::session::score::stickers_belong;
use crate::session::score::{
    AnswerError, Entry, Intent, Line, ScoreLog, answer_parser, entries_of_rows, expectation,
    parse_answer,
};
use crate::text::Page;

pub(super) fn run(
    bench: Option<&Path>,
    options: &ScoreOptions,
    json: bool,
    out: &mut dyn Write,
) -> Outcome {
    let session = bench::standing_session(bench, &options.name)?;
    if let Some(file) = &options.csv {
        return from_csv(&session, file, json);
    }
    let taster = options.taster.as_deref().map(|typed| session.plan.taster_called(typed));
    if options.undo {
        return recorded(&session, &Intent::Undo { taster: taster.map(str::to_owned) }, json);
    }
    if options.entry.is_empty() {
        return session_prompt::run(&session, taster, json, out);
    }
    let taster = taster.unwrap_or_default();
    let answer = parse_answer(&session.plan, taster, &options.entry, options.note.clone())?;
    let intent = match (options.correct, options.late) {
        (Some(of), _) => Intent::Correct { of: Some(of), answer },
        (None, true) => Intent::Late(answer),
        (None, false) => Intent::Answer(answer),
    };
    recorded(&session, &intent, json)
}

fn recorded(session: &SessionFolder, intent: &Intent, json: bool) -> Outcome {
    let (score_log, lines) = record(session, intent)?;
    confirmed(session, &score_log, &lines, 0, json)
}

fn confirmed(
    session: &SessionFolder,
    score_log: &ScoreLog,
    lines: &[Line],
    known: usize,
    json: bool,
) -> Outcome {
    let mut page = Page::default();
    match lines {
        [line] => {
            page.say(on_disk(score_log, line));
            if matches!(line.entry, Entry::Note { .. }) {
                page.say(format!("`waterflight undo '{}:{}'` takes it back", session.name, line.n));
            }
        }
        lines => page.say(format!("{} entries are on disk", lines.len())),
    }
    if known > 0 {
        page.say(format!("{known} rows were there already and are left as they are"));
    }
    page.say(pending(score_log));
    let lines: Vec<Line> = lines.iter().map(|line| score_log.shown(line)).collect();
    let data = json!({
        "session": session.name, "recorded": lines, "known": known, "missing_answers": score_log.missing_answers(),
    });
    shown(&page, &data, json)
}

fn from_csv(session: &SessionFolder, file: &Path, json: bool) -> Outcome {
    let rows = session_rows::read(file, &session.plan)?;
    let mut known = 0;
    let (score_log, lines) = session.record(|score_log| {
        let (entries, already) =
            entries_of_rows(score_log, rows).map_err(|wrong| session_rows::refused(file, wrong))?;
        known = already;
        Ok(entries)
    })?;
    confirmed(session, &score_log, &lines, known, json)
}

/// Records what stood under the cups of a tray.
pub(super) fn turned(
    bench: Option<&Path>,
    name: &str,
    tray: usize,
    cups: &[String],
    json: bool,
) -> Outcome {
    let session = bench::standing_session(bench, name)?;
    let cups = answer_parser::parse_turned(cups)?;
    let taster = session.plan.tasters.first().cloned().unwrap_or_default();
    let intent = Intent::Turned { taster, tray, cups: cups.clone() };
    // What the log alone refuses comes first; a key kept elsewhere is asked at the reveal.
    intent.entry(&session.score_log()?)?;
    if let Ok(text) = session.key_text(None) {
        stickers_belong(&session.plan, &text, tray, &cups).map_err(|e| unrevealed(&session, &e))?;
    }
    recorded(&session, &intent, json)
}

/// Records a remark on a session, in place of an earlier one where its line is named.
pub(super) fn note(
    bench: Option<&Path>,
    name: &str,
    text: &str,
    (taster, instead_of): (Option<&str>, Option<u64>),
    json: bool,
) -> Outcome {
    let session = bench::standing_session(bench, name)?;
    let intent = Intent::Note { taster: taster.map(str::to_owned), text: text.to_owned() };
    let Some(of) = instead_of else { return recorded(&session, &intent, json) };
    let (score_log, lines) = session.record(|score_log| {
        let is_remark =
            score_log.line(of).is_some_and(|old| matches!(old.line.entry, Entry::Note { .. }));
        if !is_remark {
            return Err(Diagnostic::new(Fault::Choice, format!("line {of} is no remark"))
                .expected("the line of a remark on this session")
                .remedy("`session progress NAME --entries` lists the lines")
                .into());
        }
        Ok(vec![Entry::Undo { of }, intent.entry(score_log)?])
    })?;
    confirmed(&session, &score_log, &lines, 0, json)
}

/// Records that somebody knows what should not be known before the reveal.
pub(super) fn unblinded(bench: Option<&Path>, name: &str, why: &str, json: bool) -> Outcome {
    let session = bench::standing_session(bench, name)?;
    recorded(&session, &Intent::Unblinded { why: why.to_owned() }, json)
}

/// Records an order that is expected of the waters.
pub(super) fn expect(bench: Option<&Path>, name: &str, order: &str, json: bool) -> Outcome {
    let session = bench::standing_session(bench, name)?;
    let entry =
        expectation(&session.plan, &session.compared_waters(), order).map_err(AnswerError::from)?;
    let (score_log, lines) = session.record(|_| Ok(vec![entry]))?;
    confirmed(&session, &score_log, &lines, 0, json)
}
