//! Laws that a flight keeps when doses come in steps or stocks are few, on random flights.
//!
//! Above 400 lines: the laws of one planner on the same random flights.

use std::error::Error;
use std::time::Duration;

use proptest::prelude::*;
use waterflight::flight::{
    BaseShare, Convention, Dispenser, DoseLimits, Flight, Goal, Measured, MissRule, Order,
    Preference, StockRule, StockSet, Style, Target,
};
use waterflight::planner::explain::plan_nearest_to;
use waterflight::planner::whole_flight::{Ordered, plan_order};
use waterflight::planner::{Plan, plan_flight};
use waterflight::quantities::{Fraction, Grams, Litres, Millilitres};
use waterflight::stock::Stock;
use waterflight::water::{BaseWater, Measure};

use crate::common::shelf::{stocks_of, syringe, tap_of};

const SALTS: [(&str, f64); 6] = [
    ("CaCl2·2H2O", 30.0),
    ("MgSO4·7H2O", 40.0),
    ("MgCl2·6H2O", 35.0),
    ("NaHCO3", 30.0),
    ("KHCO3", 40.0),
    ("NaCl", 20.0),
];

fn shelf() -> Vec<Stock> {
    stocks_of(&SALTS)
}

fn flight(wishes: &[(f64, f64, f64)], convention: Convention) -> Option<Flight> {
    let targets = wishes
        .iter()
        .enumerate()
        .map(|(n, (hardness, alkalinity, sodium))| {
            let goals = [
                (Measure::Hardness, format!("{hardness} meq/L")),
                (Measure::Alkalinity, format!("{alkalinity} meq/L, weight 2")),
                (Measure::Sodium, format!("at most {sodium} meq/L")),
            ];
            let goals = goals.iter().map(|(m, text)| Goal::parse(*m, text).ok());
            Some(Target { name: format!("water {n}"), goals: goals.collect::<Option<_>>()? })
        })
        .collect::<Option<Vec<_>>>()?;
    Some(Flight {
        title: "random".to_owned(),
        base: vec![BaseShare { water: BaseWater::distilled(), at_most: Fraction::new(1.0) }],
        bottle: Litres::new(0.5),
        convention,
        misses: MissRule::Sum,
        preference: Preference::LeastVolume,
        limits: DoseLimits::default(),
        targets,
    })
}

fn planned(flight: &Flight, order: &Order) -> Option<Ordered> {
    plan_order(flight, &shelf(), order, Duration::from_secs(2)).ok()
}

/// mL of every stock that one bottle takes.
fn poured(flight: &Flight, ordered: &Ordered, target: usize) -> Vec<f64> {
    ordered.plans.get(target).map_or(vec![], |plan| {
        let per = match flight.convention {
            Convention::MadeUpToALitre => 1.0,
            Convention::AddedToALitre => plan.shares.iter().sum(),
        };
        plan.ml_per_l.iter().map(|ml| ml / per * flight.bottle.value()).collect()
    })
}

fn wish() -> impl Strategy<Value = (f64, f64, f64)> {
    (0.1..3.0, 0.1..2.5, 0.0..1.5)
}

