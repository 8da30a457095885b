//! The user's folder: the only room that opens bench files and turns them into the trade's types.

pub mod check;
mod dispenser_entry;
mod explain;
mod flight_entry;
mod flight_writer;
mod kept;
mod last_planned;
pub mod leftovers;
mod limits_entry;
mod machine_entry;
mod open;
mod order_entry;
pub mod past;
mod pinned_entry;
mod place;
mod profile_entry;
pub mod records;
mod salt_entry;
pub mod secret;
pub mod session_drift;
pub mod session_folder;
pub mod session_rows;
pub mod session_waters;
mod settings_entry;
pub mod starter;
mod stock_entry;
pub mod strays;
pub mod strays_text;
mod style_entry;
pub mod table_entry;
mod tools_entry;
mod water_entry;

pub use flight_writer::NewFlight;
pub use open::{Bench, FlightFile, FromFile, MARK, find_root};
pub use records::Records;
pub use salt_entry::built_in_salts;
