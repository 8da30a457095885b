//! The waters by each thing that was judged, and the one that comes first by what is wanted.

use serde::Serialize;

use crate::session::plan::Aim;

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

/// The water that came first by what is wanted, whether or not it was found to differ from others; nothing
/// where no water was judged by itself.
pub(crate) fn first_by<'a>(aim: &Aim, standings: &'a [WaterResult]) -> Option<&'a str> {
    let own = standings.iter().filter(|standing| standing.of == aim.of);
    // A mean rank of 1 is the most, so that less of it is more.
    let how_good = |standing: &&WaterResult| match standing.kind {
        "mean" => Some(aim.direction.desirability(standing.value)),
        "mean_rank" => Some(aim.direction.desirability(-standing.value)),
        _ => None,
    };
    let judged = own.filter_map(|standing| Some((how_good(&standing)?, standing)));
    // Of waters alike the first one of the standings.
    let best = judged.reduce(|best, next| if next.0 > best.0 { next } else { best });
    best.map(|(_, standing)| standing.water.as_str())
}
