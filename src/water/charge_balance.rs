//! Whether the cations and anions of an analysis cancel (Standard Methods 1030 E).

use serde::Serialize;

use crate::chemistry::{Composition, Conserved, ConservedSet};
use crate::reference::water_hardness::CHARGE_BALANCE_LIMITS;
use crate::water::drinking_limits::limit_of;

/// The ions that carry nearly all of the charge of a natural water; nitrate and potassium are
/// minor. Our choice: a test without one of these on either side is none.
const MAIN_CATIONS: [Conserved; 3] = [Conserved::Ca, Conserved::Mg, Conserved::Na];
const MAIN_ANIONS: [Conserved; 3] = [Conserved::Cl, Conserved::SO4, Conserved::Alkalinity];

/// Result of the charge-balance test.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ChargeBalance {
    /// Sum of cations, meq/L.
    pub cations_meq_per_l: f64,
    /// Sum of anions, meq/L.
    pub anions_meq_per_l: f64,
    /// Largest acceptable difference for this sum of anions, meq/L.
    pub limit_meq_per_l: f64,
    /// Sum of cations at least and at most, where some were only found to be below a limit, meq/L.
    pub cations_between_meq_per_l: [f64; 2],
    /// Sum of anions at least and at most, meq/L.
    pub anions_between_meq_per_l: [f64; 2],
    /// Ions that were not measured, so that they are in neither sum.
    pub not_measured: ConservedSet,
    /// Ions that are only known by limits.
    pub by_limits: ConservedSet,
}

/// What the test says.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum BalanceVerdict {
    /// The charges cancel within the limits, and what was not measured could hide no main ion on
    /// both sides.
    Passes,
    /// They do not, and nothing that was not measured explains it; or one side was measured and of
    /// the other nothing.
    Fails,
    /// Ions that were not measured, or only found to be below a limit, decide it: as it stands it is no
    /// test.
    Incomplete,
}

impl ChargeBalance {
    /// Tests a composition.
    #[must_use]
    pub fn of(water: &Composition) -> Self {
        let cations = water.cations_meq_per_l();
        let anions = water.anions_meq_per_l();
        let charged = |set: ConservedSet| set.iter().filter(|c| c.charge() != 0).collect();
        let between = |sum: f64, takes: fn(i32) -> bool| {
            let coefficient = |c: Conserved| {
                let counts = takes(c.charge()) && water.is_measured(c);
                if counts { f64::from(c.charge().abs()) } else { 0.0 }
            };
            let bounds = water.bounds_of(&Conserved::ALL.map(coefficient));
            [bounds.at_least.min(sum), bounds.at_most.unwrap_or(sum).max(sum)]
        };
        Self {
            cations_meq_per_l: cations,
            anions_meq_per_l: anions,
            limit_meq_per_l: limit(cations, anions),
            cations_between_meq_per_l: between(cations, |z| z > 0),
            anions_between_meq_per_l: between(anions, |z| z < 0),
            not_measured: charged(water.not_measured()),
            by_limits: charged(water.known_by_limits()),
        }
    }

    /// Cations less anions, meq/L.
    #[must_use]
    pub fn difference_meq_per_l(&self) -> f64 {
        self.cations_meq_per_l - self.anions_meq_per_l
    }

    /// The difference in per cent of the sum of both; 0 for pure water.
    #[must_use]
    pub fn difference_percent(&self) -> f64 {
        let sum = self.cations_meq_per_l + self.anions_meq_per_l;
        if sum > 0.0 { 100.0 * self.difference_meq_per_l() / sum } else { 0.0 }
    }

    /// How much more of anions than of cations there must be among the ions that were not measured,
    /// meq/L: from, to. None where everything was measured, or where they cannot close the gap.
    #[must_use]
    pub fn among_unmeasured(&self) -> Option<[f64; 2]> {
        let has = |sign: i32| self.not_measured.iter().any(|c| c.charge().signum() == sign);
        let least = if has(1) { f64::NEG_INFINITY } else { 0.0 };
        let most = if has(-1) { f64::INFINITY } else { 0.0 };
        // The whole water has as much of either side as the larger of what was measured.
        let side = f64::max(self.cations_meq_per_l, self.anions_meq_per_l);
        let accepted = limit(side, side);
        let [low, high] = self.ends().map(|(cations, anions)| cations - anions);
        let ends = [low - accepted, high + accepted];
        let ends = ends.map(|end| end.clamp(least, most));
        (!self.not_measured.is_empty() && (self.can_agree() || self.explained())).then_some(ends)
    }

