//! Stocks worked by hand: cost, explanations of a wrong label, carbonation, advice, titration.
//!
//! Above 400 lines: each a few lines of arithmetic beside the numbers that they give.

use std::error::Error;
use std::fs;
use std::path::Path;

use crate::common::answers::{json as run, number};
use crate::common::starter_bench;
use serde_json::Value;
use waterflight::bench::built_in_salts;
use waterflight::chemistry::{Composition, Conserved};
use waterflight::quantities::{Celsius, Fraction, Grams, Millilitres};
use waterflight::stock::explain::{Explanation, ReadStrength, explanations};
use waterflight::stock::reading::{Reading, Titration};
use waterflight::stock::verify::{Dilution, MeterInUse, infer};
use waterflight::stock::{
    Catalogue, Lot, Making, Recipe, Stock, StrengthModel, Tools, bottle_pressure, carbonated,
    keeping, solubility,
};
use waterflight::water::Measure;

type Fallible = Result<(), Box<dyn Error>>;

fn catalogue() -> Result<Catalogue, Box<dyn Error>> {
    Ok(Catalogue::new(built_in_salts()?))
}

fn stock(salt: &str, making: Making) -> Result<Stock, Box<dyn Error>> {
    Ok(Stock::new(Recipe {
        name: "stock".to_owned(),
        salt: catalogue()?.find(salt)?.clone(),
        lot: Lot::default(),
        making,
        temperature: Celsius::new(20.0),
    })?)
}

fn to_total(salt: f64, total: f64) -> Making {
    Making::ToTotalMass { salt: Grams::new(salt), total: Grams::new(total) }
}

/// A reading of 5 mL of a stock that is kept in a room.
fn read(factor: f64, within: f64) -> ReadStrength {
    ReadStrength { factor, within, taken: Millilitres::new(5.0), storage: Celsius::new(20.0) }
}

/// How many times stronger by volume a stock is than its label.
fn times(stock: &Stock, label: &Stock) -> f64 {
    stock.meq_per_ml().value() / label.meq_per_ml().value()
}

/// Anhydrous calcium chloride that was the dihydrate: 110.98/147.01 = 0.7549 of the label.
#[test]
fn another_hydrate_explains_its_factor() -> Fallible {
    // Weak, where density hardly counts, and strong, where the strength by volume falls by more.
    for (g, within) in [(30.0, 0.02), (200.0, 0.008)] {
        let label = stock("CaCl2, anhydrous", to_total(g, 1000.0))?;
        let bag = stock("CaCl2·2H2O", to_total(g, 1000.0))?;
        let found = explanations(&label, &read(times(&bag, &label), within), &catalogue()?);
        the_dihydrate_is_found(&found)?;
    }
    Ok(())
}

fn the_dihydrate_is_found(found: &[Explanation]) -> Fallible {
    assert!(
        matches!(
            found.first(),
            Some(Explanation::OtherHydrate { formula, .. }) if formula == "CaCl2·2H2O"
        ),
        "{found:?}"
    );
    // 24.5 % of what was weighed is water: CaCl2 with 2.00 H2O.
    let taken_up = found.iter().find_map(|e| match e {
        Explanation::TookUpWater { percent, waters: Some(waters), .. } => Some((*percent, *waters)),
        _ => None,
    });
    let (percent, waters) = taken_up.ok_or("no water was taken up")?;
    assert!((percent - 24.5).abs() < 0.02 && (waters - 2.0).abs() < 1e-6, "{percent} {waters}");
    // The label's strength by mass, 0.7549 of it.
    assert!(found.iter().any(|e| {
        matches!(e, Explanation::Missing { percent } if (percent - 24.51).abs() < 0.02)
    }));
    Ok(())
}

