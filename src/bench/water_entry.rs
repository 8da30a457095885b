//! A base water as written: its analysis.

use serde::Deserialize;

use crate::bench::conductivity_entry::conductivity_of;
use crate::bench::trade_answer::{AskedIn, answer};
use crate::bench::{explain, kept, place};
use crate::files::{Diagnostic, Fields, Mistakes, SourceText, Written};
use crate::quantities::spelling::bare_number;
use crate::quantities::{Dimension, Fraction};
use crate::stock::Price;
use crate::water::{Amount, Analysis, AnalysisError, BaseWater, Measure, NotListed};

/// A water file as written.
#[derive(Debug, Deserialize)]
#[serde(rename = "Water", deny_unknown_fields)]
pub(super) struct WaterEntry {
    pub(super) name: Written,
    analysis: Fields,
    #[serde(default)]
    assumed: Fields,
    #[serde(default)]
    not_listed: NotListedEntry,
    #[serde(alias = "pH", alias = "PH")]
    ph: Option<Written>,
    conductivity: Option<Written>,
    price: Option<Written>,
    within: Option<Written>,
}

/// What holds for what the analysis does not list.
#[derive(Debug, Default, Deserialize)]
enum NotListedEntry {
    #[default]
    NotMeasured,
    Zero,
}

impl WaterEntry {
    /// The water as meant, with its price per millilitre.
    ///
    /// # Errors
    /// All that is wrong with the file; an impossible analysis only where all else can be read.
    pub(super) fn into_water(
        self,
        source: &SourceText,
    ) -> Result<(BaseWater, Option<Price>), Mistakes> {
        let mut wrong = Mistakes::default();
        let name = wrong.take(place::name(source, &self.name));
        let mut amounts = listed(source, &self.analysis, &mut wrong, |amount| amount);
        // An assumption is one whatever else it says.
        amounts.extend(listed(source, &self.assumed, &mut wrong, |amount| match amount {
            Amount::Measured(value) | Amount::Assumed(value) => Amount::Assumed(value),
            Amount::Below(limit) => Amount::Assumed(0.5 * limit),
        }));
        let ph = wrong.take(self.ph.as_ref().map(|leaf| ph_of(source, leaf)).transpose());
        let within = self.within.as_ref().map(|leaf| within(source, leaf)).transpose();
        let within = wrong.take(within);
        let conductivity = self.conductivity.as_ref();
        let us_per_cm = conductivity.map(|leaf| conductivity_of(source, leaf)).transpose();
        let us_per_cm = wrong.take(us_per_cm);
        let price = self.price.as_ref();
        let price = price.map(|leaf| kept::price(source, leaf, Dimension::Volume)).transpose();
        let price = wrong.take(price);
        let (Some(name), Some(ph), Some(us_per_cm), Some(price)) = (name, ph, us_per_cm, price)
        else {
            return Err(wrong);
        };
        if !wrong.is_empty() {
            return Err(wrong);
        }
        let analysis = Analysis {
            not_listed: match self.not_listed {
                NotListedEntry::NotMeasured => NotListed::NotMeasured,
                NotListedEntry::Zero => NotListed::Zero,
            },
            ph,
            us_per_cm,
            within: within.flatten().unwrap_or(Fraction::new(0.0)),
            ..Analysis::new(name, amounts)
        };
        let water = analysis
            .water()
            .map_err(|e| place::mistake(source, self.culprit(&e), &e, explain::analysis(&e)))?;
        Ok((water, price))
    }

    /// The key that an impossible analysis is best pointed out at.
    fn culprit(&self, error: &AnalysisError) -> &Written {
        let measure = match error {
            AnalysisError::TooAcid { .. }
            | AnalysisError::TooAlkaline { .. }
            | AnalysisError::NotBicarbonate { .. } => {
                return self.ph.as_ref().unwrap_or(&self.name);
            }
            AnalysisError::Chemistry(_) => return &self.name,
            AnalysisError::HardnessAlone | AnalysisError::HardnessDisagrees { .. } => {
                Measure::Hardness
            }
            AnalysisError::PartExceedsHardness { measure, .. }
            | AnalysisError::LimitOfSum { measure }
            | AnalysisError::AssumedSum { measure }
            | AnalysisError::AssumedToo { measure }
            | AnalysisError::Twice { second: measure, .. } => *measure,
        };
        // Of a measure that stands in both lists the assumption is the one to go.
        let keys = || self.assumed.0.iter().chain(&self.analysis.0).map(|(key, _)| key);
        keys().find(|key| Measure::from_key(key.text()) == Some(measure)).unwrap_or(&self.name)
    }
}

