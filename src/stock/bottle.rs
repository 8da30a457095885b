//! A stock with how it is kept and the batch that is in the bottle now.

use crate::quantities::{Celsius, Day, Fraction};
use crate::stock::Batch;
use crate::stock::Stock;
use crate::stock::StrengthModel;

/// One bottle of the shelf.
#[derive(Debug, Clone, PartialEq)]
pub struct Bottle {
    /// The stock as its file means it.
    pub written: Stock,
    /// Temperature at which it is kept.
    pub storage: Celsius,
    /// Days that it is meant to keep, when stated.
    pub keeps_days: Option<i64>,
    /// The newest batch, when one was recorded.
    pub batch: Option<Batch>,
}

/// What is in a bottle beside what the file of its stock means.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AgainstFile {
    /// Number of the batch in the bottle.
    pub batch: u32,
    /// Strength in the bottle, g/kg; doses follow it.
    pub bottle_g_per_kg: f64,
    /// Strength that the file means now, g/kg; a new batch is weighed by it.
    pub file_g_per_kg: f64,
    /// Whether the file was changed after the batch was recorded.
    pub edited: bool,
}

/// Strengths nearer than this part of each other are one: our choice, half a unit in the fourth
/// figure, with which strengths are printed.
const ROUNDING: f64 = 5e-5;

/// A batch weighed by its file is within this part of it: our choice, half a per cent, what weighing
/// with a kitchen balance leaves. Nearer, nothing is said of a file that was not changed.
const WEIGHED_ALIKE: f64 = 0.005;

impl Bottle {
    /// How the batch in the bottle, `made`, differs from what the file means; nothing where it does
    /// not, or no batch was recorded.
    #[must_use]
    pub fn against_file(&self, made: &Stock) -> Option<AgainstFile> {
        let batch = self.batch.as_ref()?;
        let (bottle_g_per_kg, file_g_per_kg) = (made.g_per_kg(), self.written.g_per_kg());
        let apart = |a: f64, b: f64| (a / b - 1.0).abs();
        let then = batch.file_g_per_kg;
        let edited = then.is_some_and(|then| apart(then, file_g_per_kg) > ROUNDING);
        let alike = if edited { ROUNDING } else { WEIGHED_ALIKE };
        (apart(bottle_g_per_kg, file_g_per_kg) > alike).then_some(AgainstFile {
            batch: batch.number,
            bottle_g_per_kg,
            file_g_per_kg,
            edited,
        })
    }

    /// Relative standard uncertainty of the strength, when it was verified.
    #[must_use]
    pub fn verified(&self) -> Option<Fraction> {
        self.batch.as_ref()?.verified.map(|v| v.relative())
    }

    /// The strength of what is in the bottle, as a function of what is not known exactly.
    #[must_use]
    pub fn strength_model(&self, stock: &Stock) -> StrengthModel {
        StrengthModel::new(stock, self.verified())
    }

    /// The last day on which it should be used.
    #[must_use]
    pub fn keeps_until(&self) -> Option<Day> {
        Some(self.batch.as_ref()?.day.plus(self.keeps_days?))
    }
}
