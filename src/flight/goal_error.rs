//! Why a text is not a goal.

use thiserror::Error;

use crate::quantities::{QuantityError, Unit};
use crate::water::{Measure, MeasureError};

/// Weights that are taken. Our choice: one goal a million times another is a goal without the other,
/// which is then better left out; and what the planner proves has no more digits to share.
pub(crate) const LEAST_WEIGHT: f64 = 0.001;
pub(crate) const MOST_WEIGHT: f64 = 1e5;

/// Why a text is not a goal.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum GoalError {
    /// An amount in it is wrong.
    #[error(transparent)]
    Amount(#[from] MeasureError),
    /// The band has no inside.
    #[error("no value lies between {low} and {high}")]
    Contradiction {
        /// First value as written.
        low: String,
        /// Second value as written.
        high: String,
    },
    /// `between` without two values.
    #[error("`{text}` does not name two values")]
    NotTwoValues {
        /// The text as written.
        text: String,
    },
    /// A clause after the comma that is neither weight nor tolerance.
    #[error("`{clause}` is neither a weight nor a tolerance")]
    UnknownClause {
        /// The clause as written.
        clause: String,
    },
    /// The weight is no positive number.
    #[error("the weight `{text}` is not a number from {LEAST_WEIGHT} to {MOST_WEIGHT}")]
    Weight {
        /// The text as written.
        text: String,
    },
    /// The tolerance is negative or of another kind.
    #[error("the tolerance `{text}` does not fit: {reason}")]
    Tolerance {
        /// The text as written.
        text: String,
        /// Why.
        reason: String,
    },
    /// The two measures of a ratio cannot be compared in that unit.
    #[error("{} and {} have no ratio in {}", of.label(), to.label(), unit.symbol())]
    Ratio {
        /// Numerator.
        of: Measure,
        /// Denominator.
        to: Measure,
        /// The unit as written.
        unit: Unit,
    },
}

impl From<QuantityError> for GoalError {
    fn from(error: QuantityError) -> Self {
        GoalError::Amount(MeasureError::Quantity(error))
    }
}
