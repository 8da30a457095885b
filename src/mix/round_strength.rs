//! The doses that can be poured well, and the round strengths between two limits.

use crate::quantities::{Fraction, Grams, Millilitres};
use crate::stock::{Bottle, Making, Recipe, Stock, Tools, solubility};

/// What is wanted of the doses.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DoseRequirements {
    /// Smallest dose that the dispenser gives.
    pub least: Millilitres,
    /// Largest sensible dose.
    pub most: Millilitres,
    /// Largest expanded error of a single dose, as a part of it.
    pub error: Fraction,
}

/// Strengths that a person can weigh and remember, within a decade. Our choice.
const ROUND: [f64; 11] = [1.0, 1.2, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 7.5, 8.0];

/// The amount that advice is given for: our choice, a bottle.
pub(crate) const TOTAL_G: f64 = 1000.0;

/// Limits of a window that a strength given by rounding may touch: our choice.
pub(crate) const ROUNDING: f64 = 1e-9;

/// The doses that keep the limits, mL.
pub(crate) struct Window {
    pub(crate) least: f64,
    pub(crate) most: f64,
    tools: Tools,
}

impl Window {
    pub(crate) fn new(tools: &Tools, requirements: DoseRequirements) -> Self {
        let precise = tools.least_dose_within(requirements.error.value()).value();
        let least = requirements.least.value().max(precise);
        Self { least, most: requirements.most.value(), tools: *tools }
    }

    /// Whether doses from the first to the second keep the limits.
    pub(crate) fn holds(&self, [smallest, largest]: [f64; 2]) -> bool {
        smallest >= self.least * (1.0 - ROUNDING) && largest <= self.most * (1.0 + ROUNDING)
    }

    pub(crate) fn error_percent(&self, ml: f64) -> f64 {
        // A gram of a weak stock is a millilitre, near enough for a limit.
        100.0 * self.tools.dose_expanded(ml, 1.0)
    }
}

/// A strength that can be made and kept.
#[derive(Clone, Copy)]
pub(crate) struct Candidate {
    pub(crate) g_per_kg: f64,
    pub(crate) meq_per_ml: f64,
    pub(crate) salt_per_g: f64,
    pub(crate) weighable: bool,
}

impl Candidate {
    /// A stock of that strength in g/kg; `None` when it would not stay dissolved or is beyond
    /// the density data.
    pub(crate) fn new(
        stock: &Stock,
        bottle: &Bottle,
        tools: &Tools,
        g_per_kg: f64,
    ) -> Option<Self> {
        let recipe = stock.recipe();
        // What is advised is made new, of the lot as its file describes it.
        let lot = &bottle.written.recipe().lot;
        let salt_per_g = g_per_kg / 1000.0 / lot.compound_share();
        let making = Making::ToTotalMass {
            salt: Grams::new(TOTAL_G * salt_per_g),
            total: Grams::new(TOTAL_G),
        };
        let made = Stock::new(Recipe { lot: lot.clone(), making, ..recipe.clone() }).ok()?;
        let strongest = solubility::strongest_g_per_kg(&recipe.salt, bottle.storage);
        if strongest.is_some_and(|limit| g_per_kg > limit)
            || solubility::check(&made, bottle.storage).is_err()
        {
            return None;
        }
        let least = tools.balance.least_for(tools.weighing).value();
        Some(Self {
            g_per_kg,
            meq_per_ml: made.meq_per_ml().value(),
            salt_per_g,
            weighable: TOTAL_G * salt_per_g >= least,
        })
    }
}

/// The round strength in a window of meq/mL that is nearest to a wanted one, on a scale of ratios, of those
/// whose salt can be weighed if there are any. A window too narrow for a round strength gets one of two
/// figures, or of three.
pub(crate) fn round_between(
    low: f64,
    high: f64,
    wanted: f64,
    make: &impl Fn(f64) -> Option<Candidate>,
) -> Option<Candidate> {
    let distance = |c: &Candidate| (c.meq_per_ml / wanted).ln().abs();
    let best_of = |mantissas: &[f64]| {
        (-1..=2)
            .flat_map(|decade| mantissas.iter().map(move |m| m * 10_f64.powi(decade)))
            .filter_map(make)
            .filter(|c| {
                c.meq_per_ml >= low * (1.0 - ROUNDING) && c.meq_per_ml <= high * (1.0 + ROUNDING)
            })
            .min_by(|a, b| b.weighable.cmp(&a.weighable).then(distance(a).total_cmp(&distance(b))))
    };
    let figures = |least: u32| -> Vec<f64> {
        (least..10 * least).map(|n| f64::from(n) / f64::from(least)).collect()
    };
    best_of(&ROUND).or_else(|| best_of(&figures(10))).or_else(|| best_of(&figures(100)))
}
