//! All dry salts in one bottle: what it holds, what drops, how it is split, what water it makes.

use serde::Serialize;
use thiserror::Error;

use crate::chemistry::density::{self, Basis, Density, DensityError};
use crate::chemistry::{Carbon, ChemistryError, Composition, Conserved, Formula};
use crate::planner::stages::SolveError;
use crate::planner::weigh_out::any_grams;
use crate::quantities::{Celsius, Fraction};
use crate::report::batch::Wanted;
use crate::report::clouding::{Clouding, MAY_DROP};
use crate::report::everyday_cost::{EverydayCost, Instead, salts_cost};
use crate::report::keyed::Keyed;
use crate::report::lab::{Lab, Stage, State};
use crate::shelf::{DrySalt, Price};
use crate::waters::Measure;

/// How much of a concentrate goes into a litre of finished water.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum DoseBy {
    /// Millilitres.
    Volume(f64),
    /// Grams.
    Mass(f64),
}

impl DoseBy {
    fn ml(self, g_per_ml: f64) -> f64 {
        match self {
            DoseBy::Volume(ml) => ml,
            DoseBy::Mass(g) => g / g_per_ml,
        }
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
}

/// Salts and water in a bottle.
#[derive(Debug, Clone)]
struct Bottle {
    salts: Vec<(DrySalt, f64)>,
    total_g: f64,
    density: Density,
    volume_ml: f64,
    /// Totals per kilogram of water: what equilibria are stated in.
    per_kg: Composition,
    water_kg: f64,
}

/// Our choice: volumes are measured at the temperature of a kitchen.
const MADE_AT: Celsius = Celsius::new(20.0);

/// Our choice: a fridge, for the question whether to keep it cold.
const FRIDGE: Celsius = Celsius::new(5.0);

impl Bottle {
    fn new(salts: Vec<(DrySalt, f64)>, total_g: f64) -> Result<Self, ConcentrateError> {
        let salts_g: f64 = salts.iter().map(|(_, g)| g).sum();
        if salts_g <= 0.0 {
            return Err(ConcentrateError::NoSalt);
        }
        if salts_g >= total_g {
            return Err(ConcentrateError::NoWater { salts_g, total_g });
        }
        let shares: Vec<(&Formula, Fraction)> = salts
            .iter()
            .map(|(s, g)| (&s.salt.formula, Fraction::new(s.anhydrous_share() * g / total_g)))
            .collect();
        let density = density::mixed(&shares, MADE_AT)?;
        let dissolved: f64 = shares.iter().map(|(_, w)| w.value()).sum();
        let water_kg = total_g * (1.0 - dissolved) / 1000.0;
        let mut per_kg = Composition::PURE_WATER;
        for (salt, g) in &salts {
            per_kg += salt.per_gram() * (g / water_kg);
        }
        let volume_ml = total_g / density.value.value();
        Ok(Self { salts, total_g, density, volume_ml, per_kg, water_kg })
    }

    /// Salts of so many grams per finished litre, dosed so, to a total mass.
    fn made_up(
        per_l: &[(DrySalt, f64)],
        total_g: f64,
        dose: DoseBy,
    ) -> Result<Self, ConcentrateError> {
        /// Our choice: the density moves by less than half of what the strength does, so each
        /// round halves the error at least.
        const ROUNDS: usize = 60;
        let mut litres = total_g / dose.ml(1.0);
        for _ in 0..ROUNDS {
            let bottle = Self::new(scaled(per_l, litres), total_g)?;
            let next = bottle.volume_ml / dose.ml(bottle.density.value.value());
            let settled = (next - litres).abs() <= 1e-13 * litres;
            litres = next;
            if settled {
                break;
            }
        }
        Self::new(scaled(per_l, litres), total_g)
    }

    /// Whether nothing drops in the room, closed or open, and each salt alone would dissolve.
    fn is_clear(&self, lab: &Lab) -> Result<bool, ChemistryError> {
        if !self.undissolved().is_empty() {
            return Ok(false);
        }
        for state in [State::Closed, State::Open] {
            let at = &lab.room.aqueous;
            if !at.precipitate(&self.per_kg, lab.carbon(state), &MAY_DROP)?.is_clear() {
                return Ok(false);
            }
        }
        Ok(true)
    }

