//! What goes into a mixed model, and what comes out of it.

use serde::Serialize;

use crate::session::analysis::WaterMean;
use crate::session::analysis::design::{ExtraTerm, TermStatus, Wanted};
use crate::session::analysis::water_means::LevelOfMeans;
use crate::session::analysis::{Difference, Multiplicity};
use crate::session::plan::{AdjustFor, AnalysisPlan};

/// What to put into the model.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct ModelChoice {
    /// The place on the tray.
    pub order: Wanted,
    /// The water tasted before.
    pub carry_over: Wanted,
    /// `None`: Tukey when all pairs are equally precise, Holm when not.
    pub multiplicity: Option<Multiplicity>,
}

impl ModelChoice {
    /// What the plan of a session wants corrected, over what holds where it says nothing.
    #[must_use]
    pub fn planned(plan: &AnalysisPlan, otherwise: Self) -> Self {
        let wants = |what, else_: Wanted| {
            if plan.adjust_for.contains(&what) { Wanted::Yes } else { else_ }
        };
        Self {
            order: wants(AdjustFor::Place, otherwise.order),
            carry_over: wants(AdjustFor::CarryOver, otherwise.carry_over),
            ..otherwise
        }
    }
}

/// A random part of a score.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RandomEffect {
    /// Tasters use the scale higher or lower.
    Taster,
    /// Tasters differ in how they see the waters.
    TasterByWater,
}

/// Variances of the random parts, in squared points of the scale. One that comes out below zero says
/// that none can be seen; the tests keep it as it is, as the classical analysis does.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Variances {
    /// Of tasters; `None` with one taster, and where each taster had one water only.
    pub taster: Option<f64>,
    /// Of tasters by waters; `None` when no cup was repeated, since it is then part of `cup`.
    pub taster_by_water: Option<f64>,
    /// Of a cup.
    pub cup: f64,
}

impl Variances {
    /// The variances as they are shown: where none can be seen, zero.
    #[must_use]
    pub fn not_negative(self) -> Self {
        let shown = |variance: Option<f64>| variance.map(|variance| variance.max(0.0));
        Self {
            taster: shown(self.taster),
            taster_by_water: shown(self.taster_by_water),
            cup: self.cup,
        }
    }
}

/// A test that several effects are all zero.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct FTest {
    /// The ratio.
    pub f: f64,
    /// Degrees of freedom of the effects.
    pub df: f64,
    /// Degrees of freedom of the residual.
    #[serde(rename = "df_noise")]
    pub df_residual: f64,
    /// Probability of such a ratio without any effect.
    pub p: f64,
}

/// What one place on the tray, or one water tasted before, adds to a score.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Effect {
    /// The place, from 1; or the place of the water in the table.
    pub level: usize,
    /// What it adds to the mean of all levels.
    pub estimate: f64,
    /// Interval that holds for all levels of the term at once (Bonferroni).
    pub interval: (f64, f64),
}

/// A term of the model and its test.
#[derive(Debug, Clone, PartialEq)]
pub struct TermTest {
    /// The term.
    pub term: ExtraTerm,
    /// Whether it is in the model.
    pub status: TermStatus,
    /// Its test, when it is.
    pub test: Option<FTest>,
    /// Its effects, when it is.
    pub effects: Vec<Effect>,
}

/// The fitted model.
#[derive(Debug, Clone, PartialEq)]
pub struct MixedFit {
    /// Means, in the order of the waters.
    pub means: Vec<WaterMean>,
    /// What the tasters' levels add to the variance of every mean; `None` where tasters are no blocks.
    pub level_of_means: Option<LevelOfMeans>,
    /// Differences of all pairs.
    pub differences: Vec<Difference>,
    /// How the differences allow for each other.
    pub multiplicity: Multiplicity,
    /// Test that all waters are alike; `None` with one water.
    pub waters: Option<FTest>,
    /// Order and carry-over.
    pub terms: [TermTest; 2],
    /// Variances.
    pub variances: Variances,
    /// Random parts of which nothing can be seen beside the residual error: their variances are not above zero.
    pub zero: Vec<RandomEffect>,
    /// The cups repeated exactly, so that all residual error lies between tasters.
    pub exact_repeats: bool,
    /// Cups scored.
    pub cups: usize,
    /// Cups missing: they are allowed for, not filled in.
    pub missing: usize,
    /// Whether all scores are one taster's, so that the result holds for that taster only.
    pub one_taster: bool,
}
