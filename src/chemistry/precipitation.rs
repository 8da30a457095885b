//! Which minerals precipitate from a water together, and how much of each.
#![expect(clippy::indexing_slicing, reason = "one place per mineral or set of solids")]

use crate::chemistry::Composition;
use crate::chemistry::Mineral;
use crate::chemistry::Species;
use crate::chemistry::equilibrium::NoConvergence;
use crate::chemistry::solution::{ABSENT, CA, MG, MILLI, Precision, SI, Solids, Solution};
use crate::chemistry::species::{Group, var};
use crate::chemistry::{Aqueous, ChemistryError};
use crate::chemistry::{Carbon, Speciation};

/// What precipitates from a water and what stays dissolved.
#[derive(Debug, Clone, Copy)]
pub struct Precipitation<'a> {
    /// mmol per kg of each mineral, in the order of [`Mineral::ALL`].
    amounts: [f64; Mineral::ALL.len()],
    /// The clear water over the solids.
    pub rest: Speciation<'a>,
}

impl Precipitation<'_> {
    /// Amount of a mineral, mmol/kg.
    #[must_use]
    pub fn mmol_per_kg(&self, mineral: Mineral) -> f64 {
        self.amounts[mineral as usize]
    }

    /// Whether nothing precipitates.
    #[must_use]
    pub fn is_clear(&self) -> bool {
        self.amounts.iter().all(|amount| *amount <= 0.0)
    }
}

/// Saturation index, ln, within which a mineral counts as in equilibrium, and amount, mol/kg,
/// within which it counts as none: our choice, the rounding of the solver.
const INDEX_ROUNDING: f64 = 1e-7;
const AMOUNT_ROUNDING: f64 = 1e-13;

impl Aqueous {
    /// Which of the minerals named precipitate from a water until none is oversaturated, and how much.
    ///
    /// Of calcite and aragonite, and of gypsum and anhydrite, the less soluble of those named is
    /// taken: two forms of one compound never stand in equilibrium together. Nor do brucite and
    /// nesquehonite where the fugacity of CO2 is given; in a closed water they can. There is one answer,
    /// since the equilibrium of given totals is the minimum of a convex function.
    ///
    /// # Errors
    /// As [`Aqueous::speciate`].
    pub fn precipitate(
        &self,
        water: &Composition,
        carbon: Carbon,
        minerals: &[Mineral],
    ) -> Result<Precipitation<'_>, ChemistryError> {
        let clear = self.speciate(water, carbon)?;
        let allowed = Allowed::of(&clear, clear.solution.ln_water, minerals);
        let dropped = allowed.drop_from(&clear)?;
        // What precipitates raises the activity of water a little, which can turn a choice: near 45 °C
        // that between gypsum and anhydrite.
        let again = Allowed::of(&clear, dropped.rest.solution.ln_water, minerals);
        if again == allowed { Ok(dropped) } else { again.drop_from(&clear) }
    }
}

/// The minerals that may precipitate, one of each kind.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Allowed {
    solids: Solids,
    /// Whether the two magnesium minerals may stand together.
    both_of_magnesium: bool,
}

impl Allowed {
    fn of(clear: &Speciation<'_>, ln_water: f64, minerals: &[Mineral]) -> Self {
        let at = clear.at;
        let least = |forms: [Mineral; 2]| {
            let named = forms.into_iter().filter(|m| minerals.contains(m));
            named.min_by(|a, b| {
                let solubility = |m: Mineral| {
                    let hydrate = if m == Mineral::Gypsum { 2.0 * ln_water } else { 0.0 };
                    at.ln_k_mineral(m) - hydrate
                };
                solubility(*a).total_cmp(&solubility(*b))
            })
        };
        let closed = clear.carbon == Carbon::Closed;
        let [_, ln_co2, ..] = clear.solution.lambda;
        // ln K of nesquehonite = brucite + CO2(aq), less that of what is there
        let to_brucite = at.ln_k_mineral(Mineral::Nesquehonite)
            - at.ln_k_mineral(Mineral::Brucite)
            - at.ln_k_co3()
            - 2.0 * ln_water
            - ln_co2;
        let named = |mineral: Mineral| minerals.contains(&mineral);
        let both = named(Mineral::Brucite) && named(Mineral::Nesquehonite);
        let solids = Solids {
            carbonate: least([Mineral::Calcite, Mineral::Aragonite]),
            sulfate: least([Mineral::Gypsum, Mineral::Anhydrite]),
            hydroxide: named(Mineral::Brucite) && (!both || closed || to_brucite > 0.0),
            magnesium_carbonate: named(Mineral::Nesquehonite)
                && (!both || closed || to_brucite <= 0.0),
            silica: named(Mineral::AmorphousSilica),
        };
        Self { solids, both_of_magnesium: both && closed }
    }

