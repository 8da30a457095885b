//! One water as a linear program: stated ([`program`]), solved stage by stage ([`stages`]; the answer, or why there is
//! none, in [`solution`]) by a
//! simplex of our own (`piecewise` is its form, `simplex`, `long_step`, `dual_simplex` and `warm_start` its steps),
//! and rechecked outside of it ([`recheck`]). `block_angular` joins the waters of a flight and
//! computes in any numbers, on the columns that `litre` writes out; `least_doses` states a water with a
//! least dose of each stock as one without.
//!
//! May use: `chemistry`, `water`, `stock`, `flight`. Never: whole numbers (`steps`), several waters
//! at once but for the blocks they share, or a solver's word without its proof.
//!
//! ```
//! # use waterflight::bench::Bench;
//! # fn main() -> Result<(), Box<dyn std::error::Error>> {
//! # let bench = Bench::open("stocks/demo".as_ref())?;
//! # let file = bench.flight_file(None)?;
//! # let (flight, stocks) = bench.flight(file)?;
//! use waterflight::planner::lp::program::{PourableColumns, Priorities, push_rows};
//! use waterflight::planner::lp::stages::Planner;
//!
//! let columns = PourableColumns::of(&flight, &stocks);
//! let mut rows = Vec::new();
//! push_rows(&flight.targets[0], &mut rows);
//! let solution = Planner::default().solve(&columns, &rows, &Priorities::default())?;
//! assert!(solution.beyond < 1e-9); // every goal of `soft` within its tolerance
//! assert!((solution.shares.iter().sum::<f64>() - 1.0).abs() < 0.01); // and the rest is base water
//! # Ok(())
//! # }
//! ```

pub(crate) mod block_angular;
pub(crate) mod dual_simplex;
pub(crate) mod layout;
pub(crate) mod least_doses;
pub(crate) mod litre;
pub(crate) mod long_step;
pub(crate) mod matrix;
pub(crate) mod piecewise;
pub mod program;
pub(crate) mod real;
pub mod recheck;
pub(crate) mod simplex;
pub mod solution;
pub mod stages;
pub(crate) mod status;
pub(crate) mod warm_start;
