//! What `why` and `mix` give as the reason of a water out of reach is tried again: the limit lifted, the
//! water distilled, the salts stocked, the goal left out, each by an ordinary plan.

use std::error::Error;
use std::fs;

use proptest::prelude::*;
use waterflight::bench::built_in_salts;
use waterflight::flight::{BaseShare, Convention, DoseLimits, Flight, Goal, MissRule};
use waterflight::mix::WhyReport;
use waterflight::mix::reach_report::ReachReport;
use waterflight::planner::explain::why;
use waterflight::planner::{Plan, plan_flight};
use waterflight::quantities::Fraction;
use waterflight::stock::{Catalogue, Stock};
use waterflight::water::{BaseWater, Measure};

use crate::common::answers::tried;
use crate::common::shelf::{flight_of_one, hard_tap, stocks_of};
use crate::common::starter_bench;

type Fallible = Result<(), Box<dyn Error>>;

const SALTS: [(&str, f64); 7] = [
    ("CaCl2·2H2O", 30.0),
    ("MgSO4·7H2O", 40.0),
    ("MgCl2·6H2O", 5.0),
    ("NaHCO3", 30.0),
    ("KHCO3", 4.0),
    ("NaCl", 20.0),
    ("K2SO4", 30.0),
];

const MEASURES: [Measure; 10] = [
    Measure::Hardness,
    Measure::Calcium,
    Measure::Magnesium,
    Measure::MagnesiumHardness,
    Measure::Sodium,
    Measure::Potassium,
    Measure::Chloride,
    Measure::Sulfate,
    Measure::Alkalinity,
    Measure::DissolvedSolids,
];

#[derive(Debug, Clone)]
struct Wish {
    measure: Measure,
    amount: f64,
    kind: u8,
    weight: f64,
}

fn wishes() -> impl Strategy<Value = Vec<Wish>> {
    proptest::sample::subsequence(MEASURES.to_vec(), 2..7).prop_flat_map(|measures| {
        let one = |measure: Measure| {
            let weight = proptest::sample::select(vec![0.01, 1.0, 2.5, 1000.0]);
            (0.01..4.0_f64, 0_u8..4, weight).prop_map(move |(amount, kind, weight)| Wish {
                measure,
                amount,
                kind,
                weight,
            })
        };
        measures.into_iter().map(one).collect::<Vec<_>>()
    })
}

fn goal(wish: &Wish) -> Option<Goal> {
    let (amount, unit) = match wish.measure {
        Measure::DissolvedSolids => (80.0 * wish.amount, "mg/L"),
        _ => (wish.amount, "meq/L"),
    };
    let weight = wish.weight;
    let text = match wish.kind {
        0 => format!("{amount} {unit}, weight {weight}"),
        1 => format!("at most {amount} {unit}, weight {weight}"),
        2 => format!("at least {amount} {unit}, weight {weight}"),
        _ => format!("{amount} {unit} ± 0, weight {weight}"),
    };
    Goal::parse(wish.measure, &text).ok()
}

/// Whether a flight is in reach; nothing where that has no answer.
fn in_reach(flight: &Flight, stocks: &[Stock]) -> Option<bool> {
    plan_flight(flight, stocks).ok().map(|plans| plans.iter().all(Plan::reached))
}

fn with_distilled(flight: &Flight) -> Flight {
    let mut thinned = flight.clone();
    let distilled = BaseShare { water: BaseWater::distilled(), at_most: Fraction::new(1.0) };
    thinned.base.push(distilled);
    thinned
}

