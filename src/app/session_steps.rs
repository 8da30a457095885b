//! The steps of a session that lies on the bench: poured, revealed, understood.

use std::path::Path;

use crate::app::bottles::filled;
use crate::bench::Bench;
use crate::bench::session_drift::drift;
use crate::bench::session_folder::SessionFolder;
use crate::bench::session_waters::{PlannedWater, SessionWaters};
use crate::files::{Diagnostic, Fault, Mistakes};
use crate::quantities::Day;
use crate::session::analysis::{ModelChoice, analyse};
use crate::session::plan::preparation::{Margin, USUAL_SPARE};
use crate::session::plan::{Key, Plan, session};
use crate::session::results::results_page::SessionResults;
use crate::session::results::reveal_page::SessionReveal;
use crate::session::score::{
    Entry, Intent, Line, OpenedFor, RevealError, ScoreLog, reveal_entry, revealed,
};
use crate::session::serve::pouring_sheet::{PouringSheet, ShelfNow};

/// What changed on the bench since a session was planned, in words.
#[must_use]
pub fn changes(root: &Path, session: &SessionFolder) -> Vec<String> {
    match drift(root, &session.waters) {
        Ok(found) => found.iter().map(ToString::to_string).collect(),
        // A damaged record of the bench must not stand in the way of a tasting.
        Err(error) => {
            vec![format!("what changed on the bench since is not known: {}", error.details().title)]
        }
    }
}

/// Why a session is not revealed.
pub(crate) fn unrevealed(session: &SessionFolder, error: &RevealError) -> Mistakes {
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
pub fn results_of(session: &SessionFolder) -> Result<SessionResults, Mistakes> {
    let score_log = session.score_log()?;
    if score_log.revealed_in().is_none() {
        return Err(Diagnostic::new(Fault::Choice, format!("`{}` is not revealed", session.name))
            .remedy("reveal it first, with `session reveal`")
            .into());
    }
    let text = session.key_text(None)?;
    let found = revealed(&score_log, &text).map_err(|e| unrevealed(session, &e))?;
    let results = SessionResults::new(&found, &analyse(&found, ModelChoice::default()));
    let waters = session.waters.waters.iter().map(PlannedWater::made).collect();
    Ok(results.with(&session.plan.serving, waters))
}

/// The pourer's sheet as the bottles stand now.
///
/// # Errors
/// When the key is not there or not the sealed one.
pub fn pouring_sheet(
    bench: &Bench,
    session: &SessionFolder,
    margin: Margin,
    key: Option<&Path>,
) -> Result<PouringSheet, Mistakes> {
    let text = session.key_text(key)?;
    let (key, _) = session::verify(&session.plan, &text)
        .map_err(|e| unrevealed(session, &RevealError::Key(e)))?;
    Ok(on_shelf(bench, &session.plan, &key, &session.waters, margin))
}

fn on_shelf(
    bench: &Bench,
    plan: &Plan,
    key: &Key,
    waters: &SessionWaters,
    margin: Margin,
) -> PouringSheet {
    let filled = filled(bench);
    let shelf = ShelfNow { filled: &filled, tools: &bench.tools, day: Day::today() };
    let (doses, measured) = (waters.dosed(), waters.measured(bench.tools.dispenser.least));
    PouringSheet::new(plan, key, (&doses, &measured), margin, shelf, |stock| waters.batch_of(stock))
}

/// The stocks whose bottles hold too little for a session just planned. Only their names: the
/// volumes would tell which waters are hidden twice.
pub(super) fn shelf_short_of(
    bench: &Bench,
    plan: &Plan,
    key: &Key,
    waters: &SessionWaters,
) -> Vec<String> {
    let sheet = on_shelf(bench, plan, key, waters, Margin::of(USUAL_SPARE));
    let short = sheet.stocks.into_iter().filter(|stock| stock.missing_ml.is_some());
    short.map(|stock| stock.stock).collect()
}

/// Says in the log that the key was opened; whoever pours knows which water is which.
///
/// # Errors
/// When the log does not take it.
pub fn say_opened(session: &SessionFolder, why: &str) -> Result<(), Mistakes> {
    session.record(|score_log| {
        let opened = Entry::Opened { purpose: OpenedFor::PouringSheet, why: why.to_owned() };
        Ok(if score_log.revealed_in().is_none() { vec![opened] } else { Vec::new() })
    })?;
    Ok(())
}

/// Records an intent on the log as it then is.
///
/// # Errors
/// When the log refuses it, or the disk does not take it.
pub fn record(session: &SessionFolder, intent: &Intent) -> Result<(ScoreLog, Vec<Line>), Mistakes> {
    session.record(|score_log| Ok(vec![intent.entry(score_log)?]))
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
    session.keep_open_key(&text)?;
    Ok(SessionReveal::new(&score_log, key, verified, warnings))
}
