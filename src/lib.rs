//! waterflight plans flights of brewing waters: single-salt stock solutions in, millilitres of
//! each per litre out, for many waters at once, and what each water then is.
//!
//! ```text
//! reference ─► quantities ─► chemistry ─► water ─► stock     what there is
//!                                           └────► flight    what is wanted
//! planner ─► assessment ─► mix ─► everyday                   what is poured, and what it then is
//! session: plan ─► score ─► analysis ─► serve, results       what was tasted
//! journal, next_flight                                       what follows
//!
//! files ─► bench (the user's folder) ─► app (what the program does) ─► cli
//! ```
//!
//! | to | begin with |
//! |---|---|
//! | plan waters of your own, without a folder | [`plan_flight`], [`flight::Flight`], [`stock::Stock`] |
//! | know a water: pH, limescale, what a meter shows | [`assessment::Lab`] |
//! | open a bench folder and do what the program does | [`Bench`], [`app`] |
//! | draw, score and analyse a blind tasting | [`session`], [`app::plan_session`] |
//! | show a mistake | [`Mistakes`], [`Diagnostic`] |
//!
//! From a bottle to a cup:
//!
//! ```
//! use waterflight::bench::built_in_salts;
//! use waterflight::plan_flight;
//! use waterflight::quantities::{Celsius, Fraction, Grams, Litres};
//! use waterflight::stock::{Catalogue, Lot, Making, Recipe, Stock};
//! use waterflight::flight::{BaseShare, Convention, Flight, Goal, DoseLimits, MissRule, Preference, Target};
//! use waterflight::water::{BaseWater, Measure};
//!
//! # fn main() -> Result<(), Box<dyn std::error::Error>> {
//! let salts = Catalogue::new(built_in_salts()?);
//! // 40 g of Epsom salt and water to 1 kg
//! let epsom = Stock::new(Recipe {
//!     name: "epsom".to_owned(),
//!     salt: salts.find("MgSO4·7H2O")?.clone(),
//!     lot: Lot::default(),
//!     making: Making::ToTotalMass { salt: Grams::new(40.0), total: Grams::new(1000.0) },
//!     temperature: Celsius::new(20.0),
//! })?;
//! let flight = Flight {
//!     title: "one water".to_owned(),
//!     base: vec![BaseShare { water: BaseWater::distilled(), at_most: Fraction::new(1.0) }],
//!     bottle: Litres::new(0.5),
//!     convention: Convention::MadeUpToALitre,
//!     misses: MissRule::Sum,
//!     preference: Preference::LeastVolume,
//!     limits: DoseLimits::default(),
//!     targets: vec![Target {
//!         name: "hard".to_owned(),
//!         goals: vec![Goal::parse(Measure::Hardness, "80 mg/L as CaCO3")?],
//!     }],
//! };
//! let plans = plan_flight(&flight, &[epsom])?;
//! // 80 / 50.04345 meq/L from a stock of 0.3305 meq/mL
//! assert!((plans[0].ml_per_l[0] - 4.837).abs() < 1e-3);
//! assert!(plans[0].reached());
//! # Ok(())
//! # }
//! ```

pub mod app;
pub mod assessment;
pub mod bench;
pub mod chemistry;
#[doc(hidden)]
pub mod cli;
pub mod everyday;
pub mod files;
pub mod flight;
pub mod guide;
#[doc = include_str!("handbook.md")]
pub mod handbook {}
pub mod journal;
pub mod mix;
pub mod next_flight;
#[doc(hidden)]
pub mod numerics;
pub mod page;
pub mod planner;
pub mod quantities;
pub mod reference;
#[cfg(feature = "serve")]
pub mod serve;
pub mod session;
pub mod stock;
pub mod svg;
pub mod text;
pub mod water;

pub use app::plan_flight_of;
pub use bench::Bench;
pub use files::{Diagnostic, Mistakes};
pub use planner::plan_flight;
