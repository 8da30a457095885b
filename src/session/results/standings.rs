//! The waters by each thing that was judged.

use serde::Serialize;

/// A water under one criterion.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WaterResult {
    /// Attribute, criterion or test.
    pub of: String,
    /// The water; for a test of two, the pair.
    pub water: String,
    /// Mean score, mean rank, or share of right answers about a pair.
    pub value: f64,
    /// 95 % interval; nothing for a mean rank, and where no error can be seen.
    pub interval: Option<(f64, f64)>,
    /// `mean`, `mean_rank`, `right` or `first_named`.
    pub kind: &'static str,
}
