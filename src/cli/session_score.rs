//! `session score`, `session turned`, `session note`, `session expect`: one command, a CSV file, or
//! the prompt.

use std::io::Write;
use std::path::Path;

use crate::app::session_entries::{
    SessionEntries, enter, enter_expected, enter_rows, enter_turned, replace_remark,
};
use crate::cli::bench;
use crate::cli::outcome::{Outcome, shown};
use crate::cli::session_arguments::ScoreOptions;
use crate::cli::session_prompt;
use crate::files::Mistakes;
use crate::session::score::{Intent, parse_answer, parse_turned};

pub(super) fn run(
    bench: Option<&Path>,
    options: &ScoreOptions,
    json: bool,
    out: &mut dyn Write,
) -> Outcome {
    let session = bench::standing_session(bench, &options.name)?;
    if let Some(file) = &options.csv {
        return confirmed(enter_rows(&session, file), json);
    }
    let taster = options.taster.as_deref().map(|typed| session.plan.taster_called(typed));
    if options.undo {
        let undo = Intent::Undo { taster: taster.map(str::to_owned) };
        return confirmed(enter(&session, &undo), json);
    }
    if options.entry.is_empty() {
        return session_prompt::run(&session, taster, json, out);
    }
    let taster = taster.unwrap_or_default();
    let answer = parse_answer(&session.plan, taster, &options.entry, options.note.clone())?;
    let intent = match (options.correct, options.late) {
        (Some(of), _) => Intent::Correct { of: Some(of), answer },
        (None, true) => Intent::Late(answer),
        (None, false) => Intent::Answer(answer),
    };
    confirmed(enter(&session, &intent), json)
}

fn confirmed(entered: Result<SessionEntries, Mistakes>, json: bool) -> Outcome {
    let entered = entered?;
    shown(&entered.page(), &entered.data(), json)
}

/// Records what stood under the cups of a tray.
pub(super) fn turned(
    bench: Option<&Path>,
    name: &str,
    tray: usize,
    cups: &[String],
    json: bool,
) -> Outcome {
    let session = bench::standing_session(bench, name)?;
    confirmed(enter_turned(&session, tray, &parse_turned(cups)?), json)
}

/// Records a remark on a session, in place of an earlier one where its line is named.
pub(super) fn note(
    bench: Option<&Path>,
    name: &str,
    text: &str,
    (taster, instead_of): (Option<&str>, Option<u64>),
    json: bool,
) -> Outcome {
    let session = bench::standing_session(bench, name)?;
    let intent = Intent::Note { taster: taster.map(str::to_owned), text: text.to_owned() };
    let entered = match instead_of {
        Some(of) => replace_remark(&session, of, &intent),
        None => enter(&session, &intent),
    };
    confirmed(entered, json)
}

/// Records that somebody knows what should not be known before the reveal.
pub(super) fn unblinded(bench: Option<&Path>, name: &str, why: &str, json: bool) -> Outcome {
    let session = bench::standing_session(bench, name)?;
    confirmed(enter(&session, &Intent::Unblinded { why: why.to_owned() }), json)
}

/// Records an order that is expected of the waters.
pub(super) fn expect(bench: Option<&Path>, name: &str, order: &str, json: bool) -> Outcome {
    confirmed(enter_expected(&bench::standing_session(bench, name)?, order), json)
}
