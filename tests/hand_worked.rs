//! Litres worked by hand, from atomic weights up.

use std::error::Error;

use waterflight::bench::built_in_salts;
use waterflight::chemistry::{Composition, Conserved};
use waterflight::flight::Goal;
use waterflight::planner::plan_flight;
use waterflight::quantities::{Celsius, Grams};
use waterflight::stock::{Catalogue, Lot, Making, Recipe, Stock};
use waterflight::water::{BaseWater, Measure};

use crate::common::shelf::flight_of_one;

type Fallible = Result<(), Box<dyn Error>>;

fn stock(formula: &str, salt_g: f64, total_g: f64) -> Result<Stock, Box<dyn Error>> {
    let salts = built_in_salts()?;
    let salt = Catalogue::new(salts).find(formula)?.clone();
    Ok(Stock::new(Recipe {
        name: formula.to_owned(),
        salt,
        lot: Lot::default(),
        making: Making::ToTotalMass { salt: Grams::new(salt_g), total: Grams::new(total_g) },
        temperature: Celsius::new(20.0),
    })?)
}

fn close(got: f64, want: f64, tolerance: f64) {
    assert!((got - want).abs() <= tolerance, "{got} instead of {want}");
}

/// One litre with two salts.
///
/// Atomic weights (CIAAW 2021): H 1.008, C 12.011, O 15.999, Na 22.98976928, Mg 24.305, S 32.06.
///
/// Epsom salt MgSO4·7H2O: 24.305 + 32.06 + 4·15.999 = 120.361; 7 H2O = 7·18.015 = 126.105;
/// together 246.466 g/mol. Soda NaHCO3: 22.98976928 + 1.008 + 12.011 + 3·15.999 = 84.00576928.
///
/// 0.200 g of Epsom salt and 0.080 g of soda in a litre:
/// * Mg 0.200/246.466 = 0.811471 mmol/L, 19.7228 mg/L; hardness 1.622942 meq/L,
///   times 50.04345 = 81.2177 mg/L as CaCO3;
/// * SO4 0.811471 · 96.056 = 77.9467 mg/L;
/// * Na 0.080/84.00576928 = 0.952315 mmol/L, 21.8935 mg/L;
/// * HCO3 0.952315 · 61.016 = 58.1065 mg/L; alkalinity 0.952315 · 50.04345 = 47.6571 mg/L as CaCO3.
#[test]
fn a_litre_with_two_salts() -> Fallible {
    let epsom = stock("MgSO4·7H2O", 40.0, 1000.0)?;
    let soda = stock("NaHCO3", 40.0, 1000.0)?;
    // 40 g/kg: 5 g of stock hold 0.2 g of salt, 2 g hold 0.08 g.
    let ml = |stock: &Stock, grams: f64| grams / stock.density().value.value();
    let litre: Composition =
        epsom.composition_per_ml() * ml(&epsom, 5.0) + soda.composition_per_ml() * ml(&soda, 2.0);
    close(litre.mg_per_l(Conserved::Mg), 19.7228, 2e-4);
    close(litre.mg_per_l(Conserved::SO4), 77.9467, 2e-4);
    close(litre.mg_per_l(Conserved::Na), 21.8935, 2e-4);
    close(litre.mg_per_l(Conserved::Alkalinity), 58.1065, 2e-4);
    let as_caco3 = |m: Measure| m.of(&litre) / m.native_per_usual_unit();
    close(as_caco3(Measure::Hardness), 81.2177, 2e-4);
    close(as_caco3(Measure::Alkalinity), 47.6571, 2e-4);
    Ok(())
}

/// The same litre the other way round: asked for the hardness and the alkalinity, the planner
/// finds the 5 g and 2 g of stock.
#[test]
fn the_planner_finds_the_doses_of_that_litre() -> Fallible {
    let stocks = vec![stock("MgSO4·7H2O", 40.0, 1000.0)?, stock("NaHCO3", 40.0, 1000.0)?];
    let goals = vec![
        Goal::parse(Measure::Hardness, "81.2177 mg/L as CaCO3")?,
        Goal::parse(Measure::Alkalinity, "47.6571 mg/L as CaCO3")?,
    ];
    let flight = flight_of_one(goals, vec![(BaseWater::distilled(), 1.0)]);
    let plans = plan_flight(&flight, &stocks)?;
    let plan = plans.first().ok_or("no plan")?;
    assert!(plan.reached());
    for ((stock, ml), grams) in stocks.iter().zip(&plan.ml_per_l).zip([5.0, 2.0]) {
        close(ml * stock.density().value.value(), grams, 2e-5);
    }
    Ok(())
}

/// Common practice: dry salt and water to 200 g, 4 mL of it per litre, make about 50 litres.
///
/// 12 g of Epsom salt in 200 g are 60 g/kg. 4 mL at a density of about 1.028 g/mL are 4.11 g and
/// hold 0.2467 g; so a litre has 0.2467/246.466 = 1.001 mmol/L of Mg, about 100 mg/L as CaCO3.
/// 200 g are 194.5 mL, that is 48.6 doses of 4 mL.
#[test]
fn a_stock_to_a_total_mass_by_common_practice() -> Fallible {
    let stock = stock("MgSO4·7H2O", 12.0, 200.0)?;
    close(stock.g_per_kg(), 60.0, 1e-12);
    let litre = stock.composition_per_ml() * 4.0;
    let hardness = Measure::Hardness.of(&litre) / Measure::Hardness.native_per_usual_unit();
    close(hardness, 100.0, 1.0);
    let doses = 200.0 / stock.density().value.value() / 4.0;
    close(doses, 48.6, 0.2);
    Ok(())
}

/// Made to a volume, the strength per litre is what was weighed, whatever the density.
///
/// 50 g of NaCl to 1000 mL: 50 mg/mL. The handbook density of 4.86 % NaCl at 20 °C is about
/// 1.0331 g/mL (CRC Handbook, between its rows for 4.8 and 5.0 %, from memory), so 48.4 g/kg.
#[test]
fn a_stock_to_a_volume() -> Fallible {
    let salts = built_in_salts()?;
    let stock = Stock::new(Recipe {
        name: "salt".to_owned(),
        salt: Catalogue::new(salts).find("NaCl")?.clone(),
        lot: Lot::default(),
        making: Making::ToVolume {
            salt: Grams::new(50.0),
            volume: waterflight::quantities::Millilitres::new(1000.0),
        },
        temperature: Celsius::new(20.0),
    })?;
    close(stock.mg_per_ml(), 50.0, 1e-9);
    close(stock.g_per_kg(), 48.4, 0.05);
    Ok(())
}
