//! In which order doses go into a bottle.

use crate::chemistry::Conserved;
use crate::stock::Stock;

/// Stocks that are added one after the other in the order of the shelf.
///
/// Our choice: what brings alkalinity first, calcium last. A drop of calcium stock then meets the little
/// carbonate of a thin bicarbonate, and not a thin calcium the much carbonate of a strong bicarbonate:
/// such a stock holds some millimoles per litre of carbonate, a brewing water some hundredths of one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum PourGroup {
    Alkalinity,
    Others,
    Calcium,
}

impl PourGroup {
    pub(crate) const IN_ORDER: [Self; 3] = [Self::Alkalinity, Self::Others, Self::Calcium];

    pub(crate) fn of(stock: &Stock) -> Self {
        let holds = |ion| stock.composition_per_ml().mmol_per_l(ion) > 0.0;
        if holds(Conserved::Ca) {
            Self::Calcium
        } else if holds(Conserved::Alkalinity) {
            Self::Alkalinity
        } else {
            Self::Others
        }
    }
}
