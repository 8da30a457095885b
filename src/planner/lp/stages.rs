//! One water, stage by stage.
use thiserror::Error;

use crate::planner::lp::blocks;
use crate::planner::lp::litre::{Litre, SHARE_ROUNDING};
use crate::planner::lp::matrix::Objective;
use crate::planner::lp::program;
use crate::planner::lp::program::{HardRow, PourableColumns, Row};
use crate::planner::lp::real::Twofold;
use crate::planner::lp::recheck;
use crate::planner::lp::simplex::{Ending, Simplex};
use crate::planner::lp::solver;

/// Which stages are wanted beyond the misses.
#[derive(Debug, Clone, Default)]
pub struct Priorities {
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
    /// The best water has no base water, and doses are to be added to a litre of it.
    #[error(
        "the best answer is made of stocks alone, so there is no litre of base water to add them to"
    )]
    StocksAlone,
    /// Someone stopped the search.
    #[error("the search was stopped")]
    Cancelled,
    /// The solver ended without an optimum.
    #[error("the solver ended with {ending} in stage {stage}")]
    Ended {
        /// How it ended.
        ending: &'static str,
        /// Number of the stage.
        stage: usize,
    },
    /// The answer, re-evaluated outside the solver, is not what the solver says.
    #[error("the answer fails its recheck: {what} differs by {by:e}")]
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
    litre: Litre,
    /// The same with the rows of the limits: another matrix, and rarely needed.
    limited: Option<Box<Litre>>,
    simplex: Simplex,
    /// Value of each stage as it was proved optimal, before the later stages ran.
    proved: Vec<f64>,
    /// Stocks that may not be used for now; the matrix keeps their columns.
    excluded: Vec<bool>,
    /// Rows of the limits of what was poured last.
    hard: Option<(PourableColumns, Vec<HardRow>)>,
}

/// Our choice: a limit that is exceeded by this part of it is kept.
pub(crate) const LIMIT_ROUNDING: f64 = 1e-9;

/// Our choice: costs further apart than this are summed up in numbers of twice the digits. Beyond it
/// the least of them is lost among the rounding of the largest.
const FAR_APART: f64 = 1e6;

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
        self.litre.prepare(pourable, rows, priorities, &[], &self.excluded);
        let free =
            run(&self.litre, &mut self.simplex, &mut self.proved, (pourable, rows, priorities))?;
        if !self.hard.as_ref().is_some_and(|(known, _)| known == pourable) {
            self.hard = Some((pourable.clone(), pourable.hard_rows()));
        }
        let Some((_, hard)) = &self.hard else { return Ok(free) };
        let kept = |row: &HardRow| row.keeps(&free.meq_per_l, &free.shares, LIMIT_ROUNDING);
        if hard.iter().all(kept) {
            return Ok(free);
        }
        let limited = self.limited.get_or_insert_default();
        limited.prepare(pourable, rows, priorities, hard, &self.excluded);
        run(limited, &mut self.simplex, &mut self.proved, (pourable, rows, priorities))
    }

    /// Shuts out the stocks that are not allowed, until the next call; stocks beyond the list are
    /// free.
    pub(crate) fn allow(&mut self, allowed: &[bool]) {
        self.excluded.clear();
        self.excluded.extend(allowed.iter().map(|a| !a));
    }

    /// The stage values by a second, independent solver, in the order of the stages.
    ///
    /// # Errors
    /// When that solver reports no optimum.
    pub fn second_opinion(
        &mut self,
        pourable: &PourableColumns,
        rows: &[Row],
        priorities: &Priorities,
    ) -> Result<Vec<f64>, String> {
        let hard = pourable.hard_rows();
        let mut litre = Litre::default();
        litre.prepare(pourable, rows, priorities, &hard, &self.excluded);
        let Litre { numbers, objectives, .. } = &litre;
        let bounds = |j: usize| {
            let of = |list: &[f64]| list.get(j).copied().unwrap_or_default();
            (of(&numbers.lower), of(&numbers.upper))
        };
        let stages: Vec<&[f64]> = objectives.iter().map(Objective::costs).collect();
        solver::second_opinion(pourable, rows, &hard, priorities.largest_first, bounds, &stages)
            .map_err(|error| error.to_string())
    }

    /// The program as rows of numbers, for benchmarks against other solvers: bounds, right-hand
    /// sides, entries (row, column, value) and the costs of each stage.
    #[must_use]
    pub fn as_numbers(
        &mut self,
        pourable: &PourableColumns,
        rows: &[Row],
        priorities: &Priorities,
    ) -> PlainProgram {
        self.litre.prepare(pourable, rows, priorities, &[], &self.excluded);
        let Litre { numbers, objectives, matrix, .. } = &self.litre;
        let entries = (0..matrix.columns())
            .flat_map(|j| matrix.column(j).iter().map(move |(i, v)| (*i, j, *v)))
            .collect();
        PlainProgram {
            lower: numbers.lower.clone(),
            upper: numbers.upper.clone(),
            rhs: numbers.rhs.clone(),
            entries,
            stages: objectives.iter().map(|o| o.costs().to_vec()).collect(),
        }
    }
}

