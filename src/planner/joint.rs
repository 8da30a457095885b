//! All waters of a flight together, when what is left in the bottles of stock must do for all.
//!
//! Rows and columns are those of one water, once per target; one more row per limited stock joins
//! them: `Σ_targets ml_per_meq·litres·u ≤ left`. The stages are those of one water, each summed over
//! the targets: the largest miss of each, the misses beyond tolerance, those inside, the preference.
//!
//! Where doses are added to a litre, a bottle holds `1/s` finished litres for each litre of base
//! water, with `s = Σ y_k` the share of base water; so a bottle takes `x/s` of a stock, which is not
//! linear. The row is stated by its tangent at the doses at hand, `x/s* − x*·(s − s*)/s*²`, and the
//! program solved again until both agree.

use crate::planner::blocks::{self, Block, Failure, Optimum};
use crate::planner::litre::Litre;
use crate::planner::program::{HardRow, Pourable, Row};
use crate::planner::real::{Real, Twofold};
use crate::planner::recheck;
use crate::planner::stages::{LIMIT_ROUNDING, Solution, SolveError, Wish, solution};
use crate::planner::watch::Watch;
use crate::waters::Convention;

/// What is asked of all waters together.
#[derive(Debug, Clone, Default)]
pub struct Together {
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

/// Where a target's share of base water and its limited doses stand, mL/L by limit.
#[derive(Debug, Clone, PartialEq)]
struct Tangent {
    base: f64,
    doses: Vec<f64>,
}

/// The best doses within what is left, stage by stage.
///
/// # Errors
/// When the solver finds no optimum that stands up to its recheck, or was told to stop.
pub fn plan_together(
    pourable: &Pourable,
    asked: &Together,
    wish: &Wish,
    watch: &Watch<'_>,
) -> Result<JointDoses, SolveError> {
    /// Our choice: tangents move by less and less; after so many rounds they are near enough or
    /// never will be.
    const ROUNDS: usize = 12;
    /// Our choice: a share of base water that moves by less is the same.
    const SAME: f64 = 1e-10;
    let limits: Vec<f64> = asked.left.iter().map(|(_, ml)| *ml).collect();
    let added = pourable.convention == Convention::AddedToALitre;
    let begin = Tangent { base: 1.0, doses: vec![0.0; limits.len()] };
    let mut problem = Problem {
        pourable,
        asked,
        wish,
        hard: pourable.hard_rows(),
        limited: vec![false; asked.rows.len()],
    };
    let mut tangents = vec![begin; asked.rows.len()];
    let mut found = problem.solve(&tangents, watch)?;
    if !added {
        let proved = found.stages.iter().all(|[value, bound]| {
            value - bound <= PROVED_WITHIN * value.abs().max(1.0)
        });
        return Ok(JointDoses { proved, ..found });
    }
    // Fewer litres are finished than the first tangent says, so the limits are wider there: what
    // it proves no doses can better, they cannot with the true limits.
    let wider = found.stages.clone();
    for _ in 0..ROUNDS {
        let next: Vec<Tangent> = found.solutions.iter().map(|s| problem.tangent(s)).collect();
        let moved = next.iter().zip(&tangents).map(|(a, b)| {
            let doses = a.doses.iter().zip(&b.doses).map(|(x, y)| (x - y).abs() / 1000.0);
            doses.fold((a.base - b.base).abs(), f64::max)
        });
        let moved = moved.fold(0.0, f64::max);
        tangents = next;
        if moved <= SAME {
            break;
        }
        found = problem.solve(&tangents, watch)?;
    }
    problem.shrink(&mut found);
    let mut bound = wider.iter().map(|[_, bound]| *bound);
    found.stages = found
        .stages
        .iter()
        .enumerate()
        .map(|(n, [value, _])| {
            // Behind a stage that is not proved nothing is known of the later ones.
            let below = bound.next().filter(|_| n == 0).unwrap_or_default();
            [*value, below.min(*value)]
        })
        .collect();
    let proved = found.stages.iter().all(|[v, b]| v - b <= PROVED_WITHIN * v.abs().max(1.0));
    Ok(JointDoses { proved, ..found })
}

struct Problem<'a> {
    pourable: &'a Pourable,
    asked: &'a Together,
    wish: &'a Wish,
    hard: Vec<HardRow>,
    /// Targets whose doses would break a hard row if it were left out.
    limited: Vec<bool>,
}