proptest! {
    #![proptest_config(crate::common::cases(40))]

    /// Doses poured into the bottle are whole steps, nothing or at least the least amount; and no
    /// dose in steps is better than one without.
    #[test]
    fn doses_are_whole_steps(
        wishes in proptest::collection::vec(wish(), 1..3),
        step in prop_oneof![Just(0.05), Just(0.1), Just(0.25)],
        least in 1_u32..6,
        added in any::<bool>(),
        largest in any::<bool>(),
    ) {
        let convention =
            if added { Convention::AddedToALitre } else { Convention::MadeUpToALitre };
        let mut flight = flight(&wishes, convention).ok_or(TestCaseError::reject("flight"))?;
        flight.misses = if largest { MissRule::Largest } else { MissRule::Sum };
        let least = f64::from(least) * step;
        let order = Order { dispenser: Some(syringe(step, least)), ..Order::default() };
        let ordered = planned(&flight, &order).ok_or(TestCaseError::fail("no plan"))?;
        for (n, water) in ordered.delivered.iter().enumerate() {
            for ml in poured(&flight, &ordered, n) {
                let steps = ml / step;
                prop_assert!((steps - steps.round()).abs() < 1e-6, "{ml} mL is no whole step");
                prop_assert!(ml < 1e-9 || ml > least - 1e-9, "{ml} mL is less than {least}");
            }
            let (stepped, free) = (&water.plan.stages, &water.continuous.stages);
            // Per litre of base water misses weigh as much more as the doses add.
            let even = if added { 1.05 } else { 1.0 };
            if largest {
                let worst = |s: &waterflight::planner::plan::StageValues| s.largest.unwrap_or(f64::NAN);
                prop_assert!(worst(stepped) * even >= worst(free) - 1e-6);
                continue;
            }
            prop_assert!(stepped.beyond * even >= free.beyond - 1e-6);
            if (stepped.beyond - free.beyond).abs() < 1e-7 {
                prop_assert!(stepped.inside * even >= free.inside - 1e-6);
            }
        }
    }

    /// One step up or down of any one stock is never better, when the best is proved.
    #[test]
    fn no_neighbour_is_better(wanted in wish()) {
        let flight = flight(&[wanted], Convention::MadeUpToALitre)
            .ok_or(TestCaseError::reject("flight"))?;
        let order = Order { dispenser: Some(syringe(0.1, 0.1)), ..Order::default() };
        let ordered = planned(&flight, &order).ok_or(TestCaseError::fail("no plan"))?;
        let goals = flight.targets.iter().flat_map(|t| &t.goals).collect::<Vec<_>>();
        let stocks = shelf();
        let beyond = |ml: &[f64]| -> f64 {
            goals.iter().map(|goal| {
                let waterflight::flight::Subject::Measure(measure) = goal.subject else {
                    return f64::NAN;
                };
                let value: f64 = stocks
                    .iter()
                    .zip(ml)
                    .map(|(s, ml)| measure.of(&s.composition_per_ml()) * ml)
                    .sum();
                let miss = goal.band.miss(value).abs();
                goal.weight * (miss - goal.tolerance).max(0.0) / goal.miss_unit
            }).sum()
        };
        let best = ordered.plans.first().map(|p| p.ml_per_l.clone()).unwrap_or_default();
        let proved = ordered.delivered.iter().all(waterflight::planner::steps::Delivered::proved);
        prop_assert!(proved);
        for j in 0..best.len() {
            for by in [0.2, -0.2] {
                let moved: Vec<f64> = best
                    .iter()
                    .enumerate()
                    .map(|(k, ml)| if k == j { ml + by } else { *ml })
                    .collect();
                if moved.iter().all(|ml| *ml > -1e-9) {
                    prop_assert!(beyond(&moved) >= beyond(&best) - 1e-3);
                }
            }
        }
    }

    /// The fewest stocks serve as well as the whole shelf, and no smaller set does: every set is
    /// tried, one after the other.
    #[test]
    fn the_fewest_stocks_are_the_fewest(wishes in proptest::collection::vec(wish(), 1..4)) {
        let flight = flight(&wishes, Convention::MadeUpToALitre)
            .ok_or(TestCaseError::reject("flight"))?;
        let stocks = shelf();
        let whole = plan_flight(&flight, &stocks).map_err(|e| TestCaseError::fail(e.to_string()))?;
        let serves = |bits: u32| {
            let some: Vec<Stock> = stocks
                .iter()
                .enumerate()
                .filter(|(j, _)| bits >> j & 1 == 1)
                .map(|(_, s)| s.clone())
                .collect();
            plan_flight(&flight, &some).is_ok_and(|plans| {
                plans
                    .iter()
                    .zip(&whole)
                    .all(|(p, w)| p.stages.beyond <= w.stages.beyond * (1.0 + 1e-6) + 1e-6)
            })
        };
        let smallest = (0..64).filter(|b| serves(*b)).map(u32::count_ones).min();
        let order = Order { stock_set: StockSet::Fewest, ..Order::default() };
        let ordered = planned(&flight, &order).ok_or(TestCaseError::fail("no plan"))?;
        let chosen = ordered.chosen.ok_or(TestCaseError::fail("no set"))?;
        prop_assert!(chosen.proved);
        let size = chosen.members.iter().filter(|m| **m).count();
        prop_assert_eq!(Some(size), smallest.map(|n| n as usize));
        for (plan, whole) in ordered.plans.iter().zip(&whole) {
            prop_assert!(plan.stages.beyond <= whole.stages.beyond * (1.0 + 1e-6) + 2e-6);
        }
    }

    /// What is left is never overdrawn, with steps and without, and doses only change for it
    /// where they must.
    #[test]
    fn what_is_left_suffices(
        wishes in proptest::collection::vec(wish(), 2..4),
        left in 0.0..8.0_f64,
        stepped in any::<bool>(),
    ) {
        let flight = flight(&wishes, Convention::MadeUpToALitre)
            .ok_or(TestCaseError::reject("flight"))?;
        let order = Order {
            dispenser: stepped.then(|| syringe(0.1, 0.2)),
            left: vec![("KHCO3".to_owned(), Millilitres::new(left))],
            ..Order::default()
        };
        let ordered = planned(&flight, &order).ok_or(TestCaseError::fail("no plan"))?;
        let taken: f64 = (0..flight.targets.len())
            .filter_map(|n| poured(&flight, &ordered, n).get(4).copied())
            .sum();
        prop_assert!(taken <= left + 1e-6, "{taken} mL of {left}");
        let free = plan_flight(&flight, &shelf()).map_err(|e| TestCaseError::fail(e.to_string()))?;
        let sum = |plans: &[Plan]| -> f64 {
            plans.iter().map(|p| p.stages.beyond).sum()
        };
        prop_assert!(sum(&ordered.plans) >= sum(&free) - 1e-6);
    }
}

