//! What the waters of a session were made of when it was planned, so that a flight changed later
//! does not change what was tasted. It names waters and no codes.

use serde::{Deserialize, Serialize};
use thiserror::Error;

use crate::chemistry::KeyedAmounts;
use crate::flight::{Convention, Dispenser, Flight};
use crate::mix::MixReport;
use crate::quantities::{Day, Litres, Millilitres, MillilitresPerLitre, show};
use crate::session::plan::{DosedWater, Unwritable, key, unread};
use crate::session::results::{PlannedWaterRecipe, SAME_MG_PER_L};
use crate::session::serve::measured_out::{Measured, MeasuredDose, MeasuredWater, MeasuredWith};
use crate::stock::{Bottle, Stock};

/// Version of the file. Raised when a reader of the one before could not read it: 2 adds the sum of
/// the flight's file and the verified strengths, 3 the dispenser with the steps of each dose, the
/// salts, and what was not measured of the base waters, 4 the record after which it was planned. Those
/// before are read as they are.
pub const WATERS_FORMAT: u32 = 4;

/// The first format that says whether a batch was verified when the session was planned.
const KNOWS_VERIFIED: u32 = 2;

/// The first format that says after which record a session was planned.
const KNOWS_RECORD: u32 = 4;

/// Why the waters of a session cannot be read.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum WatersError {
    /// They are none.
    #[error("the waters cannot be read: {reason}")]
    Unreadable {
        /// Why.
        reason: String,
    },
    /// Written by a newer program.
    #[error("the waters have format {found} and this program reads up to {WATERS_FORMAT}")]
    TooNew {
        /// Format found.
        found: u32,
    },
}

/// The waters of a session.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SessionWaters {
    /// [`WATERS_FORMAT`].
    pub format: u32,
    /// The day on which the session was planned.
    pub day: String,
    /// The last record of the bench then.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub after_record: Option<u64>,
    /// File name of the flight.
    pub flight: String,
    /// Its title.
    pub title: String,
    /// SHA-256 of the flight's file as it then was; unknown in sessions planned before it was kept.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub flight_sum: Option<String>,
    /// What doses are measured out with, in whole steps; nothing where they have none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub dispenser: Option<PlannedDispenser>,
    /// Whether doses go into a bottle of base water, and not up to its mark.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub added: bool,
    /// The waters, in the order of the flight.
    pub waters: Vec<PlannedWater>,
}

/// One water as it was planned.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PlannedWater {
    /// Its name.
    pub name: String,
    /// Doses for a litre of finished water.
    pub doses: Vec<PlannedDose>,
    /// Base waters and their shares of the finished volume.
    pub base: Vec<(String, f64)>,
    /// Finished water in one bottle of the flight, mL; not kept before format 3.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bottle_ml: Option<f64>,
    /// Constituents that were measured, mg/L, by their keys; alkalinity as HCO3.
    pub mg_per_l: Vec<(String, f64)>,
    /// Keys of those that were not measured of a base water.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub not_measured: Vec<String>,
    /// Keys of those that were assumed of a base water.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub assumed: Vec<String>,
    /// Hardness, mg/L as CaCO3; none where it was not measured.
    pub hardness_mg_per_l_caco3: Option<f64>,
    /// Alkalinity, mg/L as CaCO3; none where it was not measured.
    pub alkalinity_mg_per_l_caco3: Option<f64>,
    /// Dissolved solids, mg/L; none where an ion was not measured.
    pub dissolved_solids_mg_per_l: Option<f64>,
}

/// A dose of one stock.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PlannedDose {
    /// The stock.
    pub stock: String,
    /// The batch that was in its bottle; nothing when none was recorded.
    pub batch: Option<u32>,
    /// The verified strength of that batch, g/kg; nothing when it was not verified, or when that
    /// was not kept yet ([`SessionWaters::knows_verified`]).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub verified_g_per_kg: Option<f64>,
    /// Millilitres for a litre of finished water.
    pub ml_per_l: f64,
    /// Whole steps of the dispenser for one bottle.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub steps: Option<u32>,
    /// Density of the stock, g/mL; not kept before format 3.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub g_per_ml: Option<f64>,
    /// Formula of its salt; not kept before format 3.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub salt: Option<String>,
}

/// The dispenser of a plan.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PlannedDispenser {
    /// Its name.
    pub name: String,
    /// Syringe, pipette, balance or dropper.
    pub kind: String,
    /// One step, in the unit.
    pub step: f64,
    /// The least number of steps.
    pub least_steps: u32,
    /// mL or g.
    pub unit: String,
    /// What its steps are called where they are counted.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub counted: Option<String>,
}

