//! A log as it stands on disk, read back line by line.

use thiserror::Error;

use crate::session::plan::Plan;

use crate::session::score::Refusal;
use crate::session::score::ScoreLog;
use crate::session::score::{Line, LineError};

/// Why a log cannot be read back.
#[derive(Debug, Clone, PartialEq, Error)]
#[error("line {line} of the score log: {reason}")]
pub struct ReplayError {
    /// Number of the line, from 1.
    pub line: usize,
    /// Why.
    pub reason: ReplayReason,
}

/// Why a line cannot be taken in.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum ReplayReason {
    /// It is no text.
    #[error("it is no text")]
    NoText,
    /// It is no line of a log.
    #[error(transparent)]
    Line(#[from] LineError),
    /// It contradicts the plan or the lines before it.
    #[error(transparent)]
    Refused(#[from] Refusal),
}

/// Reads a log back.
///
/// A line is confirmed only once its line break is on the disk, so what stands behind the last line
/// break is no line, whatever it says: it is not read, and `files::append` keeps it aside.
///
/// # Errors
/// At the first line that cannot be taken in: such a log was changed by hand.
pub fn replay(plan: &Plan, log: &[u8]) -> Result<ScoreLog, ReplayError> {
    let mut score_log = ScoreLog::new(plan);
    let pieces = log.split_inclusive(|&byte| byte == b'\n');
    for (before, piece) in pieces.take_while(|piece| piece.ends_with(b"\n")).enumerate() {
        let at_line = |reason| ReplayError { line: before + 1, reason };
        for line in read(piece).map_err(at_line)? {
            score_log.accept(line).map_err(|refusal| at_line(refusal.into()))?;
        }
    }
    Ok(score_log)
}

fn read(piece: &[u8]) -> Result<Vec<Line>, ReplayReason> {
    let text = std::str::from_utf8(piece).map_err(|_| ReplayReason::NoText)?;
    Ok(Line::all_from_text(text)?)
}
