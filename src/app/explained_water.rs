//! Why a water of a flight is out of reach or which goals bind, and what other recipes it has.

use crate::app::mistakes::internal;
use crate::app::planned_flight::{allowed_stocks, in_flight, named_target};
use crate::bench::Bench;
use crate::files::{Diagnostic, Mistakes};
use crate::flight::{Flight, Target};
use crate::mix::{AlternativesReport, WhyReport};
use crate::planner::explain::{alternatives, why};
use crate::stock::{Salt, Stock};

/// Why a target is out of reach, or which of its goals bind. The target is named as in [`in_flight`].
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
    let (flight, target, stocks) = stated(bench, flight, target)?;
    // The bench does not know prices of salts that are not on it.
    let no_price = |_: &Salt| None;
    let found = why(&flight, &stocks, &target, &bench.salts, &no_price);
    Ok(WhyReport::new(&flight, &target, &found.map_err(|error| internal(&error))?))
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
    let (flight, target, stocks) = stated(bench, flight, target)?;
    let plans = alternatives(&flight, &stocks, &target, most).map_err(|error| internal(&error))?;
    Ok(AlternativesReport::new(&flight, &target, &stocks, &plans))
}

/// A target that is named, with its flight and the stocks that it may have.
fn stated(
    bench: &Bench,
    flight: Option<&str>,
    target: &str,
) -> Result<(Flight, Target, Vec<Stock>), Diagnostic> {
    let (file, target) = in_flight(bench, flight, target)?;
    let (flight, stocks, order) = bench.ordered_flight(file)?;
    let target = named_target(&flight, target)?.clone();
    let stocks = allowed_stocks(&flight, &target, &stocks, &order);
    Ok((flight, target, stocks))
}
