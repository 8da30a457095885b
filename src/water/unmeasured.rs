//! What charge balance, conductivity and dissolved solids say of what was not measured.
//!
//! The measured ions leave a gap `D` of charge, cations less anions, in meq/L. Let `P` and `N` be the
//! sums of the cations and anions that were not measured. Then `N − P = D ± ε`, where `ε` is what the
//! charge-balance test of a whole analysis would accept. So
//! * `P ≥ −D − ε` and `N ≥ D − ε`, and none below 0;
//! * where only anions are missing `P = 0`, so `N ≤ D + ε`; where only cations, `P ≤ −D + ε`;
//! * where both are missing, charge balance leaves open how much salt there is. A measured
//!   conductivity, or dissolved solids, then limit `P`; without them nothing does.
//!
//! Each missing ion is at most the whole of its side, and at least that only where it is alone. These
//! are the bounds. The chemistry of the other ions needs a number as well: the estimate is the least
//! salt that the gap asks for, in the proportions of river water, or as much as the conductivity says.
//! How wrong that may be is carried by two extremes, which are waters too. Where nothing limits the
//! salt they go to the limits of drinking water: an assumption, used for the ± of the conductivity
//! and of what depends on the ionic strength, and never for a bound.

use crate::chemistry::equilibrium::{Bracket, bracketed};
use crate::chemistry::{
    Aqueous, Carbon, ChemistryError, Composition, Conductor, Conserved, UnmeasuredTotal,
};
use crate::quantities::Celsius;
use crate::reference::natural_waters::{RIVER_WATER_MG_PER_L, SILICA_UP_TO_MG_PER_L};
use crate::water::drinking_limits::limit_of;
use crate::water::measured_sums::{ANALYSIS_CELSIUS, SOLIDS_OF_SUM, Sums};
use crate::water::{Measure, charge_balance};

/// How far a measured conductivity may be from that of its ions, as a part of it: our choice, three
/// standard uncertainties of a meter and of the model, 2 % each. It decides the bounds that follow
/// from a conductivity.
const CONDUCTIVITY_WITHIN: f64 = 0.085;

/// Ions of each side by what an equivalent of them conducts in a hard water, the least first.
const CATIONS: [Conserved; 4] = [Conserved::Na, Conserved::Mg, Conserved::Ca, Conserved::K];
const ANIONS: [Conserved; 4] =
    [Conserved::Alkalinity, Conserved::NO3, Conserved::SO4, Conserved::Cl];

/// Amounts of some ions, meq/L.
type Ions = Vec<(Conserved, f64)>;

/// Opens the totals that were not measured: estimate, bounds, extremes. `within` says how far each
/// measured amount may be off.
pub(crate) fn leave_unmeasured(
    water: &mut Composition,
    unknown: &[Conserved],
    within: f64,
    sums: &Sums,
) {
    let gap = Gap::of(water, unknown, within);
    let salt = gap.salt(sums);
    for &c in unknown {
        let per_mmol = f64::from(c.charge().abs().max(1));
        let of = |ions: &Ions| -> f64 {
            ions.iter().filter(|(ion, _)| *ion == c).map(|(_, meq)| meq / per_mmol).sum()
        };
        let here = of(&salt.estimate);
        let (at_least, at_most) = gap.bounds(c, salt.most_cations);
        let open = UnmeasuredTotal {
            below: here - (at_least / per_mmol).min(here),
            above: at_most.map(|meq| (meq / per_mmol).max(here) - here),
            to_least: of(&salt.least) - here,
            to_most: of(&salt.most) - here,
        };
        water.leave_unmeasured(c, here, open);
        if c == Conserved::Alkalinity {
            // Carbon is taken to be that of the alkalinity, as where no pH was measured.
            water.leave_unmeasured(Conserved::Dic, here, open);
        }
    }
}

/// The same for a water of which only the amounts are known, as records keep it.
pub fn bound_by_charge(water: &mut Composition, not_measured: &[Conserved]) {
    leave_unmeasured(water, not_measured, 0.0, &Sums::default());
}

/// The charge that the measured ions leave open.
struct Gap {
    /// The water with none of what was not measured.
    known: Composition,
    /// Cations that were not measured.
    cations: Vec<Conserved>,
    /// Anions that were not measured.
    anions: Vec<Conserved>,
    silica_is_open: bool,
    /// Cations less anions of what was measured, meq/L.
    meq: f64,
    /// What of it the test of a whole analysis would accept, meq/L.
    accepted: f64,
}

/// What was not measured: the estimate, and the extremes that it may be wrong by.
struct Salt {
    estimate: Ions,
    least: Ions,
    most: Ions,
    /// Cations at most, where something limits them, meq/L.
    most_cations: Option<f64>,
}

