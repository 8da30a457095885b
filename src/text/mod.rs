//! text

pub mod cautions;
pub mod chart;
pub(crate) mod chart_text;
pub mod diagnostic;
pub mod json;
pub mod names;
pub mod page;
pub mod page_text;
pub mod sources_text;
pub mod table;

pub use page::{Page, Part};
