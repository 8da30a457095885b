//! `session`: planned, printed, poured, scored, revealed, understood.

use std::io::Write;
use std::path::Path;

use serde_json::{Value, json};

use crate::bench::session_drift::drift;
use crate::bench::session_folder::SessionFolder;
use crate::bench::session_waters::PlannedWater;
use crate::cli::bench;
use crate::cli::outcome::{Outcome, internal};
use crate::cli::session_arguments::Step;
use crate::cli::{session_plan, session_reveal, session_score, session_sheet};
use crate::files::{Diagnostic, Fault, Mistakes};
use crate::session::analysis::{ModelChoice, analyse};
use crate::session::results::results_page::SessionResults;
use crate::session::score::RevealError;
use crate::session::score::revealed;
use crate::session::serve::progress::{notes, say_notes};
use crate::text::Page;

pub(super) fn run(bench: Option<&Path>, step: &Step, json: bool, out: &mut dyn Write) -> Outcome {
    match step {
        Step::Plan(options) => session_plan::run(bench, options, json),
        Step::Sheet(options) => session_sheet::run(bench, options, json),
        Step::Poured(options) => session_sheet::poured(bench, options, json),
        Step::Score(options) => session_score::run(bench, options, json, out),
        Step::Turned { name, tray, cups } => session_score::turned(bench, name, *tray, cups, json),
        Step::Note { name, text, taster, unblinded } => {
            session_score::note(bench, name, text, (taster.as_deref(), *unblinded), json)
        }
        Step::Progress { name, entries } => session_reveal::progress(bench, name, *entries, json),
        Step::Reveal { name, force, key } => {
            session_reveal::reveal(bench, name, force.as_deref(), key.as_deref(), json)
        }
        Step::Results { name } => results(bench, name, json),
    }
}

/// A page as text, or its data.
pub(super) fn shown(page: &Page, data: &Value, json: bool) -> Outcome {
    if json {
        return crate::text::json::document(data).map_err(|e| internal(&e));
    }
    Ok(crate::text::page_text::text(page))
}

/// Opens a session.
pub(super) fn open(bench: Option<&Path>, name: &str) -> Result<SessionFolder, Mistakes> {
    let root = bench::root(bench)?;
    SessionFolder::open(&root, name).map_err(Mistakes::from)
}

/// What changed on the bench since a session was planned, in words.
pub(super) fn changes(
    bench: Option<&Path>,
    session: &SessionFolder,
) -> Result<Vec<String>, Mistakes> {
    let root = bench::root(bench)?;
    Ok(match drift(&root, &session.waters) {
        Ok(found) => found.iter().map(ToString::to_string).collect(),
        // A damaged record of the bench must not stand in the way of a tasting.
        Err(error) => {
            vec![format!("what changed on the bench since is not known: {}", error.details().title)]
        }
    })
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
pub(super) fn results_of(session: &SessionFolder) -> Result<SessionResults, Mistakes> {
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

fn results(bench: Option<&Path>, name: &str, json: bool) -> Outcome {
    let session = open(bench, name)?;
    let found = results_of(&session)?;
    let notes = notes(&session.score_log()?);
    let (mut page, mut data) = (found.page(), json!(found));
    say_notes(&mut page, &notes);
    if let Some(data) = data.as_object_mut() {
        data.insert("notes".to_owned(), json!(notes));
    }
    shown(&page, &data, json)
}
