//! Entries in words, by their codes.

use crate::session::plan::Code;
use crate::session::plan::Plan;

use crate::session::score::{Answer, Entry, Line, OpenedFor};
use crate::session::score::{Pending, PendingKind, ScoreLog, Status};

/// A line that is on disk, in words, as it may be shown now.
#[must_use]
pub fn on_disk_words(score_log: &ScoreLog, line: &Line) -> String {
    let words = entry_words(score_log.plan(), &score_log.shown(line).entry);
    format!("line {} is on disk: {words}", line.n)
}

/// How many answers are missing.
#[must_use]
pub fn missing_words(score_log: &ScoreLog) -> String {
    match score_log.missing_answers() {
        0 => "no answer is missing".to_owned(),
        1 => "1 answer is missing".to_owned(),
        n => format!("{n} answers are missing"),
    }
}

/// An entry in words; before the reveal, of what [`ScoreLog::shown`](crate::session::score::ScoreLog::shown)
/// leaves of it.
#[must_use]
pub fn entry_words(plan: &Plan, entry: &Entry) -> String {
    match entry {
        Entry::Answer(answer) => answer_words(plan, answer),
        Entry::Correction { of, answer } => {
            format!("{}, instead of line {of}", answer_words(plan, answer))
        }
        Entry::Undo { of } => format!("line {of} taken back"),
        Entry::Note { taster: Some(taster), text } => format!("remark of {taster}: {text}"),
        Entry::Note { taster: None, text } => format!("remark: {text}"),
        Entry::ExpectedOrder { of, order } if order.is_empty() => {
            format!("an expected order for {of}, shown after the reveal")
        }
        Entry::ExpectedOrder { of, order } => {
            format!("expected order for {of}: {}", order.join(" > "))
        }
        Entry::Turned { taster, tray, cups } => {
            let cups: Vec<String> =
                cups.iter().map(|cup| format!("{}={}", cup.top, cup.under)).collect();
            format!("{taster}, tray {tray} turned over: {}", cups.join(" "))
        }
        Entry::Opened { purpose: OpenedFor::AnotherReason, why } => format!("not blind: {why}"),
        Entry::Opened { why, .. } => format!("the key was opened: {why}"),
        Entry::Reveal { missing_answers, forced: Some(why), .. } => {
            format!("revealed, forced with {missing_answers} missing: {why}")
        }
        Entry::Reveal { forced: None, .. } => "revealed".to_owned(),
        Entry::Late { answer } => {
            format!("late, unblinded and left out: {}", answer_words(plan, answer))
        }
    }
}

fn answer_words(plan: &Plan, answer: &Answer) -> String {
    let (what, said) = match answer {
        Answer::Scores { code, values, .. } => {
            let scored = plan.method.attributes().iter().filter_map(|attribute| {
                Some(format!("{} {}", attribute.name, values.get(&attribute.name)?))
            });
            (format!("cup {code}"), scored.collect::<Vec<_>>().join(", "))
        }
        Answer::Ranking { tray, order, .. } => (format!("tray {tray}"), codes_in_a_row(order)),
        Answer::Choice { tray, chosen, .. } => (format!("tray {tray}"), codes_in_a_row(chosen)),
    };
    let note = answer.note().map_or(String::new(), |note| format!("; {note}"));
    format!("{}, {what}: {said}{note}", answer.taster())
}

/// Codes in a row.
#[must_use]
pub fn codes_in_a_row(codes: &[Code]) -> String {
    codes.iter().map(Code::to_string).collect::<Vec<_>>().join(" ")
}

/// What became of a line; nothing when it stands.
#[must_use]
pub fn status_words(status: Status) -> String {
    match status {
        Status::Stands => String::new(),
        Status::Corrected { by } => format!("corrected in line {by}"),
        Status::Undone { by } => format!("taken back in line {by}"),
    }
}

/// What is missing, as short as it is said in a list.
#[must_use]
pub fn pending_words(pending: &Pending) -> String {
    match &pending.what {
        PendingKind::Cup { code, .. } => code.to_string(),
        PendingKind::Tray => format!("tray {}", pending.tray),
        PendingKind::Turning => format!("turning of tray {}", pending.tray),
    }
}
