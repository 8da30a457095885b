//! Salts and water in a bottle.

use serde::Serialize;
use thiserror::Error;

use crate::chemistry::density::{Density, DensityError};
use crate::chemistry::{ChemistryError, Composition, Formula, density};
use crate::planner::lp::solution::SolveError;
use crate::quantities::uncertain::COVERAGE;
use crate::quantities::{Celsius, Fraction, Grams, show};
use crate::stock::{DrySalt, Tools};

/// How much of a concentrate goes into a litre of finished water.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum DoseBy {
    /// Millilitres.
    Volume(f64),
    /// Grams.
    Mass(f64),
}

impl DoseBy {
    pub(crate) fn ml(self, g_per_ml: f64) -> f64 {
        match self {
            DoseBy::Volume(ml) => ml,
            DoseBy::Mass(g) => g / g_per_ml,
        }
    }

    /// The same, so many times as large.
    pub(crate) fn times(self, factor: f64) -> Self {
        match self {
            DoseBy::Volume(ml) => DoseBy::Volume(ml * factor),
            DoseBy::Mass(g) => DoseBy::Mass(g * factor),
        }
    }

    /// Whether a litre of finished water is nothing but this.
    pub(crate) fn is_undiluted(self) -> bool {
        matches!(self, DoseBy::Volume(ml) if ml >= LITRE_ML)
    }

    /// As a person would say it.
    #[must_use]
    pub fn text(self) -> String {
        match self {
            DoseBy::Volume(ml) => format!("{} mL", show::plain(ml)),
            DoseBy::Mass(g) => format!("{} g", show::plain(g)),
        }
    }
}

/// A litre, to which doses refer, mL.
pub const LITRE_ML: f64 = 1000.0;

/// Our choice: a dose of more than half of the water is no concentrate, mL or g.
pub const MOST_OF_A_CONCENTRATE: f64 = 500.0;

/// How much water the salts get.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Filled {
    /// Salts and water together, g.
    ToMass(f64),
    /// Water up to a mark, mL of solution.
    ToVolume(f64),
    /// Salts into so many grams of water.
    IntoWater(f64),
    /// Salts into so many millilitres of water.
    IntoWaterVolume(f64),
}

impl Filled {
    /// The same, so many times as large.
    pub(crate) fn times(self, factor: f64) -> Self {
        match self {
            Filled::ToMass(g) => Filled::ToMass(g * factor),
            Filled::ToVolume(ml) => Filled::ToVolume(ml * factor),
            Filled::IntoWater(g) => Filled::IntoWater(g * factor),
            Filled::IntoWaterVolume(ml) => Filled::IntoWaterVolume(ml * factor),
        }
    }

    /// With so many grams of water that the salts bring along; what is filled up has them in it.
    #[must_use]
    pub fn and_water(self, g: f64) -> Self {
        match self {
            Filled::IntoWater(water) => Filled::IntoWater(water + g),
            Filled::IntoWaterVolume(ml) if g > 0.0 => {
                Filled::IntoWater(ml * density::water(MADE_AT).value() + g)
            }
            other => other,
        }
    }

    /// Grams or millilitres.
    pub(crate) fn size(self) -> f64 {
        match self {
            Filled::ToMass(g) | Filled::IntoWater(g) => g,
            Filled::ToVolume(ml) | Filled::IntoWaterVolume(ml) => ml,
        }
    }

    /// The amount as a person would say it.
    #[must_use]
    pub fn text(self) -> String {
        let amount = self.amount();
        match self {
            Filled::ToMass(_) | Filled::ToVolume(_) => format!("water to {amount}"),
            Filled::IntoWater(_) | Filled::IntoWaterVolume(_) => format!("into {amount} of water"),
        }
    }

    /// The same as it is typed.
    pub(crate) fn amount(self) -> String {
        match self {
            Filled::ToMass(g) | Filled::IntoWater(g) => format!("{} g", show::plain(g)),
            Filled::ToVolume(ml) | Filled::IntoWaterVolume(ml) => volume(ml),
        }
    }
}

/// Our choice: from here on a volume is said in litres, mL.
const IN_LITRES: f64 = 2000.0;

