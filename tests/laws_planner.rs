//! Laws that every plan keeps, on random flights.

use proptest::prelude::*;
use waterflight::chemistry::{Composition, Conserved};
use waterflight::flight::{Flight, Goal, MissRule, Target};
use waterflight::planner::{Plan, plan_flight};
use waterflight::stock::Stock;
use waterflight::water::{BaseWater, Measure};

use crate::common::shelf::{flight_of_one, hard_tap, stocks_of};

const SALTS: [(&str, f64); 9] = [
    ("CaCl2·2H2O", 30.0),
    ("CaSO4·2H2O", 1.5),
    ("MgSO4·7H2O", 40.0),
    ("MgCl2·6H2O", 35.0),
    ("NaHCO3", 30.0),
    ("KHCO3", 40.0),
    ("NaCl", 20.0),
    ("K2SO4", 30.0),
    ("Ca(C3H5O3)2·5H2O", 20.0),
];

fn shelf(chosen: &[bool]) -> Vec<Stock> {
    let salts = SALTS.into_iter().zip(chosen).filter(|(_, chosen)| **chosen);
    stocks_of(&salts.map(|(salt, _)| salt).collect::<Vec<_>>())
}

fn flight(wishes: &[(Measure, f64, u8)], tap: f64, misses: MissRule) -> Option<Flight> {
    let tap = hard_tap(tap)?;
    let goals = wishes
        .iter()
        .map(|(measure, meq, kind)| {
            let text = match kind {
                0 => format!("{meq} meq/L"),
                1 => format!("at most {meq} meq/L"),
                2 => format!("at least {meq} meq/L"),
                3 => format!("{meq} meq/L ± 0, weight 2"),
                _ => format!("between {meq} and {} meq/L", meq + 0.5),
            };
            Goal::parse(*measure, &text).ok()
        })
        .collect::<Option<Vec<_>>>()?;
    let base = vec![(BaseWater::distilled(), 1.0), (tap, 0.5)];
    Some(Flight { misses, ..flight_of_one(goals, base) })
}

/// The cost of misses beyond tolerance, from the definitions and nothing else.
fn beyond(flight: &Flight, water: &Composition) -> f64 {
    flight
        .targets
        .iter()
        .flat_map(|t| &t.goals)
        .map(|goal| {
            let waterflight::flight::Subject::Measure(measure) = goal.subject else { return 0.0 };
            let miss = goal.band.miss(measure.of(water)).abs();
            goal.weight * (miss - goal.tolerance).max(0.0) / goal.miss_unit
        })
        .sum()
}

fn mixed(stocks: &[Stock], flight: &Flight, ml: &[f64], shares: &[f64]) -> Composition {
    let mut water = Composition::PURE_WATER;
    for (stock, ml) in stocks.iter().zip(ml) {
        water += stock.composition_per_ml() * *ml;
    }
    for (base, share) in flight.base.iter().zip(shares) {
        water += base.water.composition * *share;
    }
    water
}

fn wishes() -> impl Strategy<Value = Vec<(Measure, f64, u8)>> {
    let measures = proptest::sample::subsequence(
        vec![
            Measure::Hardness,
            Measure::Calcium,
            Measure::Magnesium,
            Measure::Sodium,
            Measure::Potassium,
            Measure::Chloride,
            Measure::Sulfate,
            Measure::Alkalinity,
        ],
        1..8,
    );
    measures.prop_flat_map(|chosen| {
        // Less than so much is nothing: amounts that no meter shows are refused.
        let amount = || (0.0..4.0_f64).prop_map(|meq| if meq < 1e-3 { 0.0 } else { meq });
        chosen.into_iter().map(|m| (Just(m), amount(), 0..5_u8)).collect::<Vec<_>>()
    })
}

fn one_plan(flight: &Flight, stocks: &[Stock]) -> Result<Plan, TestCaseError> {
    let plans = plan_flight(flight, stocks).map_err(|e| TestCaseError::fail(e.to_string()))?;
    plans.into_iter().next().ok_or_else(|| TestCaseError::fail("no plan"))
}

