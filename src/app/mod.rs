//! What the program does beyond one room, for the command line and for whoever uses the library: a
//! flight of a bench planned as its file asks, the waters that a bench can name, a session drawn,
//! poured and revealed.
//!
//! Work that brings a bench and the rooms of the trade together. May use: every room but `cli`.
//! Never: arguments, files read by hand, formulae.
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

pub mod all_scores;
pub mod bottles;
mod flight_request;
mod ladder_flight;
pub mod made_water;
pub(crate) mod mistakes;
mod mix_answer;
mod named_water;
pub mod plan_session;
mod planned_flight;
pub mod session_steps;
mod tasted_water;
mod wanted_water;

pub use crate::planner::whole_flight::Watch;
pub(crate) use flight_request::unknown_name;
pub use flight_request::{FlightRequest, dispenser};
pub use ladder_flight::{LadderFlight, LadderRequest, LadderWater, Placing, write_ladder};
pub use mix_answer::mix_answer;
pub use named_water::NamedWaters;
pub use planned_flight::{
    Planned, allowed_stocks, flight_or_water, in_flight, is_target, named_target, plan_flight_of,
    target_name, without_flight,
};
pub use wanted_water::wanted_water;
