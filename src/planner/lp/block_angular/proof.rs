//! What is proved of a stage by weak duality, and how exactly the rows are kept.
#![expect(
    clippy::indexing_slicing,
    reason = "indices run over blocks, rows and columns stated here"
)]

use crate::planner::lp::block_angular::basis::{BlockBasis, BoundStatus, Solver};
use crate::planner::lp::block_angular::block::Block;
use crate::planner::lp::matrix::{Numbers, without_rounding};
use crate::planner::lp::real::{Real, real};

/// Our choice: a basic column whose reduced cost is above this part of its terms has been lost to
/// rounding, and nothing is proved.
const BASIC_ROUNDING: f64 = 1e-11;

/// What a stage came to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Stage {
    pub(crate) value: f64,
    /// No values of the columns, what earlier stages fixed kept, have a lower one (weak duality).
    pub(crate) bound: f64,
}

impl<R: Real> Solver<'_, R> {
    /// Fixes the stage just solved, and proves it: by weak duality no values of the columns are
    /// better, those fixed before being where they are.
    pub(super) fn freeze(&mut self, stage: usize) -> Stage {
        self.price_coupling(stage);
        let (mut value, mut bound) = (real::<R>(0.0), real::<R>(0.0));
        for (price, limit) in self.prices.iter().zip(self.limits) {
            bound += price.value * real(*limit);
        }
        for (price, status) in self.prices.iter().zip(&mut self.slack_status) {
            // A slack has no upper bound: where its reduced cost is negative nothing is proved.
            if price.value > real(0.0) && price.is_nonzero() && *status != BoundStatus::Fixed {
                bound = real(f64::NEG_INFINITY);
            }
            if *status == BoundStatus::Lower && price.is_cost() {
                *status = BoundStatus::Fixed;
            }
        }
        for t in 0..self.blocks.len() {
            let multipliers = self.price_block(stage, t);
            let block = &self.blocks[t];
            for (p, b) in multipliers.iter().zip(&block.numbers.rhs) {
                bound += p.value * real(*b);
            }
            for j in 0..block.matrix.columns() {
                let at = self.bases[t].values[j];
                value += real::<R>(block.objectives[stage].costs()[j]) * at;
                let price = self.reduced(stage, t, j, &multipliers);
                let reduced = price.value;
                let status = self.bases[t].status[j];
                if status == BoundStatus::Fixed {
                    bound += reduced * at;
                    continue;
                }
                // A basic column has none but for the rounding of the inverse.
                let basic = matches!(status, BoundStatus::Key(_) | BoundStatus::ColumnId(_));
                let nothing = basic && reduced.abs() <= price.size * real(BASIC_ROUNDING);
                if !price.is_nonzero() || nothing {
                    continue;
                }
                let (low, high) = (block.numbers.lower[j], block.numbers.upper[j]);
                let worst = if reduced > real(0.0) { low } else { high };
                bound += reduced * real(worst);
                if price.is_cost() && matches!(status, BoundStatus::Lower | BoundStatus::Upper) {
                    self.bases[t].status[j] = BoundStatus::Fixed;
                }
            }
        }
        Stage { value: value.to_f64(), bound: bound.to_f64() }
    }

    /// Values of the columns of each block, without what rounding has carried out of the bounds.
    pub(super) fn values(&self) -> Vec<Vec<f64>> {
        let of_block = |(block, basis): (&Block, &BlockBasis<R>)| {
            let Numbers { lower, upper, .. } = &block.numbers;
            let bounds = lower.iter().zip(upper);
            let values = basis.values.iter().zip(bounds);
            values.map(|(v, (low, high))| without_rounding(v.to_f64(), *low, *high)).collect()
        };
        self.blocks.iter().zip(&self.bases).map(of_block).collect()
    }

    /// How far rows and bounds are missed, relative to the terms of the row.
    pub(super) fn residual(&self) -> f64 {
        let mut worst = 0.0_f64;
        for (t, (block, basis_of_block)) in self.blocks.iter().zip(&self.bases).enumerate() {
            let mut size = vec![1.0_f64; block.matrix.rows()];
            for (j, (value, entries)) in
                basis_of_block.values.iter().zip(block.matrix.iter()).enumerate()
            {
                let value = value.to_f64();
                for &(i, v) in entries {
                    size[i] = size[i].max((v * value).abs());
                }
                let (low, high) = (block.numbers.lower[j], block.numbers.upper[j]);
                let outside = (low - value).max(value - high).max(0.0);
                worst = worst.max(outside / value.abs().max(1.0));
                if !value.is_finite() {
                    return f64::INFINITY;
                }
            }
            for (rest, size) in self.rest(t).iter().zip(&size) {
                worst = worst.max(rest.abs().to_f64() / size);
            }
        }
        for ((rest, slack), limit) in
            self.coupling_rest().iter().zip(&self.slack_values).zip(self.limits)
        {
            worst = worst.max(rest.abs().to_f64() / limit.abs().max(1.0));
            worst = worst.max(-slack.to_f64() / limit.abs().max(1.0));
        }
        worst
    }
}
