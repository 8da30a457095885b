//! Flights as the scripts that ask HiGHS write them, in equivalents.

use std::error::Error;

use serde_json::Value;
use waterflight::chemistry::{Composition, Conserved};
use waterflight::planner::lp::program::{Form, PourableColumns, Row};

type Fallible<T> = Result<T, Box<dyn Error>>;

fn ion(name: &str) -> Fallible<Conserved> {
    let found = Conserved::ALL.into_iter().find(|c| match c {
        Conserved::Alkalinity => name == "Alk",
        other => other.key() == name,
    });
    found.ok_or_else(|| format!("no ion {name}").into())
}

pub(crate) fn at<'a>(of: &'a Value, key: &str) -> Fallible<&'a Value> {
    of.get(key).ok_or_else(|| format!("no {key}").into())
}

pub(crate) fn number(of: &Value, key: &str) -> Fallible<f64> {
    at(of, key)?.as_f64().ok_or_else(|| format!("{key} is no number").into())
}

pub(crate) fn list<'a>(of: &'a Value, key: &str) -> Fallible<&'a Vec<Value>> {
    at(of, key)?.as_array().ok_or_else(|| format!("{key} is no list").into())
}

/// Alkalinity in the file is bicarbonate: its carbon comes along and has no part in dissolved solids.
fn equivalents(of: &Value) -> Fallible<Composition> {
    let mut water = Composition::PURE_WATER;
    for (name, meq) in of.as_object().ok_or("no ions")? {
        let ion = ion(name)?;
        let charge = f64::from(ion.charge().abs());
        water.add_mmol_per_l(ion, meq.as_f64().ok_or("no amount")? / charge);
    }
    Ok(water)
}

/// The rows of goals.
pub(crate) fn rows(goals: &Value) -> Fallible<Vec<Row>> {
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

/// The columns of stocks and base waters.
pub(crate) fn columns(of: &Value) -> Fallible<PourableColumns> {
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
        pourable.base.push((equivalents(at(base, "ions")?)?, number(base, "at_most")?));
    }
    Ok(pourable)
}
