//! What is not known exactly of a stock, and how its strength follows from it.
//!
//! Each weighing is an input of its own. Two masses from one balance share a part of its error,
//! which would cancel in the strength, their ratio; how large that part is no maker says, so
//! none is assumed, and the ± is rather too large than too small.

use std::fmt;

use crate::chemistry::density;
use crate::quantities::uncertain::{Input, Spread, propagate};
use crate::quantities::{Fraction, Grams};
use crate::stock::{DosedBy, Making, Stock, Tools};

/// Where an uncertainty comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Cause {
    /// Weighing the salt.
    SaltWeighed,
    /// Weighing the water or the whole.
    RestWeighed,
    /// The mark of the flask.
    Flask,
    /// Purity of the lot.
    Purity,
    /// Moisture of the lot.
    Moisture,
    /// Density of the stock.
    Density,
    /// A strength found by measurement.
    Verified,
    /// A single dose.
    Dose,
    /// A dose of several strokes, each with its own error.
    Strokes,
    /// The calibration of the dispenser, shared by all doses.
    Dispenser,
    /// Drops that differ from each other.
    Drops,
    /// The size of the drops of one dropper, shared by all doses.
    DropSize,
    /// Filling the bottle.
    Fill,
    /// The analysis of a base water.
    Analysis,
}

impl Cause {
    /// What would halve it.
    #[must_use]
    pub fn remedy(self) -> &'static str {
        match self {
            Cause::SaltWeighed => "make twice as much at once, or use a balance twice as fine",
            Cause::RestWeighed => {
                "use a balance twice as fine for the whole, or make twice as much at once"
            }
            Cause::Flask => "make the stock by weight",
            Cause::Purity => "a certificate with half the range, or a verified strength",
            Cause::Moisture => "keep the lot closed and dry, or verify the stock",
            Cause::Density => "dose by weight",
            Cause::Verified => {
                "verify it with a meter and a dispenser twice as fine, or by titration"
            }
            Cause::Dose => {
                "a stock of half the strength (twice the dose), or a dispenser twice as fine"
            }
            Cause::Strokes => {
                "a dispenser twice as fine, or one of the same error that holds the whole dose"
            }
            Cause::Dispenser => {
                "weigh ten doses of water and correct for what the dispenser \
                                 really gives"
            }
            Cause::Drops => {
                "a stock of a quarter of the strength (four times the drops), or a syringe"
            }
            Cause::DropSize => "weigh a hundred drops of water and correct the size of a drop",
            Cause::Fill => "fill the bottle on the balance",
            Cause::Analysis => "an analysis with half the range, or half as much of this water",
        }
    }
}

/// One input that is not known exactly.
#[derive(Debug, Clone, PartialEq)]
pub struct UncertaintySource {
    /// Its estimate and spread.
    pub input: Input,
    /// Where it comes from.
    pub cause: Cause,
}

impl fmt::Display for Cause {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Cause::SaltWeighed => "weighing the salt",
            Cause::RestWeighed => "weighing the water",
            Cause::Flask => "mark of the flask",
            Cause::Purity => "purity",
            Cause::Moisture => "moisture",
            Cause::Density => "density",
            Cause::Verified => "verified strength",
            Cause::Dose => "dose",
            Cause::Strokes => "dose in strokes",
            Cause::Dispenser => "calibration of the dispenser",
            Cause::Drops => "drops that differ",
            Cause::DropSize => "size of the drops",
            Cause::Fill => "filling the bottle",
            Cause::Analysis => "analysis",
        })
    }
}

/// A strength in every form that a dose needs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Strength {
    /// Pure salt, hydrate water included, g/kg.
    pub g_per_kg: f64,
    /// Density, g/mL.
    pub g_per_ml: f64,
    /// Equivalents per gram of stock, meq/g.
    pub meq_per_g: f64,
}

impl Strength {
    /// Equivalents per millilitre.
    #[must_use]
    pub fn meq_per_ml(&self) -> f64 {
        self.meq_per_g * self.g_per_ml
    }
}

/// The strength of one stock as a function of its inputs. Around the nominal strength the density
/// is taken as a straight line; over a few per cent of strength its bend is below 1e-6.
#[derive(Debug, Clone, PartialEq)]
pub struct StrengthModel {
    name: String,
    making: Making,
    purity: f64,
    purity_within: f64,
    moisture: f64,
    moisture_within: f64,
    verified: Option<Fraction>,
    strength: f64,
    anhydrous: f64,
    rho: f64,
    rho_standard: f64,
    slope: f64,
    meq_per_g_salt: f64,
}

