//! Sources of uncertainty in words.

use crate::quantities::show;
use crate::stock::budget::BudgetLine;

/// The sources of one stock's uncertainty with their shares: `purity 77 %, density 9 %`.
pub(crate) fn sources(budget: &[BudgetLine]) -> String {
    let words = |line: &BudgetLine| format!("{} {} %", line.short(), show::fixed(line.percent, 0));
    budget.iter().map(words).collect::<Vec<_>>().join(", ")
}
