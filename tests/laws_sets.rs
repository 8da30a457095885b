//! Sets of stocks and what is left in the bottles, against every set and by recomputation.

use std::error::Error;
use std::time::{Duration, Instant};

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha20Rng;
use waterflight::bench::built_in_salts;
use waterflight::flight::{
    BaseShare, Convention, DoseLimits, Flight, Goal, MissRule, Order, Preference, StockRule,
    StockSet, Target,
};
use waterflight::planner::lp::solution::SolveError;
use waterflight::planner::whole_flight::{Ordered, Watch, plan_order, plan_order_watched};
use waterflight::quantities::{Celsius, Fraction, Grams, Litres, Millilitres};
use waterflight::stock::{Lot, Making, Recipe, Stock};
use waterflight::water::{BaseWater, Measure};

use crate::common::shelf::{flight_of_one, stocks_of, syringe, tap_of};

type Fallible<T> = Result<T, Box<dyn Error>>;

const SALTS: [(&str, f64); 5] = [
    ("CaCl2·2H2O", 30.0),
    ("MgSO4·7H2O", 40.0),
    ("MgCl2·6H2O", 35.0),
    ("NaHCO3", 30.0),
    ("KHCO3", 40.0),
];

fn shelf() -> Vec<Stock> {
    stocks_of(&SALTS)
}

fn tap() -> Fallible<BaseWater> {
    let amounts = [
        (Measure::Calcium, 1.5),
        (Measure::Sodium, 0.4),
        (Measure::Chloride, 0.5),
        (Measure::Alkalinity, 1.4),
    ];
    Ok(tap_of(&amounts)?)
}

/// Waters of random goals, under random rules.
fn flight(random: &mut ChaCha20Rng, waters: usize) -> Fallible<Flight> {
    let mut targets = Vec::new();
    for n in 0..waters {
        let mut wish = |measure, low: f64, high: f64, how: &str| {
            let value = random.random_range(low..high);
            Goal::parse(measure, &format!("{how}{value:.2} meq/L"))
        };
        let goals = vec![
            wish(Measure::Hardness, 0.2, 3.0, "")?,
            wish(Measure::Alkalinity, 0.1, 2.0, "")?,
            wish(Measure::Sulfate, 0.0, 1.2, "at least ")?,
            wish(Measure::Sodium, 0.1, 1.0, "at most ")?,
        ];
        targets.push(Target { name: format!("water {n}"), goals });
    }
    let mut base = vec![BaseShare { water: BaseWater::distilled(), at_most: Fraction::new(1.0) }];
    if random.random_bool(0.5) {
        let at_most = Fraction::new(random.random_range(0.2..1.0));
        base.push(BaseShare { water: tap()?, at_most });
    }
    let added = random.random_bool(0.5);
    Ok(Flight {
        title: "random".to_owned(),
        base,
        bottle: Litres::new(0.5),
        convention: if added { Convention::AddedToALitre } else { Convention::MadeUpToALitre },
        misses: if random.random_bool(0.3) { MissRule::Largest } else { MissRule::Sum },
        preference: if random.random_bool(0.5) {
            Preference::LeastVolume
        } else {
            Preference::LeastSodium
        },
        limits: DoseLimits::default(),
        targets,
    })
}

/// Sums over the waters of what is missed, stage by stage.
fn misses(ordered: &Ordered) -> Vec<f64> {
    let mut sums = vec![0.0; 3];
    for plan in &ordered.plans {
        let stages = &plan.stages;
        let of = [stages.largest.unwrap_or_default(), stages.beyond, stages.inside];
        for (sum, value) in sums.iter_mut().zip(of) {
            *sum += value;
        }
    }
    sums
}

/// Whether values are less, in order, by more than a ten-thousandth of a unit of miss (or of the
/// sum): what a search in steps is proved to.
fn less(values: &[f64], than: &[f64]) -> bool {
    for (a, b) in values.iter().zip(than) {
        if (a - b).abs() > 2e-4 * b.abs().max(1.0) {
            return a < b;
        }
    }
    false
}

/// The flight made with these stocks only.
fn made_with(flight: &Flight, order: &Order, members: &[bool]) -> Option<Ordered> {
    let stocks = shelf();
    let mut rules = order.rules.clone();
    for rule in &mut rules {
        let outside = stocks.iter().zip(members).filter(|(_, m)| !**m);
        rule.without.extend(outside.map(|(s, _)| s.name().to_owned()));
    }
    let order = Order { stock_set: StockSet::Any, rules, ..order.clone() };
    plan_order(flight, &stocks, &order, Duration::from_secs(2)).ok()
}

fn sets() -> impl Iterator<Item = Vec<bool>> {
    (0_u32..32).map(|bits| (0..5).map(|j| bits >> j & 1 == 1).collect())
}

fn size(members: &[bool]) -> usize {
    members.iter().filter(|m| **m).count()
}

