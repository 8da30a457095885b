//! session::score

pub(crate) mod after_turning;
pub mod answer_parser;
pub mod entry;
pub(crate) mod entry_check;
pub mod entry_prompt;
pub mod entry_text;
pub mod expectation;
pub mod expected_order;
pub mod intent;
mod partial_cup;
pub(crate) mod prompt_text;
pub mod refusal;
pub mod replay;
pub mod reveal;
pub mod score_log;
pub mod tidy_rows;
mod turning_check;
pub(crate) mod unblinding;

pub use after_turning::AfterTurning;
pub use answer_parser::{AnswerError, ParsedAnswer, parse_answer, parse_turned};
pub use entry::{Answer, Entry, Line, LineError, OpenedFor, TurnedCup};
pub use entry_prompt::{EntryPrompt, PromptOutcome};
pub use expectation::{ExpectationError, expectation};
pub use expected_order::{ExpectedOrder, OrderError, expected_orders};
pub use intent::{Intent, entries_of_rows};
pub use refusal::Refusal;
pub use replay::{ReplayError, ReplayReason, replay};
pub use reveal::{
    ChoiceRow, CupPlace, LeftOut, RankingRow, RevealError, Revealed, ScoreRow, reveal_entry,
    revealed, stickers_belong,
};
pub use score_log::{
    Pending, PendingKind, Recorded, RecordedScore, ScoreLog, Status, TasterProgress,
};
pub use tidy_rows::{TidyRow, tidy_rows};
pub use unblinding::cups_to_serve;
