//! A cup of which something is typed at the prompt and nothing is written yet.

use crate::session::plan::Code;
use crate::session::score::{AnswerError, Entry, ParsedAnswer, PendingKind, ScoreLog};

/// A cup of which something is typed and nothing is written.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct PartialCup {
    pub(crate) code: Code,
    /// Attributes to be given.
    pub(crate) wanted: Vec<String>,
    pub(crate) scores: Vec<(String, Option<f64>)>,
    pub(crate) note: Option<String>,
}

impl PartialCup {
    /// Attributes without a word.
    pub(crate) fn lacks(&self) -> Vec<&str> {
        let given = |name: &&String| !self.scores.iter().any(|(given, _)| given == *name);
        self.wanted.iter().filter(given).map(String::as_str).collect()
    }
}

/// A cup of which nothing is typed yet, if it may be scored.
pub(super) fn begun(
    score_log: &ScoreLog,
    taster: &str,
    code: Code,
) -> Result<PartialCup, AnswerError> {
    let pending = score_log.progress_of(taster).pending;
    let wanted = pending.into_iter().find_map(|one| match one.what {
        PendingKind::Cup { code: pending, attributes } if pending == code => Some(attributes),
        _ => None,
    });
    if let Some(wanted) = wanted {
        return Ok(PartialCup { code, wanted, scores: Vec::new(), note: None });
    }
    // Nothing is missing of it, so any score of it is refused, for the reason that the log has.
    let lowest = score_log.plan().method.attributes().iter().map(|a| (a.name.clone(), Some(a.low)));
    let again = ParsedAnswer::of_cup(taster, code, lowest.collect(), None);
    score_log.check(&Entry::Answer(again.answer().clone()))?;
    Err(AnswerError::NoCode)
}