/// A lot of 10 % moisture: what it states is a part of what explains another strength.
#[test]
fn an_explanation_counts_the_moisture_of_the_lot() -> Fallible {
    let dry = stock("CaCl2·2H2O", to_total(30.0, 1000.0))?;
    let lot = Lot { moisture: Fraction::new(0.1), ..Lot::default() };
    let label = Stock::new(Recipe { lot, ..dry.recipe().clone() })?;
    // 0.8 · 0.9 = 72 % of it are the dihydrate: 28 % water, (147.01/0.72 − 110.98)/18.015 = 5.17 H2O.
    let of = |times: f64| stock("CaCl2·2H2O", to_total(27.0 * times, 1000.0));
    let weak = explanations(&label, &read(times(&of(0.8)?, &label), 0.02), &catalogue()?);
    let taken_up = weak.iter().find_map(|e| match e {
        Explanation::TookUpWater { percent, stated_percent, waters: Some(waters), .. } => {
            Some([*percent, *stated_percent, *waters])
        }
        _ => None,
    });
    let found = taken_up.ok_or("no water was taken up")?;
    for (found, want) in found.into_iter().zip([28.0, 10.0, 5.17]) {
        assert!((found - want).abs() < 0.01, "{weak:?}");
    }
    // 0.9/0.9: nothing clung to it.
    let strong = explanations(&label, &read(times(&of(1.0 / 0.9)?, &label), 0.02), &catalogue()?);
    assert!(
        matches!(strong.first(), Some(Explanation::LessDamp { percent, .. }) if percent.abs() < 1e-6),
        "{strong:?}"
    );
    // A fifth of the strength would need CaCl2 with 25 H2O, which is no solid.
    for salt in ["CaCl2·2H2O", "MgSO4·7H2O"] {
        let label = stock(salt, to_total(30.0, 1000.0))?;
        let found = explanations(&label, &read(0.2, 0.02), &catalogue()?);
        assert!(
            !found.iter().any(|e| matches!(e, Explanation::TookUpWater { .. })),
            "{salt}: {found:?}"
        );
    }
    Ok(())
}

/// Two moles of potassium bicarbonate in a kilogram of water press on a bottle that is shut; a tenth
/// does not. Of what no drinks bottle holds no bottle is advised.
#[test]
fn pressure_is_warned_of_by_one_rule() -> Fallible {
    let strong = stock("KHCO3", to_total(200.0, 1200.0))?;
    let atm = keeping::pressure_atm(&strong).ok_or("no pressure")?;
    assert!((0.5..1.5).contains(&atm), "{atm}");
    assert_eq!(keeping::pressure_atm(&stock("KHCO3", to_total(10.0, 1000.0))?), None);
    assert!(keeping::carbon_dioxide_loss(&strong).is_some_and(|loss| loss.extrapolated));
    let closed = bottle_pressure::pressure_caution(28.0);
    assert!(closed.contains("do NOT close it") && !closed.contains("Use a bottle"), "{closed}");
    assert!(bottle_pressure::pressure_caution(0.9).contains("Use a bottle made for fizzy drinks"));
    Ok(())
}

/// 100 g made "to 1000 g" but put into 1000 g of water: 1000/1100 = 0.909 by mass.
#[test]
fn a_total_taken_for_the_water_is_found() -> Fallible {
    let label = stock("KHCO3", to_total(100.0, 1000.0))?;
    let other =
        stock("KHCO3", Making::IntoWater { salt: Grams::new(100.0), water: Grams::new(1000.0) })?;
    let factor = other.meq_per_ml().value() / label.meq_per_ml().value();
    assert!((factor - 0.909).abs() < 0.01);
    let found = explanations(&label, &read(factor, 0.01), &catalogue()?);
    assert!(found.iter().any(|e| matches!(e, Explanation::OtherMaking { .. })), "{found:?}");
    // Half of the strength is not that mistake.
    let found = explanations(&label, &read(0.5, 0.01), &catalogue()?);
    assert!(!found.iter().any(|e| matches!(e, Explanation::OtherMaking { .. })), "{found:?}");
    // Stronger than the label: water has gone.
    let found = explanations(&label, &read(1.25, 0.01), &catalogue()?);
    let is_gone = |e: &Explanation| matches!(e, Explanation::Evaporated { percent } if (percent - 20.0).abs() < 1e-9);
    assert!(found.iter().any(is_gone), "{found:?}");
    // Or more was diluted: 6.25 mL and not 5 mL. Of what would never dissolve it is that alone.
    let more = |ml: f64| Explanation::OtherDose { ml, meant_ml: 5.0 };
    assert_eq!(found.last(), Some(&more(6.25)));
    assert_eq!(explanations(&label, &read(3.0, 0.01), &catalogue()?), [more(15.0)]);
    Ok(())
}

