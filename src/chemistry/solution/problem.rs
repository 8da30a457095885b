//! The question put to the solver and the answer it gives.

use crate::chemistry::Aqueous;
use crate::chemistry::Mineral;
use crate::chemistry::solution::Totals;
use crate::chemistry::species::{COUNT, var};

/// What is kept from outside while the rest comes to equilibrium.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(crate) struct FixedActivities {
    /// ln of the activity of CO2(aq), when the water breathes; its carbon then follows.
    pub(crate) ln_co2: Option<f64>,
    /// ln of the activity of H⁺, when acid or base is added; its alkalinity then follows.
    pub(crate) ln_h: Option<f64>,
}

/// The minerals that the solution is in equilibrium with; at most one of each kind. Both magnesium
/// minerals together fix the activity of CO2 and stand in closed solutions only.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(crate) struct Solids {
    /// Calcite or aragonite.
    pub(crate) carbonate: Option<Mineral>,
    /// Gypsum or anhydrite.
    pub(crate) sulfate: Option<Mineral>,
    /// Brucite.
    pub(crate) hydroxide: bool,
    /// Nesquehonite.
    pub(crate) magnesium_carbonate: bool,
    /// Amorphous silica.
    pub(crate) silica: bool,
}

impl Solids {
    /// Whether CO2 is held by the two magnesium minerals.
    pub(super) fn hold_co2(self) -> bool {
        self.hydroxide && self.magnesium_carbonate
    }
}

/// A solution in equilibrium.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Solution {
    /// Molality of every species, mol/kg.
    pub(crate) molality: [f64; COUNT],
    /// Logarithms of the activities that were solved for.
    pub(crate) lambda: [f64; var::ALL],
    pub(crate) ln_water: f64,
    /// ln of the activities of Ca²⁺, Mg²⁺ and H4SiO4; meaningless when there is none.
    pub(crate) ln_own: [f64; 3],
    pub(crate) ionic_strength: f64,
    pub(crate) molality_sum: f64,
    pub(crate) steps: usize,
}

/// How far a solution is driven: the last step of λ (and relative of the ionic strength) before it
/// is accepted and followed to first order, so that the square of it is what may be missing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Precision {
    /// Balances to better than 1e-9.
    Full,
    /// Amounts to 1e-6 of the calcium, for a potential that is stated to three digits.
    Potential,
}

impl Precision {
    /// Our choice, see the variants.
    pub(super) const fn last_step(self) -> f64 {
        match self {
            Precision::Full => 3e-5,
            Precision::Potential => 1e-3,
        }
    }
}

/// One question to the solver.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Problem<'a> {
    pub(crate) at: &'a Aqueous,
    pub(crate) totals: &'a Totals,
    pub(crate) kept: FixedActivities,
    pub(crate) solids: Solids,
    pub(crate) precision: Precision,
}

impl<'a> Problem<'a> {
    /// A solution without solids.
    pub(crate) fn clear(at: &'a Aqueous, totals: &'a Totals, kept: FixedActivities) -> Self {
        Self { at, totals, kept, solids: Solids::default(), precision: Precision::Full }
    }
}
