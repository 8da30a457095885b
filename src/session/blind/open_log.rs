//! A log that one program keeps adding to, beside others that add to it too: it is read again only
//! when somebody else has written, and many answers share one wait for the disk.

use std::fs;
use std::path::PathBuf;
use std::time::SystemTime;

use crate::files::Diagnostic;
use crate::session::blind::log_file;
use crate::session::plan::Plan;
use crate::session::score::{Entry, Line, Refusal, ScoreLog};

/// What tells a file that others have written from the one that was read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Stamp {
    /// There is none yet.
    NoFile,
    /// Its length, and when it was last written.
    File(u64, SystemTime),
}

/// A log that is kept in memory between writes.
#[derive(Debug)]
pub struct OpenLog {
    folder: PathBuf,
    score_log: ScoreLog,
    /// The file when it was as `score_log` says; nothing when it must be read.
    read_at: Option<Stamp>,
}

impl OpenLog {
    pub(super) fn new(folder: PathBuf, plan: &Plan) -> Self {
        Self { folder, score_log: ScoreLog::new(plan), read_at: None }
    }

    /// The file now; nothing where its system does not tell.
    fn stamp(&self) -> Option<Stamp> {
        match fs::metadata(log_file::path(&self.folder)) {
            Ok(metadata) => Some(Stamp::File(metadata.len(), metadata.modified().ok()?)),
            Err(_) => Some(Stamp::NoFile),
        }
    }

    /// Whether another run has written since this was last read.
    #[must_use]
    pub fn is_behind(&self) -> bool {
        self.read_at.is_none() || self.read_at != self.stamp()
    }

    /// The log as it is on disk. Nothing is shown of a line that another run still waits for, because
    /// that run holds the lock until the disk has it.
    ///
    /// # Errors
    /// When it cannot be read, or another run keeps the lock.
    pub fn current(&mut self) -> Result<&ScoreLog, Diagnostic> {
        if self.is_behind() {
            let _lock = log_file::lock(&self.folder)?;
            self.read_again()?;
        }
        Ok(&self.score_log)
    }

    fn read_again(&mut self) -> Result<(), Diagnostic> {
        let stamp = self.stamp();
        self.score_log = log_file::read(&self.folder, self.score_log.plan())?;
        self.read_at = stamp;
        Ok(())
    }

    /// Records what several ask for, each decided on the log as those before have left it, and each all
    /// or none. One wait for the disk serves them all; when this returns, what succeeded is on it.
    ///
    /// # Errors
    /// None as a whole: each has its own.
    pub fn record_each<E, Ask>(&mut self, asked: Vec<Ask>) -> Vec<Result<Vec<Line>, E>>
    where
        E: From<Diagnostic> + From<Refusal>,
        Ask: FnOnce(&ScoreLog) -> Result<Vec<Entry>, E>,
    {
        let many = asked.len();
        self.record_together(asked).unwrap_or_else(|diagnostic| {
            // What is in memory may be ahead of the disk.
            self.read_at = None;
            (0..many).map(|_| Err(diagnostic.clone().into())).collect()
        })
    }

    fn record_together<E, Ask>(
        &mut self,
        asked: Vec<Ask>,
    ) -> Result<Vec<Result<Vec<Line>, E>>, Diagnostic>
    where
        E: From<Diagnostic> + From<Refusal>,
        Ask: FnOnce(&ScoreLog) -> Result<Vec<Entry>, E>,
    {
        let _lock = log_file::lock(&self.folder)?;
        if self.is_behind() {
            self.read_again()?;
        }
        let score_log = &mut self.score_log;
        let mut answers = Vec::with_capacity(asked.len());
        let mut all = Vec::new();
        for one in asked {
            let lines = one(score_log).and_then(|entries| take_all(score_log, entries));
            all.extend(lines.iter().cloned());
            answers.push(lines);
        }
        if !all.is_empty() {
            self.read_at = None;
            log_file::write(&self.folder, &all)?;
            self.read_at = self.stamp();
        }
        Ok(answers)
    }
}

/// Takes entries in, all or none.
fn take_all<E: From<Refusal>>(
    score_log: &mut ScoreLog,
    entries: Vec<Entry>,
) -> Result<Vec<Line>, E> {
    if entries.len() < 2 {
        return Ok(log_file::take_in(score_log, entries)?);
    }
    let mut trial = score_log.clone();
    let lines = log_file::take_in(&mut trial, entries)?;
    *score_log = trial;
    Ok(lines)
}
