//! The log of answers: what may be entered, one line one value, read back line by line, and the
//! reveal that names the waters.
//!
//! Nothing recorded is ever changed: a correction is a line of its own. An entry is checked on the
//! log as it then is. May use: `session/plan`. Never: a file (the log's bytes come from `bench`),
//! an opinion on the answers, or the name of a water
//! shown before the reveal: an expected order is entered with names and shown after it.
//!
//! ```
//! # use waterflight::session::plan::Plan;
//! # fn main() -> Result<(), Box<dyn std::error::Error>> {
//! # let written = std::fs::read_to_string("tests/golden/plans/rules-2/scoring.plan.json")?;
//! # let plan = Plan::from_text(&written)?;
//! use waterflight::session::score::ScoreLog;
//!
//! let log = ScoreLog::new(&plan); // two tasters, two trays of nine cups each
//! assert_eq!(log.missing_answers(), 36);
//! assert_eq!(log.revealed_in(), None);
//! # Ok(())
//! # }
//! ```

pub(crate) mod after_turning;
pub mod answer_parser;
pub mod delivery;
pub mod entry;
pub(crate) mod entry_check;
pub mod entry_prompt;
pub mod entry_text;
pub mod expectation;
pub mod expected_order;
pub mod intent;
pub mod order_error;
mod partial_cup;
pub mod progress;
pub(crate) mod prompt_text;
pub mod refusal;
pub mod replay;
pub mod reveal;
mod reveal_error;
mod revealed_session;
pub mod score_log;
pub(crate) mod subject;
pub mod tidy_rows;
mod turning_check;
pub(crate) mod unblinding;

pub use after_turning::AfterTurning;
pub use answer_parser::{AnswerError, ParsedAnswer, parse_answer, parse_turned};
pub use delivery::{Delivery, History, Sent, Standing};
pub use entry::{Answer, Entry, Line, LineError, OpenedFor, TurnedCup};
pub use entry_prompt::{EntryPrompt, PromptOutcome};
pub use expectation::{ExpectationError, expectation};
pub use expected_order::{ExpectedOrder, expected_orders};
pub use intent::{Intent, entries_of_rows};
pub use order_error::OrderError;
pub use progress::{Pending, PendingKind, TasterProgress};
pub use refusal::Refusal;
pub use replay::{ReplayError, ReplayReason, replay};
pub use reveal::{reveal_entry, revealed, stickers_belong};
pub use reveal_error::RevealError;
pub use revealed_session::{ChoiceRow, CupPlace, LeftOut, RankingRow, Revealed, ScoreRow};
pub use score_log::{Recorded, RecordedScore, ScoreLog, Status};
pub use tidy_rows::{TidyRow, tidy_rows};
pub use unblinding::cups_to_serve;
