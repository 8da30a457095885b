//! Multipliers of the rows, reduced costs, and the choice of the entering column.
#![expect(
    clippy::indexing_slicing,
    reason = "indices run over blocks, rows and columns stated here"
)]

use crate::planner::lp::block_angular::basis::{BoundStatus, ColumnId, Solver};
use crate::planner::lp::block_angular::block::Failure;
use crate::planner::lp::block_angular::price::Price;
use crate::planner::lp::real::{Real, real};

/// Steps without progress before the rule that cannot cycle takes over (Bland 1977).
const DEGENERATE_STEPS: usize = 200;
/// Our choice: steps for each row of all blocks; many times what is usual.
const MOST_STEPS: usize = 200;

/// A column that may improve the stage.
#[derive(Clone, Copy)]
pub(super) struct Entering {
    pub(super) of: ColumnId,
    pub(super) rises: bool,
}

impl<R: Real> Solver<'_, R> {
    /// Multipliers of the coupling rows.
    pub(super) fn price_coupling(&mut self, stage: usize) {
        let k = self.working.len();
        let mut prices = vec![Price::default(); k];
        for (q, column) in self.working.iter().enumerate() {
            let ColumnId::Column(t, j) = *column else { continue };
            let c = self.blocks[t].objectives[stage].costs();
            let expanded = self.bases[t].expand(&self.blocks[t], j);
            let mut cost = Price::of(c[j]);
            for (key, a) in self.bases[t].basis.iter().zip(&expanded) {
                cost.add(Price::of(c[*key]), -*a);
            }
            for (i, price) in prices.iter_mut().enumerate() {
                price.add(cost, self.working_inverse[q * k + i]);
            }
        }
        self.prices = prices;
    }

    /// Multipliers of the rows of a block.
    pub(super) fn price_block(&self, stage: usize, t: usize) -> Vec<Price<R>> {
        let block = &self.blocks[t];
        let c = block.objectives[stage].costs();
        let over_keys: Vec<Price<R>> = self.bases[t]
            .basis
            .iter()
            .map(|&j| {
                let mut cost = Price::of(c[j]);
                for &(i, a) in block.coupled(j) {
                    cost.add(self.prices[i], real(-a));
                }
                cost
            })
            .collect();
        self.bases[t].transpose(&over_keys)
    }

    /// Reduced cost of a column.
    pub(super) fn reduced(
        &self,
        stage: usize,
        t: usize,
        j: usize,
        multipliers: &[Price<R>],
    ) -> Price<R> {
        let block = &self.blocks[t];
        let objective = &block.objectives[stage];
        // The inverse has rounding of its own, where it should have zeros.
        let mut reduced =
            Price { value: real(objective.costs()[j]), size: real(objective.largest()) };
        for &(i, v) in block.matrix.column(j) {
            reduced.add(multipliers[i], real(-v));
        }
        for &(i, v) in block.coupled(j) {
            reduced.add(self.prices[i], real(-v));
        }
        reduced
    }

    pub(super) fn minimise(
        &mut self,
        stage: usize,
        proceed: &mut dyn FnMut(usize, f64) -> bool,
    ) -> Result<(), Failure> {
        let rows: usize = self.blocks.iter().map(|b| b.matrix.rows()).sum();
        let (mut steps, mut idle) = (0, 0);
        self.price_coupling(stage);
        loop {
            let mut moved = false;
            for t in 0..=self.blocks.len() {
                #[expect(clippy::cast_precision_loss, reason = "a part of the whole, to be shown")]
                let part = t as f64 / self.blocks.len().max(1) as f64;
                if t.is_multiple_of(16) && !proceed(stage, part) {
                    return Err(Failure::Cancelled);
                }
                while let Some(entering) = self.choose(stage, t, idle > DEGENERATE_STEPS) {
                    let length = self.step(entering)?;
                    self.price_coupling(stage);
                    moved = true;
                    steps += 1;
                    idle = if length { 0 } else { idle + 1 };
                    if steps > MOST_STEPS * (rows + 10) {
                        return Err(Failure::Stalled);
                    }
                    if idle > DEGENERATE_STEPS {
                        // The rule that cannot cycle begins with the first column of all.
                        break;
                    }
                }
                if idle > DEGENERATE_STEPS && moved {
                    break;
                }
            }
            if !moved {
                return Ok(());
            }
        }
    }

    /// The column of a block (or, behind the last one, the slack) that improves most; the first
    /// that does when caution is asked for.
    pub(super) fn choose(&self, stage: usize, t: usize, cautious: bool) -> Option<Entering> {
        let mut best: Option<(R, Entering)> = None;
        let mut consider = |of: ColumnId, status: BoundStatus, reduced: Price<R>| {
            let rises = match status {
                BoundStatus::Lower if reduced.value < real(0.0) => true,
                BoundStatus::Upper if reduced.value > real(0.0) => false,
                _ => return,
            };
            if !reduced.is_nonzero() {
                return;
            }
            let gain = reduced.value.abs();
            if best.as_ref().is_none_or(|(most, _)| gain > *most && !cautious) {
                best = Some((gain, Entering { of, rises }));
            }
        };
        if t == self.blocks.len() {
            for (i, status) in self.slack_status.iter().enumerate() {
                let Price { value, size } = self.prices[i];
                consider(ColumnId::Slack(i), *status, Price { value: -value, size });
            }
        } else {
            let multipliers = self.price_block(stage, t);
            for (j, status) in self.bases[t].status.iter().enumerate() {
                if matches!(status, BoundStatus::Lower | BoundStatus::Upper) {
                    let reduced = self.reduced(stage, t, j, &multipliers);
                    consider(ColumnId::Column(t, j), *status, reduced);
                }
            }
        }
        best.map(|(_, entering)| entering)
    }
}
