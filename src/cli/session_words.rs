//! What is said of the log while scores are entered.

use crate::session::score::entry_text::entry_words;
use crate::session::score::{Line, ScoreLog};

/// A line that is on disk, in words, as it may be shown now.
pub(super) fn on_disk(score_log: &ScoreLog, line: &Line) -> String {
    let words = entry_words(score_log.plan(), &score_log.shown(line).entry);
    format!("line {} is on disk: {words}", line.n)
}

/// How many answers are missing.
pub(super) fn pending(score_log: &ScoreLog) -> String {
    match score_log.missing_answers() {
        0 => "no answer is missing".to_owned(),
        1 => "1 answer is missing".to_owned(),
        n => format!("{n} answers are missing"),
    }
}