impl Gap {
    fn of(water: &Composition, unknown: &[Conserved], within: f64) -> Self {
        let missing = |order: [Conserved; 4]| -> Vec<Conserved> {
            order.into_iter().filter(|c| unknown.contains(c)).collect()
        };
        let known = water.without(unknown);
        let charge_of = |c: &Conserved| if unknown.contains(c) { 0 } else { c.charge() };
        let coefficients = Conserved::ALL.map(|c| f64::from(charge_of(&c)));
        let cations = known.dot(&coefficients.map(|z| z.max(0.0)));
        let anions = known.dot(&coefficients.map(|z| (-z).max(0.0)));
        let most = known.bounds_of(&coefficients).at_most;
        let undetected = most.map_or(0.0, |most| most - (cations - anions));
        // The whole water has as much of either side as the larger of what was measured.
        let side = f64::max(cations, anions);
        let accepted = charge_balance::limit(side, side).max(within * (cations + anions));
        Self {
            known,
            cations: missing(CATIONS),
            anions: missing(ANIONS),
            silica_is_open: unknown.contains(&Conserved::SiO2),
            meq: cations - anions,
            accepted: accepted + undetected,
        }
    }

    /// Whether what was not measured can close the gap at all; where it cannot, the measured ions
    /// contradict each other and bound nothing.
    fn can_close(&self) -> bool {
        let lacking = if self.meq > 0.0 { &self.anions } else { &self.cations };
        self.meq.abs() <= self.accepted
            || charge_balance::could_be(lacking, self.meq.abs(), self.accepted)
    }

    /// Least and most of an ion, meq/L, where the cations are limited to some most.
    fn bounds(&self, c: Conserved, most_cations: Option<f64>) -> (f64, Option<f64>) {
        if !self.can_close() {
            return (0.0, None);
        }
        let Self { meq: gap, accepted, .. } = self;
        let both = !self.cations.is_empty() && !self.anions.is_empty();
        let (alone, asked, over) = match c.charge().signum() {
            1 => (self.cations.len() == 1, -gap, most_cations),
            -1 => (self.anions.len() == 1, *gap, most_cations.map(|most| most + gap)),
            _ => return (0.0, None),
        };
        let least = if alone { (asked - accepted).max(0.0) } else { 0.0 };
        let most = if both { over.map(|m| m + accepted) } else { Some(asked + accepted) };
        (least, most.map(|m| m.max(0.0)))
    }

    /// Cations and anions that the gap asks for at least, meq/L; what the test accepts asks for
    /// nothing.
    fn asked(&self) -> (f64, f64) {
        if self.meq.abs() <= self.accepted || !self.can_close() {
            return (0.0, 0.0);
        }
        ((-self.meq).max(0.0), self.meq.max(0.0))
    }

    fn salt(&self, sums: &Sums) -> Salt {
        let (cations, anions) = self.asked();
        let both = !self.cations.is_empty() && !self.anions.is_empty();
        if both && let Some(limited) = self.limited(sums) {
            return limited;
        }
        let estimate = self.shared(cations, anions);
        let less = |meq: f64| (meq - self.accepted).max(0.0);
        let least = self.within_limits(Conducting::Least, less(cations), less(anions));
        let most = if both {
            let salt = limit_of(&self.cations).min(limit_of(&self.anions));
            self.within_limits(Conducting::Most, cations + salt, anions + salt)
        } else {
            let more = |side: &[Conserved], meq: f64| {
                // Where the measured ions contradict each other there may be anything.
                let asked = if self.can_close() { meq } else { self.meq.abs() };
                if side.is_empty() { 0.0 } else { (asked + self.accepted).max(0.0) }
            };
            let (cations, anions) = (more(&self.cations, -self.meq), more(&self.anions, self.meq));
            self.within_limits(Conducting::Most, cations, anions)
        };
        Salt { estimate, least, most, most_cations: None }
    }

    /// The salt that a measured sum leaves room for; nothing when none was measured, or the ions
    /// that were measured exceed it.
    fn limited(&self, sums: &Sums) -> Option<Salt> {
        let measured_sum = MeasuredSum::of(sums, self.silica_is_open)?;
        let (cations, anions) = self.asked();
        let estimate = |salt: f64| self.shared(cations + salt, anions + salt);
        let estimate = estimate(self.salt_for(&measured_sum, measured_sum.given, &estimate)?);
        let mut low: Option<(f64, Ions)> = None;
        let mut high: Option<(f64, Ions)> = None;
        for &cation in &self.cations {
            for &anion in &self.anions {
                let pair = |cations: f64, accepted: f64| -> Ions {
                    let anions = (cations + self.meq + accepted).max(0.0);
                    vec![(cation, cations), (anion, anions)]
                };
                let few = |cations: f64| pair(cations, self.accepted);
                let many = |cations: f64| pair(cations, -self.accepted);
                let fewest = self.salt_for(&measured_sum, measured_sum.low, &few)?;
                let most = self.salt_for(&measured_sum, measured_sum.high, &many)?;
                if low.as_ref().is_none_or(|(known, _)| fewest < *known) {
                    low = Some((fewest, few(fewest)));
                }
                if high.as_ref().is_none_or(|(known, _)| most > *known) {
                    high = Some((most, many(most)));
                }
            }
        }
        let ((_, least), (most_cations, most)) = low.zip(high)?;
        if most_cations <= 0.0 {
            return None;
        }
        Some(Salt { estimate, least, most, most_cations: Some(most_cations) })
    }

