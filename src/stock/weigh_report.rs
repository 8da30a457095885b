//! What to weigh for a stock, and what a batch that was weighed really is.

use serde::Serialize;
use thiserror::Error;

use crate::quantities::uncertain::COVERAGE;
use crate::quantities::{Grams, Millilitres, show};
use crate::stock::strength_line::StrengthLine;
use crate::stock::{
    AgainstFile, Balance, Batch, Bottle, Making, Note, Recipe, Stock, StockError, Tools, keeping,
    label,
};
use crate::text::command_line::typed;

/// How much of a stock to make.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Amount {
    /// By mass.
    Mass(Grams),
    /// By volume.
    Volume(Millilitres),
}

impl Amount {
    /// As much as the file of a stock makes.
    #[must_use]
    pub fn as_written(written: &Stock) -> Self {
        match written.recipe().making {
            Making::ToTotalMass { total, .. } => Self::Mass(total),
            Making::IntoWater { salt, water } => Self::Mass(salt + water),
            Making::ToVolume { volume, .. } => Self::Volume(volume),
        }
    }
}

/// What to weigh for one bottle of a stock, in which order, with a label.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WeighReport {
    /// Name of the stock.
    pub stock: String,
    /// Full name of its salt.
    pub salt: String,
    /// Formula of its salt.
    pub formula: String,
    /// Salt as it comes from the bag, rounded to the balance.
    pub salt_g: f64,
    /// Pure salt in it.
    pub pure_salt_g: f64,
    /// Water, so that the strength is that of the stock's file.
    pub water_g: f64,
    /// Both together.
    pub total_g: f64,
    /// Expected volume.
    pub volume_ml: f64,
    /// Temperature of the volume.
    pub celsius: f64,
    /// Expected density.
    pub density_g_per_ml: f64,
    /// Strength of the stock.
    pub strength: StrengthLine,
    /// What is in the bottle now, where it is not what the file means.
    pub in_the_bottle: Option<AgainstFile>,
    /// How accurate the weighing of the salt is.
    pub weighing: WeighingLine,
    /// What is to be known of the strength.
    pub notes: Vec<Note>,
    /// What to do, in order.
    pub steps: Vec<String>,
    /// What to mind with this salt.
    pub cautions: Vec<String>,
    /// Lines of the label for the bottle.
    pub label: Vec<String>,
}

/// How well a mass of salt can be weighed.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct WeighingLine {
    /// Step of the balance, g.
    pub resolution_g: f64,
    /// Expanded uncertainty of the salt, % of it.
    pub expanded_percent: f64,
    /// The limit that the bench sets, %.
    pub limit_percent: f64,
    /// Whether it is kept.
    pub sensible: bool,
    /// The smallest salt that keeps it, g.
    pub least_salt_g: f64,
    /// The smallest amount of stock that keeps it, mL.
    pub least_stock_ml: f64,
}

/// Why there is nothing to weigh.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum WeighError {
    /// Less than one step of the balance.
    #[error("for so little, `{stock}` needs {salt_g:.4} g of salt, less than the balance can show")]
    TooLittle {
        /// Name of the stock.
        stock: String,
        /// The salt, g.
        salt_g: f64,
        /// The smallest sensible amount, mL.
        least_ml: f64,
    },
    /// More than the large balance carries.
    #[error("`{stock}` would weigh {total_g:.0} g, and the balance carries {most_g:.0} g")]
    TooHeavy {
        /// Name of the stock.
        stock: String,
        /// Salt and water, g.
        total_g: f64,
        /// The most that the large balance carries, g.
        most_g: f64,
    },
    /// The amounts make no stock.
    #[error(transparent)]
    Stock(#[from] StockError),
}

impl WeighReport {
    /// What to weigh for an amount of a stock as its file means it; `in_bottle` is what is there now.
    ///
    /// # Errors
    /// When it is less than the balance can show or more than the large balance carries.
    pub fn new(
        bottle: &Bottle,
        in_bottle: &Stock,
        amount: Amount,
        tools: &Tools,
    ) -> Result<Self, WeighError> {
        let written = &bottle.written;
        let recipe = written.recipe();
        let density = written.density().value;
        let total = match amount {
            Amount::Mass(mass) => mass,
            Amount::Volume(volume) => density * volume,
        };
        let most = tools.large_balance.most;
        if total > most {
            return Err(WeighError::TooHeavy {
                stock: written.name().to_owned(),
                total_g: total.value(),
                most_g: most.value(),
            });
        }
        let share = recipe.lot.compound_share();
        let wanted = total.value() * written.strength().value() / share;
        let balance = tools.weighs(Grams::new(wanted));
        let step = balance.resolution.value();
        let salt = (wanted / step).round() * step;
        let least = balance.least_for(tools.weighing).value();
        let ml_per_g = share / (written.strength().value() * density.value());
        if salt <= 0.0 {
            return Err(WeighError::TooLittle {
                stock: written.name().to_owned(),
                salt_g: wanted,
                least_ml: least * ml_per_g,
            });
        }
        let total = salt * share / written.strength().value();
        let (weighed, whole) = (Grams::new(salt), Grams::new(total));
        let making = match recipe.making {
            Making::ToVolume { .. } => Making::ToVolume { salt: weighed, volume: whole / density },
            _ => Making::ToTotalMass { salt: weighed, total: whole },
        };
        let made = Stock::new(Recipe { making, ..recipe.clone() })?;
        let expanded = 100.0 * COVERAGE * balance.standard().value() / salt;
        let limit = 100.0 * tools.weighing.value();
        let strength = StrengthLine::new(&made, None, tools);
        let mut report = Self {
            stock: written.name().to_owned(),
            salt: recipe.salt.name.clone(),
            formula: recipe.salt.formula.to_string(),
            salt_g: salt,
            pure_salt_g: salt * share,
            water_g: total - salt,
            total_g: total,
            volume_ml: total / density.value(),
            celsius: recipe.temperature.value(),
            density_g_per_ml: density.value(),
            weighing: WeighingLine {
                resolution_g: step,
                expanded_percent: expanded,
                limit_percent: limit,
                sensible: !show::is_above_as_shown(expanded, limit),
                least_salt_g: least,
                least_stock_ml: least * ml_per_g,
            },
            in_the_bottle: bottle.against_file(in_bottle),
            notes: strength.vague(written.name()).into_iter().collect(),
            strength,
            steps: Vec::new(),
            cautions: keeping::cautions(written),
            label: Vec::new(),
        };
        report.steps = steps(&report, written, tools);
        report.label = label::lines(&made, &report.strength, bottle, label::Filled::ToBeMade);
        Ok(report)
    }
}