    /// Lets solids come and go until nothing is oversaturated and none would have to be negative.
    fn drop_from<'a>(self, clear: &Speciation<'a>) -> Result<Precipitation<'a>, ChemistryError> {
        let mut tried = [false; Solids::KINDS];
        let mut solids = Solids::default();
        let mut solution = clear.solution;
        loop {
            tried[solids.kind()] = true;
            let (amounts, next) = self.judge(clear, solids, &solution);
            let Some(next) = next else {
                return Ok(Precipitation { amounts, rest: Speciation { solution, ..*clear } });
            };
            // A set of solids that comes up again would go round in circles: take one not yet
            // tried, so that each is seen at most once.
            solids = if tried[next.kind()] {
                let untried = self.sets().find(|set| !tried[set.kind()]);
                untried.ok_or(NoConvergence { iterations: Solids::KINDS, residual: f64::NAN })?
            } else {
                next
            };
            solution = clear.with(solids, Precision::Full, &solution)?;
        }
    }

    /// All sets of solids that may stand together.
    fn sets(self) -> impl Iterator<Item = Solids> {
        let with = |bits: usize, bit: usize| bits & bit != 0;
        let most = self.solids;
        (0..Solids::KINDS)
            .map(move |bits| Solids {
                carbonate: most.carbonate.filter(|_| with(bits, 1)),
                sulfate: most.sulfate.filter(|_| with(bits, 2)),
                hydroxide: most.hydroxide && with(bits, 4),
                magnesium_carbonate: most.magnesium_carbonate && with(bits, 8),
                silica: most.silica && with(bits, 16),
            })
            .filter(move |set| {
                self.both_of_magnesium || !(set.hydroxide && set.magnesium_carbonate)
            })
    }

    /// The amounts of the solids, and the set to try next when this one is not it: without the
    /// solid that would have to be negative, or with the one that is most oversaturated.
    fn judge(
        self,
        water: &Speciation<'_>,
        solids: Solids,
        solution: &Solution,
    ) -> ([f64; Mineral::ALL.len()], Option<Solids>) {
        let amounts = amounts(water, solids, solution);
        let of = |m: Mineral| amounts[m as usize];
        let mut least: Option<(f64, Mineral)> = None;
        for solid in solids.iter().filter(|m| of(*m) < -AMOUNT_ROUNDING) {
            if least.is_none_or(|(amount, _)| of(solid) < amount) {
                least = Some((of(solid), solid));
            }
        }
        let in_mmol = amounts.map(|mol| (mol / MILLI).max(0.0));
        if let Some((_, solid)) = least {
            return (in_mmol, Some(solids.without(solid)));
        }
        let mut most: Option<(f64, Mineral)> = None;
        for mineral in self.solids.iter() {
            if solids.iter().any(|m| m == mineral) {
                continue;
            }
            let Some(product) = solution.ln_product(water.at, mineral) else { continue };
            let over = product - water.at.ln_k_mineral(mineral);
            if over > INDEX_ROUNDING && most.is_none_or(|(best, _)| over > best) {
                most = Some((over, mineral));
            }
        }
        (in_mmol, most.map(|(_, mineral)| solids.and(mineral)))
    }
}

