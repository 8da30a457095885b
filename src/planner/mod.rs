//! From goals to doses, by linear programming.
//!
//! [`plan`] turns a flight into answers, water by water, and [`subset`] is the one search for sets of
//! stocks, goals and salts. `lp` states and solves one water, `steps` counts in whole steps of a dispenser,
//! `whole_flight` answers for all waters at once, `explain` says why and what else.
//!
//! May use: `chemistry`, `water`, `stock`, `flight`, and of its own rooms only `lp`. Never: text,
//! files, or an answer that was not rechecked from the original numbers.
//!
//! ```
//! # use waterflight::bench::Bench;
//! # fn main() -> Result<(), Box<dyn std::error::Error>> {
//! # let bench = Bench::open("stocks/demo".as_ref())?;
//! # let file = bench.flight_file(None)?;
//! # let (flight, stocks) = bench.flight(file)?;
//! use waterflight::planner::plan_flight;
//!
//! let plans = plan_flight(&flight, &stocks)?;
//! assert!(plans[0].reached()); // soft
//! assert!((plans[0].ml_per_l[0] - 0.92).abs() < 5e-3); // mL/L of the first stock, calcium
//! assert!(!plans[7].reached()); // hard, all bicarbonate: out of reach of this shelf
//! # Ok(())
//! # }
//! ```

pub mod explain;
pub mod lp;
pub mod plan;
pub mod steps;
pub mod subset;
pub(crate) mod threads;
pub mod whole_flight;

pub use plan::{GoalResult, Plan, PlanError, plan_flight};
