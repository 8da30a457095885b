//! Calcium carbonate precipitation potential.
//!
//! CCPP is the calcium carbonate that must leave a litre of water (or, when negative, go into
//! it) until calcite is in equilibrium (Standard Methods 2330 C, from memory). Carbon dioxide is
//! treated as in the water it is asked for: kept in a closed one, exchanged in an open one.
#![expect(clippy::indexing_slicing, reason = "one place per species")]

use crate::chemistry::ChemistryError;
use crate::chemistry::Mineral;
use crate::chemistry::solution::{CA, MILLI, Precision, Problem, Solids, Solution};

use crate::chemistry::Species;
use crate::chemistry::species::Group;
use crate::chemistry::{Carbon, Speciation};
use crate::reference::water_hardness::CACO3_G_PER_MOL;

/// Amount of calcium carbonate to come out of a kilogram of water; negative when it would dissolve.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ccpp {
    /// mmol per kg.
    pub mmol_per_kg: f64,
}

impl Ccpp {
    /// The same in mg/L as CaCO3, a litre counting as a kilogram; numerically grams per 1,000 L.
    #[must_use]
    pub fn mg_per_l_caco3(self) -> f64 {
        self.mmol_per_kg * CACO3_G_PER_MOL
    }
}

impl Speciation<'_> {
    /// The calcium carbonate precipitation potential of this water, in its state.
    ///
    /// # Errors
    /// When dissolving calcite would make the water too strong for the activity model.
    pub fn ccpp(&self) -> Result<Ccpp, ChemistryError> {
        let solids = Solids { carbonate: Some(Mineral::Calcite), ..Solids::default() };
        let start = self.leaning_to(Mineral::Calcite);
        let solution = self.with(solids, Precision::Potential, &start)?;
        let dropped = self.totals.own_of(CA) - solution.dissolved(Group::Ca);
        Ok(Ccpp { mmol_per_kg: dropped / MILLI })
    }

    /// A start for the solver near the equilibrium with a carbonate mineral.
    fn leaning_to(&self, mineral: Mineral) -> Solution {
        let mut start = self.solution;
        let Some(product) = start.ln_product(self.at, mineral) else { return start };
        let over = product - self.at.ln_k_mineral(mineral);
        let [ln_h, ln_co2, ..] = &mut start.lambda;
        let sketch = Sketch::of(self, *ln_h, *ln_co2, over);
        (*ln_h, *ln_co2) = sketch.solve(*ln_h, *ln_co2);
        start
    }

    /// The same totals and state with other solids.
    pub(crate) fn with(
        &self,
        solids: Solids,
        precision: Precision,
        start: &Solution,
    ) -> Result<Solution, ChemistryError> {
        let kept = self.at.kept(self.carbon())?;
        Problem { at: self.at, totals: &self.totals, kept, solids, precision }.solve(Some(start))
    }
}

/// The carbonate system around a solution with its constants frozen, pairs counted in: enough to
/// guess where a carbonate mineral will bring it.
#[derive(Debug, Clone, Copy)]
struct Sketch {
    calcium: f64,
    carbon: f64,
    alkalinity: f64,
    /// Molality per activity: CO2 and HCO3⁻, CO3²⁻ with their pairs, OH⁻ with its, H⁺.
    k_co2: f64,
    k_hco3: f64,
    k_co3: f64,
    k_oh: f64,
    k_h: f64,
    /// ln of the activity of CO2 of an open water.
    open: Option<f64>,
    /// ln of calcium times a(CO2)/h² at saturation.
    target: f64,
}

impl Sketch {
    fn of(water: &Speciation<'_>, ln_h: f64, ln_co2: f64, over: f64) -> Self {
        let m = |s: Species| water.solution.molality[s.index()];
        let (h, co2) = (ln_h.exp(), ln_co2.exp());
        let hco3 = m(Species::HCO3)
            + m(Species::CaHCO3)
            + m(Species::MgHCO3)
            + m(Species::NaHCO3)
            + m(Species::KHCO3);
        let co3 = m(Species::CO3) + m(Species::CaCO3) + m(Species::MgCO3);
        let oh = m(Species::OH) + m(Species::CaOH) + m(Species::MgOH);
        let calcium = water.totals.own_of(CA);
        Self {
            calcium,
            carbon: m(Species::CO2) + hco3 + co3,
            alkalinity: hco3 + 2.0 * co3 + oh - m(Species::H),
            k_co2: m(Species::CO2) / co2,
            k_hco3: hco3 * h / co2,
            k_co3: co3 * h * h / co2,
            k_oh: oh * h,
            k_h: m(Species::H) / h,
            open: matches!(water.carbon, Carbon::Open { .. }).then_some(ln_co2),
            target: calcium.ln() + ln_co2 - 2.0 * ln_h - over,
        }
    }

    /// What is missing to saturation at an acidity, and ln a(CO2) there: the amount precipitated follows
    /// from the alkalinity. `None` beyond what there is to precipitate.
    fn at(&self, ln_h: f64) -> Option<(f64, f64)> {
        let h = ln_h.exp();
        let bicarbonate = self.k_hco3 / h;
        let carbonate = self.k_co3 / (h * h);
        let base = self.k_oh / h - self.k_h * h;
        let (dropped, ln_co2) = if let Some(ln_co2) = self.open {
            let held = ln_co2.exp() * (bicarbonate + 2.0 * carbonate) + base;
            (0.5 * (self.alkalinity - held), ln_co2)
        } else {
            let spread = self.k_co2 + bicarbonate + carbonate;
            let per_carbon = (bicarbonate + 2.0 * carbonate) / spread;
            let held = self.carbon * per_carbon + base;
            let dropped = (held - self.alkalinity) / (per_carbon - 2.0);
            (dropped, ((self.carbon - dropped) / spread).ln())
        };
        let missing = (self.calcium - dropped).ln() + ln_co2 - 2.0 * ln_h - self.target;
        missing.is_finite().then_some((missing, ln_co2))
    }

    /// ln a(H⁺) and ln a(CO2) near saturation, by a few secants; wherever those end.
    fn solve(&self, ln_h: f64, ln_co2: f64) -> (f64, f64) {
        let Some((mut f0, _)) = self.at(ln_h) else { return (ln_h, ln_co2) };
        let (mut x0, mut best) = (ln_h, (ln_h, ln_co2));
        // Bicarbonate kept: carbonate goes as 1/h in a closed water and as 1/h² in an open one.
        let mut step = if self.open.is_some() { 0.5 * f0 } else { f0 };
        for _ in 0..SKETCHES {
            let x1 = x0 + step.clamp(-LONGEST_LEAN, LONGEST_LEAN);
            let Some((f1, at_x1)) = self.at(x1) else {
                step *= 0.5;
                continue;
            };
            best = (x1, at_x1);
            if f1.abs() < NEAR_ENOUGH {
                break;
            }
            step = -f1 * (x1 - x0) / (f1 - f0);
            (x0, f0) = (x1, f1);
            if !step.is_finite() {
                break;
            }
        }
        best
    }
}

/// Secants of the sketch, its longest step and the ln at which it ends: our choice; only the number
/// of steps of the solver proper depends on them.
const SKETCHES: usize = 8;
const LONGEST_LEAN: f64 = 3.0;
const NEAR_ENOUGH: f64 = 0.005;
