//! What is wanted every day.

use crate::chemistry::Composition;
use crate::flight::{Band, BaseShare, Goal, Target};
use crate::quantities::{Fraction, Unit};
use crate::stock::{DrySalt, Stock};
use crate::water::Measure;

/// What is wanted every day.
#[derive(Debug, Clone, PartialEq)]
pub struct Wanted {
    /// Its goals, with its name.
    pub target: Target,
    /// What the salts go into.
    pub base: Vec<BaseShare>,
    /// The bags of the shelf.
    pub salts: Vec<DrySalt>,
    /// The stocks of the shelf.
    pub stocks: Vec<Stock>,
    /// What is to be said of the water itself.
    pub notes: Vec<String>,
}

/// Our choice: less than this is not aimed at, mg/L.
const NEGLIGIBLE_MG_PER_L: f64 = 0.001;

/// Our choice: so much may come along of an ion that the water has not, mg/L; no taster notices
/// half a milligram per litre.
const UNWANTED_MG_PER_L: f64 = 0.5;

/// What no salt brings.
const OF_BASE_WATERS: [Measure; 2] = [Measure::Nitrate, Measure::Silica];

/// A target that is another water again: near every ion of it that was measured, and without those
/// that it has not. Of an ion that nobody measured there is nothing to be near to.
#[must_use]
pub fn replicate_target(name: &str, water: &Composition) -> Target {
    let goals = Measure::constituents()
        .filter(|m| !OF_BASE_WATERS.contains(m))
        .filter_map(|m| {
            let native = m.measured(water)?;
            if native > NEGLIGIBLE_MG_PER_L * m.native_per(Unit::MgPerL).ok()? {
                return Goal::near(m, native, Unit::MgPerL).ok();
            }
            unwanted(m)
        })
        .collect();
    Target { name: name.to_owned(), goals }
}

/// The goal on an ion that a water has not.
fn unwanted(measure: Measure) -> Option<Goal> {
    Goal::parse(measure, &format!("at most 0 mg/L, tolerance {UNWANTED_MG_PER_L} mg/L")).ok()
}

/// A target that is another water again in everything that is recorded of it: as [`replicate_target`], and
/// near its nitrate and silica, which no salt brings and which say how much of a base water was
/// in it; without those that it has not and a base water brings, where they were measured.
/// A `tolerance`, as a part of each amount, takes the place of the usual one.
#[must_use]
pub fn pinned(
    name: &str,
    water: &Composition,
    tolerance: Option<Fraction>,
    base: &[BaseShare],
) -> Target {
    let mut target = replicate_target(name, water);
    for measure in OF_BASE_WATERS {
        let least = NEGLIGIBLE_MG_PER_L * measure.native_per_usual_unit();
        let native = measure.of(water);
        let known = |of: &Composition| measure.measured(of).is_some();
        let all_known = known(water) && base.iter().all(|share| known(&share.water.composition));
        if native > least {
            target.goals.extend(Goal::near(measure, native, Unit::MgPerL));
        } else if all_known && base.iter().any(|b| measure.of(&b.water.composition) > least) {
            target.goals.extend(unwanted(measure));
        }
    }
    if let Some(part) = tolerance {
        for goal in target.goals.iter_mut().filter(|g| matches!(g.band, Band::Near(_))) {
            goal.tolerance = part.value() * goal.band.size();
            goal.miss_unit = goal.tolerance;
        }
    }
    target
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chemistry::Conserved;

    #[test]
    fn what_a_water_has_not_is_not_wanted() {
        let mut water = Composition::PURE_WATER;
        water.set_mmol_per_l(Conserved::Mg, 0.5);
        water.set_mmol_per_l(Conserved::SO4, 0.5);
        let target = replicate_target("epsom water", &water);
        assert_eq!(target.goals.len(), 7);
        let goals: Vec<String> = target.goals.iter().map(Goal::words).collect();
        assert!(goals.iter().any(|w| w.starts_with("12.15")), "{goals:?}");
        assert_eq!(goals.iter().filter(|w| w.starts_with("at most 0 ± 0.5")).count(), 5);
    }
}
