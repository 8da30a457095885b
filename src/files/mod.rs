//! Bytes to disk and back; knows RON and tables, not one word of the trade.

pub mod csv_table;
pub mod diagnostic;
pub mod read;
pub mod source_text;
pub mod write;
pub mod written;

pub use diagnostic::{Diagnostic, Fault};
pub use source_text::SourceText;
pub use written::{Fields, Written};
