//! What the scores say, and what they cannot: effects with intervals first, p-values second.

pub mod anova;
pub mod better;
pub mod clustered;
pub mod comparisons;
pub mod design;
pub mod discrimination;
pub mod effects;
pub mod family;
pub mod icc;
pub mod journal;
pub mod measured;
pub mod mixed;
mod nested;
pub mod over_time;
pub mod page;
pub mod power;
mod rank_chance;
pub mod ranking_panel;
pub mod ranks;
mod reml;
mod reml_fit;
pub mod repeat;
pub mod results;
pub mod table;
pub mod verdict;
mod water_means;
pub mod worth;

pub use anova::{Anova, AnovaError};
pub use comparisons::{Difference, Multiplicity};
pub use discrimination::{Discrimination, PairResult};
pub use family::Tested;
pub use mixed::{Effect, MixedError, MixedFit, ModelChoice};
pub use ranking_panel::RankerCheck;
pub use ranks::{RankTest, Ranked};
pub use repeat::{PanelCheck, TasterCheck};
pub use results::{
    AttributeResults, RankingResults, Results, TermCheck, analyse, attribute_results,
    family_results,
};
pub use table::{Observation, ScoreTable};
pub use verdict::Verdict;
pub use worth::{Choice, WorthError, WorthFit, WorthPair};
