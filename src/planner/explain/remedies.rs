//! Salts that would bring a target into reach, each put on the shelf and the water planned again.

use crate::planner::explain::why::{Question, all_kept};
use crate::planner::lp::program;
use crate::planner::lp::stages::{Planner, Priorities, SolveError};
use crate::planner::plan;
use crate::stock::{Catalogue, Salt, Stock};

/// Strength of the stock that a salt is tried as, meq/mL. Our choice: that of common stocks; it
/// decides nothing but the little volume that the salt takes.
pub(super) const TRIAL_MEQ_PER_ML: f64 = 0.4;

/// Salts that reach the target together with the shelf.
#[derive(Debug, Clone, PartialEq)]
pub struct Remedy {
    /// The salts with the grams of each in a litre.
    pub salts: Vec<(Salt, f64)>,
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

impl Question<'_> {
    /// Salts of the catalogue that reach the target, each tried; pairs when none does alone.
    pub(super) fn remedies(
        &self,
        stocks: &[Stock],
        catalogue: &Catalogue,
        price_per_g: &dyn Fn(&Salt) -> Option<f64>,
    ) -> Result<Vec<Remedy>, SolveError> {
        let missing: Vec<&Salt> = catalogue
            .iter()
            .filter(|salt| {
                !stocks.iter().any(|s| s.recipe().salt.formula.same_but_for_water(&salt.formula))
            })
            .collect();
        let mut found = Vec::new();
        for salt in &missing {
            found.extend(self.tried(&[salt], price_per_g)?);
        }
        if found.is_empty() {
            for (n, first) in missing.iter().enumerate() {
                for second in missing.iter().skip(n + 1) {
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

    /// The shelf with these salts on it; `None` when the target stays out of reach.
    fn tried(
        &self,
        salts: &[&Salt],
        price_per_g: &dyn Fn(&Salt) -> Option<f64>,
    ) -> Result<Option<Remedy>, SolveError> {
        let mut pourable = self.pourable.clone();
        let own = pourable.stocks.len();
        for salt in salts {
            pourable.stocks.push((salt.composition_per_meq(), 1.0 / TRIAL_MEQ_PER_ML));
        }
        // As little of the new salts as will do.
        let grams_per_meq =
            |salt: &Salt| salt.formula.molar_mass().value() / salt.equivalents_per_mole() / 1000.0;
        let mut cost = vec![0.0; own];
        cost.extend(salts.iter().map(|s| grams_per_meq(s)));
        let preference = vec![(cost, vec![0.0; pourable.base.len()])];
        let priorities = Priorities { largest_first: false, preference };
        let rows = program::edges(self.target);
        let solution = Planner::default().solve(&pourable, &rows, &priorities)?;
        if !all_kept(&self.target.goals, &plan::pour(&pourable, &solution)) {
            return Ok(None);
        }
        let grams: Vec<(Salt, f64)> = salts
            .iter()
            .zip(solution.meq_per_l.iter().skip(own))
            .map(|(salt, meq)| ((*salt).clone(), meq * grams_per_meq(salt)))
            .collect();
        let price_per_l =
            grams.iter().map(|(salt, g)| price_per_g(salt).map(|price| price * g)).sum();
        Ok(Some(Remedy { salts: grams, price_per_l }))
    }
}
