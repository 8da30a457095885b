//! The sheets of a session: the pourer's, the only one that names waters; the server's and the
//! tasters', which know codes; how far a session is; what the panel can find, as its host reads it.
//!
//! May use: `quantities`, `text`, `chemistry`, `stock`, `mix`, and `session`'s `plan`, `score` and
//! `analysis`. Never: a sheet from which someone who tastes could learn which code is which water.
//!
//! ```
//! # use waterflight::session::plan::Plan;
//! # fn main() -> Result<(), Box<dyn std::error::Error>> {
//! # let written = std::fs::read_to_string("tests/golden/plans/rules-2/scoring.plan.json")?;
//! # let plan = Plan::from_text(&written)?;
//! use waterflight::session::plan::key::in_groups;
//! use waterflight::session::serve::sheets;
//! use waterflight::text::page_text;
//!
//! let sheet = page_text::text(&sheets::server(&plan));
//! assert!(sheet.contains("498") && sheet.contains(&in_groups(&plan.seal))); // a code, and the seal of the key
//! assert!(!sheet.contains("sulfate side")); // a water of this session
//! # Ok(())
//! # }
//! ```

pub mod commands;
pub mod forecast_page;
pub mod measured_out;
pub(crate) mod on_every_sheet;
mod pouring_screen;
pub mod pouring_sheet;
pub mod progress;
pub mod sheets;
