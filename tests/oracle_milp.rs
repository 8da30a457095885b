//! Doses in steps against HiGHS's branch and bound, stage by stage, on committed random waters.
//!
//! `oracle/milp_flights.json` is made by `oracle/milp_flights.py` with scipy's `milp`.

use std::error::Error;
use std::time::Duration;

use serde_json::Value;
use waterflight::chemistry::{Composition, Conserved};
use waterflight::planner::lp::program::{Form, PourableColumns, Priorities, Row};
use waterflight::planner::steps::deliver::best_portions;
use waterflight::planner::steps::portions::Portion;
use waterflight::planner::steps::proof::PROVED_WITHIN;

type Fallible = Result<(), Box<dyn Error>>;

/// A water of the file in the planner's own terms.
struct Case {
    pourable: PourableColumns,
    portions: Vec<Portion>,
    rows: Vec<Row>,
    priorities: Priorities,
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
    let mut pourable = PourableColumns::default();
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
            *form.get_mut(place).ok_or("no place")? = coefficient * f64::from(ion.charge().abs());
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
    let priorities = Priorities {
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
    Ok(Case { pourable, portions, rows, priorities, count, stages })
}

/// The stage values of doses, from the definitions and nothing else.
fn by_definition(case: &Case, steps: &[u32], shares: &[f64]) -> Vec<f64> {
    let mut water = Composition::PURE_WATER;
    let (mut ml, mut stocks_used) = (0.0, 0.0);
    for ((n, portion), (per_meq, ml_per_meq)) in
        steps.iter().zip(&case.portions).zip(&case.pourable.stocks)
    {
        let meq = f64::from(*n) * portion.meq_per_l;
        water += *per_meq * meq;
        ml += meq * ml_per_meq;
        stocks_used += f64::from(u8::from(*n > 0));
    }
    for (share, (per_litre, _)) in shares.iter().zip(&case.pourable.base) {
        water += *per_litre * *share;
    }
    let (mut beyond, mut inside) = (0.0, 0.0);
    for row in &case.rows {
        let value = water.dot(&row.form);
        let (low, high) = (row.reference + row.slack_low, row.reference + row.slack_high);
        let miss = if value < low { low - value } else { (value - high).max(0.0) };
        beyond += row.rate * (miss - row.tolerance).max(0.0);
        inside += row.rate * miss.min(row.tolerance);
    }
    let mut values = vec![beyond, inside];
    if case.count {
        values.push(stocks_used);
    }
    values.push(ml);
    values
}

/// Stage values agree with HiGHS as far as both are proved; each keeps within the other's bound.
/// Where HiGHS calls an optimum proved and our doses are verified to be better, HiGHS is wrong,
/// which may happen now and then and not often.
#[test]
fn stage_values_are_those_of_highs() -> Fallible {
    let file: Value = serde_json::from_str(include_str!("oracle/milp_flights.json"))?;
    let waters = list(&file, "waters")?;
    assert!(waters.len() >= 200, "only {} waters", waters.len());
    let (mut compared, mut unproved, mut bettered) = (0, 0, 0);
    let mut mistakes = Vec::new();
    for (n, water) in waters.iter().enumerate() {
        let case = case(water)?;
        let time_limit = Duration::from_millis(400);
        let found = best_portions(
            &case.pourable,
            &case.portions,
            &case.rows,
            &case.priorities,
            case.count,
            time_limit,
        )
        .ok_or("nothing fits")?;
        for (steps, portion) in found.portions.iter().zip(&case.portions) {
            assert!(*steps == 0 || *steps >= portion.least, "water {n}: {steps} steps");
        }
        let litre: f64 = found.shares.iter().sum::<f64>()
            + by_definition(&case, &found.portions, &found.shares).last().ok_or("no stage")? / 1e3;
        assert!((litre - 1.0).abs() < 1e-8, "water {n}: {litre} L");
        let values = by_definition(&case, &found.portions, &found.shares);
        for (k, ((own, theirs), value)) in
            found.proofs.iter().zip(&case.stages).zip(values).enumerate()
        {
            let size = theirs.value.abs().max(1.0);
            // HiGHS keeps rows to 1e-6 meq, which the rates of these waters make up to 3e-5.
            let near = 3e-5 * size;
            // What a stage gave up within its cap, 1e-7 for each stage behind it.
            if (own.value - value).abs() > 1e-6 * size {
                mistakes.push(format!("water {n} stage {k}: {own:?}, by definition {value}"));
            }
            if own.bound > theirs.value + near {
                mistakes.push(format!("water {n} stage {k}: bound {own:?} above {}", theirs.value));
            }
            if value < theirs.bound - near {
                bettered += 1;
                break;
            }
            if !(own.proved() && theirs.proved) {
                unproved += 1;
                break;
            }
            compared += 1;
            if (value - theirs.value).abs() > near + PROVED_WITHIN * size {
                mistakes.push(format!("water {n} stage {k}: {own:?}, HiGHS {}", theirs.value));
            }
            // Later stages compare only where the earlier ones have the same value, to less than
            // the slack of the caps.
            if (value - theirs.value).abs() > 1e-7 * size {
                break;
            }
        }
    }
    assert!(mistakes.is_empty(), "{}", mistakes.join("\n"));
    assert!(compared >= 550, "only {compared} stages compared, {unproved} not proved");
    // HiGHS itself leaves ten of these unproved; the rest depends on how fast this machine is.
    assert!(unproved <= 40, "{unproved} not proved");
    assert!(bettered <= 1, "{bettered} better than what HiGHS calls proved");
    Ok(())
}

/// With next to no time the answer is only a good one: what is claimed of it must still be true.
/// No bound lies above what HiGHS reached, no value below what HiGHS proved.
#[test]
fn gaps_are_honest_when_time_runs_out() -> Fallible {
    let file: Value = serde_json::from_str(include_str!("oracle/milp_flights.json"))?;
    let mut open = 0;
    for time_limit in [Duration::ZERO, Duration::from_millis(3)] {
        for (n, water) in list(&file, "waters")?.iter().enumerate() {
            let case = case(water)?;
            let found = best_portions(
                &case.pourable,
                &case.portions,
                &case.rows,
                &case.priorities,
                case.count,
                time_limit,
            )
            .ok_or("nothing fits")?;
            let first = found.proofs.first().ok_or("no stage")?;
            let theirs = case.stages.first().ok_or("no stage")?;
            let near = 3e-5 * theirs.value.abs().max(1.0);
            assert!(first.bound <= theirs.value + near, "water {n}: {first:?} {}", theirs.value);
            assert!(first.value >= theirs.bound - near, "water {n}: {first:?} {}", theirs.bound);
            for proof in &found.proofs {
                assert!(proof.bound <= proof.value && proof.value.is_finite(), "water {n}");
                assert!(proof.bound.is_finite(), "water {n}");
                open += usize::from(!proof.proved());
            }
        }
    }
    assert!(open > 100, "only {open} stages were left open, so this test says nothing");
    Ok(())
}
