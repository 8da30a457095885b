//! What doses are measured out with.

use crate::quantities::{Fraction, Grams, Litres, Millilitres};

/// An amount that a dispenser counts in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Measured {
    /// By volume.
    Volume(Millilitres),
    /// By weight; the density of the stock makes it a volume.
    Mass(Grams),
}

impl Measured {
    /// The number, in mL or g.
    #[must_use]
    pub fn value(self) -> f64 {
        match self {
            Measured::Volume(v) => v.value(),
            Measured::Mass(m) => m.value(),
        }
    }

    /// The unit as printed.
    #[must_use]
    pub fn unit(self) -> &'static str {
        match self {
            Measured::Volume(_) => Millilitres::SYMBOL,
            Measured::Mass(_) => Grams::SYMBOL,
        }
    }
}

/// A syringe, pipette, balance or dropper: it delivers whole steps, nothing or at least the least
/// amount.
#[derive(Debug, Clone, PartialEq)]
pub struct Dispenser {
    /// Its name.
    pub name: String,
    /// What it is, as a word: syringe, pipette, balance, dropper.
    pub kind: &'static str,
    /// One step; above zero.
    pub step: Measured,
    /// The least amount it delivers, in the unit of the step.
    pub least: f64,
    /// Limit of error of one delivery, in the unit of the step: of a stroke, a weighing, or the size
    /// of a drop.
    pub error: f64,
    /// How far single drops differ from each other, either way, in the unit of the step; 0 for
    /// what is no dropper.
    pub scatter: f64,
    /// Error of its scale, which all doses share, as a part of each.
    pub off: Fraction,
    /// What one delivery holds, in the unit of the step; nothing where it holds any dose.
    pub holds: Option<f64>,
}

/// The kind whose steps are counted and not read.
pub const DROPPER: &str = "dropper";

/// Our choice: an amount is a whole number of steps when it is one within this share of a step.
const WHOLE: f64 = 1e-6;

impl Dispenser {
    /// Millilitres in one step, for a stock of this density in g/mL.
    ///
    /// ```
    /// use waterflight::quantities::{Fraction, Grams};
    /// use waterflight::flight::{Dispenser, Measured};
    /// let balance = Dispenser {
    ///     name: "pocket balance".to_owned(),
    ///     kind: "balance",
    ///     step: Measured::Mass(Grams::new(0.01)),
    ///     least: 0.1,
    ///     error: 0.01,
    ///     scatter: 0.0,
    ///     off: Fraction::new(0.0),
    ///     holds: None,
    /// };
    /// // 0.01 g of a stock of 1.25 g/mL are 8 µL; the least amount is ten steps
    /// assert!((balance.ml_per_step(1.25) - 0.008).abs() < 1e-12);
    /// assert_eq!(balance.least_steps(), 10);
    /// ```
    #[must_use]
    pub fn ml_per_step(&self, g_per_ml: f64) -> f64 {
        match self.step {
            Measured::Volume(v) => v.value(),
            Measured::Mass(m) => m.value() / g_per_ml,
        }
    }

    /// What one step is called where it is counted: drops of a dropper, nothing else.
    #[must_use]
    pub fn counted(&self) -> Option<&'static str> {
        (self.kind == DROPPER).then_some("drops")
    }

    /// The least number of steps that it delivers; at least one.
    #[must_use]
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "clamped to the range of the type just before"
    )]
    pub fn least_steps(&self) -> u32 {
        let steps = (self.least / self.step.value() - WHOLE).ceil();
        steps.clamp(1.0, f64::from(u32::MAX)) as u32
    }

    /// Steps that fill a bottle.
    #[must_use]
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "clamped to the range of the type just before"
    )]
    pub fn most_steps(&self, g_per_ml: f64, bottle: Litres) -> u32 {
        let steps = bottle.to_millilitres().value() / self.ml_per_step(g_per_ml);
        (steps + WHOLE).floor().clamp(0.0, f64::from(u32::MAX)) as u32
    }
}
