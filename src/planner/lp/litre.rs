//! The program of one litre with every deviation as a column: matrix, bounds, right-hand sides,
//! costs, first basis.
#![expect(clippy::indexing_slicing, reason = "indices come from the layout of the same program")]

use crate::planner::lp::block_angular::Block;
use crate::planner::lp::layout;
use crate::planner::lp::layout::Layout;
use crate::planner::lp::matrix::{Matrix, Numbers, Objective};
use crate::planner::lp::program::{HardRow, PourableColumns, Priorities, Row};

/// Our choice: shares that sum to one but for this much are meant to fill the litre.
pub(crate) const SHARE_ROUNDING: f64 = 1e-9;

/// One program with every deviation as a column of its own.
#[derive(Debug, Clone, Default)]
pub(crate) struct Litre {
    hard: Vec<HardRow>,
    pub(crate) layout: Layout,
    pub(crate) matrix: Matrix,
    pub(crate) numbers: Numbers,
    pub(crate) objectives: Vec<Objective>,
}

/// A basis that is feasible from the start, so that there is no phase one: base waters first, each
/// row's miss taken up by its own columns.
#[derive(Debug, Clone, Default)]
pub(crate) struct FirstBasis {
    /// One column with a single entry for each row.
    pub(crate) units: Vec<usize>,
    pub(crate) at_upper: Vec<usize>,
    /// Columns that then come in, each in place of a row's column.
    pub(crate) pivots: Vec<(usize, usize)>,
}

impl Litre {
    /// States the program of one water. `hard` rows are left out where it is known that doses keep
    /// them.
    pub(crate) fn new(
        pourable: &PourableColumns,
        rows: &[Row],
        priorities: &Priorities,
        hard: &[HardRow],
        excluded: &[bool],
    ) -> Self {
        let (layout, matrix) = layout::matrix(pourable, rows, hard, priorities.largest_first);
        let mut litre = Self { hard: hard.to_vec(), layout, matrix, ..Self::default() };
        litre.fill_numbers(pourable, rows, excluded);
        litre.fill_objectives(rows, priorities);
        litre
    }

    fn fill_numbers(&mut self, pourable: &PourableColumns, rows: &[Row], excluded: &[bool]) {
        let layout = self.layout;
        let Numbers { lower, upper, rhs } = &mut self.numbers;
        lower.clear();
        lower.resize(layout.columns(), 0.0);
        upper.clear();
        upper.resize(layout.columns(), f64::INFINITY);
        rhs.clear();
        rhs.resize(self.matrix.rows(), 0.0);
        rhs[0] = 1.0;
        for (k, (_, at_most)) in pourable.base.iter().enumerate() {
            upper[layout.share(k)] = *at_most;
        }
        upper[layout.volume_gap()] = 0.0;
        for (most, excluded) in upper.iter_mut().zip(excluded) {
            if *excluded {
                *most = 0.0;
            }
        }
        for (i, row) in rows.iter().enumerate() {
            rhs[Layout::goal_row(i)] = row.reference;
            upper[layout.under_inside(i)] = row.tolerance;
            upper[layout.over_inside(i)] = row.tolerance;
            if row.tolerance.is_infinite() {
                upper[layout.under_beyond(i)] = 0.0;
                upper[layout.over_beyond(i)] = 0.0;
            }
            lower[layout.place_in_band(i)] = row.slack_low;
            upper[layout.place_in_band(i)] = row.slack_high;
        }
        for (h, row) in self.hard.iter().enumerate() {
            rhs[layout.hard_row(h)] = row.most;
        }
    }

    fn fill_objectives(&mut self, rows: &[Row], priorities: &Priorities) {
        let layout = self.layout;
        let stages = usize::from(priorities.largest_first) + 2 + priorities.preference.len();
        self.objectives.resize_with(stages, Objective::default);
        for objective in &mut self.objectives {
            objective.clear(layout.columns());
        }
        let mut stage = self.objectives.iter_mut();
        if priorities.largest_first
            && let Some(objective) = stage.next()
        {
            objective.set(layout.largest_miss(), layout::highest_rate(rows));
        }
        let (Some(beyond), Some(inside)) = (stage.next(), stage.next()) else { return };
        for (i, row) in rows.iter().enumerate() {
            beyond.set(layout.under_beyond(i), row.rate);
            beyond.set(layout.over_beyond(i), row.rate);
            inside.set(layout.under_inside(i), row.rate);
            inside.set(layout.over_inside(i), row.rate);
        }
        for (objective, (stocks, base)) in stage.zip(&priorities.preference) {
            for (j, cost) in stocks.iter().enumerate() {
                objective.set(j, *cost);
            }
            for (k, cost) in base.iter().enumerate() {
                objective.set(layout.share(k), *cost);
            }
        }
    }

