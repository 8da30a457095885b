//! A concentrate for a wanted water.

use serde::Serialize;

use crate::assessment::clouding::MAY_PRECIPITATE;
use crate::assessment::{Clouding, State, Unknowns};
use crate::chemistry::density::Basis;
use crate::chemistry::{Carbon, Composition, KeyedAmounts, Validity};
use crate::everyday::concentrate::advice::{Named, listed};
use crate::everyday::concentrate::bottle::{Bottle, MADE_AT};
use crate::everyday::concentrate::litre::{Plan, missed};
use crate::everyday::concentrate::{
    Advice, Blocked, Clarity, ConcentrateContext, ConcentrateError, DoseBy, DosedInto, Filled,
    LITRE_ML, MOST_OF_A_CONCENTRATE, Missed, NotConsidered, RestState, Split, SplitBottle,
    WeighedSalt, at_rest, split,
};
use crate::everyday::cost::salts_cost;
use crate::everyday::{EverydayCost, Wanted};
use crate::quantities::show;
use crate::quantities::uncertain::COVERAGE;
use crate::stock::{DrySalt, Note, Stock};
use crate::water::Measure;
use crate::water::base_water::DISTILLED;

/// What a stock gives instead of the concentrate, mL/L.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StockDose {
    /// The stock.
    pub stock: String,
    /// How much of it, mL per litre of finished water.
    pub ml_per_l: f64,
}

impl StockDose {
    /// What the stock of a bag gives in its place; `None` where the shelf has none.
    pub(crate) fn of(salt: &DrySalt, g_per_l: f64, stocks: &[Stock]) -> Option<Self> {
        let (_, ml_per_l) = salt.in_stock(g_per_l, stocks)?;
        Some(Self { stock: salt.name.clone(), ml_per_l })
    }
}

/// An all-in-one concentrate.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ConcentrateReport {
    /// Name of the water.
    pub name: String,
    /// What is to be said of the water itself.
    pub notes: Vec<String>,
    /// Bags that are taken to hold other than they say, and what to weigh if they do not.
    pub bags: Vec<String>,
    /// Goals that are not reached.
    pub missed: Vec<Missed>,
    /// The salts.
    pub salts: Vec<WeighedSalt>,
    /// How much water they get, in words.
    pub filled: String,
    /// Water to weigh, g.
    pub water_g: f64,
    /// Both, g.
    pub total_g: f64,
    /// Density at 20 °C, g/mL.
    pub density_g_per_ml: f64,
    /// Its expanded uncertainty (k = 2), g/mL.
    pub density_expanded_g_per_ml: f64,
    /// Whether the density rests on published coefficients alone.
    pub density_is_published: bool,
    /// Volume at 20 °C, mL.
    pub volume_ml: f64,
    /// Temperature of density and volume, °C.
    pub volume_celsius: f64,
    /// Dose, mL per litre of finished water.
    pub dose_ml_per_l: f64,
    /// Dose, g per litre of finished water.
    pub dose_g_per_l: f64,
    /// What it is dosed into.
    pub base: Vec<DosedInto>,
    /// Litres of finished water that it makes.
    pub makes_litres: f64,
    /// Ionic strength, mol per kg of water, before anything precipitates.
    pub ionic_strength_mol_per_kg: f64,
    /// Whether that is beyond what the activity model is backed for.
    pub extrapolated: bool,
    /// Pressure of carbon dioxide in the closed bottle, filled to the brim, in the room, once that
    /// has precipitated what can, atm.
    pub co2_atm: f64,
    /// The same before anything has precipitated.
    pub co2_fresh_atm: f64,
    /// Per cent of its carbon that leaves when it stands open, solids left out.
    pub carbon_lost_open_percent: f64,
    /// At rest: room closed, room open, fridge closed.
    pub standing: Vec<RestState>,
    /// Solids that are not looked at.
    pub not_considered: Vec<NotConsidered>,
    /// Whether one bottle stays clear in the room, closed and open.
    pub clear: bool,
    /// Label, method and cautions of the one bottle.
    pub advice: Advice,
    /// The fewest bottles in which nothing precipitates; none when no number of them will do.
    pub split: Option<Vec<SplitBottle>>,
    /// The salts that do not stay clear even in a bottle of their own.
    pub split_blocked: Vec<Blocked>,
    /// The finished water, mg/L.
    pub mg_per_l: KeyedAmounts,
    /// What is not known of it.
    #[serde(flatten)]
    pub unknowns: Unknowns,
    /// Hardness, mg/L as CaCO3; none where it was not measured.
    pub hardness_mg_per_l_caco3: Option<f64>,
    /// Alkalinity, mg/L as CaCO3; none where it was not measured.
    pub alkalinity_mg_per_l_caco3: Option<f64>,
    /// Whether the finished water stays clear.
    pub finished: Clouding,
    /// Calcite index of the finished water in the room, closed.
    pub finished_si_calcite: Option<f64>,
    /// Gypsum index of the finished water.
    pub finished_si_gypsum: Option<f64>,
    /// The water when the solids of the closed bottle are not shaken back, mg/L.
    pub unshaken_mg_per_l: KeyedAmounts,
    /// The same water with the stocks of the shelf; empty where none are.
    pub with_stocks: Vec<StockDose>,
    /// What it costs.
    pub cost: Option<EverydayCost>,
}

