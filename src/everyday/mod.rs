//! From the winner to everyday water: dry salts for a tank, a bottle of concentrate and what
//! precipitates or gasses off in it, a recipe read backwards, and what it costs beside a ready
//! product.
//!
//! May use: `reference`, `quantities`, `numerics`, `text`, `chemistry`, `water`, `stock`, `flight`,
//! `planner`'s `lp` and `steps`, `assessment`, `mix`. Never: "clear" or "nothing precipitates"
//! without naming what was not considered.
//!
//! ```
//! # use waterflight::bench::Bench;
//! # fn main() -> Result<(), Box<dyn std::error::Error>> {
//! # let bench = Bench::open("stocks/demo".as_ref())?;
//! # let file = bench.flight_file(None)?;
//! # let (flight, stocks) = bench.flight(file)?;
//! use waterflight::assessment::Lab;
//! use waterflight::everyday::{BatchReport, ReadyProduct, Wanted};
//! use waterflight::stock::DrySalt;
//!
//! let (base, salts) = (flight.base.clone(), DrySalt::of_shelf(&stocks));
//! let target = flight.targets[1].clone();
//! let wanted = Wanted { target, base, salts, stocks, notes: Vec::new() };
//! let nothing = (bench.water_prices.as_slice(), &ReadyProduct::default());
//! let lab = Lab::new(bench.boilers)?;
//! let batch = BatchReport::new(&wanted, 100.0, bench.tools.weighing, &bench.tools, &lab, nothing)?;
//! // 100 L need whole hundredths of a gram, and a balance of 0.01 g weighs them to ± 1 %
//! assert!(batch.salts.iter().all(|s| (s.g / 0.01 - (s.g / 0.01).round()).abs() < 1e-6));
//! assert!(batch.salts.iter().all(|s| s.expanded_percent < 1.0));
//! # Ok(())
//! # }
//! ```

pub(crate) mod batch_limit;
pub mod batch_poured;
pub(crate) mod batch_recipe;
pub mod batch_text;
pub mod concentrate;
pub mod concentrate_text;
pub mod cost;
pub mod dry_batch;
pub mod few_salts;
pub mod made_water;
pub mod recipe_text;
pub mod salt_cautions;
pub mod wanted;
pub mod weigh_out;

pub use batch_recipe::{Accuracy, COARSEST_PERCENT};
pub use cost::{EverydayCost, ReadyProduct};
pub use dry_batch::BatchReport;
pub use salt_cautions::SaltCautions;
pub use wanted::Wanted;
pub use weigh_out::WeighedOut;
