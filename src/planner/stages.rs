//! One water, stage by stage.
#![expect(clippy::indexing_slicing, reason = "indices come from the layout of the same program")]

use thiserror::Error;

use crate::planner::matrix::{Matrix, Numbers, Objective};
use crate::planner::program::{self, Form, Pourable, Row};
use crate::planner::recheck;
use crate::planner::simplex::{Ending, Simplex};
use crate::planner::solver::{self, Layout};

/// Which stages are wanted beyond the misses.
#[derive(Debug, Clone, Default)]
pub struct Wish {
    /// Make the largest weighted miss least before the sum.
    pub largest_first: bool,
    /// Costs of the preference stages: per meq/L of each stock, per share of each base water.
    pub preference: Vec<(Vec<f64>, Vec<f64>)>,
}

/// The doses of one water, with the value of each stage.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Solution {
    /// meq/L of each stock.
    pub meq_per_l: Vec<f64>,
    /// Share of each base water.
    pub shares: Vec<f64>,
    /// Stage 0, when it was asked for.
    pub largest: Option<f64>,
    /// Stage 1: weighted misses beyond tolerance, in units of miss.
    pub beyond: f64,
    /// Stage 2: weighted misses inside tolerance, in units of miss.
    pub inside: f64,
    /// The preference stages.
    pub preference: Vec<f64>,
}

/// Why there is no answer. None of these is the user's fault except the first two.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum SolveError {
    /// The base waters may not fill a litre.
    #[error("the base waters may take {} % of the volume together, and the rest cannot be filled", (share * 100.0).round())]
    SharesTooSmall {
        /// Sum of the largest shares.
        share: f64,
    },
    /// A goal counts what nobody measured of a base water.
    #[error("{what} was not measured of a base water, and a goal counts it")]
    NotMeasured {
        /// What it is.
        what: &'static str,
    },
    /// No doses that the dispenser delivers fit into the bottle.
    #[error("no doses that the dispenser delivers fit into the bottle")]
    NothingFits,
    /// The solver ended without an optimum.
    #[error("the solver ended with {ending} in stage {stage}")]
    Ended {
        /// How it ended.
        ending: &'static str,
        /// Number of the stage.
        stage: usize,
    },
    /// The answer, re-evaluated outside the solver, is not what the solver says.
    #[error("the answer does not stand up to its recheck: {what} differs by {by:e}")]
    Disagreement {
        /// What differs.
        what: &'static str,
        /// By how much.
        by: f64,
    },
}

/// Solves one water after the other; keeps the matrix while the forms of the rows stay the same.
#[derive(Debug, Clone, Default)]
pub struct Planner {
    /// What the matrix was stated for: columns, forms of the rows, rates.
    pourable: Option<Pourable>,
    forms: Vec<Form>,
    largest_rates: Vec<f64>,
    layout: Layout,
    matrix: Matrix,
    numbers: Numbers,
    objectives: Vec<Objective>,
    simplex: Simplex,
    /// Value of each stage as it was proved optimal, before the later stages ran.
    proved: Vec<f64>,
    /// Stocks that may not be used for now; the matrix keeps their columns.
    shut: Vec<bool>,
}

impl Planner {
    /// Solves one water.
    ///
    /// # Errors
    /// See [`SolveError`]; an answer that cannot be confirmed is an error, never a result.
    pub fn solve(
        &mut self,
        pourable: &Pourable,
        rows: &[Row],
        wish: &Wish,
    ) -> Result<Solution, SolveError> {
        let share: f64 = pourable.base.iter().map(|(_, at_most)| at_most).sum();
        if share < 1.0 - SHARE_ROUNDING {
            return Err(SolveError::SharesTooSmall { share });
        }
        if let Some(what) = program::not_measured(pourable, rows) {
            return Err(SolveError::NotMeasured { what: what.label() });
        }
        self.prepare(pourable, rows, wish);
        match self.run(pourable, rows, wish, false) {
            // Rounding over many pivots is cured by starting the last steps from a fresh
            // factorisation; only what then still disagrees is reported.
            Err(SolveError::Disagreement { .. }) => self.run(pourable, rows, wish, true),
            other => other,
        }
    }