impl ConcentrateReport {
    /// A concentrate for a wanted water.
    ///
    /// # Errors
    /// When the planner has no answer, no water fits, or one bottle is beyond the densities or the
    /// chemistry; the error then says what would do.
    pub fn new(
        wanted: &Wanted,
        filled: Filled,
        dose: DoseBy,
        context: &ConcentrateContext<'_>,
    ) -> Result<Self, ConcentrateError> {
        let one = Plan::for_doses(wanted, 1.0, dose, filled, context.tools)?;
        let rest = one.rest();
        let named = Named { water: &wanted.target.name, part: None, rest: &rest };
        let in_steps = |bottle: Bottle| {
            let weighed = bottle.in_steps(filled, context.tools)?;
            let report = Self::of(named, &weighed, (filled, dose), &one.base, context)?;
            Ok((bottle, weighed, report))
        };
        let (bottle, weighed, mut report) = Bottle::made_up(&one.per_l, filled, dose)
            .and_then(in_steps)
            .map_err(|error| too_strong(error, named, &one.per_l, (filled, dose), context))?;
        report.notes.extend(not_weighed(&bottle, &weighed));
        // Each bottle's dose takes its room from the base water, so the salts follow the number
        // of bottles, and that follows the salts.
        let mut bottles = 1;
        loop {
            let plan = one.again(wanted, f64::from(bottles), dose, filled)?;
            report.divide(split::fewest(named, &plan.per_l, filled, dose, context)?);
            let found = report.split.as_ref().map_or(1, Vec::len);
            let found = u32::try_from(found).unwrap_or(1);
            if found <= bottles || no_room(found, report.dose_ml_per_l) {
                break;
            }
            bottles = found;
        }
        report.notes.splice(0..0, wanted.notes.iter().cloned());
        report.with_stocks = one
            .per_l
            .iter()
            .filter_map(|(salt, g)| StockDose::of(salt, *g, &wanted.stocks))
            .collect();
        report.base = one.waters;
        let water = weighed.finished(dose, &one.base);
        report.missed = missed(&wanted.target, &one.goals, &water, context.tools.weighing);
        report.cost = report.priced(&one.per_l, context);
        Ok(report)
    }

    /// Takes over a split.
    pub(crate) fn divide(&mut self, split: Split) {
        match split {
            Split::Bottles(bottles) => {
                let count = u32::try_from(bottles.len()).unwrap_or(u32::MAX);
                (self.split, self.split_blocked) = (Some(bottles), Vec::new());
                if no_room(count, self.dose_ml_per_l) {
                    self.split = None;
                    self.notes.push(format!(
                        "{count} bottles would stay clear, but {count} such doses fill more than a \
                         litre: take a smaller dose"
                    ));
                }
            }
            Split::Blocked(blocked) => (self.split, self.split_blocked) = (None, blocked),
        }
    }

