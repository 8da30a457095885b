//! What of a water nobody measured, what is assumed of it, and how far either may reach.

use serde::{Serialize, Serializer};

use crate::chemistry::{Bounds, Composition, Conserved, ConservedSet};
use crate::water::Measure;

/// What is not known of a water.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct Unknowns {
    /// Keys of what was not measured; their amounts are null.
    pub not_measured: Vec<&'static str>,
    /// Keys of what is assumed and was not measured; their amounts count what was assumed.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub assumed: Vec<&'static str>,
    /// What the dissolved solids are at least, mg/L, where an ion was not measured.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub dissolved_solids_at_least_mg_per_l: Option<f64>,
    /// Bounds of what was not measured, and of what was found to be below a limit, mg/L.
    #[serde(skip_serializing_if = "Vec::is_empty", serialize_with = "as_object")]
    pub bounds_mg_per_l: Vec<Bound>,
}

/// Bounds of one constituent, mg/L.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Bound {
    /// Key of the constituent, as in `Cl`.
    #[serde(skip)]
    pub key: &'static str,
    /// Least amount there can be, mg/L.
    pub at_least: f64,
    /// At most; null where nothing limits it.
    pub at_most: Option<f64>,
    /// Whether it was measured, and found to be below a limit.
    pub measured: bool,
}

fn as_object<S: Serializer>(bounds: &[Bound], serializer: S) -> Result<S::Ok, S::Error> {
    serializer.collect_map(bounds.iter().map(|bound| (bound.key, bound)))
}

impl Unknowns {
    /// Keys of the ions that were not measured: all but silica, which carries no charge.
    #[must_use]
    pub fn ions_not_measured(&self) -> Vec<&'static str> {
        let silica = Conserved::SiO2.key();
        self.not_measured.iter().copied().filter(|key| *key != silica).collect()
    }

    /// What is not known of a water.
    #[must_use]
    pub fn of(water: &Composition) -> Self {
        let reported = || Conserved::ALL.into_iter().filter(|c| *c != Conserved::Dic);
        let keys = |set: ConservedSet| {
            reported().filter(|c| set.contains(*c)).map(Conserved::key).collect()
        };
        let bound = |c: Conserved| {
            let Bounds { at_least, at_most } = water.bounds_mg_per_l(c);
            let measured = water.is_measured(c);
            let is_open = at_most.is_none_or(|most| most > at_least);
            let bound = Bound { key: c.key(), at_least, at_most, measured };
            (!measured || is_open).then_some(bound)
        };
        let solids = Measure::DissolvedSolids;
        let is_open = !solids.not_measured_of(water).is_empty();
        Self {
            dissolved_solids_at_least_mg_per_l: is_open.then(|| solids.at_least_usual(water)),
            not_measured: keys(water.not_measured()),
            assumed: keys(water.assumed()),
            bounds_mg_per_l: reported().filter_map(bound).collect(),
        }
    }
}
