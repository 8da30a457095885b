//! The stock to branch on, and where.
#![expect(clippy::indexing_slicing, reason = "indices run over stocks of one statement")]

use crate::planner::steps::branch_and_bound::Tree;
use crate::planner::steps::portions::{WHOLE, whole};
use crate::planner::steps::tableau::Tableau;

/// How to go on at a node.
pub(super) struct Split {
    pub(super) stock: usize,
    /// Upper bound of the lower side, lower bound of the upper side, in portions.
    pub(super) below: u32,
    pub(super) above: u32,
    pub(super) nearer_below: bool,
    /// Row of the stock in the tableau, and what its sides seem to cost at least; for the order, and
    /// for what is worth proving.
    pub(super) row: Option<usize>,
    pub(super) costs: [f64; 2],
    pub(super) score: f64,
}

impl Tree<'_, '_> {
    /// The stock to branch on: the one whose sides are the worst for the objective.
    pub(super) fn split(&self, node: &Tableau) -> Option<Split> {
        let statement = self.search.statement;
        let counts = self.search.counts();
        let there = |j: usize| node.at(j) > WHOLE * statement.portions[j].meq_per_l;
        let in_use = (0..statement.stocks()).filter(|j| there(*j)).count();
        #[expect(clippy::cast_precision_loss, reason = "a small number")]
        let too_many = self.most_used().is_some_and(|most| in_use as f64 > most);
        let mut best: Option<Split> = None;
        for (j, portion) in statement.portions.iter().enumerate() {
            let (low, high) = (node.lower[j], node.upper[j]);
            let meq = portion.meq_per_l;
            if high - low < 0.5 * meq {
                continue;
            }
            let wanted = node.at(j) / meq;
            let least = f64::from(portion.least);
            let (below, above) = if wanted > WHOLE && wanted < least - WHOLE {
                (0.0, least)
            } else if (counts || too_many) && low <= 0.0 && wanted > WHOLE {
                (0.0, least.max(1.0))
            } else if (wanted - wanted.round()).abs() > WHOLE {
                (wanted.floor(), wanted.ceil())
            } else {
                continue;
            };
            let (down, up) = (wanted - below, above - wanted);
            let row = node.row_of(j);
            let penalty = |up: bool, by: f64| row.map_or(0.0, |r| node.penalty(r, up, by * meq));
            let (value_below, value_above) = if counts {
                (0.0, f64::from(u8::from(low <= 0.0)))
            } else {
                (penalty(false, down), penalty(true, up))
            };
            let (score, more) = (value_below.min(value_above), value_below.max(value_above));
            // Far from both sides first where the objective does not tell.
            let score = score.min(1e6) + 0.1 * more.min(1e6) + 1e-6 * down.min(up).min(1.0);
            if best.as_ref().is_none_or(|split| score > split.score) {
                best = Some(Split {
                    stock: j,
                    below: whole(below),
                    above: whole(above),
                    nearer_below: if counts {
                        true
                    } else if (value_below - value_above).abs() > WHOLE {
                        value_below < value_above
                    } else {
                        down <= up
                    },
                    row,
                    costs: [value_below, value_above],
                    score,
                });
            }
        }
        best.or_else(|| self.split_whole(node))
    }

    /// A node of whole portions that is not as good as its bound: rounding, or a solver that has
    /// gone wrong. The widest range is halved where the portions are.
    pub(super) fn split_whole(&self, node: &Tableau) -> Option<Split> {
        let portions = &self.search.statement.portions;
        let range = |j: usize| (node.upper[j] - node.lower[j]) / portions[j].meq_per_l;
        let widest = (0..portions.len()).max_by(|a, b| range(*a).total_cmp(&range(*b)))?;
        if range(widest) < 0.5 {
            return None;
        }
        let meq = portions[widest].meq_per_l;
        let (low, high) = (node.lower[widest] / meq, node.upper[widest] / meq);
        let at = (node.at(widest) / meq).round().clamp(low.round(), high.round());
        let (below, above) = if at < high.round() { (at, at + 1.0) } else { (at - 1.0, at) };
        let (below, above) = (whole(below), whole(above));
        Some(Split {
            stock: widest,
            below,
            above,
            nearer_below: true,
            row: None,
            costs: [0.0; 2],
            score: 0.0,
        })
    }
}