proptest! {
    #![proptest_config(crate::common::cases(400))]

    /// Doses and shares are not negative and fill the litre; the water is what mixing gives; its
    /// charges cancel as those of its parts do.
    #[test]
    fn mass_and_charge_are_kept(
        chosen in proptest::collection::vec(any::<bool>(), 9),
        wishes in wishes(),
        tap in 0.1..2.0_f64,
        largest in any::<bool>(),
    ) {
        let stocks = shelf(&chosen);
        let misses = if largest { MissRule::Largest } else { MissRule::Sum };
        let flight = flight(&wishes, tap, misses).ok_or_else(|| TestCaseError::fail("flight"))?;
        let plan = one_plan(&flight, &stocks)?;
        prop_assert!(plan.ml_per_l.iter().chain(&plan.shares).all(|x| *x >= 0.0));
        let volume = plan.ml_per_l.iter().sum::<f64>() / 1000.0 + plan.shares.iter().sum::<f64>();
        prop_assert!((volume - 1.0).abs() < 1e-9, "{volume} L");
        let water = mixed(&stocks, &flight, &plan.ml_per_l, &plan.shares);
        for total in Conserved::ALL {
            let off = (water.mmol_per_l(total) - plan.water.mmol_per_l(total)).abs();
            prop_assert!(off < 1e-9, "{total:?} off by {off}");
        }
        let charge = plan.water.cations_meq_per_l() - plan.water.anions_meq_per_l();
        prop_assert!(charge.abs() < 1e-9, "charge {charge}");
        prop_assert!((beyond(&flight, &water) - plan.stages.beyond).abs() < 1e-6 * plan.stages.beyond.max(1.0));
    }

    /// No other water that the shelf can make misses by less: random mixtures, and the plan
    /// itself pushed a little along every stock.
    #[test]
    fn no_other_doses_miss_less(
        chosen in proptest::collection::vec(any::<bool>(), 9),
        wishes in wishes(),
        tap in 0.1..2.0_f64,
        random in proptest::collection::vec(0.0..12.0_f64, 9),
        share in 0.0..0.5_f64,
        push in -0.5..0.5_f64,
    ) {
        let stocks = shelf(&chosen);
        let flight =
            flight(&wishes, tap, MissRule::Sum).ok_or_else(|| TestCaseError::fail("flight"))?;
        let plan = one_plan(&flight, &stocks)?;
        let best = plan.stages.beyond + 1e-7 * plan.stages.beyond.max(1.0);
        let fill = |ml: &[f64], tap: f64| {
            let distilled = 1.0 - ml.iter().sum::<f64>() / 1000.0 - tap;
            beyond(&flight, &mixed(&stocks, &flight, ml, &[distilled, tap]))
        };
        let doses: Vec<f64> = random.iter().copied().take(stocks.len()).collect();
        prop_assert!(fill(&doses, share) >= best - 2e-7 * best.max(1.0));
        let tap_share = plan.shares.get(1).copied().unwrap_or_default();
        for at in 0..stocks.len() {
            let mut pushed = plan.ml_per_l.clone();
            if let Some(ml) = pushed.get_mut(at) {
                *ml = (*ml + push).max(0.0);
            }
            if pushed.iter().sum::<f64>() / 1000.0 + tap_share <= 1.0 {
                prop_assert!(fill(&pushed, tap_share) >= best - 2e-7 * best.max(1.0));
            }
        }
    }

    /// A target made from the shelf's own water is reached, and wishing for all of a reachable
    /// water leaves no miss.
    #[test]
    fn what_the_shelf_can_make_is_reached(
        chosen in proptest::collection::vec(any::<bool>(), 9),
        ml in proptest::collection::vec(0.0..12.0_f64, 9),
        share in 0.0..0.5_f64,
        tap in 0.1..2.0_f64,
    ) {
        let stocks = shelf(&chosen);
        let mut flight =
            flight(&[(Measure::Calcium, 1.0, 0)], tap, MissRule::Sum)
                .ok_or_else(|| TestCaseError::fail("flight"))?;
        let doses: Vec<f64> = ml.into_iter().take(stocks.len()).collect();
        let distilled = 1.0 - doses.iter().sum::<f64>() / 1000.0 - share;
        let water = mixed(&stocks, &flight, &doses, &[distilled, share]);
        let goals = [
            Measure::Calcium,
            Measure::Magnesium,
            Measure::Sodium,
            Measure::Potassium,
            Measure::Chloride,
            Measure::Sulfate,
            Measure::Alkalinity,
        ]
        .into_iter()
        .map(|m| Goal::parse(m, &format!("{:.12} meq/L ± 0", m.of(&water))))
        .collect::<Result<Vec<_>, _>>()
        .map_err(|e| TestCaseError::fail(e.to_string()))?;
        flight.targets = vec![Target { name: "own water".to_owned(), goals }];
        let plan = one_plan(&flight, &stocks)?;
        prop_assert!(plan.stages.beyond < 1e-6, "{}", plan.stages.beyond);
        prop_assert!(plan.reached());
    }
}