    /// Cations and anions with the fewest cations beside the most anions, and the other way round.
    fn ends(&self) -> [(f64, f64); 2] {
        let ([fewest, most], [few, many]) =
            (self.cations_between_meq_per_l, self.anions_between_meq_per_l);
        [(fewest, many), (most, few)]
    }

    /// Cations and anions as near to each other as what was only found to be below a limit lets them be.
    fn nearest(&self) -> (f64, f64) {
        let [few, many] = self.ends();
        if few.0 > few.1 {
            few
        } else if many.0 < many.1 {
            many
        } else {
            // They can be the same.
            (few.1, few.1)
        }
    }

    /// Whether the sums agree somewhere within the limits of detection.
    fn can_agree(&self) -> bool {
        agree(self.nearest())
    }

    /// Whether they agree wherever within the limits of detection.
    fn must_agree(&self) -> bool {
        self.ends().into_iter().all(agree)
    }

    /// Whether what was not measured can be what is missing on one side. Too few anions may be anions
    /// that were not measured, and the other way round.
    fn explained(&self) -> bool {
        let (cations, anions) = self.nearest();
        let difference = cations - anions;
        let lacking = if difference > 0.0 { -1 } else { 1 };
        let missing: Vec<Conserved> =
            self.not_measured.iter().filter(|c| c.charge().signum() == lacking).collect();
        could_be(&missing, difference.abs(), limit(cations, anions))
    }

    /// Whether the test was made and the difference is acceptable.
    #[must_use]
    pub fn passes(&self) -> bool {
        self.verdict() == BalanceVerdict::Passes
    }

    /// What the test says.
    ///
    /// ```
    /// use waterflight::chemistry::{Composition, Conserved, UnmeasuredTotal};
    /// use waterflight::water::{BalanceVerdict, ChargeBalance};
    /// let mut water = Composition::PURE_WATER;
    /// for (cation, anion) in [(Conserved::Ca, Conserved::SO4), (Conserved::Na, Conserved::Cl)] {
    ///     water.set_mmol_per_l(cation, 1.0);
    ///     water.set_mmol_per_l(anion, 1.0);
    /// }
    /// assert_eq!(ChargeBalance::of(&water).verdict(), BalanceVerdict::Passes);
    /// // The same without its chloride: what is missing may be that.
    /// water.leave_unmeasured(Conserved::Cl, 0.0, UnmeasuredTotal::default());
    /// assert_eq!(ChargeBalance::of(&water).verdict(), BalanceVerdict::Incomplete);
    /// ```
    #[must_use]
    pub fn verdict(&self) -> BalanceVerdict {
        let unmeasured =
            |main: &[Conserved]| main.iter().filter(|c| self.not_measured.contains(**c)).count();
        let (cations, anions) = (unmeasured(&MAIN_CATIONS), unmeasured(&MAIN_ANIONS));
        // Of nothing at all there is no test either way.
        let whole_side = (cations == MAIN_CATIONS.len()) != (anions == MAIN_ANIONS.len());
        let is_test = cations == 0 || anions == 0;
        if whole_side || !(self.can_agree() || self.explained()) {
            BalanceVerdict::Fails
        } else if self.must_agree() && is_test {
            BalanceVerdict::Passes
        } else {
            BalanceVerdict::Incomplete
        }
    }
}

/// Whether ions of one side that were not measured can be what is missing there, meq/L. Minor ions
/// cannot be more than drinking water has of them at most; of the main ones there may be any amount.
pub(crate) fn could_be(ions: &[Conserved], meq_per_l: f64, accepted: f64) -> bool {
    let is_main = |c: &Conserved| MAIN_CATIONS.contains(c) || MAIN_ANIONS.contains(c);
    ions.iter().any(is_main) || (!ions.is_empty() && meq_per_l <= limit_of(ions) + accepted)
}

/// Whether the difference of these sums of cations and anions is acceptable, meq/L.
fn agree((cations, anions): (f64, f64)) -> bool {
    (cations - anions).abs() <= limit(cations, anions)
}

