//! Amounts under their keys, in a fixed order.

use serde::{Serialize, Serializer};

use crate::chemistry::{Composition, Conserved};

/// Keys and amounts; JSON shows them as an object in this order.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Keyed(pub Vec<(&'static str, f64)>);

impl Serialize for Keyed {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_map(self.0.iter().map(|(key, amount)| (key, amount)))
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

impl Keyed {
    /// Masses of all constituents of a water, mg/L; alkalinity as HCO3.
    #[must_use]
    pub fn mg_per_l(water: &Composition) -> Self {
        let present = WHERE_PRESENT.into_iter().filter(|c| water.mmol_per_l(*c) > 0.0);
        Self(ALWAYS.into_iter().chain(present).map(|c| (c.key(), water.mg_per_l(c))).collect())
    }

    /// All conserved totals of a water, mmol/L; alkalinity in meq/L under a key of its own.
    #[must_use]
    pub fn mmol_per_l(water: &Composition) -> Self {
        let key = |c: Conserved| match c {
            Conserved::Alkalinity => "Alkalinity",
            other => other.key(),
        };
        Self(Conserved::ALL.into_iter().map(|c| (key(c), water.mmol_per_l(c))).collect())
    }

    /// Masses of the constituents that are there.
    #[must_use]
    pub fn present(water: &Composition) -> Self {
        Self(
            ALWAYS
                .into_iter()
                .chain(WHERE_PRESENT)
                .filter(|c| water.mmol_per_l(*c) > 0.0)
                .map(|c| (c.key(), water.mg_per_l(c)))
                .collect(),
        )
    }
}
