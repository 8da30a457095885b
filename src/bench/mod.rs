//! The user's folder: the only room that opens bench files and turns them into the trade's types.
//!
//! What a person writes (`bench.ron`, `salts`, `stocks`, `waters`, `flights`) has one as-written
//! type per file kind (`…_entry.rs`), which `deny_unknown_fields`; names are resolved in
//! [`open`](Bench::open) and mistakes worded in `explain.rs`. RON has no values with positions, so
//! a leaf is the raw piece of text (`files/written.rs`): checks that need the trade come after
//! parsing and still point at the literal. Such files are read and never rewritten, since a round
//! trip through RON would drop comments. `new` writes into a new or empty folder only, the mark
//! `bench.ron` last; new files (of a flight, or of a table: [`table_import`]) are never written over one
//! that is there. What looks like a file of the bench and is not read is named on standard error
//! ([`strays`]).
//!
//! What the program records lies in `records`: `batches.jsonl` and `pours.jsonl`, one JSON object a
//! line with its format `v`; an unknown format is an error. A line is written with its line break
//! in one write, then synced, then confirmed; it counts once the line break is there.
//! `records/lock` is held from reading the next number until the line is written, and ends with the
//! process. A piece behind the last line break is what a killed run left: it is not read, and the
//! next writer moves it to `….torn`. A dose follows the newest batch of the same compound; pours
//! carry its number, so old plans keep theirs. [`record_log`] lists all of it in order, [`taken_back`]
//! takes back.
//!
//! A session is a folder in `sessions`, renamed into place whole: `plan.json` (no water is named),
//! `key.sealed` (or where `--key` says, and copied here by the reveal), `waters.json` (doses,
//! salts, batches and composition as planned, the sum of the flight's file; no codes),
//! `scores.jsonl` (answers, corrections, undos, notes, expected orders, turned cups, openings of
//! the key, the reveal, late answers: each a line with its time). All rows of a CSV file are entered in one
//! write. [`session_drift`] says what changed since. A plan is written in the oldest format that
//! can say it. Plans and keys of a seed are the same for ever: `tests/golden/plans` holds some for
//! each number of drawing rules, and other rules need another number in `session::plan::GENERATOR`.
//!
//! May use: all rooms but `reference`, `numerics`, the planner, `session/analysis`, `journal` and
//! `next_flight`. Never: a computation, or a default that hides a mistake.
//!
//! ```
//! # fn main() -> Result<(), Box<dyn std::error::Error>> {
//! use waterflight::bench::Bench;
//!
//! let bench = Bench::open("stocks/demo".as_ref())?;
//! let only = bench.flight_file(None)?;
//! let (flight, stocks) = bench.flight(only)?;
//! assert_eq!((flight.targets.len(), stocks.len()), (8, 6));
//! # Ok(())
//! # }
//! ```

pub mod check;
pub mod check_text;
mod conductivity_entry;
pub mod damage_text;
mod dispenser_entry;
mod explain;
mod flight_entry;
pub(crate) mod flight_writer;
mod folders;
pub mod history;
pub mod index;
mod kept;
mod labels_entry;
mod last_planned;
mod layout;
pub mod leftovers;
mod limits_entry;
mod lost_sessions;
mod machine_entry;
mod no_bench;
mod open;
mod order_entry;
pub mod pack;
mod parse;
pub mod past;
mod pinned_entry;
mod place;
mod profile_entry;
pub mod ready_targets;
mod record_lines;
pub mod record_log;
pub mod record_log_text;
mod record_numbers;
mod record_writer;
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
pub mod table_import;
pub mod taken_back;
mod target_entry;
mod tools_entry;
pub mod trade_answer;
mod water_entry;

pub(crate) use explain::OWN_SALT;
pub(crate) use flight_entry::{BOTTLE_IS, LEAST_BOTTLE_ML};
pub use flight_writer::NewFlight;
pub use folders::{FlightFile, FromFile, Unread, salts_of, unread_files, unread_in};
pub use layout::MARK;
pub use no_bench::find_root;
pub use open::Bench;
pub(crate) use place::no_such;
pub use records::Records;
pub use salt_entry::built_in_salts;
