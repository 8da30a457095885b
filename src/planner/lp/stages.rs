//! One water, stage by stage.

use crate::planner::lp::block_angular;
use crate::planner::lp::least_doses::OnTop;
use crate::planner::lp::litre;
use crate::planner::lp::litre::{Litre, SHARE_ROUNDING};
use crate::planner::lp::piecewise;
use crate::planner::lp::piecewise::{Piecewise, StageCost};
use crate::planner::lp::program;
use crate::planner::lp::program::{Deviations, HardRow, PourableColumns, Priorities, Row};
use crate::planner::lp::real::{Real, Twofold};
use crate::planner::lp::recheck;
use crate::planner::lp::simplex::{Ending, Simplex};
use crate::planner::lp::solution::{Solution, SolveError};
use crate::planner::lp::warm_start::{RecentBases, Start};

/// Solves one water after the other; keeps the matrix and the last bases while the forms of the rows
/// stay the same.
#[derive(Debug, Clone, Default)]
pub struct Planner {
    free: Program,
    /// The same with the rows of the limits: another matrix, and rarely needed.
    limited: Option<Box<Program>>,
    simplex: Simplex,
    /// Value of each stage as it was proved optimal, before the later stages ran.
    proved: Proved,
    /// Stocks that may not be used for now; the matrix keeps their columns.
    excluded: Vec<bool>,
    /// Rows of the limits of what was poured last.
    hard: Vec<HardRow>,
}

/// What was proved of a water, stage by stage.
#[derive(Debug, Clone, Default)]
struct Proved {
    values: Vec<f64>,
    /// Room for reduced costs.
    reduced: Vec<f64>,
}

impl Proved {
    /// Proves a stage where the simplex stands.
    fn optimum(
        &mut self,
        litre: &Piecewise,
        simplex: &Simplex,
        rows: &[Row],
        stage: StageCost<'_>,
    ) -> Result<(), SolveError> {
        self.values.push(recheck::optimality(litre, rows, stage, simplex, &mut self.reduced)?);
        Ok(())
    }
}

/// A litre with the bases that other waters ended with.
#[derive(Debug, Clone, Default)]
struct Program {
    litre: Piecewise,
    recent: RecentBases,
}

/// Our choice: a limit that is exceeded by this part of it is kept.
pub(crate) const LIMIT_ROUNDING: f64 = 1e-9;

/// Our choice: costs further apart than this are summed up in numbers of twice the digits. Beyond it
/// the least of them is lost among the rounding of the largest.
const FAR_APART: f64 = 1e6;

/// The problem of one water.
#[derive(Clone, Copy)]
struct Problem<'a> {
    pourable: &'a PourableColumns,
    rows: &'a [Row],
    priorities: &'a Priorities,
    hard: &'a [HardRow],
    excluded: &'a [bool],
}

impl Program {
    /// States a water; false when its coefficients are others than those of the last one.
    fn prepare(&mut self, problem: Problem<'_>) -> bool {
        let Problem { pourable, rows, priorities, hard, excluded } = problem;
        let same = self.litre.prepare(pourable, rows, priorities, hard, excluded);
        if !same {
            self.recent.clear();
        }
        same
    }
}

impl Planner {
    /// Solves one water.
    ///
    /// The limits are first left out: doses that keep them anyway are the best with them too.
    ///
    /// # Errors
    /// See [`SolveError`]; an answer that cannot be confirmed is an error, never a result.
    pub fn solve(
        &mut self,
        pourable: &PourableColumns,
        rows: &[Row],
        priorities: &Priorities,
    ) -> Result<Solution, SolveError> {
        let share: f64 = pourable.base.iter().map(|(_, at_most)| at_most).sum();
        if share < 1.0 - SHARE_ROUNDING {
            return Err(SolveError::SharesTooSmall { share });
        }
        if let Some(what) = program::not_measured(pourable, rows) {
            return Err(SolveError::NotMeasured { what: what.label() });
        }
        match OnTop::of(pourable, priorities, &self.excluded)? {
            None => self.solve_any(pourable, rows, priorities),
            Some(on_top) => {
                let found = self.solve_any(&on_top.pourable, rows, &on_top.priorities)?;
                Ok(on_top.with_least(found, priorities))
            }
        }
    }

