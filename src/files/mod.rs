//! Bytes to disk and back; knows RON and tables, not one word of the trade.

pub mod append;
pub mod csv_table;
pub mod diagnostic;
pub mod lock;
pub mod mistakes;
pub mod read;
pub mod source_text;
pub mod write;
pub mod written;

pub use append::Log;
pub use diagnostic::{Diagnostic, Fault};
pub use lock::Lock;
pub use mistakes::Mistakes;
pub use source_text::SourceText;
pub use written::{Fields, Written};
