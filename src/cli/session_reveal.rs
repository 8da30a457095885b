//! `session progress`, `session reveal` and `session results`.

use std::path::Path;

use serde_json::json;

use crate::app::mistakes::internal;
use crate::app::session_answer::session_answer;
use crate::app::session_steps;
use crate::cli::bench;
use crate::cli::outcome::{How, Outcome, shown, shown_in};
use crate::cli::print;
use crate::cli::progress::watched;
use crate::page::results::verdict;
use crate::session::serve::progress::SessionProgress;
use crate::text::{self, page_text};

pub(super) fn progress(bench: Option<&Path>, name: &str, entries: bool, json: bool) -> Outcome {
    let session = bench::session(bench, name)?;
    let score_log = session.score_log()?;
    let torn = session.torn()?;
    let warnings = session_steps::warnings(&bench::root(bench)?, &session);
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
    let mut answer = session_answer(&session)?;
    let written = match to {
        Some(path) => {
            let on = bench::open(bench)?;
            watched(|watch| answer.find_first_water(&on, watch))?;
            let of = (&session.plan, session.waters()?.flight.as_str());
            print::written(
                path,
                "html",
                &verdict(&answer.found, of, answer.first_water(), &answer.notes_page()),
            )?
        }
        None => String::new(),
    };
    let text = shown_in(&answer.page(), &answer, how)?;
    let back = bench::taken_back(bench, &session.name);
    Ok(if how.json { text } else { back + &text + &written })
}
