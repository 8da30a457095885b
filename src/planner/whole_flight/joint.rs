//! All waters of a flight together, when what is left in the bottles of stock must do for all.
//!
//! Rows and columns are those of one water, once per target; one more row per limited stock joins
//! them: `Σ_targets ml_per_meq·litres·u ≤ left`. The stages are those of one water, each summed over
//! the targets: the largest miss of each, the misses beyond tolerance, those inside, the preference.
//!
//! Where doses are added to a litre, a bottle holds `1/s` finished litres for each litre of base
//! water, with `s = Σ y_k` the share of base water; so a bottle takes `x/s` of a stock, which is not
//! linear. The row is stated with the shares of the doses at hand, and the program solved again
//! until they agree. Such doses keep the limits and are close to the best; how close, the program
//! with `s = 1` says, which leaves more room than there is.

use crate::flight::Convention;
use crate::planner::lp::block_angular::{Block, Failure, Optimum};
use crate::planner::lp::litre::Litre;
use crate::planner::lp::program::{HardRow, PourableColumns, Priorities, Row};
use crate::planner::lp::real::{Real, Twofold};
use crate::planner::lp::solution::{Solution, SolveError};
use crate::planner::lp::stages::{LIMIT_ROUNDING, solution};
use crate::planner::lp::{block_angular, recheck};
use crate::planner::whole_flight::Watch;

/// What is asked of all waters together.
#[derive(Debug, Clone, Default)]
pub struct JointProgram {
    /// Rows of each target.
    pub rows: Vec<Vec<Row>>,
    /// Which stocks each target may use.
    pub allowed: Vec<Vec<bool>>,
    /// Litres in a bottle: finished, or of base water when doses are added to it.
    pub bottle: f64,
    /// Stocks with the mL left in their bottle.
    pub left: Vec<(usize, f64)>,
}

/// Doses of all waters with what is proved of them.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct JointDoses {
    /// The doses of each target.
    pub solutions: Vec<Solution>,
    /// For each stage its sum over the targets, and what no doses within what is left can better.
    pub stages: Vec<[f64; 2]>,
    /// Whether all of them are proved.
    pub proved: bool,
}

/// Our choice: a sum over a flight is proved when nothing is better by more than this part of it (or
/// of one unit of miss): rounding of the arithmetic.
const PROVED_WITHIN: f64 = 1e-7;

/// The best doses within what is left, stage by stage.
///
/// # Errors
/// When the solver finds no optimum that stands up to its recheck, or was told to stop.
pub fn plan_together(
    pourable: &PourableColumns,
    asked: &JointProgram,
    priorities: &Priorities,
    watch: &Watch<'_>,
) -> Result<JointDoses, SolveError> {
    let limits: Vec<f64> = asked.left.iter().map(|(_, ml)| *ml).collect();
    let mut problem = Problem {
        pourable,
        asked,
        priorities,
        hard: pourable.hard_rows(),
        limited: vec![false; asked.rows.len()],
    };
    let ones = vec![1.0; asked.rows.len()];
    let found = problem.solve(&ones, &limits, watch)?;
    let proved = |stages: &[[f64; 2]]| {
        stages.iter().all(|[value, bound]| value - bound <= PROVED_WITHIN * value.abs().max(1.0))
    };
    if pourable.convention == Convention::MadeUpToALitre {
        return Ok(JointDoses { proved: proved(&found.stages), ..found });
    }
    let wider = found.stages.clone();
    let mut found = problem.added(found, &limits, watch)?;
    for (n, (stage, [_, bound])) in found.stages.iter_mut().zip(wider).enumerate() {
        // Behind a stage that is not proved nothing is known of the later ones.
        stage[1] = if n == 0 { bound.min(stage[0]) } else { 0.0 };
    }
    Ok(JointDoses { proved: proved(&found.stages), ..found })
}

struct Problem<'a> {
    pourable: &'a PourableColumns,
    asked: &'a JointProgram,
    priorities: &'a Priorities,
    hard: Vec<HardRow>,
    /// Targets whose doses would break a hard row if it were left out.
    limited: Vec<bool>,
}

