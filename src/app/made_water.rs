//! The water that came first in a session, as it would be made every day.

use crate::app::mistakes::internal;
use crate::app::{NamedWaters, Watch};
use crate::assessment::{Lab, WaterAnswer};
use crate::bench::Bench;
use crate::everyday::made_water::MadeWater;
use crate::files::Mistakes;
use crate::session::results::results_page::SessionResults;
use crate::water::Meter;

/// The water that came first by what was wanted; nothing where none did, or where the chemistry has no
/// answer for it.
///
/// # Errors
/// When its record cannot be read.
pub(super) fn first_water(
    bench: &Bench,
    found: &SessionResults,
    watch: Watch<'_>,
) -> Result<Option<MadeWater>, Mistakes> {
    let Some(leading) = &found.leading else { return Ok(None) };
    let described =
        NamedWaters::of(bench, watch).find(&format!("{}/{}", found.session, leading.water))?;
    let lab = Lab::new(bench.boilers).map_err(|error| internal(&error))?;
    let meter = Meter::new(bench.meter).map_err(|error| internal(&error))?;
    let Ok(answer) = WaterAnswer::new(&lab, &meter, &described) else { return Ok(None) };
    let answer = answer.beside(bench.machine.as_ref(), &described);
    let cups = found.in_the_cups.iter().flat_map(|cups| &cups.waters);
    let made = cups.into_iter().find(|water| water.water == leading.water);
    let doses = made.map_or(&[][..], |water| &water.doses_ml_per_l);
    let base = made.map_or(&[][..], |water| &water.base);
    let stocks = bench.whole_shelf()?;
    Ok(Some(MadeWater::new(answer, doses, base, &stocks, &bench.water_prices)))
}
