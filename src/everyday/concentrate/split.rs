//! The fewest bottles in which nothing precipitates.

use serde::Serialize;

use crate::everyday::concentrate::advice::Named;
use crate::everyday::concentrate::bottle::Bottle;
use crate::everyday::concentrate::{
    Advice, Clarity, ConcentrateContext, ConcentrateError, DoseBy, Filled, OwnCrystals, RestState,
    WeighedSalt, at_rest,
};
use crate::planner::subset;
use crate::quantities::show;
use crate::stock::DrySalt;

/// A bottle in which nothing precipitates, one of several.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SplitBottle {
    /// Its salts.
    pub salts: Vec<WeighedSalt>,
    /// Its water, g.
    pub water_g: f64,
    /// Both, g.
    pub total_g: f64,
    /// Density at 20 °C, g/mL.
    pub density_g_per_ml: f64,
    /// Dose, mL per litre of finished water.
    pub dose_ml_per_l: f64,
    /// Dose, g per litre of finished water.
    pub dose_g_per_l: f64,
    /// Litres it makes.
    pub litres: f64,
    /// At rest: room closed, room open, fridge closed.
    pub standing: Vec<RestState>,
    /// Label, method and cautions.
    pub advice: Advice,
}

/// A salt that does not stay clear even in a bottle of its own.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Blocked {
    /// Its formula.
    pub formula: String,
    /// What happens.
    pub why: String,
    /// How many times weaker it would stay clear; none within reason.
    pub times_weaker: Option<f64>,
    /// The least dose at which it does, as it is given; none within reason.
    pub least_dose: Option<String>,
    /// The least size of the bottle in which so much of it does.
    pub least_size: Option<String>,
}

/// How a concentrate is split.
#[derive(Debug, Clone, PartialEq)]
pub enum Split {
    /// The fewest bottles.
    Bottles(Vec<SplitBottle>),
    /// There are none at this strength, and these salts are why.
    Blocked(Vec<Blocked>),
}

/// Our choice: more salts than this in one recipe do not occur; their groups are too many.
pub(crate) const MOST_SALTS: usize = 10;

/// A group of salts in one bottle.
#[derive(Debug, Clone, Copy, Default)]
struct Group {
    clear: bool,
    clear_cold: bool,
}

/// The fewest bottles in which nothing precipitates, each of the same size and dosed alike; among
/// equals those that may stand in the fridge. All divisions are compared: a bottle with more salts
/// is not always the one in which more precipitates, so nothing is left out.
///
/// # Errors
/// With more than [`MOST_SALTS`] salts.
pub(crate) fn fewest(
    named: Named<'_>,
    per_l: &[(DrySalt, f64)],
    filled: Filled,
    dose: DoseBy,
    context: &ConcentrateContext<'_>,
) -> Result<Split, ConcentrateError> {
    if per_l.len() > MOST_SALTS {
        return Err(ConcentrateError::TooManySalts { salts: per_l.len(), most: MOST_SALTS });
    }
    let blocked: Vec<Blocked> =
        per_l.iter().filter_map(|salt| blocked(salt, filled, dose, context)).collect();
    if !blocked.is_empty() {
        return Ok(Split::Blocked(blocked));
    }
    let part = |set: usize| -> Vec<(DrySalt, f64)> {
        let inside = per_l.iter().enumerate().filter(|(i, _)| set & (1 << i) != 0);
        inside.map(|(_, salt)| salt.clone()).collect()
    };
    let sets = 1_usize << per_l.len();
    let groups: Vec<Group> =
        (0..sets).map(|set| group(&part(set), filled, dose, context)).collect();
    let costs: Vec<Option<u32>> =
        groups.iter().map(|g| g.clear.then_some(u32::from(!g.clear_cold))).collect();
    // A salt alone is always clear here, so there is always a division.
    let division = subset::fewest_parts(&costs).unwrap_or_default();
    let bottles = division.iter().enumerate().map(|(n, set)| {
        let bottle = Bottle::made_up(&part(*set), filled, dose)?;
        let standing = at_rest::with_pressures(&bottle, context.lab, context.catalogue)?;
        let named = Named { part: Some((n + 1, division.len())), ..named };
        Ok(SplitBottle {
            salts: bottle.weighed(context.tools),
            water_g: bottle.total_g - bottle.salts_g(),
            total_g: bottle.total_g,
            density_g_per_ml: bottle.g_per_ml(),
            dose_ml_per_l: dose.ml(bottle.g_per_ml()),
            dose_g_per_l: dose.ml(bottle.g_per_ml()) * bottle.g_per_ml(),
            litres: bottle.litres(dose),
            advice: Advice::new(&bottle, &standing, named, (filled, dose), context),
            standing,
        })
    });
    bottles.collect::<Result<Vec<_>, ConcentrateError>>().map(Split::Bottles)
}