/// 1 g/L of CaCO3 takes up 44.009/100.086 = 0.4397 g/L of CO2, and 0.5 g/L of Mg(OH)2 twice
/// 44.009/58.319, 0.7546 g/L.
#[test]
fn carbonation_takes_up_what_stoichiometry_says() -> Fallible {
    let litre =
        |grams: f64| Making::ToVolume { salt: Grams::new(grams), volume: Millilitres::new(1000.0) };
    let chalk = stock("CaCO3", litre(1.0))?;
    assert!((keeping::carbon_dioxide_taken_up_g_per_l(&chalk) - 0.4397).abs() < 1e-4);
    let magnesia = stock("Mg(OH)2", litre(0.5))?;
    assert!((keeping::carbon_dioxide_taken_up_g_per_l(&magnesia) - 0.7546).abs() < 1e-4);
    let salt = stock("NaCl", litre(1.0))?;
    assert!(keeping::carbon_dioxide_taken_up_g_per_l(&salt).abs() < 1e-12);
    Ok(())
}

/// Sodium sulfate that is clear at 20 °C is not at 5 °C; the strongest that is refused nowhere
/// is what the refusal names.
#[test]
fn the_strongest_that_works_works() -> Fallible {
    let cold = Celsius::new(5.0);
    let strong = stock("Na2SO4", to_total(120.0, 1000.0))?;
    assert!(solubility::check(&strong, Celsius::new(20.0)).is_ok());
    let refusal = solubility::check(&strong, cold).err().ok_or("it was not refused")?;
    assert!(refusal.kept);
    // By hand: halfway between 4.7 % and 8.3 %.
    assert!((refusal.saturated_g_per_kg - 65.0).abs() < 0.01, "{refusal:?}");
    let named = stock("Na2SO4", to_total(refusal.strongest_g_per_kg, 1000.0))?;
    assert!(solubility::check(&named, cold).is_ok());
    let above = stock("Na2SO4", to_total(1.01 * refusal.saturated_g_per_kg, 1000.0))?;
    assert!(solubility::check(&above, cold).is_err());
    Ok(())
}

/// A litre with 1.2 g of chalk is held by 2 bar of carbon dioxide at 20 °C, by less in the fridge;
/// 3 g is more than 4 bar hold, and the strongest named is held.
#[test]
fn chalk_stays_dissolved_under_enough_carbon_dioxide() -> Fallible {
    let [room, cold] = [20.0, 5.0].map(Celsius::new);
    let chalk = stock("CaCO3", to_total(1.2, 1000.0))?;
    let needed = |t| carbonated::needed_bar(&chalk.recipe().salt, chalk.g_per_kg(), t);
    let at_room = needed(room).ok_or("no pressure")?;
    assert!((1.5..2.2).contains(&at_room), "{at_room}");
    assert!(needed(cold).is_some_and(|bar| bar < 0.6 * at_room));
    assert!(solubility::check(&chalk, room).is_ok());
    let refusal = solubility::check(&stock("CaCO3", to_total(3.0, 1000.0))?, cold);
    let refusal = refusal.err().ok_or("it was not refused")?;
    assert!(!refusal.kept && refusal.co2_bar.is_some(), "{refusal}");
    let named = stock("CaCO3", to_total(refusal.strongest_g_per_kg, 1000.0))?;
    assert!(solubility::check(&named, cold).is_ok());
    Ok(())
}

/// One water of the starter bench: 5.114 mL/L of magnesium chloride (39.2 g/kg of a lot that is
/// 98.01 % salt, so 0.04052 g/mL from the bag, 7.90 per kg) and 3.172 mL/L of potassium
/// bicarbonate (0.04100 g/mL, 11.00 per kg) in 0.9917 L of distilled water at 0.40.
#[test]
fn the_cost_of_a_water() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let mix = run(&bench, &["mix"])?;
    let salts = 5.114 * 0.040_52 * 0.0079 + 3.172 * 0.041_00 * 0.011;
    let water = 0.991_71 * 0.40;
    assert!((number(&mix, "/cost/waters/2/salts_per_l")? - salts).abs() < 2e-6);
    assert!((number(&mix, "/cost/waters/2/water_per_l")? - water).abs() < 2e-5);
    let whole = number(&mix, "/cost/waters/2/per_l")?;
    assert!((number(&mix, "/cost/waters/2/per_bottle")? - whole / 2.0).abs() < 1e-12);
    Ok(())
}

