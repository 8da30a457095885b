//! A water from few dry salts, each enough to be weighed well.
//!
//! A recipe is a set of salts with grams of each. Sets are compared whole: that every salt of a
//! set has at least so many grams in a litre is stated by giving them to the litre beforehand, so
//! each set is one linear program, and nothing is cut off afterwards.
#![expect(clippy::indexing_slicing, reason = "indices run over the salts of one statement")]

use crate::chemistry::{Composition, Ion};
use crate::everyday::WeighedOut;
use crate::everyday::weigh_out::{MOST_G_PER_L, evaluated, stated};
use crate::flight::{BaseShare, Target};
use crate::planner::lp::program;
use crate::planner::lp::program::{PourableColumns, Priorities, Row};
use crate::planner::lp::solution::{Solution, SolveError};
use crate::planner::lp::stages::Planner;
use crate::planner::subset;
use crate::planner::subset::{Members, size};
use crate::stock::DrySalt;

/// Our choice: goals are kept as well when the weighted misses inside tolerance grow together by
/// no more than this part of one tolerance; what a balance leaves open is more.
pub const AS_WELL: f64 = 0.1;

/// Our choice: misses beyond tolerance that grow by a millionth of a unit of miss do not grow.
const ROUNDING: f64 = 1e-6;

/// Our choice: of more salts than this not every set is compared, since the sets double with each.
const MOST_COMPARED: usize = 8;

/// Our choice: where no set is weighed as well as wanted, a set of fewer salts may have this part
/// of what the best weighed set has of its least salt.
const NEARLY: f64 = 0.95;

/// Recipes of one water.
#[derive(Debug, Clone)]
pub struct FewSalts<'a> {
    salts: &'a [DrySalt],
    target: &'a Target,
    pourable: PourableColumns,
    priorities: Priorities,
    rows: Vec<Row>,
    planner: Planner,
    /// Misses with all salts and any grams: beyond tolerance, inside.
    best: (f64, f64),
    /// The sets that keep the goals as well, the smallest first.
    good: Vec<Members>,
    most_of_each: f64,
}

/// Grams of few salts that make a water, and what they miss.
#[derive(Debug, Clone, PartialEq)]
pub struct FewSaltRecipe {
    /// Which salts it has.
    pub members: Vec<bool>,
    /// What it has of each at least, g/L.
    pub least_g_per_l: f64,
    /// Its grams, and what they give.
    pub made: WeighedOut,
}

impl<'a> FewSalts<'a> {
    /// All sets that keep the goals as well as all salts together. `room` is the part of the litre
    /// that base water fills.
    ///
    /// # Errors
    /// As the planner.
    pub fn new(
        salts: &'a [DrySalt],
        base: &[BaseShare],
        target: &'a Target,
        room: f64,
    ) -> Result<Self, SolveError> {
        let (pourable, priorities) = stated(salts, base, room);
        let mut rows = Vec::new();
        program::push_rows(target, &mut rows);
        let mut few = Self {
            salts,
            target,
            pourable,
            priorities,
            rows,
            planner: Planner::default(),
            best: (0.0, 0.0),
            good: Vec::new(),
            most_of_each: 0.0,
        };
        let all = vec![true; salts.len()];
        let free = few.solved(&all, 0.0)?;
        few.best = (free.beyond, free.inside);
        for set in few.sets(&free) {
            if few.keeps_the_goals(&set, 0.0) {
                few.good.push(set);
            }
        }
        few.most_of_each = few.most_of(&few.good.clone());
        Ok(few)
    }

    /// The most that a litre can have of every salt of some recipe that keeps the goals as well,
    /// g/L: what the least batch follows from.
    #[must_use]
    pub fn most_of_each(&self) -> f64 {
        self.most_of_each
    }

    /// The least misses of any grams of any salts: beyond tolerance, inside. No balance weighs a
    /// better water.
    #[must_use]
    pub fn least_misses(&self) -> (f64, f64) {
        self.best
    }

    /// The recipe of the fewest salts that keeps the goals as well and has of each at least so
    /// much; among equals one of the fewest kinds of ions, which can make the fewest solids with each
    /// other, and of these the one with the most of its least salt. Where there is none, the same
    /// for nearly as much as some recipe has.
    ///
    /// # Errors
    /// As the planner.
    pub fn with_each(&mut self, g_per_l: f64) -> Result<FewSaltRecipe, SolveError> {
        let reachable = g_per_l <= self.most_of_each;
        let least = if reachable { g_per_l } else { NEARLY * self.most_of_each };
        let good = self.good.clone();
        let mut fewest: Vec<Members> = Vec::new();
        for set in good {
            let smaller = fewest.first().is_none_or(|f| size(&set) <= size(f));
            if smaller && self.keeps_the_goals(&set, least) {
                fewest.push(set);
            }
        }
        let kinds = fewest.iter().map(|set| self.kinds_of_ions(set)).min();
        fewest.retain(|set| Some(self.kinds_of_ions(set)) == kinds);
        let members = self.best_weighed(&fewest).unwrap_or_else(|| vec![true; self.salts.len()]);
        self.of(members, least)
    }

