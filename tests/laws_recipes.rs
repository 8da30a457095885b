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

use crate::common::shelf::stocks_of;

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

fn contains(set: &[usize], part: &[usize]) -> bool {
    part.iter().all(|j| set.contains(j))
}

/// Each next recipe is the best of all that leave out a stock of every recipe before it; the list ends
/// where there is none.
#[test]
fn alternatives_are_the_best_of_all_sets() -> Fallible<()> {
    let mut random = ChaCha20Rng::seed_from_u64(15);
    let stocks = shelf();
    let mut recipes = 0;
    for number in 0..40 {
        let mut wish = |measure, low: f64, high: f64, how: &str| {
            let value = random.random_range(low..high);
            Goal::parse(measure, &format!("{how}{value:.3} meq/L"))
        };
        let goals = vec![
            wish(Measure::Hardness, 0.5, 3.0, "")?,
            wish(Measure::Alkalinity, 0.3, 1.5, "")?,
            wish(Measure::Sodium, 0.2, 1.5, "at most ")?,
            wish(Measure::Sulfate, 0.2, 2.0, "at most ")?,
        ];
        let added = random.random_bool(0.5);
        let flight = Flight {
            title: "random".to_owned(),
            base: vec![BaseShare { water: BaseWater::distilled(), at_most: Fraction::new(1.0) }],
            bottle: Litres::new(0.5),
            convention: if added { Convention::AddedToALitre } else { Convention::MadeUpToALitre },
            misses: MissRule::Sum,
            preference: Preference::LeastVolume,
            limits: DoseLimits::default(),
            targets: vec![Target { name: "one".to_owned(), goals }],
        };
        let target = flight.targets.first().ok_or("no target")?;
        // Every set with the plan that it gives, when that keeps all goals.
        let mut sets: Vec<(u32, Plan)> = Vec::new();
        for bits in 0_u32..64 {
            let some = stocks.iter().enumerate().filter(|(j, _)| bits >> j & 1 == 1);
            let some: Vec<Stock> = some.map(|(_, s)| s.clone()).collect();
            let plan = plan_flight(&flight, &some)?.into_iter().next().ok_or("no plan")?;
            if plan.reached() {
                sets.push((bits, plan));
            }
        }
        let found = alternatives(&flight, &stocks, target, 64)?;
        recipes += found.len();
        let mut before: Vec<Vec<usize>> = Vec::new();
        for (n, recipe) in found.iter().map(Some).chain([None]).enumerate() {
            let open = sets.iter().filter(|(bits, plan)| {
                let members: Vec<usize> = (0..6).filter(|j| bits >> j & 1 == 1).collect();
                let own: Vec<usize> = members
                    .iter()
                    .zip(&plan.ml_per_l)
                    .filter(|(_, ml)| **ml > 1e-6)
                    .map(|(j, _)| *j)
                    .collect();
                // A part of an earlier recipe that is worse than the whole is no other recipe.
                before.iter().all(|b| !contains(&members, b) && !contains(b, &own))
            });
            let best = open.map(|(_, plan)| plan).min_by(|a, b| {
                let (a, b) = (values(a), values(b));
                a.iter()
                    .zip(&b)
                    .map(|(x, y)| x.total_cmp(y))
                    .find(|o| o.is_ne())
                    .unwrap_or(std::cmp::Ordering::Equal)
            });
            match (recipe, best) {
                (Some(recipe), Some(best)) => {
                    let (own, wanted) = (values(recipe), values(best));
                    assert!(same(recipe, best), "number {number}, recipe {n}: {own:?}, {wanted:?}");
                    before.push(used(recipe));
                }
                (None, None) => {}
                (recipe, best) => {
                    return Err(format!("number {number}, recipe {n}: {recipe:?}, {best:?}").into());
                }
            }
        }
    }
    assert!(recipes > 80, "only {recipes} recipes");
    Ok(())
}
