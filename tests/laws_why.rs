//! What `why` says is checked by planning again: conflicts, nearest values, salts that help.

use std::error::Error;

use proptest::prelude::*;
use waterflight::bench::built_in_salts;
use waterflight::flight::{Flight, Goal};
use waterflight::planner::explain::Explainer;
use waterflight::planner::explain::why;
use waterflight::planner::plan_flight;
use waterflight::quantities::{Celsius, Grams};
use waterflight::stock::{Catalogue, Lot, Making, Recipe, Salt, Stock};
use waterflight::water::{BaseWater, Measure};

use crate::common::shelf::flight_of_one;

type Fallible = Result<(), Box<dyn Error>>;

fn stock(salt: &Salt, grams: f64) -> Result<Stock, Box<dyn Error>> {
    Ok(Stock::new(Recipe {
        name: salt.formula.to_string(),
        salt: salt.clone(),
        lot: Lot::default(),
        making: Making::ToTotalMass { salt: Grams::new(grams), total: Grams::new(1000.0) },
        temperature: Celsius::new(20.0),
    })?)
}

fn salts() -> Vec<Salt> {
    built_in_salts().unwrap_or_default()
}

fn shelf(formulas: &[&str]) -> Result<Vec<Stock>, Box<dyn Error>> {
    let salts = salts();
    formulas
        .iter()
        .map(|formula| {
            let salt = salts.iter().find(|s| s.formula.to_string() == *formula);
            stock(salt.ok_or("no such salt")?, 20.0)
        })
        .collect()
}

const SHELF: [&str; 4] = ["CaCl2·2H2O", "MgSO4·7H2O", "NaHCO3", "KHCO3"];

fn flight(goals: Vec<Goal>) -> Flight {
    flight_of_one(goals, vec![(BaseWater::distilled(), 1.0)])
}

/// Whether a water with only these goals is in reach, by an ordinary plan.
fn in_reach(goals: &[Goal], shelf: &[Stock]) -> bool {
    plan_flight(&flight(goals.to_vec()), shelf)
        .is_ok_and(|plans| plans.iter().all(waterflight::planner::Plan::reached))
}

const MEASURES: [Measure; 8] = [
    Measure::Hardness,
    Measure::Calcium,
    Measure::Magnesium,
    Measure::Sodium,
    Measure::Potassium,
    Measure::Chloride,
    Measure::Sulfate,
    Measure::Alkalinity,
];

fn wishes() -> impl Strategy<Value = Vec<(Measure, f64, u8)>> {
    proptest::sample::subsequence(MEASURES.to_vec(), 2..8).prop_flat_map(|measures| {
        let count = measures.len();
        (Just(measures), proptest::collection::vec((0.0..3.0_f64, 0_u8..3), count)).prop_map(
            |(measures, wishes)| {
                measures.into_iter().zip(wishes).map(|(m, (v, kind))| (m, v, kind)).collect()
            },
        )
    })
}

fn goals(wishes: &[(Measure, f64, u8)]) -> Option<Vec<Goal>> {
    wishes
        .iter()
        .map(|(measure, meq, kind)| {
            let text = match kind {
                0 => format!("{meq} meq/L"),
                1 => format!("at most {meq} meq/L"),
                _ => format!("at least {meq} meq/L"),
            };
            Goal::parse(*measure, &text).ok()
        })
        .collect()
}

