//! Doses in whole steps of a dispenser: marks of a syringe, drops, steps of a balance.
//!
//! [`portions`] states the problem, `branch_and_bound` searches it, its bounds are proved by
//! `weak_duality` from the original numbers, [`proof`] says what is proved, and [`deliver`] turns
//! steps into plans, without `ballast`. May use: `stock`, `flight`,
//! `planner/lp`, `planner`. Never: rounding of a continuous answer, or "proved" where a gap is
//! left.
//!
//! ```
//! # use waterflight::bench::Bench;
//! # fn main() -> Result<(), Box<dyn std::error::Error>> {
//! # let bench = Bench::open("stocks/demo".as_ref())?;
//! # let file = bench.flight_file(None)?;
//! # let (flight, stocks) = bench.flight(file)?;
//! use waterflight::flight::StockRule;
//! use waterflight::planner::steps::{deliver::TIME_LIMIT, deliver_target};
//!
//! let syringe = &bench.dispensers[0]; // steps of 0.1 mL, at least 0.5 mL
//! let any = StockRule::default();
//! let soft = deliver_target(&flight, &stocks, &flight.targets[0], syringe, &any, TIME_LIMIT)?;
//! assert!(soft.steps.iter().all(|n| *n == 0 || *n >= 5));
//! # Ok(())
//! # }
//! ```

pub(crate) mod ballast;
pub(crate) mod bounding;
pub(crate) mod branch_and_bound;
pub(crate) mod branching;
pub(crate) mod cap_margin;
pub mod deliver;
pub(crate) mod incumbent;
pub mod portions;
pub(crate) mod program_builder;
pub mod proof;
pub(crate) mod relaxation;
pub(crate) mod rounding;
pub(crate) mod tableau;
pub(crate) mod weak_duality;

pub use deliver::{Delivered, deliver_target};
pub use proof::Proof;
