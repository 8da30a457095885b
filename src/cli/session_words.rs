//! What is said of the log while scores are entered.

use crate::bench::session_folder::SessionFolder;
use crate::session::score::entry_text::entry_words;
use crate::session::score::{Line, ScoreLog};

/// A line that is on disk, in words.
pub(super) fn on_disk(session: &SessionFolder, line: &Line) -> String {
    format!("line {} is on disk: {}", line.n, entry_words(&session.plan, &line.entry))
}

/// How many answers are missing.
pub(super) fn pending(score_log: &ScoreLog) -> String {
    match score_log.missing_answers() {
        0 => "no answer is missing".to_owned(),
        1 => "1 answer is missing".to_owned(),
        n => format!("{n} answers are missing"),
    }
}