    /// Shuts out the stocks that are not allowed, until the next call; stocks beyond the list are
    /// free.
    pub(super) fn allow(&mut self, allowed: &[bool]) {
        self.shut.clear();
        self.shut.extend(allowed.iter().map(|a| !a));
    }

    /// The stage values by a second, independent solver, in the order of the stages.
    ///
    /// # Errors
    /// When that solver reports no optimum.
    pub fn second_opinion(
        &mut self,
        pourable: &Pourable,
        rows: &[Row],
        wish: &Wish,
    ) -> Result<Vec<f64>, String> {
        self.prepare(pourable, rows, wish);
        let bounds = |j: usize| (self.numbers.lower[j], self.numbers.upper[j]);
        let stages: Vec<&[f64]> = self.objectives.iter().map(Objective::costs).collect();
        solver::second_opinion(pourable, rows, wish.largest_first, bounds, &stages)
            .map_err(|error| error.to_string())
    }

    /// The program as rows of numbers, for benchmarks against other solvers: bounds, right-hand
    /// sides, entries (row, column, value) and the costs of each stage.
    #[must_use]
    pub fn as_numbers(&mut self, pourable: &Pourable, rows: &[Row], wish: &Wish) -> PlainProgram {
        self.prepare(pourable, rows, wish);
        let entries = (0..self.matrix.columns())
            .flat_map(|j| self.matrix.column(j).iter().map(move |(i, v)| (*i, j, *v)))
            .collect();
        PlainProgram {
            lower: self.numbers.lower.clone(),
            upper: self.numbers.upper.clone(),
            rhs: self.numbers.rhs.clone(),
            entries,
            stages: self.objectives.iter().map(|o| o.costs().to_vec()).collect(),
        }
    }

    /// States the program and fills in the numbers of one water.
    fn prepare(&mut self, pourable: &Pourable, rows: &[Row], wish: &Wish) {
        self.state(pourable, rows, wish.largest_first);
        self.fill_numbers(pourable, rows);
        self.fill_objectives(rows, wish);
    }

    fn state(&mut self, pourable: &Pourable, rows: &[Row], largest: bool) {
        let same_forms = self.forms.len() == rows.len()
            && self.forms.iter().zip(rows).all(|(form, row)| same_bits(form, &row.form))
            && self.layout.largest == largest;
        let same_rates = !largest
            || self
                .largest_rates
                .iter()
                .zip(rows)
                .all(|(r, row)| r.to_bits() == row.rate.to_bits());
        if same_forms && same_rates && self.pourable.as_ref() == Some(pourable) {
            return;
        }
        self.forms = rows.iter().map(|r| r.form).collect();
        self.largest_rates = rows.iter().map(|r| r.rate).collect();
        (self.layout, self.matrix) = solver::matrix(pourable, rows, largest);
        self.pourable = Some(pourable.clone());
    }