    fn undissolved(&self) -> Vec<String> {
        let too_much = |(salt, g): &&(DrySalt, f64)| {
            let saturated = salt.salt.solubility.at(MADE_AT).map(Fraction::value);
            saturated.is_some_and(|most| salt.anhydrous_share() * g / self.total_g > most)
        };
        self.salts.iter().filter(too_much).map(|(s, _)| s.salt.formula.to_string()).collect()
    }

    fn standing(
        &self,
        stage: &Stage,
        state: State,
        carbon: Carbon,
    ) -> Result<Standing, ChemistryError> {
        let after = stage.aqueous.precipitate(&self.per_kg, carbon, &MAY_DROP)?;
        let drops = MAY_DROP.into_iter().filter(|m| after.mmol_per_kg(*m) > 0.0);
        let taken = |conserved: Conserved| -> f64 {
            let each = MAY_DROP
                .into_iter()
                .flat_map(|m| m.takes().iter().map(move |(c, n)| (*c, n * m_amount(&after, m))));
            each.filter(|(c, _)| *c == conserved).map(|(_, amount)| amount).sum()
        };
        let lost = [Conserved::Ca, Conserved::Mg, Conserved::SO4, Conserved::Alkalinity]
            .into_iter()
            .filter(|c| self.per_kg.mmol_per_l(*c) > 0.0 && taken(*c) > 0.0)
            .map(|c| (c.key(), 100.0 * taken(c) / self.per_kg.mmol_per_l(c)))
            .collect();
        Ok(Standing {
            celsius: stage.aqueous.temperature().value(),
            state,
            ph: after.rest.ph(),
            solids: drops
                .map(|m| SolidMass {
                    mineral: m.key(),
                    formula: m.formula(),
                    mmol_per_kg: after.mmol_per_kg(m),
                    g: after.mmol_per_kg(m) * self.water_kg * m.g_per_mol() / 1000.0,
                })
                .collect(),
            lost_percent: Keyed(lost),
        })
    }
}

fn m_amount(
    after: &crate::chemistry::Precipitation<'_>,
    mineral: crate::chemistry::Mineral,
) -> f64 {
    after.mmol_per_kg(mineral)
}

fn scaled(per_l: &[(DrySalt, f64)], litres: f64) -> Vec<(DrySalt, f64)> {
    per_l.iter().map(|(salt, g)| (salt.clone(), g * litres)).collect()
}

/// A solid at the bottom of the bottle.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct SolidMass {
    /// Key of the mineral.
    pub mineral: &'static str,
    /// Formula.
    pub formula: &'static str,
    /// mmol per kg of water.
    pub mmol_per_kg: f64,
    /// Grams in this bottle.
    pub g: f64,
}

/// What has dropped once the bottle has come to rest.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Standing {
    /// Temperature, °C.
    pub celsius: f64,
    /// Closed, or open to air.
    pub state: State,
    /// pH over the solids.
    pub ph: f64,
    /// What dropped.
    pub solids: Vec<SolidMass>,
    /// Per cent of each ion that it took; HCO3 stands for alkalinity.
    pub lost_percent: Keyed,
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
}

/// One bottle of a split.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SplitBottle {
    /// Its salts.
    pub salts: Vec<WeighedSalt>,
    /// Its water, g.
    pub water_g: f64,
    /// Litres it makes.
    pub litres: f64,
}

