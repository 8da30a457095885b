//! The cheapest water is no brine: what a stock brings beside its salt is water too.

use std::error::Error;

use waterflight::bench::Bench;
use waterflight::flight::{Flight, Preference};
use waterflight::planner::plan_flight;
use waterflight::stock::Stock;

use crate::common::starter_bench;

type Fallible<T> = Result<T, Box<dyn Error>>;

/// Money for a litre: the salts, and a litre of water in all, that of the stocks at the price of the
/// dearest base water.
fn cost(flight: &Flight, stocks: &[Stock], ml_per_l: &[f64], shares: &[f64]) -> f64 {
    let per_l = |n: usize| {
        flight.base.get(n).and_then(|b| b.water.price_per_ml).unwrap_or_default() * 1000.0
    };
    let dearest = (0..flight.base.len()).map(per_l).fold(0.0, f64::max);
    let salts = stocks.iter().zip(ml_per_l).map(|(stock, ml)| {
        ml * (stock.price_per_ml().map_or(0.0, |price| price.per_base) + dearest / 1000.0)
    });
    let water = shares.iter().enumerate().map(|(n, share)| share * per_l(n));
    salts.sum::<f64>() + water.sum::<f64>()
}

#[test]
fn no_salt_is_poured_for_the_water_it_comes_in() -> Fallible<()> {
    let (_folder, root) = starter_bench()?;
    let bench = Bench::open(&root)?;
    let (mut flight, stocks) = bench.flight(bench.flight_file(None)?)?;
    assert!(flight.base.iter().all(|base| base.water.price_per_ml.is_some()), "prices");
    let least_volume = plan_flight(&flight, &stocks)?;
    flight.preference = Preference::LeastCost;
    let cheapest = plan_flight(&flight, &stocks)?;
    for ((target, cheap), small) in flight.targets.iter().zip(&cheapest).zip(&least_volume) {
        let volume = |ml: &[f64]| ml.iter().sum::<f64>();
        let (more, less) = (volume(&cheap.ml_per_l), volume(&small.ml_per_l));
        assert!(more < 2.0 * less + 5.0, "{}: {more} mL/L, {less} would do", target.name);
        let [cheap, other] = [cheap, small].map(|p| cost(&flight, &stocks, &p.ml_per_l, &p.shares));
        assert!(cheap <= other + 1e-9, "{}: {cheap} and {other}", target.name);
    }
    Ok(())
}
