//! What the tasters said: entries, the book they make, the reveal. The disk is not known here.

pub mod book;
mod check;
pub mod entry;
pub mod foretold;
pub mod refusal;
pub mod replay;
pub mod reveal;
pub mod tidy;

pub use book::{Book, Owed, OwedWhat, Recorded, Standing, Status, TasterProgress};
pub use entry::{Answer, Entry, Line, LineError, OpenedFor, TurnedCup};
pub use foretold::{Foretold, foretold};
pub use refusal::Refusal;
pub use replay::{Replay, ReplayError, ReplayReason, replay};
pub use reveal::{
    ChoiceRow, CupWhere, LeftOut, RankingRow, RevealError, Revealed, ScoreRow, reveal_entry,
    revealed,
};
pub use tidy::{TidyRow, tidy};