/// The water that the salt is first dissolved in. Our choice: enough to dissolve all of it and
/// little enough to leave room for reaching the total exactly.
const FIRST_WATER: f64 = 0.8;

fn steps(report: &WeighReport, written: &Stock, tools: &Tools) -> Vec<String> {
    let recipe = written.recipe();
    let named = |balance: Balance| {
        if balance == tools.balance { "balance" } else { "large balance" }
    };
    let carries_salt = named(tools.weighs(Grams::new(report.salt_g)));
    let whole = tools.weighs_filled(Grams::new(report.total_g));
    let carries_whole = named(whole);
    let command = format!("waterflight weighed {} --salt \"… g\"", typed(&report.stock));
    let mut steps = vec![
        "Read the bag: is it exactly this salt, with this hydrate water? If not, stop.".to_owned(),
        format!("Put the empty bottle on the {carries_whole} and set it to zero."),
        format!("Pour in about {:.0} g of cold distilled water.", FIRST_WATER * report.water_g),
        format!(
            "Weigh {} g of {} in a dry cup on the {carries_salt}, and note what it shows.",
            show::in_steps_of(report.weighing.resolution_g, report.salt_g),
            report.salt
        ),
    ];
    let carbonated = recipe.salt.carbonation_mol_co2 > 0.0;
    let until = if carbonated { "swirl; it stays cloudy" } else { "swirl until all is clear" };
    steps.push(format!(
        "Add the salt to the water in portions, rinse the cup with a little of the water, and \
         {until}."
    ));
    steps.push(match recipe.making {
        Making::ToVolume { .. } => format!(
            "At {:.0} °C, fill with distilled water to {:.1} mL (the whole then weighs {:.1} g).",
            report.celsius, report.volume_ml, report.total_g
        ),
        _ => format!(
            "Fill with distilled water until the {carries_whole} shows {} g.",
            show::in_steps_of(whole.resolution.value(), report.total_g)
        ),
    });
    if carbonated {
        steps.push(format!(
            "Put it under carbon dioxide and shake until it is clear: it takes up {:.2} g of CO2 \
             per litre, and stays dissolved only as long as that stays in.",
            keeping::carbon_dioxide_taken_up_g_per_l(written)
        ));
    }
    steps.push("Close, turn over ten times, label.".to_owned());
    let rest = match recipe.making {
        Making::ToVolume { .. } => "--volume \"… mL\"",
        _ => "--total \"… g\"",
    };
    steps.push(format!("Record what was really weighed: `{command} {rest}`"));
    steps
}

/// A batch that was recorded.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WeighedReport {
    /// Name of the stock.
    pub stock: String,
    /// Number of the batch.
    pub batch: u32,
    /// The day it was made.
    pub day: String,
    /// Its strength.
    pub strength: StrengthLine,
    /// Its strength against that of the stock's file, %.
    pub off_by_percent: f64,
    /// Its mass.
    pub mass_g: f64,
    /// Its volume.
    pub volume_ml: f64,
    /// The strength that was read of it, which counts then.
    pub verified: Option<VerifiedLine>,
    /// What is to be known of the strength.
    pub notes: Vec<Note>,
}

/// A strength that was read of a batch.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct VerifiedLine {
    /// The day of the reading.
    pub day: String,
    /// The strength.
    pub g_per_kg: f64,
}

impl WeighedReport {
    /// Describes what was weighed of a batch; `made` is its stock by that.
    #[must_use]
    pub fn new(bottle: &Bottle, batch: &Batch, made: &Stock, tools: &Tools) -> Self {
        let strength = StrengthLine::new(made, None, tools);
        Self {
            stock: made.name().to_owned(),
            batch: batch.number,
            day: batch.day.to_string(),
            notes: strength.vague(made.name()).into_iter().collect(),
            strength,
            off_by_percent: show::percent_off(made.g_per_kg() / bottle.written.g_per_kg()),
            mass_g: batch.mass(made).value(),
            volume_ml: batch.volume(made).value(),
            verified: batch
                .verified
                .map(|v| VerifiedLine { day: v.day.to_string(), g_per_kg: v.g_per_kg }),
        }
    }
}