/// An all-in-one concentrate.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ConcentrateReport {
    /// Name of the water.
    pub name: String,
    /// The salts.
    pub salts: Vec<WeighedSalt>,
    /// Water to weigh, g.
    pub water_g: f64,
    /// Both, g.
    pub total_g: f64,
    /// Density at 20 °C, g/mL.
    pub density_g_per_ml: f64,
    /// Whether the density rests on published coefficients alone.
    pub density_is_published: bool,
    /// Volume at 20 °C, mL.
    pub volume_ml: f64,
    /// Dose, mL per litre of finished water.
    pub dose_ml_per_l: f64,
    /// Dose, g per litre of finished water.
    pub dose_g_per_l: f64,
    /// Litres of finished water that it makes.
    pub makes_litres: f64,
    /// Ionic strength, mol per kg of water, before anything drops.
    pub ionic_strength_mol_per_kg: f64,
    /// Whether that is beyond what the activity model is backed for.
    pub extrapolated: bool,
    /// Salts that would not even dissolve alone at 20 °C.
    pub undissolved: Vec<String>,
    /// Fugacity of carbon dioxide over the fresh bottle, atm.
    pub co2_atm: f64,
    /// Per cent of its carbon that leaves when it stands open, before anything drops.
    pub carbon_lost_open_percent: f64,
    /// At rest: room closed, room open, fridge closed.
    pub standing: Vec<Standing>,
    /// Whether one bottle stays clear.
    pub clear: bool,
    /// The fewest bottles in which nothing drops; none when no number of them will do.
    pub split: Option<Vec<SplitBottle>>,
    /// The finished water, mg/L.
    pub mg_per_l: Keyed,
    /// Hardness, mg/L as CaCO3.
    pub hardness_mg_per_l_caco3: f64,
    /// Alkalinity, mg/L as CaCO3.
    pub alkalinity_mg_per_l_caco3: f64,
    /// Whether the finished water stays clear.
    pub finished: Clouding,
    /// Calcite index of the finished water in the room, closed.
    pub finished_si_calcite: Option<f64>,
    /// Gypsum index of the finished water.
    pub finished_si_gypsum: Option<f64>,
    /// The water when the solids of the closed bottle are not shaken back, mg/L.
    pub unshaken_mg_per_l: Keyed,
    /// The same water with the stocks of the shelf, mL per litre; empty where none are.
    pub with_stocks: Vec<(String, f64)>,
    /// What it costs.
    pub cost: Option<EverydayCost>,
}

impl ConcentrateReport {
    /// A concentrate for a wanted water.
    ///
    /// # Errors
    /// When the planner, the densities or the chemistry have no answer, or no water fits.
    pub fn new(
        wanted: &Wanted,
        total_g: f64,
        dose: DoseBy,
        lab: &Lab,
        (prices, instead): (&[(String, Price)], &Instead),
    ) -> Result<Self, ConcentrateError> {
        let Wanted { target, base, salts, stocks } = wanted;
        // The dose takes room from the base water; dosed by mass, the room follows the density.
        let mut room = 1.0 - dose.ml(1.0) / 1000.0;
        let mut made = any_grams(salts, base, target, room)?;
        let used = |g_per_l: &[f64]| -> Vec<(DrySalt, f64)> {
            let pairs = salts.iter().cloned().zip(g_per_l.iter().copied());
            pairs.filter(|(_, g)| *g > 0.0).collect()
        };
        if let DoseBy::Mass(_) = dose {
            let first = Bottle::made_up(&used(&made.g_per_l), total_g, dose)?;
            room = 1.0 - dose.ml(first.density.value.value()) / 1000.0;
            made = any_grams(salts, base, target, room)?;
        }
        let per_l = used(&made.g_per_l);
        let mut litre = Composition::PURE_WATER;
        for (part, share) in base.iter().zip(&made.shares) {
            litre += part.water.composition * *share;
        }
        let bottle = Bottle::made_up(&per_l, total_g, dose)?;
        let mut report = Self::of(&target.name, &bottle, dose, &litre, lab)?;
        report.split = split(&per_l, total_g, dose, lab, report.clear)?;
        report.with_stocks = per_l
            .iter()
            .filter_map(|(salt, g)| {
                let stock = stocks.iter().find(|s| s.name() == salt.name)?;
                let ml = g / salt.g_per_meq() / stock.meq_per_ml().value();
                Some((salt.name.clone(), ml))
            })
            .collect();
        let shares: Vec<(String, f64)> = base
            .iter()
            .zip(&made.shares)
            .filter(|(_, share)| **share > 0.0)
            .map(|(b, share)| (b.water.name.clone(), share * room))
            .collect();
        let weighed: Vec<(&DrySalt, f64)> = per_l.iter().map(|(s, g)| (s, *g)).collect();
        let salts = salts_cost(&weighed);
        report.cost = EverydayCost::new(&salts, &shares, prices, report.makes_litres, instead);
        Ok(report)
    }

