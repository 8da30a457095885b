//! Figures not given of a water because nobody measured what they depend on. No figure and no verdict is
//! better than one that counts the unmeasured as nothing.

use std::fmt;

use serde::{Serialize, Serializer};

use crate::chemistry::{Composition, Conserved, ConservedSet};

/// The reason why something is not said: totals that were not measured. It takes away figures and
/// comfort, never a caution that stands whatever the unmeasured is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Withheld(ConservedSet);

impl Withheld {
    /// The reason, where a water was not measured for all that is needed; none where it was.
    ///
    /// ```
    /// use waterflight::chemistry::{Composition, Conserved, UnmeasuredTotal};
    /// use waterflight::assessment::Withheld;
    /// let mut water = Composition::PURE_WATER;
    /// let needed = [Conserved::Cl, Conserved::SO4];
    /// assert_eq!(Withheld::unless_measured(&water, &needed), None);
    /// water.leave_unmeasured(Conserved::SO4, 0.2, UnmeasuredTotal::default());
    /// let reason = Withheld::unless_measured(&water, &needed).unwrap();
    /// assert_eq!(reason.to_string(), "sulfate was not measured");
    /// ```
    #[must_use]
    pub fn unless_measured(water: &Composition, needed: &[Conserved]) -> Option<Self> {
        Self::of(needed.iter().copied().filter(|c| !water.is_measured(*c)).collect())
    }

    /// The reasons of two figures together.
    #[must_use]
    pub fn either(one: Option<Self>, other: Option<Self>) -> Option<Self> {
        let of = |reason: Option<Self>| reason.map_or(ConservedSet::NONE, |Self(set)| set);
        Self::of(of(one).union(of(other)))
    }

    /// The same for a set that is known to be unmeasured.
    #[must_use]
    pub fn of(not_measured: ConservedSet) -> Option<Self> {
        (!not_measured.is_empty()).then_some(Self(not_measured))
    }
}

/// What pH, saturation with calcite and limescale depend on.
pub(crate) const CARBONATE: [Conserved; 2] = [Conserved::Ca, Conserved::Alkalinity];

/// The reason why something is not said of totals that were looked for, and of which only limits were found.
pub(crate) fn only_by_limits(of: ConservedSet) -> String {
    format!("{of} {} only known by limits", if of.is_one() { "is" } else { "are" })
}

impl fmt::Display for Withheld {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {} not measured", self.0, if self.0.is_one() { "was" } else { "were" })
    }
}

impl Serialize for Withheld {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

/// Something that is not said, with its reason.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct WithheldFigure {
    /// What.
    pub what: &'static str,
    /// Why not.
    pub because: Withheld,
}
