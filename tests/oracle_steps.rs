//! Doses in steps against committed waters of which every choice of steps was tried, the shares of
//! the base waters optimised by HiGHS: `oracle/step_flights.json`, made by `oracle/step_flights.py`.

use std::error::Error;
use std::time::Duration;

use serde_json::Value;
use waterflight::flight::{Convention, DoseLimits};
use waterflight::planner::lp::program::{PourableColumns, Priorities, Row};
use waterflight::planner::steps::Proof;
use waterflight::planner::steps::deliver::best_portions;
use waterflight::planner::steps::portions::Portion;

use crate::common::flights::{at, columns, list, number, rows};

type Fallible<T> = Result<T, Box<dyn Error>>;

fn flag(of: &Value, key: &str) -> Fallible<bool> {
    at(of, key)?.as_bool().ok_or_else(|| format!("{key} is no truth value").into())
}

fn numbers(of: &Value) -> Fallible<Vec<f64>> {
    Ok(serde_json::from_value(of.clone())?)
}

struct Case {
    pourable: PourableColumns,
    portions: Vec<Portion>,
    rows: Vec<Row>,
    priorities: Priorities,
    counting: bool,
    best: Option<Vec<f64>>,
}

fn case(water: &Value) -> Fallible<Case> {
    let mut pourable = columns(water)?;
    if flag(water, "added")? {
        pourable.convention = Convention::AddedToALitre;
    }
    let limits = list(water, "limits")?;
    let limit = |n: usize| limits.get(n).and_then(Value::as_f64).unwrap_or(f64::INFINITY);
    pourable.limits = DoseLimits {
        stocks_ml_per_l: limit(0),
        dissolved_solids_mg_per_l: limit(1),
        ..DoseLimits::NONE
    };
    let mut portions = Vec::new();
    for stock in list(water, "stocks")? {
        let count = |key| -> Fallible<u32> {
            Ok(u32::try_from(at(stock, key)?.as_u64().ok_or("no count")?)?)
        };
        portions.push(Portion {
            meq_per_l: number(stock, "meq_per_step")?,
            least: count("least")?,
            most: count("most")?,
            required: flag(stock, "required")?,
        });
    }
    let rows = rows(at(water, "goals")?)?;
    let costs = list(water, "costs")?.iter().map(|cost| {
        let two = cost.as_array().ok_or("no cost")?;
        let part = |n: usize| numbers(two.get(n).ok_or("no part")?);
        Ok((part(0)?, part(1)?))
    });
    let priorities = Priorities {
        largest_first: flag(water, "largest")?,
        preference: costs.collect::<Fallible<Vec<_>>>()?,
    };
    let best = at(water, "best")?;
    let best = if best.is_null() { None } else { Some(numbers(best)?) };
    Ok(Case { pourable, portions, rows, priorities, counting: flag(water, "count")?, best })
}

/// The search is proved on every water, finds what trying everything finds, stage by stage, and its
/// bounds lie below that.
#[test]
fn the_search_finds_what_trying_everything_finds() -> Fallible<()> {
    let file: Value = serde_json::from_str(include_str!("oracle/step_flights.json"))?;
    let waters = list(&file, "waters")?;
    assert!(waters.len() >= 150, "only {} waters", waters.len());
    let mut compared = 0;
    for (n, water) in waters.iter().enumerate() {
        let case = case(water)?;
        let found = best_portions(
            &case.pourable,
            &case.portions,
            &case.rows,
            &case.priorities,
            case.counting,
            Duration::from_secs(5),
        );
        let (Some(found), Some(best)) = (&found, &case.best) else {
            assert!(found.is_none() && case.best.is_none(), "water {n}: {found:?}");
            continue;
        };
        assert_eq!(found.proofs.len(), best.len(), "water {n}");
        for (stage, (proof, value)) in found.proofs.iter().zip(best).enumerate() {
            let near = 2e-6 + 1e-9 * value.abs();
            assert!(proof.proved(), "water {n} stage {stage}: {proof:?}");
            assert!(proof.bound <= value + near, "water {n} stage {stage}: {proof:?}, {value}");
            let gap = near + proof.within();
            assert!(proof.value <= value + gap, "water {n} stage {stage}: {proof:?}, {value}");
            compared += 1;
            // Later stages compare where this one is the same.
            if (proof.value - value).abs() > near {
                break;
            }
        }
        assert!(found.proofs.iter().all(Proof::proved), "water {n}: {:?}", found.proofs);
    }
    assert!(compared > 450, "only {compared} stages compared");
    Ok(())
}
