//! What all sessions of a bench say together of hardness and alkalinity.

use crate::bench::Bench;
use crate::bench::session_folder::SessionFolder;
use crate::next_flight::asked::NextAsked;
use crate::next_flight::report::NextReport;
use crate::session::results::{PastSession, WorkedOut};

/// Decides the draws of the water that is proposed beside the surface, which is left out here.
const SEED: u64 = 1;

/// The surface of what is wanted through all scores, within reach of the stocks and base waters of the
/// newest session's flight; no water is proposed.
///
/// # Errors
/// In words, why there is none.
pub(super) fn surface_of_all_scores(
    bench: &Bench,
    (past, worked_out): (&[PastSession], &WorkedOut),
    of: Option<&str>,
) -> Result<NextReport, String> {
    let newest = past.iter().rev().find(|session| session.revealed.is_some());
    let newest = newest.ok_or("no session is revealed yet")?;
    let said = |error: &crate::files::Diagnostic| error.details().title.clone();
    let session = SessionFolder::open(&bench.root, &newest.name).map_err(|e| said(&e))?;
    let waters = session.waters().map_err(|e| said(&e))?;
    let file = bench.flight_file(Some(&waters.flight)).map_err(|e| said(&e))?;
    let mistakes = |_| format!("the flight `{}` cannot be read", file.stem);
    let (flight, stocks, _) = bench.ordered_flight(file).map_err(mistakes)?;
    let mut report = NextReport::new(&NextAsked {
        past,
        worked_out,
        of,
        over: &["hardness", "alkalinity"].map(str::to_owned),
        within: &[],
        flight: &flight,
        stocks: &stocks,
        reference: None,
        // Of these only the surface is shown.
        makes: &|targets| vec![true; targets.len()],
        not_counted: &[],
        wanted: 1,
        seed: SEED,
    })
    .map_err(|error| error.to_string())?;
    report.waters.clear();
    match report.surface {
        Some(_) => Ok(report),
        None => Err("there are too few scores for one".to_owned()),
    }
}
