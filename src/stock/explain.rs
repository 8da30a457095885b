//! What would explain a stock whose strength is not that of its label.

use std::fmt;

use crate::chemistry::formula;
use crate::quantities::{Fraction, Grams};
use crate::stock::Catalogue;
use crate::stock::{Making, Recipe, Stock};

/// What alone would explain the strength that was found.
#[derive(Debug, Clone, PartialEq)]
pub enum Explanation {
    /// The bag held another hydrate.
    OtherHydrate {
        /// Its name.
        name: String,
        /// Its formula.
        formula: String,
    },
    /// The salt had taken up water.
    TookUpWater {
        /// Anhydrous formula.
        anhydrous: String,
        /// Water in all, % of what was weighed beyond the hydrate of the label.
        percent: f64,
        /// Hydrate water for each formula unit, on average; nothing for a compound without hydrates.
        waters: Option<f64>,
    },
    /// The salt had lost hydrate water.
    LostWater {
        /// Anhydrous formula.
        anhydrous: String,
        /// Hydrate water left for each formula unit, on average.
        waters: f64,
    },
    /// The total was taken for the water, or the other way round.
    OtherMaking {
        /// How it was then made.
        made: &'static str,
    },
    /// Water has left the bottle.
    Evaporated {
        /// Part of the stock that is gone, %.
        percent: f64,
    },
    /// A part of the salt is undissolved, or was never put in.
    Missing {
        /// Part of the salt, %.
        percent: f64,
    },
}

impl fmt::Display for Explanation {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Explanation::OtherHydrate { name, formula } => {
                write!(f, "the bag holds {name} ({formula})")
            }
            Explanation::TookUpWater { percent, waters: None, .. } => {
                write!(f, "the salt was damp, {percent:.1} % of what was weighed")
            }
            Explanation::TookUpWater { anhydrous, percent, waters: Some(waters) } => write!(
                f,
                "the salt had taken up water, {percent:.1} % of what was weighed ({anhydrous} with \
                 {waters:.2} H2O on average)"
            ),
            Explanation::LostWater { anhydrous, waters } => write!(
                f,
                "the salt had lost hydrate water ({anhydrous} with {waters:.2} H2O left on average)"
            ),
            Explanation::OtherMaking { made } => write!(f, "it was made {made}"),
            Explanation::Evaporated { percent } => {
                write!(f, "{percent:.1} % of the stock has evaporated")
            }
            Explanation::Missing { percent } => {
                write!(f, "{percent:.1} % of the salt is undissolved or was never put in")
            }
        }
    }
}

/// Everything that would make a stock of the label's strength one of `factor` times that, within
/// `within` (relative). Definite mix-ups come first, then what can explain any factor.
#[must_use]
pub fn explanations(
    stock: &Stock,
    factor: f64,
    within: f64,
    catalogue: &Catalogue,
) -> Vec<Explanation> {
    let recipe = stock.recipe();
    let salt = &recipe.salt;
    let fits = |other: f64| (other / factor - 1.0).abs() <= within;
    let molar = salt.formula.molar_mass().value();
    let mut found: Vec<Explanation> = catalogue
        .iter()
        .filter(|other| {
            other.formula.same_but_for_water(&salt.formula)
                && !other.formula.same_compound(&salt.formula)
                && fits(molar / other.formula.molar_mass().value())
        })
        .map(|other| Explanation::OtherHydrate {
            name: other.name.clone(),
            formula: other.formula.to_string(),
        })
        .collect();
    let mix_ups = other_makings(recipe).into_iter().filter(|(making, _)| {
        let other = Stock::new(Recipe { making: *making, ..recipe.clone() });
        other.is_ok_and(|o| fits(o.meq_per_ml().value() / stock.meq_per_ml().value()))
    });
    found.extend(mix_ups.map(|(_, made)| Explanation::OtherMaking { made }));
    let water = formula::mass_of(&[("H", 2), ("O", 1)]);
    let anhydrous = salt.formula.anhydrous_molar_mass().value();
    let waters = (molar / factor - anhydrous) / water;
    let bare = salt.formula.without_water();
    let kin = catalogue.iter().filter(|s| s.formula.same_but_for_water(&salt.formula)).count();
    let hydrates = kin > 1 || salt.anhydrous_fraction() < Fraction::new(1.0);
    if factor < 1.0 {
        found.push(Explanation::TookUpWater {
            anhydrous: bare,
            percent: 100.0 * (1.0 - factor),
            waters: hydrates.then_some(waters),
        });
        found.push(Explanation::Missing { percent: 100.0 * (1.0 - factor) });
    } else {
        if waters >= 0.0 && salt.anhydrous_fraction() < Fraction::new(1.0) {
            found.push(Explanation::LostWater { anhydrous: bare, waters });
        }
        found.push(Explanation::Evaporated { percent: 100.0 * (1.0 - 1.0 / factor) });
    }
    found
}

/// The makings that one is easily taken for, with the same numbers.
fn other_makings(recipe: &Recipe) -> Vec<(Making, &'static str)> {
    let water =
        |ml: f64| Grams::new(ml * crate::chemistry::density::water(recipe.temperature).value());
    match recipe.making {
        Making::ToTotalMass { salt, total } => {
            vec![(Making::IntoWater { salt, water: total }, "into that mass of water, not to it")]
        }
        Making::IntoWater { salt, water } => {
            vec![(Making::ToTotalMass { salt, total: water }, "to that total mass, not into it")]
        }
        Making::ToVolume { salt, volume } => vec![(
            Making::IntoWater { salt, water: water(volume.value()) },
            "into that volume of water, not to it",
        )],
    }
}
