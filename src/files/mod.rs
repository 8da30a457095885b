//! Bytes to disk and back; knows RON, not one word of the trade.

pub mod append;
pub mod diagnostic;
pub mod lock;
pub mod read;
pub mod source_text;
pub mod write;
pub mod written;

pub use append::Log;
pub use diagnostic::{Diagnostic, Fault};
pub use lock::Lock;
pub use source_text::SourceText;
pub use written::{Fields, Written};
