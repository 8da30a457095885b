//! How far a long plan is, for someone who looks at a terminal. Ctrl-C ends the program at once:
//! planning writes nothing that could be left half done.

use std::io::{IsTerminal, Write, stderr};
use std::sync::Mutex;
use std::time::{Duration, Instant};

use crate::app::{Progress, Watch};

/// Our choice: a wait shorter than this needs no word.
const QUIET_FOR: Duration = Duration::from_secs(2);

/// Our choice: a line that changes more often than this cannot be read.
const PACE: Duration = Duration::from_millis(200);

/// Does a work while a line says how far it is.
pub(super) fn watched<T>(work: impl FnOnce(Watch<'_>) -> T) -> T {
    let line = Line::new();
    let listener = |progress: Progress<'_>| line.show(progress);
    work(Watch { listener: Some(&listener), stop: None })
}

/// A line on standard error that is written over, while that is a terminal; nothing otherwise.
struct Line {
    next: Option<Mutex<Instant>>,
    begun: Instant,
}

impl Line {
    fn new() -> Self {
        let begun = Instant::now();
        let next = stderr().is_terminal().then(|| Mutex::new(begun + QUIET_FOR));
        Self { next, begun }
    }

    fn show(&self, progress: Progress<'_>) {
        let Some(next) = &self.next else { return };
        let Ok(mut next) = next.lock() else { return };
        let now = Instant::now();
        if now < *next {
            return;
        }
        *next = now + PACE;
        let seconds = now.duration_since(self.begun).as_secs();
        // Where the line cannot be written nobody reads it.
        let _ = write!(
            stderr(),
            "\r{}: stage {}, {:.0} %, {seconds} s (Ctrl-C ends it)\u{1b}[K",
            progress.what,
            progress.stage + 1,
            100.0 * progress.part
        );
    }
}

impl Drop for Line {
    /// Takes the line away, if one was written.
    fn drop(&mut self) {
        if self.next.is_some() && self.begun.elapsed() >= QUIET_FOR {
            let _ = write!(stderr(), "\r\u{1b}[K");
        }
    }
}
