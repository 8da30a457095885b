//! A least dose of every stock that a water may have, as the same program without one.
//!
//! The program begins at base water alone and knows no least amounts. With the least doses `m` poured
//! already, what comes on top is free again. A finished litre is made of `m` (`V` litres of it, with the
//! totals `D`), of more stock `v` and of base water `y`. In terms of `y' = y/(1−V)` where doses are made up to
//! a litre: `Σ y'_k + Σ v_j·ml_j/(1−V) = 1`, and as `D = D·1` each base water brings `(1−V)·B_k + D` and each
//! stock `c_j + D·ml_j/(1−V)`. Where doses are added to a litre, `m` belongs to each litre of base water:
//! `y' = y·(1+V)`, and it brings `(B_k + D)/(1+V)`. Nothing is rounded or left out.

use crate::chemistry::Composition;
use crate::flight::Convention;
use crate::planner::lp::program::{PourableColumns, Priorities};
use crate::planner::lp::solution::{Solution, SolveError};

/// The program of what comes on top of the least doses.
pub(super) struct OnTop {
    pub(super) pourable: PourableColumns,
    pub(super) priorities: Priorities,
    /// Least dose of each stock, meq per litre (finished, or of base water).
    least_meq: Vec<f64>,
    /// Base water of the program for each litre of base water.
    base_per_litre: f64,
}

impl OnTop {
    /// States it; nothing where no stock has a least dose.
    ///
    /// # Errors
    /// When the least doses alone do not fit.
    pub(super) fn of(
        pourable: &PourableColumns,
        priorities: &Priorities,
        excluded: &[bool],
    ) -> Result<Option<Self>, SolveError> {
        let least_ml = pourable.limits.least_of_each_ml_per_l;
        let is_in = |j: &usize| !excluded.get(*j).copied().unwrap_or_default();
        let count = (0..pourable.stocks.len()).filter(is_in).count();
        if least_ml <= 0.0 || count == 0 {
            return Ok(None);
        }
        let least_meq: Vec<f64> = pourable
            .stocks
            .iter()
            .enumerate()
            .map(|(j, (_, ml))| if is_in(&j) { least_ml / ml } else { 0.0 })
            .collect();
        let all_ml: f64 = least_meq.iter().zip(&pourable.stocks).map(|(m, (_, ml))| m * ml).sum();
        let volume = all_ml / 1000.0;
        let mut poured = Composition::PURE_WATER;
        for (meq, (per_meq, _)) in least_meq.iter().zip(&pourable.stocks) {
            poured.add_times(per_meq, *meq);
        }
        let added = pourable.convention == Convention::AddedToALitre;
        let base_per_litre = if added { 1.0 + volume } else { 1.0 / (1.0 - volume) };
        let room = pourable.limits.stocks_ml_per_l - all_ml;
        if room < 0.0 || volume >= 1.0 {
            return Err(SolveError::LeastDosesTooMany);
        }
        let mut on_top = pourable.clone();
        on_top.limits.least_of_each_ml_per_l = 0.0;
        on_top.limits.stocks_ml_per_l =
            if added { room / base_per_litre } else { room * base_per_litre };
        for (water, at_most) in &mut on_top.base {
            let mut mixed = Composition::PURE_WATER;
            mixed.add_times(water, 1.0 / base_per_litre);
            mixed.add_times(&poured, if added { 1.0 / base_per_litre } else { 1.0 });
            *water = mixed;
            if !added {
                *at_most *= base_per_litre;
            }
        }
        if !added {
            for (per_meq, ml) in &mut on_top.stocks {
                *ml *= base_per_litre;
                per_meq.add_times(&poured, *ml / 1000.0);
            }
        }
        let mut priorities = priorities.clone();
        for (stocks, base) in &mut priorities.preference {
            // Where doses are added, each litre of base water brings its least doses with it.
            let with_it: f64 = stocks.iter().zip(&least_meq).map(|(cost, meq)| cost * meq).sum();
            for cost in base {
                *cost = (*cost + if added { with_it } else { 0.0 }) / base_per_litre;
            }
        }
        Ok(Some(Self { pourable: on_top, priorities, least_meq, base_per_litre }))
    }

    /// Its answer with the least doses, valued by the priorities of the water.
    pub(super) fn with_least(&self, on_top: Solution, priorities: &Priorities) -> Solution {
        let mut solution = on_top;
        for share in &mut solution.shares {
            *share /= self.base_per_litre;
        }
        let added = self.pourable.convention == Convention::AddedToALitre;
        let litres = if added { solution.shares.iter().sum() } else { 1.0 };
        for (meq, least) in solution.meq_per_l.iter_mut().zip(&self.least_meq) {
            *meq += least * litres;
        }
        let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>();
        let value = |(stocks, base): &(Vec<f64>, Vec<f64>)| {
            dot(stocks, &solution.meq_per_l) + dot(base, &solution.shares)
        };
        solution.preference = priorities.preference.iter().map(value).collect();
        solution
    }
}