/// The best so many stocks are the best by what they make in steps; a stock that a water must have
/// is in the set and counts.
#[test]
fn the_best_stocks_are_the_best_of_all_sets() -> Fallible<()> {
    let mut random = ChaCha20Rng::seed_from_u64(11);
    let stocks = shelf();
    let mut by_steps = 0;
    for number in 0..24 {
        let waters = random.random_range(1..3);
        let flight = flight(&mut random, waters)?;
        let most = random.random_range(1..4);
        let stepped = number % 3 != 0;
        let mut rules = vec![StockRule::default(); waters];
        if stepped && random.random_bool(0.4) {
            let name = stocks.get(random.random_range(0..5)).ok_or("no stock")?.name().to_owned();
            rules.first_mut().ok_or("no rule")?.with.push(name);
        }
        let least = [0.1, 0.5, 2.0].get(random.random_range(0..3)).copied().ok_or("no least")?;
        let order = Order {
            dispenser: stepped.then(|| syringe(0.1, least)),
            stock_set: StockSet::AtMost(most),
            rules,
            left: Vec::new(),
            ..Order::default()
        };
        let found = plan_order(&flight, &stocks, &order, Duration::from_secs(2))?;
        let chosen = found.chosen.as_ref().ok_or("no set")?;
        assert!(chosen.proved, "number {number}: {chosen:?}");
        assert!(size(&chosen.members) <= most, "number {number}: {chosen:?}");
        let required = |m: &[bool]| {
            stocks.iter().zip(m).all(|(s, m)| {
                *m || !order.rules.iter().any(|r| r.with.iter().any(|n| n == s.name()))
            })
        };
        assert!(required(&chosen.members), "number {number}: {chosen:?}");
        let own = misses(&found);
        for members in sets().filter(|m| size(m) <= most && required(m)) {
            let Some(other) = made_with(&flight, &order, &members) else { continue };
            if !other.unanswered.is_empty() {
                continue;
            }
            let theirs = misses(&other);
            assert!(
                !less(&theirs, &own),
                "number {number}: {:?} {own:?}, but {members:?} {theirs:?}",
                chosen.members
            );
            by_steps += usize::from(stepped);
        }
    }
    assert!(by_steps > 100, "only {by_steps} sets compared in steps");
    Ok(())
}

/// The fewest stocks serve every water, in steps, as well as the whole shelf, and no smaller set
/// does.
#[test]
fn the_fewest_in_steps_are_the_fewest() -> Fallible<()> {
    let mut random = ChaCha20Rng::seed_from_u64(12);
    let stocks = shelf();
    for number in 0..16 {
        let flight = flight(&mut random, 2)?;
        let mut rules = vec![StockRule::default(); 2];
        if random.random_bool(0.4) {
            let name = stocks.get(random.random_range(0..5)).ok_or("no stock")?.name().to_owned();
            rules.last_mut().ok_or("no rule")?.with.push(name);
        }
        let order = Order {
            dispenser: Some(syringe(0.1, 0.5)),
            stock_set: StockSet::Fewest,
            rules,
            left: Vec::new(),
            ..Order::default()
        };
        let found = plan_order(&flight, &stocks, &order, Duration::from_secs(2))?;
        let chosen = found.chosen.as_ref().ok_or("no set")?;
        assert!(chosen.proved, "number {number}: {chosen:?}");
        let whole = made_with(&flight, &order, &[true; 5]).ok_or("no plan")?;
        let served_by = |other: &Ordered| {
            other.unanswered.is_empty()
                && other.plans.iter().zip(&whole.plans).all(|(a, b)| {
                    let (a, b) = (&a.stages, &b.stages);
                    // The first stage that differs decides.
                    let differs = |a: f64, b: f64| {
                        let even = if b <= 1e-6 { 2e-6 } else { 2e-4 * b.max(1.0) };
                        ((a - b).abs() > even).then_some(a < b)
                    };
                    let largest = [a.largest, b.largest].map(Option::unwrap_or_default);
                    let better = differs(largest[0], largest[1]);
                    better.or_else(|| differs(a.beyond, b.beyond)).unwrap_or(true)
                })
        };
        assert!(served_by(&found), "number {number}: {chosen:?}");
        let required = |m: &[bool]| {
            stocks.iter().zip(m).all(|(s, m)| {
                *m || !order.rules.iter().any(|r| r.with.iter().any(|n| n == s.name()))
            })
        };
        for members in sets().filter(|m| size(m) < size(&chosen.members) && required(m)) {
            let Some(other) = made_with(&flight, &order, &members) else { continue };
            assert!(!served_by(&other), "number {number}: {:?}, but {members:?}", chosen.members);
        }
    }
    Ok(())
}

