//! Why a water is out of reach, which goals bind in one that is in reach, other recipes for the
//! same water, and the water nearest to another one.
//!
//! Every statement is another solve, never read off the signs of multipliers. May use: `chemistry`,
//! `water`, `stock`, `flight`, `planner/lp`, `planner`. Never: words for people, which are `mix`'s.
//!
//! ```
//! # use waterflight::bench::Bench;
//! # fn main() -> Result<(), Box<dyn std::error::Error>> {
//! # let bench = Bench::open("stocks/demo".as_ref())?;
//! # let file = bench.flight_file(None)?;
//! # let (flight, stocks) = bench.flight(file)?;
//! use waterflight::planner::explain::Explainer;
//!
//! // hard, all bicarbonate: hardness, chloride and sulfate cannot all be kept, any two of them can
//! let conflict = Explainer::new(&flight, &stocks).conflicting_goals(&flight.targets[7])?;
//! assert_eq!(conflict.len(), 3);
//! # Ok(())
//! # }
//! ```

pub mod alternatives;
pub mod charges;
pub mod nearest;
pub mod out_of_reach;
mod question;
pub mod reach_region;
pub mod reason;
pub mod remedies;
pub mod why;

pub use alternatives::alternatives;
pub use nearest::plan_nearest_to;
pub use out_of_reach::{Explainer, Hints};
pub use reach_region::reach_region;
pub use why::{Why, why};
