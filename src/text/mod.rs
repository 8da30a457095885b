//! text

pub mod cautions;
pub mod chart;
pub(crate) mod chart_text;
pub mod diagnostic;
pub mod json;
pub mod page;
pub mod page_text;
pub mod sources_text;
pub(crate) mod table;
mod visible;

pub use page::{Page, Part};
pub use visible::visible;