    /// The recipe that keeps the goals best when every salt that it has must be so much.
    ///
    /// # Errors
    /// As the planner.
    pub fn at_any_cost(&mut self, g_per_l: f64) -> Result<FewSaltRecipe, SolveError> {
        let free = self.solved(&vec![true; self.salts.len()], 0.0)?;
        let mut best: Option<((f64, f64), Members)> = None;
        for set in self.sets(&free) {
            let Ok(found) = self.solved(&set, g_per_l) else { continue };
            let better = best.as_ref().is_none_or(|((beyond, inside), _)| {
                found.beyond < beyond - ROUNDING
                    || (found.beyond < beyond + ROUNDING && found.inside < inside - AS_WELL)
            });
            if better {
                best = Some(((found.beyond, found.inside), set));
            }
        }
        let members = best.map_or_else(|| vec![false; self.salts.len()], |(_, set)| set);
        self.of(members, g_per_l)
    }

    /// The grams of one recipe with at least so much of each of its salts.
    ///
    /// # Errors
    /// As the planner.
    pub fn of(&mut self, members: Members, g_per_l: f64) -> Result<FewSaltRecipe, SolveError> {
        let solution = self.solved(&members, g_per_l)?;
        let made = evaluated(self.salts, &self.pourable, self.target, solution, true);
        Ok(FewSaltRecipe { members, least_g_per_l: g_per_l, made })
    }

    /// Every set of salts, the smallest first; of many salts those that the best water has.
    fn sets(&self, free: &Solution) -> Vec<Members> {
        let all = 0..self.salts.len();
        let pool: Vec<usize> = if self.salts.len() <= MOST_COMPARED {
            all.collect()
        } else {
            all.filter(|j| free.meq_per_l[*j] > 0.0).collect()
        };
        if pool.len() > MOST_COMPARED {
            return vec![(0..self.salts.len()).map(|j| pool.contains(&j)).collect()];
        }
        let of = |mask| -> Members {
            let chosen = subset::members(mask, pool.len());
            let is_in = |j| pool.iter().zip(&chosen).any(|(p, chosen)| *p == j && *chosen);
            (0..self.salts.len()).map(is_in).collect()
        };
        subset::by_size(pool.len()).map(of).collect()
    }

    fn keeps_the_goals(&mut self, members: &Members, g_per_l: f64) -> bool {
        let (beyond, inside) = self.best;
        self.solved(members, g_per_l).is_ok_and(|found| {
            found.beyond <= beyond + ROUNDING * beyond.max(1.0) && found.inside <= inside + AS_WELL
        })
    }

    /// The best litre of these salts with at least so much of each.
    fn solved(&mut self, members: &Members, g_per_l: f64) -> Result<Solution, SolveError> {
        let mut given = Composition::PURE_WATER;
        for (salt, _) in self.salts.iter().zip(members).filter(|(_, member)| **member) {
            given += salt.per_gram() * g_per_l;
        }
        // The shares are one litre together, so each brings what the litre is given.
        let mut pourable = self.pourable.clone();
        for (water, _) in &mut pourable.base {
            *water += given;
        }
        self.planner.allow(members);
        let found = self.planner.solve(&pourable, &self.rows, &self.priorities);
        self.planner.allow(&[]);
        let mut found = found?;
        for (j, salt) in self.salts.iter().enumerate().filter(|(j, _)| members[*j]) {
            found.meq_per_l[j] += g_per_l / salt.g_per_meq();
        }
        Ok(found)
    }

    /// The most that some of these sets can have of each salt, g/L.
    fn most_of(&mut self, sets: &[Members]) -> f64 {
        let mut most = 0.0;
        for set in sets {
            most = self.raised(set, most);
        }
        most
    }

    /// How many kinds of ions the salts of a set release.
    fn kinds_of_ions(&self, set: &Members) -> usize {
        let mut kinds: Vec<Ion> = Vec::new();
        for (dry, _) in self.salts.iter().zip(set).filter(|(_, is_in)| **is_in) {
            for (ion, _) in &dry.salt.ions {
                if !kinds.contains(ion) {
                    kinds.push(*ion);
                }
            }
        }
        kinds.len()
    }

    fn best_weighed(&mut self, sets: &[Members]) -> Option<Members> {
        let mut best: Option<(f64, &Members)> = None;
        for set in sets {
            let before = best.map_or(0.0, |(most, _)| most);
            let most = self.raised(set, before);
            if best.is_none() || most > before {
                best = Some((most, set));
            }
        }
        best.map(|(_, set)| set.clone())
    }

    /// How much this set can have of each salt, when that is more than some amount; else that.
    fn raised(&mut self, set: &Members, above: f64) -> f64 {
        /// Our choice: less of a salt is nothing, g/L.
        const NEGLIGIBLE: f64 = 1e-6;
        /// Our choice: more by less than a thousandth is no more.
        const MORE: f64 = 1.001;
        let mut low = (MORE * above).max(NEGLIGIBLE);
        if !self.keeps_the_goals(set, low) {
            return above;
        }
        let mut high = MOST_G_PER_L;
        if self.keeps_the_goals(set, high) {
            return high;
        }
        while high > MORE * low {
            let middle = (low * high).sqrt();
            if self.keeps_the_goals(set, middle) { low = middle } else { high = middle }
        }
        low
    }
}
