//! A water that is wanted every day, by its name: a target of any flight, a water as it was tasted
//! in a session, or any named water.

use crate::app::bottles::bags_as_verified;
use crate::app::named_flight::is_target;
use crate::app::named_water::NamedWaters;
use crate::app::tasted_water;
use crate::assessment::Withheld;
use crate::bench::Bench;
use crate::everyday::Wanted;
use crate::everyday::wanted::replicate_target;
use crate::files::Mistakes;
use crate::flight::{BaseShare, Dispenser, Target};
use crate::planner::whole_flight::Watch;
use crate::quantities::Fraction;
use crate::water::BaseWater;

/// Batches, concentrates and pours keep the same goals with other amounts.
const OWN_RECIPE: &str =
    "a recipe of its own, with the goals of `mix`; SESSION/WATER gives what was poured";

/// The water of a name. A target keeps its goals and its base water; any other water is matched
/// ion by ion: one that was tasted from its own base waters, the rest from distilled water.
///
/// Beside it the dispenser that its flight names.
///
/// # Errors
/// When no water has the name, or several have, or its flight cannot be planned.
pub fn wanted_water(
    bench: &Bench,
    name: &str,
    watch: Watch<'_>,
) -> Result<(Wanted, Option<Dispenser>), Mistakes> {
    let mut found = Vec::new();
    for (file, (flight, stocks, order)) in bench.readable_flights() {
        let is_meant = |t: &&Target| is_target(name, &file.stem, &t.name);
        let exact = flight.targets.iter().any(|t| t.name == name);
        let targets = flight.targets.iter().filter(is_meant).filter(|t| !exact || t.name == name);
        found.extend(targets.map(|t| {
            let wanted = Wanted {
                target: t.clone(),
                base: flight.base.clone(),
                salts: bags_as_verified(bench, &stocks),
                stocks: stocks.clone(),
                notes: vec![OWN_RECIPE.to_owned()],
            };
            (wanted, order.dispenser.clone())
        }));
    }
    if found.len() == 1
        && let Some(only) = found.pop()
    {
        return Ok(only);
    }
    if found.is_empty()
        && let Some(tasted) = tasted_water::wanted(bench, name, watch)?
    {
        return Ok((tasted, None));
    }
    let water = NamedWaters::of(bench, watch).find(name)?;
    let stocks = bench.whole_shelf()?;
    let wanted = Wanted {
        target: replicate_target(&water.name, &water.water),
        base: vec![BaseShare { water: BaseWater::distilled(), at_most: Fraction::new(1.0) }],
        salts: bags_as_verified(bench, &stocks),
        stocks,
        notes: Withheld::of(water.water.not_measured())
            .map(|why| format!("{why} of {name}: this water matches it in everything else only"))
            .into_iter()
            .collect(),
    };
    Ok((wanted, None))
}