    fn first_basis(&self, pourable: &PourableColumns, rows: &[Row]) -> FirstBasis {
        let layout = self.layout;
        let (at_base, last) = fill(pourable, !self.hard.is_empty());
        let mut shares = vec![0.0; pourable.base.len()];
        for k in &at_base {
            shares[*k] = pourable.base[*k].1;
        }
        let others: f64 = shares.iter().sum();
        if let Some(share) = shares.get_mut(last) {
            *share = 1.0 - others;
        }
        let mut at_upper: Vec<usize> = at_base.into_iter().map(|k| layout.share(k)).collect();
        let mut units = vec![layout.volume_gap()];
        let mut pivots = vec![(layout.share(last), 0)];
        let mut worst: Option<(usize, f64)> = None;
        for (i, row) in rows.iter().enumerate() {
            let value: f64 = pourable
                .base
                .iter()
                .zip(&shares)
                .filter(|(_, share)| **share != 0.0)
                .map(|((water, _), share)| share * water.dot(&row.form))
                .sum();
            let gap = value - row.reference;
            let outside = row.miss(value) > 0.0;
            if !outside {
                units.push(layout.place_in_band(i));
                continue;
            }
            let below = gap < row.slack_low;
            if !below && row.slack_high > 0.0 {
                at_upper.push(layout.place_in_band(i));
            }
            let (inside, beyond) = if below {
                (layout.under_inside(i), layout.under_beyond(i))
            } else {
                (layout.over_inside(i), layout.over_beyond(i))
            };
            if row.miss(value) <= row.tolerance {
                units.push(inside);
            } else {
                units.push(beyond);
                if row.tolerance > 0.0 {
                    at_upper.push(inside);
                }
            }
            let (cost, _) = row.costs(value);
            if cost > worst.map_or(0.0, |(_, w)| w) {
                worst = Some((i, cost));
            }
        }
        if layout.largest {
            units.extend((0..rows.len()).map(|i| layout.below_largest(i)));
            if let Some((i, _)) = worst {
                pivots.push((layout.largest_miss(), layout.largest_row(i)));
            }
        }
        units.extend((0..self.hard.len()).map(|h| layout.spare(h)));
        FirstBasis { units, at_upper, pivots }
    }

    /// The program as a block for the second solver.
    pub(crate) fn block(&self, pourable: &PourableColumns, rows: &[Row]) -> Block {
        let first = self.first_basis(pourable, rows);
        let mut basis = first.units;
        for (j, row) in first.pivots {
            basis[row] = j;
        }
        Block {
            matrix: self.matrix.clone(),
            numbers: self.numbers.clone(),
            objectives: self.objectives.clone(),
            coupling: Vec::new(),
            basis,
            at_upper: first.at_upper,
        }
    }
}

/// Base waters that fill a litre: those that are used as far as they may be, and the last one, which
/// takes the rest. Where solids are limited the leanest come first, which keep the limit if any do.
pub(crate) fn fill(pourable: &PourableColumns, leanest_first: bool) -> (Vec<usize>, usize) {
    let order: Vec<usize> =
        if leanest_first { pourable.leanest_first() } else { (0..pourable.base.len()).collect() };
    let mut at_upper = Vec::new();
    let (mut filled, mut last) = (0.0, 0);
    for k in order {
        let at_most = pourable.base[k].1;
        last = k;
        if filled + at_most >= 1.0 - SHARE_ROUNDING {
            return (at_upper, last);
        }
        filled += at_most;
        at_upper.push(k);
    }
    at_upper.retain(|k| *k != last);
    (at_upper, last)
}
