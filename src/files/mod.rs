//! Bytes to disk and back: files read whole and written whole, logs that only grow, locks, tables,
//! RON with the place of every value, and mistakes as data ([`Diagnostic`]: where, found, expected,
//! remedy).
//!
//! May use: nothing. Never: a word of the trade; `bench` knows what the files mean. Nothing is
//! written over, and nothing is confirmed before it is on disk.
//!
//! ```
//! use waterflight::files::near_name::nearest;
//! use waterflight::files::{Diagnostic, Fault};
//!
//! let near = nearest("magnesum", &["calcium", "magnesium", "sodium"]);
//! assert_eq!(near, Some("magnesium"));
//! let mistake = Diagnostic::content("`magnesum` is not a measure").found("magnesum");
//! assert_eq!(mistake.details().title, "`magnesum` is not a measure");
//! ```

pub mod append;
mod brackets;
pub mod clock;
pub mod csv_table;
pub mod diagnostic;
mod disk;
mod disk_errors;
pub mod lock;
pub mod mistakes;
pub mod near_name;
pub mod read;
pub mod source_text;
mod syntax;
pub mod unfinished;
pub mod write;
pub mod written;

pub use append::Log;
pub use diagnostic::{Diagnostic, Fault};
pub use lock::Lock;
pub use mistakes::Mistakes;
pub use source_text::SourceText;
pub use written::{Fields, Written};
