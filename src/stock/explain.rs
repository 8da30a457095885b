//! What would explain a stock whose strength is not that of its label.

use std::fmt;

use crate::chemistry::{Formula, formula};
use crate::quantities::{Celsius, Fraction, Grams, Millilitres, show};
use crate::stock::{Catalogue, Making, Recipe, Stock, solubility};

/// What readings of a dilution say of the stock in it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ReadStrength {
    /// Its strength by volume, as a multiple of the label's.
    pub factor: f64,
    /// How well that is known (relative).
    pub within: f64,
    /// Stock that was taken for the dilution.
    pub taken: Millilitres,
    /// Temperature at which the stock is kept.
    pub storage: Celsius,
}

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
        /// What the lot states of that, %.
        stated_percent: f64,
        /// Hydrate water for each formula unit, on average; nothing where it is more than any hydrate
        /// of the compound holds, so that a part of it clings.
        waters: Option<f64>,
    },
    /// Less water clung to the salt than its lot states.
    LessDamp {
        /// Water that then clung to it, % of what was weighed.
        percent: f64,
        /// What the lot states, %.
        stated_percent: f64,
    },
    /// The salt is purer than its lot states.
    Purer {
        /// Its purity then, %.
        percent: f64,
        /// What the lot states, %.
        stated_percent: f64,
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
        /// Part of the volume of the stock that is gone, %.
        percent: f64,
    },
    /// Another volume of the stock was diluted than was meant.
    OtherDose {
        /// What went into the dilution, mL.
        ml: f64,
        /// What was meant, mL.
        meant_ml: f64,
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
            Explanation::TookUpWater { percent, stated_percent, waters: None, .. } => {
                let instead = instead_of(*stated_percent);
                write!(f, "the salt was damp, {percent:.1} % of what was weighed{instead}")
            }
            Explanation::TookUpWater {
                anhydrous,
                percent,
                stated_percent,
                waters: Some(waters),
            } => {
                let instead = instead_of(*stated_percent);
                write!(
                    f,
                    "the salt had taken up water, {percent:.1} % of what was weighed{instead} \
                     ({anhydrous} with {waters:.2} H2O on average)"
                )
            }
            Explanation::LessDamp { percent, stated_percent } => {
                let instead = instead_of(*stated_percent);
                write!(f, "the salt was drier, {percent:.1} % of water clung to it{instead}")
            }
            Explanation::Purer { percent, stated_percent } => write!(
                f,
                "the salt was purer, {percent:.1} % and not the {stated_percent:.1} % that its lot \
                 states"
            ),
            Explanation::LostWater { anhydrous, waters } => write!(
                f,
                "the salt had lost hydrate water ({anhydrous} with {waters:.2} H2O left on average)"
            ),
            Explanation::OtherMaking { made } => write!(f, "it was made {made}"),
            Explanation::Evaporated { percent } => {
                write!(f, "{percent:.1} % of the stock has evaporated")
            }
            Explanation::OtherDose { ml, meant_ml } => write!(
                f,
                "{} mL of the stock went into the dilution and not {} mL, or its volume was off by as much",
                show::three_figures(*ml),
                show::plain(*meant_ml)
            ),
            Explanation::Missing { percent } => {
                write!(f, "{percent:.1} % of the salt is undissolved or was never put in")
            }
        }
    }
}

/// ` and not the 10.0 % that its lot states`; nothing where it states none.
fn instead_of(stated_percent: f64) -> String {
    if stated_percent > 0.0 {
        format!(" and not the {stated_percent:.1} % that its lot states")
    } else {
        String::new()
    }
}

/// Water in the highest hydrate that is stable in a room, for each formula unit; from memory, as
/// handbooks of chemistry list them.
const HIGHEST_HYDRATES: [(&str, f64); 9] = [
    ("CaCl2", 6.0),
    ("MgCl2", 6.0),
    ("MgSO4", 7.0),
    ("CaSO4", 2.0),
    ("Na2CO3", 10.0),
    ("Na2SO4", 10.0),
    ("K2CO3", 1.5),
    ("Ca(C3H5O3)2", 5.0),
    ("Na3C6H5O7", 5.5),
];

/// Water that clings to a salt that is still poured as a solid, as a part of what is weighed: our
/// choice; with more the crystals stand in liquid, which nobody weighs as a dry salt.
const MOST_CLINGING: f64 = 0.1;

/// The most hydrate water that a salt can hold for each formula unit: that of its highest hydrate, or
/// of the wettest that the catalogue knows.
fn most_waters(salt: &Formula, catalogue: &Catalogue) -> f64 {
    let known = HIGHEST_HYDRATES.iter().filter_map(|(formula, waters)| {
        Formula::parse(formula).is_ok_and(|f| f.same_but_for_water(salt)).then_some(*waters)
    });
    let kin = catalogue.iter().map(|other| &other.formula);
    let kin = kin.chain([salt]).filter(|other| other.same_but_for_water(salt));
    known.chain(kin.map(Formula::waters)).fold(0.0, f64::max)
}

/// The stock whose strength by volume is a multiple of another's when a part of the recipe, its salt or
/// the lot's purity, is changed, and what that part is multiplied with. Density rises with strength, so
/// that the two multiples differ a little. `None` where the density data end before that.
pub(super) fn remade(
    stock: &Stock,
    factor: f64,
    change: impl Fn(&mut Recipe, f64),
) -> Option<(Stock, f64)> {
    /// Our choice: each round gains more than a digit.
    const ROUNDS: usize = 20;
    let wanted = factor * stock.meq_per_ml().value();
    let (mut found, mut multiple) = (stock.clone(), 1.0);
    for _ in 0..ROUNDS {
        multiple *= wanted / found.meq_per_ml().value();
        let mut recipe = stock.recipe().clone();
        change(&mut recipe, multiple);
        found = Stock::new(recipe).ok()?;
    }
    Some((found, multiple))
}

