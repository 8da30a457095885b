//! Solubility, dilute conductivity, bicarbonate left open and uncertainty against values made
//! outside of the project; `oracle/stocks.py` makes the tables and names their sources.

use std::error::Error;

use serde_json::Value;
use waterflight::bench::built_in_salts;
use waterflight::chemistry::open_air::{Cation, bicarbonate};
use waterflight::chemistry::{Carbon, Formula};
use waterflight::flight::Goal;
use waterflight::mix::SpreadReport;
use waterflight::planner::plan_flight;
use waterflight::quantities::uncertain::{Input, Spread, Uncertain, monte_carlo, propagate};
use waterflight::quantities::{Celsius, Fraction, Grams};
use waterflight::reference::physical_constants::ATMOSPHERE_BAR;
use waterflight::stock::carbonated;
use waterflight::stock::{Catalogue, Lot, Making, Recipe, Stock, StrengthModel, Tools};
use waterflight::water::{BaseWater, Measure};

use crate::common::shelf::flight_of_one;
use crate::common::tables::{number, rows, text};

type Fallible = Result<(), Box<dyn Error>>;

fn catalogue() -> Result<Catalogue, Box<dyn Error>> {
    Ok(Catalogue::new(built_in_salts()?))
}

/// Two other handbooks; they differ among themselves by up to 4 % (MgSO4 at 20 °C).
#[test]
fn solubilities_agree_with_other_handbooks() -> Fallible {
    let salts = catalogue()?;
    let mut compared = 0;
    for row in rows(include_str!("oracle/solubility_handbook.csv"))? {
        let formula = Formula::parse(text(&row, 0)?)?;
        let salt = salts
            .iter()
            .find(|s| s.formula.same_but_for_water(&formula))
            .ok_or("the salt is not there")?;
        let got = salt
            .solubility
            .at(Celsius::new(number(&row, 1)?))
            .ok_or("the temperature is not there")?;
        let want = number(&row, 2)? / 100.0;
        assert!((got.value() / want - 1.0).abs() < 0.045, "{row:?}: {got:?}");
        compared += 1;
    }
    assert!(compared >= 24);
    Ok(())
}

/// Every salt that dissolves by itself has a table with its source, every mineral one a table that
/// spans a fridge and a warm room.
#[test]
fn every_ordinary_salt_has_a_solubility() -> Fallible {
    let mut without_cold = Vec::new();
    for salt in catalogue()?.iter().filter(|s| s.carbonation_mol_co2 <= 0.0) {
        assert!(!salt.solubility.source.is_empty(), "{}", salt.formula);
        assert!(salt.solubility.at(Celsius::new(20.0)).is_some(), "{}", salt.formula);
        let spans = [4.0, 25.0].map(|t| salt.solubility.at(Celsius::new(t)));
        if spans.iter().any(Option::is_none) {
            without_cold.push(salt.formula.to_string());
        }
    }
    assert_eq!(without_cold, ["K3C6H5O7·H2O", "Na3C6H5O7·2H2O"], "not known in the cold");
    Ok(())
}

/// Chalk and magnesium hydroxide under carbon dioxide, by PHREEQC. Its gas is not ideal, ours is: at
/// 4 bar 2 % in the pressure (2.6 % at 5 °C) are 0.7 % in the chalk that dissolves, which goes as its
/// cube root, and up to 1.4 % in the magnesium, which goes as its square root in such strong
/// solutions.
#[test]
fn what_dissolves_under_carbon_dioxide_agrees_with_phreeqc() -> Fallible {
    let salts = catalogue()?;
    let (chalk, milk) = (salts.find("CaCO3")?, salts.find("Mg(OH)2")?);
    let mut compared = 0;
    for row in rows(include_str!("oracle/carbonated.csv"))? {
        // Magnesium hydroxide under carbon dioxide stands over nesquehonite.
        let (salt, within) =
            if text(&row, 0)? == "Calcite" { (chalk, 0.011) } else { (milk, 0.015) };
        let (celsius, bar) = (Celsius::new(number(&row, 1)?), number(&row, 2)?);
        let g_per_kg = carbonated::saturated_g_per_kg(salt, bar, celsius).ok_or("no limit")?;
        let molar = salt.formula.molar_mass().value();
        let mmol_per_kg = 1000.0 * g_per_kg / molar / (1.0 - g_per_kg / 1000.0);
        assert!((mmol_per_kg / number(&row, 3)? - 1.0).abs() < within, "{row:?}: {mmol_per_kg}");
        let back = carbonated::needed_bar(salt, g_per_kg, celsius).ok_or("no pressure")?;
        assert!((back / bar - 1.0).abs() < 1e-6, "{row:?}: {back}");
        compared += 1;
    }
    assert_eq!(compared, 32);
    Ok(())
}

