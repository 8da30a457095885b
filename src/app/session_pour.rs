//! What the pourer of a session is told, and what a pour took from the bottles.

use std::path::Path;

use serde::Serialize;

use crate::app::bottles::{filled, in_a_line};
use crate::app::session_steps::{changes, unrevealed};
use crate::bench::Bench;
use crate::bench::history::undo_hint;
use crate::bench::records::{PouredBefore, PouredVolume, add_session_pour, session_may_be_poured};
use crate::bench::session_folder::SessionFolder;
use crate::bench::session_waters::SessionWaters;
use crate::files::{Diagnostic, Mistakes};
use crate::quantities::{Day, show};
use crate::session::plan::preparation::{Margin, USUAL_SPARE};
use crate::session::plan::{Key, Plan, session};
use crate::session::score::{Entry, OpenedFor, RevealError};
use crate::session::serve::pouring_sheet::{PouringSheet, ShelfNow};
use crate::text::Page;

/// The pourer's sheet as the bottles stand now. Whoever reads it knows the key: the log of the session
/// says so.
///
/// # Errors
/// When the key is not there or not the sealed one, or the log does not take that it was opened.
pub fn pouring_sheet(
    bench: &Bench,
    session: &SessionFolder,
    margin: Margin,
    key: Option<&Path>,
) -> Result<PouringSheet, Mistakes> {
    let mut sheet = sheet_of(bench, session, margin, key)?;
    sheet.warnings.extend(warnings(bench, session));
    sheet.key_file = key.map(Path::to_owned);
    say_opened(session, "the pouring sheet was printed")?;
    Ok(sheet)
}

fn sheet_of(
    bench: &Bench,
    session: &SessionFolder,
    margin: Margin,
    key: Option<&Path>,
) -> Result<PouringSheet, Mistakes> {
    let text = session.key_text(key)?;
    let (key, _) = session::verify(&session.plan, &text)
        .map_err(|e| unrevealed(session, &RevealError::Key(e)))?;
    Ok(on_shelf(bench, &session.plan, &key, session.waters()?, margin))
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

/// What changed on the bench since, and what is wrong with its records.
fn warnings(bench: &Bench, session: &SessionFolder) -> Vec<String> {
    let changed = changes(&bench.root, session).into_iter();
    changed.chain(bench.records.damage().map(in_a_line)).collect()
}

/// Says in the log that the key was opened; whoever pours knows which water is which. Returns the line that
/// says it; nothing once the session is revealed.
fn say_opened(session: &SessionFolder, why: &str) -> Result<Option<u64>, Mistakes> {
    let (_, lines) = session.record(|score_log| {
        let opened = Entry::Opened { purpose: OpenedFor::PouringSheet, why: why.to_owned() };
        Ok(if score_log.revealed_in().is_none() { vec![opened] } else { Vec::new() })
    })?;
    Ok(lines.first().map(|line| line.n))
}

/// A pour of a session that is recorded.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SessionPour {
    /// Name of the session.
    pub session: String,
    /// File name of its flight.
    pub flight: String,
    /// The day.
    pub day: String,
    /// Number of the record.
    pub record: u64,
    /// What was taken from the bottles.
    pub taken: Vec<PouredVolume>,
    /// What is to be known.
    pub warnings: Vec<String>,
}

/// Takes what a session needs from the bottles.
///
/// # Errors
/// When the key is not there or not the sealed one, the session may not be poured as `before` says, or
/// the disk does not take it.
pub fn pour_session(
    bench: &Bench,
    session: &SessionFolder,
    (margin, key): (Margin, Option<&Path>),
    day: Day,
    before: PouredBefore,
) -> Result<SessionPour, Mistakes> {
    let sheet = sheet_of(bench, session, margin, key)?;
    let warnings = warnings(bench, session);
    let stocks = sheet.stocks.into_iter();
    let taken: Vec<PouredVolume> = stocks
        .map(|s| PouredVolume { stock: s.stock, batch: s.batch.unwrap_or(0), ml: s.ml })
        .collect();
    let (flight, name) = (session.waters()?.flight.clone(), session.name.clone());
    session_may_be_poured(&bench.root, &name, before)?;
    // First that the key was read: a run that is stopped between the two leaves no pour without it.
    let opened = say_opened(session, "what was poured was taken from the bottles")?;
    let record = add_session_pour(&bench.root, day, (&flight, &name), taken.clone(), before)
        .map_err(|wrong| not_poured(wrong, opened))?;
    Ok(SessionPour { session: name, flight, day: day.to_string(), record, taken, warnings })
}

/// That a pour is not recorded though the log of its session says that the key was opened for it.
fn not_poured(wrong: Diagnostic, opened: Option<u64>) -> Diagnostic {
    let Some(line) = opened else { return wrong };
    wrong.remedy_in(|remedy| {
        format!(
            "{remedy}; line {line} of the session's own log stands, which says that its key was opened"
        )
    })
}

impl SessionPour {
    /// What was taken, what is to be known, and how it is taken back.
    #[must_use]
    pub fn page(&self) -> Page {
        let mut page = Page::default();
        page.say(format!("{}: poured on {}", self.session, self.day));
        for PouredVolume { stock, batch, ml } in &self.taken {
            let from = match batch {
                0 => "planned before a batch was recorded, so nothing is counted".to_owned(),
                batch => format!("from batch {batch}"),
            };
            page.say(format!("  {stock}: {} mL, {from}", show::fixed(*ml, 2)));
        }
        for warning in &self.warnings {
            page.say(format!("! {warning}"));
        }
        page.say(undo_hint(self.record, &self.day).trim_end());
        page
    }
}