/// `500 mL`, `19 L`.
fn volume(ml: f64) -> String {
    if ml >= IN_LITRES {
        format!("{} L", show::plain(ml / LITRE_ML))
    } else {
        format!("{} mL", show::plain(ml))
    }
}

/// Why there is no concentrate.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum ConcentrateError {
    /// The planner has none.
    #[error(transparent)]
    Plan(#[from] SolveError),
    /// Too strong, or not a water, for the chemistry.
    #[error(transparent)]
    Chemistry(#[from] ChemistryError),
    /// Beyond the published densities.
    #[error(transparent)]
    Density(#[from] DensityError),
    /// No room for water.
    #[error("the salts weigh {salts_g:.1} g, and {total_g:.1} g leaves no room for water")]
    NoWater {
        /// Mass of the salts.
        salts_g: f64,
        /// Mass of the bottle.
        total_g: f64,
    },
    /// Nothing to dissolve.
    #[error("there is no salt in it")]
    NoSalt,
    /// The bottle does not hold a single dose.
    #[error("the bottle holds {} mL, less than the dose of {} mL for one litre",
        show::three_figures(*.volume_ml), show::three_figures(*.dose_ml))]
    LessThanADose {
        /// Volume of the bottle.
        volume_ml: f64,
        /// Volume of the dose.
        dose_ml: f64,
    },
    /// A dose by mass that fills more than the litre it goes into.
    #[error("the dose fills {} mL, more than the litre that it goes into",
        show::three_figures(*.dose_ml))]
    MoreThanALitre {
        /// Volume of the dose.
        dose_ml: f64,
    },
    /// More salts than can be divided.
    #[error("{salts} salts are more than the {most} that one recipe may have")]
    TooManySalts {
        /// How many there are.
        salts: usize,
        /// How many there may be.
        most: usize,
    },
    /// One bottle is too strong, and this is what would do.
    #[error("{source}")]
    TooStrong {
        /// What one bottle breaks.
        source: Box<ConcentrateError>,
        /// How it could be made all the same.
        way_out: String,
    },
}

impl ConcentrateError {
    /// Whether more water would help.
    pub(crate) fn is_too_strong(&self) -> bool {
        use ConcentrateError::{Chemistry, Density, NoWater};
        matches!(self, Chemistry(_) | Density(_) | NoWater { .. })
    }
}

/// One salt in a bottle.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WeighedSalt {
    /// Name of the bag.
    pub name: String,
    /// Formula.
    pub formula: String,
    /// Grams to weigh.
    pub g: f64,
    /// The same as this balance can show it.
    pub g_shown: String,
    /// Expanded uncertainty (k = 2) of the weighing, % of it.
    pub expanded_percent: f64,
}

/// Volumes are measured at the temperature of a kitchen: our choice.
pub(crate) const MADE_AT: Celsius = Celsius::new(20.0);

/// Salts and water in a bottle.
#[derive(Debug, Clone)]
pub(crate) struct Bottle {
    pub(crate) salts: Vec<(DrySalt, f64)>,
    pub(crate) total_g: f64,
    pub(crate) density: Density,
    pub(crate) volume_ml: f64,
    /// Totals per kilogram of water: what equilibria are stated in.
    pub(crate) per_kg: Composition,
    /// All water, that of the hydrates included.
    pub(crate) water_kg: f64,
}

/// Our choice: the density moves by less than half of what the strength does, so each round halves
/// the error at least.
const ROUNDS: usize = 60;

/// Our choice: the part by which a round may still move the result.
const SETTLED: f64 = 1e-13;

impl Bottle {
    pub(crate) fn new(
        salts: Vec<(DrySalt, f64)>,
        filled: Filled,
    ) -> Result<Self, ConcentrateError> {
        let salts_g: f64 = salts.iter().map(|(_, g)| g).sum();
        if salts_g <= 0.0 {
            return Err(ConcentrateError::NoSalt);
        }
        let water = density::water(MADE_AT).value();
        let mut total_g = match filled {
            Filled::ToMass(total) => total,
            Filled::IntoWater(g) => g + salts_g,
            Filled::IntoWaterVolume(ml) => ml * water + salts_g,
            Filled::ToVolume(ml) => ml * water + salts_g / 2.0,
        };
        let mut density = density_of(&salts, total_g)?;
        if let Filled::ToVolume(ml) = filled {
            for _ in 0..ROUNDS {
                let next = ml * density.value.value();
                let settled = (next - total_g).abs() <= SETTLED * total_g;
                total_g = next;
                density = density_of(&salts, total_g)?;
                if settled {
                    break;
                }
            }
        }
        let dissolved: f64 = salts.iter().map(|(s, g)| s.anhydrous_share() * g).sum();
        let water_kg = (total_g - dissolved) / 1000.0;
        let mut per_kg = Composition::PURE_WATER;
        for (salt, g) in &salts {
            per_kg += salt.per_gram() * (g / water_kg);
        }
        let volume_ml = total_g / density.value.value();
        Ok(Self { salts, total_g, density, volume_ml, per_kg, water_kg })
    }