/// Every dose of the flight planned with the advised strengths keeps the goals; and a flight
/// whose doses differ too much for one strength gets two, or is told that two are too few.
#[test]
fn advised_strengths_can_be_poured() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let advice = run(&bench, &["advise", "--error", "5 %"])?;
    let (least, most) = (number(&advice, "/least_ml")?, number(&advice, "/most_ml")?);
    // 2 · 0.02/√3 over what 2 · 1 %/√3, which all doses share, leaves of 5 %: √(5² − 1.1547²) %
    assert!((least - 0.474_71).abs() < 1e-4, "{least}");
    assert!(number(&advice, "/checked_ml/0")? >= least);
    assert!(number(&advice, "/checked_ml/1")? <= most);
    let stocks = advice.pointer("/stocks").and_then(Value::as_array).ok_or("no advice")?;
    assert_eq!(stocks.len(), 6);
    for stock in stocks {
        let make = stock.pointer("/make").and_then(Value::as_array).ok_or("no strengths")?;
        assert_eq!(make.len(), 1, "{stock}");
        assert!(number(stock, "/make/0/error_percent")? <= 5.0);
    }
    // The flight is then made with them, from files.
    for stock in stocks {
        let name = stock.pointer("/stock").and_then(Value::as_str).ok_or("no name")?;
        if stock.pointer("/now_will_do") == Some(&Value::Bool(true)) {
            continue;
        }
        let salt = format!("{} g", number(stock, "/make/0/salt_g")?);
        let total = format!("{} g", number(stock, "/make/0/total_g")?);
        run(&bench, &["weighed", name, "--salt", &salt, "--total", &total])?;
    }
    let mix = run(&bench, &["mix"])?;
    for water in mix.pointer("/waters").and_then(Value::as_array).ok_or("no waters")? {
        for dose in water.pointer("/doses").and_then(Value::as_array).ok_or("no doses")? {
            let ml = number(dose, "/ml_per_bottle")?;
            assert!(ml >= 0.99 * least && ml <= 1.01 * most, "{dose}");
        }
    }
    // Where one strength serves, a narrow window is no reason to have none: all of these stay dissolved.
    for (most, error) in [("5 mL", "3 %"), ("6 mL", "2.5 %"), ("8 mL", "2 %"), ("8 mL", "4 %")] {
        let (_folder, bench) = starter_bench()?;
        let advice = run(&bench, &["advise", "--most", most, "--error", error])?;
        for stock in advice.pointer("/stocks").and_then(Value::as_array).ok_or("no advice")? {
            let make = stock.pointer("/make").and_then(Value::as_array).ok_or("no strengths")?;
            assert!(!make.is_empty(), "{most} {error}: {stock}");
        }
    }
    // With a small syringe one strength of Epsom salt cannot serve 0.15 and 2.0 mL alike.
    let (_folder, bench) = starter_bench()?;
    let advice = run(&bench, &["advise", "--most", "6 mL", "--error", "2 %"])?;
    let epsom = advice.pointer("/stocks/1").ok_or("no epsom")?;
    assert_eq!(epsom.pointer("/make").and_then(Value::as_array).map(Vec::len), Some(2));
    assert!(number(epsom, "/make/0/g_per_kg")? < number(epsom, "/make/1/g_per_kg")?);
    let advice = run(&bench, &["advise", "--most", "4 mL", "--error", "2 %"])?;
    let calcium = advice.pointer("/stocks/0/why_none").and_then(Value::as_str);
    assert!(calcium.is_some_and(|why| why.contains("too much even for two bottles")));
    Ok(())
}