proptest! {
    #![proptest_config(crate::common::cases(120))]

    /// The goals named cannot all be kept; every proper part of them can.
    #[test]
    fn conflicts_cannot_be_made_smaller(wishes in wishes()) {
        let goals = goals(&wishes).ok_or(TestCaseError::reject("goals"))?;
        let shelf = shelf(&SHELF).map_err(|e| TestCaseError::fail(e.to_string()))?;
        let flight = flight(goals.clone());
        let target = flight.targets.first().ok_or(TestCaseError::fail("no target"))?;
        let conflict = Explainer::new(&flight, &shelf)
            .conflicting_goals(target)
            .map_err(|e| TestCaseError::fail(e.to_string()))?;
        prop_assert_eq!(conflict.is_empty(), in_reach(&goals, &shelf));
        let set: Vec<Goal> = conflict.iter().filter_map(|n| goals.get(*n)).cloned().collect();
        if !set.is_empty() {
            prop_assert!(!in_reach(&set, &shelf));
        }
        for bits in 1..(1_u32 << set.len()) - 1 {
            let part: Vec<Goal> = set
                .iter()
                .enumerate()
                .filter(|(n, _)| bits >> n & 1 == 1)
                .map(|(_, g)| g.clone())
                .collect();
            prop_assert!(in_reach(&part, &shelf), "{bits:b} of {}", set.len());
        }
    }

    /// A goal that `why` says to be reachable behind all others is; and where the charges cannot
    /// cancel, no salt is offered.
    #[test]
    fn answers_agree_with_each_other(wishes in wishes()) {
        let goals = goals(&wishes).ok_or(TestCaseError::reject("goals"))?;
        let shelf = shelf(&SHELF).map_err(|e| TestCaseError::fail(e.to_string()))?;
        let flight = flight(goals.clone());
        let target = flight.targets.first().ok_or(TestCaseError::fail("no target"))?;
        let catalogue = Catalogue::new(salts());
        let answer = why(&flight, &shelf, target, &catalogue, &|_| None)
            .map_err(|e| TestCaseError::fail(e.to_string()))?;
        for (n, near) in answer.nearest.iter().enumerate() {
            let others: Vec<Goal> =
                goals.iter().enumerate().filter(|(k, _)| *k != n).map(|(_, g)| g.clone()).collect();
            if !others.is_empty() {
                prop_assert_eq!(near.others_kept, in_reach(&others, &shelf));
            }
            if near.others_kept {
                prop_assert_eq!(near.reached, in_reach(&goals, &shelf));
            }
        }
        // The charges are those of what shelf and base bring; a salt may bring other ions.
        let known = [Measure::Chloride, Measure::Sulfate, Measure::Alkalinity];
        let all_named = known.iter().all(|m| wishes.iter().any(|(w, _, _)| w == m));
        if !answer.charges.can_cancel() && all_named {
            for remedy in &answer.remedies {
                let foreign = remedy.salts.iter().any(|(s, _)| {
                    let text = s.formula.to_string();
                    text.contains("C3H5O3") || text.contains("C6H5O7")
                });
                prop_assert!(foreign, "{:?} against {:?}", remedy, answer.charges);
            }
        }
    }
}

/// A salt that is offered does reach the target once a stock of it stands on the shelf; the
/// fewest grams come first, and a known price before them.
#[test]
fn remedies_help_when_they_are_stocked() -> Fallible {
    let shelf = shelf(&SHELF)?;
    let goals = vec![
        Goal::parse(Measure::Hardness, "120 mg/L as CaCO3")?,
        Goal::parse(Measure::Alkalinity, "120 mg/L as CaCO3")?,
        Goal::parse(Measure::Chloride, "at most 10 mg/L")?,
        Goal::parse(Measure::Sulfate, "at most 10 mg/L")?,
    ];
    assert!(!in_reach(&goals, &shelf));
    let flight = flight(goals.clone());
    let target = flight.targets.first().ok_or("no target")?;
    let catalogue = Catalogue::new(salts());
    let answer = why(&flight, &shelf, target, &catalogue, &|_| None)?;
    assert!(!answer.remedies.is_empty());
    let mut grams = 0.0;
    for remedy in &answer.remedies {
        assert!(remedy.grams() >= grams);
        grams = remedy.grams();
        let mut more = shelf.clone();
        for (salt, _) in &remedy.salts {
            more.push(stock(salt, 1.0)?);
        }
        assert!(in_reach(&goals, &more), "{:?}", remedy.salts);
    }
    let dear = |salt: &Salt| (salt.formula.to_string() == "CaCO3").then_some(0.01);
    let answer = why(&flight, &shelf, target, &catalogue, &dear)?;
    let first = answer.remedies.first().and_then(|r| r.salts.first()).ok_or("no remedy")?;
    assert_eq!(first.0.formula.to_string(), "CaCO3");
    Ok(())
}

/// 2 meq/L of calcium, and room for 0.3 of chloride, 0.3 of sulfate and 0.4 of alkalinity: no
/// salt can do that.
#[test]
fn charges_that_cannot_cancel_are_said() -> Fallible {
    let shelf = shelf(&SHELF)?;
    let goals = vec![
        Goal::parse(Measure::Calcium, "at least 2 meq/L")?,
        Goal::parse(Measure::Chloride, "at most 0.3 meq/L")?,
        Goal::parse(Measure::Sulfate, "at most 0.3 meq/L")?,
        Goal::parse(Measure::Alkalinity, "at most 0.4 meq/L")?,
    ];
    let flight = flight(goals);
    let target = flight.targets.first().ok_or("no target")?;
    let answer = why(&flight, &shelf, target, &Catalogue::new(salts()), &|_| None)?;
    assert!(!answer.charges.can_cancel());
    assert!((answer.charges.cations_least - 2.0).abs() < 1e-12);
    // Of these, chloride alone stands against calcium on this shelf.
    assert_eq!(answer.conflict, [0, 1]);
    Ok(())
}
