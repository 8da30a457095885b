//! `session progress` and `session reveal`.

use std::path::Path;

use serde_json::json;

use crate::cli::outcome::Outcome;
use crate::cli::session::{changes, open, shown, unrevealed};
use crate::session::plan::session;
use crate::session::results::reveal_page::SessionReveal;
use crate::session::score::RevealError;
use crate::session::score::reveal_entry;
use crate::session::serve::progress::SessionProgress;

pub(super) fn progress(bench: Option<&Path>, name: &str, entries: bool, json: bool) -> Outcome {
    let session = open(bench, name)?;
    let score_log = session.score_log()?;
    let torn = session.torn()?;
    let progress = SessionProgress::new(&score_log, changes(bench, &session)?, torn);
    shown(&progress.page(entries), &json!(progress), json)
}

pub(super) fn reveal(
    bench: Option<&Path>,
    name: &str,
    force: Option<&str>,
    key: Option<&Path>,
    json: bool,
) -> Outcome {
    let session = open(bench, name)?;
    let text = session.key_text(key)?;
    let warnings = changes(bench, &session)?;
    // The log comes first: a key in the folder of a session that may still be scored could be read
    // by whoever scores. A run stopped between the two is made good by the next one, which finds
    // the session revealed and its folder without a key.
    let key_is_missing = !session.keeps_open_key();
    let (score_log, _) = session.record(|score_log| {
        if key_is_missing && score_log.revealed_in().is_some() {
            return Ok(Vec::new());
        }
        let entry = reveal_entry(score_log, &text, force.map(str::to_owned));
        Ok(vec![entry.map_err(|error| unrevealed(&session, &error))?])
    })?;
    let (key, verified) = session::verify(&session.plan, &text)
        .map_err(|e| unrevealed(&session, &RevealError::Key(e)))?;
    session.keep_open_key(&text)?;
    let revealed = SessionReveal::new(&score_log, key, verified, warnings);
    shown(&revealed.page(), &json!(revealed), json)
}
