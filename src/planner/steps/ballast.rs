//! Ballast: salt that only takes the place of base water.
//!
//! Of a stock that no goal draws to an amount, more than the doses without steps take does nothing but thin
//! the base water. In steps that may bring the other goals a little nearer at the price of much salt, which
//! nobody means; so it is taken only where goals would be missed without it.

use crate::flight::{Goal, Subject};
use crate::planner::lp::program::PourableColumns;
use crate::planner::steps::portions::{Portion, Stage};
use crate::planner::steps::proof::{Proof, within};

/// The portions without ballast, where those `taken` hold some. `needed`: what each stock has without steps,
/// rounded up to portions.
pub(super) fn without(
    pourable: &PourableColumns,
    goals: &[Goal],
    portions: &[Portion],
    taken: &[u32],
    needed: &[u32],
) -> Option<Vec<Portion>> {
    let mut has_ballast = false;
    let stocks = pourable.stocks.iter().zip(portions).zip(taken.iter().zip(needed));
    let limited = stocks.map(|(((per_meq, _), portion), (taken, needed))| {
        let is_drawn_to = |goal: &Goal| {
            let counts = match goal.subject {
                Subject::Measure(measure) => measure.of(per_meq) != 0.0,
                Subject::Ratio { of, to, .. } => of.of(per_meq) != 0.0 || to.of(per_meq) != 0.0,
            };
            counts && goal.band.low().is_finite() && goal.band.high().is_finite()
        };
        if portion.required || goals.iter().any(is_drawn_to) {
            return *portion;
        }
        has_ballast |= taken > needed;
        Portion { most: portion.most.min(*needed), ..*portion }
    });
    let limited = limited.collect();
    has_ballast.then_some(limited)
}

/// Whether no goal is missed more than by other doses.
pub(super) fn misses_no_more(than: &[Proof], proofs: &[Proof]) -> bool {
    than.iter().zip(proofs).all(|(than, proof)| match than.stage {
        Stage::Largest | Stage::Beyond => {
            proof.value <= than.value + within(than.stage, than.value)
        }
        Stage::Inside | Stage::Count | Stage::Linear(_) => true,
    })
}