/// 1.0864 g/L of CaCO3 under 0.9841 atm at 16 °C (Schloesing 1872, as handbooks quote him; from
/// memory): measured 150 years ago, within 6 %.
#[test]
fn what_dissolves_under_carbon_dioxide_is_what_was_measured() -> Fallible {
    let salts = catalogue()?;
    let bar = 0.9841 * ATMOSPHERE_BAR;
    let found = carbonated::saturated_g_per_kg(salts.find("CaCO3")?, bar, Celsius::new(16.0));
    assert!(found.is_some_and(|g| (g / 1.0864 - 1.0).abs() < 0.06), "{found:?}");
    Ok(())
}

#[test]
fn bicarbonate_left_open_agrees_with_phreeqc() -> Fallible {
    let mut compared = 0;
    for row in rows(include_str!("oracle/open_air.csv"))? {
        let cation = if text(&row, 0)? == "Na" { Cation::Sodium } else { Cation::Potassium };
        let carbon = match text(&row, 2)? {
            "open" => Carbon::AIR,
            _ => Carbon::Closed,
        };
        let got = bicarbonate(cation, number(&row, 1)?, carbon)?;
        assert!((got.ph - number(&row, 3)?).abs() < 0.02, "{row:?}: {got:?}");
        let left = number(&row, 4)?;
        assert!((got.carbon_per_alkalinity - left).abs() < 0.005, "{row:?}: {got:?}");
        compared += 1;
    }
    assert_eq!(compared, 20);
    Ok(())
}

fn stock(salt: &str, lot: Lot, making: Making) -> Result<Stock, Box<dyn Error>> {
    Ok(Stock::new(Recipe {
        name: "stock".to_owned(),
        salt: catalogue()?.find(salt)?.clone(),
        lot,
        making,
        temperature: Celsius::new(20.0),
    })?)
}

fn strength(stock: &Stock) -> Result<Uncertain, Box<dyn Error>> {
    let model = StrengthModel::new(stock, None);
    let inputs: Vec<Input> =
        model.uncertainty_sources(&Tools::default()).into_iter().map(|d| d.input).collect();
    let results = propagate(&inputs, |x| vec![model.strength(x).g_per_kg]);
    results.into_iter().next().ok_or_else(|| "no result".into())
}

/// Two million draws of another program, from the balance's steps up.
#[test]
fn strengths_agree_with_draws_from_outside() -> Fallible {
    let table: Value = serde_json::from_str(include_str!("oracle/spread.json"))?;
    let want = |key: &str, what: &str| {
        table.pointer(&format!("/{key}/{what}")).and_then(Value::as_f64).ok_or("no such value")
    };
    let half = Some(Fraction::new(0.005));
    let purity = Lot { purity: Fraction::new(0.99), purity_within: half, ..Lot::default() };
    let damp = Lot { moisture: Fraction::new(0.01), moisture_within: half, ..purity.clone() };
    let g = Grams::new;
    for (key, stock) in [
        (
            "into_water_g_per_kg",
            stock("MgCl2·6H2O", damp, Making::IntoWater { salt: g(20.0), water: g(480.0) })?,
        ),
        (
            "to_total_g_per_kg",
            stock("CaCl2·2H2O", purity, Making::ToTotalMass { salt: g(30.0), total: g(1000.0) })?,
        ),
    ] {
        let got = strength(&stock)?;
        let standard = want(key, "standard")?;
        assert!((got.value - want(key, "mean")?).abs() < 0.02 * standard, "{key} {got:?}");
        assert!((got.standard() / standard - 1.0).abs() < 0.005, "{key} {got:?}");
    }
    Ok(())
}

