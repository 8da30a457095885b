//! How finished results become text: pages of lines, tables and charts, one JSON document, a
//! mistake drawn in the line of its file, and the cautions, each once.
//!
//! May use: `reference`, `quantities`, `files`. Never: a computation. The text of a result stands
//! in the room of the result (`…_text.rs`); here is only what several rooms share.
//!
//! ```
//! use waterflight::text::{Page, page_text};
//!
//! let mut page = Page::default();
//! page.say("Serving sheet");
//! page.show(&["tray", "cups"], vec![vec!["1".to_owned(), "278 195 658".to_owned()]]);
//! assert!(page_text::text(&page).contains("278 195 658"));
//! ```

pub mod cautions;
pub mod chart;
pub(crate) mod chart_text;
pub(crate) mod close_table;
pub mod command_line;
pub mod diagnostic;
pub mod json;
pub mod names;
pub mod page;
pub mod page_text;
pub(crate) mod proposed;
pub mod screen;
pub mod sources_text;
pub mod table;
mod visible;

pub use page::{Page, Part};
pub use screen::Extent;
pub use visible::visible;
