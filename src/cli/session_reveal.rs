//! `session progress`, `session reveal` and `session results`.

use std::path::Path;

use serde_json::json;

use crate::app::session_steps;
use crate::app::session_steps::{changes, results_of};
use crate::cli::bench;
use crate::cli::outcome::{Outcome, shown};
use crate::session::serve::progress::{SessionProgress, notes, say_notes};

pub(super) fn progress(bench: Option<&Path>, name: &str, entries: bool, json: bool) -> Outcome {
    let session = bench::session(bench, name)?;
    let score_log = session.score_log()?;
    let torn = session.torn()?;
    let progress = SessionProgress::new(&score_log, changes(&bench::root(bench)?, &session), torn);
    shown(&progress.page(entries), &json!(progress), json)
}

pub(super) fn reveal(
    bench: Option<&Path>,
    name: &str,
    force: Option<&str>,
    key: Option<&Path>,
    json: bool,
) -> Outcome {
    let session = bench::session(bench, name)?;
    let revealed = session_steps::reveal(&bench::root(bench)?, &session, force, key)?;
    shown(&revealed.page(), &json!(revealed), json)
}

pub(super) fn results(bench: Option<&Path>, name: &str, json: bool) -> Outcome {
    let session = bench::session(bench, name)?;
    let found = results_of(&session)?;
    let notes = notes(&session.score_log()?);
    let (mut page, mut data) = (found.page(), json!(found));
    say_notes(&mut page, &notes);
    if let Some(data) = data.as_object_mut() {
        data.insert("notes".to_owned(), json!(notes));
    }
    shown(&page, &data, json)
}
