//! What is not known of a composition: totals that nobody measured, or only up to a limit.
//!
//! An amount that was not measured is not zero. It has an estimate, which chemistry needs to get
//! on with, bounds that hold, and two extremes that are each a possible water: with the least and
//! with the most unmeasured salt. All of these are linear, so they mix as the totals do.
#![expect(clippy::indexing_slicing, reason = "the arrays have one place per variant")]

use std::fmt;

use crate::chemistry::Conserved;

const COUNT: usize = Conserved::ALL.len();

/// A set of conserved totals.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct ConservedSet(u16);

impl ConservedSet {
    /// The empty set.
    pub const NONE: ConservedSet = ConservedSet(0);

    /// Whether it holds a total.
    #[must_use]
    pub fn contains(self, of: Conserved) -> bool {
        self.0 & (1 << of as u16) != 0
    }

    /// Puts a total in.
    pub fn insert(&mut self, of: Conserved) {
        self.0 |= 1 << of as u16;
    }

    /// Takes a total out.
    pub fn remove(&mut self, of: Conserved) {
        self.0 &= !(1 << of as u16);
    }

    /// Whether it holds nothing.
    #[must_use]
    pub fn is_empty(self) -> bool {
        self.0 == 0
    }

    /// What is in either of two.
    #[must_use]
    pub fn union(self, other: Self) -> Self {
        Self(self.0 | other.0)
    }

    /// Whether one total is all of it; carbon goes with the alkalinity.
    #[must_use]
    pub fn is_one(self) -> bool {
        self.iter().filter(|c| *c != Conserved::Dic).count() == 1
    }

    /// Its members, in the order of [`Conserved::ALL`].
    pub fn iter(self) -> impl Iterator<Item = Conserved> {
        Conserved::ALL.into_iter().filter(move |c| self.contains(*c))
    }
}

/// Its members in words: `chloride, sulfate and nitrate`. Carbon goes with the alkalinity.
impl fmt::Display for ConservedSet {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let labels: Vec<&str> =
            self.iter().filter(|c| *c != Conserved::Dic).map(Conserved::label).collect();
        match labels.as_slice() {
            [] => Ok(()),
            [only] => f.write_str(only),
            [first @ .., last] => write!(f, "{} and {last}", first.join(", ")),
        }
    }
}

impl FromIterator<Conserved> for ConservedSet {
    fn from_iter<T: IntoIterator<Item = Conserved>>(totals: T) -> Self {
        let mut set = Self::NONE;
        totals.into_iter().for_each(|c| set.insert(c));
        set
    }
}

/// What is left open of one total, mmol/L (alkalinity: meq/L).
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct UnmeasuredTotal {
    /// How far it may be below the estimate.
    pub below: f64,
    /// How far it may be above the estimate; `None` where nothing limits it.
    pub above: Option<f64>,
    /// What leads from the estimate to the water with the least unmeasured salt.
    pub to_least: f64,
    /// What leads from the estimate to the water with the most unmeasured salt.
    pub to_most: f64,
}

/// Bounds of one total, in mmol/L (alkalinity: meq/L) or mg/L, as asked for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bounds {
    /// Least amount, in the unit that was asked for.
    pub at_least: f64,
    /// At most; `None` where nothing limits it.
    pub at_most: Option<f64>,
}

/// What is not known of a composition; all of it scales and adds up with the totals.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Unknown {
    pub(super) not_measured: ConservedSet,
    pub(super) assumed: ConservedSet,
    unlimited: ConservedSet,
    open: ConservedSet,
    below: [f64; COUNT],
    above: [f64; COUNT],
    to_least: [f64; COUNT],
    to_most: [f64; COUNT],
    /// What of `below` and `above` of calcium and magnesium is of one hardness that is known: each is
    /// above its estimate by as much as the other is below.
    calcium_or_magnesium: f64,
}

/// Our choice: less than this part of a litre of a water is rounding of a solver, and leaves
/// nothing of what was not measured of it; a billionth is far below a drop.
const NEGLIGIBLE: f64 = 1e-9;

/// Nearly always both are nothing, and planners compare waters often.
impl PartialEq for Unknown {
    fn eq(&self, other: &Self) -> bool {
        let sets = |u: &Self| (u.not_measured, u.assumed, u.unlimited, u.open);
        sets(self) == sets(other)
            && (self.is_none()
                || (self.below == other.below
                    && self.above == other.above
                    && self.to_least == other.to_least
                    && self.to_most == other.to_most
                    && self.calcium_or_magnesium.total_cmp(&other.calcium_or_magnesium).is_eq()))
    }
}

impl Unknown {
    pub(super) const NONE: Unknown = Unknown {
        not_measured: ConservedSet::NONE,
        assumed: ConservedSet::NONE,
        unlimited: ConservedSet::NONE,
        open: ConservedSet::NONE,
        below: [0.0; COUNT],
        above: [0.0; COUNT],
        to_least: [0.0; COUNT],
        to_most: [0.0; COUNT],
        calcium_or_magnesium: 0.0,
    };

    /// Whether everything is known.
    fn is_none(&self) -> bool {
        self.open.is_empty() && self.not_measured.is_empty() && self.assumed.is_empty()
    }

    pub(super) fn set(&mut self, of: Conserved, open: UnmeasuredTotal) {
        let at = of as usize;
        self.open.insert(of);
        self.below[at] = open.below;
        self.above[at] = open.above.unwrap_or_default();
        self.to_least[at] = open.to_least;
        self.to_most[at] = open.to_most;
        match open.above {
            None => self.unlimited.insert(of),
            Some(_) => self.unlimited.remove(of),
        }
    }

