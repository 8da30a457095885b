//! A flight planned as a whole: few stocks for all waters, the best so many, or what is left in the
//! bottles shared between them. Someone who waits may watch the search and stop it ([`watch`]).
//!
//! May use: `stock`, `flight`, and the planner's `lp`, `steps` and its own files. Never: the report
//! of what was chosen, which is `mix`'s.
//!
//! ```
//! # use waterflight::bench::Bench;
//! # fn main() -> Result<(), Box<dyn std::error::Error>> {
//! # let bench = Bench::open("stocks/demo".as_ref())?;
//! # let file = bench.flight_file(None)?;
//! # let (flight, stocks) = bench.flight(file)?;
//! use waterflight::flight::{Order, StockSet};
//! use waterflight::planner::steps::deliver::TIME_LIMIT;
//! use waterflight::planner::whole_flight::plan_order;
//!
//! let order = Order { stock_set: StockSet::Fewest, ..Order::default() };
//! let ordered = plan_order(&flight, &stocks, &order, TIME_LIMIT)?;
//! let chosen = ordered.chosen.ok_or("all stocks")?;
//! assert!(chosen.proved && chosen.members.iter().filter(|m| **m).count() == 4);
//! # Ok(())
//! # }
//! ```

pub(crate) mod choose_stocks;
pub mod joint;
pub mod plan_order;
pub mod watch;

pub use plan_order::{Ordered, Unanswered, plan_order, plan_order_watched};
pub use watch::{Progress, Watch};
