//! Laws of stocks and their uncertainty, on the starter bench and on random ones.

use std::error::Error;

use proptest::prelude::*;
use waterflight::bench::{Bench, built_in_salts, starter};
use waterflight::mix::{Draws, MixReport, SpreadReport};
use waterflight::planner::plan_flight;
use waterflight::quantities::{Celsius, Day, Dimension, Fraction, Grams, Millilitres, Within};
use waterflight::stock::reading::{Reading, Titration};
use waterflight::stock::verify::{Dilution, MeterInUse, expected, infer};
use waterflight::stock::{
    Batch, Catalogue, Lot, Making, Price, Recipe, Stock, StrengthModel, Tools, Verified,
};

type Fallible = Result<(), Box<dyn Error>>;

fn starter_bench() -> Result<(tempfile::TempDir, Bench), Box<dyn Error>> {
    let folder = tempfile::tempdir()?;
    let root = folder.path().join("bench");
    starter::start(&root)?;
    let bench = Bench::open(&root)?;
    Ok((folder, bench))
}

/// The spread of a flight is around what the flight's report says, and draws from the inputs'
/// own distributions give the same spread as sensitivities do.
#[test]
fn the_spread_is_that_of_the_report_and_of_draws() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let file = bench.flights.first().ok_or("no flight")?;
    let (flight, stocks) = bench.flight(file)?;
    let plans = plan_flight(&flight, &stocks)?;
    let mix = MixReport::new(&flight, &stocks, &plans)?;
    let models = bench.strength_models(&stocks);
    let draws = Some(Draws { trials: 6000, seed: 5 });
    let spread = SpreadReport::new(&flight, &stocks, &models, &bench.tools, &plans, draws);
    let mut compared = 0;
    for (water, planned) in spread.waters.iter().zip(&mix.waters) {
        for (dose, planned) in water.doses.iter().zip(&planned.doses) {
            assert_eq!(dose.of, planned.stock);
            assert!((dose.value - planned.ml_per_bottle).abs() < 1e-9);
        }
        for (goal, planned) in water.goals.iter().zip(&planned.goals) {
            let got = planned.got.ok_or("an undefined goal")?;
            assert!((goal.value - got).abs() < 1e-7 * got.max(1.0), "{} {got}", goal.value);
            let drawn = goal.drawn.ok_or("no draws")?;
            // 6000 draws know a standard deviation to 0.9 %.
            assert!((drawn.expanded - goal.expanded).abs() <= 0.04 * goal.expanded, "{goal:?}");
            let off = (drawn.mean - goal.value).abs();
            assert!(off <= 0.05 * goal.expanded + 1e-12, "{goal:?}");
            compared += 1;
        }
    }
    assert!(compared >= 30);
    Ok(())
}

/// Magnesium and sulfate of one stock are uncertain alike, to the last digit: they share every
/// input.
#[test]
fn both_ions_of_a_stock_go_together() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let file = bench.flights.first().ok_or("no flight")?;
    let (mut flight, stocks) = bench.flight(file)?;
    flight.base.truncate(1);
    let stocks: Vec<Stock> = stocks.into_iter().filter(|s| s.name() == "epsom").collect();
    flight.targets.truncate(1);
    let plans = plan_flight(&flight, &stocks)?;
    let mix = MixReport::new(&flight, &stocks, &plans)?;
    let models = bench.strength_models(&stocks);
    let spread = SpreadReport::new(&flight, &stocks, &models, &bench.tools, &plans, None);
    let relative = |key: &str| {
        let of = |keyed: &[(&'static str, f64)]| {
            keyed.iter().find(|(k, _)| *k == key).map(|(_, v)| *v).ok_or("no such key")
        };
        let planned = mix.waters.first().ok_or("no water")?;
        let water = spread.waters.first().ok_or("no water")?;
        Ok::<f64, Box<dyn Error>>(of(&water.mg_per_l_expanded.0)? / of(&planned.mg_per_l.0)?)
    };
    let (magnesium, sulfate) = (relative("Mg")?, relative("SO4")?);
    assert!(magnesium > 0.001, "{magnesium}");
    assert!((magnesium / sulfate - 1.0).abs() < 1e-9, "{magnesium} {sulfate}");
    Ok(())
}

