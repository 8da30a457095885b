//! Mixed models compared with an independent program, on published sensory data.

use std::collections::BTreeMap;
use std::error::Error;

use serde_json::Value;
use waterflight::numerics::StudentizedRanges;
use waterflight::session::analysis::ModelChoice;
use waterflight::session::analysis::Multiplicity;
use waterflight::session::analysis::design::Wanted;
use waterflight::session::analysis::mixed::{FTest, fit};
use waterflight::session::analysis::{Observation, ScoreTable};

/// Agreement asked for, relative. The other program differentiates numerically, which costs it
/// about seven digits.
const CLOSE: f64 = 1e-5;
/// Absolute agreement, for numbers near zero.
const NEAR_ZERO: f64 = 1e-7;

fn tables() -> Result<BTreeMap<String, ScoreTable>, Box<dyn Error>> {
    let mut tables: BTreeMap<String, ScoreTable> = BTreeMap::new();
    for line in include_str!("oracle/score_data.csv").lines().skip(1) {
        let fields: Vec<&str> = line.split(',').collect();
        let [set, taster, water, round, position, previous, value] = fields.as_slice() else {
            return Err(format!("a row of another length: {line}").into());
        };
        let previous: usize = previous.parse()?;
        let row = Observation {
            taster: taster.parse::<usize>()? - 1,
            water: water.parse::<usize>()? - 1,
            round: round.parse()?,
            position: position.parse()?,
            previous: previous.checked_sub(1),
            value: value.parse()?,
        };
        let table = tables.entry((*set).to_owned()).or_insert_with(|| ScoreTable {
            attribute: (*set).to_owned(),
            tasters: Vec::new(),
            waters: Vec::new(),
            rows: Vec::new(),
            missing: 0,
        });
        while table.tasters.len() <= row.taster {
            table.tasters.push(format!("taster {}", table.tasters.len()));
        }
        while table.waters.len() <= row.water {
            table.waters.push(format!("water {}", table.waters.len()));
        }
        table.rows.push(row);
    }
    Ok(tables)
}

fn close(what: &str, got: f64, wanted: &Value) -> Result<(), Box<dyn Error>> {
    let wanted = wanted.as_f64().ok_or_else(|| format!("{what}: no reference"))?;
    let miss = (got - wanted).abs();
    assert!(miss <= CLOSE * wanted.abs() + NEAR_ZERO, "{what}: {got} and not {wanted}");
    Ok(())
}

fn test_close(what: &str, got: Option<FTest>, wanted: &Value) -> Result<(), Box<dyn Error>> {
    let got = got.ok_or_else(|| format!("{what}: no test"))?;
    close(&format!("{what}: F"), got.f, &wanted["f"])?;
    close(&format!("{what}: df"), got.df, &wanted["df"])?;
    close(&format!("{what}: df of noise"), got.df_residual, &wanted["df_noise"])?;
    let p = wanted["p"].as_f64().ok_or("no p")?;
    assert!((got.p / p - 1.0).abs() < 1e-3, "{what}: p {} and not {p}", got.p);
    Ok(())
}

#[test]
#[expect(clippy::indexing_slicing, reason = "a missing reference value is an error of the check")]
fn models_agree_with_an_independent_program() -> Result<(), Box<dyn Error>> {
    let tables = tables()?;
    let models: Vec<Value> = serde_json::from_str(include_str!("oracle/score_models.json"))?;
    assert_eq!(models.len(), 22);
    let mut below_zero = 0;
    for model in &models {
        let set = model["set"].as_str().ok_or("no name")?;
        let extras = model["extras"].as_array().ok_or("no extras")?;
        let wants = |name: &str| {
            if extras.iter().any(|extra| extra == name) { Wanted::Yes } else { Wanted::No }
        };
        let table = tables.get(set).ok_or("no data")?;
        let choice = ModelChoice {
            order: wants("order"),
            carry_over: wants("carry_over"),
            multiplicity: Some(Multiplicity::Tukey),
        };
        let what = format!("{set} {extras:?}");
        let ranges = &mut StudentizedRanges::default();
        let found = fit(table, choice, ranges).map_err(|error| format!("{what}: {error}"))?;
        close(&format!("{what}: cup"), found.variances.cup, &model["cup"])?;
        let taster = found.variances.taster.ok_or("no taster")?;
        close(&format!("{what}: taster"), taster, &model["taster"])?;
        if let Some(both) = found.variances.taster_by_water {
            close(&format!("{what}: taster by water"), both, &model["taster_by_water"])?;
        }
        // What comes out below zero is kept as it is: the other program has it from cell means.
        let is_below = |part: &Value| part.as_f64().is_some_and(|variance| variance <= 0.0);
        let below = is_below(&model["taster"]) || is_below(&model["taster_by_water"]);
        assert_eq!(below, !found.zero.is_empty(), "{what}");
        below_zero += usize::from(below);
        test_close(&what, found.waters, &model["waters"])?;
        for (term, name) in found.terms.iter().zip(["order", "carry_over"]) {
            if wants(name) == Wanted::Yes {
                test_close(&format!("{what} {name}"), term.test, &model[name])?;
            }
        }
        for (i, mean) in found.means.iter().enumerate() {
            let means = &model["means"];
            close(&format!("{what}: mean {i}"), mean.mean, &means["mean"][i])?;
            close(&format!("{what}: its error {i}"), mean.standard_error, &means["se"][i])?;
            close(&format!("{what}: its df {i}"), mean.df, &means["df"][i])?;
            close(&format!("{what}: its low end {i}"), mean.interval.0, &means["lower"][i])?;
            close(&format!("{what}: its high end {i}"), mean.interval.1, &means["upper"][i])?;
        }
        let holm = ModelChoice { multiplicity: Some(Multiplicity::Holm), ..choice };
        let by_holm = fit(table, holm, ranges)?;
        for (i, (tukey, holm)) in found.differences.iter().zip(&by_holm.differences).enumerate() {
            let pairs = &model["pairs"];
            close(&format!("{what}: difference {i}"), tukey.estimate, &pairs["estimate"][i])?;
            close(&format!("{what}: its error {i}"), tukey.standard_error, &pairs["se"][i])?;
            close(&format!("{what}: its df {i}"), tukey.df, &pairs["df"][i])?;
            close(&format!("{what}: p alone {i}"), tukey.p_alone, &pairs["p"][i])?;
            // The other program's range is good to about 1e-5 only in its far tail.
            close(&format!("{what}: p by range {i}"), tukey.p, &pairs["p_tukey"][i])?;
            close(&format!("{what}: p by Holm {i}"), holm.p, &pairs["p_holm"][i])?;
        }
    }
    assert_eq!(below_zero, 2);
    Ok(())
}