/// A stock that is ruled out stays out, one that is asked for is in, and another preference
/// opens fewer bottles.
#[test]
fn rules_of_a_target_hold() -> Result<(), Box<dyn Error>> {
    let mut flight =
        flight(&[(1.5, 0.8, 0.4), (2.0, 1.0, 0.5)], Convention::MadeUpToALitre).ok_or("flight")?;
    let rule = StockRule { with: vec!["NaCl".to_owned()], without: vec!["MgCl2·6H2O".to_owned()] };
    let order = Order {
        dispenser: Some(syringe(0.1, 0.2)),
        rules: vec![rule, StockRule::default()],
        ..Order::default()
    };
    let ordered = planned(&flight, &order).ok_or("no plan")?;
    let first = ordered.delivered.first().ok_or("no water")?;
    assert_eq!(first.steps.get(2), Some(&0));
    assert!(first.steps.get(5).is_some_and(|steps| *steps >= 2));
    flight.preference = Preference::FewestStocks;
    for plan in plan_flight(&flight, &shelf())? {
        assert!(plan.reached());
        // Hardness needs one salt and alkalinity another; no single salt here brings both.
        assert_eq!(plan.ml_per_l.iter().filter(|ml| **ml > 1e-9).count(), 2);
    }
    Ok(())
}

/// Alternatives keep every goal, none but the planned one contains another, and that comes first.
#[test]
fn alternatives_are_distinct_and_in_reach() -> Result<(), Box<dyn Error>> {
    let flight = flight(&[(1.5, 0.8, 0.9)], Convention::MadeUpToALitre).ok_or("flight")?;
    let stocks = shelf();
    let target = flight.targets.first().ok_or("no target")?;
    let found = waterflight::planner::explain::alternatives(&flight, &stocks, target, 20)?;
    let best = plan_flight(&flight, &stocks)?;
    assert_eq!(found.first(), best.first());
    let used: Vec<Vec<usize>> =
        found.iter().map(waterflight::planner::explain::alternatives::used).collect();
    // Hardness by three salts, alkalinity by two: at least all pairs of one each.
    assert!(found.len() >= 6, "{used:?}");
    for (n, recipe) in found.iter().enumerate() {
        assert!(recipe.reached());
        let mine = used.get(n).ok_or("no set")?;
        for other in used.iter().skip(n + 1) {
            assert_ne!(mine, other);
            assert!(!mine.iter().all(|j| other.contains(j)), "{used:?}");
            assert!(n == 0 || !other.iter().all(|j| mine.contains(j)), "{used:?}");
        }
    }
    Ok(())
}

