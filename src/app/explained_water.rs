//! Why a water of a flight is out of reach or which goals bind, and what other recipes it has.

use crate::app::flight_verdict::{as_made, kept_out};
use crate::app::mistakes::unplanned;
use crate::app::planned_flight::{Stated, allowed_stocks};
use crate::bench::Bench;
use crate::files::Mistakes;
use crate::mix::{AlternativesReport, WhyReport};
use crate::planner::PlanError;
use crate::planner::explain::{alternatives, why};
use crate::planner::lp::solution::SolveError;
use crate::stock::{Catalogue, Salt, Stock};
use crate::text::command_line::typed;

/// Why a target is out of reach, or which of its goals bind. The target is named as in
/// [`in_flight`](crate::app::in_flight).
///
/// ```
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// use waterflight::app::explained_water::why_target;
/// use waterflight::bench::Bench;
///
/// let bench = Bench::open("stocks/demo".as_ref())?;
/// assert_eq!(why_target(&bench, None, "middle")?.target, "middle");
/// # Ok(())
/// # }
/// ```
///
/// # Errors
/// When there is no such target, or its flight cannot be read.
pub fn why_target(
    bench: &Bench,
    flight: Option<&str>,
    target: &str,
) -> Result<WhyReport, Mistakes> {
    let Stated { flight, stocks, order, place, target } = Stated::of(bench, flight, target)?;
    let allowed = allowed_stocks(&order, place, &stocks);
    // A salt that the flight keeps out of this water is none to add.
    let left_out = |salt: &Salt| {
        let same = |s: &&Stock| s.recipe().salt.formula.same_but_for_water(&salt.formula);
        stocks.iter().filter(|s| !allowed.contains(s)).any(|s| same(&s))
    };
    let salts = Catalogue::new(bench.salts.iter().filter(|s| !left_out(s)).cloned().collect());
    // The bench does not know prices of salts that are not on it.
    let no_price = |_: &Salt| None;
    let found = match why(&flight, &allowed, &target, &salts, &no_price) {
        Err(error @ SolveError::StocksAlone) => {
            let reason = format!(
                "{error}; a limit on all stocks together, `limits: (stocks: \"…\")` in the flight, \
                 gives it one"
            );
            return Ok(WhyReport::without_answer(&flight, &target, reason));
        }
        found => {
            found.map_err(|source| unplanned(&PlanError { target: target.name.clone(), source }))?
        }
    };
    let mut report = WhyReport::new(&flight, &target, &found).any_size(&order, place);
    let is_possible = report.reached;
    if !is_possible && !report.not_counted.is_empty() {
        let made = as_made(&found, (&flight, &stocks), &order, place);
        report = report.as_made(&flight, &target, &made);
    }
    let kept = kept_out((&flight, &stocks), &order, place, is_possible)?;
    Ok(match kept {
        Some((kept, plan)) => report.kept_out(kept, plan.as_ref()),
        None => report,
    })
}

/// Other recipes for a target, each with every goal within its tolerance; so many at most.
///
/// # Errors
/// As [`why_target`].
pub fn alternatives_of(
    bench: &Bench,
    flight: Option<&str>,
    target: &str,
    most: usize,
) -> Result<AlternativesReport, Mistakes> {
    let named = flight.map_or(String::new(), |flight| format!(" --flight {}", typed(flight)));
    let as_typed = typed(target) + &named;
    let Stated { flight, stocks, order, place, target } = Stated::of(bench, flight, target)?;
    let allowed = allowed_stocks(&order, place, &stocks);
    let plans = match alternatives(&flight, &allowed, &target, most) {
        // No litre of base water is left, whatever is poured: `why` says so.
        Err(SolveError::StocksAlone) => Vec::new(),
        plans => {
            plans.map_err(|source| unplanned(&PlanError { target: target.name.clone(), source }))?
        }
    };
    let kept = kept_out((&flight, &stocks), &order, place, !plans.is_empty())?;
    let mut report = AlternativesReport::new(&flight, &target, &allowed, &plans);
    report.typed = as_typed;
    Ok(match kept {
        Some((kept, _)) => report.kept_out(kept),
        None => report.any_size(&order, place),
    })
}
