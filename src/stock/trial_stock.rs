//! The stock that a salt is tried as, which is not on the shelf.

use crate::quantities::{Celsius, Grams, Millilitres};
use crate::stock::{Lot, Making, Recipe, Salt, Stock, solubility};

/// Usual strength of a stock, meq/mL. Our choice: that of common stocks. A salt of which less dissolves is
/// tried as strong as it dissolves.
const USUAL_MEQ_PER_ML: f64 = 0.4;

/// Strongest stock that is tried, g/kg. Our choice: of a stronger one a bottle takes drops. It counts where
/// the volume of stocks is limited.
pub const STRONGEST_G_PER_KG: f64 = 200.0;

/// Temperature that a stock is made and kept at, °C: common practice, a room.
const ROOM_C: f64 = 20.0;

/// Amount that strengths are stated for, g or mL: our choice, a bottle.
const BOTTLE: f64 = 1000.0;

/// The strengths that a salt is tried at, the usual one first; the strongest where the volume of stocks is
/// limited. Empty where nothing is known of such a solution.
pub(crate) fn trial_stocks(salt: &Salt, volume_is_limited: bool) -> Vec<Stock> {
    let dissolves = solubility::strongest_g_per_kg(salt, Celsius::new(ROOM_C));
    let most = dissolves.map_or(STRONGEST_G_PER_KG, |g_per_kg| g_per_kg.min(STRONGEST_G_PER_KG));
    let g_per_l = USUAL_MEQ_PER_ML * BOTTLE * salt.g_per_meq();
    let volume = Millilitres::new(BOTTLE);
    let usual = stock_of(salt, Making::ToVolume { salt: Grams::new(g_per_l), volume });
    let strongest = || strongest(salt, most);
    let usual = usual.filter(|stock| stock.g_per_kg() <= most).or_else(strongest);
    // How much of a salt dissolves must be known to try more of it than is common.
    let more = dissolves.filter(|_| volume_is_limited).and_then(|_| strongest());
    let is_stronger = |more: &Stock| {
        usual.as_ref().is_none_or(|usual| more.meq_per_ml().value() > usual.meq_per_ml().value())
    };
    let more = more.filter(is_stronger);
    usual.into_iter().chain(more).collect()
}

/// The strongest stock up to a strength of which the density is known.
fn strongest(salt: &Salt, most_g_per_kg: f64) -> Option<Stock> {
    /// Our choice: the strengths that are tried, each half of the one before.
    const HALVINGS: i32 = 6;
    let made = |halvings: i32| {
        let grams = Grams::new(most_g_per_kg / 2.0_f64.powi(halvings));
        stock_of(salt, Making::ToTotalMass { salt: grams, total: Grams::new(BOTTLE) })
    };
    (0..=HALVINGS).find_map(made)
}

fn stock_of(salt: &Salt, making: Making) -> Option<Stock> {
    let recipe = Recipe {
        name: format!("{} (tried)", salt.formula),
        salt: salt.clone(),
        lot: Lot::default(),
        making,
        temperature: Celsius::new(ROOM_C),
    };
    Stock::new(recipe).ok()
}
