//! `session progress`, `session reveal` and `session results`.

use std::path::Path;

use serde_json::json;

use crate::app::made_water::first_water;
use crate::app::mistakes::internal;
use crate::app::session_steps;
use crate::app::session_steps::{changes, results_of};
use crate::cli::bench;
use crate::cli::outcome::{How, Outcome, shown, shown_in};
use crate::cli::print;
use crate::cli::progress::watched;
use crate::page::results::verdict;
use crate::session::serve::progress::{SessionProgress, notes, say_notes};
use crate::text::{self, Page, page_text};

pub(super) fn progress(bench: Option<&Path>, name: &str, entries: bool, json: bool) -> Outcome {
    let session = bench::session(bench, name)?;
    let score_log = session.score_log()?;
    let torn = session.torn()?;
    let root = bench::root(bench)?;
    let mut warnings = changes(&root, &session);
    if bench::stands(&root, &session.name).is_err() {
        warnings
            .push("it was taken back and takes nothing in; `waterflight log` says when".to_owned());
    }
    let progress = SessionProgress::new(&score_log, warnings, torn);
    // Of a long log either takes more than the log itself, so that only what is asked for is made.
    if json {
        return text::json::long_document(&progress).map_err(|e| internal(&e));
    }
    Ok(page_text::text(&progress.page(entries)))
}

pub(super) fn reveal(
    bench: Option<&Path>,
    name: &str,
    force: Option<&str>,
    key: Option<&Path>,
    json: bool,
) -> Outcome {
    let session = bench::standing_session(bench, name)?;
    let revealed = session_steps::reveal(&bench::root(bench)?, &session, force, key)?;
    shown(&revealed.page(), &json!(revealed), json)
}

pub(super) fn results(bench: Option<&Path>, name: &str, to: Option<&Path>, how: How) -> Outcome {
    let session = bench::session(bench, name)?;
    let found = results_of(&session)?;
    let notes = notes(&session.score_log()?);
    let (mut page, mut data) = (found.page(), json!(found));
    say_notes(&mut page, &notes);
    if let Some(data) = data.as_object_mut() {
        data.insert("notes".to_owned(), json!(notes));
    }
    let written = match to {
        Some(path) => {
            let mut noted = Page::default();
            say_notes(&mut noted, &notes);
            let on = bench::open(bench)?;
            let made = watched(|watch| first_water(&on, &found, watch))?;
            if let Some(data) = data.as_object_mut() {
                data.insert("first_water".to_owned(), json!(made));
            }
            let flight = &session.waters.flight;
            let text = verdict(&found, (&session.plan, flight), made.as_ref(), &noted);
            print::written(path, "html", &text)?
        }
        None => String::new(),
    };
    let text = shown_in(&page, &data, how)?;
    let back = bench::taken_back(bench, &session.name);
    Ok(if how.json { text } else { back + &text + &written })
}