impl PlannedWater {
    /// As the journal knows it.
    #[must_use]
    pub fn made(&self) -> PlannedWaterRecipe {
        PlannedWaterRecipe {
            water: self.name.clone(),
            doses_ml_per_l: self.doses.iter().map(|d| (d.stock.clone(), d.ml_per_l)).collect(),
            base: self.base.clone(),
            mg_per_l: self.mg_per_l.clone(),
            not_measured: self.not_measured.clone(),
            assumed: self.assumed.clone(),
            hardness_mg_per_l_caco3: self.hardness_mg_per_l_caco3,
            alkalinity_mg_per_l_caco3: self.alkalinity_mg_per_l_caco3,
        }
    }

    /// What differs from the same water as it is planned now, in words. What was not measured then or
    /// is not now cannot be compared.
    #[must_use]
    pub fn changes(&self, now: &KeyedAmounts) -> Vec<String> {
        let known = now.0.iter().filter(|(key, _)| !self.not_measured.iter().any(|k| k == key));
        let moved = known.filter_map(|(key, now)| {
            let then = self.mg_per_l(key).unwrap_or(0.0);
            ((now - then).abs() >= SAME_MG_PER_L).then(|| {
                format!("{key} {}, not {}", show::three_figures(*now), show::three_figures(then))
            })
        });
        moved.collect()
    }

    /// A constituent by its key.
    #[must_use]
    pub fn mg_per_l(&self, key: &str) -> Option<f64> {
        self.mg_per_l.iter().find(|(k, _)| k == key).map(|(_, amount)| *amount)
    }
}

/// A flight as it was planned, for [`SessionWaters::planned`].
#[derive(Debug, Clone, Copy)]
pub struct PlannedFlight<'a> {
    /// File name of the flight.
    pub stem: &'a str,
    /// Text of its file.
    pub text: &'a str,
    /// The flight that the waters belong to.
    pub flight: &'a Flight,
    /// The stocks, in the order of the doses.
    pub stocks: &'a [Stock],
    /// The bottles they stand in.
    pub bottles: &'a [Bottle],
    /// For each water the doses, mL per litre of finished water, and the shares of base waters.
    pub plans: &'a [(&'a [f64], &'a [f64])],
    /// What the waters then hold.
    pub report: &'a MixReport,
    /// What doses are measured out with.
    pub dispenser: Option<&'a Dispenser>,
}

impl PlannedFlight<'_> {
    fn water(&self, at: usize) -> Option<PlannedWater> {
        /// Our choice: less than a millionth of a millilitre is rounding of the solver.
        const NEGLIGIBLE: f64 = 1e-6;
        let mix = self.report.waters.get(at)?;
        let (ml_per_l, shares) = self.plans.get(at)?;
        let doses = self.stocks.iter().zip(*ml_per_l).filter(|(_, ml)| **ml > NEGLIGIBLE);
        let base = self.flight.base.iter().zip(*shares).filter(|(_, share)| **share > NEGLIGIBLE);
        Some(PlannedWater {
            name: mix.target.clone(),
            doses: doses.map(|(stock, ml)| self.dose(at, stock, *ml)).collect(),
            bottle_ml: Some(1000.0 * self.finished_litres(shares)),
            base: base.map(|(base, share)| (base.water.name.clone(), *share)).collect(),
            mg_per_l: mix.mg_per_l.0.iter().map(|(k, v)| ((*k).to_owned(), *v)).collect(),
            not_measured: keys(&mix.unknowns.not_measured),
            assumed: keys(&mix.unknowns.assumed),
            hardness_mg_per_l_caco3: mix.hardness_mg_per_l_caco3,
            alkalinity_mg_per_l_caco3: mix.alkalinity_mg_per_l_caco3,
            dissolved_solids_mg_per_l: mix.dissolved_solids_mg_per_l,
        })
    }

    /// Finished water in one bottle.
    fn finished_litres(&self, shares: &[f64]) -> f64 {
        let base: f64 = shares.iter().sum();
        match self.flight.convention {
            Convention::AddedToALitre if base > 0.0 => self.flight.bottle.value() / base,
            _ => self.flight.bottle.value(),
        }
    }

    /// Steps of a stock in one bottle of a water.
    fn steps(&self, water: usize, stock: &str) -> Option<u32> {
        let with = self.report.order.as_ref()?.dispenser.as_ref()?;
        let dose = with.waters.get(water)?.doses.iter().find(|dose| dose.stock == stock)?;
        Some(dose.steps)
    }

    fn dose(&self, water: usize, of: &Stock, ml_per_l: f64) -> PlannedDose {
        let stock = of.name();
        let used = self.report.stocks_used.iter().find(|used| used.stock == stock);
        let number = used.and_then(|used| used.batch);
        let batches = self.bottles.iter().filter_map(|bottle| bottle.batch.as_ref());
        let batch = batches.into_iter().find(|b| b.stock == stock && Some(b.number) == number);
        PlannedDose {
            stock: stock.to_owned(),
            batch: number,
            verified_g_per_kg: batch.and_then(|b| b.verified).map(|verified| verified.g_per_kg),
            ml_per_l,
            steps: self.steps(water, stock),
            g_per_ml: Some(of.density().value.value()),
            salt: Some(of.recipe().salt.formula.to_string()),
        }
    }
}

