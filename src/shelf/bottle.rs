//! A stock with how it is kept and the batch that is in the bottle now.

use crate::quantities::{Celsius, Day, Fraction};
use crate::shelf::batch::Batch;
use crate::shelf::doubt::StrengthModel;
use crate::shelf::stock::Stock;

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

impl Bottle {
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