/// The largest acceptable difference of these sums, meq/L.
pub(crate) fn limit(cations_meq_per_l: f64, anions_meq_per_l: f64) -> f64 {
    CHARGE_BALANCE_LIMITS.iter().find(|row| anions_meq_per_l <= row.up_to_anions_meq_per_l).map_or(
        0.0,
        |row| {
            let sum = cations_meq_per_l + anions_meq_per_l;
            let relative = row.difference_percent.map(|p| p / 100.0 * sum);
            row.difference_meq_per_l.or(relative).unwrap_or(0.0)
        },
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chemistry::UnmeasuredTotal;

    fn balance(sodium: f64, chloride: f64) -> ChargeBalance {
        let mut water = Composition::PURE_WATER;
        water.set_mmol_per_l(Conserved::Na, sodium);
        water.set_mmol_per_l(Conserved::Cl, chloride);
        ChargeBalance::of(&water)
    }

    #[test]
    fn each_row_of_the_criteria_applies_in_its_range() {
        assert!(balance(1.15, 1.0).passes());
        assert!(!balance(1.25, 1.0).passes());
        assert!(balance(5.15, 5.0).passes());
        assert!(!balance(5.25, 5.0).passes());
        assert!(balance(22.0, 20.0).passes());
        assert!(!balance(23.0, 20.0).passes());
    }

    /// 2 meq/L of sodium beside 1 of nitrate and chloride below a limit.
    #[test]
    fn limits_of_detection_can_close_the_gap() {
        let mut water = Composition::PURE_WATER;
        water.set_mmol_per_l(Conserved::Na, 2.0);
        water.set_mmol_per_l(Conserved::NO3, 1.0);
        let mut with = |half: f64| {
            water.set_below_limit(Conserved::Cl, half);
            ChargeBalance::of(&water).verdict()
        };
        assert_eq!(with(0.2), BalanceVerdict::Fails);
        assert_eq!(with(0.6), BalanceVerdict::Incomplete);
        // Whatever chloride is, the sums agree.
        water.set_mmol_per_l(Conserved::NO3, 1.95);
        water.set_below_limit(Conserved::Cl, 0.1);
        assert_eq!(ChargeBalance::of(&water).verdict(), BalanceVerdict::Passes);
    }

    fn without(water: &Composition, not_measured: &[Conserved]) -> BalanceVerdict {
        let mut water = *water;
        for c in not_measured {
            water.leave_unmeasured(*c, 0.0, UnmeasuredTotal::default());
        }
        ChargeBalance::of(&water).verdict()
    }

    #[test]
    fn ions_that_were_not_measured_never_let_it_pass() {
        use Conserved::{Alkalinity, Ca, Cl, K, Mg, NO3, Na, SO4};
        let mut water = Composition::PURE_WATER;
        for (c, mmol) in [(Ca, 0.05), (Alkalinity, 0.1)] {
            water.set_mmol_per_l(c, mmol);
        }
        assert_eq!(without(&water, &[]), BalanceVerdict::Passes);
        // A drop kit: equal sums by chance say nothing.
        assert_eq!(without(&water, &[Na, K, Cl, SO4, NO3]), BalanceVerdict::Incomplete);
        // All cations and no anion, or the reverse, even where the sums are below the limit.
        assert_eq!(without(&water, &[Cl, SO4, NO3, Alkalinity]), BalanceVerdict::Fails);
        assert_eq!(without(&water, &[Ca, Mg, Na, K]), BalanceVerdict::Fails);
        assert_eq!(without(&Composition::PURE_WATER, &Conserved::ALL), BalanceVerdict::Incomplete);
        // Potassium and nitrate are minor ions.
        assert_eq!(without(&water, &[K, NO3]), BalanceVerdict::Passes);
        // All cations are there: what of the anions is missing is little.
        assert_eq!(without(&water, &[SO4]), BalanceVerdict::Passes);
        // Too many anions are not explained by more of them.
        water.set_mmol_per_l(Alkalinity, 2.0);
        assert_eq!(without(&water, &[SO4]), BalanceVerdict::Fails);
        assert_eq!(without(&water, &[Na]), BalanceVerdict::Incomplete);
        // Nor by more potassium than any drinking water has.
        assert_eq!(without(&water, &[K]), BalanceVerdict::Fails);
        let among = |not_measured: &[Conserved]| {
            let mut water = water;
            for c in not_measured {
                water.leave_unmeasured(*c, 0.0, UnmeasuredTotal::default());
            }
            ChargeBalance::of(&water).among_unmeasured()
        };
        assert_eq!(among(&[]), None);
        assert_eq!(among(&[SO4]), None);
        let sodium = among(&[Na]).map(|ends| ends.map(|end| (10.0 * end).round() / 10.0));
        // The sums are 0.1 and 2 meq/L, and 0.2 meq/L is what such a test accepts.
        assert_eq!(sodium, Some([-2.1, -1.7]));
    }
}
