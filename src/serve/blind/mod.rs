//! The table while nobody knows which code is which water: what tasters and host see and send. It is
//! given a plan and a log and can reach nothing else: neither the key, nor the list of waters, nor a
//! file by its name.
//!
//! May use: `files` (mistakes), `svg` (colours, codes), `session`'s `plan`, `score` and `blind`, and
//! `serve/transport`. Never: the key, the waters, an analysis; in a response, anything of another taster.
//!
//! ```
//! # use waterflight::session::plan::Plan;
//! # fn main() -> Result<(), Box<dyn std::error::Error>> {
//! # let written = std::fs::read_to_string("tests/golden/plans/rules-2/scoring.plan.json")?;
//! # let plan = Plan::from_text(&written)?;
//! use waterflight::serve::blind::Places;
//!
//! let places = Places::of(&plan, &plan.tasters[0]); // two trays of nine cups, one cup a screen
//! assert_eq!(places.list().len(), 18);
//! # Ok(())
//! # }
//! ```

pub mod assets;
pub mod frame;
pub mod host_page;
pub mod links;
pub mod places;
pub mod respond;
pub mod routes;
pub mod scale;
pub mod sent_form;
pub mod table;
pub mod taster_page;
pub mod writer;

pub use links::Links;
pub use places::{Place, Places};
pub use routes::Blind;
pub use table::{HostView, Outcome, Table};
