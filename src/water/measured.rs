//! Measures of waters of which not everything was measured.

use crate::chemistry::{Composition, Conserved, ConservedSet};
use crate::water::Measure;

impl Measure {
    /// The measure of a composition, in its native unit; `None` where it was not measured.
    #[must_use]
    pub fn measured(self, water: &Composition) -> Option<f64> {
        self.not_measured_of(water).is_empty().then(|| self.of(water))
    }

    /// The same in the unit that reports give it in.
    #[must_use]
    pub fn measured_usual(self, water: &Composition) -> Option<f64> {
        self.measured(water).map(|native| native / self.native_per_usual_unit())
    }

    /// The least that it can be, in the unit that reports give it in, whatever was not measured.
    #[must_use]
    pub fn at_least_usual(self, water: &Composition) -> f64 {
        let least = |c: Conserved| self.coefficient(c) * water.bounds_mmol_per_l(c).at_least;
        Conserved::ALL.into_iter().map(least).sum::<f64>() / self.native_per_usual_unit()
    }

    /// What the measure counts and nobody measured. The sums of dissolved solids are those of the
    /// ions: silica, which few analyses give, is counted where it is known and is no gap where not.
    #[must_use]
    pub fn not_measured_of(self, water: &Composition) -> ConservedSet {
        let sum = matches!(self, Measure::DissolvedSolids | Measure::ResidueOnEvaporation);
        let counts =
            |c: &Conserved| self.coefficient(*c).abs() > 0.0 && !(sum && *c == Conserved::SiO2);
        water.not_measured().iter().filter(counts).collect()
    }
}
