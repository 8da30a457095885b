//! The steps of a session that lies on the bench: poured, revealed, understood.

use std::path::Path;

use crate::bench::session_drift::drift;
use crate::bench::session_folder::SessionFolder;
use crate::bench::session_waters::PlannedWater;
use crate::bench::taken_back::session_stands;
use crate::files::{Diagnostic, Fault, Mistakes};
use crate::session::analysis::{ModelChoice, analyse};
use crate::session::plan::{Plan, session};
use crate::session::results::results_page::SessionResults;
use crate::session::results::reveal_page::SessionReveal;
use crate::session::score::expected_order::orders_waters;
use crate::session::score::{
    AnswerError, Entry, Intent, Line, RevealError, ScoreLog, reveal_entry, revealed,
};
use crate::text::command_line::typed;

/// What changed on the bench since a session was planned, in words.
#[must_use]
pub(super) fn changes(root: &Path, session: &SessionFolder) -> Vec<String> {
    match session.waters().and_then(|waters| drift(root, waters)) {
        Ok(found) => found.iter().map(ToString::to_string).collect(),
        // A damaged record of the bench, or of what the waters were, must not stand in the way of a tasting.
        Err(error) => {
            vec![format!("what changed on the bench since is not known: {}", error.details().title)]
        }
    }
}

/// What is to be known of a session while it goes on: what changed on the bench since it was planned,
/// and whether it was taken back.
#[must_use]
pub fn warnings(root: &Path, session: &SessionFolder) -> Vec<String> {
    let mut warnings = changes(root, session);
    if session_stands(root, &session.name).is_err() {
        warnings
            .push("it was taken back and takes nothing in; `waterflight log` says when".to_owned());
    }
    warnings
}

/// The tasters of a session, or the one that is meant.
///
/// # Errors
/// Lists the tasters when none has the name.
pub fn tasters_meant<'a>(plan: &'a Plan, typed: Option<&str>) -> Result<Vec<&'a str>, Diagnostic> {
    let all: Vec<&str> = plan.tasters.iter().map(String::as_str).collect();
    let Some(name) = typed.map(|typed| plan.taster_called(typed)) else { return Ok(all) };
    let meant: Vec<&str> = all.iter().copied().filter(|taster| *taster == name).collect();
    if meant.is_empty() {
        let what = format!("`{name}` is no taster of this session");
        return Err(Diagnostic::choice(what).expected(all.join(", ")));
    }
    Ok(meant)
}

/// Why a session is not revealed.
pub(super) fn unrevealed(session: &SessionFolder, error: &RevealError) -> Mistakes {
    let fault = match error {
        RevealError::Key(_) => Fault::Content,
        _ => Fault::Choice,
    };
    Diagnostic::new(fault, error.to_string()).about(&session.path).remedy(error.remedy()).into()
}

/// The results of a revealed session.
///
/// # Errors
/// When it is not revealed, or a file of it cannot be read.
pub(super) fn results_of(session: &SessionFolder) -> Result<SessionResults, Mistakes> {
    let score_log = session.score_log()?;
    if score_log.revealed_in().is_none() {
        return Err(Diagnostic::choice(format!("`{}` is not revealed", session.name))
            .remedy(format!("`waterflight session reveal {}` reveals it", typed(&session.name)))
            .into());
    }
    let text = session.key_text(None)?;
    let found = revealed(&score_log, &text).map_err(|e| unrevealed(session, &e))?;
    let results = SessionResults::new(&found, &analyse(&found, ModelChoice::default()));
    let waters = session.waters()?.waters.iter().map(PlannedWater::made).collect();
    Ok(results.with(&session.plan.serving, waters))
}

/// The entry of an intent. A remark that puts waters in an order could be read by whoever tastes; it is
/// tested here, where the waters have names.
///
/// # Errors
/// When the log refuses it, or it is such a remark before the reveal.
pub(super) fn entry(
    session: &SessionFolder,
    score_log: &ScoreLog,
    intent: &Intent,
) -> Result<Entry, AnswerError> {
    // Where their file is damaged the table goes on without it.
    let waters = || -> Vec<&str> {
        let all = session.waters().map_or(&[][..], |of| of.waters.as_slice());
        all.iter().map(|water| water.name.as_str()).collect()
    };
    match intent {
        Intent::Note { text, .. }
            if score_log.revealed_in().is_none() && orders_waters(text, &waters()) =>
        {
            Err(AnswerError::ExpectedInNote)
        }
        _ => intent.entry(score_log),
    }
}

/// Records an intent on the log as it then is.
///
/// # Errors
/// When the log refuses it, or the disk does not take it.
pub fn record(session: &SessionFolder, intent: &Intent) -> Result<(ScoreLog, Vec<Line>), Mistakes> {
    session.record(|score_log| Ok(vec![entry(session, score_log, intent)?]))
}

/// Reveals a session; `force` says why although answers are missing.
///
/// # Errors
/// When answers are missing and no reason is given, or the key is not there or not the sealed one.
pub fn reveal(
    root: &Path,
    session: &SessionFolder,
    force: Option<&str>,
    key: Option<&Path>,
) -> Result<SessionReveal, Mistakes> {
    let text = session.key_text(key)?;
    let warnings = changes(root, session);
    // The log comes first: a key in the folder of a session that may still be scored could be read
    // by whoever scores. A run stopped between the two is made good by the next one, which finds
    // the session revealed and its folder without a key.
    let key_is_missing = !session.keeps_open_key();
    let (score_log, _) = session.record(|score_log| {
        if key_is_missing && score_log.revealed_in().is_some() {
            return Ok(Vec::new());
        }
        let entry = reveal_entry(score_log, &text, force.map(str::to_owned));
        Ok(vec![entry.map_err(|error| unrevealed(session, &error))?])
    })?;
    let (key, verified) = session::verify(&session.plan, &text)
        .map_err(|e| unrevealed(session, &RevealError::Key(e)))?;
    session.keep_open_key(&text).map_err(|wrong| key_not_kept(&score_log, &wrong))?;
    Ok(SessionReveal::new(&score_log, key, verified, warnings))
}

/// That a session is revealed whose opened key the disk did not take.
fn key_not_kept(score_log: &ScoreLog, wrong: &Diagnostic) -> Diagnostic {
    let line = score_log.revealed_in().unwrap_or_default();
    let details = wrong.details();
    let what = format!(
        "the session is revealed (line {line}), and its opened key is not here yet: {}",
        details.title
    );
    let mistake = Diagnostic::new(details.fault, what);
    details.path.iter().fold(mistake, Diagnostic::about).remedy(
        "make room on the disk, or let yourself write into this folder, and type the same command again",
    )
}