/// Likeness brings a water nearer to the other one and keeps its goals; a price moves the doses
/// to the cheaper stock.
#[test]
fn choices_decide_between_equals() -> Result<(), Box<dyn Error>> {
    let flight = flight(&[(1.5, 0.8, 0.9)], Convention::MadeUpToALitre).ok_or("flight")?;
    let stocks = shelf();
    let plain = plan_flight(&flight, &stocks)?;
    let mut like = waterflight::chemistry::Composition::PURE_WATER;
    like.set_mmol_per_l(waterflight::chemistry::Conserved::Mg, 0.75);
    like.set_mmol_per_l(waterflight::chemistry::Conserved::SO4, 0.75);
    let distance = |plans: &[Plan]| -> f64 {
        plans
            .iter()
            .flat_map(|p| {
                waterflight::chemistry::Conserved::ALL.map(|c| {
                    let charge = f64::from(c.charge().abs());
                    (p.water.mmol_per_l(c) - like.mmol_per_l(c)).abs() * charge
                })
            })
            .sum()
    };
    let near = plan_nearest_to(&flight, &stocks, &Order::default(), &like)?;
    assert!(near.iter().all(Plan::reached));
    assert!(distance(&near) < distance(&plain) - 0.1);
    let magnesium_sulfate = near.first().and_then(|p| p.ml_per_l.get(1)).ok_or("no dose")?;
    assert!(*magnesium_sulfate > 1.0);
    Ok(())
}

/// Likeness keeps what a water may have, and the least doses of a style.
#[test]
fn a_nearest_water_has_what_it_may_have() -> Result<(), Box<dyn Error>> {
    let flight =
        flight(&[(1.5, 0.8, 0.9), (1.5, 0.8, 0.9)], Convention::MadeUpToALitre).ok_or("flight")?;
    let stocks = shelf();
    let like = *plan_flight(&flight, &stocks)?.first().ok_or("no plan")?.water;
    let free = plan_nearest_to(&flight, &stocks, &Order::default(), &like)?;
    let names: Vec<String> = stocks.iter().map(|stock| stock.name().to_owned()).collect();
    let taken = |plan: &Plan, of: &str| -> f64 {
        let at = names.iter().position(|name| name == of);
        at.and_then(|at| plan.ml_per_l.get(at)).copied().unwrap_or_default()
    };
    let mut tried = 0;
    for name in &names {
        let rule = StockRule { without: vec![name.clone()], with: Vec::new() };
        let order = Order { rules: vec![StockRule::default(), rule], ..Order::default() };
        let near = plan_nearest_to(&flight, &stocks, &order, &like)?;
        let [first, second] = near.as_slice() else { return Err("not two waters".into()) };
        let same = free.first().ok_or("no water")?;
        assert!((taken(first, name) - taken(same, name)).abs() < 1e-9, "{name}");
        tried += usize::from(taken(first, name) > 0.0);
        assert!(taken(second, name).abs() < f64::EPSILON, "{name}: {second:?}");
    }
    assert!(tried > 1, "too few stocks were in the water: {free:?}");
    let least = Millilitres::new(0.5);
    let style = Some(Style::SameSalts { stocks: names.clone(), tried: 1, least });
    let styled = plan_nearest_to(&flight, &stocks, &Order { style, ..Order::default() }, &like)?;
    for plan in &styled {
        let litres = flight.bottle.value();
        assert!(names.iter().all(|name| taken(plan, name) * litres > 0.5 - 1e-6), "{plan:?}");
    }
    Ok(())
}

