//! The axes that a next flight is asked over.

use crate::assessment::Withheld;
use crate::chemistry::Composition;
use crate::flight::Flight;
use crate::next_flight::asked::{NextAsked, NextError};
use crate::next_flight::axis::{MAGNESIUM_SHARE, Placed};
use crate::next_flight::tasted_waters::TastedWater;
use crate::next_flight::{Axis, ProposeError};
use crate::numerics::count;
use crate::planner::plan_flight;
use crate::water::Measure;

/// The axes when none are named: what most waters differ in (our choice).
const USUAL: [&str; 3] = ["hardness", "alkalinity", MAGNESIUM_SHARE];

/// How far the waters tasted are stepped beyond at either end, as a part of the range they span: our
/// choice, a step that a surface through them still knows something of.
const BEYOND: f64 = 0.1;

/// Where waters are sought.
pub(super) struct Region {
    /// The axes: as stated, the others through what was tasted, or through the flight's own waters when
    /// nothing was.
    pub(super) axes: Vec<Axis>,
    /// The hardness that every water has, in the usual unit, where the axes leave it open and a share of
    /// it is sought: without any there is nothing to share.
    pub(super) held_hardness: Option<f64>,
}

/// The region that is asked for.
pub(super) fn region(
    asked: &NextAsked<'_>,
    tasted: &[TastedWater<'_>],
) -> Result<Region, NextError> {
    let mut axes = asked.within.iter().map(|t| Axis::parse(t)).collect::<Result<Vec<_>, _>>()?;
    for axis in &axes {
        measured(asked.flight, axis.of)?;
    }
    let keys: Vec<&str> = if asked.over.is_empty() && axes.is_empty() {
        USUAL.to_vec()
    } else {
        asked.over.iter().map(String::as_str).collect()
    };
    let planned: Vec<Composition> = if tasted.is_empty() {
        let plans = plan_flight(asked.flight, asked.stocks).map_err(ProposeError::from)?;
        plans.into_iter().map(|plan| *plan.water).collect()
    } else {
        tasted.iter().map(|t| t.water).collect()
    };
    let beyond = if tasted.is_empty() { 0.0 } else { BEYOND };
    for key in keys {
        let of = Placed::parse(key)?;
        if axes.iter().any(|axis| axis.of == of) {
            continue;
        }
        match measured(asked.flight, of) {
            Err(error) if asked.over.iter().any(|k| k == key) => return Err(error),
            Err(_) => continue,
            Ok(()) => {}
        }
        let values: Vec<f64> = planned.iter().filter_map(|water| of.of(water)).collect();
        match Axis::through(of, &values, beyond) {
            Some(axis) => axes.push(axis),
            // An axis asked for by name must be there.
            None if asked.over.iter().any(|k| k == key) => return Err(ProposeError::NoAxis.into()),
            None => {}
        }
    }
    let held_hardness = held_hardness(&axes, &planned);
    Ok(Region { axes, held_hardness })
}

/// Measures that ask for some hardness by themselves.
const OF_HARDNESS: [Measure; 5] = [
    Measure::Hardness,
    Measure::CalciumHardness,
    Measure::MagnesiumHardness,
    Measure::Calcium,
    Measure::Magnesium,
];

/// The mean of the waters that have some, where a share of it is sought and no axis asks for any.
fn held_hardness(axes: &[Axis], waters: &[Composition]) -> Option<f64> {
    let asks = |axis: &Axis| OF_HARDNESS.iter().any(|measure| axis.of == Placed::By(*measure));
    if !axes.iter().any(|axis| axis.of == Placed::MagnesiumShare) || axes.iter().any(asks) {
        return None;
    }
    let known = waters.iter().filter_map(|water| Measure::Hardness.measured_usual(water));
    let known: Vec<f64> = known.filter(|hardness| *hardness > 0.0).collect();
    (!known.is_empty()).then(|| known.iter().sum::<f64>() / count(known.len()))
}

/// Whether every base water was measured for an axis.
fn measured(flight: &Flight, of: Placed) -> Result<(), NextError> {
    let missing = flight.base.iter().find_map(|base| {
        let why = Withheld::of(of.not_measured_of(&base.water.composition))?;
        Some((base.water.name.clone(), why))
    });
    missing
        .map_or(Ok(()), |(water, why)| Err(NextError::NotMeasured { axis: of.label(), water, why }))
}

/// Measures that an axis may be, for messages.
#[must_use]
pub fn axis_keys() -> String {
    format!("{MAGNESIUM_SHARE}, {}", Measure::KEYS.join(", "))
}