    /// Salts of so many grams per finished litre, dosed so, in a bottle of that size.
    pub(crate) fn made_up(
        per_l: &[(DrySalt, f64)],
        filled: Filled,
        dose: DoseBy,
    ) -> Result<Self, ConcentrateError> {
        let mut litres = filled.size() / dose.ml(1.0);
        for _ in 0..ROUNDS {
            let bottle = Self::new(scaled(per_l, litres), filled)?;
            let next = bottle.litres(dose);
            let settled = (next - litres).abs() <= SETTLED * litres;
            litres = next;
            if settled {
                break;
            }
        }
        Self::new(scaled(per_l, litres), filled)
    }

    /// The same with each salt in whole steps of its balance; of what is less than half a step nothing is
    /// weighed.
    pub(crate) fn in_steps(&self, filled: Filled, tools: &Tools) -> Result<Self, ConcentrateError> {
        let salts = self.salts.iter().map(|(salt, g)| {
            let step = tools.weighs(Grams::new(*g)).resolution.value();
            (salt.clone(), (g / step).round() * step)
        });
        Self::new(salts.filter(|(_, g)| *g > 0.0).collect(), filled)
    }

    /// A litre of the finished water, the rest of it `base`.
    pub(crate) fn finished(&self, dose: DoseBy, base: &Composition) -> Composition {
        // kg of the bottle's water that come with the dose of one litre
        let water_kg_per_l = self.water_kg / self.litres(dose);
        *base * (1.0 - dose.ml(self.g_per_ml()) / LITRE_ML) + self.per_kg * water_kg_per_l
    }

    pub(crate) fn salts_g(&self) -> f64 {
        self.salts.iter().map(|(_, g)| g).sum()
    }

    pub(crate) fn g_per_ml(&self) -> f64 {
        self.density.value.value()
    }

    /// Litres of finished water that it makes.
    pub(crate) fn litres(&self, dose: DoseBy) -> f64 {
        self.volume_ml / dose.ml(self.g_per_ml())
    }

    /// Its salts as they are weighed with these tools.
    pub(crate) fn weighed(&self, tools: &Tools) -> Vec<WeighedSalt> {
        let one = |(salt, g): &(DrySalt, f64)| {
            let balance = tools.weighs(Grams::new(*g));
            let step = balance.resolution.value();
            let standard = balance.standard().value();
            WeighedSalt {
                name: salt.name.clone(),
                formula: salt.salt.formula.to_string(),
                g: *g,
                g_shown: show::in_steps_of(step, *g),
                expanded_percent: 100.0 * COVERAGE * standard / g,
            }
        };
        self.salts.iter().map(one).collect()
    }
}

fn density_of(salts: &[(DrySalt, f64)], total_g: f64) -> Result<Density, ConcentrateError> {
    let salts_g: f64 = salts.iter().map(|(_, g)| g).sum();
    if salts_g >= total_g {
        return Err(ConcentrateError::NoWater { salts_g, total_g });
    }
    let shares: Vec<(&Formula, Fraction)> = salts
        .iter()
        .map(|(s, g)| (&s.salt.formula, Fraction::new(s.anhydrous_share() * g / total_g)))
        .collect();
    Ok(density::mixed(&shares, MADE_AT)?)
}

pub(crate) fn scaled(per_l: &[(DrySalt, f64)], litres: f64) -> Vec<(DrySalt, f64)> {
    per_l.iter().map(|(salt, g)| (salt.clone(), g * litres)).collect()
}
