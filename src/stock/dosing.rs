//! How far a dose may be off: one model for every dispenser and every command.
//!
//! A dose of `n` deliveries (strokes, drops) is their sum. What each delivery errs by itself is
//! independent of the others, so it adds in squares, `u = √n·u₁` (JCGM 100:2008, 5.1.2). What they
//! share, the calibration of a syringe or the size of the drops of one dropper, adds as it is, `n·u₁`
//! (JCGM 100:2008, 5.2.2, example): a part of the dose, whatever the number of deliveries.
//!
//! Our choice of which is which: a maker's limit on the size of a drop belongs to the dropper, so
//! all its drops share it, and so do all stocks that it doses; the error stated of a syringe, pipette or
//! balance is that of setting and reading it, so each stroke or weighing has its own.

use crate::quantities::uncertain::{COVERAGE, Spread};
use crate::quantities::{Grams, Millilitres};
use crate::stock::{Balance, DoseTool, DosedBy, Tools};

impl DoseTool {
    /// Deliveries that a dose takes, as few as hold it.
    ///
    /// ```
    /// use waterflight::quantities::Millilitres;
    /// use waterflight::stock::Tools;
    /// let mut dispenser = Tools::default().dispenser;
    /// assert_eq!(dispenser.deliveries(7.0), 1.0);
    /// dispenser.holds = Millilitres::new(2.0);
    /// assert_eq!(dispenser.deliveries(2.0), 1.0);
    /// assert_eq!(dispenser.deliveries(7.0), 4.0);
    /// ```
    #[must_use]
    pub fn deliveries(&self, ml: f64) -> f64 {
        /// Our choice: a delivery holds a dose that is larger by this part of it.
        const ROUNDING: f64 = 1e-6;
        (ml / self.holds.value() - ROUNDING).ceil().max(1.0)
    }
}

impl Tools {
    /// The error that a dose has of its own: mL when doses are measured by volume, g when they are
    /// weighed. A sum of several deliveries is taken as normal (JCGM 100:2008, G.2).
    #[must_use]
    pub fn dose_error(&self, ml: f64, g_per_ml: f64) -> Spread {
        let dispenser = &self.dispenser;
        if dispenser.by == DosedBy::Mass {
            return Spread::Normal(self.dosed_on(Grams::new(ml * g_per_ml)).standard().value());
        }
        let one = Spread::Rectangular(dispenser.error.value());
        let deliveries = dispenser.deliveries(ml);
        if deliveries > 1.0 { Spread::Normal(deliveries.sqrt() * one.standard()) } else { one }
    }

    /// The error that all doses share, as a part of each.
    #[must_use]
    pub fn shared_dose_error(&self) -> Spread {
        match self.dispenser.by {
            DosedBy::Mass => Spread::Rectangular(0.0),
            DosedBy::Volume | DosedBy::Drops => Spread::Rectangular(self.dispenser.off.value()),
        }
    }

    /// Standard uncertainty of the error that a dose has of its own, as a part of it.
    #[must_use]
    pub fn own_dose_standard(&self, ml: f64, g_per_ml: f64) -> f64 {
        let amount = match self.dispenser.by {
            DosedBy::Mass => ml * g_per_ml,
            DosedBy::Volume | DosedBy::Drops => ml,
        };
        self.dose_error(ml, g_per_ml).standard() / amount
    }

    /// Expanded uncertainty (k = 2) of a dose as a part of it, from measuring it out alone.
    #[must_use]
    pub fn dose_expanded(&self, ml: f64, g_per_ml: f64) -> f64 {
        let own = self.own_dose_standard(ml, g_per_ml);
        COVERAGE * own.hypot(self.shared_dose_error().standard())
    }

    /// The least dose from which on every dose is right to a part of it (k = 2); infinite where
    /// what all doses share is more than that. A gram of a weak stock is a millilitre, near enough
    /// for a limit.
    #[must_use]
    pub fn least_dose_within(&self, part: f64) -> Millilitres {
        let shared = COVERAGE * self.shared_dose_error().standard();
        if shared >= part {
            return Millilitres::new(f64::INFINITY);
        }
        let own = ((part - shared) * (part + shared)).sqrt();
        let one = COVERAGE * self.dose_error(f64::MIN_POSITIVE, 1.0).standard();
        let holds = match self.dispenser.by {
            DosedBy::Mass => f64::INFINITY,
            DosedBy::Volume | DosedBy::Drops => self.dispenser.holds.value(),
        };
        let needed = |full: f64| (full + 1.0).sqrt() * one / own;
        // A dose a little above `full` deliveries has the error of one more; from some number on
        // that is always within.
        let mut full = 0.0;
        while needed(full + 1.0) > (full + 1.0) * holds {
            full += 1.0;
            if full > MOST_DELIVERIES {
                return Millilitres::new(f64::INFINITY);
            }
        }
        Millilitres::new(needed(full))
    }

    /// The balance that a dose of that weight is weighed on.
    fn dosed_on(&self, load: Grams) -> Balance {
        self.dispenser.balance.unwrap_or_else(|| self.weighs(load))
    }
}

/// Our choice: nobody counts more strokes or drops than this into one bottle.
const MOST_DELIVERIES: f64 = 1000.0;

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantities::Fraction;

    fn dropper() -> Tools {
        let mut tools = Tools::default();
        // Drops of 0.05 mL, each 0.004 mL by itself, all of them 10 % too large or too small.
        tools.dispenser.error = Millilitres::new(0.004);
        tools.dispenser.holds = Millilitres::new(0.05);
        tools.dispenser.off = Fraction::new(0.1);
        tools
    }

    #[test]
    fn drops_add_up_in_squares_and_their_size_as_it_is() {
        let tools = dropper();
        // 25 drops: 5·0.004/√3 mL of their own, 25·0.005/√3 mL together
        let own = tools.dose_error(1.25, 1.0).standard();
        assert!((own - 5.0 * 0.004 / 3_f64.sqrt()).abs() < 1e-12, "{own}");
        let both = (own / 1.25).hypot(25.0 * 0.005 / 3_f64.sqrt() / 1.25);
        assert!((tools.dose_expanded(1.25, 1.0) - 2.0 * both).abs() < 1e-12);
    }

    #[test]
    fn every_dose_from_the_least_on_is_within() {
        let mut tools = dropper();
        tools.dispenser.off = Fraction::new(0.005);
        for holds in [0.05, 0.2, 1.0, 5.0, f64::INFINITY] {
            tools.dispenser.holds = Millilitres::new(holds);
            for part in [0.01, 0.02, 0.05, 0.2] {
                let least = tools.least_dose_within(part).value();
                for n in 0..2000 {
                    let ml = least * (1.0 + f64::from(n) / 500.0);
                    let is = tools.dose_expanded(ml, 1.0);
                    assert!(is <= part * (1.0 + 1e-9), "{holds} {part}: {ml} mL, {is}");
                }
                assert!(tools.dose_expanded(0.999 * least, 1.0) > part, "{holds} {part} {least}");
            }
        }
        assert!(dropper().least_dose_within(0.1).value().is_infinite());
    }
}