/// One amount of a list; nothing where it says that it was not measured.
fn amount_of(
    source: &SourceText,
    key: &Written,
    leaf: &Written,
) -> Result<(Measure, Option<Amount>), Diagnostic> {
    let measure = measure_of(source, key, (leaf.text(), AskedIn::Analysis))?;
    let amount = Amount::parse(measure, leaf.text())
        .map_err(|e| place::mistake(source, leaf, &e, explain::measure(measure, &e)))?;
    Ok((measure, amount))
}

/// The amounts of a list; what it calls not measured is left out.
fn listed(
    source: &SourceText,
    fields: &Fields,
    wrong: &mut Mistakes,
    meant: impl Fn(Amount) -> Amount,
) -> Vec<(Measure, Amount)> {
    let mut seen: Vec<Measure> = Vec::new();
    let mut amounts = Vec::new();
    for (key, leaf) in &fields.0 {
        let read = amount_of(source, key, leaf).and_then(|(measure, amount)| {
            if seen.contains(&measure) {
                Err(given_twice(source, key))
            } else {
                Ok((measure, amount))
            }
        });
        if let Some((measure, amount)) = wrong.take(read) {
            seen.push(measure);
            amounts.extend(amount.map(|amount| (measure, meant(amount))));
        }
    }
    amounts
}

/// What is said of a water beside its analysis.
const BESIDE_ANALYSIS: [&str; 4] = ["ph", "conductivity", "price", "not_listed"];

/// The measure that a key names, with what was typed behind it.
pub(super) fn measure_of(
    source: &SourceText,
    key: &Written,
    (typed, asked_in): (&str, AskedIn),
) -> Result<Measure, Diagnostic> {
    Measure::from_key(key.text()).ok_or_else(|| {
        let diagnostic =
            place::wrong(source, key, format!("`{}` is not a measure known here", key.text()))
                .expected(Measure::KEYS.join(", "));
        if let Some(said) = answer(key.text(), typed, asked_in) {
            // A conductivity is none of the amounts of an analysis.
            let stands = match asked_in {
                AskedIn::Analysis if said.contains("`conductivity: ") => {
                    "; a conductivity stands beside `analysis: ( … )`, not inside"
                }
                _ => "",
            };
            return diagnostic.remedy(said + stands);
        }
        let key = key.text();
        if asked_in == AskedIn::Goal
            && ["ph", "conductivity"].contains(&key.to_lowercase().as_str())
        {
            return diagnostic.remedy("leave it out: it follows from the water and is no goal");
        }
        if BESIDE_ANALYSIS.contains(&key.to_lowercase().as_str()) {
            return diagnostic
                .remedy("close `analysis: (` with a `)` before it: it stands beside, not inside");
        }
        diagnostic.remedy("use one of the measures above").near(key, Measure::KEYS)
    })
}

/// A measure that stands twice in one list.
pub(super) fn given_twice(source: &SourceText, key: &Written) -> Diagnostic {
    place::at(source, key, format!("`{}` is given twice", key.text()))
        .found(format!("a second `{}`", key.text()))
        .remedy("keep one of the two; `between … and …` sets two limits at once")
}

/// How far an analysis may be off is written like, for messages.
pub(super) const WITHIN_IS: &str = "a part of each amount, from 0 % to below 100 %, as in \"5 %\"";

/// Whether the amounts of an analysis may be off by so large a part.
pub(super) fn can_be_within(share: f64) -> bool {
    (0.0..1.0).contains(&share)
}

/// How far the amounts of an analysis may be off.
fn within(source: &SourceText, leaf: &Written) -> Result<Fraction, Diagnostic> {
    let share = place::amount(source, leaf, &[Dimension::Percent])?;
    if can_be_within(share) {
        return Ok(Fraction::new(share));
    }
    Err(place::wrong(source, leaf, "an analysis is not that far off").expected(WITHIN_IS))
}

fn ph_of(source: &SourceText, leaf: &Written) -> Result<f64, Diagnostic> {
    bare_number(leaf.text()).ok().filter(|ph| (0.0..=14.0).contains(ph)).ok_or_else(|| {
        place::wrong(source, leaf, "this is not a pH")
            .expected("a number from 0 to 14, without a unit")
    })
}