fn group(
    salts: &[(DrySalt, f64)],
    filled: Filled,
    dose: DoseBy,
    context: &ConcentrateContext<'_>,
) -> Group {
    let standing = Bottle::made_up(salts, filled, dose)
        .and_then(|bottle| Ok(at_rest::all(&bottle, context.lab, context.catalogue)?));
    // What cannot be computed, because it is too strong, is not clear.
    standing.map_or(Group::default(), |standing| Group {
        clear: Clarity::of(&standing) == Clarity::Clear,
        clear_cold: standing.iter().all(RestState::is_clear),
    })
}

/// Why a salt does not stay clear in a bottle of its own; `None` when it does.
fn blocked(
    salt: &(DrySalt, f64),
    filled: Filled,
    dose: DoseBy,
    context: &ConcentrateContext<'_>,
) -> Option<Blocked> {
    let alone = [salt.clone()];
    let why = match Bottle::made_up(&alone, filled, dose) {
        Err(error) => error.to_string(),
        Ok(bottle) => match at_rest::all(&bottle, context.lab, context.catalogue) {
            Err(error) => error.to_string(),
            Ok(standing) => {
                // A bottle may be kept in the room; what would do is named for both.
                let room = standing.iter().filter(|s| s.celsius > at_rest::FRIDGE.value());
                let dropped = room.map(RestState::precipitate_list).find(|d| !d.is_empty())?;
                format!("alone in its bottle it gives {}", dropped.join(", "))
            }
        },
    };
    let at = |factor: f64| group(&alone, filled, dose.times(factor), context);
    let times = times_weaker(MOST_TIMES, |factor| at(factor).clear_cold)
        .or_else(|| times_weaker(MOST_TIMES, |f| at(f).clear));
    Some(Blocked {
        formula: salt.0.salt.formula.to_string(),
        why,
        times_weaker: times,
        least_dose: times.map(|times| dose.times(times).text()),
        least_size: times.map(|times| filled.times(times).text()),
    })
}

/// The least factor that leaves nothing at the bottom at any temperature; where minerals drop from
/// every dilution, the least at which no salt crystallises.
pub(crate) fn times_weaker_best(
    most: f64,
    standing: impl Fn(f64) -> Option<Vec<RestState>>,
) -> Option<f64> {
    let all = |factor: f64, holds: fn(&RestState) -> bool| {
        standing(factor).is_some_and(|states| states.iter().all(holds))
    };
    times_weaker(most, |factor| all(factor, RestState::is_clear)).or_else(|| {
        times_weaker(most, |factor| {
            all(factor, |state| !state.own_crystals.iter().any(OwnCrystals::expected))
        })
    })
}

/// Our choice: what stays clear only when it is weaker by more than this is no concentrate.
pub(crate) const MOST_TIMES: f64 = 256.0;

/// The least factor by which something must be weakened to pass, rounded up to two figures; none where
/// that is more than `most`.
pub(crate) fn times_weaker(most: f64, passes: impl Fn(f64) -> bool) -> Option<f64> {
    /// Our choice: a dose is not asked for to more than two figures.
    const HALVINGS: usize = 12;
    let mut high = 2.0;
    while !passes(high) {
        high *= 2.0;
        if high > most {
            return None;
        }
    }
    let mut low = high / 2.0;
    for _ in 0..HALVINGS {
        let middle = f64::midpoint(low, high);
        if passes(middle) { high = middle } else { low = middle }
    }
    Some(show::up_to_two_figures(high))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn weaker_is_rounded_to_the_safe_side() {
        assert_eq!(times_weaker(MOST_TIMES, |f| f >= 3.11), Some(3.2));
        assert_eq!(times_weaker(MOST_TIMES, |_| false), None);
    }
}