    /// What a litre costs; the water of the concentrate itself is distilled.
    pub(crate) fn priced(
        &self,
        per_l: &[(DrySalt, f64)],
        context: &ConcentrateContext<'_>,
    ) -> Option<EverydayCost> {
        let mut waters: Vec<(String, f64)> =
            self.base.iter().map(|b| (b.water.clone(), b.litres_per_l)).collect();
        let own_l = self.water_g / self.makes_litres / 1000.0;
        match waters.iter_mut().find(|(name, _)| name == DISTILLED) {
            Some((_, share)) => *share += own_l,
            None => waters.push((DISTILLED.to_owned(), own_l)),
        }
        let weighed: Vec<(&DrySalt, f64)> = per_l.iter().map(|(s, g)| (s, *g)).collect();
        let salts = salts_cost(&weighed);
        EverydayCost::new(&salts, &waters, context.prices, self.makes_litres, context.ready_product)
    }

    pub(crate) fn of(
        named: Named<'_>,
        bottle: &Bottle,
        (filled, dose): (Filled, DoseBy),
        base: &Composition,
        context: &ConcentrateContext<'_>,
    ) -> Result<Self, ConcentrateError> {
        let rho = bottle.g_per_ml();
        let dose_ml = dose.ml(rho);
        if dose_ml > LITRE_ML {
            return Err(ConcentrateError::MoreThanALitre { dose_ml });
        }
        if bottle.volume_ml < dose_ml {
            return Err(ConcentrateError::LessThanADose { volume_ml: bottle.volume_ml, dose_ml });
        }
        let litres = bottle.litres(dose);
        let lab = context.lab;
        let at = &lab.room.aqueous;
        let closed = at.speciate(&bottle.per_kg, Carbon::Closed)?;
        let standing = at_rest::with_pressures(bottle, lab, context.catalogue)?;
        let of_state = |state: State| standing.iter().find(|s| s.state == state);
        let kept_open = of_state(State::Open).map_or(100.0, |s| s.carbon_kept_percent);
        // kg of the bottle's water that come with the dose of one litre
        let water_kg_per_l = bottle.water_kg / litres;
        let rest = base.to_owned() * (1.0 - dose_ml / LITRE_ML);
        let water = bottle.finished(dose, base);
        let dropped = at.precipitate(&bottle.per_kg, Carbon::Closed, &MAY_PRECIPITATE)?;
        let mut unshaken = bottle.per_kg;
        for mineral in MAY_PRECIPITATE {
            unshaken = mineral.taken_from(&unshaken, dropped.mmol_per_kg(mineral));
        }
        let finished = at.speciate(&water, Carbon::Closed)?;
        let usual = |m: Measure| m.measured_usual(&water);
        let indices = finished.saturation().measured(&water);
        Ok(Self {
            name: named.water.to_owned(),
            notes: counted_as_carbonated(bottle.salts.iter().map(|(bag, _)| bag)),
            bags: Vec::new(),
            missed: Vec::new(),
            salts: bottle.weighed(context.tools),
            filled: filled.text(),
            water_g: bottle.total_g - bottle.salts_g(),
            total_g: bottle.total_g,
            density_g_per_ml: rho,
            density_expanded_g_per_ml: COVERAGE * bottle.density.standard_uncertainty.value(),
            density_is_published: bottle.density.basis == Basis::Published,
            volume_ml: bottle.volume_ml,
            volume_celsius: MADE_AT.value(),
            dose_ml_per_l: dose_ml,
            dose_g_per_l: dose_ml * rho,
            base: Vec::new(),
            makes_litres: litres,
            ionic_strength_mol_per_kg: closed.ionic_strength_mol_per_kg(),
            extrapolated: closed.validity() == Validity::Extrapolated,
            co2_atm: of_state(State::Closed).map_or(0.0, |s| s.co2_atm),
            co2_fresh_atm: closed.co2_atm(),
            carbon_lost_open_percent: (100.0 - kept_open).max(0.0),
            clear: Clarity::of(&standing) == Clarity::Clear,
            advice: Advice::new(bottle, &standing, named, (filled, dose), context),
            not_considered: at_rest::not_considered(bottle, &standing),
            standing,
            split: None,
            split_blocked: Vec::new(),
            mg_per_l: KeyedAmounts::mg_per_l(&water),
            unknowns: Unknowns::of(&water),
            hardness_mg_per_l_caco3: usual(Measure::Hardness),
            alkalinity_mg_per_l_caco3: usual(Measure::Alkalinity),
            finished: lab.clouding(&water)?,
            finished_si_calcite: indices.calcite,
            finished_si_gypsum: indices.gypsum,
            unshaken_mg_per_l: KeyedAmounts::mg_per_l(&(rest + unshaken * water_kg_per_l)),
            with_stocks: Vec::new(),
            cost: None,
        })
    }
}

