//! Doses in steps against HiGHS's branch and bound, stage by stage, on committed random waters.
//!
//! `oracle/milp_flights.json` is made by `oracle/milp_flights.py` with scipy's `milp`.

use std::error::Error;
use std::time::Duration;

use serde_json::Value;
use waterflight::chemistry::{Composition, Conserved};
use waterflight::planner::deliver::best_portions;
use waterflight::planner::portions::Portion;
use waterflight::planner::program::{Form, Pourable, Row};
use waterflight::planner::stages::Wish;

type Fallible = Result<(), Box<dyn Error>>;

/// A water of the file in the planner's own terms.
struct Case {
    pourable: Pourable,
    portions: Vec<Portion>,
    rows: Vec<Row>,
    wish: Wish,
    count: bool,
    stages: Vec<Stage>,
}

/// What HiGHS says of one stage.
struct Stage {
    value: f64,
    bound: f64,
    proved: bool,
}

fn conserved(ion: &str) -> Option<Conserved> {
    Conserved::ALL.into_iter().find(|c| match c {
        Conserved::Alkalinity => ion == "Alk",
        other => other.key() == ion,
    })
}

fn number(of: &Value, key: &str) -> Result<f64, Box<dyn Error>> {
    of.get(key).and_then(Value::as_f64).ok_or_else(|| format!("no number at {key}").into())
}

fn list<'a>(of: &'a Value, key: &str) -> Result<&'a Vec<Value>, Box<dyn Error>> {
    of.get(key).and_then(Value::as_array).ok_or_else(|| format!("no list at {key}").into())
}

/// Amounts by ion, as native coefficients when `inverse`, else as totals.
fn amounts(of: &Value) -> Result<Vec<(Conserved, f64)>, Box<dyn Error>> {
    of.as_object()
        .ok_or("not an object")?
        .iter()
        .map(|(ion, v)| {
            Ok((conserved(ion).ok_or("unknown ion")?, v.as_f64().ok_or("not a number")?))
        })
        .collect()
}

fn case(water: &Value) -> Result<Case, Box<dyn Error>> {
    let mut pourable = Pourable::default();
    let mut portions = Vec::new();
    for stock in list(water, "stocks")? {
        let mut per_meq = Composition::PURE_WATER;
        for key in ["cation", "anion"] {
            let ion = stock.get(key).and_then(Value::as_str).and_then(conserved).ok_or("ion")?;
            per_meq.add_mmol_per_l(ion, 1.0 / f64::from(ion.charge().abs()));
        }
        let strength = number(stock, "meq_per_ml")?;
        let meq_per_l = number(stock, "meq_per_step")?;
        pourable.stocks.push((per_meq, 1.0 / strength));
        let least = u32::try_from(stock.get("least").and_then(Value::as_u64).ok_or("least")?)?;
        portions.push(Portion { meq_per_l, least, most: u32::MAX, required: false });
    }
    for base in list(water, "base")? {
        let mut composition = Composition::PURE_WATER;
        for (ion, meq) in amounts(base)? {
            composition.add_mmol_per_l(ion, meq / f64::from(ion.charge().abs()));
        }
        pourable.base.push((composition, 1.0));
    }
    let mut rows = Vec::new();
    for goal in list(water, "goals")? {
        let edge = |key: &str, open: f64| goal.get(key).and_then(Value::as_f64).unwrap_or(open);
        let mut form = Form::default();
        for (ion, coefficient) in amounts(goal.get("form").ok_or("no form")?)? {
            let place = Conserved::ALL.iter().position(|c| *c == ion).ok_or("no place")?;
            *form.get_mut(place).ok_or("no place")? =
                coefficient * f64::from(ion.charge().abs());
        }
        rows.push(Row::band(
            form,
            edge("lo", f64::NEG_INFINITY),
            edge("hi", f64::INFINITY),
            number(goal, "tol")?,
            number(goal, "weight")? / number(goal, "unit")?,
        ));
    }
    let volume = pourable.stocks.iter().map(|(_, ml)| *ml).collect();
    let wish = Wish {
        largest_first: false,
        preference: vec![(volume, vec![0.0; pourable.base.len()])],
    };
    let stages = list(water, "stages")?
        .iter()
        .map(|s| {
            Ok(Stage {
                value: number(s, "value")?,
                bound: number(s, "bound")?,
                proved: s.get("proved").and_then(Value::as_bool).ok_or("proved")?,
            })
        })
        .collect::<Result<Vec<_>, Box<dyn Error>>>()?;
    let count = water.get("count").and_then(Value::as_bool).ok_or("count")?;
    Ok(Case { pourable, portions, rows, wish, count, stages })
}

/// Stage values agree with HiGHS as far as both are proved; where one of them is not, each keeps
/// within the other's bound. A proof of either that the other refutes is a failure.
#[test]
fn stage_values_are_those_of_highs() -> Fallible {
    let file: Value = serde_json::from_str(include_str!("oracle/milp_flights.json"))?;
    let waters = list(&file, "waters")?;
    assert!(waters.len() >= 200, "only {} waters", waters.len());
    let (mut compared, mut unproved) = (0, 0);
    let mut mistakes = Vec::new();
    for (n, water) in waters.iter().enumerate() {
        let case = case(water)?;
        let patience = Duration::from_secs(20);
        let found = best_portions(
            &case.pourable,
            &case.portions,
            &case.rows,
            &case.wish,
            case.count,
            patience,
        )
        .ok_or("nothing fits")?;
        // What the portions are, not only what they are said to be.
        for (steps, portion) in found.portions.iter().zip(&case.portions) {
            assert!(*steps == 0 || *steps >= portion.least, "water {n}: {steps} steps");
        }
        for (k, (own, theirs)) in found.proofs.iter().zip(&case.stages).enumerate() {
            // Our gap and theirs are both 1e-6 at most; HiGHS keeps rows to 1e-6 meq, which the
            // rates of these waters make up to 2e-5 of a unit of miss.
            let near = 3e-5 * theirs.value.abs().max(1.0);
            if own.bound > theirs.value + near {
                mistakes.push(format!("water {n} stage {k}: bound {own:?} above {}", theirs.value));
            }
            if own.value < theirs.bound - near {
                mistakes.push(format!("water {n} stage {k}: {own:?} below HiGHS {}", theirs.bound));
            }
            if !(own.proved() && theirs.proved) {
                unproved += 1;
                break;
            }
            compared += 1;
            if (own.value - theirs.value).abs() > near {
                mistakes.push(format!("water {n} stage {k}: {own:?}, HiGHS {}", theirs.value));
                break;
            }
        }
    }
    assert!(mistakes.is_empty(), "{}", mistakes.join("\n"));
    assert!(compared >= 500, "only {compared} stages compared, {unproved} not proved");
    Ok(())
}