/// The problem that a litre was prepared for.
type Problem<'a> = (&'a PourableColumns, &'a [Row], &'a Priorities);

/// Solves a prepared litre: by the simplex for many waters, once more from a fresh factorisation
/// when rounding has got the better of it, and then by the second solver, in numbers of twice the
/// digits. Each answer is proved before it counts.
fn run(
    litre: &Litre,
    simplex: &mut Simplex,
    proved: &mut Vec<f64>,
    problem: Problem<'_>,
) -> Result<Solution, SolveError> {
    if !far_apart(problem.1) {
        for careful in [false, true] {
            if let Ok(solution) = quick(litre, simplex, proved, problem, careful) {
                return Ok(solution);
            }
        }
    }
    precise(litre, problem)
}

/// Whether the costs of misses are so far apart that the machine's numbers cannot hold their sum.
fn far_apart(rows: &[Row]) -> bool {
    let rates = rows.iter().map(|row| row.rate);
    let (least, most) =
        rates.fold((f64::INFINITY, 0.0_f64), |(least, most), r| (least.min(r), most.max(r)));
    most > FAR_APART * least
}

fn quick(
    litre: &Litre,
    simplex: &mut Simplex,
    proved: &mut Vec<f64>,
    (pourable, rows, priorities): Problem<'_>,
    careful: bool,
) -> Result<Solution, SolveError> {
    let Litre { matrix, numbers, objectives, layout, .. } = litre;
    let first = litre.first_basis(pourable, rows);
    simplex.start(matrix, numbers, &first.units, &first.at_upper, &first.pivots);
    if layout.largest {
        // The columns of misses stand in two rows here, so they are no unit columns.
        simplex.refresh(matrix, numbers);
    }
    proved.clear();
    for (stage, objective) in objectives.iter().enumerate() {
        let mut ending = simplex.minimise(matrix, numbers, objective);
        let unsure = careful || simplex.is_unsure(objective);
        if unsure && ending == Ending::Optimal {
            simplex.refresh(matrix, numbers);
            ending = simplex.minimise(matrix, numbers, objective);
        }
        match ending {
            Ending::Optimal => {}
            Ending::Unbounded => return Err(SolveError::Ended { ending: "no bound", stage }),
            Ending::Stalled => return Err(SolveError::Ended { ending: "no progress", stage }),
        }
        proved.push(recheck::optimality(matrix, numbers, objective, simplex)?);
        simplex.freeze(objective);
    }
    simplex.polish(matrix, numbers);
    recheck::feasibility(matrix, numbers, &simplex.values)?;
    for (objective, proved) in objectives.iter().zip(proved.iter()) {
        recheck::held(objective, &simplex.values, *proved)?;
    }
    Ok(solution(litre, &simplex.values, priorities))
}

