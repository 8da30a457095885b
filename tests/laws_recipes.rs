//! Other recipes for a water, against every set of stocks there is.

use std::error::Error;

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha20Rng;
use waterflight::flight::{
    BaseShare, Convention, DoseLimits, Flight, Goal, MissRule, Preference, Target,
};
use waterflight::planner::explain::alternatives;
use waterflight::planner::explain::alternatives::used;
use waterflight::planner::{Plan, plan_flight};
use waterflight::quantities::{Fraction, Litres};
use waterflight::stock::Stock;
use waterflight::water::{BaseWater, Measure};

use crate::common::shelf::{stocks_of, tap_of};

type Fallible<T> = Result<T, Box<dyn Error>>;

const SALTS: [(&str, f64); 6] = [
    ("CaCl2·2H2O", 30.0),
    ("MgSO4·7H2O", 40.0),
    ("MgCl2·6H2O", 35.0),
    ("NaHCO3", 30.0),
    ("KHCO3", 40.0),
    ("K2SO4", 30.0),
];

fn shelf() -> Vec<Stock> {
    stocks_of(&SALTS)
}

/// What recipes are put in order by.
fn values(plan: &Plan) -> Vec<f64> {
    [vec![plan.stages.inside], plan.stages.preference.clone()].concat()
}

fn same(a: &Plan, b: &Plan) -> bool {
    values(a).iter().zip(values(b)).all(|(x, y)| (x - y).abs() <= 1e-5 * y.abs().max(1.0))
}

/// First the recipe that the water is planned with, then exactly the sets that no stock can be left out
/// of, by what they leave: checked against the plans of all sets there are.
#[test]
fn alternatives_are_the_best_of_all_sets() -> Fallible<()> {
    let mut random = ChaCha20Rng::seed_from_u64(15);
    let stocks = shelf();
    let (mut recipes, mut not_smallest) = (0, 0);
    for number in 0..80 {
        let mut wish = |measure, low: f64, high: f64, how: &str| {
            let value = random.random_range(low..high);
            Goal::parse(measure, &format!("{how}{value:.3} meq/L"))
        };
        let goals = vec![
            wish(Measure::Hardness, 0.5, 3.0, "")?,
            wish(Measure::Alkalinity, 0.3, 1.5, "")?,
            wish(Measure::Sodium, 0.2, 1.5, "at most ")?,
            wish(Measure::Sulfate, 0.2, 2.0, if number % 2 == 0 { "at most " } else { "" })?,
        ];
        let added = random.random_bool(0.5);
        let mut base =
            vec![BaseShare { water: BaseWater::distilled(), at_most: Fraction::new(1.0) }];
        if random.random_bool(0.5) {
            let ions =
                [(Measure::Calcium, 1.0), (Measure::Alkalinity, 0.4), (Measure::Chloride, 0.6)];
            let tap = tap_of(&ions)?;
            base.push(BaseShare { water: tap, at_most: Fraction::new(0.6) });
        }
        let preferences =
            [Preference::LeastVolume, Preference::LeastSodium, Preference::FewestStocks];
        let flight = Flight {
            title: "random".to_owned(),
            base,
            bottle: Litres::new(0.5),
            convention: if added { Convention::AddedToALitre } else { Convention::MadeUpToALitre },
            misses: if random.random_bool(0.5) { MissRule::Sum } else { MissRule::Largest },
            preference: *preferences.get(number % 3).ok_or("no preference")?,
            limits: DoseLimits::default(),
            targets: vec![Target { name: "one".to_owned(), goals }],
        };
        let target = flight.targets.first().ok_or("no target")?;
        let planned = plan_flight(&flight, &stocks)?.into_iter().next().ok_or("no plan")?;
        // Every set with the plan that it gives, when that keeps all goals.
        let volume = match flight.preference {
            Preference::FewestStocks => Preference::LeastVolume,
            other => other,
        };
        let each = Flight { preference: volume, ..flight.clone() };
        let mut sets: Vec<(u32, Plan)> = Vec::new();
        for bits in 0_u32..64 {
            let some = stocks.iter().enumerate().filter(|(j, _)| bits >> j & 1 == 1);
            let some: Vec<Stock> = some.map(|(_, s)| s.clone()).collect();
            let plan = plan_flight(&each, &some)?.into_iter().next().ok_or("no plan")?;
            if plan.reached() {
                sets.push((bits, plan));
            }
        }
        let serves = |bits: u32| sets.iter().any(|(other, _)| *other == bits);
        let is_smallest =
            |bits: u32| (0..6).all(|j| bits >> j & 1 == 0 || !serves(bits & !(1 << j)));
        let mut smallest: Vec<&(u32, Plan)> =
            sets.iter().filter(|(bits, _)| is_smallest(*bits)).collect();
        smallest.sort_by(|(_, a), (_, b)| {
            let (a, b) = (values(a), values(b));
            let parts = a.iter().zip(&b).map(|(x, y)| x.total_cmp(y));
            parts.fold(std::cmp::Ordering::Equal, std::cmp::Ordering::then)
        });
        let found = alternatives(&flight, &stocks, target, 64)?;
        recipes += found.len();
        assert_eq!(found.is_empty(), !planned.reached());
        let Some(first) = found.first() else { continue };
        assert_eq!(used(first), used(&planned), "number {number}");
        let bits = |plan: &Plan| used(plan).iter().fold(0_u32, |bits, j| bits | 1 << j);
        not_smallest += usize::from(!is_smallest(bits(first)));
        let mut listed: Vec<u32> = found.iter().map(bits).filter(|b| is_smallest(*b)).collect();
        assert_eq!(listed.len() + usize::from(!is_smallest(bits(first))), found.len());
        let mut wanted: Vec<u32> = smallest.iter().map(|(bits, _)| *bits).collect();
        listed.sort_unstable();
        wanted.sort_unstable();
        assert_eq!(listed, wanted, "number {number}");
        let after = smallest.iter().filter(|(other, _)| *other != bits(first));
        for (recipe, (_, best)) in found.iter().skip(1).zip(after) {
            let (own, wanted) = (values(recipe), values(best));
            assert!(same(recipe, best), "number {number}: {own:?}, {wanted:?}");
        }
    }
    assert!(recipes > 160, "only {recipes} recipes");
    assert!(not_smallest > 2, "the best is a smallest set but {not_smallest} times");
    Ok(())
}