fn made(salt: &str, lot: Lot, making: Making) -> Result<Stock, String> {
    let salts = built_in_salts().map_err(|e| e.to_string())?;
    let salt = Catalogue::new(salts).find(salt).map_err(|e| e.to_string())?.clone();
    let recipe =
        Recipe { name: "stock".to_owned(), salt, lot, making, temperature: Celsius::new(20.0) };
    Stock::new(recipe).map_err(|e| e.to_string())
}

fn salts() -> impl Strategy<Value = &'static str> {
    prop::sample::select(vec!["MgSO4·7H2O", "CaCl2·2H2O", "MgCl2·6H2O", "NaHCO3", "KHCO3", "NaCl"])
}

proptest! {
    #![proptest_config(crate::common::cases(48))]

    /// The model of a strength gives back the stock it was made of, in all three makings.
    #[test]
    fn the_model_of_a_strength_is_the_stock(
        salt in salts(), grams in 2.0..40.0_f64, purity in 0.9..1.0_f64, moisture in 0.0..0.1_f64,
        way in 0..3_usize,
    ) {
        let g = Grams::new;
        let making = match way {
            0 => Making::ToTotalMass { salt: g(grams), total: g(900.0) },
            1 => Making::IntoWater { salt: g(grams), water: g(900.0) },
            _ => Making::ToVolume { salt: g(grams), volume: Millilitres::new(900.0) },
        };
        let lot = Lot {
            purity: Fraction::new(purity), moisture: Fraction::new(moisture), ..Lot::default()
        };
        let stock = made(salt, lot, making).map_err(TestCaseError::fail)?;
        let model = StrengthModel::new(&stock, None);
        let x: Vec<f64> =
            model.uncertainty_sources(&Tools::default()).iter().map(|d| d.input.estimate).collect();
        let got = model.strength(&x);
        prop_assert!((got.g_per_kg / stock.g_per_kg() - 1.0).abs() < 1e-9);
        prop_assert!((got.meq_per_ml() / stock.meq_per_ml().value() - 1.0).abs() < 1e-9);
        // One per cent more salt: the straight line of the density against the stock itself.
        let more = match making {
            Making::ToTotalMass { salt, total } => {
                Making::ToTotalMass { salt: salt * 1.01, total }
            }
            Making::IntoWater { salt, water } => Making::IntoWater { salt: salt * 1.01, water },
            Making::ToVolume { salt, volume } => Making::ToVolume { salt: salt * 1.01, volume },
        };
        let other = Stock::new(Recipe { making: more, ..stock.recipe().clone() })
            .map_err(|e| TestCaseError::fail(e.to_string()))?;
        let mut x = x;
        if let Some(salt) = x.first_mut() {
            *salt *= 1.01;
        }
        let got = model.strength(&x).meq_per_ml();
        prop_assert!((got / other.meq_per_ml().value() - 1.0).abs() < 1e-6);
    }

    /// A reading that is exactly what a stock of another strength would show gives that strength
    /// back, and its uncertainty covers what the meter may be off.
    #[test]
    fn a_reading_gives_the_strength_back(salt in salts(), factor in 0.6..1.3_f64) {
        let g = Grams::new;
        let of = |grams: f64| made(
            salt, Lot::default(), Making::ToTotalMass { salt: g(grams), total: g(1000.0) });
        let label = of(30.0).map_err(TestCaseError::fail)?;
        let real = of(30.0 * factor).map_err(TestCaseError::fail)?;
        let tools = Tools::default();
        let dilution = Dilution::new(Millilitres::new(5.0), Millilitres::new(1000.0))
            .map_err(|e| TestCaseError::fail(e.to_string()))?;
        let meter = MeterInUse { blank_us_per_cm: 1.5, ..MeterInUse::default() };
        let shown = expected(&real, Fraction::new(0.0), dilution, &meter, &tools);
        let us_per_cm = shown.us_per_cm.ok_or(TestCaseError::fail("no equation"))?;
        let readings = [Reading::Conductivity { us_per_cm, rounded_within: 0.0 }];
        let (found, _) = infer(&label, dilution, &meter, &readings, &tools)
            .map_err(|e| TestCaseError::fail(e.to_string()))?;
        let (value, standard) = (found.result.value, found.result.standard());
        let want = real.meq_per_ml().value();
        prop_assert!((value / want - 1.0).abs() < 1e-6, "{value} {want}");
        prop_assert!(standard / value > 0.01 && standard / value < 0.06);
    }

    /// Whatever is typed is understood or refused, and what is understood is an ordinary number.
    #[test]
    fn no_text_breaks_a_reader(
        text in prop_oneof![
            "[0-9±.,+/a-zA-Zµ° %-]{0,24}",
            "[0-9.e+-]{1,8} (mL|drops) of [0-9.e+-]{1,8} (mol/L|°dH|meq/L)",
            "[0-9.e+-]{1,8} mL of [0-9.e+-]{1,8} (mol/L|meq/L) on [0-9.e+-]{1,8} mL",
            "[0-9.e+-]{1,8} (µS/cm|mS/cm|ppm scale 0.5|per kg|per [0-9.e+-]{1,8} g|± 1 %)",
            "[0-9]{4}-[0-9]{2}-[0-9]{2}",
        ],
    ) {
        for kind in [Titration::Edta, Titration::Acid] {
            if let Ok(Reading::Titration { meq_per_l, volume_within, .. }) =
                Reading::titration(kind, &text)
            {
                prop_assert!(meq_per_l > 0.0 && meq_per_l.is_finite(), "{text}");
                prop_assert!(volume_within > 0.0 && volume_within.is_finite(), "{text}");
            }
        }
        if let Ok(Reading::Conductivity { us_per_cm, rounded_within }) = Reading::meter(&text) {
            prop_assert!(us_per_cm > 0.0 && us_per_cm.is_finite(), "{text}");
            prop_assert!(rounded_within >= 0.0 && rounded_within.is_finite(), "{text}");
        }
        if let Ok(price) = Price::parse(&text, Dimension::Mass) {
            prop_assert!(price.per_base >= 0.0 && price.per_base.is_finite(), "{text}");
        }
        if let Ok(within) = Within::parse_as(&text, &[Dimension::Percent]) {
            prop_assert!(within.value.is_finite(), "{text}");
        }
        if let Some(day) = Day::parse(&text) {
            prop_assert_eq!(Day::parse(&day.to_string()), Some(day));
        }
    }

    /// A verified strength is the strength of the batch, however it was made.
    #[test]
    fn a_verified_batch_has_the_verified_strength(
        salt in salts(), factor in 0.5..1.5_f64, by_volume in any::<bool>(),
    ) {
        let salt_g = Grams::new(30.0);
        let making = if by_volume {
            Making::ToVolume { salt: salt_g, volume: Millilitres::new(1000.0) }
        } else {
            Making::ToTotalMass { salt: salt_g, total: Grams::new(1000.0) }
        };
        let stock = made(salt, Lot::default(), making).map_err(TestCaseError::fail)?;
        let g_per_kg = factor * stock.g_per_kg();
        let batch = Batch {
            stock: stock.name().to_owned(),
            number: 1,
            day: Day::today(),
            salt: stock.recipe().salt.formula.to_string(),
            making,
            temperature: Celsius::new(20.0),
            lot: Lot::default(),
            lot_label: None,
            file_g_per_kg: None,
            verified: Some(Verified { day: Day::today(), g_per_kg, standard_g_per_kg: 0.1 }),
        };
        let verified =
            batch.made(stock.recipe()).map_err(|e| TestCaseError::fail(e.to_string()))?;
        prop_assert!((verified.g_per_kg() / g_per_kg - 1.0).abs() < 1e-9);
    }
}
