//! A water by the charges of its ions, as two columns: of a right analysis they are equally high.

use serde::Serialize;

use crate::chemistry::{Composition, Conserved, KeyedAmounts};

/// Cations and anions, meq/L; ions that are absent or were not measured are left out.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ChargeColumns {
    /// Cations.
    pub cations: KeyedAmounts,
    /// Anions; alkalinity as HCO3.
    pub anions: KeyedAmounts,
    /// Ions that were not measured.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub not_measured: Vec<&'static str>,
}

impl ChargeColumns {
    /// The columns of a water.
    #[must_use]
    pub fn of(water: &Composition) -> Self {
        let column = |is_cation: bool| -> KeyedAmounts {
            let ions = Conserved::ALL.into_iter().filter(|c| (c.charge() > 0) == is_cation);
            let meq = |c: Conserved| water.mmol_per_l(c) * f64::from(c.charge().abs());
            let there = ions.filter(|c| c.charge() != 0 && water.is_measured(*c));
            there.map(|c| (c.key(), meq(c))).filter(|(_, meq)| *meq > 0.0).collect()
        };
        let open = water.not_measured();
        let not_measured = open.iter().filter(|c| c.charge() != 0).map(Conserved::key).collect();
        Self { cations: column(true), anions: column(false), not_measured }
    }
}
