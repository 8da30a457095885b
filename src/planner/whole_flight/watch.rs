//! Someone who waits: sees how far a long search is, and may stop it.

use std::fmt;
use std::sync::atomic::{AtomicBool, Ordering};

/// How far a search is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Progress<'a> {
    /// What is being searched for, in words.
    pub what: &'a str,
    /// Number of the stage, from 0.
    pub stage: usize,
    /// Part of the stage, 0 to 1, as far as it is known.
    pub part: f64,
}

/// Told of the progress.
pub type Listener<'a> = &'a (dyn Fn(Progress<'_>) + Sync);

/// Who waits for an answer.
#[derive(Clone, Copy, Default)]
pub struct Watch<'a> {
    /// Told of the progress now and then, from any thread.
    pub listener: Option<Listener<'a>>,
    /// Once it is set the search ends: with the best answer it has, or with none.
    pub stop: Option<&'a AtomicBool>,
}

impl fmt::Debug for Watch<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Watch").field("stop", &self.stop).finish_non_exhaustive()
    }
}

impl Watch<'_> {
    /// Tells how far the search is; false when it is to end.
    pub(crate) fn go_on(&self, what: &str, stage: usize, part: f64) -> bool {
        if let Some(listener) = self.listener {
            listener(Progress { what, stage, part });
        }
        !self.stopped()
    }

    /// Whether the search is to end.
    pub(crate) fn stopped(&self) -> bool {
        self.stop.is_some_and(|stop| stop.load(Ordering::Relaxed))
    }
}
