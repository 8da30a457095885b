//! `session`: planned, printed, poured, scored, revealed, understood.

use std::io::Write;
use std::path::Path;

use crate::cli::outcome::{How, Outcome};
use crate::cli::session_arguments::Step;
use crate::cli::{session_plan, session_reveal, session_score, session_sheet};

pub(super) fn run(bench: Option<&Path>, step: &Step, how: How, out: &mut dyn Write) -> Outcome {
    let json = how.json;
    match step {
        Step::Plan(options) => session_plan::run(bench, options, how),
        Step::Sheet(options) => session_sheet::run(bench, options, how),
        Step::Poured(options) => session_sheet::poured(bench, options, json),
        Step::Score(options) => session_score::run(bench, options, json, out),
        Step::Turned { name, tray, cups } => session_score::turned(bench, name, *tray, cups, json),
        Step::Note { name, text, unblinded: true, .. } => {
            session_score::unblinded(bench, name, text, json)
        }
        Step::Note { name, text, taster, instead_of, .. } => {
            session_score::note(bench, name, text, (taster.as_deref(), *instead_of), json)
        }
        Step::Expect { name, order } => session_score::expect(bench, name, order, json),
        Step::Progress { name, entries } => session_reveal::progress(bench, name, *entries, json),
        Step::Reveal { name, force, key } => {
            session_reveal::reveal(bench, name, force.as_deref(), key.as_deref(), json)
        }
        Step::Results { name, page } => session_reveal::results(bench, name, page.as_deref(), how),
    }
}