    /// Solves one water in doses from nothing on.
    fn solve_any(
        &mut self,
        pourable: &PourableColumns,
        rows: &[Row],
        priorities: &Priorities,
    ) -> Result<Solution, SolveError> {
        let excluded = &self.excluded;
        let problem = Problem { pourable, rows, priorities, hard: &[], excluded };
        if !self.free.prepare(problem) {
            self.hard = pourable.hard_rows();
        }
        let free = run(&mut self.free, &mut self.simplex, &mut self.proved, problem)?;
        let kept = |row: &HardRow| row.keeps(&free.meq_per_l, &free.shares, LIMIT_ROUNDING);
        if self.hard.iter().all(kept) {
            return Ok(free);
        }
        let problem = Problem { hard: &self.hard, ..problem };
        let limited = self.limited.get_or_insert_default();
        limited.prepare(problem);
        run(limited, &mut self.simplex, &mut self.proved, problem)
    }

    /// Shuts out the stocks that are not allowed, until the next call; stocks beyond the list are
    /// free.
    pub(crate) fn allow(&mut self, allowed: &[bool]) {
        self.excluded.clear();
        self.excluded.extend(allowed.iter().map(|a| !a));
    }

    /// The program as rows of numbers, for other solvers, without the rows of the limits: bounds, right-hand
    /// sides, entries (row, column, value) and the costs of each stage.
    #[must_use]
    pub fn as_numbers(
        &self,
        pourable: &PourableColumns,
        rows: &[Row],
        priorities: &Priorities,
    ) -> PlainProgram {
        let Litre { matrix, numbers, objectives, .. } =
            Litre::new(pourable, rows, priorities, &[], &self.excluded);
        let entries = (0..matrix.columns())
            .flat_map(|j| matrix.column(j).iter().map(move |(i, v)| (*i, j, *v)))
            .collect();
        PlainProgram {
            lower: numbers.lower,
            upper: numbers.upper,
            rhs: numbers.rhs,
            entries,
            stages: objectives.iter().map(|o| o.costs().to_vec()).collect(),
        }
    }
}

/// Solves a litre: from the nearest of the last bases, from base water alone, once more from fresh
/// factorisations when rounding has got the better of it, and then by the second solver, in numbers
/// of twice the digits. Each answer is proved before it counts.
fn run(
    program: &mut Program,
    simplex: &mut Simplex,
    proved: &mut Proved,
    problem: Problem<'_>,
) -> Result<Solution, SolveError> {
    let Program { litre, recent } = program;
    let Problem { pourable, rows, priorities, hard, .. } = problem;
    if !far_apart(rows) && !priorities.largest_first {
        // A basis within limits is not known to keep them for another water.
        let start = if hard.is_empty() { recent.start(simplex, litre) } else { Start::Far };
        let same = match start {
            Start::Same => same_stages(litre, simplex, proved, rows).ok(),
            Start::Near | Start::Far => None,
        };
        let is_known = same.is_some();
        let found = match start {
            Start::Far => None,
            _ => same.or_else(|| stages(litre, simplex, proved, rows, false).ok()),
        };
        // Of doses that are as good, a water has those that it would have alone.
        if let Some(solution) = found
            && !simplex.has_ties(litre)
        {
            if !is_known {
                recent.keep(simplex, litre);
            }
            return Ok(solution);
        }
        let (at_upper, last) = litre::fill(pourable, !hard.is_empty());
        let at_upper: Vec<usize> = at_upper.iter().map(|k| pourable.stocks.len() + k).collect();
        for careful in [false, true] {
            simplex.start(litre, &at_upper, pourable.stocks.len() + last);
            if let Ok(solution) = stages(litre, simplex, proved, rows, careful) {
                recent.keep(simplex, litre);
                return Ok(solution);
            }
        }
    }
    precise(problem)
}

/// Whether the costs of misses are so far apart that the machine's numbers cannot hold their sum.
fn far_apart(rows: &[Row]) -> bool {
    let rates = rows.iter().map(|row| row.rate);
    let (least, most) =
        rates.fold((f64::INFINITY, 0.0_f64), |(least, most), r| (least.min(r), most.max(r)));
    most > FAR_APART * least
}

/// The stages in order, from wherever the simplex stands; each is proved as soon as it is solved.
fn stages(
    litre: &Piecewise,
    simplex: &mut Simplex,
    proved: &mut Proved,
    rows: &[Row],
    careful: bool,
) -> Result<Solution, SolveError> {
    proved.values.clear();
    for (number, stage) in litre.stages().enumerate() {
        let mut ending = simplex.minimise(litre, stage);
        if ending == Ending::Optimal && (careful || simplex.is_unsure(litre, stage)) {
            simplex.refresh(litre);
            ending = simplex.minimise(litre, stage);
        }
        match ending {
            Ending::Optimal => {}
            Ending::Unbounded => {
                return Err(SolveError::Ended { ending: "no bound", stage: number });
            }
            Ending::Stalled => {
                return Err(SolveError::Ended { ending: "no progress", stage: number });
            }
        }
        proved.optimum(litre, simplex, rows, stage)?;
        simplex.freeze(litre, stage, &proved.reduced);
    }
    doses(litre, simplex, proved, rows)
}