/// mol per kg of each mineral: what the totals do not find in solution.
fn amounts(
    water: &Speciation<'_>,
    solids: Solids,
    solution: &Solution,
) -> [f64; Mineral::ALL.len()] {
    let totals = &water.totals;
    let calcium = totals.own_of(CA) - solution.dissolved(Group::Ca);
    let sulfate = totals.balance_of(var::S) - solution.dissolved_sulfate();
    let mut amounts = [0.0; Mineral::ALL.len()];
    let mut set = |mineral: Mineral, amount: f64| amounts[mineral as usize] = amount;
    match (solids.carbonate, solids.sulfate) {
        (Some(carbonate), Some(form)) => {
            set(form, sulfate);
            set(carbonate, calcium - sulfate);
        }
        (Some(carbonate), None) => set(carbonate, calcium),
        (None, Some(form)) => set(form, calcium),
        (None, None) => {}
    }
    let magnesium = totals.own_of(MG) - solution.dissolved(Group::Mg);
    match (solids.hydroxide, solids.magnesium_carbonate) {
        (true, true) => {
            let of_calcium = solids.carbonate.map_or(0.0, |carbonate| amounts[carbonate as usize]);
            let carbon = totals.balance_of(var::C) - solution.dissolved_carbon() - of_calcium;
            amounts[Mineral::Nesquehonite as usize] = carbon;
            amounts[Mineral::Brucite as usize] = magnesium - carbon;
        }
        (true, false) => amounts[Mineral::Brucite as usize] = magnesium,
        (false, true) => amounts[Mineral::Nesquehonite as usize] = magnesium,
        (false, false) => {}
    }
    if solids.silica {
        amounts[Mineral::AmorphousSilica as usize] =
            totals.own_of(SI) - solution.dissolved(Group::Si);
    }
    amounts
}

impl Solids {
    /// Number of sets of solids.
    const KINDS: usize = 32;

    fn kind(self) -> usize {
        usize::from(self.carbonate.is_some())
            + 2 * usize::from(self.sulfate.is_some())
            + 4 * usize::from(self.hydroxide)
            + 8 * usize::from(self.magnesium_carbonate)
            + 16 * usize::from(self.silica)
    }

    fn iter(self) -> impl Iterator<Item = Mineral> {
        let brucite = self.hydroxide.then_some(Mineral::Brucite);
        let nesquehonite = self.magnesium_carbonate.then_some(Mineral::Nesquehonite);
        let silica = self.silica.then_some(Mineral::AmorphousSilica);
        [self.carbonate, self.sulfate, brucite, nesquehonite, silica].into_iter().flatten()
    }

    fn without(mut self, mineral: Mineral) -> Self {
        match mineral {
            Mineral::Calcite | Mineral::Aragonite => self.carbonate = None,
            Mineral::Gypsum | Mineral::Anhydrite => self.sulfate = None,
            Mineral::Brucite => self.hydroxide = false,
            Mineral::Nesquehonite => self.magnesium_carbonate = false,
            Mineral::AmorphousSilica => self.silica = false,
        }
        self
    }

    fn and(mut self, mineral: Mineral) -> Self {
        match mineral {
            Mineral::Calcite | Mineral::Aragonite => self.carbonate = Some(mineral),
            Mineral::Gypsum | Mineral::Anhydrite => self.sulfate = Some(mineral),
            Mineral::Brucite => self.hydroxide = true,
            Mineral::Nesquehonite => self.magnesium_carbonate = true,
            Mineral::AmorphousSilica => self.silica = true,
        }
        self
    }
}

impl Solution {
    /// Total of an own group in solution, mol/kg.
    pub(crate) fn dissolved(&self, group: Group) -> f64 {
        let species = Species::ALL.iter().zip(&self.molality);
        species.filter(|(s, _)| s.row().group == group).map(|(_, m)| m).sum()
    }

    /// Total sulfate in solution, mol/kg.
    fn dissolved_sulfate(&self) -> f64 {
        self.dissolved_with(var::S)
    }

    /// Total carbon in solution, mol/kg.
    fn dissolved_carbon(&self) -> f64 {
        self.dissolved_with(var::C)
    }

    /// Total of a balance in solution, mol/kg.
    fn dissolved_with(&self, balance: usize) -> f64 {
        if self.lambda[balance] <= ABSENT {
            return 0.0;
        }
        let species = Species::ALL.iter().zip(&self.molality);
        species.map(|(s, m)| f64::from(s.row().nu[balance]) * m).sum()
    }
}
