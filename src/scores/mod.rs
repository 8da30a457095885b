//! What the tasters said: entries, the book they make, the reveal. The disk is not known here.

mod after_turning;
pub mod book;
mod check;
pub mod desk;
mod desk_words;
pub mod entry;
pub mod foretold;
pub mod intent;
mod naming;
pub mod refusal;
pub mod replay;
pub mod reveal;
pub mod spoken;
pub mod tidy;
pub mod words;

pub use after_turning::AfterTurning;
pub use book::{Book, Owed, OwedWhat, Recorded, Standing, Status, TasterProgress};
pub use desk::{Desk, Heard};
pub use entry::{Answer, Entry, Line, LineError, OpenedFor, TurnedCup};
pub use foretold::{Foretold, foretold};
pub use intent::{Intent, entries_of_rows};
pub use naming::cups_to_serve;
pub use refusal::Refusal;
pub use replay::{Replay, ReplayError, ReplayReason, replay};
pub use reveal::{
    ChoiceRow, CupWhere, LeftOut, RankingRow, RevealError, Revealed, ScoreRow, reveal_entry,
    revealed, stickers_belong,
};
pub use spoken::{Said, SpokenError, said, turned};
pub use tidy::{TidyRow, tidy_rows};
