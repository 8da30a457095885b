//! What a diluted stock should show, and what a reading says about the label.

use serde::Serialize;

use crate::numerics::least_squares::best;
use crate::quantities::uncertain::{COVERAGE, Input, Uncertain};
use crate::quantities::{Celsius, Fraction, show};
use crate::stock::budget::MATTERS;
use crate::stock::explain::{ReadStrength, other_share, remade};
use crate::stock::reading::Reading;
use crate::stock::stock_report::bottle_notes;
use crate::stock::strength_line::StrengthLine;
use crate::stock::verify::{
    Dilution, Expected, MeterInUse, VerifyError, expected, infer, standard_of_the_tools,
};
use crate::stock::{Bottle, Catalogue, Note, Stock, Tools, explain};

/// A verification, or how to make one.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct VerifyReport {
    /// Name of the stock.
    pub stock: String,
    /// Number of the batch; nothing when none was recorded.
    pub batch: Option<u32>,
    /// The day on which the strength that is tested was read; nothing where it is the label's.
    pub verified_on: Option<String>,
    /// Stock taken, mL.
    pub taken_ml: f64,
    /// Volume of the dilution, mL.
    pub to_ml: f64,
    /// What the dilution should show if the label is right.
    pub expected: Expected,
    /// What was read and what follows.
    pub found: Option<FoundLine>,
    /// What is to be known of the label.
    pub notes: Vec<Note>,
}

/// What readings say.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FoundLine {
    /// Strength, meq/mL.
    pub meq_per_ml: f64,
    /// Its expanded uncertainty.
    pub meq_per_ml_expanded: f64,
    /// Where that comes from, largest first.
    pub sources: Vec<SourceLine>,
    /// Strength, g/kg.
    pub g_per_kg: f64,
    /// Its standard uncertainty.
    pub g_per_kg_standard: f64,
    /// Strength of the label, meq/mL.
    pub label_meq_per_ml: f64,
    /// Its expanded uncertainty.
    pub label_meq_per_ml_expanded: f64,
    /// Difference from the label, %.
    pub off_by_percent: f64,
    /// Difference that the uncertainties together leave open, %.
    pub open_percent: f64,
    /// Whether the readings are accurate enough to test a label, and do not contradict each other.
    pub can_judge: bool,
    /// Whether the label can be believed.
    pub label_believed: bool,
    /// Whether the readings agree among themselves.
    pub readings_agree: bool,
    /// What would explain the difference.
    pub explanations: Vec<String>,
    /// Strength to record, g/kg: that of the readings, and where the label can be believed the mean of
    /// both, each by its uncertainty.
    pub to_record_g_per_kg: f64,
    /// Its standard uncertainty.
    pub to_record_g_per_kg_standard: f64,
    /// Day on which the batch took the strength over.
    pub recorded_on: Option<String>,
}

/// A source of the uncertainty of a reading.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SourceLine {
    /// What it is.
    pub source: String,
    /// Share in the variance, %.
    pub percent: f64,
}

fn sources(result: &Uncertain, inputs: &[Input]) -> Vec<SourceLine> {
    let line = |(at, share): (usize, f64)| {
        Some(SourceLine { source: inputs.get(at)?.name.clone(), percent: 100.0 * share })
    };
    result.budget(MATTERS).into_iter().filter_map(line).collect()
}

/// Readings whose expanded uncertainty is a larger part of the strength than this judge nothing:
/// our choice.
const VAGUE: f64 = 0.25;

/// What makes a strength another one after it was read.
const SINCE_VERIFIED: [&str; 3] = [
    "one of the two readings is off: repeat it",
    "water has evaporated from the bottle, or was added to it",
    "something has precipitated in it, or it was not mixed",
];

impl VerifyReport {
    /// Works out what a dilution should show, and with readings what the strength is.
    ///
    /// # Errors
    /// When a reading does not fit the salt.
    pub fn new(
        stock: &Stock,
        bottle: &Bottle,
        catalogue: &Catalogue,
        tools: &Tools,
        dilution: Dilution,
        meter: &MeterInUse,
        readings: &[Reading],
    ) -> Result<Self, VerifyError> {
        let strength = StrengthLine::new(stock, bottle.verified(), tools);
        let relative = strength.meq_per_ml_expanded_percent / 100.0 / COVERAGE;
        let verified = bottle.batch.as_ref().and_then(|batch| batch.verified.as_ref());
        let verified_on = verified.map(|verified| verified.day.to_string());
        let found = if readings.is_empty() {
            None
        } else {
            let by_mass = strength.g_per_kg_expanded_percent / 100.0 / COVERAGE;
            let tested = Tested {
                stock,
                storage: bottle.storage,
                by_volume: relative,
                by_mass,
                was_read: verified_on.is_some(),
            };
            let mut found = found(tested, catalogue, tools, dilution, meter, readings)?;
            // Slips of making it were in the strength that was read already.
            if verified_on.is_some() && !found.explanations.is_empty() {
                found.explanations = SINCE_VERIFIED.map(str::to_owned).to_vec();
            }
            Some(found)
        };
        Ok(Self {
            stock: stock.name().to_owned(),
            batch: bottle.batch.as_ref().map(|b| b.number),
            verified_on,
            taken_ml: dilution.taken.value(),
            to_ml: dilution.to.value(),
            expected: expected(stock, Fraction::new(relative), dilution, meter, tools),
            found,
            notes: bottle_notes(stock, bottle, &strength),
        })
    }
}