fn precise(
    litre: &Litre,
    (pourable, rows, priorities): Problem<'_>,
) -> Result<Solution, SolveError> {
    let blocks = [litre.block(pourable, rows)];
    let found = blocks::solve::<Twofold>(&blocks, &[], &mut |_, _| true)
        .map_err(|failure| SolveError::Ended { ending: failure.words(), stage: 0 })?;
    recheck::optimum(&found)?;
    let values = found.values.first().map_or(&[][..], Vec::as_slice);
    for (objective, stage) in litre.objectives.iter().zip(&found.stages) {
        recheck::held(objective, values, stage.value)?;
    }
    Ok(solution(litre, values, priorities))
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
mod tests {
    #![expect(clippy::indexing_slicing, reason = "one of three, by a number below three")]

    use rand::{RngExt, SeedableRng};
    use rand_chacha::ChaCha20Rng;

    use super::*;
    use crate::chemistry::{Composition, Conserved};
    use crate::flight::Preference;

    const IONS: [Conserved; 6] = [
        Conserved::Ca,
        Conserved::Mg,
        Conserved::Na,
        Conserved::Cl,
        Conserved::SO4,
        Conserved::Alkalinity,
    ];

    fn salt(cation: Conserved, anion: Conserved) -> Composition {
        let mut per_meq = Composition::PURE_WATER;
        for ion in [cation, anion] {
            per_meq.add_mmol_per_l(ion, 1.0 / f64::from(ion.charge().abs()));
        }
        per_meq
    }

    /// Nine stocks, up to three base waters, and rows whose costs are up to 10^`apart` apart.
    fn program(random: &mut ChaCha20Rng, apart: f64) -> (PourableColumns, Vec<Row>, Priorities) {
        let mut pourable = PourableColumns::default();
        let (cations, anions) = IONS.split_at(3);
        for cation in cations {
            for anion in anions {
                let ml_per_meq = random.random_range(1.5..40.0);
                pourable.stocks.push((salt(*cation, *anion), ml_per_meq));
            }
        }
        pourable.base.push((Composition::PURE_WATER, 1.0));
        for _ in 0..random.random_range(0..3) {
            let mut water = Composition::PURE_WATER;
            for ion in IONS {
                water.set_mmol_per_l(ion, random.random_range(0.0..2.0));
            }
            pourable.base.push((water, random.random_range(0.2..1.0)));
        }
        let rows = IONS
            .iter()
            .take(random.random_range(2..=6))
            .map(|ion| {
                let mut form = [0.0; Conserved::ALL.len()];
                for (slot, c) in form.iter_mut().zip(Conserved::ALL) {
                    *slot = if c == *ion { f64::from(ion.charge().abs()) } else { 0.0 };
                }
                let low = random.random_range(0.0..3.0);
                let high = [low, f64::INFINITY, low + 0.3][random.random_range(0..3)];
                let rate = 10.0_f64.powf(random.random_range(0.0..apart));
                let tolerance = [0.0, 1.0 / rate, 0.05][random.random_range(0..3)];
                Row::band(form, low, high, tolerance, rate)
            })
            .collect();
        let preference =
            if random.random_bool(0.5) { Preference::LeastVolume } else { Preference::LeastSodium };
        let priorities = Priorities {
            largest_first: random.random_bool(0.3),
            preference: pourable.preference_costs(preference),
        };
        (pourable, rows, priorities)
    }

    fn stages(solution: &Solution) -> Vec<f64> {
        let misses = solution.largest.into_iter().chain([solution.beyond, solution.inside]);
        misses.chain(solution.preference.iter().copied()).collect()
    }

    /// Two solvers that share neither basis nor digits come to the same value in every stage.
    #[test]
    fn the_second_solver_agrees() {
        let mut random = ChaCha20Rng::seed_from_u64(7);
        let mut compared = 0;
        for number in 0..600 {
            let (pourable, rows, priorities) = program(&mut random, 5.0);
            let mut litre = Litre::default();
            litre.prepare(&pourable, &rows, &priorities, &[], &[]);
            let problem = (&pourable, rows.as_slice(), &priorities);
            let second = precise(&litre, problem).map(|s| stages(&s)).unwrap_or_default();
            assert!(!second.is_empty(), "number {number} has no answer");
            let (mut simplex, mut proved) = (Simplex::default(), Vec::new());
            let Ok(first) = quick(&litre, &mut simplex, &mut proved, problem, false) else {
                continue;
            };
            compared += 1;
            for (a, b) in stages(&first).iter().zip(&second) {
                assert!((a - b).abs() <= 1e-9 * b.abs().max(1.0), "number {number}: {a} and {b}");
            }
        }
        assert!(compared > 590, "only {compared} compared");
    }

    /// Costs up to 10^13 apart, as tolerances of next to nothing make them: every program has an
    /// answer, and it is proved.
    #[test]
    fn costs_far_apart_have_an_answer() {
        let mut random = ChaCha20Rng::seed_from_u64(8);
        for number in 0..600 {
            let (pourable, rows, priorities) = program(&mut random, 13.0);
            let found = Planner::default().solve(&pourable, &rows, &priorities);
            assert!(found.is_ok(), "number {number}: {found:?}");
        }
    }
}
