//! Whether the cations and anions of an analysis cancel (Standard Methods 1030 E).

use crate::chemistry::Composition;
use crate::reference::water_hardness::CHARGE_BALANCE_LIMITS;

/// Result of the charge-balance test.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ChargeBalance {
    /// Sum of cations, meq/L.
    pub cations_meq_per_l: f64,
    /// Sum of anions, meq/L.
    pub anions_meq_per_l: f64,
    /// Largest acceptable difference for this sum of anions, meq/L.
    pub limit_meq_per_l: f64,
}

impl ChargeBalance {
    /// Tests a composition.
    #[must_use]
    pub fn of(water: &Composition) -> Self {
        let cations = water.cations_meq_per_l();
        let anions = water.anions_meq_per_l();
        let limit = CHARGE_BALANCE_LIMITS
            .iter()
            .find(|row| anions <= row.up_to_anions_meq_per_l)
            .map_or(0.0, |row| {
                let relative = row.difference_percent.map(|p| p / 100.0 * (cations + anions));
                row.difference_meq_per_l.or(relative).unwrap_or(0.0)
            });
        Self { cations_meq_per_l: cations, anions_meq_per_l: anions, limit_meq_per_l: limit }
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

    /// Whether the difference is acceptable.
    #[must_use]
    pub fn passes(&self) -> bool {
        self.difference_meq_per_l().abs() <= self.limit_meq_per_l
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chemistry::Conserved;

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
}
