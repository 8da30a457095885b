//! The tools of a bench as written in `bench.ron`.

use serde::Deserialize;

use crate::bench::place;
use crate::files::{Diagnostic, Mistakes, SourceText, Written};
use crate::quantities::{Dimension, Fraction, Grams, Millilitres};
use crate::stock::{Balance, DoseTool, DosedBy, Tools};

/// A balance as written.
#[derive(Debug, Deserialize)]
#[serde(rename = "Balance", deny_unknown_fields)]
pub(super) struct BalanceEntry {
    resolution: Written,
    error: Written,
    most: Option<Written>,
}

/// A dispenser as written.
#[derive(Debug, Deserialize)]
#[serde(rename = "Dispenser", deny_unknown_fields)]
pub(super) struct DispenserEntry {
    #[serde(default)]
    by: ByEntry,
    error: Option<Written>,
    off: Option<Written>,
    holds: Option<Written>,
    least: Option<Written>,
    most: Option<Written>,
}

#[derive(Debug, Default, Deserialize)]
enum ByEntry {
    #[default]
    Volume,
    Mass,
}

/// All tools as written.
#[derive(Debug, Default, Deserialize)]
#[serde(rename = "Tools", deny_unknown_fields)]
pub(super) struct ToolsEntry {
    balance: Option<BalanceEntry>,
    #[serde(alias = "scale")]
    large_balance: Option<BalanceEntry>,
    dispenser: Option<DispenserEntry>,
    flask: Option<Written>,
    fill: Option<Written>,
    pub(super) meter: Option<Written>,
    weighing: Option<Written>,
}

impl ToolsEntry {
    /// The tools as meant; what is not named is taken from the default tools.
    pub(super) fn meant(&self, source: &SourceText) -> Result<Tools, Mistakes> {
        let mut wrong = Mistakes::default();
        let usual = Tools::default();
        let share = |leaf: &Option<Written>, usual: Fraction| match leaf {
            Some(leaf) => above_zero(source, leaf, place::share(source, leaf)?).map(Fraction::new),
            None => Ok(usual),
        };
        let balance = |entry: &Option<BalanceEntry>, usual: Balance| {
            entry.as_ref().map_or(Ok(usual), |entry| entry.meant(source, usual))
        };
        let dispenser = self.dispenser.as_ref();
        let dispenser =
            dispenser.map_or(Ok(usual.dispenser), |entry| entry.meant(source, usual.dispenser));
        // What cannot be read keeps its usual value, and the file is refused.
        let tools = Tools {
            balance: wrong.take(balance(&self.balance, usual.balance)).unwrap_or(usual.balance),
            large_balance: wrong
                .take(balance(&self.large_balance, usual.large_balance))
                .unwrap_or(usual.large_balance),
            dispenser: wrong.take(dispenser).unwrap_or(usual.dispenser),
            flask: wrong.take(share(&self.flask, usual.flask)).unwrap_or(usual.flask),
            fill: wrong.take(share(&self.fill, usual.fill)).unwrap_or(usual.fill),
            meter: usual.meter,
            weighing: wrong.take(share(&self.weighing, usual.weighing)).unwrap_or(usual.weighing),
        };
        if wrong.is_empty() { Ok(tools) } else { Err(wrong) }
    }
}

impl BalanceEntry {
    fn meant(&self, source: &SourceText, usual: Balance) -> Result<Balance, Diagnostic> {
        let mass = |leaf: &Written| {
            let grams = place::amount(source, leaf, &[Dimension::Mass])?;
            above_zero(source, leaf, grams).map(Grams::new)
        };
        Ok(Balance {
            resolution: mass(&self.resolution)?,
            error: mass(&self.error)?,
            most: self.most.as_ref().map_or(Ok(usual.most), mass)?,
        })
    }
}

impl DispenserEntry {
    fn meant(&self, source: &SourceText, usual: DoseTool) -> Result<DoseTool, Diagnostic> {
        let volume = |leaf: &Option<Written>, usual: Millilitres| match leaf {
            Some(leaf) => {
                let millilitres = place::amount(source, leaf, &[Dimension::Volume])?;
                above_zero(source, leaf, millilitres).map(Millilitres::new)
            }
            None => Ok(usual),
        };
        let dispenser = DoseTool {
            by: match self.by {
                ByEntry::Volume => DosedBy::Volume,
                ByEntry::Mass => DosedBy::Mass,
            },
            error: volume(&self.error, usual.error)?,
            off: match &self.off {
                Some(leaf) => Fraction::new(place::share(source, leaf)?),
                None => usual.off,
            },
            holds: volume(&self.holds, usual.holds)?,
            balance: usual.balance,
            least: volume(&self.least, usual.least)?,
            most: volume(&self.most, usual.most)?,
        };
        match self.most.as_ref().or(self.least.as_ref()) {
            Some(leaf) if dispenser.most <= dispenser.least => {
                Err(place::at(source, leaf, "this dispenser has no range")
                    .found(format!(
                        "least {} mL, most {} mL",
                        dispenser.least.value(),
                        dispenser.most.value()
                    ))
                    .expected("`least` below `most`"))
            }
            _ => Ok(dispenser),
        }
    }
}

/// The largest error of the meter: it stands with the meter or among the tools, and there is one meter.
pub(super) fn meter_error(
    source: &SourceText,
    with_the_meter: Option<&Written>,
    among_the_tools: Option<&Written>,
) -> Result<Option<Fraction>, Diagnostic> {
    let read = |leaf: Option<&Written>| -> Result<Option<f64>, Diagnostic> {
        leaf.map(|leaf| above_zero(source, leaf, place::share(source, leaf)?)).transpose()
    };
    let (one, other) = (read(with_the_meter)?, read(among_the_tools)?);
    match (one, other, among_the_tools) {
        (Some(one), Some(other), Some(leaf)) if (one - other).abs() > f64::EPSILON => {
            Err(place::wrong(source, leaf, "the error of the meter is given twice")
                .expected("one error, as in `meter: (error: \"2 %\")`")
                .remedy("keep one of the two: there is one meter on a bench"))
        }
        _ => Ok(one.or(other).map(Fraction::new)),
    }
}

fn above_zero(source: &SourceText, leaf: &Written, value: f64) -> Result<f64, Diagnostic> {
    if value > 0.0 {
        return Ok(value);
    }
    Err(place::wrong(source, leaf, "this has to be above zero").expected("an amount above zero"))
}