    fn fill_numbers(&mut self, pourable: &Pourable, rows: &[Row]) {
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
        for (most, shut) in upper.iter_mut().zip(&self.shut) {
            if *shut {
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
    }

    fn fill_objectives(&mut self, rows: &[Row], wish: &Wish) {
        let layout = self.layout;
        let stages = usize::from(wish.largest_first) + 2 + wish.preference.len();
        self.objectives.resize_with(stages, Objective::default);
        for objective in &mut self.objectives {
            objective.clear(layout.columns());
        }
        let mut stage = self.objectives.iter_mut();
        if wish.largest_first
            && let Some(objective) = stage.next()
        {
            objective.set(layout.largest_miss(), 1.0);
        }
        let (Some(beyond), Some(inside)) = (stage.next(), stage.next()) else { return };
        for (i, row) in rows.iter().enumerate() {
            beyond.set(layout.under_beyond(i), row.rate);
            beyond.set(layout.over_beyond(i), row.rate);
            inside.set(layout.under_inside(i), row.rate);
            inside.set(layout.over_inside(i), row.rate);
        }
        for (objective, (stocks, base)) in stage.zip(&wish.preference) {
            for (j, cost) in stocks.iter().enumerate() {
                objective.set(j, *cost);
            }
            for (k, cost) in base.iter().enumerate() {
                objective.set(layout.share(k), *cost);
            }
        }
    }

    /// Base waters first, each row's miss taken up by its own columns: a basis that is feasible
    /// from the start, so there is no phase one.
    fn start(&mut self, pourable: &Pourable, rows: &[Row]) {
        let layout = self.layout;
        let mut at_upper = Vec::new();
        let mut filled = 0.0;
        let mut last = 0;
        for (k, (_, at_most)) in pourable.base.iter().enumerate() {
            last = k;
            if filled + at_most >= 1.0 - SHARE_ROUNDING {
                break;
            }
            filled += at_most;
            at_upper.push(layout.share(k));
        }
        let mut units = vec![layout.volume_gap()];
        let mut pivots = vec![(layout.share(last), 0)];
        let mut worst: Option<(usize, f64)> = None;
        for (i, row) in rows.iter().enumerate() {
            let value: f64 = pourable
                .base
                .iter()
                .take(last + 1)
                .enumerate()
                .map(|(k, (water, at_most))| {
                    let share = if k == last { 1.0 - filled } else { *at_most };
                    share * water.dot(&row.form)
                })
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
        self.simplex.start(&self.matrix, &self.numbers, &units, &at_upper, &pivots);
        if layout.largest {
            // The columns of misses stand in two rows here, so they are no unit columns.
            self.simplex.refresh(&self.matrix, &self.numbers);
        }
    }

    fn run(
        &mut self,
        pourable: &Pourable,
        rows: &[Row],
        wish: &Wish,
        careful: bool,
    ) -> Result<Solution, SolveError> {
        self.start(pourable, rows);
        self.proved.clear();
        for (stage, objective) in self.objectives.iter().enumerate() {
            let mut ending = self.simplex.minimise(&self.matrix, &self.numbers, objective);
            let unsure = careful || self.simplex.is_unsure(objective);
            if unsure && ending == Ending::Optimal {
                self.simplex.refresh(&self.matrix, &self.numbers);
                ending = self.simplex.minimise(&self.matrix, &self.numbers, objective);
            }
            match ending {
                Ending::Optimal => {}
                Ending::Unbounded => return Err(SolveError::Ended { ending: "no bound", stage }),
                Ending::Stalled => return Err(SolveError::Ended { ending: "no progress", stage }),
            }
            let proved =
                recheck::optimality(&self.matrix, &self.numbers, objective, &self.simplex)?;
            self.proved.push(proved);
            self.simplex.freeze(objective);
        }
        self.simplex.settle(&self.matrix, &self.numbers);
        recheck::feasibility(&self.matrix, &self.numbers, &self.simplex.values)?;
        for (objective, proved) in self.objectives.iter().zip(&self.proved) {
            recheck::held(objective, &self.simplex.values, *proved)?;
        }
        let layout = self.layout;
        let values = &self.simplex.values;
        let mut stages = self.objectives.iter().map(|objective| objective.value(values));
        let largest = if wish.largest_first { stages.next() } else { None };
        let beyond = stages.next().unwrap_or_default();
        let inside = stages.next().unwrap_or_default();
        let preference = stages.collect();
        Ok(Solution {
            meq_per_l: values[..layout.stocks].to_vec(),
            shares: values[layout.stocks..layout.volume_gap()].to_vec(),
            largest,
            beyond,
            inside,
            preference,
        })
    }
}

/// Forms are compared as they are stored: a form that differs at all is another matrix.
fn same_bits(a: &Form, b: &Form) -> bool {
    a.iter().zip(b).all(|(x, y)| x.to_bits() == y.to_bits())
}

/// Our choice: shares that sum to one but for this much are meant to fill the litre.
const SHARE_ROUNDING: f64 = 1e-9;

/// A program as plain numbers.
#[derive(Debug, Clone)]
pub struct PlainProgram {
    /// Lower bounds of the columns.
    pub lower: Vec<f64>,
    /// Upper bounds of the columns.
    pub upper: Vec<f64>,
    /// Right-hand sides; every row is an equality.
    pub rhs: Vec<f64>,
    /// Entries: row, column, value.
    pub entries: Vec<(usize, usize, f64)>,
    /// Costs of each stage.
    pub stages: Vec<Vec<f64>>,
}
