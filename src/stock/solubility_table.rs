//! How much of a salt water takes up at each temperature, as handbooks print it.

use crate::quantities::{Celsius, Fraction};

/// Solubility against temperature, as a table.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Solubility {
    /// Temperature and mass fraction of the anhydrous salt in the saturated solution, warmer and
    /// warmer.
    rows: Vec<(f64, f64)>,
    /// Where the table comes from.
    pub source: String,
}

impl Solubility {
    /// A table of (°C, mass of the anhydrous salt in % of the saturated solution); rows that
    /// are no numbers or no shares are left out.
    #[must_use]
    pub fn new(rows: &[(f64, f64)], source: String) -> Self {
        let mut rows: Vec<(f64, f64)> = rows
            .iter()
            .filter(|(t, percent)| t.is_finite() && (0.0..100.0).contains(percent))
            .map(|(t, percent)| (*t, percent / 100.0))
            .collect();
        rows.sort_by(|a, b| a.0.total_cmp(&b.0));
        Self { rows, source }
    }

    /// The rows: °C, and mass of the anhydrous salt in % of the saturated solution.
    pub fn rows(&self) -> impl Iterator<Item = (f64, f64)> {
        self.rows.iter().map(|(t, w)| (*t, 100.0 * w))
    }

    /// Whether anything is known.
    #[must_use]
    pub fn is_known(&self) -> bool {
        !self.rows.is_empty()
    }

    /// Mass fraction of the anhydrous salt in the saturated solution, on a straight line between
    /// two rows; `None` outside of the table.
    #[must_use]
    pub fn at(&self, temperature: Celsius) -> Option<Fraction> {
        let t = temperature.value();
        let pair = self.rows.windows(2).find_map(|pair| match pair {
            [(t0, w0), (t1, w1)] if (*t0..=*t1).contains(&t) && t1 > t0 => {
                Some(w0 + (w1 - w0) * (t - t0) / (t1 - t0))
            }
            _ => None,
        });
        pair.map(Fraction::new)
    }
}