/// The stages of a basis that another water ended with: nothing is minimised, only proved.
fn same_stages(
    litre: &Piecewise,
    simplex: &mut Simplex,
    proved: &mut Proved,
    rows: &[Row],
) -> Result<Solution, SolveError> {
    proved.values.clear();
    simplex.set_values(litre);
    for stage in litre.stages() {
        simplex.find_multipliers(litre, stage);
        proved.optimum(litre, simplex, rows, stage)?;
        // The recheck forgives what an optimum does not.
        if !simplex.is_surely_optimal(litre, stage, &proved.reduced) {
            return Err(SolveError::Ended { ending: "another basis", stage: proved.values.len() });
        }
        simplex.freeze(litre, stage, &proved.reduced);
    }
    doses(litre, simplex, proved, rows)
}

/// The doses that the simplex stands at, rechecked against what was proved of each stage.
fn doses(
    litre: &Piecewise,
    simplex: &mut Simplex,
    proved: &Proved,
    rows: &[Row],
) -> Result<Solution, SolveError> {
    simplex.polish(litre);
    let x = &simplex.x;
    recheck::feasibility(litre, x, &simplex.t)?;
    // A row that stands at an end of its band misses nothing, whatever the rounding of its sum.
    let values = rows.iter().zip(simplex.t.iter().skip(1).copied());
    let Deviations { beyond, inside, .. } = Deviations::of(values);
    let preference = litre.linear.iter().map(|costs| piecewise::dot(costs, x)).collect();
    let stocks = litre.stocks();
    let (meq_per_l, shares) = x.split_at_checked(stocks).unwrap_or((x, &[]));
    let solution = Solution {
        meq_per_l: meq_per_l.to_vec(),
        shares: shares.to_vec(),
        largest: None,
        beyond,
        inside,
        preference,
    };
    for ((stage, proved), value) in litre.stages().zip(&proved.values).zip(solution.values()) {
        recheck::held(value, *proved, litre.largest_cost(stage))?;
    }
    Ok(solution)
}

/// By the solver for any numbers: of the machine first, where they are not far apart.
fn precise(problem: Problem<'_>) -> Result<Solution, SolveError> {
    let Problem { pourable, rows, priorities, hard, excluded } = problem;
    let litre = Litre::new(pourable, rows, priorities, hard, excluded);
    if !far_apart(rows)
        && let Ok(solution) = solve_in::<f64>(&litre, problem)
    {
        return Ok(solution);
    }
    solve_in::<Twofold>(&litre, problem)
}

fn solve_in<R: Real>(litre: &Litre, problem: Problem<'_>) -> Result<Solution, SolveError> {
    let blocks = [litre.block(problem.pourable, problem.rows)];
    let found = block_angular::solve::<R>(&blocks, &[], &mut |_, _| true)
        .map_err(|failure| SolveError::Ended { ending: failure.words(), stage: 0 })?;
    recheck::optimum(&found)?;
    let values = found.values.first().map_or(&[][..], Vec::as_slice);
    for (objective, stage) in litre.objectives.iter().zip(&found.stages) {
        recheck::held(objective.value(values), stage.value, objective.largest())?;
    }
    Ok(solution(litre, values, problem.priorities))
}

/// The values of all columns as doses, shares and stage values.
pub(crate) fn solution(litre: &Litre, values: &[f64], priorities: &Priorities) -> Solution {
    let layout = litre.layout;
    let mut stages = litre.objectives.iter().map(|objective| objective.value(values));
    let largest = if priorities.largest_first { stages.next() } else { None };
    let beyond = stages.next().unwrap_or_default();
    let inside = stages.next().unwrap_or_default();
    let preference = stages.collect();
    let part = |from: usize, to: usize| values.get(from..to).unwrap_or_default().to_vec();
    Solution {
        meq_per_l: part(0, layout.stocks),
        shares: part(layout.stocks, layout.volume_gap()),
        largest,
        beyond,
        inside,
        preference,
    }
}

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

#[cfg(test)]
#[path = "stages_tests.rs"]
mod tests;
