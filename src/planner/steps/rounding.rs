//! Whole portions near the relaxation of a node.

use crate::planner::steps::branch_and_bound::Tree;
use crate::planner::steps::portions::{Portion, WHOLE, whole};
use crate::planner::steps::tableau::{End, Tableau};

impl Tree<'_, '_> {
    /// The portions of a node, when all of them are whole.
    pub(super) fn whole_portions(&self, node: &Tableau) -> Option<Vec<u32>> {
        let each = self.search.statement.portions.iter().enumerate();
        each.map(|(j, portion)| {
            let wanted = node.at(j) / portion.meq_per_l;
            let n = whole(wanted.round());
            let fits = (wanted - wanted.round()).abs() <= WHOLE
                && (n == 0 || n >= portion.least)
                && n <= portion.most;
            fits.then_some(n)
        })
        .collect()
    }

    /// Whole portions near the root.
    pub(super) fn round(&mut self, node: &Tableau) {
        let mut tried: Vec<Vec<u32>> = Vec::new();
        for rounding in [f64::round, f64::floor, f64::ceil] {
            let of = |(j, portion): (usize, &Portion)| {
                let n = whole(rounding(node.at(j) / portion.meq_per_l)).min(portion.most);
                if n >= portion.least {
                    n
                } else if 2 * n >= portion.least && n > 0 || portion.required {
                    portion.least
                } else {
                    0
                }
            };
            let portions: Vec<u32> =
                self.search.statement.portions.iter().enumerate().map(of).collect();
            if !tried.contains(&portions) {
                self.try_portions(&portions, node);
                tried.push(portions);
            }
        }
    }

    /// Offers whole portions with the best shares of the base waters for them.
    pub(super) fn try_portions(&mut self, portions: &[u32], from: &Tableau) {
        /// Our choice: with the portions fixed there are few pivots, and little is lost.
        const EXACT: f64 = 1e-11;
        /// Our choice: how far from its caps a solution is sought in turn, in units of miss. The
        /// last of them is a tenth of what a cap leaves.
        const MARGINS: [f64; 4] = [1e-11, 1e-9, 1e-8, 1e-7];
        if self.search.statement.base_at_most.len() < 2 {
            self.search.offer(portions.to_vec(), &[1.0]);
            return;
        }
        let mut node = from.clone();
        for (j, (n, portion)) in portions.iter().zip(&self.search.statement.portions).enumerate() {
            let meq = f64::from(*n) * portion.meq_per_l;
            node.narrow(j, meq, meq);
        }
        for margin in MARGINS {
            if node.minimise(f64::INFINITY, EXACT) != End::Optimal {
                return;
            }
            let stocks = self.search.statement.stocks();
            let count = self.search.statement.base_at_most.len();
            let shares: Vec<f64> = (0..count).map(|k| node.at(stocks + k)).collect();
            let shares = self.search.statement.filled(portions, &shares);
            let Some(values) = self.search.statement.values(portions, &shares) else { return };
            if self.search.kept(&values) {
                self.search.accept(portions.to_vec(), shares, values);
                return;
            }
            // Rounding has taken it across a cap: once more, a margin's breadth away from it.
            for margin_of_cap in &self.program.cap_margins {
                margin_of_cap.narrow(&mut node, margin);
            }
        }
    }
}