/// Two flights share the bottles: the doses to serve are those of both, and each flight planned with
/// the advised strengths keeps the goals.
#[test]
fn one_shelf_is_advised_for_two_flights() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let span = "hardness=20..300 mg/L as CaCO3";
    run(&bench, &["ladder", "middle", "--vary", span, "--steps", "5", "--into", "rungs"])?;
    let advise = |flights: &[&str]| {
        let mut arguments = vec!["advise", "--error", "5 %"];
        arguments.extend(flights);
        run(&bench, &arguments)
    };
    let [rungs, first, both] =
        [advise(&["rungs"])?, advise(&["first-flight"])?, advise(&["rungs", "first-flight"])?];
    assert_eq!(both.pointer("/flights").and_then(Value::as_array).map(Vec::len), Some(2));
    let now = |advice: &Value, name: &str| -> Option<(f64, f64)> {
        let stocks = advice.pointer("/stocks")?.as_array()?;
        let stock =
            stocks.iter().find(|s| s.pointer("/stock").and_then(Value::as_str) == Some(name))?;
        Some((number(stock, "/now_ml/0").ok()?, number(stock, "/now_ml/1").ok()?))
    };
    let (mut shared, mut of_one) = (0, 0);
    for name in ["calcium", "epsom", "magchlor", "potash", "soda", "table salt"] {
        let apart: Vec<_> = [now(&rungs, name), now(&first, name)].into_iter().flatten().collect();
        shared += usize::from(apart.len() == 2);
        of_one += usize::from(apart.len() == 1);
        let low = apart.iter().map(|(low, _)| *low).fold(f64::INFINITY, f64::min);
        let high = apart.iter().map(|(_, high)| *high).fold(0.0, f64::max);
        let together = now(&both, name).ok_or("a stock without advice")?;
        assert!((together.0 - low).abs() < 1e-9 && (together.1 - high).abs() < 1e-9, "{name}");
    }
    assert!(shared > 1 && of_one > 0, "{shared} {of_one}");
    let (least, most) = (number(&both, "/least_ml")?, number(&both, "/most_ml")?);
    for stock in both.pointer("/stocks").and_then(Value::as_array).ok_or("no advice")? {
        let name = stock.pointer("/stock").and_then(Value::as_str).ok_or("no name")?;
        let salt = format!("{} g", number(stock, "/make/0/salt_g")?);
        let total = format!("{} g", number(stock, "/make/0/total_g")?);
        run(&bench, &["weighed", name, "--salt", &salt, "--total", &total])?;
    }
    for flight in ["rungs", "first-flight"] {
        let mix = run(&bench, &["mix", flight])?;
        for water in mix.pointer("/waters").and_then(Value::as_array).ok_or("no waters")? {
            for dose in water.pointer("/doses").and_then(Value::as_array).ok_or("no doses")? {
                let ml = number(dose, "/ml_per_bottle")?;
                assert!(ml >= 0.99 * least && ml <= 1.01 * most, "{flight}: {dose}");
            }
        }
    }
    Ok(())
}

/// Standard Methods 2320 B, 3b (from memory): an acid standardised with B mL of a solution of A g/L
/// of sodium carbonate, C mL of acid used, has the normality A·B/(53.00·C). Turned round, the acid
/// gives back the carbonate: 2.500 g/L, 40.00 mL of it to 100 mL, 18.87 mL of 0.1000 N.
#[test]
fn a_carbonate_stock_is_verified_as_the_book_standardises_its_acid() -> Fallible {
    let soda = stock(
        "Na2CO3",
        Making::ToVolume { salt: Grams::new(2.5), volume: Millilitres::new(1000.0) },
    )?;
    let dilution = Dilution::new(Millilitres::new(40.0), Millilitres::new(100.0))?;
    let acid_ml = 2.5 * 40.0 / (53.00 * 0.1);
    let read = format!("{acid_ml} mL of 0.1 mol/L on 100 mL");
    let readings = [Reading::titration(Titration::Acid, &read)?];
    let (found, _) = infer(&soda, dilution, &MeterInUse::default(), &readings, &Tools::default())?;
    // 53.00 is half of 105.988 to four figures
    assert!((found.result.value / (2.5 / 53.00) - 1.0).abs() < 1e-6, "{found:?}");
    assert!((found.result.value / soda.meq_per_ml().value() - 1.0).abs() < 2e-4, "{found:?}");
    Ok(())
}