impl Problem<'_> {
    /// Doses that come on top of a litre: the shares of base water that they leave are those that
    /// their own limits were stated with, and the limits are kept.
    fn added(
        &mut self,
        first: JointDoses,
        limits: &[f64],
        watch: &Watch<'_>,
    ) -> Result<JointDoses, SolveError> {
        /// Our choice: shares move by less and less; after so many rounds they are near enough.
        const ROUNDS: usize = 12;
        /// Our choice: a limit that is used up but for this part of it is used up.
        const USED_UP: f64 = 1e-9;
        /// Our choice: a share of base water that moves by less is the same.
        const SAME: f64 = 1e-9;
        let mut room = limits.to_vec();
        let mut found = first;
        let mut base: Vec<f64> = vec![1.0; found.solutions.len()];
        let mut kept: Option<JointDoses> = None;
        for _ in 0..ROUNDS {
            let next: Vec<f64> = found.solutions.iter().map(base_share).collect();
            let moved = next.iter().zip(&base).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
            let taken = self.taken(&found.solutions);
            if taken.iter().zip(limits).all(|(t, left)| *t <= *left) {
                // What came before was further from the limits, or over them.
                kept = Some(found.clone());
                if moved <= SAME {
                    break;
                }
            }
            base = next;
            found = self.solve(&base, &room, watch)?;
            // Shares that still moved have let a limit be overstepped, or have left room.
            for ((room, taken), left) in
                room.iter_mut().zip(self.taken(&found.solutions)).zip(limits)
            {
                if taken > *left {
                    *room *= (1.0 - 0.5 * USED_UP) * left / taken;
                }
            }
        }
        if self.taken(&found.solutions).iter().zip(limits).all(|(t, left)| t <= left) {
            return Ok(found);
        }
        kept.ok_or(SolveError::Ended { ending: "no progress", stage: 0 })
    }

    /// mL of each limited stock that bottles of these waters take.
    fn taken(&self, solutions: &[Solution]) -> Vec<f64> {
        let of = |(stock, _): &(usize, f64)| {
            let ml = self.pourable.stocks.get(*stock).map_or(0.0, |(_, ml)| *ml);
            let each = solutions.iter().map(|s| {
                let meq = s.meq_per_l.get(*stock).copied().unwrap_or_default();
                self.asked.bottle * meq * ml / base_share(s)
            });
            each.sum()
        };
        self.asked.left.iter().map(of).collect()
    }

    /// The optimum where each target finishes one litre for so much base water. Hard rows come in
    /// for the waters that need them.
    fn solve(
        &mut self,
        base: &[f64],
        limits: &[f64],
        watch: &Watch<'_>,
    ) -> Result<JointDoses, SolveError> {
        loop {
            let (litres, blocks) = self.state(base);
            let found = optimum(&blocks, limits, watch)?;
            let solutions: Vec<Solution> = litres
                .iter()
                .zip(&found.values)
                .map(|(litre, values)| solution(litre, values, self.priorities))
                .collect();
            let mut more = false;
            for (limited, solution) in self.limited.iter_mut().zip(&solutions) {
                let keeps = |row: &HardRow| {
                    row.keeps(&solution.meq_per_l, &solution.shares, LIMIT_ROUNDING)
                };
                if !*limited && !self.hard.iter().all(keeps) {
                    *limited = true;
                    more = true;
                }
            }
            if !more {
                let stages = found.stages.iter().map(|s| [s.value, s.bound.min(s.value)]).collect();
                return Ok(JointDoses { solutions, stages, proved: false });
            }
        }
    }

    fn state(&self, base: &[f64]) -> (Vec<Litre>, Vec<Block>) {
        let targets = self.asked.rows.iter().zip(&self.asked.allowed).zip(base);
        targets
            .zip(&self.limited)
            .map(|(((rows, allowed), base), limited)| {
                let used_up =
                    |j: usize| self.asked.left.iter().any(|(s, ml)| *s == j && *ml <= 0.0);
                let excluded: Vec<bool> =
                    allowed.iter().enumerate().map(|(j, a)| !a || used_up(j)).collect();
                let hard = if *limited { self.hard.as_slice() } else { &[] };
                let litre = Litre::new(self.pourable, rows, self.priorities, hard, &excluded);
                let mut block = litre.block(self.pourable, rows);
                block.coupling = self.coupling(*base);
                (litre, block)
            })
            .unzip()
    }

    /// By stock: its part in each limited stock.
    fn coupling(&self, base: f64) -> Vec<Vec<(usize, f64)>> {
        let mut columns = vec![Vec::new(); self.pourable.stocks.len()];
        for (i, (stock, _)) in self.asked.left.iter().enumerate() {
            let ml = self.pourable.stocks.get(*stock).map_or(0.0, |(_, ml)| *ml);
            if let Some(column) = columns.get_mut(*stock) {
                column.push((i, ml * self.asked.bottle / base));
            }
        }
        columns
    }
}

/// The part of a finished litre that is base water.
fn base_share(solution: &Solution) -> f64 {
    solution.shares.iter().sum::<f64>().max(f64::MIN_POSITIVE)
}

/// The optimum by numbers of the machine, or else of twice the digits.
fn optimum(blocks: &[Block], limits: &[f64], watch: &Watch<'_>) -> Result<Optimum, SolveError> {
    fn with<R: Real>(
        blocks: &[Block],
        limits: &[f64],
        watch: &Watch<'_>,
    ) -> Result<Optimum, SolveError> {
        let found = block_angular::solve::<R>(blocks, limits, &mut |stage, part| {
            watch.go_on("what is left of the stocks", stage, part)
        })
        .map_err(|failure| match failure {
            Failure::Cancelled => SolveError::Cancelled,
            other => SolveError::Ended { ending: other.words(), stage: 0 },
        })?;
        recheck::optimum(&found)?;
        Ok(found)
    }
    match with::<f64>(blocks, limits, watch) {
        Err(SolveError::Cancelled) => Err(SolveError::Cancelled),
        Err(_) => with::<Twofold>(blocks, limits, watch),
        found => found,
    }
}
