//! Conductivity of a water of which not everything was measured.

use crate::chemistry::Carbon;
use crate::chemistry::Composition;
use crate::chemistry::{Aqueous, ChemistryError};
use crate::chemistry::{Conductivity, Conductor};

impl Conductor {
    /// Conductivity of a water, widened by what was not measured of it: every amount of unmeasured
    /// salt between the least and the most is taken as equally likely (JCGM 101:2008, 6.4.2: where
    /// only limits are known), and counts by its distance from the estimate.
    ///
    /// # Errors
    /// As [`Aqueous::speciate`].
    pub fn of_water(
        &self,
        at: &Aqueous,
        water: &Composition,
        carbon: Carbon,
    ) -> Result<Conductivity, ChemistryError> {
        let estimate = self.conductivity(&at.speciate(water, carbon)?);
        let us_per_cm = estimate.us_per_cm;
        let Some(extremes) = water.extremes() else { return Ok(estimate) };
        let (mut low, mut high) = (us_per_cm, us_per_cm);
        for extreme in &extremes {
            let end = self.conductivity(&at.speciate(extreme, carbon)?).us_per_cm;
            (low, high) = (low.min(end), high.max(end));
        }
        let (below, above) = (us_per_cm - low, high - us_per_cm);
        // Mean square distance from the estimate of a value that is anywhere in between.
        let open = (below * below - below * above + above * above) / 3.0;
        let model = estimate.standard_uncertainty;
        Ok(Conductivity {
            standard_uncertainty: (model * model + open).sqrt(),
            // What is only known to be below a limit of detection makes the ± a little larger.
            ends: [low, high],
            between: water.lacks_ions().then_some([low, high]),
            ..estimate
        })
    }
}