    /// The salt, meq/L, with which the water has so much of what was measured; 0 where it has that
    /// much without.
    fn salt_for(
        &self,
        measured_sum: &MeasuredSum,
        wanted: f64,
        ions: &dyn Fn(f64) -> Ions,
    ) -> Option<f64> {
        /// Our choice: the salt to a millionth of a meq/L.
        const WIDTH: f64 = 1e-6;
        let over = |salt: f64| Ok(measured_sum.read(&self.with(&ions(salt)))? - wanted);
        if over(0.0).ok()? >= 0.0 {
            return Some(0.0);
        }
        let mut high = 1.0;
        while over(high).is_ok_and(|short| short < 0.0) {
            high *= 2.0;
        }
        bracketed::<ChemistryError>(Bracket { low: 0.0, high }, WIDTH, over).ok()
    }

    /// The water with some ions more.
    fn with(&self, ions: &Ions) -> Composition {
        let mut water = self.known;
        for (ion, meq) in ions {
            let mmol = meq / f64::from(ion.charge().abs().max(1));
            water.add_mmol_per_l(*ion, mmol);
            if *ion == Conserved::Alkalinity {
                water.add_mmol_per_l(Conserved::Dic, mmol);
            }
        }
        water
    }

    /// Cations and anions shared out as in river water.
    fn shared(&self, cations: f64, anions: f64) -> Ions {
        let part = |c: Conserved| -> f64 {
            let river = RIVER_WATER_MG_PER_L.iter().find(|(key, _)| *key == c.key());
            river.map_or(0.0, |(_, mg)| mg / c.g_per_mol() * f64::from(c.charge().abs()))
        };
        let share = |side: &[Conserved], meq: f64| -> Ions {
            let whole: f64 = side.iter().map(|c| part(*c)).sum();
            side.iter().map(|c| (*c, meq * part(*c) / whole)).collect()
        };
        [share(&self.cations, cations), share(&self.anions, anions)].concat()
    }

    /// Cations and anions as those that conduct least or most, each up to its limit.
    fn within_limits(&self, which: Conducting, cations: f64, anions: f64) -> Ions {
        let fill = |side: &[Conserved], meq: f64| -> Ions {
            let mut order = side.to_vec();
            if which == Conducting::Most {
                order.reverse();
            }
            let mut left = meq;
            let mut ions: Ions = order
                .into_iter()
                .map(|c| {
                    let taken = left.min(limit_of(&[c]));
                    left -= taken;
                    (c, taken)
                })
                .collect();
            // The gap may ask for more than the limits, which are only assumed.
            if let Some((_, first)) = ions.first_mut() {
                *first += left;
            }
            ions
        };
        [fill(&self.cations, cations), fill(&self.anions, anions)].concat()
    }
}

/// Which ions of a side come first.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Conducting {
    Least,
    Most,
}

/// A sum over all constituents that was measured, and how far the ions may be from it.
struct MeasuredSum {
    by: By,
    low: f64,
    given: f64,
    high: f64,
}

/// What the sum is of.
enum By {
    Conductivity { at: Box<Aqueous>, conductor: Box<Conductor> },
    Solids(Measure),
}

impl MeasuredSum {
    fn of(sums: &Sums, silica_is_open: bool) -> Option<Self> {
        if let Some(given) = sums.us_per_cm {
            let at = Aqueous::at(Celsius::new(ANALYSIS_CELSIUS)).ok()?;
            let conductor = Box::new(Conductor::at(&at));
            return Some(Self {
                by: By::Conductivity { at: Box::new(at), conductor },
                low: given * (1.0 - CONDUCTIVITY_WITHIN),
                given,
                high: given * (1.0 + CONDUCTIVITY_WITHIN),
            });
        }
        let (measure, given) = sums.solids?;
        let [least, most] = SOLIDS_OF_SUM;
        let silica = if silica_is_open { SILICA_UP_TO_MG_PER_L } else { 0.0 };
        Some(Self {
            by: By::Solids(measure),
            low: given / most - silica,
            given,
            high: given / least,
        })
    }

    fn read(&self, water: &Composition) -> Result<f64, ChemistryError> {
        match &self.by {
            By::Conductivity { at, conductor } => {
                let species = at.speciate(water, Carbon::Closed)?;
                Ok(conductor.conductivity(&species).us_per_cm)
            }
            By::Solids(measure) => Ok(measure.of(water)),
        }
    }
}
