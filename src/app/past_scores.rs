//! What all sessions of a bench say, with what is wanted of them.

use crate::bench::Bench;
use crate::bench::index;
use crate::bench::past::{left_out, readable_sessions};
use crate::files::Diagnostic;
use crate::session::plan::AimError;
use crate::session::results::aims::want;
use crate::session::results::{PastSession, WorkedOut};

/// What is wanted, for sessions whose plans do not say so.
#[derive(Debug, Clone, Copy, Default)]
pub struct WantedAfter<'a> {
    /// The attribute or criterion that counts; what the sessions want when none is named.
    pub attribute: Option<&'a str>,
    /// Which way it is wanted: `more`, `less` or `near=VALUE`; as the sessions say when nothing is.
    pub way: Option<&'a str>,
}

/// Why it is not known what is wanted.
pub(crate) fn unwanted(error: &AimError) -> Diagnostic {
    Diagnostic::choice(error.to_string()).expected(error.expected())
}

/// All sessions of a bench that can be read.
pub(super) struct PastScores {
    pub(super) sessions: Vec<PastSession>,
    /// Those that cannot be read, in words.
    pub(super) not_counted: Vec<String>,
    /// What was worked out of them before.
    pub(super) worked_out: WorkedOut,
}

impl PastScores {
    /// Reads them.
    pub(super) fn of(bench: &Bench) -> Result<Self, Diagnostic> {
        let (sessions, unread) = readable_sessions(&bench.root)?;
        let not_counted = unread.iter().map(left_out).collect();
        Ok(Self { sessions, not_counted, worked_out: index::read(&bench.root) })
    }

    /// Says what is wanted of every session that judges it; gives its name.
    pub(super) fn want(&mut self, wanted: WantedAfter<'_>) -> Result<Option<String>, Diagnostic> {
        want(&mut self.sessions, wanted.attribute, wanted.way).map_err(|error| unwanted(&error))
    }

    /// Keeps what was worked out.
    pub(super) fn keep(&self, bench: &Bench) {
        index::keep(&bench.root, &self.worked_out);
    }
}
