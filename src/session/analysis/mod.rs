//! What the answers show: mixed models of scores, rank tests, discrimination with d′, Plackett–Luce
//! and Bradley–Terry, repeatability of tasters, and verdicts in words.
//!
//! Tasters are blocks and variances are not cut off at zero, so that tests are exact at two tasters
//! as at eight (with random tasters and a floor, 7 sessions in 100 found what is not there). Places
//! are balanced by the orders and not corrected for: corrected, 72 to 77 of the promised 80 in 100
//! were found. Several attributes share a false-discovery rate, since they usually differ together
//! and then each keeps nearly all of its power.
//!
//! May use: `quantities`, `numerics`, `session/plan`, `session/score`. Never: a file, a page, or a
//! winner where nothing was said to be wanted.
//!
//! ```
//! # fn main() -> Result<(), Box<dyn std::error::Error>> {
//! use waterflight::session::analysis::Choice;
//! use waterflight::session::analysis::strength_parameters::strengths;
//!
//! // the first water was preferred three times, the second once
//! let seen = [([0, 1], 3.0), ([1, 0], 1.0)];
//! let fit = strengths(&seen.map(|(order, times)| Choice { order: order.to_vec(), times }))?;
//! let pairs = fit.pairs();
//! assert!((pairs.first().ok_or("not compared")?.probability - 0.75).abs() < 1e-6);
//! # Ok(())
//! # }
//! ```

pub mod anova;
mod attribute_results;
pub mod clear_differences;
pub mod clustered;
pub mod comparisons;
pub mod confidence_level;
pub(crate) mod criterion;
pub mod design;
pub mod discrimination;
pub(crate) mod divided;
pub mod effects;
pub(crate) mod exact_rank_sums;
pub mod icc;
pub mod mixed;
mod mixed_error;
mod mixed_result;
pub(crate) mod nested;
pub mod over_time;
pub mod page_test;
pub mod panel_scatter;
pub mod power;
pub(crate) mod rank_statistic;
pub mod ranked;
pub mod ranking_agreement;
pub mod ranks;
pub mod recipe_scores;
pub(crate) mod reml;
pub(crate) mod reml_fit;
pub mod repeatability;
pub mod results;
pub mod score_table;
pub mod strength_parameters;
pub mod taster_votes;
pub mod test_family;
mod tested;
pub mod verdict;
pub(crate) mod water_means;

pub use attribute_results::{AttributeResults, TermCheck};
pub use comparisons::{Difference, Multiplicity};
pub use discrimination::{Discrimination, PairResult};
pub use mixed::{Effect, MixedFit, ModelChoice};
pub use mixed_error::MixedError;
pub use ranked::Ranked;
pub use ranking_agreement::RankerCheck;
pub use ranks::RankTest;
pub use repeatability::{PanelCheck, TasterCheck};
pub use results::{RankingResults, Results, analyse, family_results};
pub use score_table::{Observation, ScoreTable};
pub use strength_parameters::{Choice, StrengthError, StrengthFit, StrengthPair};
pub use tested::Tested;
pub use verdict::Verdict;
pub use water_means::WaterMean;