/// A bottle of 500 mL with one dose: two million draws of another program against the spread that
/// the flight's report gives.
#[test]
fn a_finished_water_agrees_with_draws_from_outside() -> Fallible {
    let table: Value = serde_json::from_str(include_str!("oracle/spread.json"))?;
    let want = |what: &str| {
        let at = format!("/calcium_mg_per_l/{what}");
        table.pointer(&at).and_then(Value::as_f64).ok_or("no such value")
    };
    let (mean, standard) = (want("mean")?, want("standard")?);
    let half = Some(Fraction::new(0.005));
    let lot = Lot { purity: Fraction::new(0.99), purity_within: half, ..Lot::default() };
    let making = Making::ToTotalMass { salt: Grams::new(30.0), total: Grams::new(1000.0) };
    let one = stock("CaCl2·2H2O", lot, making)?;
    let models = [StrengthModel::new(&one, None)];
    let stocks = [one];
    let goals = vec![Goal::parse(Measure::Calcium, &format!("{mean} mg/L"))?];
    let flight = flight_of_one(goals, vec![(BaseWater::distilled(), 1.0)]);
    let plans = plan_flight(&flight, &stocks)?;
    let spread = SpreadReport::new(&flight, &stocks, &models, &Tools::default(), &plans, None);
    let goal = spread.waters.first().and_then(|w| w.goals.first()).ok_or("no goal")?;
    let dose = spread.waters.first().and_then(|w| w.doses.first()).ok_or("no dose")?;
    assert!((dose.value - 2.0).abs() < 0.001, "{dose:?}");
    assert!((goal.expanded / 2.0 / standard - 1.0).abs() < 0.005, "{goal:?}");
    Ok(())
}

/// JCGM 100:2008, H.1: an end gauge of 50 mm against a standard, in nm and °C. Table H.1:
/// 50.000838 mm with u = 32 nm from the first order; H.1.7 adds the second order, which draws
/// find by themselves: 34 nm.
#[test]
fn the_end_gauge_of_the_guide() -> Fallible {
    let standard = 50_000_623.0;
    let inputs = [
        Input::new("length of the standard", standard, Spread::Normal(25.0)),
        Input::new("mean difference", 215.0, Spread::Normal(5.8)),
        Input::new("random effects of the comparator", 0.0, Spread::Normal(3.9)),
        Input::new("systematic effects of the comparator", 0.0, Spread::Normal(6.7)),
        Input::new("expansion of the standard", 11.5e-6, Spread::Rectangular(2e-6)),
        Input::new("mean deviation of the bed", -0.1, Spread::Normal(0.2)),
        // Cyclic variation of ± 0.5 °C: an arcsine distribution, u = 0.35 °C
        Input::new("cyclic variation", 0.0, Spread::Normal(0.5 / 2.0_f64.sqrt())),
        Input::new("difference of the expansions", 0.0, Spread::Rectangular(1e-6)),
        Input::new("difference of the temperatures", 0.0, Spread::Rectangular(0.05)),
    ];
    let length = |x: &[f64]| match *x {
        [standard, d, random, systematic, alpha, mean, cycle, d_alpha, d_theta] => {
            let theta = mean + cycle;
            vec![
                standard + d + random + systematic - standard * (d_alpha * theta + alpha * d_theta),
            ]
        }
        _ => Vec::new(),
    };
    let first = propagate(&inputs, length);
    let got = first.first().ok_or("no result")?;
    assert!((got.value - 50_000_838.0).abs() < 0.5, "{}", got.value);
    assert!((got.standard() - 32.0).abs() < 0.5, "{}", got.standard());
    let drawn = monte_carlo(&inputs, 200_000, 3, length);
    let got = drawn.first().ok_or("no result")?;
    assert!((got.standard - 34.0).abs() < 0.5, "{}", got.standard);
    Ok(())
}
