//! Stocks and dispensers that several tests plan with.

use waterflight::bench::built_in_salts;
use waterflight::flight::{
    BaseShare, Convention, Dispenser, DoseLimits, Flight, Goal, Measured, MissRule, Preference,
    Target,
};
use waterflight::quantities::{Celsius, Fraction, Grams, Litres, Millilitres};
use waterflight::stock::{Lot, Making, Recipe, Stock};
use waterflight::water::{Amount, Analysis, AnalysisError, BaseWater, Measure, NotListed};

/// A stock of each salt: so many grams of it, and water to a kilogram.
pub(crate) fn stocks_of(salts: &[(&str, f64)]) -> Vec<Stock> {
    let known = built_in_salts().unwrap_or_default();
    let stock = |(formula, grams): &(&str, f64)| {
        let salt = known.iter().find(|s| s.formula.to_string() == *formula)?.clone();
        Stock::new(Recipe {
            name: (*formula).to_owned(),
            salt,
            lot: Lot::default(),
            making: Making::ToTotalMass { salt: Grams::new(*grams), total: Grams::new(1000.0) },
            temperature: Celsius::new(20.0),
        })
        .ok()
    };
    salts.iter().filter_map(stock).collect()
}

/// A tap water of these amounts, each in the native unit of its measure, and nothing else.
pub(crate) fn tap_of(amounts: &[(Measure, f64)]) -> Result<BaseWater, AnalysisError> {
    let measured = amounts.iter().map(|(m, value)| (*m, Amount::Measured(*value))).collect();
    let listed = Analysis::new("tap".to_owned(), measured);
    Analysis { not_listed: NotListed::Zero, ..listed }.water()
}

/// A tap water of so much sodium chloride, meq/L, and twice as much calcium bicarbonate.
pub(crate) fn hard_tap(meq: f64) -> Option<BaseWater> {
    let ions = [
        (Measure::Calcium, 2.0 * meq),
        (Measure::Sodium, meq),
        (Measure::Chloride, meq),
        (Measure::Alkalinity, 2.0 * meq),
    ];
    tap_of(&ions).ok()
}

/// A flight of one target, made up from base waters up to these shares, without limits.
pub(crate) fn flight_of_one(goals: Vec<Goal>, base: Vec<(BaseWater, f64)>) -> Flight {
    let share =
        |(water, at_most): (BaseWater, f64)| BaseShare { water, at_most: Fraction::new(at_most) };
    Flight {
        title: "random".to_owned(),
        base: base.into_iter().map(share).collect(),
        bottle: Litres::new(0.5),
        convention: Convention::MadeUpToALitre,
        misses: MissRule::Sum,
        preference: Preference::LeastVolume,
        limits: DoseLimits::NONE,
        targets: vec![Target { name: "one".to_owned(), goals }],
    }
}

/// A syringe that holds any dose, right to 0.05 mL; step and least dose in mL.
pub(crate) fn syringe(step: f64, least: f64) -> Dispenser {
    let step = Measured::Volume(Millilitres::new(step));
    Dispenser {
        name: "syringe".to_owned(),
        kind: "syringe",
        step,
        least,
        error: 0.05,
        scatter: 0.0,
        off: Fraction::new(0.0),
        holds: None,
    }
}
