//! What the program does beyond one room, for the command line and for whoever uses the library: a
//! flight of a bench planned, poured, exported and followed by the next one; the waters that a bench can
//! name, made every day, explained, held against a meter; batches and strengths recorded; recipes read
//! backwards; a session drawn, poured, entered and revealed; all sessions in a journal.
//!
//! Work that brings a bench and the rooms of the trade together: typed amounts in, a report or what is
//! wrong out. May use: the rooms before it but `page`. Never: arguments, files read by hand, formulae.
//!
//! ```
//! use waterflight::app::{FlightRequest, Watch, plan_flight_of};
//! use waterflight::bench::Bench;
//!
//! # fn main() -> Result<(), Box<dyn std::error::Error>> {
//! let bench = Bench::open("stocks/demo".as_ref())?;
//! let file = bench.flight_file(Some("first-flight"))?;
//! let planned = plan_flight_of(&bench, file, &FlightRequest::default(), Watch::default())?;
//! assert_eq!(planned.plans.len(), planned.flight.targets.len());
//! # Ok(())
//! # }
//! ```

pub mod advised_strengths;
mod all_scores;
pub mod bench_journal;
pub mod bench_names;
pub mod bottles;
pub mod changed_bottle;
pub mod everyday_water;
pub mod explained_water;
pub mod exported_table;
mod flight_request;
pub(crate) mod flight_verdict;
mod ladder_flight;
pub mod ladder_flight_text;
mod made_water;
pub(crate) mod mistakes;
mod mix_answer;
mod named_flight;
mod named_water;
pub mod next_waters;
pub mod past_scores;
pub mod plan_session;
mod planned_flight;
mod poured_doubts;
pub mod poured_flight;
pub mod ready_targets;
pub mod ready_targets_text;
pub mod recipe_water;
pub mod recorded_batch;
pub mod session_answer;
pub mod session_entries;
pub mod session_pour;
pub mod session_steps;
mod tasted_water;
pub(crate) mod typed_amount;
pub mod verified_stock;
mod wanted_water;
pub mod water_answers;

pub use crate::planner::whole_flight::{Progress, Watch};
pub use flight_request::FlightRequest;
pub use ladder_flight::{LadderFlight, LadderRequest, LadderWater, Placing, write_ladder};
pub use mix_answer::mix_answer;
pub use named_flight::{flight_or_water, in_flight, target_name};
pub use named_water::NamedWaters;
pub use planned_flight::{Planned, plan_flight_of};
pub use wanted_water::wanted_water;
