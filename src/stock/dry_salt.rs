//! A salt as it is weighed from its bag.

use crate::chemistry::Composition;
use crate::stock::{Lot, Salt, Stock};

/// A salt with the lot that it is weighed from.
#[derive(Debug, Clone, PartialEq)]
pub struct DrySalt {
    /// The stock whose bag it is; the formula where there is none.
    pub name: String,
    /// The salt.
    pub salt: Salt,
    /// What was bought of it.
    pub lot: Lot,
}

impl DrySalt {
    /// The bags behind a shelf of stocks, each compound once.
    #[must_use]
    pub fn of_shelf(stocks: &[Stock]) -> Vec<Self> {
        let mut bags: Vec<Self> = Vec::new();
        for stock in stocks {
            let recipe = stock.recipe();
            let known = |bag: &Self| bag.salt.formula.same_compound(&recipe.salt.formula);
            if !bags.iter().any(known) {
                bags.push(Self {
                    name: recipe.name.clone(),
                    salt: recipe.salt.clone(),
                    lot: recipe.lot.clone(),
                });
            }
        }
        bags
    }

    /// Grams to weigh for one milliequivalent; purity and moisture of the lot are counted.
    #[must_use]
    pub fn g_per_meq(&self) -> f64 {
        self.salt.g_per_meq() / self.lot.compound_share()
    }

    /// The stock of this bag, and how many millilitres of it give so many grams; nothing where there is none.
    #[must_use]
    pub fn in_stock<'a>(&self, grams: f64, stocks: &'a [Stock]) -> Option<(&'a Stock, f64)> {
        let stock = stocks.iter().find(|stock| stock.name() == self.name)?;
        Some((stock, grams / self.g_per_meq() / stock.meq_per_ml().value()))
    }

    /// What one weighed gram adds to a litre, mmol/L.
    #[must_use]
    pub fn per_gram(&self) -> Composition {
        self.salt.composition_per_meq() * (1.0 / self.g_per_meq())
    }

    /// Share of a weighed gram that is the compound without its hydrate water.
    #[must_use]
    pub fn anhydrous_share(&self) -> f64 {
        self.lot.compound_share() * self.salt.anhydrous_fraction().value()
    }
}