/// Salts of which a bottle has too little for the balance to show.
fn not_weighed(planned: &Bottle, weighed: &Bottle) -> Vec<String> {
    let is_in = |name: &str| weighed.salts.iter().any(|(salt, _)| salt.name == name);
    let left_out = planned.salts.iter().filter(|(salt, _)| !is_in(&salt.name));
    left_out
        .map(|(salt, g)| {
            format!(
                "{}: {} g would be needed, less than the balance shows, so none is weighed: make more \
                 at once",
                salt.name,
                show::three_figures(*g)
            )
        })
        .collect()
}

/// That salts which need carbon dioxide to dissolve are counted as if they had it.
pub(crate) fn counted_as_carbonated<'a>(bags: impl Iterator<Item = &'a DrySalt>) -> Vec<String> {
    let needing = bags.filter(|bag| bag.salt.carbonation_mol_co2 > 0.0);
    needing
        .map(|bag| {
            let note = Note::NeedsCarbonation {
                stock: bag.name.clone(),
                formula: bag.salt.formula.to_string(),
                mol_co2: bag.salt.carbonation_mol_co2,
            };
            note.to_string()
        })
        .collect()
}

/// Whether so many doses leave no room in a litre.
fn no_room(doses: u32, dose_ml: f64) -> bool {
    f64::from(doses) * dose_ml >= LITRE_ML
}

/// The options of a larger dose, and of a bottle that holds it.
fn larger_dose(per_l: &[(DrySalt, f64)], filled: Filled, dose: DoseBy) -> Option<String> {
    /// Our choice: what a balance shows in steps makes a bottle smaller or larger than planned, but not
    /// by half.
    const DOSES: f64 = 2.0;
    let doses = Bottle::made_up(per_l, filled, dose).ok()?.litres(dose);
    if doses >= DOSES {
        return Some(format!("--dose \"{}\" or more", dose.text()));
    }
    let total = filled.times(show::up_to_two_figures(DOSES / doses));
    Some(format!("--dose \"{}\" with --total \"{}\"", dose.text(), total.amount()))
}

/// What would do where one bottle is too strong to be computed: a larger dose, or more bottles.
fn too_strong(
    error: ConcentrateError,
    named: Named<'_>,
    per_l: &[(DrySalt, f64)],
    (filled, dose): (Filled, DoseBy),
    context: &ConcentrateContext<'_>,
) -> ConcentrateError {
    if !error.is_too_strong() {
        return error;
    }
    let standing = |factor: f64| {
        let bottle = Bottle::made_up(per_l, filled, dose.times(factor)).ok()?;
        at_rest::all(&bottle, context.lab, context.catalogue).ok()
    };
    let most = match dose {
        DoseBy::Volume(amount) | DoseBy::Mass(amount) => MOST_OF_A_CONCENTRATE / amount,
    };
    let mut ways = Vec::new();
    if let Some(factor) = split::times_weaker_best(most, standing).filter(|found| *found <= most) {
        ways.extend(larger_dose(per_l, filled, dose.times(factor)));
    }
    if let Ok(Split::Bottles(bottles)) = split::fewest(named, per_l, filled, dose, context)
        && bottles.len() > 1
    {
        let each: Vec<String> = bottles.iter().map(|b| listed(&b.salts)).collect();
        ways.push(format!(
            "{} bottles, {} and the same dose of each: {}",
            each.len(),
            filled.text(),
            each.join("; ")
        ));
    }
    let way_out = if ways.is_empty() { "a weaker water".to_owned() } else { ways.join("; or ") };
    ConcentrateError::TooStrong { source: Box::new(error), way_out }
}