fn keys(keys: &[&str]) -> Vec<String> {
    keys.iter().map(|key| (*key).to_owned()).collect()
}

impl SessionWaters {
    /// The waters that are tasted, of a flight as it is planned today.
    #[must_use]
    pub fn planned(flight: &PlannedFlight<'_>, tasted: &[String]) -> Self {
        let all = (0..flight.report.waters.len()).filter_map(|at| flight.water(at));
        let waters: Vec<PlannedWater> = all.filter(|water| tasted.contains(&water.name)).collect();
        Self {
            format: WATERS_FORMAT,
            day: Day::today().to_string(),
            after_record: None,
            flight: flight.stem.to_owned(),
            title: flight.flight.title.clone(),
            flight_sum: Some(key::seal(flight.text)),
            dispenser: flight.dispenser.map(|with| PlannedDispenser {
                name: with.name.clone(),
                kind: with.kind.to_owned(),
                step: with.step.value(),
                least_steps: with.least_steps(),
                unit: with.step.unit().to_owned(),
                counted: with.counted().map(str::to_owned),
            }),
            added: flight.flight.convention == Convention::AddedToALitre,
            waters,
        }
    }

    /// The record after which it was planned, 0 where nothing was recorded yet; sessions of older programs
    /// know their day alone.
    #[must_use]
    pub fn planned_after(&self) -> Option<u64> {
        let before_any = (self.format >= KNOWS_RECORD).then_some(0);
        self.after_record.or(before_any)
    }

    /// Whether the session may have been planned after a record of that number and day.
    #[must_use]
    pub fn may_follow(&self, record: u64, day: &str) -> bool {
        self.planned_after().map_or_else(|| day <= self.day.as_str(), |after| record <= after)
    }

    /// What a litre of each water is made of.
    #[must_use]
    pub fn dosed(&self) -> Vec<DosedWater> {
        let dose =
            |dose: &PlannedDose| (dose.stock.clone(), MillilitresPerLitre::new(dose.ml_per_l));
        self.waters
            .iter()
            .map(|water| DosedWater {
                water: water.name.clone(),
                doses: water.doses.iter().map(dose).collect(),
                base: water.base.clone(),
            })
            .collect()
    }

    /// How the waters are measured out; `least` is the least dose where the plan has no dispenser.
    #[must_use]
    pub fn measured(&self, least: Millilitres) -> Measured {
        let dose = |dose: &PlannedDose| MeasuredDose {
            stock: dose.stock.clone(),
            ml_per_l: dose.ml_per_l,
            steps: dose.steps,
            g_per_ml: dose.g_per_ml,
        };
        let water = |water: &PlannedWater| MeasuredWater {
            water: water.name.clone(),
            // Only steps need it, and they are kept together.
            bottle: Litres::new(water.bottle_ml.map_or(1.0, |ml| ml / 1000.0)),
            doses: water.doses.iter().map(dose).collect(),
            base: water.base.clone(),
        };
        Measured {
            with: self.dispenser.as_ref().map(|with| MeasuredWith {
                name: with.name.clone(),
                kind: with.kind.clone(),
                step: with.step,
                least_steps: with.least_steps,
                unit: with.unit.clone(),
                counted: with.counted.clone(),
            }),
            least,
            added: self.added,
            waters: self.waters.iter().map(water).collect(),
        }
    }

    /// The batch that was in the bottle of a stock when the session was planned.
    #[must_use]
    pub fn batch_of(&self, stock: &str) -> Option<u32> {
        let doses = self.waters.iter().flat_map(|water| &water.doses);
        doses.into_iter().find(|dose| dose.stock == stock).and_then(|dose| dose.batch)
    }

    /// Whether the doses say which batches were verified when this was planned.
    #[must_use]
    pub fn knows_verified(&self) -> bool {
        self.format >= KNOWS_VERIFIED
    }

    /// Reads the text of the file, its format first.
    ///
    /// # Errors
    /// When it holds no waters, or those of a newer program.
    pub fn from_text(text: &str) -> Result<Self, WatersError> {
        #[derive(Deserialize)]
        struct Version {
            format: u32,
        }
        let unreadable =
            |error: serde_json::Error| WatersError::Unreadable { reason: unread::why(&error) };
        let Version { format } = serde_json::from_str(text).map_err(unreadable)?;
        if format > WATERS_FORMAT {
            return Err(WatersError::TooNew { found: format });
        }
        serde_json::from_str(text).map_err(unreadable)
    }

    /// The text of the file.
    ///
    /// # Errors
    /// When it has none, which is a fault of the program.
    pub fn to_text(&self) -> Result<String, Unwritable> {
        Ok(Unwritable::lines("list of waters", self)? + "\n")
    }

    /// A water by its name.
    #[must_use]
    pub fn water(&self, name: &str) -> Option<&PlannedWater> {
        self.waters.iter().find(|water| water.name == name)
    }
}
