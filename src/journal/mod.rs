//! All sessions of a bench together: what each water and each recipe did over time, what won, what
//! was never tasted, and the scatter that the next plan may count on.
//!
//! May use: `quantities`, `text`, and `session`'s `plan`, `score`, `analysis` and `results`. Never:
//! a file (`bench` reads the sessions), or sessions added up that were scored on other scales.
//!
//! ```
//! use waterflight::journal::Journal;
//! use waterflight::session::results::{PastSession, WorkedOut};
//!
//! let (name, at) = ("first-flight-1".to_owned(), "2026-03-01".to_owned());
//! let planned = PastSession { name, at, made: Vec::new(), revealed: None };
//! let journal = Journal::new(&[planned], &["soft".to_owned()], &WorkedOut::default(), None);
//! assert_eq!(journal.not_revealed, ["first-flight-1"]);
//! assert_eq!(journal.never_tasted, ["soft"]);
//! ```

pub(crate) mod measured_sessions;
pub(crate) mod page;
pub mod score_rows;
pub(crate) mod summary;

pub use measured_sessions::measured_scatter;
pub use summary::{ComparedPair, Journal, Recipe, ServedWater};
