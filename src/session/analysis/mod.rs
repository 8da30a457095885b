//! session::analysis

pub mod anova;
pub mod clear_differences;
pub mod clustered;
pub mod comparisons;
pub mod design;
pub mod discrimination;
pub mod effects;
pub(crate) mod exact_rank_sums;
pub mod icc;
pub mod mixed;
mod mixed_result;
pub(crate) mod nested;
pub mod over_time;
pub mod page_test;
pub mod panel_scatter;
pub mod power;
pub mod ranking_agreement;
pub mod ranks;
pub mod recipe_scores;
pub(crate) mod reml;
pub(crate) mod reml_fit;
pub mod repeatability;
pub mod results;
pub mod score_table;
pub mod strength_parameters;
pub mod test_family;
pub mod verdict;
pub(crate) mod water_means;

pub use anova::{Anova, AnovaError};
pub use comparisons::{Difference, Multiplicity};
pub use discrimination::{Discrimination, PairResult};
pub use mixed::{Effect, MixedError, MixedFit, ModelChoice};
pub use ranking_agreement::RankerCheck;
pub use ranks::{RankTest, Ranked};
pub use repeatability::{PanelCheck, TasterCheck};
pub use results::{
    AttributeResults, RankingResults, Results, TermCheck, analyse, attribute_results,
    family_results,
};
pub use score_table::{Observation, ScoreTable};
pub use strength_parameters::{Choice, StrengthError, StrengthFit, StrengthPair};
pub use test_family::Tested;
pub use verdict::Verdict;
pub use water_means::WaterMean;
