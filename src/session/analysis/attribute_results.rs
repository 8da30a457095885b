//! The results of one attribute that was scored.

use crate::session::plan::panel::is_significant;

use crate::session::analysis::mixed::{FTest, TermTest};
use crate::session::analysis::{
    MixedError, MixedFit, PanelCheck, RankTest, ScoreTable, Tested, Verdict,
};

/// The results of one attribute.
#[derive(Debug, Clone, PartialEq)]
pub struct AttributeResults {
    /// The scores.
    pub table: ScoreTable,
    /// The mixed model, or why there is none.
    pub model: Result<MixedFit, MixedError>,
    /// What part it has in the tests of the session.
    pub tested: Tested,
    /// Whether places and waters before mattered, where the orders can show it.
    pub terms: Vec<TermCheck>,
    /// The classical test that all waters are alike, for complete trays.
    pub classical: Option<FTest>,
    /// Ranks of the tasters' means.
    pub ranks: Option<RankTest>,
    /// The tasters.
    pub panel: PanelCheck,
    /// What may be said.
    pub verdict: Verdict,
}

/// Whether places on the tray, or the waters before, mattered.
#[derive(Debug, Clone, PartialEq)]
pub struct TermCheck {
    /// The term with its test by itself.
    pub test: TermTest,
    /// Whether the means are corrected for it, as the plan wants it; else it was only looked at.
    pub corrected: bool,
    /// p allowing for all such tests of the session (Holm); `None` where the attribute is described.
    pub p: Option<f64>,
}

impl AttributeResults {
    /// Whether any two waters differ.
    #[must_use]
    pub fn waters_differ(&self) -> bool {
        self.model.as_ref().is_ok_and(|model| model.differences.iter().any(|d| is_significant(d.p)))
    }
}
