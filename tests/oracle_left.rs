//! Flights that share what is left of some stocks, against HiGHS on all of their waters in one linear
//! program: `oracle/left_flights.json`, made by `oracle/left_flights.py`.

use std::error::Error;

use serde_json::Value;
use waterflight::chemistry::{Composition, Conserved};
use waterflight::planner::lp::program::{Form, PourableColumns, Row};
use waterflight::planner::lp::stages::Priorities;
use waterflight::planner::whole_flight::Watch;
use waterflight::planner::whole_flight::joint::{JointProgram, plan_together};

type Fallible<T> = Result<T, Box<dyn Error>>;

fn ion(name: &str) -> Fallible<Conserved> {
    let found = Conserved::ALL.into_iter().find(|c| match c {
        Conserved::Alkalinity => name == "Alk",
        other => other.key() == name,
    });
    found.ok_or_else(|| format!("no ion {name}").into())
}

fn at<'a>(of: &'a Value, key: &str) -> Fallible<&'a Value> {
    of.get(key).ok_or_else(|| format!("no {key}").into())
}

fn list<'a>(of: &'a Value, key: &str) -> Fallible<&'a Vec<Value>> {
    at(of, key)?.as_array().ok_or_else(|| format!("{key} is no list").into())
}

fn number(of: &Value, key: &str) -> Fallible<f64> {
    at(of, key)?.as_f64().ok_or_else(|| format!("{key} is no number").into())
}

fn rows(goals: &Value) -> Fallible<Vec<Row>> {
    let mut rows = Vec::new();
    for goal in goals.as_array().ok_or("no goals")? {
        let mut form = Form::default();
        for (name, factor) in at(goal, "form")?.as_object().ok_or("no form")? {
            let ion = ion(name)?;
            let place = Conserved::ALL.iter().position(|c| *c == ion).ok_or("no place")?;
            *form.get_mut(place).ok_or("no place")? =
                factor.as_f64().ok_or("no factor")? * f64::from(ion.charge().abs());
        }
        let edge = |key: &str, open: f64| goal.get(key).and_then(Value::as_f64).unwrap_or(open);
        let (low, high) = (edge("lo", f64::NEG_INFINITY), edge("hi", f64::INFINITY));
        rows.push(Row::band(form, low, high, number(goal, "tol")?, number(goal, "rate")?));
    }
    Ok(rows)
}

fn flight(of: &Value) -> Fallible<(PourableColumns, JointProgram, Priorities)> {
    let mut pourable = PourableColumns::default();
    for stock in list(of, "stocks")? {
        let mut per_meq = Composition::PURE_WATER;
        for key in ["cation", "anion"] {
            let ion = ion(at(stock, key)?.as_str().ok_or("no name")?)?;
            per_meq.add_mmol_per_l(ion, 1.0 / f64::from(ion.charge().abs()));
        }
        pourable.stocks.push((per_meq, 1.0 / number(stock, "meq_per_ml")?));
    }
    for base in list(of, "base")? {
        let mut water = Composition::PURE_WATER;
        for (name, meq) in at(base, "ions")?.as_object().ok_or("no ions")? {
            let ion = ion(name)?;
            let charge = f64::from(ion.charge().abs());
            water.add_mmol_per_l(ion, meq.as_f64().ok_or("no amount")? / charge);
        }
        pourable.base.push((water, number(base, "at_most")?));
    }
    let waters = list(of, "waters")?.iter().map(rows).collect::<Fallible<Vec<_>>>()?;
    let asked = JointProgram {
        allowed: vec![vec![true; pourable.stocks.len()]; waters.len()],
        rows: waters,
        bottle: number(of, "bottle")?,
        left: serde_json::from_value(at(of, "left")?.clone())?,
    };
    let wish = Priorities {
        largest_first: at(of, "largest")?.as_bool().ok_or("largest")?,
        preference: serde_json::from_value(at(of, "costs")?.clone())?,
    };
    Ok((pourable, asked, wish))
}

/// Every stage of every flight is proved and has the value that HiGHS finds, the largest misses and
/// the least sodium among them; and the doses take no more than is left.
#[test]
fn sums_over_a_flight_are_those_of_highs() -> Fallible<()> {
    let file: Value = serde_json::from_str(include_str!("oracle/left_flights.json"))?;
    let flights = list(&file, "flights")?;
    assert!(flights.len() >= 55, "only {} flights", flights.len());
    for (n, of) in flights.iter().enumerate() {
        let (pourable, asked, wish) = flight(of)?;
        let found = plan_together(&pourable, &asked, &wish, &Watch::default())?;
        assert!(found.proved, "flight {n}: {:?}", found.stages);
        let sums: Vec<f64> = serde_json::from_value(at(of, "sums")?.clone())?;
        assert_eq!(found.stages.len(), sums.len(), "flight {n}");
        for (stage, ([value, bound], sum)) in found.stages.iter().zip(&sums).enumerate() {
            // What caps with a slack and rows kept to 1e-10 leave HiGHS.
            let near = 2e-6 * sum.abs().max(1.0);
            assert!((value - sum).abs() <= near, "flight {n} stage {stage}: {value} and {sum}");
            assert!(*bound <= sum + near, "flight {n} stage {stage}: {bound} above {sum}");
        }
        for (stock, ml) in &asked.left {
            let per_meq = pourable.stocks.get(*stock).ok_or("no stock")?.1;
            let doses = found.solutions.iter().filter_map(|s| s.meq_per_l.get(*stock));
            let taken: f64 = doses.map(|u| u * per_meq * asked.bottle).sum();
            assert!(taken <= ml + 1e-7, "flight {n}: {taken} of {ml} mL");
        }
    }
    Ok(())
}
