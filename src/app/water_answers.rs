//! What waters of a bench are, by their names, and what a meter that was held into one says.

use crate::app::mistakes::{internal, too_strong};
use crate::app::named_flight::is_target;
use crate::app::{NamedWaters, Watch};
use crate::assessment::{Lab, MeterVerdict, WaterAnswer};
use crate::bench::Bench;
use crate::bench::records::{PourLine, PouredVolume};
use crate::files::Mistakes;
use crate::flight::Target;
use crate::water::Meter;

/// What is known of some waters before anyone drinks them or a machine boils them; of all base waters and
/// targets when none is named. With `curves` each has its limescale over the temperature.
///
/// ```
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// use waterflight::app::Watch;
/// use waterflight::app::water_answers::water_answers;
/// use waterflight::bench::Bench;
///
/// let bench = Bench::open("stocks/demo".as_ref())?;
/// let answers = water_answers(&bench, &["harbour tap".to_owned()], false, Watch::default())?;
/// assert_eq!(answers.len(), 1);
/// # Ok(())
/// # }
/// ```
///
/// # Errors
/// When a name is that of no water, or the chemistry has no answer for one.
pub fn water_answers(
    bench: &Bench,
    names: &[String],
    curves: bool,
    watch: Watch<'_>,
) -> Result<Vec<WaterAnswer>, Mistakes> {
    let waters = NamedWaters::of(bench, watch);
    let chosen = if names.is_empty() {
        waters.all()?
    } else {
        names.iter().map(|name| waters.find(name)).collect::<Result<_, _>>()?
    };
    let lab = Lab::new(bench.boilers).map_err(|error| internal(&error))?;
    let meter = Meter::new(bench.meter).map_err(|error| internal(&error))?;
    let mut answers = chosen
        .iter()
        .map(|water| {
            WaterAnswer::new(&lab, &meter, water)
                .map(|answer| answer.beside(bench.machine.as_ref(), water))
                .map_err(|error| too_strong(&water.name, &error))
        })
        .collect::<Result<Vec<_>, _>>()?;
    for (answer, water) in answers.iter_mut().zip(&chosen).filter(|_| curves) {
        answer.limescale_curve = lab
            .limescale_curve(&water.name, &water.water)
            .map_err(|error| too_strong(&water.name, &error))?;
    }
    Ok(answers)
}

/// Whether what the meter of a bench shows is right for a water, and the single slip that explains it best
/// where it is not; beside it the name of the water. `shown` is on the scale of that meter.
///
/// # Errors
/// When the name is that of no water, or the chemistry has no answer for it.
pub fn judge_reading(
    bench: &Bench,
    name: &str,
    shown: f64,
    watch: Watch<'_>,
) -> Result<(String, MeterVerdict), Mistakes> {
    let water = NamedWaters::of(bench, watch).find(name)?;
    let meter = Meter::new(bench.meter).map_err(|error| internal(&error))?;
    let mut verdict =
        meter.judge(shown, &water.poured).map_err(|error| too_strong(&water.name, &error))?;
    verdict.notes = strengths_since_pour(bench, name);
    Ok((water.name, verdict))
}

/// That a water is compared with the plan of today, where its flight was poured and strengths are others
/// since: the bottle at hand may hold the doses of that day, which a record of a pour does not keep water
/// by water.
fn strengths_since_pour(bench: &Bench, name: &str) -> Vec<String> {
    let mut notes = Vec::new();
    for (file, (flight, ..)) in bench.readable_flights() {
        let is_meant = |target: &&Target| is_target(name, &file.stem, &target.name);
        let Some(target) = flight.targets.iter().find(is_meant) else { continue };
        let is_of = |pour: &&PourLine| {
            pour.flight == file.stem
                && (pour.waters.is_empty() || pour.waters.contains(&target.name))
        };
        let Some(pour) = bench.records.pours.iter().rev().find(is_of) else { continue };
        let is_another = |taken: &&PouredVolume| {
            let batch = bench.batch_in_bottle(&taken.stock);
            let verified = batch.and_then(|batch| batch.verified.as_ref());
            batch.map_or(0, |batch| batch.number) != taken.batch
                || verified.is_some_and(|verified| verified.day.to_string() > pour.day)
        };
        let others: Vec<&str> =
            pour.taken.iter().filter(is_another).map(|taken| taken.stock.as_str()).collect();
        if !others.is_empty() {
            notes.push(format!(
                "Compared with the doses of today's plan, which are not those of the bottle where it \
                 was poured on {}: {} had another strength then.",
                pour.day,
                others.join(", ")
            ));
        }
    }
    notes
}
