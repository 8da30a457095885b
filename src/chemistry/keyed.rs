//! Amounts under their keys, in a fixed order.

use serde::{Serialize, Serializer};

use crate::chemistry::{Composition, Conserved};

/// Keys and amounts; JSON shows them as an object in this order. Keys of what was not measured
/// have no amount, and are null there.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct KeyedAmounts(pub Vec<(&'static str, f64)>, NotMeasured);

/// Keys without an amount, each with its place among all keys.
type NotMeasured = Vec<(usize, &'static str)>;

impl Serialize for KeyedAmounts {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut all: Vec<(&str, Option<f64>)> =
            self.0.iter().map(|(key, amount)| (*key, Some(*amount))).collect();
        for (place, key) in &self.1 {
            all.insert((*place).min(all.len()), (key, None));
        }
        serializer.collect_map(all)
    }
}

impl FromIterator<(&'static str, f64)> for KeyedAmounts {
    fn from_iter<T: IntoIterator<Item = (&'static str, f64)>>(amounts: T) -> Self {
        Self(amounts.into_iter().collect(), Vec::new())
    }
}

/// The constituents that every water report names, absent or not.
const ALWAYS: [Conserved; 9] = [
    Conserved::Ca,
    Conserved::Mg,
    Conserved::Na,
    Conserved::K,
    Conserved::Cl,
    Conserved::SO4,
    Conserved::NO3,
    Conserved::SiO2,
    Conserved::Alkalinity,
];

/// The constituents named only where there are any.
const WHERE_PRESENT: [Conserved; 2] = [Conserved::Lactate, Conserved::Citrate];

impl KeyedAmounts {
    /// Masses of all constituents of a water, mg/L; alkalinity as HCO3.
    #[must_use]
    pub fn mg_per_l(water: &Composition) -> Self {
        let present = WHERE_PRESENT.into_iter().filter(|c| water.mmol_per_l(*c) > 0.0);
        let all = ALWAYS.into_iter().chain(present);
        Self::with_gaps(all.map(|c| (c.key(), water.measured_mg_per_l(c))))
    }

    /// All conserved totals of a water, mmol/L; alkalinity in meq/L under a key of its own.
    #[must_use]
    pub fn mmol_per_l(water: &Composition) -> Self {
        let key = |c: Conserved| match c {
            Conserved::Alkalinity => "Alkalinity",
            other => other.key(),
        };
        let measured = |c: Conserved| water.is_measured(c).then(|| water.mmol_per_l(c));
        Self::with_gaps(Conserved::ALL.into_iter().map(|c| (key(c), measured(c))))
    }

    /// Masses of the constituents that are known to be there.
    #[must_use]
    pub fn present(water: &Composition) -> Self {
        let there = |c: &Conserved| water.mmol_per_l(*c) > 0.0;
        let all = ALWAYS.into_iter().chain(WHERE_PRESENT).filter(there);
        all.filter_map(|c| Some((c.key(), water.measured_mg_per_l(c)?))).collect()
    }

    /// The amounts behind their names, in words: `Ca 12.0, Mg 1.23`.
    pub(crate) fn listed(&self, amount: impl Fn(f64) -> String) -> String {
        let one = |(name, value): &(&str, f64)| format!("{name} {}", amount(*value));
        self.0.iter().map(one).collect::<Vec<_>>().join(", ")
    }

    /// Whether a key is there and its amount is not, since nobody measured it.
    #[must_use]
    pub fn is_unmeasured(&self, key: &str) -> bool {
        self.1.iter().any(|(_, open)| *open == key)
    }

    /// The same keys with other amounts.
    #[must_use]
    pub fn map(&self, amount: impl Fn(&'static str) -> f64) -> Self {
        Self(self.0.iter().map(|(key, _)| (*key, amount(key))).collect(), self.1.clone())
    }

    fn with_gaps(all: impl Iterator<Item = (&'static str, Option<f64>)>) -> Self {
        let mut keyed = Self::default();
        for (place, (key, amount)) in all.enumerate() {
            match amount {
                Some(amount) => keyed.0.push((key, amount)),
                None => keyed.1.push((place, key)),
            }
        }
        keyed
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chemistry::UnmeasuredTotal;

    #[test]
    fn what_was_not_measured_is_null_in_its_place() -> Result<(), serde_json::Error> {
        let mut water = Composition::PURE_WATER;
        water.set_mmol_per_l(Conserved::Ca, 1.0);
        for c in [Conserved::Cl, Conserved::SO4] {
            water.leave_unmeasured(c, 1.0, UnmeasuredTotal::default());
        }
        let text = serde_json::to_string(&KeyedAmounts::mg_per_l(&water))?;
        assert!(text.contains("\"K\":0.0,\"Cl\":null,\"SO4\":null,\"NO3\":0.0"), "{text}");
        assert_eq!(KeyedAmounts::present(&water).0.len(), 1);
        Ok(())
    }
}
