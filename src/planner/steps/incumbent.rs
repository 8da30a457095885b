//! The incumbent of a stage: the best choice so far, what it makes worth looking for, and a local
//! search around it.
#![expect(clippy::indexing_slicing, reason = "indices run over stocks of one statement")]

use std::time::Instant;

use crate::planner::steps::portions::{Choice, Portion, Stage, Statement, WHOLE};
use crate::planner::steps::proof::within;
use crate::planner::steps::relaxation::cap;

/// Our choice: while the search is short it goes on to this part of the gap that is asked for.
pub(super) const FINE: f64 = 1e-3;

/// Our choice: nodes up to which a search is short.
pub(super) const SHORT: usize = 50;

/// Our choice: misses beyond tolerance up to this much of a tolerance are none.
pub(super) const NEGLIGIBLE: f64 = 1e-7;

/// The search of one stage.
pub(super) struct StageSearch<'a> {
    pub(super) statement: &'a Statement,
    pub(super) at: usize,
    pub(super) reached: &'a [f64],
    pub(super) deadline: Instant,
    pub(super) best: Option<Choice>,
}

impl StageSearch<'_> {
    pub(super) fn stage(&self) -> Stage {
        self.statement.stages[self.at]
    }

    pub(super) fn counts(&self) -> bool {
        self.stage() == Stage::Count
    }

    /// A value of the stage as it is reported in the end: the sum of all misses without those beyond
    /// tolerance.
    pub(super) fn reported(&self, value: f64) -> f64 {
        let mut done = self.statement.stages[..self.at].iter().zip(self.reached);
        let beyond = done.find(|(s, _)| **s == Stage::Beyond).map_or(0.0, |(_, v)| *v);
        if self.stage() == Stage::Inside { value - beyond } else { value }
    }

    /// Choices of this value or more are of no use.
    pub(super) fn useful_below(&self, nodes: usize) -> f64 {
        match &self.best {
            None => f64::INFINITY,
            // One stock fewer, or none.
            Some(choice) if self.counts() => choice.values[self.at] - 1.0 + WHOLE,
            Some(choice) => {
                let value = choice.values[self.at];
                let part = if nodes < SHORT { FINE } else { 1.0 };
                let gap = part * within(self.stage(), self.reported(value));
                // Whether anything is missed beyond tolerance at all is a verdict of its own.
                let nothing = match self.stage() {
                    Stage::Largest | Stage::Beyond if value > NEGLIGIBLE => FINE * value,
                    _ => 0.0,
                };
                if gap >= value { nothing } else { value - gap }
            }
        }
    }

    /// Nothing but what must be in it, so that there is a choice to begin with.
    pub(super) fn initial_incumbent(&mut self) {
        let least = |p: &Portion| if p.required { p.least.max(1) } else { 0 };
        let portions: Vec<u32> = self.statement.portions.iter().map(least).collect();
        let mut like = self.statement.base_at_most.clone();
        for only in 0..like.len() {
            // Each base water first, in turn.
            like.fill(0.0);
            like[only] = 1.0;
            let shares = self.statement.filled(&portions, &like);
            if let Some(values) = self.statement.values(&portions, &shares)
                && self.better(&values)
            {
                self.best = Some(Choice { portions: portions.clone(), shares, values });
            }
        }
    }

    /// Takes a choice if it is better, and looks around it.
    pub(super) fn offer(&mut self, portions: Vec<u32>, like: &[f64]) {
        let shares = self.statement.filled(&portions, like);
        if let Some(values) = self.statement.values(&portions, &shares) {
            self.accept(portions, shares, values);
        }
    }

    pub(super) fn accept(&mut self, portions: Vec<u32>, shares: Vec<f64>, values: Vec<f64>) {
        if self.better(&values) {
            self.best = Some(Choice { portions, shares, values });
            self.local_search();
        }
    }

    /// Whether the stages that are done keep what they have reached.
    pub(super) fn kept(&self, values: &[f64]) -> bool {
        let mut done = values.iter().zip(self.reached).zip(&self.statement.stages);
        done.all(|((value, reached), stage)| *value <= cap(self.statement, *stage, *reached))
    }

    /// Whether stage values are better than the best at hand, earlier stages kept.
    pub(super) fn better(&self, values: &[f64]) -> bool {
        if !self.kept(values) {
            return false;
        }
        let Some(best) = &self.best else { return true };
        for (value, other) in values.iter().zip(&best.values).skip(self.at) {
            let even = WHOLE * WHOLE * other.abs().max(1.0);
            if (value - other).abs() > even {
                return value < other;
            }
        }
        false
    }

    /// Local search: one portion more or less of one stock or of two, a stock fathomed or begun.
    pub(super) fn local_search(&mut self) {
        /// Our choice: steps so fine that more rounds than this would still help are searched by
        /// the branches; the local search only saves them time.
        const ROUNDS: usize = 50;
        let Some(mut at) = self.best.clone() else { return };
        let stocks = self.statement.stocks();
        for _ in 0..ROUNDS {
            let mut moved = false;
            for first in 0..stocks {
                for second in first..stocks {
                    for (a, b) in [(1, 1), (1, -1), (-1, 1), (-1, -1)] {
                        if first == second && a != b {
                            continue;
                        }
                        let mut portions = at.portions.clone();
                        let both = [(first, a), (second, b)];
                        let moves = if first == second { &both[..1] } else { &both[..] };
                        if !moves.iter().all(|(j, by)| self.one_step(&mut portions, *j, *by)) {
                            continue;
                        }
                        let shares = self.statement.filled(&portions, &at.shares);
                        let Some(values) = self.statement.values(&portions, &shares) else {
                            continue;
                        };
                        if self.better(&values) {
                            at = Choice { portions, shares, values };
                            self.best = Some(at.clone());
                            moved = true;
                        }
                    }
                }
            }
            if !moved {
                return;
            }
        }
    }

    /// One portion more or less, over the gap between nothing and the least.
    pub(super) fn one_step(&self, portions: &mut [u32], j: usize, by: i8) -> bool {
        let portion = &self.statement.portions[j];
        let now = portions[j];
        let least = portion.least.max(1);
        let next = match (by > 0, now) {
            (true, 0) => least,
            (true, n) => n.saturating_add(1),
            (false, 0) => return false,
            (false, n) if n <= least => 0,
            (false, n) => n - 1,
        };
        portions[j] = next;
        next <= portion.most && !(portion.required && next == 0)
    }
}