    /// Says of how much of a known hardness it is open whether it is calcium or magnesium.
    pub(super) fn set_calcium_or_magnesium(&mut self, either: f64) {
        let open = |to_least: f64| UnmeasuredTotal {
            below: either,
            above: Some(either),
            to_least,
            to_most: -to_least,
        };
        self.set(Conserved::Ca, open(-either));
        self.set(Conserved::Mg, open(either));
        self.calcium_or_magnesium = either;
    }

    /// Whether it is open what of a known hardness is calcium and what magnesium.
    pub(super) fn leaves_calcium_or_magnesium(&self) -> bool {
        self.calcium_or_magnesium > 0.0
    }

    /// Bounds of a sum of totals with these estimates, each times its coefficient.
    pub(super) fn sum_between(
        &self,
        coefficients: &[f64; COUNT],
        estimates: &[f64; COUNT],
    ) -> Bounds {
        let (mut low, mut high, mut is_limited) = (0.0, 0.0, true);
        for c in Conserved::ALL {
            let (factor, estimate) = (coefficients[c as usize], estimates[c as usize]);
            if factor.abs() <= 0.0 {
                continue;
            }
            let Bounds { at_least, at_most } = self.between(c, estimate);
            let shared = match c {
                Conserved::Ca | Conserved::Mg => self.calcium_or_magnesium,
                _ => 0.0,
            };
            let down = (estimate - at_least - shared).max(0.0);
            let up = at_most.map(|most| (most - estimate - shared).max(0.0));
            let (less, more) = if factor > 0.0 { (Some(down), up) } else { (up, Some(down)) };
            low += factor * estimate - less.map_or(f64::INFINITY, |less| factor.abs() * less);
            high += factor * estimate + more.map_or(0.0, |more| factor.abs() * more);
            is_limited &= more.is_some();
        }
        let [ca, mg] = [Conserved::Ca, Conserved::Mg].map(|c| coefficients[c as usize]);
        let either = (ca - mg).abs() * self.calcium_or_magnesium;
        Bounds { at_least: low - either, at_most: is_limited.then_some(high + either) }
    }

    /// Bounds of a total with this estimate.
    pub(super) fn between(&self, of: Conserved, estimate: f64) -> Bounds {
        let at = of as usize;
        Bounds {
            at_least: (estimate - self.below[at]).max(0.0),
            at_most: (!self.unlimited.contains(of)).then_some(estimate + self.above[at]),
        }
    }

    /// What leads from the estimate to each combination of least and most, of each of `own` and of all
    /// the rest together, the least of all first; nothing where they are the same.
    pub(super) fn changes_to_corners(&self, own: ConservedSet) -> Vec<[f64; COUNT]> {
        if self.to_least.iter().chain(&self.to_most).all(|change| change.abs() <= 0.0) {
            return Vec::new();
        }
        // Carbon goes with its alkalinity, and magnesium with the calcium that it is the rest of.
        let leader = |c: Conserved| match c {
            Conserved::Dic => Conserved::Alkalinity,
            Conserved::Mg if self.leaves_calcium_or_magnesium() => Conserved::Ca,
            other => other,
        };
        let leaders: ConservedSet = own.iter().map(leader).collect();
        let leaders: Vec<Conserved> = leaders.iter().collect();
        let corner = |at: usize| {
            let mut change = self.to_least;
            for c in Conserved::ALL {
                // The first place is that of the rest.
                let place = leaders.iter().position(|l| *l == leader(c)).map_or(0, |l| l + 1);
                if at & (1 << place) != 0 {
                    change[c as usize] = self.to_most[c as usize];
                }
            }
            change
        };
        (0..2 << leaders.len()).map(corner).collect()
    }

    pub(super) fn add(&mut self, other: &Self) {
        if other.is_none() {
            return;
        }
        self.not_measured = self.not_measured.union(other.not_measured);
        self.assumed = self.assumed.union(other.assumed);
        self.unlimited = self.unlimited.union(other.unlimited);
        self.open = self.open.union(other.open);
        self.calcium_or_magnesium += other.calcium_or_magnesium;
        for (mine, theirs) in [
            (&mut self.below, &other.below),
            (&mut self.above, &other.above),
            (&mut self.to_least, &other.to_least),
            (&mut self.to_most, &other.to_most),
        ] {
            for (mine, theirs) in mine.iter_mut().zip(theirs) {
                *mine += theirs;
            }
        }
    }

    pub(super) fn add_times(&mut self, other: &Self, share: f64) {
        if !other.is_none() {
            let mut part = *other;
            part.scale(share);
            self.add(&part);
        }
    }

    pub(super) fn scale(&mut self, share: f64) {
        if self.is_none() {
            return;
        }
        if share.abs() < NEGLIGIBLE {
            *self = Self::NONE;
            return;
        }
        for array in [&mut self.below, &mut self.above, &mut self.to_least, &mut self.to_most] {
            for value in array {
                *value *= share;
            }
        }
        self.calcium_or_magnesium *= share;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_set_holds_what_was_put_in() {
        let set: ConservedSet = [Conserved::Cl, Conserved::Ca].into_iter().collect();
        assert_eq!(set.iter().collect::<Vec<_>>(), [Conserved::Ca, Conserved::Cl]);
        assert!(!set.contains(Conserved::Mg) && set.contains(Conserved::Cl));
        let three = set.union([Conserved::Dic, Conserved::SO4].into_iter().collect());
        assert_eq!(three.to_string(), "calcium, chloride and sulfate");
        assert!(ConservedSet::NONE.is_empty() && !set.is_empty());
    }
}
