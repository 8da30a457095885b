//! What is weighed, measured and dosed with, and how far it can be trusted.
//!
//! A ± that a maker states of a tool is the largest error either way: the truth lies anywhere within it
//! with equal chance, so `u = a/√3` (JCGM 100:2008, 4.3.7). It is read so of balances, flasks,
//! dispensers and meters, and likewise of purities, moistures and analyses.

use crate::quantities::{Fraction, Grams, Millilitres};
use crate::reference::meter_scales::METER_ERROR;

/// A balance as its maker describes it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Balance {
    /// Smallest step of its display.
    pub resolution: Grams,
    /// Largest error that its maker admits, either way.
    pub error: Grams,
    /// Heaviest load.
    pub most: Grams,
}

impl Balance {
    /// Standard uncertainty of a mass as the difference of two readings (empty and full): the
    /// error as a rectangular distribution, and the rounding of both readings, of half a step
    /// each (JCGM 100:2008, 4.3.7 and F.2.2.1).
    #[must_use]
    pub fn standard(&self) -> Grams {
        let (d, e) = (self.resolution.value(), self.error.value());
        Grams::new((e * e / 3.0 + 2.0 * d * d / 12.0).sqrt())
    }

    /// The smallest mass whose expanded uncertainty (k = 2) is within a part of it.
    #[must_use]
    pub fn least_for(&self, part: Fraction) -> Grams {
        Grams::new(crate::quantities::uncertain::COVERAGE * self.standard().value() / part.value())
    }
}

/// How doses are measured out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DosedBy {
    /// With a pipette, syringe or burette.
    Volume,
    /// With a dropper, drop by drop.
    Drops,
    /// On the balance.
    Mass,
}

/// A dispenser of doses.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DoseTool {
    /// How doses are measured out.
    pub by: DosedBy,
    /// Error of a single delivery, either way; the next one has its own.
    pub error: Millilitres,
    /// Error that all deliveries share, as a part of each: the scale of a syringe, the size of drops.
    pub off: Fraction,
    /// What one delivery holds; a larger dose takes several. Infinite where every dose is one.
    pub holds: Millilitres,
    /// The balance that doses are weighed on, where it is not one of the two for salts.
    pub balance: Option<Balance>,
    /// Smallest dose that it gives.
    pub least: Millilitres,
    /// Largest dose that is still sensible.
    pub most: Millilitres,
}

/// The tools of a bench.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tools {
    /// For salts.
    pub balance: Balance,
    /// For what is too heavy for the balance.
    pub large_balance: Balance,
    /// Largest error of a flask's mark, as a part of its volume.
    pub flask: Fraction,
    /// For doses.
    pub dispenser: DoseTool,
    /// Largest error of filling a bottle of finished water, as a part of it.
    pub fill: Fraction,
    /// Largest error of the conductivity meter, as a part of the reading.
    pub meter: Fraction,
    /// A weighing is sensible when its expanded uncertainty is within this part of it.
    pub weighing: Fraction,
}

/// Our choice: a pocket balance, a kitchen balance, a 1 mL syringe, a bottle filled to a line and
/// a pocket meter. They decide the ± of a bench whose settings name no tools.
impl Default for Tools {
    fn default() -> Self {
        Self {
            balance: Balance {
                resolution: Grams::new(0.01),
                error: Grams::new(0.02),
                most: Grams::new(200.0),
            },
            large_balance: Balance {
                resolution: Grams::new(1.0),
                error: Grams::new(2.0),
                most: Grams::new(5000.0),
            },
            flask: Fraction::new(0.002),
            dispenser: DoseTool {
                by: DosedBy::Volume,
                error: Millilitres::new(0.02),
                off: Fraction::new(0.01),
                holds: Millilitres::new(f64::INFINITY),
                balance: None,
                least: Millilitres::new(0.1),
                most: Millilitres::new(20.0),
            },
            fill: Fraction::new(0.005),
            meter: Fraction::new(METER_ERROR),
            weighing: Fraction::new(0.01),
        }
    }
}

/// Mass of an empty bottle as a part of what it holds: our choice, a small one of glass. It decides
/// which balance the whole of a stock is weighed on.
const BOTTLE_FOR_ITS_CONTENTS: f64 = 2.0;

impl Tools {
    /// The balance that carries a load.
    #[must_use]
    pub fn weighs(&self, load: Grams) -> Balance {
        if load <= self.balance.most { self.balance } else { self.large_balance }
    }

    /// The balance on which a bottle stands while it is filled with so much.
    #[must_use]
    pub fn weighs_filled(&self, contents: Grams) -> Balance {
        self.weighs(contents * (1.0 + BOTTLE_FOR_ITS_CONTENTS))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn heavy_loads_go_to_the_scale() {
        let tools = Tools::default();
        assert_eq!(tools.weighs(Grams::new(40.0)), tools.balance);
        assert_eq!(tools.weighs(Grams::new(1000.0)), tools.large_balance);
    }

    #[test]
    fn a_bottle_counts_for_the_balance_that_it_stands_on() {
        let tools = Tools::default();
        assert_eq!(tools.weighs_filled(Grams::new(10.0)), tools.balance);
        // 190 g are less than the small balance carries; with their bottle they are more.
        assert_eq!(tools.weighs_filled(Grams::new(190.0)), tools.large_balance);
    }

    #[test]
    fn the_least_mass_follows_from_the_error() {
        // u² = 0.02²/3 + 2·0.01²/12, 2u/1 % = 2.449 g: by hand
        let least = Tools::default().balance.least_for(Fraction::new(0.01));
        assert!((least.value() - 2.449_5).abs() < 1e-3, "{least:?}");
    }
}