/// A recipe with another share of the compound in what was weighed.
pub(super) fn other_share(recipe: &mut Recipe, multiple: f64) {
    recipe.lot.purity = recipe.lot.purity * multiple;
}

/// A recipe with another mass of salt.
fn other_mass(recipe: &mut Recipe, multiple: f64) {
    let (Making::ToTotalMass { salt, .. }
    | Making::ToVolume { salt, .. }
    | Making::IntoWater { salt, .. }) = &mut recipe.making;
    *salt = *salt * multiple;
}

/// Everything that would make a stock of the label's strength one of the strength that was read. Definite
/// mix-ups come first, then what can explain any strength. More than stays dissolved is in no bottle
/// however it was made: then only the dilution is left.
#[must_use]
pub fn explanations(stock: &Stock, read: &ReadStrength, catalogue: &Catalogue) -> Vec<Explanation> {
    let ReadStrength { factor, within, taken, storage } = *read;
    let recipe = stock.recipe();
    let salt = &recipe.salt;
    let other_dose = Explanation::OtherDose { ml: factor * taken.value(), meant_ml: taken.value() };
    let least = remade(stock, factor * (1.0 - within), other_share);
    if least.is_some_and(|(least, _)| solubility::check(&least, storage).is_err()) {
        return vec![other_dose];
    }
    let fits = |other: Recipe| {
        Stock::new(other).is_ok_and(|other| {
            let ratio = other.meq_per_ml().value() / stock.meq_per_ml().value();
            (ratio / factor - 1.0).abs() <= within
        })
    };
    let mut found: Vec<Explanation> = catalogue
        .iter()
        .filter(|other| {
            other.formula.same_but_for_water(&salt.formula)
                && !other.formula.same_compound(&salt.formula)
                && fits(Recipe { salt: (*other).clone(), ..recipe.clone() })
        })
        .map(|other| Explanation::OtherHydrate {
            name: other.name.clone(),
            formula: other.formula.to_string(),
        })
        .collect();
    let mix_ups = other_makings(recipe)
        .into_iter()
        .filter(|(making, _)| fits(Recipe { making: *making, ..recipe.clone() }));
    found.extend(mix_ups.map(|(_, made)| Explanation::OtherMaking { made }));
    // What was weighed holds so many times the compound; near enough the same beyond the density data.
    let share = remade(stock, factor, other_share).map_or(factor, |(_, share)| share);
    if factor < 1.0 {
        found.extend(taken_up(stock, share, catalogue));
        let salt = remade(stock, factor, other_mass).map_or(factor, |(_, salt)| salt);
        found.push(Explanation::Missing { percent: 100.0 * (1.0 - salt) });
    } else {
        found.extend(stronger(stock, share, within));
        found.push(Explanation::Evaporated { percent: 100.0 * (1.0 - 1.0 / factor) });
    }
    found.push(other_dose);
    found
}

/// How much of what was weighed is the dry lot when it holds `share` times as much of the compound as
/// the label says and nothing but water makes the difference, and the water that each formula unit
/// then has.
fn dried(recipe: &Recipe, share: f64) -> (f64, f64) {
    let (salt, lot) = (&recipe.salt, &recipe.lot);
    let dry = share * (1.0 - lot.moisture.value());
    let formula_units = dry * lot.purity.value() / salt.formula.molar_mass().value();
    let water = formula::mass_of(&[("H", 2), ("O", 1)]);
    (dry, salt.formula.waters() + (1.0 - dry) / water / formula_units)
}

/// The water that makes a stock weaker, with `share` times the compound in what was weighed; nothing
/// where no solid holds as much.
fn taken_up(stock: &Stock, share: f64, catalogue: &Catalogue) -> Option<Explanation> {
    let recipe = stock.recipe();
    let (dry, waters) = dried(recipe, share);
    let formula = &recipe.salt.formula;
    let most = most_waters(formula, catalogue);
    // What the lot holds beside its highest hydrate clings to it.
    let clings = (waters - most).max(0.0) * (1.0 - dry) / (waters - formula.waters());
    (clings <= MOST_CLINGING.max(recipe.lot.moisture.value())).then(|| Explanation::TookUpWater {
        anhydrous: formula.without_water(),
        percent: 100.0 * (1.0 - dry),
        stated_percent: 100.0 * recipe.lot.moisture.value(),
        waters: (waters <= most).then_some(waters),
    })
}

/// What of the salt makes a stock stronger, with `share` times the compound in what was weighed;
/// `within` is how well that is known (relative).
fn stronger(stock: &Stock, share: f64, within: f64) -> Vec<Explanation> {
    let recipe = stock.recipe();
    let (salt, lot) = (&recipe.salt, &recipe.lot);
    let (dry, waters) = dried(recipe, share);
    let mut found = Vec::new();
    let can_be = |share: f64| share <= 1.0 + within;
    if lot.moisture.value() > 0.0 && can_be(dry) {
        found.push(Explanation::LessDamp {
            percent: 100.0 * (1.0 - dry).max(0.0),
            stated_percent: 100.0 * lot.moisture.value(),
        });
    } else if waters >= 0.0 && salt.anhydrous_fraction() < Fraction::new(1.0) {
        found.push(Explanation::LostWater { anhydrous: salt.formula.without_water(), waters });
    }
    let purity = share * lot.purity.value();
    if lot.purity.value() < 1.0 && can_be(purity) {
        found.push(Explanation::Purer {
            percent: 100.0 * purity.min(1.0),
            stated_percent: 100.0 * lot.purity.value(),
        });
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