fn found(
    tested: Tested<'_>,
    catalogue: &Catalogue,
    tools: &Tools,
    dilution: Dilution,
    meter: &MeterInUse,
    readings: &[Reading],
) -> Result<FoundLine, VerifyError> {
    let Tested { stock, by_volume: label_relative, by_mass, .. } = tested;
    let (best, inputs) = infer(stock, dilution, meter, readings, tools)?;
    let (value, standard) = (best.result.value, best.result.standard());
    // Of what an earlier reading may have in common with these: meter, dispenser, flask, model, titrant.
    let common = if tested.was_read { standard_of_the_tools(&best.result) / value } else { 0.0 };
    let label = stock.meq_per_ml().value();
    let factor = value / label;
    let relative = standard / value;
    let open = COVERAGE * (relative * relative + label_relative * label_relative).sqrt();
    let believed = (factor - 1.0).abs() <= open * factor.max(1.0);
    let g_per_kg = g_per_kg(stock, factor);
    let explanations = if believed {
        Vec::new()
    } else {
        let (taken, storage) = (dilution.taken, tested.storage);
        let read = ReadStrength { factor, within: open, taken, storage };
        explain::explanations(stock, &read, catalogue).iter().map(ToString::to_string).collect()
    };
    // Two results for one strength that agree count each by its weight (inverse of its variance).
    let read = (g_per_kg, g_per_kg * relative);
    let (to_record, to_record_standard) = if believed {
        weighted(read, (stock.g_per_kg(), stock.g_per_kg() * by_mass), common)
    } else {
        read
    };
    Ok(FoundLine {
        to_record_g_per_kg: to_record,
        to_record_g_per_kg_standard: to_record_standard,
        meq_per_ml: value,
        meq_per_ml_expanded: COVERAGE * standard,
        sources: sources(&best.result, &inputs),
        g_per_kg,
        g_per_kg_standard: g_per_kg * relative,
        label_meq_per_ml: label,
        label_meq_per_ml_expanded: COVERAGE * label_relative * label,
        off_by_percent: show::percent_off(factor),
        open_percent: 100.0 * open,
        can_judge: best.agrees() && relative <= VAGUE / COVERAGE,
        label_believed: believed,
        readings_agree: best.agrees(),
        explanations,
        recorded_on: None,
    })
}

/// The strength that is tested: that of a label, or one that was verified.
#[derive(Debug, Clone, Copy)]
struct Tested<'a> {
    stock: &'a Stock,
    storage: Celsius,
    /// Relative standard uncertainty of the strength by volume.
    by_volume: f64,
    /// The same by mass.
    by_mass: f64,
    /// Whether it is a verified strength.
    was_read: bool,
}

/// The best value of two, each with its standard uncertainty, of which `common` (relative) may be one
/// error of both: which tools an earlier reading was made with is not kept, so that they count as the same
/// and repeating a reading makes its ± no smaller than they allow. The other where nothing of its own is
/// left of that one; else the first where one of them is exact.
fn weighted(one: (f64, f64), other: (f64, f64), common: f64) -> (f64, f64) {
    let common = (common * one.0).min(one.1).min(other.1);
    let own = |standard: f64| (standard * standard - common * common).max(0.0).sqrt();
    if common > 0.0 && own(other.1) <= 0.0 {
        return other;
    }
    let estimates = [
        Uncertain { value: one.0, parts: vec![common, own(one.1), 0.0] },
        Uncertain { value: other.0, parts: vec![common, 0.0, own(other.1)] },
    ];
    best(&estimates).map_or(one, |best| (best.result.value, best.result.standard()))
}

/// Strength by mass of a stock whose strength by volume is a multiple of the label's: density
/// rises with strength, so the multiple by mass is a little smaller. Beyond the density data the
/// two multiples are taken as one.
fn g_per_kg(stock: &Stock, factor: f64) -> f64 {
    remade(stock, factor, other_share)
        .map_or(factor * stock.g_per_kg(), |(found, _)| found.g_per_kg())
}
