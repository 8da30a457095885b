//! Pages to print and to keep: finished reports as one HTML file each. Nothing is computed here.
//!
//! May use: every room that makes a report, `svg`, `text`. Never: a number of its own, a script, an
//! address that a browser would fetch.
//!
//! ```
//! use maud::html;
//! use waterflight::page::shell;
//!
//! let page = shell::document("Pour sheet", "First flight", &html! { p { "6 bottles" } });
//! assert!(page.starts_with("<!DOCTYPE html>") && page.contains("6 bottles"));
//! assert!(!page.contains("<script"));
//! ```

pub mod bottles;
pub mod everyday;
pub mod journal;
pub mod label_sheet;
pub mod labels;
pub mod parts;
pub mod pictures;
pub mod pour;
pub mod results;
pub mod shell;
pub mod tasting;
pub mod weigh;
