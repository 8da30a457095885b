//! A log as it stands on disk, read back line by line; a torn last line is kept aside.

use thiserror::Error;

use crate::session::plan::Plan;

use crate::session::score::Refusal;
use crate::session::score::ScoreLog;
use crate::session::score::{Line, LineError};

/// A log read back.
#[derive(Debug, Clone)]
pub struct Replay {
    /// What it says.
    pub score_log: ScoreLog,
    /// Bytes, from the start, that hold whole lines.
    pub whole: usize,
    /// What a write that was cut short left behind them: never confirmed, to be kept aside.
    pub torn: Option<Vec<u8>>,
    /// The last whole line lacks its line feed, which must be written before the next line.
    pub lacks_line_feed: bool,
}

/// Why a log cannot be read back.
#[derive(Debug, Clone, PartialEq, Error)]
#[error("line {line} of the score log: {reason}; restore the log from a copy")]
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
/// A line is confirmed only after its line feed is on the disk. What follows the last line feed is
/// taken in when it is a whole line, and handed back as torn when not.
///
/// # Errors
/// At the first line that was complete and cannot be taken in: such a log was changed by hand.
pub fn replay(plan: &Plan, log: &[u8]) -> Result<Replay, ReplayError> {
    let mut score_log = ScoreLog::new(plan);
    let mut whole = 0;
    for (before, piece) in log.split_inclusive(|&byte| byte == b'\n').enumerate() {
        let at_line = |reason| ReplayError { line: before + 1, reason };
        let finished = piece.ends_with(b"\n");
        match read(piece) {
            Ok(lines) => {
                for line in lines {
                    score_log.accept(line).map_err(|refusal| at_line(refusal.into()))?;
                }
                whole += piece.len();
                if !finished {
                    return Ok(Replay { score_log, whole, torn: None, lacks_line_feed: true });
                }
            }
            Err(reason) if finished => return Err(at_line(reason)),
            Err(reason @ ReplayReason::Line(LineError::TooNew { .. })) => {
                return Err(at_line(reason));
            }
            Err(_) => {
                let torn = Some(piece.to_vec());
                return Ok(Replay { score_log, whole, torn, lacks_line_feed: false });
            }
        }
    }
    Ok(Replay { score_log, whole, torn: None, lacks_line_feed: false })
}

fn read(piece: &[u8]) -> Result<Vec<Line>, ReplayReason> {
    let text = std::str::from_utf8(piece).map_err(|_| ReplayReason::NoText)?;
    Ok(Line::all_from_text(text)?)
}
