//! How much of stocks and of dissolved solids a flight allows at most.

use thiserror::Error;

use crate::quantities::{Dimension, Quantity, QuantityError, show};

/// Limits beyond which no dose is proposed, however near it would bring a goal: with base water
/// that is too hard, pouring in a litre of brine thins it as well.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DoseLimits {
    /// All stocks together, mL per litre (finished, or of base water where doses are added to it);
    /// +∞ for none.
    pub stocks_ml_per_l: f64,
    /// Dissolved solids of the finished water, mg/L; +∞ for none.
    pub dissolved_solids_mg_per_l: f64,
    /// The least of each stock that a water may have, mL per litre (finished, or of base water), where all
    /// waters have the same stocks; 0 for none.
    pub least_of_each_ml_per_l: f64,
}

/// Our choice: a tenth of a litre. Stocks that need more are drinking water themselves, or they
/// are poured only to thin the base water.
const STOCKS_ML_PER_L: f64 = 100.0;

/// Above this a mineral water may be called "rich in mineral salts" (Directive 2009/54/EC, annex
/// III, fixed residue; from memory); that no more is proposed unasked is our choice.
const DISSOLVED_SOLIDS_MG_PER_L: f64 = 1500.0;

impl Default for DoseLimits {
    /// The limits of a flight that states none.
    fn default() -> Self {
        Self {
            stocks_ml_per_l: STOCKS_ML_PER_L,
            dissolved_solids_mg_per_l: DISSOLVED_SOLIDS_MG_PER_L,
            least_of_each_ml_per_l: 0.0,
        }
    }
}

impl DoseLimits {
    /// No limit at all.
    pub const NONE: Self = Self {
        stocks_ml_per_l: f64::INFINITY,
        dissolved_solids_mg_per_l: f64::INFINITY,
        least_of_each_ml_per_l: 0.0,
    };
}

/// The word for no limit.
const NO_LIMIT: &str = "none";

/// Why a text is no limit.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum DoseLimitError {
    /// It is no amount.
    #[error(transparent)]
    Quantity(#[from] QuantityError),
    /// It leaves nothing to pour.
    #[error("a limit of nothing leaves nothing to pour")]
    Nothing,
}

/// Reads `100 mL/L`, `1500 mg/L` or `none`, in the base unit of the dimension.
///
/// # Errors
/// When it is no amount of that dimension above zero.
///
/// ```
/// use waterflight::quantities::Dimension;
/// use waterflight::flight::dose_limits::read;
/// assert_eq!(read("100 mL/L", Dimension::VolumePerVolume), Ok(100.0));
/// assert_eq!(read("none", Dimension::VolumePerVolume), Ok(f64::INFINITY));
/// assert!(read("0 mL/L", Dimension::VolumePerVolume).is_err());
/// ```
pub fn read(text: &str, dimension: Dimension) -> Result<f64, DoseLimitError> {
    if text.trim() == NO_LIMIT {
        return Ok(f64::INFINITY);
    }
    let amount = Quantity::parse_as(text, &[dimension])?;
    if amount > 0.0 { Ok(amount) } else { Err(DoseLimitError::Nothing) }
}

impl DoseLimits {
    /// The limit of the stocks as a person writes it.
    #[must_use]
    pub fn stocks(self) -> String {
        written(self.stocks_ml_per_l, "mL/L")
    }

    /// The limit of the dissolved solids as a person writes it.
    #[must_use]
    pub fn dissolved_solids(self) -> String {
        written(self.dissolved_solids_mg_per_l, "mg/L")
    }
}

fn written(limit: f64, unit: &str) -> String {
    if limit.is_finite() {
        format!("{} {unit}", show::as_written(limit, 1.0))
    } else {
        NO_LIMIT.to_owned()
    }
}
