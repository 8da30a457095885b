//! First guesses: the nearer they are, the fewer steps the search takes.
#![expect(clippy::indexing_slicing, reason = "one place per balance or species")]

use crate::chemistry::Species;
use crate::chemistry::solution::ABSENT;
use crate::chemistry::solution::search::{IONIC_STRENGTH_CAP, Search};
use crate::chemistry::solution::{CA, MG};
use crate::chemistry::solution::{FixedActivities, Problem, Solution};
use crate::chemistry::species::var;

impl<const L: usize, const K: usize> Search<'_, L, K> {
    /// A first guess of the ionic strength and of λ.
    pub(super) fn guess(&mut self, start: Option<&Solution>) -> f64 {
        let Problem { at, totals, kept, .. } = *self.problem;
        if let Some(start) = start {
            self.lambda.copy_from_slice(&start.lambda[..L]);
            self.crowd = start.molality_sum;
            self.keep(kept);
            return start.ionic_strength;
        }
        let [ca, mg, na, k, cl, _, n] = totals.own;
        let [h, _, s, cit, lac] = totals.balance;
        let ionic_strength = (0.5
            * (4.0 * (ca + mg + s) + na + k + cl + n + h.abs() + 9.0 * cit + lac))
            .min(IONIC_STRENGTH_CAP);
        let carbon = totals.balance[var::C];
        self.crowd = totals.own.iter().sum::<f64>() + carbon + s + cit + lac;
        self.coefficients.set(at, Self::SPECIES, ionic_strength, self.crowd);
        self.keep(kept);
        let pairs = |pairs: [Species; 2], alone: Species| {
            1.0 + self.pairing(pairs[0], Species::Ca, alone, ca)
                + self.pairing(pairs[1], Species::Mg, alone, mg)
        };
        let k = |s: Species| self.coefficients.ln_k[s.index()].exp();
        let acidity = AcidityGuess {
            alkalinity: -h,
            k_h: k(Species::H),
            k_oh: k(Species::OH),
            k_co2: k(Species::CO2),
            k_hco3: k(Species::HCO3) * pairs([Species::CaHCO3, Species::MgHCO3], Species::HCO3),
            k_co3: k(Species::CO3) * pairs([Species::CaCO3, Species::MgCO3], Species::CO3),
        };
        self.lambda[var::H] = kept.ln_h.unwrap_or_else(|| match kept.ln_co2 {
            Some(ln_co2) => acidity.open(ln_co2),
            None => acidity.closed(totals.balance[var::C]),
        });
        let ln_h = self.lambda[var::H];
        let free = self.free;
        for k in (0..L).filter(|k| free[*k]) {
            match k {
                var::H => {}
                var::C => self.lambda[var::C] = acidity.carbon(totals.balance[var::C], ln_h),
                var::S => self.lambda[var::S] = self.sulfate_guess(),
                other => self.lambda[other] = or_guess(totals.balance[other]).ln(),
            }
        }
        ionic_strength
    }

    /// Free sulfate left over by calcium and magnesium.
    fn sulfate_guess(&self) -> f64 {
        let totals = self.problem.totals;
        let total = or_guess(totals.balance[var::S]);
        let bound = self.pairing(Species::CaSO4, Species::Ca, Species::SO4, totals.own[CA])
            + self.pairing(Species::MgSO4, Species::Mg, Species::SO4, totals.own[MG]);
        (total / (1.0 + bound)).ln() - self.coefficients.ln_k[Species::SO4.index()]
    }

    /// Pair per free partner when all of an ion is free.
    fn pairing(&self, pair: Species, ion: Species, partner: Species, total: f64) -> f64 {
        if total <= 0.0 {
            return 0.0;
        }
        let ln_k = |s: Species| self.coefficients.ln_k[s.index()];
        total * (ln_k(pair) - ln_k(ion) - ln_k(partner)).exp()
    }

    fn keep(&mut self, kept: FixedActivities) {
        self.lambda[var::C] = kept.ln_co2.unwrap_or(self.lambda[var::C]);
        self.lambda[var::H] = kept.ln_h.unwrap_or(self.lambda[var::H]);
        // An earlier solution may lack what a mineral now brings in.
        for k in 0..L {
            if self.free[k] && self.lambda[k] <= ABSENT {
                self.lambda[k] = LEAST_GUESS.ln();
            }
        }
    }
}