/// Standard Methods 2340 C, precision and bias (from memory): a synthetic sample of 610 mg/L total
/// hardness as CaCO3 from 108 mg/L of calcium and 82 mg/L of magnesium. Made of chloride stocks and
/// titrated with 0.01 mol/L EDTA, of which 1 mL is 1.00 mg CaCO3: 15.25 mL on 25 mL.
#[test]
fn the_synthetic_sample_of_the_book_is_found_by_titration() -> Fallible {
    let mut sample = Composition::PURE_WATER;
    sample.set_mmol_per_l(Conserved::Ca, 108.0 / Conserved::Ca.g_per_mol());
    sample.set_mmol_per_l(Conserved::Mg, 82.0 / Conserved::Mg.g_per_mol());
    let hardness = Measure::Hardness.of(&sample);
    let Reading::Titration { meq_per_l, .. } =
        Reading::titration(Titration::Edta, "15.25 mL of 0.01 mol/L on 25 mL")?
    else {
        return Err("no titration".into());
    };
    // The book rounds to three figures, and calcium and magnesium to whole mg/L.
    assert!((meq_per_l / hardness - 1.0).abs() < 0.006, "{meq_per_l} {hardness}");
    assert!((meq_per_l * 50.043_5 / 610.0 - 1.0).abs() < 0.001, "{meq_per_l}");
    Ok(())
}

/// Spring water with 3.2 mg/L of sodium within 5 %, a share of 0.9956 in the bottle: u = 5 %/√3, so
/// ± 0.18 mg/L from the analysis alone, as no stock of this water brings sodium.
#[test]
fn an_analysis_that_may_be_off_makes_the_water_less_certain() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let sodium = |bench: &Path| -> Result<(f64, f64), Box<dyn Error>> {
        let mix = run(bench, &["mix"])?;
        let plus_minus = number(&mix, "/spread/waters/4/mg_per_l_expanded/Na")?;
        Ok((number(&mix, "/waters/4/mg_per_l/Na")?, plus_minus))
    };
    let (_, exact) = sodium(&bench)?;
    assert!(exact < 0.001, "{exact}");
    let file = bench.join("waters/hill-spring.ron");
    let written = fs::read_to_string(&file)?;
    fs::write(&file, written.replace("    price:", "    within: \"5 %\",\n    price:"))?;
    let (mg_per_l, plus_minus) = sodium(&bench)?;
    assert!((plus_minus - 2.0 * 0.05 / 3_f64.sqrt() * mg_per_l).abs() < 1e-3, "{plus_minus}");
    Ok(())
}

/// A dispenser that doses by weight makes the density of the stock irrelevant, here in a water of
/// distilled water and magnesium chloride with potassium bicarbonate.
#[test]
fn dosing_by_weight_drops_the_density() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let sources = |bench: &Path| -> Result<String, Box<dyn Error>> {
        let mix = run(bench, &["mix"])?;
        let budget = mix.pointer("/spread/waters/2/goals/0/budget").ok_or("no budget")?;
        Ok(budget.to_string())
    };
    let by_volume = sources(&bench)?;
    assert!(by_volume.contains("calibration of the dispenser"), "{by_volume}");
    let file = bench.join("bench.ron");
    fs::write(&file, fs::read_to_string(&file)?.replace("by: Volume", "by: Mass"))?;
    let by_weight = sources(&bench)?;
    assert!(!by_weight.contains("density"), "{by_weight}");
    assert!(!by_weight.contains("calibration of the dispenser"), "{by_weight}");
    // A density off by 15 % (a salt without published coefficients) moves the millilitre alone.
    let lactate = stock("Ca(C3H5O3)2·5H2O", to_total(30.0, 1000.0))?;
    let model = StrengthModel::new(&lactate, None);
    let uncertainty_sources = model.uncertainty_sources(&Tools::default());
    let mut x: Vec<f64> = uncertainty_sources.iter().map(|d| d.input.estimate).collect();
    let as_it_is = model.strength(&x);
    if let Some(density) = x.last_mut() {
        *density *= 1.15;
    }
    let denser = model.strength(&x);
    assert!((denser.meq_per_g - as_it_is.meq_per_g).abs() < 1e-15);
    assert!((denser.meq_per_ml() / as_it_is.meq_per_ml() - 1.15).abs() < 1e-9);
    Ok(())
}
