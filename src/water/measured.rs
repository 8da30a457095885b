//! Measures of waters of which not everything was measured.

use crate::chemistry::{Bounds, Composition, Conserved, ConservedSet};
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

    /// What it can be, in its native unit, whatever was not measured or only found to be below a limit.
    ///
    /// ```
    /// use waterflight::water::{Amount, Analysis, Measure};
    /// // Of 3 meq/L of hardness less than 1 are calcium: what the one lacks the other has.
    /// let kit = vec![
    ///     (Measure::Hardness, Amount::Measured(3.0)),
    ///     (Measure::Calcium, Amount::Below(1.0)),
    /// ];
    /// let water = Analysis::new("kit".into(), kit).water().unwrap().composition;
    /// let between = |measure: Measure| {
    ///     let bounds = measure.bounds(&water);
    ///     (bounds.at_least, bounds.at_most.unwrap())
    /// };
    /// assert_eq!(between(Measure::Magnesium), (2.0, 3.0));
    /// assert_eq!(between(Measure::Hardness), (3.0, 3.0));
    /// ```
    ///
    /// Of dissolved solids they are those of the ions, and of silica where it is known.
    #[must_use]
    pub fn bounds(self, water: &Composition) -> Bounds {
        let gaps = self.not_measured_of(water);
        let counts = |c: Conserved| water.is_measured(c) || gaps.contains(c);
        let coefficient = |c| if counts(c) { self.coefficient(c) } else { 0.0 };
        water.bounds_of(&Conserved::ALL.map(coefficient))
    }

    /// The least that it can be, in the unit that reports give it in.
    #[must_use]
    pub fn at_least_usual(self, water: &Composition) -> f64 {
        self.bounds(water).at_least / self.native_per_usual_unit()
    }

    /// What the measure counts and nobody measured. The sums of dissolved solids are those of the
    /// ions: silica, which few analyses give, is counted where it is known and is no gap where not.
    #[must_use]
    pub fn not_measured_of(self, water: &Composition) -> ConservedSet {
        let sum = self.is_sum_of_masses();
        let counts =
            |c: &Conserved| self.coefficient(*c).abs() > 0.0 && !(sum && *c == Conserved::SiO2);
        water.not_measured().iter().filter(counts).collect()
    }
}
