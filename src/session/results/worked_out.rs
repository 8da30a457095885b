//! What was worked out of revealed sessions before, so that it need not be worked out again.
//!
//! An entry is found by a SHA-256 sum over the whole revealed session, what is wanted of it included,
//! and over the question. Another state of the session has another sum, so that no entry can be out of
//! date. Nothing here is the truth: every entry can be made again from the sessions.

use std::cell::{Cell, RefCell};
use std::collections::BTreeMap;
use std::fmt::{self, Write};

use serde::Serialize;
use serde::de::DeserializeOwned;
use sha2::{Digest, Sha256};

use crate::session::plan::draw::to_hex;
use crate::session::score::Revealed;

/// Our choice: above this many bytes only the entries that were asked for are kept; those of a thousand
/// sessions take a tenth of it.
const MOST_BYTES: usize = 1 << 26;

/// Answers to questions about revealed sessions, found by what they follow from.
#[derive(Debug, Default)]
pub struct WorkedOut {
    /// What was read, by its sum.
    kept: BTreeMap<String, String>,
    /// What was asked for: one more answer, or one of those kept.
    asked: RefCell<BTreeMap<String, String>>,
    /// How many answers were not there.
    made: Cell<usize>,
}

impl WorkedOut {
    /// The answer to a question about a session: as it was kept, or as `work` gives it. The name of the
    /// question stands for everything that `work` does with the session.
    pub fn answer<T>(&self, revealed: &Revealed, question: &str, work: impl FnOnce() -> T) -> T
    where
        T: Serialize + DeserializeOwned + PartialEq,
    {
        let sum = sum(revealed, question);
        if let Some(text) = self.kept.get(&sum)
            && let Ok(answer) = ron::from_str(text)
        {
            self.asked.borrow_mut().insert(sum, text.clone());
            return answer;
        }
        let answer = work();
        self.made.set(self.made.get() + 1);
        // Only what reads back as the same, to the last bit, may stand for it.
        if let Ok(text) = ron::to_string(&answer)
            && !text.contains(['\n', '\r'])
            && ron::from_str::<T>(&text).is_ok_and(|again| again == answer)
        {
            self.asked.borrow_mut().insert(sum, text);
        }
        answer
    }

    /// How many answers had to be worked out.
    #[must_use]
    pub fn made(&self) -> usize {
        self.made.get()
    }

    /// Reads lines of sums and answers; a line that is none is passed over.
    #[must_use]
    pub fn from_lines<'a>(lines: impl Iterator<Item = &'a str>) -> Self {
        let entry = |line: &str| {
            line.split_once('\t').map(|(sum, answer)| (sum.to_owned(), answer.to_owned()))
        };
        Self { kept: lines.filter_map(entry).collect(), ..Self::default() }
    }

    /// Lines of sums and answers, those read and those worked out since.
    #[must_use]
    pub fn to_lines(&self) -> String {
        let asked = self.asked.borrow();
        let others = || self.kept.iter().filter(|(sum, _)| !asked.contains_key(*sum));
        let bytes: usize = asked.iter().chain(others()).map(|(s, a)| s.len() + a.len() + 2).sum();
        let others = others().take(if bytes > MOST_BYTES { 0 } else { usize::MAX });
        asked.iter().chain(others).fold(String::new(), |mut text, (sum, answer)| {
            text.extend([sum.as_str(), "\t", answer.as_str(), "\n"]);
            text
        })
    }
}

/// The sum that an answer is found by. `Debug` gives every field in its place and every number with all
/// its digits.
fn sum(revealed: &Revealed, question: &str) -> String {
    struct Summed(Sha256);
    impl Write for Summed {
        fn write_str(&mut self, text: &str) -> fmt::Result {
            self.0.update(text.as_bytes());
            Ok(())
        }
    }
    let mut summed = Summed(Sha256::new());
    // Summing up cannot fail.
    let _ = write!(summed, "{question}\n{revealed:?}");
    to_hex(&summed.0.finalize())
}
