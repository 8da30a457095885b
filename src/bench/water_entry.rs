//! A base water as written: its analysis.

use serde::Deserialize;

use crate::bench::{explain, kept, place};
use crate::files::{Diagnostic, Fault, Fields, SourceText, Written, read};
use crate::quantities::{Dimension, Fraction};
use crate::shelf::Price;
use crate::waters::{AnalysisError, BaseWater, Measure};

/// A water file as written.
#[derive(Debug, Deserialize)]
#[serde(rename = "Water", deny_unknown_fields)]
pub(super) struct WaterEntry {
    name: Written,
    analysis: Fields,
    ph: Option<Written>,
    price: Option<Written>,
    within: Option<Written>,
}

/// One file of the folder `waters`.
pub(super) fn one(source: &SourceText) -> Result<WaterEntry, Diagnostic> {
    read::parse(source)
}

impl WaterEntry {
    /// Where its name stands.
    pub(super) fn name_leaf(&self) -> &Written {
        &self.name
    }

    /// Its price per millilitre.
    pub(super) fn price(&self, source: &SourceText) -> Result<Option<Price>, Diagnostic> {
        let price = self.price.as_ref();
        price.map(|leaf| kept::price(source, leaf, Dimension::Volume)).transpose()
    }

    /// The water as meant.
    pub(super) fn into_water(self, source: &SourceText) -> Result<BaseWater, Diagnostic> {
        let name = place::name(source, &self.name)?;
        let mut amounts: Vec<(Measure, f64)> = Vec::new();
        for (key, leaf) in &self.analysis.0 {
            let measure = measure_of(source, key)?;
            if amounts.iter().any(|(m, _)| *m == measure) {
                return Err(given_twice(source, key));
            }
            let (native, _) = measure
                .parse(leaf.text())
                .map_err(|e| place::mistake(source, leaf, &e, explain::measure(measure, &e)))?;
            amounts.push((measure, native));
        }
        let ph = self.ph.as_ref().map(|leaf| ph_of(source, leaf)).transpose()?;
        let within = self.within.as_ref().map(|leaf| within(source, leaf)).transpose()?;
        let water = BaseWater::from_analysis(name, &amounts, ph)
            .map_err(|e| place::mistake(source, self.culprit(&e), &e, explain::analysis(&e)))?;
        Ok(BaseWater { within: within.unwrap_or(water.within), ..water })
    }

    /// The key that an impossible analysis is best pointed out at.
    fn culprit(&self, error: &AnalysisError) -> &Written {
        let measure = match error {
            AnalysisError::Ph { .. } => return self.ph.as_ref().unwrap_or(&self.name),
            AnalysisError::HardnessAlone | AnalysisError::HardnessDisagrees { .. } => {
                Measure::Hardness
            }
            AnalysisError::PartExceedsHardness { measure, .. }
            | AnalysisError::Sum { measure }
            | AnalysisError::Twice { second: measure, .. } => *measure,
        };
        let keys = || self.analysis.0.iter().map(|(key, _)| key);
        keys().find(|key| Measure::from_key(key.text()) == Some(measure)).unwrap_or(&self.name)
    }
}

/// The measure that a key names.
pub(super) fn measure_of(source: &SourceText, key: &Written) -> Result<Measure, Diagnostic> {
    Measure::from_key(key.text()).ok_or_else(|| {
        let diagnostic = Diagnostic::new(
            Fault::Content,
            format!("`{}` is not a measure known here", key.text()),
        )
        .at(source, source.span_of(key))
        .found(format!("`{}`", key.text()))
        .expected(Measure::KEYS.join(", "));
        match read::nearest(key.text(), Measure::KEYS) {
            Some(near) => diagnostic.remedy(format!("did you mean `{near}`?")),
            None => diagnostic.remedy("use one of the measures above"),
        }
    })
}

/// A measure that stands twice in one list.
pub(super) fn given_twice(source: &SourceText, key: &Written) -> Diagnostic {
    Diagnostic::new(Fault::Content, format!("`{}` is given twice", key.text()))
        .at(source, source.span_of(key))
        .found(format!("a second `{}`", key.text()))
        .remedy("keep one of the two; `between … and …` sets two limits at once")
}

/// How far the amounts of an analysis may be off.
fn within(source: &SourceText, leaf: &Written) -> Result<Fraction, Diagnostic> {
    let share = place::amount(source, leaf, &[Dimension::Percent])?;
    if (0.0..1.0).contains(&share) {
        return Ok(Fraction::new(share));
    }
    Err(Diagnostic::new(Fault::Content, "an analysis is not that far off")
        .at(source, source.span_of(leaf))
        .found(format!("`{}`", leaf.text()))
        .expected("a part of each amount, from 0 % to below 100 %, as in \"5 %\""))
}

fn ph_of(source: &SourceText, leaf: &Written) -> Result<f64, Diagnostic> {
    leaf.text().parse::<f64>().ok().filter(|ph| (0.0..=14.0).contains(ph)).ok_or_else(|| {
        Diagnostic::new(Fault::Content, "this is not a pH")
            .at(source, source.span_of(leaf))
            .found(format!("`{}`", leaf.text()))
            .expected("a number from 0 to 14, without a unit")
    })
}