    fn of(
        name: &str,
        bottle: &Bottle,
        dose: DoseBy,
        base: &Composition,
        lab: &Lab,
    ) -> Result<Self, ConcentrateError> {
        let rho = bottle.density.value.value();
        let dose_ml = dose.ml(rho);
        let litres = bottle.volume_ml / dose_ml;
        let salts_g: f64 = bottle.salts.iter().map(|(_, g)| g).sum();
        let at = &lab.room.aqueous;
        let closed = at.speciate(&bottle.per_kg, Carbon::Closed)?;
        let open = at.speciate(&bottle.per_kg, lab.carbon(State::Open))?;
        let carbon = closed.carbon_mmol_per_kg();
        let fridge = Stage::at(FRIDGE)?;
        let standing = vec![
            bottle.standing(&lab.room, State::Closed, Carbon::Closed)?,
            bottle.standing(&lab.room, State::Open, lab.carbon(State::Open))?,
            bottle.standing(&fridge, State::Closed, Carbon::Closed)?,
        ];
        // kg of the bottle's water that come with the dose of one litre
        let water_kg_per_l = bottle.water_kg / litres;
        let rest = base.to_owned() * (1.0 - dose_ml / 1000.0);
        let water = rest + bottle.per_kg * water_kg_per_l;
        let dropped = at.precipitate(&bottle.per_kg, Carbon::Closed, &MAY_DROP)?;
        let mut unshaken = bottle.per_kg;
        for mineral in MAY_DROP {
            unshaken = mineral.taken_from(&unshaken, dropped.mmol_per_kg(mineral));
        }
        let finished = at.speciate(&water, Carbon::Closed)?;
        let usual = |m: Measure| m.of(&water) / m.native_per_usual_unit();
        Ok(Self {
            name: name.to_owned(),
            salts: weighed(&bottle.salts),
            water_g: bottle.total_g - salts_g,
            total_g: bottle.total_g,
            density_g_per_ml: rho,
            density_is_published: bottle.density.basis == Basis::Published,
            volume_ml: bottle.volume_ml,
            dose_ml_per_l: dose_ml,
            dose_g_per_l: dose_ml * rho,
            makes_litres: litres,
            ionic_strength_mol_per_kg: closed.ionic_strength_mol_per_kg(),
            extrapolated: closed.validity() == crate::chemistry::Validity::Extrapolated,
            undissolved: bottle.undissolved(),
            co2_atm: closed.co2_atm(),
            carbon_lost_open_percent: if carbon > 0.0 {
                (100.0 * (1.0 - open.carbon_mmol_per_kg() / carbon)).max(0.0)
            } else {
                0.0
            },
            standing,
            clear: bottle.is_clear(lab)?,
            split: None,
            mg_per_l: Keyed::mg_per_l(&water),
            hardness_mg_per_l_caco3: usual(Measure::Hardness),
            alkalinity_mg_per_l_caco3: usual(Measure::Alkalinity),
            finished: lab.clouding(&water)?,
            finished_si_calcite: finished.si(crate::chemistry::Mineral::Calcite),
            finished_si_gypsum: finished.si(crate::chemistry::Mineral::Gypsum),
            unshaken_mg_per_l: Keyed::mg_per_l(&(rest + unshaken * water_kg_per_l)),
            with_stocks: Vec::new(),
            cost: None,
        })
    }
}

fn weighed(salts: &[(DrySalt, f64)]) -> Vec<WeighedSalt> {
    salts
        .iter()
        .map(|(s, g)| WeighedSalt {
            name: s.name.clone(),
            formula: s.salt.formula.to_string(),
            g: *g,
        })
        .collect()
}

