//! What batches and concentrates are judged with in tests: a bench without settings.

use std::error::Error;

use waterflight::assessment::{BoilerSettings, Lab};
use waterflight::bench::built_in_salts;
use waterflight::everyday::concentrate::{
    ConcentrateContext, ConcentrateReport, DoseBy, Filled, ReverseReport,
};
use waterflight::everyday::{ReadyProduct, Wanted};
use waterflight::flight::{BaseShare, Goal, Target};
use waterflight::quantities::{Celsius, Fraction, Grams};
use waterflight::stock::{Catalogue, DrySalt, Lot, Making, Recipe, Stock, Tools};
use waterflight::water::{BaseWater, Measure};

/// What a concentrate is judged with, on a bench without settings.
pub(crate) struct Place {
    pub(crate) salts: Catalogue,
    pub(crate) lab: Lab,
    pub(crate) tools: Tools,
    pub(crate) ready_product: ReadyProduct,
}

impl Place {
    pub(crate) fn new() -> Result<Self, Box<dyn Error>> {
        Ok(Self {
            salts: built_in_salts().map(Catalogue::new)?,
            lab: Lab::new(BoilerSettings::default())?,
            tools: Tools::default(),
            ready_product: ReadyProduct::default(),
        })
    }

    pub(crate) fn around(&self) -> ConcentrateContext<'_> {
        ConcentrateContext {
            lab: &self.lab,
            tools: &self.tools,
            catalogue: &self.salts,
            prices: &[],
            ready_product: &self.ready_product,
            made_on: None,
        }
    }

    pub(crate) fn bag(&self, formula: &str) -> Result<DrySalt, Box<dyn Error>> {
        let salt = self.salts.find(formula)?.clone();
        Ok(DrySalt { name: formula.to_owned(), salt, lot: Lot::default() })
    }

    /// A recipe as `MgSO4·7H2O=10; NaHCO3=5`, grams.
    pub(crate) fn recipe(&self, text: &str) -> Result<Vec<(DrySalt, f64)>, Box<dyn Error>> {
        let parts = text.split("; ").map(|part| {
            let (formula, grams) = part.split_once('=').ok_or(part)?;
            Ok((self.bag(formula)?, grams.parse()?))
        });
        parts.collect()
    }

    /// A recipe read as it stands.
    pub(crate) fn read(
        &self,
        text: &str,
        filled: Filled,
    ) -> Result<ConcentrateReport, Box<dyn Error>> {
        let recipe = self.recipe(text)?;
        let read =
            ReverseReport::new(vec![recipe], filled, DoseBy::Volume(4.0), &[], &self.around())?;
        Ok(read.readings.into_iter().next().ok_or("no reading")?)
    }

    pub(crate) fn stock(&self, formula: &str) -> Result<Stock, Box<dyn Error>> {
        let bag = self.bag(formula)?;
        Ok(Stock::new(Recipe {
            name: bag.name,
            salt: bag.salt,
            lot: bag.lot,
            making: Making::ToTotalMass { salt: Grams::new(40.0), total: Grams::new(1000.0) },
            temperature: Celsius::new(20.0),
        })?)
    }

    /// A water of these goals from distilled water and these salts.
    pub(crate) fn wanted(
        &self,
        goals: &[(Measure, &str)],
        formulas: &[&str],
    ) -> Result<Wanted, Box<dyn Error>> {
        let goals = goals.iter().map(|(m, wish)| Goal::parse(*m, wish));
        let target = Target { name: "wanted".to_owned(), goals: goals.collect::<Result<_, _>>()? };
        let salts = formulas.iter().map(|f| self.bag(f)).collect::<Result<_, _>>()?;
        let stocks = formulas.iter().map(|f| self.stock(f)).collect::<Result<_, _>>()?;
        let water = BaseWater::distilled();
        let base = vec![BaseShare { water, at_most: Fraction::new(1.0) }];
        Ok(Wanted { target, base, salts, stocks, notes: Vec::new() })
    }
}