/// A scale counts grams: the doses are whole steps by weight. And a limit on the tap water holds
/// with steps as without.
#[test]
fn a_scale_counts_grams_and_shares_keep_their_limits() -> Result<(), Box<dyn Error>> {
    let mut flight =
        flight(&[(2.5, 1.2, 0.4), (1.0, 0.4, 0.2)], Convention::MadeUpToALitre).ok_or("flight")?;
    let amounts = [
        (Measure::Calcium, 3.0),
        (Measure::Sodium, 0.5),
        (Measure::Chloride, 0.5),
        (Measure::Alkalinity, 3.0),
    ];
    let tap = tap_of(&amounts)?;
    flight.base.push(BaseShare { water: tap, at_most: Fraction::new(0.3) });
    let step = Measured::Mass(Grams::new(0.01));
    let scale = Dispenser {
        name: "scale".to_owned(),
        kind: "scale",
        step,
        least: 0.1,
        error: 0.01,
        scatter: 0.0,
        off: Fraction::new(0.0),
        holds: None,
    };
    let order = Order { dispenser: Some(scale), ..Order::default() };
    let ordered = planned(&flight, &order).ok_or("no plan")?;
    for (n, plan) in ordered.plans.iter().enumerate() {
        for (ml, stock) in poured(&flight, &ordered, n).iter().zip(shelf()) {
            let steps = ml * stock.density().value.value() / 0.01;
            assert!((steps - steps.round()).abs() < 1e-6, "{steps} steps");
            assert!(!(1e-6..=9.999).contains(&steps));
        }
        assert!(plan.shares.get(1).is_some_and(|tap| *tap <= 0.3 + 1e-9));
        assert!(plan.reached());
    }
    // In the harder water it saves stock and does not stand against the alkalinity.
    let hard = ordered.plans.first().ok_or("no plan")?;
    assert!(hard.shares.get(1).is_some_and(|tap| *tap > 0.1), "{:?}", hard.shares);
    Ok(())
}

/// The same stocks in every water: each water has at least the least amount of each of them, and
/// no smaller set of which that is true does as well.
#[test]
fn the_same_stocks_in_every_water() -> Result<(), Box<dyn Error>> {
    let wishes = [(1.5, 0.8, 0.9), (2.4, 1.3, 0.5), (0.8, 0.5, 0.6)];
    let flight = flight(&wishes, Convention::MadeUpToALitre).ok_or("flight")?;
    let order =
        Order { dispenser: Some(syringe(0.1, 0.3)), stock_set: StockSet::Same, ..Order::default() };
    let ordered = planned(&flight, &order).ok_or("no plan")?;
    let chosen = ordered.chosen.as_ref().ok_or("no set")?;
    assert!(chosen.proved);
    for water in &ordered.delivered {
        for (steps, member) in water.steps.iter().zip(&chosen.members) {
            assert_eq!(*steps >= 3, *member);
            assert!(*member || *steps == 0);
        }
        assert!(water.plan.reached());
    }
    // One salt cannot bring both hardness and alkalinity, so two are the fewest.
    assert_eq!(chosen.members.iter().filter(|m| **m).count(), 2);
    Ok(())
}

/// Steps too fine to search through end in time, with a gap that is said.
#[test]
fn the_finest_steps_end_in_time() -> Result<(), Box<dyn Error>> {
    let wishes = [(1.537, 0.821, 0.9), (2.411, 1.307, 0.5)];
    let flight = flight(&wishes, Convention::MadeUpToALitre).ok_or("flight")?;
    let order = Order { dispenser: Some(syringe(1e-7, 0.5)), ..Order::default() };
    let start = std::time::Instant::now();
    let ordered = plan_order(&flight, &shelf(), &order, Duration::from_millis(300))?;
    assert!(start.elapsed() < Duration::from_secs(20), "{:?}", start.elapsed());
    for water in &ordered.delivered {
        assert!(water.plan.reached());
        assert!(water.proofs.iter().all(|p| p.bound <= p.value));
    }
    Ok(())
}
