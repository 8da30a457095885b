//! A stock with how it is kept and the batch that is in the bottle now.

use serde::Serialize;

use crate::quantities::{Celsius, Day, Fraction};
use crate::stock::{Batch, Stock};

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

/// What is in the bottle now, where it is not what the file means.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct AgainstFile {
    /// Number of the batch.
    pub batch: u32,
    /// The day it was made.
    pub day: String,
    /// Its strength, g/kg; the doses of every plan follow it.
    pub g_per_kg: f64,
    /// The strength that the file means, g/kg; a new batch is weighed by it.
    pub file_g_per_kg: f64,
    /// Whether the file was changed after the batch was recorded.
    pub file_changed_since: bool,
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
        let (g_per_kg, file_g_per_kg) = (made.g_per_kg(), self.written.g_per_kg());
        let apart = |a: f64, b: f64| (a / b - 1.0).abs();
        let then = batch.file_g_per_kg;
        let file_changed_since = then.is_some_and(|then| apart(then, file_g_per_kg) > ROUNDING);
        let alike = if file_changed_since { ROUNDING } else { WEIGHED_ALIKE };
        (apart(g_per_kg, file_g_per_kg) > alike).then(|| AgainstFile {
            batch: batch.number,
            day: batch.day.to_string(),
            g_per_kg,
            file_g_per_kg,
            file_changed_since,
        })
    }

    /// Relative standard uncertainty of the strength, when it was verified.
    #[must_use]
    pub fn verified(&self) -> Option<Fraction> {
        self.batch.as_ref()?.verified.map(|v| v.relative())
    }

    /// The last day on which it should be used.
    #[must_use]
    pub fn keeps_until(&self) -> Option<Day> {
        Some(self.batch.as_ref()?.day.plus(self.keeps_days?))
    }
}
