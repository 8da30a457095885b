//! Sources of uncertainty in words.

use crate::quantities::show;
use crate::stock::budget::BudgetLine;

/// The sources of one stock's uncertainty with their shares: `purity 77 %, density 9 %`.
pub(crate) fn sources(budget: &[BudgetLine]) -> String {
    let words = budget.iter().map(|line| {
        let source = line.source.rsplit_once(": ").map_or(line.source.as_str(), |(_, s)| s);
        format!("{source} {} %", show::fixed(line.percent, 0))
    });
    words.collect::<Vec<_>>().join(", ")
}

/// A ± has two significant figures (JCGM 100:2008, 7.2.6).
pub(crate) fn two_figures(value: f64) -> String {
    show::plus_minus(value)
}
