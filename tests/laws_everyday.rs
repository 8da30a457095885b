//! Laws of concentrates: whatever is thrown together is answered or refused, and nothing is lost.

use std::cell::Cell;
use std::error::Error;

use proptest::prelude::*;
use proptest::test_runner::{TestCaseError, TestRunner};
use waterflight::assessment::{BoilerSettings, Lab};
use waterflight::bench::built_in_salts;
use waterflight::everyday::ReadyProduct;
use waterflight::everyday::concentrate::ReverseReport;
use waterflight::everyday::concentrate::{
    ConcentrateContext, ConcentrateError, ConcentrateReport, DoseBy, Filled,
};
use waterflight::stock::{Catalogue, DrySalt, Lot, Tools};

/// Salts of different kinds, a carbonate, an organic and one that needs carbon dioxide among them.
const SALTS: [&str; 9] = [
    "CaCl2·2H2O",
    "MgSO4·7H2O",
    "MgCl2·6H2O",
    "NaHCO3",
    "KHCO3",
    "Na2CO3",
    "CaSO4·2H2O",
    "Mg(OH)2",
    "Ca(C3H5O3)2·5H2O",
];

fn fail(error: impl std::fmt::Display) -> TestCaseError {
    TestCaseError::fail(error.to_string())
}

fn recipe(
    catalogue: &Catalogue,
    parts: &[(usize, f64)],
) -> Result<Vec<(DrySalt, f64)>, TestCaseError> {
    let mut recipe: Vec<(DrySalt, f64)> = Vec::new();
    for (which, grams) in parts {
        let formula = SALTS.get(*which).copied().unwrap_or("NaCl");
        let salt = catalogue.find(formula).map_err(fail)?.clone();
        if !recipe.iter().any(|(bag, _)| bag.name == formula) {
            recipe.push((DrySalt { name: formula.to_owned(), salt, lot: Lot::default() }, *grams));
        }
    }
    Ok(recipe)
}

fn is_too_strong(error: &ConcentrateError) -> bool {
    use ConcentrateError::{Chemistry, Density, NoWater, TooStrong};
    matches!(error, TooStrong { .. } | Chemistry(_) | Density(_) | NoWater { .. })
}

fn finite(report: &ConcentrateReport) -> bool {
    let standing = report.standing.iter().flat_map(|s| {
        let solids = s.solids.iter().map(|solid| solid.g);
        solids.chain(s.own_crystals.iter().map(|c| c.percent_of_saturation)).chain([s.ph])
    });
    let ions = report.mg_per_l.0.iter().chain(&report.unshaken_mg_per_l.0).map(|(_, mg)| *mg);
    let mut all = standing.chain(ions).chain([report.makes_litres, report.volume_ml]);
    all.all(f64::is_finite)
}

/// Recipes tried, and how many of them must be answered: our choice, far fewer than are.
const RECIPES: u32 = 96;
const LEAST_ANSWERED: u32 = RECIPES / 4;

#[test]
fn every_recipe_is_answered_or_too_strong() -> Result<(), Box<dyn Error>> {
    // No bottle is smaller than a dose, so all that may be wrong with a recipe is its strength.
    let recipes = (
        prop::collection::vec((0..SALTS.len(), 0.01..25.0_f64), 1..5),
        50.0..2000.0_f64,
        0.5..25.0_f64,
        any::<bool>(),
    );
    let answered = Cell::new(0_u32);
    let mut runner = TestRunner::new(ProptestConfig::with_cases(RECIPES));
    runner.run(&recipes, |(parts, total, dose, by_volume)| {
        let catalogue = Catalogue::new(built_in_salts().map_err(fail)?);
        let (lab, tools) = (Lab::new(BoilerSettings::default()).map_err(fail)?, Tools::default());
        let ready_product = ReadyProduct::default();
        let around = ConcentrateContext {
            lab: &lab,
            tools: &tools,
            catalogue: &catalogue,
            prices: &[],
            ready_product: &ready_product,
            made_on: None,
        };
        let filled = if by_volume { Filled::ToVolume(total) } else { Filled::ToMass(total) };
        let salts = recipe(&catalogue, &parts)?;
        let read =
            |salts| ReverseReport::new(vec![salts], filled, DoseBy::Volume(dose), &[], &around);
        let report = match read(salts.clone()) {
            Ok(report) => report,
            Err(error) => {
                prop_assert!(is_too_strong(&error), "{error}");
                return Ok(());
            }
        };
        answered.set(answered.get() + 1);
        let report = report.readings.first().ok_or_else(|| fail("no reading"))?;
        prop_assert!(finite(report));
        // Salts and water are all there is, and the solids are never heavier than the salts and
        // the water and carbon dioxide that they take up.
        let salts_g: f64 = report.salts.iter().map(|s| s.g).sum();
        prop_assert!((salts_g + report.water_g - report.total_g).abs() < 1e-9 * report.total_g);
        for standing in &report.standing {
            prop_assert!(standing.lost_percent.0.iter().all(|(_, p)| (0.0..100.001).contains(p)));
        }
        // A split holds each salt once, at the dose of the one bottle.
        if let Some(bottles) = &report.split {
            let mut there: Vec<&str> =
                bottles.iter().flat_map(|b| &b.salts).map(|s| s.formula.as_str()).collect();
            there.sort_unstable();
            let mut wanted: Vec<&str> = report.salts.iter().map(|s| s.formula.as_str()).collect();
            wanted.sort_unstable();
            prop_assert_eq!(there, wanted);
            for bottle in bottles {
                for salt in &bottle.salts {
                    let of_one = report.salts.iter().find(|s| s.formula == salt.formula);
                    let per_l = of_one.map_or(0.0, |s| s.g / report.makes_litres);
                    prop_assert!((salt.g / bottle.litres / per_l - 1.0).abs() < 1e-9);
                }
            }
            prop_assert_eq!(bottles.len() == 1, report.clear);
        }
        // The order of the salts is nothing.
        let turned: Vec<_> = salts.into_iter().rev().collect();
        let again = read(turned).map_err(fail)?;
        let again = again.readings.first().ok_or_else(|| fail("no reading"))?;
        prop_assert!((again.makes_litres / report.makes_litres - 1.0).abs() < 1e-12);
        prop_assert_eq!(again.split.as_ref().map(Vec::len), report.split.as_ref().map(Vec::len));
        Ok(())
    })?;
    assert!(answered.get() >= LEAST_ANSWERED, "{} of {RECIPES} are answered", answered.get());
    Ok(())
}