proptest! {
    #![proptest_config(crate::common::cases(300))]

    #[test]
    fn every_reason_is_one(
        chosen in proptest::collection::vec(any::<bool>(), SALTS.len()),
        wishes in wishes(),
        tap_meq in 0.1..3.0_f64,
        distilled in any::<bool>(),
        added in any::<bool>(),
        largest in any::<bool>(),
        limits in proptest::sample::select(vec![(f64::INFINITY, 300.0), (15.0, 1500.0), (15.0, 200.0)]),
    ) {
        let goals = wishes.iter().map(goal).collect::<Option<Vec<_>>>();
        let goals = goals.ok_or(TestCaseError::reject("goals"))?;
        let chosen = SALTS.into_iter().zip(&chosen).filter(|(_, chosen)| **chosen);
        let shelf = stocks_of(&chosen.map(|(salt, _)| salt).collect::<Vec<_>>());
        let mut base = vec![(hard_tap(tap_meq).ok_or(TestCaseError::reject("tap"))?, 1.0)];
        if distilled {
            base.push((BaseWater::distilled(), 1.0));
        }
        let mut flight = flight_of_one(goals, base);
        flight.limits = DoseLimits {
            stocks_ml_per_l: limits.0,
            dissolved_solids_mg_per_l: limits.1,
            ..DoseLimits::NONE
        };
        flight.convention =
            if added { Convention::AddedToALitre } else { Convention::MadeUpToALitre };
        flight.misses = if largest { MissRule::Largest } else { MissRule::Sum };
        let target = flight.targets.first().ok_or(TestCaseError::fail("no target"))?;
        let salts = Catalogue::new(built_in_salts().unwrap_or_default());
        let Ok(answer) = why(&flight, &shelf, target, &salts, &|_| None) else {
            return Err(TestCaseError::reject("no answer"));
        };
        prop_assume!(!answer.plan.reached());
        let report = WhyReport::new(&flight, target, &answer);
        let reason = report.reason.ok_or(TestCaseError::fail("no reason"))?;

        // Limits: a sentence blames one exactly where it is in reach without that one.
        let said: Vec<String> = report.reach.iter().flat_map(ReachReport::sentences).collect();
        let blames = |words: &str| said.iter().any(|s| s.contains(words));
        let unlimited = Flight { limits: DoseLimits::NONE, ..flight.clone() };
        let free = in_reach(&unlimited, &shelf);
        let lifted = |limits: DoseLimits| in_reach(&Flight { limits, ..flight.clone() }, &shelf);
        let endless = f64::INFINITY;
        let stocks = lifted(DoseLimits { stocks_ml_per_l: endless, ..flight.limits });
        let solids = lifted(DoseLimits { dissolved_solids_mg_per_l: endless, ..flight.limits });
        prop_assert_eq!(blames("limit on all stocks together keeps"), stocks == Some(true));
        prop_assert_eq!(blames("limit on dissolved solids keeps"), solids == Some(true));
        prop_assert_eq!(reason.limits, free == Some(true));
        prop_assert_eq!(said.iter().any(|s| s.contains("out of reach")), free == Some(true));

        // Base waters.
        let thinned = with_distilled(&flight);
        prop_assert_eq!(reason.base_water, !distilled && in_reach(&thinned, &shelf) == Some(true));

        // Salts, stronger than those they are compared with, of which all dissolve; thinned by nothing that
        // matters.
        let all: Vec<(String, f64)> = salts.iter().map(|s| (s.formula.to_string(), 1.0)).collect();
        let all: Vec<(&str, f64)> = all.iter().map(|(salt, g)| (salt.as_str(), *g)).collect();
        let stocked = [shelf.clone(), stocks_of(&all)].concat();
        if distilled && in_reach(&flight, &stocked) == Some(true) {
            prop_assert!(reason.salts);
        }
        if in_reach(&with_distilled(&unlimited), &stocked) == Some(true) {
            prop_assert!(!reason.goals_exclude_each_other);
        }
        prop_assert!(!(reason.goals_exclude_each_other
            && (reason.salts || reason.base_water || reason.limits)));

        // Goals left out.
        for place in &answer.conflict {
            let mut fewer = flight.clone();
            for target in &mut fewer.targets {
                target.goals.remove(*place);
            }
            let enough = in_reach(&fewer, &shelf);
            if let Some(enough) = enough {
                prop_assert_eq!(enough, answer.enough_to_leave_out.contains(place), "{}", place);
            }
        }
    }
}

pub(crate) fn asked(goals: &str, more: &str, command: &[&str]) -> Result<String, Box<dyn Error>> {
    let (_folder, bench) = starter_bench()?;
    let flight = format!(
        "Flight(title: \"f\", bottle: \"500 mL\", {more} targets: [Target(name: \"a\", goals: \
         ({goals}))])"
    );
    fs::write(bench.join("flights/f.ron"), flight)?;
    let (_, out, _) = tried(&bench, command)?;
    Ok(out.split_whitespace().collect::<Vec<_>>().join(" "))
}

/// Magnesium and magnesium hardness exclude each other; that the nearest water stands at a limit says
/// nothing of it.
#[test]
fn no_limit_is_blamed_for_goals_that_exclude_each_other() -> Fallible {
    let goals = "magnesium_hardness: \"15.22 mg/L as CaCO3\", magnesium: \"61.65 ± 0.001 mg/L, \
                 weight 2.5\"";
    let more = "base: [\"distilled\"], limits: (stocks: \"5 mL/L\"),";
    for command in [vec!["why", "a", "--flight", "f"], vec!["mix", "f", "--full"]] {
        let said = asked(goals, more, &command)?;
        assert!(said.contains("magnesium"), "{said}");
        assert!(!said.contains("keeps it out of reach"), "{said}");
    }
    let said = asked(goals, more, &["why", "a", "--flight", "f"])?;
    assert!(said.contains("exclude each other whatever is stocked"), "{said}");
    Ok(())
}

/// No salts hold calcium and magnesium at 20 mg/L each and at one mole to one.
#[test]
fn salts_are_not_blamed_for_what_no_salt_can_do() -> Fallible {
    let goals = "magnesium: \"20 mg/L\", calcium: \"20 mg/L\"";
    let more = "base: [\"distilled\"], style: Ratios(calcium_to_magnesium: \"1 mol/mol\"),";
    let said = asked(goals, more, &["why", "a", "--flight", "f"])?;
    assert!(!said.contains("The reason is the salts"), "{said}");
    assert!(said.contains("exclude each other whatever is stocked"), "{said}");
    // The base water is the reason where it holds too much.
    let said = asked(
        "hardness: \"70 mg/L as CaCO3\"",
        "base: [\"harbour tap\"],",
        &["why", "a", "--flight", "f"],
    )?;
    assert!(!said.contains("salts on the shelf"), "{said}");
    assert!(said.contains("The reason is the base water"), "{said}");
    Ok(())
}

/// A goal named alone is not passed off as a remedy when others conflict as well.
#[test]
fn leaving_out_a_goal_is_a_remedy_only_where_it_is_one() -> Fallible {
    // No stock brings nitrate, and none silica.
    let goals = "nitrate: \"at least 10 mg/L\", silica: \"at least 10 mg/L\"";
    let said = asked(goals, "base: [\"distilled\"],", &["why", "a", "--flight", "f"])?;
    assert!(!said.contains("the rest can"), "{said}");
    assert!(said.contains("Without it other goals still cannot all be kept"), "{said}");
    let said = asked(
        "nitrate: \"at least 10 mg/L\"",
        "base: [\"distilled\"],",
        &["why", "a", "--flight", "f"],
    )?;
    assert!(said.contains("Without it all other goals"), "{said}");
    Ok(())
}