/// The fewest bottles in which nothing drops, each made to the same mass and dosed alike.
fn split(
    per_l: &[(DrySalt, f64)],
    total_g: f64,
    dose: DoseBy,
    lab: &Lab,
    one_is_clear: bool,
) -> Result<Option<Vec<SplitBottle>>, ConcentrateError> {
    /// Our choice: more salts than this in one water do not occur; their divisions are too many.
    const MOST_SALTS: usize = 8;
    let bottle = |group: &[usize]| {
        let part: Vec<(DrySalt, f64)> =
            group.iter().filter_map(|i| per_l.get(*i).cloned()).collect();
        Bottle::made_up(&part, total_g, dose)
    };
    if per_l.len() > MOST_SALTS {
        return Ok(None);
    }
    let all: Vec<usize> = (0..per_l.len()).collect();
    let mut seen: Vec<(Vec<usize>, bool)> = vec![(all, one_is_clear)];
    let mut divisions = divisions(per_l.len());
    divisions.sort_by_key(Vec::len);
    for division in divisions {
        let mut clear = true;
        for group in &division {
            let known = seen.iter().find(|(g, _)| g == group).map(|(_, clear)| *clear);
            let this = if let Some(known) = known {
                known
            } else {
                let answer = bottle(group)?.is_clear(lab)?;
                seen.push((group.clone(), answer));
                answer
            };
            if !this {
                clear = false;
                break;
            }
        }
        if clear {
            let bottles = division.iter().map(|group| {
                let b = bottle(group)?;
                let salts_g: f64 = b.salts.iter().map(|(_, g)| g).sum();
                Ok(SplitBottle {
                    salts: weighed(&b.salts),
                    water_g: b.total_g - salts_g,
                    litres: b.volume_ml / dose.ml(b.density.value.value()),
                })
            });
            return bottles.collect::<Result<Vec<_>, ConcentrateError>>().map(Some);
        }
    }
    Ok(None)
}

/// Every way to divide so many things into groups.
fn divisions(n: usize) -> Vec<Vec<Vec<usize>>> {
    let mut all: Vec<Vec<Vec<usize>>> = vec![Vec::new()];
    for thing in 0..n {
        let mut next = Vec::new();
        for division in &all {
            for place in 0..=division.len() {
                let mut longer = division.clone();
                match longer.get_mut(place) {
                    Some(group) => group.push(thing),
                    None => longer.push(vec![thing]),
                }
                next.push(longer);
            }
        }
        all = next;
    }
    all
}

/// What the salts of a recipe go into.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Filled {
    /// Salts and water together, g.
    ToMass(f64),
    /// Salts into so many grams of water.
    IntoWater(f64),
}

/// A recipe read backwards, once for every reading of its names.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ReverseReport {
    /// One for each reading.
    pub readings: Vec<ConcentrateReport>,
}

impl ReverseReport {
    /// What a recipe gives in pure water. Each reading is a list of salts with their grams.
    ///
    /// # Errors
    /// As for a concentrate.
    pub fn new(
        readings: Vec<Vec<(DrySalt, f64)>>,
        filled: Filled,
        dose: DoseBy,
        lab: &Lab,
    ) -> Result<Self, ConcentrateError> {
        let one = |salts: Vec<(DrySalt, f64)>| {
            let salts_g: f64 = salts.iter().map(|(_, g)| g).sum();
            let total = match filled {
                Filled::ToMass(total) => total,
                Filled::IntoWater(water) => water + salts_g,
            };
            let names: Vec<String> =
                salts.iter().map(|(s, _)| s.salt.formula.to_string()).collect();
            let bottle = Bottle::new(salts.clone(), total)?;
            let pure = Composition::PURE_WATER;
            let mut report = ConcentrateReport::of(&names.join(" + "), &bottle, dose, &pure, lab)?;
            let per_l = scaled(&salts, 1.0 / report.makes_litres);
            report.split = split(&per_l, total, dose, lab, report.clear)?;
            Ok(report)
        };
        let readings = readings.into_iter().map(one).collect::<Result<_, ConcentrateError>>()?;
        Ok(Self { readings })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn things_are_divided_in_every_way() {
        // Bell numbers: 1, 2, 5, 15
        assert_eq!([1, 2, 3, 4].map(|n| divisions(n).len()), [1, 2, 5, 15]);
    }
}
