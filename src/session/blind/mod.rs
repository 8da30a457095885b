//! A session on disk as those who taste may know it: its plan and its log. What stands here cannot
//! open the key, nor the list of waters, because it knows neither their names nor their types.
//!
//! May use: `files`, `quantities`, and `session`'s `plan` and `score`. Never: the key, the waters, what
//! an answer is worth.
//!
//! ```
//! # use waterflight::session::plan::Plan;
//! # fn main() -> Result<(), Box<dyn std::error::Error>> {
//! # let written = std::fs::read_to_string("tests/golden/plans/rules-2/scoring.plan.json")?;
//! # let around = tempfile::tempdir()?;
//! # let folder = around.path().join(Plan::from_text(&written)?.session);
//! # std::fs::create_dir(&folder)?;
//! # std::fs::write(folder.join("plan.json"), written)?;
//! use waterflight::session::blind::BlindSession;
//!
//! let session = BlindSession::open(&folder)?; // neither key nor waters are in there
//! assert_eq!(session.score_log()?.missing_answers(), 36);
//! # Ok(())
//! # }
//! ```

pub(crate) mod log_file;
pub(crate) mod open_log;

use std::fmt::Display;
use std::path::{Path, PathBuf};

use crate::files::{Diagnostic, Fault, read};
use crate::session::plan::Plan;
use crate::session::score::ScoreLog;

pub use open_log::OpenLog;

/// The file of the plan in a session's folder.
pub(crate) const PLAN: &str = "plan.json";

/// A session of which only the plan and the log can be read.
#[derive(Debug, Clone)]
pub struct BlindSession {
    folder: PathBuf,
    plan: Plan,
}

impl BlindSession {
    /// Opens the session in a folder that bears its name.
    ///
    /// # Errors
    /// When the plan is not there, cannot be read, or is that of another session.
    pub fn open(folder: &Path) -> Result<Self, Diagnostic> {
        let file = folder.join(PLAN);
        let plan =
            Plan::from_text(read::text(&file)?.text()).map_err(|error| damaged(&file, &error))?;
        let name = folder.file_name().unwrap_or_default().to_string_lossy();
        if plan.session != name {
            let why = format!("the plan is that of the session `{}`", plan.session);
            return Err(Diagnostic::new(Fault::Content, why)
                .about(&file)
                .remedy(format!("call the folder `{}` again", plan.session)));
        }
        Ok(Self { folder: folder.to_owned(), plan })
    }

    /// The plan.
    #[must_use]
    pub fn plan(&self) -> &Plan {
        &self.plan
    }

    /// Reads the log.
    ///
    /// # Errors
    /// When a whole line of it cannot be taken in.
    pub fn score_log(&self) -> Result<ScoreLog, Diagnostic> {
        log_file::read(&self.folder, &self.plan)
    }

    /// The log, to be added to again and again.
    #[must_use]
    pub fn open_log(self) -> OpenLog {
        OpenLog::new(self.folder, &self.plan)
    }
}

/// A file of the tool that cannot be read back.
pub(crate) fn damaged(path: &Path, why: &impl Display) -> Diagnostic {
    Diagnostic::new(Fault::Content, why.to_string())
        .about(path)
        .remedy("the tool writes this file and nobody else should: restore it from a copy")
}
