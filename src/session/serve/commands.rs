//! The commands that a session asks for, as they are to be typed.

use std::path::Path;

use crate::quantities::show::as_written;
use crate::session::plan::preparation::{Margin, USUAL_SPARE};
use crate::session::plan::{Code, Method, Plan, Tray};
use crate::session::score::{Pending, PendingKind, ScoreLog};
use crate::text::command_line::{typed, typed_path};

/// A score that is still to be given.
fn open_score(attribute: &str) -> String {
    let word = typed(attribute);
    match word.chars().last().filter(|last| matches!(last, '"' | '\'')) {
        Some(quote) => format!("{}=…{quote}", word.trim_end_matches(quote)),
        None => format!("{word}=…"),
    }
}

/// The command that opens the prompt at a taster's next cup.
pub(crate) fn score_command(plan: &Plan, taster: &str) -> String {
    format!("waterflight session score {} {}", typed(&plan.session), typed(taster))
}

/// The command that prints the pouring sheet; with the file of the secret, where one was named.
#[must_use]
pub fn pour_command(plan: &Plan, key: Option<&Path>) -> String {
    let key = key_option(key);
    format!("waterflight session sheet {} --for pourer{key}", typed(&plan.session))
}

/// The command that records a pour as its sheet says: with the margin and the secret of the sheet.
pub(crate) fn poured_command(session: &str, margin: Margin, key: Option<&Path>) -> String {
    let mut command = format!("waterflight session poured {}", typed(session));
    if margin.share.to_bits() != USUAL_SPARE.to_bits() {
        command.push_str(&format!(" --spare \"{} %\"", as_written(margin.share, 0.01)));
    }
    let least = margin.least.value();
    if least > 0.0 {
        command.push_str(&format!(" --least \"{} L\"", as_written(least, 1.0)));
    }
    command + &key_option(key)
}

fn key_option(key: Option<&Path>) -> String {
    key.map_or(String::new(), |file| format!(" --key {}", typed_path(file)))
}

/// The command that takes a planned session back.
#[must_use]
pub fn undo_command(plan: &Plan) -> String {
    format!("waterflight undo {}", typed(&plan.session))
}

/// The command that enters what stood under the cups of a tray; the stickers are left to be read.
pub(crate) fn turned_command(plan: &Plan, tray: &Tray) -> String {
    let cups: Vec<String> = tray.cups.iter().map(|top| format!("{top}=…")).collect();
    format!(
        "waterflight session turned {} {} {}",
        typed(&plan.session),
        tray.number,
        cups.join(" ")
    )
}

/// A command, and what takes the place of its `…` where that is not seen.
pub(crate) struct NextCommand {
    pub(crate) command: String,
    pub(crate) left_open: Option<String>,
}

impl From<String> for NextCommand {
    fn from(command: String) -> Self {
        Self { command, left_open: None }
    }
}

/// The command to type next in a session: the first thing that is missing, the reveal, or the results.
/// What only the taster knows is left open as `…`.
pub(crate) fn next_command(score_log: &ScoreLog) -> NextCommand {
    let plan = score_log.plan();
    if score_log.revealed_in().is_some() {
        return format!("waterflight session results {}", typed(&plan.session)).into();
    }
    let missing_answers = score_log.progress().into_iter().find_map(|one| {
        let first = one.pending.into_iter().next()?;
        Some((one.taster, first))
    });
    match missing_answers {
        Some((taster, pending)) => owed_command(plan, &taster, &pending),
        None => format!("waterflight session reveal {}", typed(&plan.session)).into(),
    }
}

fn owed_command(plan: &Plan, taster: &str, pending: &Pending) -> NextCommand {
    let command = score_command(plan, taster);
    let tray = plan.trays_of(taster).find(|tray| tray.number == pending.tray);
    match (&pending.what, tray) {
        (PendingKind::Cup { code, attributes }, _) => {
            let scores: Vec<String> = attributes.iter().map(|name| open_score(name)).collect();
            format!("{command} {code} {}", scores.join(" ")).into()
        }
        (PendingKind::Turning, Some(tray)) => turned_command(plan, tray).into(),
        (_, Some(tray)) => {
            let of = tray.cups.iter().map(Code::to_string).collect::<Vec<_>>().join(", ");
            let what = match &plan.method {
                Method::Ranking { criterion } => format!("all of {of}, most {criterion} first"),
                Method::Tetrad => format!("two of {of}"),
                _ => format!("one of {of}"),
            };
            NextCommand { command: format!("{command} …"), left_open: Some(what) }
        }
        (_, None) => command.into(),
    }
}