impl StrengthModel {
    /// The model of a stock; `verified` is the relative standard uncertainty of a strength
    /// that was measured, which then replaces weighing, purity and moisture.
    #[must_use]
    pub fn new(stock: &Stock, verified: Option<Fraction>) -> Self {
        /// Our choice: a step over which the density is straight.
        const STEP: f64 = 1e-4;
        let recipe = stock.recipe();
        let anhydrous = recipe.salt.anhydrous_fraction().value();
        let w = stock.strength().value() * anhydrous;
        let rho = stock.density().value.value();
        let below = density::solution(
            &recipe.salt.formula,
            Fraction::new((w - STEP).max(0.0)),
            recipe.temperature,
        );
        let slope = below.map_or(0.0, |d| (rho - d.value.value()) / STEP.min(w));
        Self {
            name: stock.name().to_owned(),
            making: recipe.making,
            purity: recipe.lot.purity.value(),
            purity_within: recipe.lot.purity_half_width(),
            moisture: recipe.lot.moisture.value(),
            moisture_within: recipe.lot.moisture_half_width(),
            verified,
            strength: stock.strength().value(),
            anhydrous,
            rho,
            rho_standard: stock.density().standard_uncertainty.value(),
            slope,
            meq_per_g_salt: 1000.0 * recipe.salt.equivalents_per_mole()
                / recipe.salt.formula.molar_mass().value(),
        }
    }

    /// What is not known exactly, with the tools it was made with.
    #[must_use]
    pub fn uncertainty_sources(&self, tools: &Tools) -> Vec<UncertaintySource> {
        let doubt = |cause: Cause, estimate: f64, spread: Spread| UncertaintySource {
            input: Input::new(format!("{}: {cause}", self.name), estimate, spread),
            cause,
        };
        let density = doubt(Cause::Density, 1.0, Spread::Normal(self.rho_standard / self.rho));
        if let Some(relative) = self.verified {
            let strength = doubt(Cause::Verified, 1.0, Spread::Normal(relative.value()));
            return vec![strength, density];
        }
        let filled = |mass: Grams| Spread::Normal(tools.weighs_filled(mass).standard().value());
        let salt = self.making.salt();
        let rest = match self.making {
            Making::ToTotalMass { total, .. } => {
                doubt(Cause::RestWeighed, total.value(), filled(total))
            }
            Making::IntoWater { water, .. } => {
                doubt(Cause::RestWeighed, water.value(), filled(water))
            }
            Making::ToVolume { volume, .. } => doubt(
                Cause::Flask,
                volume.value(),
                Spread::Rectangular(tools.flask.value() * volume.value()),
            ),
        };
        vec![
            doubt(
                Cause::SaltWeighed,
                salt.value(),
                Spread::Normal(tools.weighs(salt).standard().value()),
            ),
            rest,
            doubt(Cause::Purity, self.purity, Spread::Rectangular(self.purity_within)),
            doubt(Cause::Moisture, self.moisture, Spread::Rectangular(self.moisture_within)),
            density,
        ]
    }

    /// The strength for one number per doubt, in the order of [`StrengthModel::uncertainty_sources`].
    #[must_use]
    pub fn strength(&self, x: &[f64]) -> Strength {
        match *x {
            [factor, density] => self.of(self.strength * factor, density),
            [salt, rest, purity, moisture, density] => {
                let compound = salt * purity * (1.0 - moisture);
                let total = match self.making {
                    Making::ToTotalMass { .. } => rest,
                    Making::IntoWater { .. } => salt + rest,
                    Making::ToVolume { .. } => self.mass_of(rest, compound, density),
                };
                self.of(compound / total, density)
            }
            _ => self.of(self.strength, 1.0),
        }
    }

    /// Relative standard uncertainty of what a dose brings for its size, as doses are measured out.
    #[must_use]
    pub fn relative(&self, tools: &Tools) -> Fraction {
        let inputs: Vec<Input> =
            self.uncertainty_sources(tools).into_iter().map(|source| source.input).collect();
        let found = propagate(&inputs, |x| {
            let strength = self.strength(x);
            vec![match tools.dispenser.by {
                DosedBy::Mass => strength.meq_per_g,
                DosedBy::Volume | DosedBy::Drops => strength.meq_per_ml(),
            }]
        });
        Fraction::new(found.first().map_or(0.0, |found| found.standard() / found.value))
    }

    fn of(&self, strength: f64, density: f64) -> Strength {
        let change = self.slope * self.anhydrous * (strength - self.strength);
        Strength {
            g_per_kg: 1000.0 * strength,
            g_per_ml: self.rho * density + change,
            meq_per_g: strength * self.meq_per_g_salt,
        }
    }

    /// Mass that fills a volume: `M = V·(ρ + s·(A/M − w))`, solved for M.
    fn mass_of(&self, volume: f64, compound: f64, density: f64) -> f64 {
        let straight = volume * (self.rho * density - self.slope * self.anhydrous * self.strength);
        let bent = volume * self.slope * self.anhydrous * compound;
        f64::midpoint(straight, (straight * straight + 4.0 * bent).sqrt())
    }
}