/// A stock of which the water takes less than the syringe delivers is no use, however good it would be
/// without steps: the other one is opened.
#[test]
fn a_set_that_pours_nothing_is_not_the_best() -> Fallible<()> {
    let strong = |name: &str, formula: &str, grams: f64| -> Fallible<Stock> {
        let salts = built_in_salts()?;
        let salt = salts.iter().find(|s| s.formula.to_string() == formula).ok_or("no salt")?;
        Ok(Stock::new(Recipe {
            name: name.to_owned(),
            salt: salt.clone(),
            lot: Lot::default(),
            making: Making::ToTotalMass { salt: Grams::new(grams), total: Grams::new(1000.0) },
            temperature: Celsius::new(20.0),
        })?)
    };
    // One bottle is so strong that the least dose is too much; it needs less volume without steps.
    let stocks = [strong("strong", "MgCl2·6H2O", 300.0)?, strong("weak", "MgCl2·6H2O", 10.0)?];
    let goals = vec![Goal::parse(Measure::Magnesium, "3 mg/L ± 0.2 mg/L")?];
    let flight = flight_of_one(goals, vec![(BaseWater::distilled(), 1.0)]);
    for stock_set in [StockSet::AtMost(1), StockSet::Fewest] {
        let order = Order { dispenser: Some(syringe(0.1, 0.5)), stock_set, ..Order::default() };
        let found = plan_order(&flight, &stocks, &order, Duration::from_secs(2))?;
        let chosen = found.chosen.as_ref().ok_or("no set")?;
        assert_eq!(chosen.members, [false, true], "{stock_set:?}");
        assert!(chosen.proved && found.plans.iter().all(waterflight::planner::Plan::reached));
    }
    Ok(())
}

/// mL of a stock that one bottle of each water takes.
fn taken(flight: &Flight, ordered: &Ordered, stock: usize) -> f64 {
    ordered
        .plans
        .iter()
        .map(|plan| {
            let per = match flight.convention {
                Convention::MadeUpToALitre => 1.0,
                Convention::AddedToALitre => plan.shares.iter().sum(),
            };
            plan.ml_per_l.get(stock).copied().unwrap_or_default() / per * flight.bottle.value()
        })
        .sum()
}

/// In either convention, with steps and without, no more is taken than is left; and what is said to
/// be left over is never less than nothing.
#[test]
fn no_more_is_taken_than_is_left() -> Fallible<()> {
    let mut random = ChaCha20Rng::seed_from_u64(13);
    let stocks = shelf();
    let (mut bound, mut proved) = (0, 0);
    for number in 0..40 {
        let flight = flight(&mut random, 4)?;
        let left: Vec<(String, Millilitres)> = [1, 4]
            .iter()
            .filter_map(|j| stocks.get(*j))
            .map(|s| (s.name().to_owned(), Millilitres::new(random.random_range(0.5..8.0))))
            .collect();
        let order = Order {
            dispenser: random.random_bool(0.3).then(|| syringe(0.1, 0.2)),
            left: left.clone(),
            ..Order::default()
        };
        let found = plan_order(&flight, &stocks, &order, Duration::from_secs(1))?;
        for (j, (name, ml)) in [1, 4].iter().zip(&left) {
            let taken = taken(&flight, &found, *j);
            assert!(taken <= ml.value() + 1e-6, "number {number}: {taken} of {ml:?} of {name}");
        }
        let over = found.left.as_ref().ok_or("no limits")?;
        bound += usize::from(over.binding);
        proved += usize::from(over.binding && over.proved);
        // Doses come on top of a litre, or come in steps: then nothing is claimed that binds.
        if over.binding && over.proved {
            assert!(order.dispenser.is_none() && flight.convention == Convention::MadeUpToALitre);
        }
    }
    assert!(bound > 20 && proved > 5, "{bound} bound, {proved} proved");
    Ok(())
}

/// A thousand waters with two bottles that must do for all of them, in seconds; a listener hears of
/// it, and one who has had enough stops it.
#[test]
fn a_thousand_waters_share_what_is_left() -> Fallible<()> {
    let mut random = ChaCha20Rng::seed_from_u64(14);
    let stocks = shelf();
    let mut flight = flight(&mut random, 1000)?;
    flight.convention = Convention::MadeUpToALitre;
    flight.misses = MissRule::Sum;
    let left = [1, 4].iter().filter_map(|j| stocks.get(*j));
    let left = left.map(|s| (s.name().to_owned(), Millilitres::new(500.0))).collect();
    let order = Order { left, ..Order::default() };
    let start = Instant::now();
    let heard = std::sync::atomic::AtomicUsize::new(0);
    let listener = |progress: waterflight::planner::whole_flight::Progress<'_>| {
        assert!((0.0..=1.0).contains(&progress.part), "{progress:?}");
        heard.fetch_add(1, std::sync::atomic::Ordering::Relaxed);
    };
    let watch = Watch { listener: Some(&listener), stop: None };
    let time_limit = Duration::from_secs(1);
    let found = plan_order_watched(&flight, &stocks, &order, time_limit, watch)?;
    let over = found.left.as_ref().ok_or("no limits")?;
    assert!(over.binding && over.proved, "{over:?}");
    assert!(start.elapsed() < Duration::from_secs(30), "{:?}", start.elapsed());
    assert!(heard.load(std::sync::atomic::Ordering::Relaxed) > 10);
    for j in [1, 4] {
        assert!(taken(&flight, &found, j) <= 500.0 + 1e-6);
    }
    let stop = std::sync::atomic::AtomicBool::new(true);
    let watch = Watch { listener: None, stop: Some(&stop) };
    let stopped = plan_order_watched(&flight, &stocks, &order, time_limit, watch);
    assert_eq!(stopped.map_err(|e| e.source), Err(SolveError::Cancelled));
    Ok(())
}
