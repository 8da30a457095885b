//! The table while nobody knows which code is which water: what tasters and host see and send. It is
//! given a plan and a log and can reach nothing else: neither the key, nor the list of waters, nor a
//! file by its name.
//!
//! May use: `files` (mistakes), `text`, `svg` (colours), `session`'s `plan`, `score` and `blind`. Never:
//! the key, the waters, an analysis; in a response, anything of another taster.

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
pub use places::{Kind, Place, Places};
pub use routes::Blind;
pub use table::{HostView, Outcome, Phone, Table};
