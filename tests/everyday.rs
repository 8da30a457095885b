//! Batches by hand and concentrates against PHREEQC.

use std::error::Error;

use waterflight::bench::built_in_salts;
use waterflight::quantities::Fraction;
use waterflight::report::concentrate::{ConcentrateError, DoseBy, Filled};
use waterflight::report::{
    BatchReport, BoilerSettings, Instead, Lab, ReverseReport, State, Wanted,
};
use waterflight::shelf::{Catalogue, DrySalt, Lot, Tools};
use waterflight::waters::{BaseShare, BaseWater, Goal, Measure, Target};

type Fallible = Result<(), Box<dyn Error>>;

fn salts() -> Result<Catalogue, String> {
    built_in_salts().map(Catalogue::new).map_err(|m| m.details().title.clone())
}

fn bag(salts: &Catalogue, formula: &str) -> Result<DrySalt, Box<dyn Error>> {
    let salt = salts.find(formula)?.clone();
    Ok(DrySalt { name: formula.to_owned(), salt, lot: Lot::default() })
}

fn lab() -> Result<Lab, Box<dyn Error>> {
    Ok(Lab::new(BoilerSettings::default())?)
}

#[test]
fn what_concentrates_drop_agrees_with_phreeqc_within_2_percent() -> Fallible {
    let (salts, lab) = (salts()?, lab()?);
    let mut wrong = Vec::new();
    let mut seen = 0;
    for line in include_str!("oracle/concentrates.csv").lines().skip(1) {
        let cells: Vec<&str> = line.split(',').collect();
        let [name, recipe, state, _, calcite, gypsum, brucite] = cells.as_slice() else {
            return Err(line.into());
        };
        let mut reading = Vec::new();
        for part in recipe.split("; ") {
            let (formula, grams) = part.split_once('=').ok_or(part)?;
            reading.push((bag(&salts, formula)?, grams.parse()?));
        }
        let report =
            ReverseReport::new(vec![reading], Filled::ToMass(200.0), DoseBy::Volume(4.0), &lab)?;
        let report = report.readings.first().ok_or("no reading")?;
        let wanted = if *state == "closed" { State::Closed } else { State::Open };
        let standing = report.standing.iter().find(|s| s.state == wanted).ok_or("no state")?;
        for (mineral, want) in [("calcite", calcite), ("gypsum", gypsum), ("brucite", brucite)] {
            let want: f64 = want.parse()?;
            let found = standing.solids.iter().find(|s| s.mineral == mineral);
            let got = found.map_or(0.0, |s| s.mmol_per_kg);
            seen += usize::from(want > 0.0);
            if (got - want).abs() > 0.02 * want + 1e-3 {
                wrong.push(format!("{name} {state} {mineral}: {got} and not {want}"));
            }
        }
    }
    assert!(seen >= 20, "{seen}");
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    Ok(())
}

/// Common practice: salts and water to 200 g, 4 mL per litre, makes about 50 litres.
/// By hand: 200 g / 1.03 g/mL / 4 mL = 48.5.
#[test]
fn two_hundred_grams_make_about_fifty_litres() -> Fallible {
    let salts = salts()?;
    let reading = vec![(bag(&salts, "MgSO4·7H2O")?, 10.0), (bag(&salts, "NaHCO3")?, 5.0)];
    let report =
        ReverseReport::new(vec![reading], Filled::ToMass(200.0), DoseBy::Volume(4.0), &lab()?)?;
    let report = report.readings.first().ok_or("no reading")?;
    assert!((47.0..51.0).contains(&report.makes_litres), "{}", report.makes_litres);
    // 10 g · 24.305/246.466 in that many litres
    let mg = report.mg_per_l.0.iter().find(|(k, _)| *k == "Mg").ok_or("no Mg")?.1;
    assert!((mg - 986.14 / report.makes_litres).abs() < 1e-3, "{mg}");
    Ok(())
}

#[test]
fn beyond_the_model_is_refused() -> Fallible {
    let salts = salts()?;
    let reading = vec![(bag(&salts, "CaCl2")?, 80.0)];
    let refused =
        ReverseReport::new(vec![reading], Filled::ToMass(200.0), DoseBy::Volume(4.0), &lab()?);
    assert!(matches!(refused, Err(ConcentrateError::Chemistry(_))), "{refused:?}");
    let reading = vec![(bag(&salts, "CaCl2")?, 280.0)];
    let refused =
        ReverseReport::new(vec![reading], Filled::ToMass(200.0), DoseBy::Volume(4.0), &lab()?);
    assert!(matches!(refused, Err(ConcentrateError::NoWater { .. })));
    Ok(())
}

/// 20 L with 10 mg/L of magnesium from Epsom salt. One mole, 246.466 g, holds 24.305 g of Mg
/// (24.305 + 32.06 + 4·15.999 + 7·18.015), so 0.200 g of Mg need 0.2 · 246.466/24.305 = 2.0281 g;
/// on a balance with steps of 0.01 g: 2.03 g. At a purity of 98 % it is 2.0695 g: 2.07 g.
#[test]
fn a_batch_worked_by_hand() -> Fallible {
    for (purity, ideal, weighed) in [(1.0, 2.0281, 2.03), (0.98, 2.0695, 2.07)] {
        let mut epsom = bag(&salts()?, "MgSO4·7H2O")?;
        epsom.lot.purity = Fraction::new(purity);
        let goals = vec![Goal::parse(Measure::Magnesium, "10 mg/L")?];
        let stock = waterflight::shelf::Stock::new(waterflight::shelf::Recipe {
            name: epsom.name.clone(),
            salt: epsom.salt.clone(),
            lot: epsom.lot.clone(),
            making: waterflight::shelf::Making::ToTotalMass {
                salt: waterflight::quantities::Grams::new(40.0),
                total: waterflight::quantities::Grams::new(1000.0),
            },
            temperature: waterflight::quantities::Celsius::new(20.0),
        })?;
        let wanted = Wanted {
            target: Target { name: "ten".to_owned(), goals },
            base: vec![BaseShare { water: BaseWater::distilled(), at_most: Fraction::new(1.0) }],
            salts: vec![epsom],
            stocks: vec![stock],
        };
        let instead = Instead::default();
        let report = BatchReport::new(
            &wanted,
            20.0,
            Fraction::new(0.01),
            &Tools::default(),
            &lab()?,
            (&[], &instead),
        )?;
        let salt = report.salts.first().ok_or("no salt")?;
        assert!((salt.g_without_steps - ideal).abs() < 1e-4, "{}", salt.g_without_steps);
        assert!((salt.g - weighed).abs() < 1e-9, "{}", salt.g);
        // the default balance weighs 2.4495 g to 1 %
        let least = report.least_litres.ok_or("no least batch")?;
        assert!((least - 2.4495 / (ideal / 20.0)).abs() < 0.02, "{least}");
    }
    Ok(())
}