impl Problem<'_> {
    /// The optimum with these tangents. Hard rows come in for the waters that need them.
    fn solve(&mut self, tangents: &[Tangent], watch: &Watch<'_>) -> Result<JointDoses, SolveError> {
        loop {
            let (litres, blocks) = self.state(tangents);
            let limits = self.limits(tangents);
            let found = optimum(&blocks, &limits, watch)?;
            let solutions: Vec<Solution> = litres
                .iter()
                .zip(&found.values)
                .map(|(litre, values)| solution(litre, values, self.wish))
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

    fn state(&self, tangents: &[Tangent]) -> (Vec<Litre>, Vec<Block>) {
        let targets = self.asked.rows.iter().zip(&self.asked.allowed).zip(tangents);
        targets
            .zip(&self.limited)
            .map(|(((rows, allowed), tangent), limited)| {
                let used_up = |j: usize| self.asked.left.iter().any(|(s, ml)| *s == j && *ml <= 0.0);
                let shut: Vec<bool> =
                    allowed.iter().enumerate().map(|(j, a)| !a || used_up(j)).collect();
                let hard = if *limited { self.hard.as_slice() } else { &[] };
                let mut litre = Litre::default();
                litre.prepare(self.pourable, rows, self.wish, hard, &shut);
                let mut block = litre.block(self.pourable, rows);
                block.coupling = self.coupling(tangent);
                (litre, block)
            })
            .unzip()
    }

    /// By stock and base water: its part in each limited stock.
    fn coupling(&self, tangent: &Tangent) -> Vec<Vec<(usize, f64)>> {
        let bottle = self.asked.bottle;
        let mut columns = vec![Vec::new(); self.pourable.stocks.len() + self.pourable.base.len()];
        for (i, ((stock, _), dose)) in self.asked.left.iter().zip(&tangent.doses).enumerate() {
            let ml = self.pourable.stocks.get(*stock).map_or(0.0, |(_, ml)| *ml);
            if let Some(column) = columns.get_mut(*stock) {
                column.push((i, ml * bottle / tangent.base));
            }
            let per_base = -dose * bottle / (tangent.base * tangent.base);
            for column in columns.iter_mut().skip(self.pourable.stocks.len()) {
                if per_base != 0.0 {
                    column.push((i, per_base));
                }
            }
        }
        columns
    }

    fn limits(&self, tangents: &[Tangent]) -> Vec<f64> {
        let at = |i: usize| tangents.iter().filter_map(move |t| Some(t.doses.get(i)? / t.base));
        let left = self.asked.left.iter().enumerate();
        left.map(|(i, (_, ml))| ml - self.asked.bottle * at(i).sum::<f64>()).collect()
    }

    fn tangent(&self, solution: &Solution) -> Tangent {
        let dose = |(stock, _): &(usize, f64)| {
            let meq = solution.meq_per_l.get(*stock).copied().unwrap_or_default();
            meq * self.pourable.stocks.get(*stock).map_or(0.0, |(_, ml)| *ml)
        };
        Tangent {
            base: solution.shares.iter().sum::<f64>().max(f64::MIN_POSITIVE),
            doses: self.asked.left.iter().map(dose).collect(),
        }
    }

    /// Takes back what tangents that still moved have taken too much of a stock, a hair of each
    /// dose; the base water fills the litre.
    fn shrink(&self, found: &mut JointDoses) {
        for (i, (stock, left)) in self.asked.left.iter().enumerate() {
            let of = |s: &Solution| {
                let Tangent { base, doses } = self.tangent(s);
                self.asked.bottle * doses.get(i).copied().unwrap_or_default() / base
            };
            let taken: f64 = found.solutions.iter().map(of).sum();
            if taken <= *left {
                continue;
            }
            let part = left / taken;
            for solution in &mut found.solutions {
                let Some(meq) = solution.meq_per_l.get_mut(*stock) else { continue };
                let ml = self.pourable.stocks.get(*stock).map_or(0.0, |(_, ml)| *ml);
                let freed = *meq * (1.0 - part) * ml / 1000.0;
                *meq *= part;
                let base: f64 = solution.shares.iter().sum();
                for share in &mut solution.shares {
                    *share *= (base + freed) / base;
                }
            }
        }
    }
}

/// The optimum by numbers of the machine, or else of twice the digits.
fn optimum(
    blocks: &[Block],
    limits: &[f64],
    watch: &Watch<'_>,
) -> Result<Optimum, SolveError> {
    fn with<R: Real>(
        blocks: &[Block],
        limits: &[f64],
        watch: &Watch<'_>,
    ) -> Result<Optimum, SolveError> {
        let found = blocks::solve::<R>(blocks, limits, &mut |stage, part| {
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
