//! Salts that would bring a target into reach, each put on the shelf and the water planned again.

use crate::chemistry::Composition;
use crate::planner::explain::question::{Question, all_kept};
use crate::planner::lp::program;
use crate::planner::lp::program::Priorities;
use crate::planner::lp::solution::SolveError;
use crate::planner::lp::stages::Planner;
use crate::planner::plan;
use crate::stock::trial_stock::trial_stocks;
use crate::stock::{Catalogue, Salt, Stock};

/// Salts that reach the target together with the shelf.
#[derive(Debug, Clone, PartialEq)]
pub struct Remedy {
    /// The salts with the grams of each in a litre.
    pub salts: Vec<(Salt, f64)>,
    /// The stock that each was tried as.
    pub stocks: Vec<Stock>,
    /// What they cost per litre, where all prices are known.
    pub price_per_l: Option<f64>,
}

impl Remedy {
    /// Grams of salt in a litre.
    #[must_use]
    pub fn grams(&self) -> f64 {
        self.salts.iter().map(|(_, g)| g).sum()
    }
}

/// The strengths that a salt is tried at: once or twice.
pub(super) struct Candidate {
    strengths: Vec<Stock>,
}

impl Candidate {
    /// The stocks.
    pub(super) fn stocks(&self) -> &[Stock] {
        &self.strengths
    }

    /// The weakest first.
    fn strength(&self, strongest: bool) -> Option<&Stock> {
        if strongest { self.strengths.last() } else { self.strengths.first() }
    }
}

/// A stock as a program has it: what a milliequivalent brings, and its volume in mL.
pub(super) fn column(stock: &Stock) -> (Composition, f64) {
    (stock.recipe().salt.composition_per_meq(), 1.0 / stock.meq_per_ml().value())
}

impl Question<'_> {
    /// What may be put on the shelf: salts that are not on it, and stronger stocks of those that are.
    pub(super) fn candidates(&self, stocks: &[Stock], catalogue: &Catalogue) -> Vec<Candidate> {
        let is_limited = self.pourable.limits.stocks_ml_per_l.is_finite();
        let candidate = |salt: &Salt| {
            let same = |s: &&Stock| s.recipe().salt.formula.same_but_for_water(&salt.formula);
            let on_shelf = stocks.iter().filter(same).map(|s| s.meq_per_ml().value());
            let on_shelf =
                on_shelf.fold(None, |most: Option<f64>, s| Some(most.map_or(s, |m| m.max(s))));
            let mut strengths = trial_stocks(salt, is_limited);
            strengths.retain(|s| on_shelf.is_none_or(|known| s.meq_per_ml().value() > known));
            (!strengths.is_empty()).then_some(Candidate { strengths })
        };
        catalogue.iter().filter_map(candidate).collect()
    }

    /// Salts of the catalogue that reach the target, each tried; pairs when none does alone.
    pub(super) fn remedies(
        &self,
        candidates: &[Candidate],
        price_per_g: &dyn Fn(&Salt) -> Option<f64>,
    ) -> Result<Vec<Remedy>, SolveError> {
        let mut found = Vec::new();
        for one in candidates {
            found.extend(self.tried(&[one], price_per_g)?);
        }
        if found.is_empty() {
            for (n, first) in candidates.iter().enumerate() {
                for second in candidates.iter().skip(n + 1) {
                    found.extend(self.tried(&[first, second], price_per_g)?);
                }
            }
        }
        // Known prices first, the cheapest of them; then the fewest grams.
        found.sort_by(|a, b| match (a.price_per_l, b.price_per_l) {
            (Some(x), Some(y)) => x.total_cmp(&y),
            (Some(_), None) => std::cmp::Ordering::Less,
            (None, Some(_)) => std::cmp::Ordering::Greater,
            (None, None) => a.grams().total_cmp(&b.grams()),
        });
        Ok(found)
    }

    /// The shelf with these salts on it, as weak as will do; `None` when the target stays out of reach.
    fn tried(
        &self,
        salts: &[&Candidate],
        price_per_g: &dyn Fn(&Salt) -> Option<f64>,
    ) -> Result<Option<Remedy>, SolveError> {
        let at = |strongest: bool| -> Vec<&Stock> {
            salts.iter().filter_map(|salt| salt.strength(strongest)).collect()
        };
        if let Some(found) = self.tried_with(&at(false), price_per_g)? {
            return Ok(Some(found));
        }
        if salts.iter().all(|salt| salt.strengths.len() < 2) {
            return Ok(None);
        }
        self.tried_with(&at(true), price_per_g)
    }

    fn tried_with(
        &self,
        added: &[&Stock],
        price_per_g: &dyn Fn(&Salt) -> Option<f64>,
    ) -> Result<Option<Remedy>, SolveError> {
        let mut pourable = self.pourable.clone();
        let own = pourable.stocks.len();
        pourable.stocks.extend(added.iter().map(|stock| column(stock)));
        // As little of the new salts as will do.
        let mut cost = vec![0.0; own];
        cost.extend(added.iter().map(|stock| stock.recipe().salt.g_per_meq()));
        let preference = vec![(cost, vec![0.0; pourable.base.len()])];
        let priorities = Priorities { largest_first: false, preference };
        let rows = program::edges(self.target);
        let solution = match plan::solved(&mut Planner::default(), &pourable, &rows, &priorities) {
            Err(SolveError::StocksAlone) => return Ok(None),
            solution => solution?,
        };
        if !all_kept(&self.target.goals, &plan::pour(&pourable, &solution)) {
            return Ok(None);
        }
        let grams: Vec<(Salt, f64)> = added
            .iter()
            .map(|stock| &stock.recipe().salt)
            .zip(solution.meq_per_l.iter().skip(own))
            .map(|(salt, meq)| (salt.clone(), meq * salt.g_per_meq()))
            .collect();
        let price_per_l =
            grams.iter().map(|(salt, g)| price_per_g(salt).map(|price| price * g)).sum();
        let stocks = added.iter().map(|stock| (*stock).clone()).collect();
        Ok(Some(Remedy { salts: grams, stocks, price_per_l }))
    }
}