/// Guess of a molality of which nothing is known, mol/kg: our choice; Newton finds the rest.
const LEAST_GUESS: f64 = 1e-6;

fn or_guess(total: f64) -> f64 {
    if total > 0.0 { total } else { LEAST_GUESS }
}

/// First guesses of the acidity from the carbonate system alone; the constants are molality over
/// the activities of H⁺ and CO2, pairs with calcium and magnesium counted in.
struct AcidityGuess {
    alkalinity: f64,
    k_h: f64,
    k_oh: f64,
    k_co2: f64,
    k_hco3: f64,
    k_co3: f64,
}

impl AcidityGuess {
    /// ln a(H⁺) of a water that breathes: `alkalinity = (A + W)/h + 2·B/h² − H·h`, solved without
    /// its last term where there is alkalinity, without the second elsewhere.
    fn open(&self, ln_co2: f64) -> f64 {
        let co2 = ln_co2.exp();
        let a = self.k_hco3 * co2 + self.k_oh;
        let b = self.k_co3 * co2;
        let alk = self.alkalinity;
        if alk > ENOUGH_ALKALINITY {
            ((a + (a * a + 8.0 * b * alk).sqrt()) / (2.0 * alk)).ln()
        } else {
            self.strong(alk, a)
        }
    }

    /// ln a(H⁺) when `alkalinity = A/h − H·h`.
    fn strong(&self, alk: f64, a: f64) -> f64 {
        let root = (alk * alk + 4.0 * self.k_h * a).sqrt();
        if alk > 0.0 {
            (2.0 * a / (alk + root)).ln()
        } else {
            ((root - alk) / (2.0 * self.k_h)).ln()
        }
    }

    /// ln a(H⁺) of a closed water: from CO2 and CO3²⁻, whose difference is carbon less alkalinity
    /// (and what OH⁻ takes of it) and whose product follows from HCO3⁻.
    fn closed(&self, carbon: f64) -> f64 {
        let alk = self.alkalinity;
        let hco3 = alk.min(2.0 * carbon - alk);
        if hco3 <= ENOUGH_ALKALINITY * CARBON_SHARE {
            return if alk > carbon {
                self.strong(alk - 2.0 * carbon, self.k_oh)
            } else {
                // CO2 with little alkalinity: A/h with all carbon as CO2.
                self.strong(alk, self.k_oh + self.k_hco3 / self.k_co2 * carbon)
            };
        }
        let product = 4.0 * self.k_co2 * self.k_co3 / (self.k_hco3 * self.k_hco3) * hco3 * hco3;
        let acidity = |excess: f64| {
            let root = (excess * excess + product).sqrt();
            let co2 =
                if excess > 0.0 { 0.5 * (excess + root) } else { 0.5 * product / (root - excess) };
            self.k_hco3 / self.k_co2 * co2 / hco3
        };
        let excess = carbon - alk;
        let h = acidity(excess);
        acidity(excess + self.k_oh / h).ln()
    }

    /// ln a(CO2) that spreads the carbon over its three forms at this acidity.
    fn carbon(&self, carbon: f64, ln_h: f64) -> f64 {
        let h = ln_h.exp();
        let spread = self.k_co2 + self.k_hco3 / h + self.k_co3 / (h * h);
        (or_guess(carbon) / spread).ln()
    }
}

/// Alkalinity, eq/kg, from which a first guess may leave H⁺ out, and the share of it below which
/// bicarbonate is left out: our choice; only the number of steps depends on them.
const ENOUGH_ALKALINITY: f64 = 1e-5;
const CARBON_SHARE: f64 = 1e-2;
