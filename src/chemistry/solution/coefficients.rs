//! Activity coefficients at an ionic strength, folded into the constants of formation.
#![expect(clippy::indexing_slicing, reason = "one place per species")]

use crate::chemistry::Aqueous;
use crate::chemistry::species::COUNT;
use crate::reference::phreeqc_dat::WATER_ACTIVITY_SLOPE;

/// Activity coefficients folded into the constants of formation.
#[derive(Debug, Clone)]
pub(crate) struct Coefficients {
    /// ln K + n·ln a(H2O) − ln γ of every species.
    pub(crate) ln_k: [f64; COUNT],
    /// Its derivative by the ionic strength, the water activity kept.
    pub(crate) slope: [f64; COUNT],
    pub(crate) ln_water: f64,
}

impl Coefficients {
    pub(crate) fn new() -> Self {
        Self { ln_k: [0.0; COUNT], slope: [0.0; COUNT], ln_water: 0.0 }
    }

    /// For the first so many species, at an ionic strength and a sum of molalities.
    #[inline]
    pub(crate) fn set(
        &mut self,
        at: &Aqueous,
        species: usize,
        ionic_strength: f64,
        molality_sum: f64,
    ) {
        let root = ionic_strength.sqrt();
        let half_per_root = 0.5 / root.max(LEAST_ROOT);
        // The linear formula ends at an activity of 0; far before that the model is refused.
        self.ln_water = (1.0 - WATER_ACTIVITY_SLOPE * molality_sum).max(LEAST_WATER_ACTIVITY).ln();
        let [az2, size, linear] = &at.gamma;
        for i in 0..species {
            let screen = 1.0 / (1.0 + size[i] * root);
            let limit = az2[i] * screen;
            let ln_gamma = linear[i] * ionic_strength - limit * root;
            self.ln_k[i] = at.ln_k[i] + at.water[i] * self.ln_water - ln_gamma;
            self.slope[i] = limit * screen * half_per_root - linear[i];
        }
    }
}

/// Floor of the water activity while a solver is still far from its solution: our choice, below what
/// the largest amounts let in can bring about.
const LEAST_WATER_ACTIVITY: f64 = 0.3;

/// Floor of √I in the slope of the Debye–Hückel law, which has none at 0: our choice, far below the
/// 3e-4 of the purest water.
const LEAST_ROOT: f64 = 1e-6;
