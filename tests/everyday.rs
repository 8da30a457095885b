//! Batches by hand, concentrates against PHREEQC and by hand, the split by brute force.

use std::error::Error;

use waterflight::assessment::State;
use waterflight::everyday::concentrate::ReverseReport;
use waterflight::everyday::concentrate::{
    Clarity, ConcentrateError, ConcentrateReport, DoseBy, Filled, Keeping,
};
use waterflight::everyday::{BatchReport, ReadyProduct};
use waterflight::quantities::Fraction;
use waterflight::water::Measure;

use crate::common::place::Place;

type Fallible = Result<(), Box<dyn Error>>;

const TO_200_G: Filled = Filled::ToMass(200.0);

fn mg(report: &ConcentrateReport, key: &str) -> Result<f64, Box<dyn Error>> {
    let found = report.mg_per_l.0.iter().find(|(k, _)| *k == key);
    Ok(found.ok_or_else(|| format!("no {key}"))?.1)
}

#[test]
fn what_concentrates_drop_agrees_with_phreeqc_within_2_percent() -> Fallible {
    let place = Place::new()?;
    let minerals = ["calcite", "gypsum", "brucite", "nesquehonite"];
    let mut wrong = Vec::new();
    let mut seen = Vec::new();
    for line in include_str!("oracle/concentrates.csv").lines().skip(1) {
        let cells: Vec<&str> = line.split(',').collect();
        let [name, recipe, state, celsius, _, amounts @ ..] = cells.as_slice() else {
            return Err(line.into());
        };
        let report = place.read(recipe, TO_200_G)?;
        let wanted = if *state == "closed" { State::Closed } else { State::Open };
        let celsius: f64 = celsius.parse()?;
        let standing = report
            .standing
            .iter()
            .find(|s| s.state == wanted && (s.celsius - celsius).abs() < 1e-9)
            .ok_or("no state")?;
        assert_eq!(amounts.len(), minerals.len());
        for (mineral, want) in minerals.into_iter().zip(amounts) {
            let want: f64 = want.parse()?;
            let found = standing.solids.iter().find(|s| s.mineral == mineral);
            let got = found.map_or(0.0, |s| s.mmol_per_kg);
            if want > 0.0 {
                seen.push(mineral);
            }
            if (got - want).abs() > 0.02 * want + 1e-3 {
                wrong.push(format!("{name} {state} {celsius} {mineral}: {got} and not {want}"));
            }
        }
    }
    assert!(seen.len() >= 60, "{}", seen.len());
    assert!(minerals.iter().all(|m| seen.iter().filter(|s| s == &m).count() >= 6));
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    Ok(())
}

/// Common practice: salts and water to 200 g, 4 mL per litre, makes about 50 litres.
/// By hand: 200 g / 1.03 g/mL / 4 mL = 48.5.
#[test]
fn two_hundred_grams_make_about_fifty_litres() -> Fallible {
    let report = Place::new()?.read("MgSO4·7H2O=10; NaHCO3=5", TO_200_G)?;
    assert!((47.0..51.0).contains(&report.makes_litres), "{}", report.makes_litres);
    // 10 g · 24.305/246.466 in that many litres
    assert!((mg(&report, "Mg")? - 986.14 / report.makes_litres).abs() < 1e-3);
    Ok(())
}

#[test]
fn water_is_measured_in_every_way() -> Fallible {
    let place = Place::new()?;
    let recipe = "MgSO4·7H2O=10";
    // To a volume: 500 mL at 4 mL per litre make 125 L, 986.14 mg of Mg in them.
    let to_volume = place.read(recipe, Filled::ToVolume(500.0))?;
    assert!((to_volume.makes_litres - 125.0).abs() < 1e-9);
    assert!((mg(&to_volume, "Mg")? - 986.14 / 125.0).abs() < 1e-4);
    // The same bottle, by its mass.
    let to_mass = place.read(recipe, Filled::ToMass(to_volume.total_g))?;
    assert!((to_mass.volume_ml - 500.0).abs() < 1e-6, "{}", to_mass.volume_ml);
    // Into water: 10 g go on top; 500 mL of water weigh 499.10 g at 20 °C (0.998204 g/mL).
    let into = place.read(recipe, Filled::IntoWaterVolume(500.0))?;
    assert!((into.total_g - 509.102).abs() < 1e-3, "{}", into.total_g);
    let grams = place.read(recipe, Filled::IntoWater(499.102))?;
    assert!((into.total_g - grams.total_g).abs() < 1e-3);
    // A dose by mass is the same dose over the density.
    let by_mass = ReverseReport::new(
        vec![place.recipe(recipe)?],
        TO_200_G,
        DoseBy::Mass(4.0),
        &[],
        &place.around(),
    )?;
    let by_mass = by_mass.readings.first().ok_or("no reading")?;
    assert!((by_mass.makes_litres - 50.0).abs() < 1e-9);
    Ok(())
}

/// A gram of the anhydrous salt holds 246.466/120.361 times as much as one of the heptahydrate.
#[test]
fn hydrates_stand_side_by_side() -> Fallible {
    let place = Place::new()?;
    let readings = vec![place.recipe("MgSO4, anhydrous=10")?, place.recipe("MgSO4·7H2O=10")?];
    let filled = Filled::ToVolume(500.0);
    let stocks = [place.stock("MgSO4·7H2O")?];
    let read = ReverseReport::new(readings, filled, DoseBy::Volume(4.0), &stocks, &place.around())?;
    let [dry, hydrate] = read.readings.as_slice() else { return Err("not two".into()) };
    assert!((mg(dry, "Mg")? / mg(hydrate, "Mg")? - 246.466 / 120.361).abs() < 1e-4);
    // The stock of the shelf: 40 g/kg · 1.0183 g/mL of the heptahydrate, 10 g in 125 L.
    let on_shelf = read.on_shelf.get(1).ok_or("no shelf")?;
    let dose = on_shelf.doses.first().ok_or("no dose")?;
    assert!((dose.ml_per_l - 80.0 / 40.73).abs() < 0.002, "{}", dose.ml_per_l);
    assert!(on_shelf.unreached.is_empty(), "{:?}", on_shelf.unreached);
    Ok(())
}

#[test]
fn what_the_shelf_cannot_make_is_said() -> Fallible {
    let place = Place::new()?;
    let stocks = [place.stock("MgSO4·7H2O")?];
    let read = ReverseReport::new(
        vec![place.recipe("MgSO4·7H2O=10; NaHCO3=5")?],
        TO_200_G,
        DoseBy::Volume(4.0),
        &stocks,
        &place.around(),
    )?;
    let shelf = read.on_shelf.first().ok_or("no shelf")?;
    let missed: Vec<&str> = shelf.unreached.iter().map(|u| u.measure.as_str()).collect();
    assert_eq!(missed, ["sodium", "bicarbonate"]);
    Ok(())
}

#[test]
fn beyond_the_model_is_refused_with_a_way_out() -> Fallible {
    let place = Place::new()?;
    for (recipe, too_heavy) in [("CaCl2, anhydrous=80", false), ("CaCl2, anhydrous=280", true)] {
        let refused = ReverseReport::new(
            vec![place.recipe(recipe)?],
            TO_200_G,
            DoseBy::Volume(4.0),
            &[],
            &place.around(),
        );
        let Err(ConcentrateError::TooStrong { source, way_out }) = refused else {
            return Err(format!("{refused:?}").into());
        };
        assert_eq!(matches!(*source, ConcentrateError::NoWater { .. }), too_heavy);
        // What it says must work.
        let grams = way_out.split(' ').find_map(|word| word.parse::<f64>().ok());
        place.read(recipe, Filled::ToMass(grams.ok_or("no grams")?))?;
    }
    // Of a salt with a known solubility nothing crystallises then, cold or warm.
    let refused = place.read("NaHCO3=60", TO_200_G);
    let way_out = refused.err().and_then(|error| match error.downcast_ref() {
        Some(ConcentrateError::TooStrong { way_out, .. }) => Some(way_out.clone()),
        _ => None,
    });
    let way_out = way_out.ok_or("not refused")?;
    let grams = way_out.split(' ').find_map(|word| word.parse::<f64>().ok());
    let read = place.read("NaHCO3=60", Filled::ToMass(grams.ok_or("no grams")?))?;
    let clear = read.standing.iter().all(waterflight::everyday::concentrate::RestState::is_clear);
    assert!(clear, "{way_out}");
    // One reading that is too strong does not keep the other from being read.
    let readings = vec![place.recipe("CaCl2, anhydrous=28")?, place.recipe("CaCl2·2H2O=28")?];
    let read = ReverseReport::new(readings, TO_200_G, DoseBy::Volume(4.0), &[], &place.around())?;
    assert_eq!((read.readings.len(), read.too_strong.len()), (1, 1));
    let less = ReverseReport::new(
        vec![place.recipe("KCl=1")?],
        TO_200_G,
        DoseBy::Volume(300.0),
        &[],
        &place.around(),
    );
    assert!(matches!(less, Err(ConcentrateError::LessThanADose { .. })));
    Ok(())
}

/// Solubility of NaHCO3 by the handbook of its table: 9.32 % at 25 °C, 7.04 % between 0 and 10 °C.
#[test]
fn crystals_of_the_salt_itself_are_seen_where_it_is_kept() -> Fallible {
    let report = Place::new()?.read("NaHCO3=16", TO_200_G)?;
    let [room, _, fridge] = report.standing.as_slice() else { return Err("not three".into()) };
    assert!(room.is_clear(), "{room:?}");
    let crystals = fridge.own_crystals.first().ok_or("no crystals in the fridge")?;
    // Molality over that of saturation: (8/92)/(7.035/92.965)
    assert!((crystals.percent_of_saturation - 114.9).abs() < 0.2, "{crystals:?}");
    assert!(crystals.expected() && !fridge.is_clear());
    assert_eq!(report.advice.keep, Keeping::NotCold);
    assert_eq!(report.advice.clarity, Clarity::Clear);
    // Chloride of another salt: what two salts bring together crystallises as potassium sulfate.
    let both = Place::new()?.read("K2SO4=8; KCl=25", TO_200_G)?;
    let room = both.standing.first().ok_or("no room")?;
    assert!(room.own_crystals.iter().any(|c| c.formula == "K2SO4" && c.expected()), "{room:?}");
    Ok(())
}

#[test]
fn no_smaller_number_of_bottles_stays_clear() -> Fallible {
    let place = Place::new()?;
    let mut numbers = Vec::new();
    for recipe in [
        "CaCl2·2H2O=1.75; MgCl2·6H2O=3.05; KHCO3=1.31; NaHCO3=1.22",
        "MgSO4·7H2O=4; CaCl2·2H2O=3; NaHCO3=1.5; KHCO3=1",
        "MgSO4·7H2O=10; NaHCO3=5",
        "MgCl2·6H2O=5; CaCl2·2H2O=4; NaCl=2",
        "MgSO4·7H2O=0.2; CaCl2·2H2O=0.2; KCl=1; NaHCO3=2",
    ] {
        let salts: Vec<&str> = recipe.split("; ").collect();
        let bottles = place.read(recipe, TO_200_G)?.split.ok_or("no split")?;
        let clear = |set: usize| -> Result<bool, Box<dyn Error>> {
            let inside = salts.iter().enumerate().filter(|(i, _)| set & (1 << i) != 0);
            let part: Vec<&str> = inside.map(|(_, salt)| *salt).collect();
            Ok(place.read(&part.join("; "), TO_200_G)?.clear)
        };
        let clear = (1..1 << salts.len()).map(clear).collect::<Result<Vec<bool>, _>>()?;
        // Every way to give each salt one of so many bottles.
        let works = |count: usize| {
            (0..count.pow(u32::try_from(salts.len()).unwrap_or(0))).any(|mut code| {
                let mut sets = vec![0_usize; count];
                for salt in 0..salts.len() {
                    if let Some(set) = sets.get_mut(code % count) {
                        *set |= 1 << salt;
                    }
                    code /= count;
                }
                sets.iter().all(|set| *set == 0 || clear.get(set - 1) == Some(&true))
            })
        };
        assert!(works(bottles.len()), "{recipe}");
        assert!(bottles.len() == 1 || !works(bottles.len() - 1), "{recipe}");
        let named: usize = bottles.iter().map(|b| b.salts.len()).sum();
        assert_eq!(named, salts.len());
        numbers.push(bottles.len());
    }
    numbers.sort_unstable();
    numbers.dedup();
    assert_eq!(numbers, [1, 2, 3]);
    Ok(())
}

#[test]
fn a_salt_that_never_stays_clear_is_named_and_the_rest_is_said() -> Fallible {
    let place = Place::new()?;
    let report = place.read("CaSO4·2H2O=2; KCl=1", TO_200_G)?;
    assert!(report.split.is_none());
    let [blocked] = report.split_blocked.as_slice() else {
        return Err(format!("{:?}", report.split_blocked).into());
    };
    assert_eq!(blocked.formula, "CaSO4·2H2O");
    // 2 g in 200 g, and about 2.5 g/kg of gypsum stay dissolved: some four times weaker.
    let times = blocked.times_weaker.ok_or("no way out")?;
    assert!((3.0..6.0).contains(&times), "{times}");
    let weaker = place.read("CaSO4·2H2O=2", Filled::ToMass(200.0 * times))?;
    assert!(weaker.clear);
    Ok(())
}

/// Salts follow the room that two doses take from the base water.
#[test]
fn a_split_makes_the_same_water() -> Fallible {
    let place = Place::new()?;
    let wanted = place.wanted(
        &[
            (Measure::Calcium, "20 mg/L"),
            (Measure::Magnesium, "8 mg/L"),
            (Measure::Alkalinity, "40 mg/L as CaCO3"),
        ],
        &["CaCl2·2H2O", "MgCl2·6H2O", "KHCO3"],
    )?;
    let report = ConcentrateReport::new(&wanted, TO_200_G, DoseBy::Volume(4.0), &place.around())?;
    let bottles = report.split.as_ref().ok_or("no split")?;
    assert_eq!(bottles.len(), 2);
    let per_l = |salts: &[waterflight::everyday::concentrate::WeighedSalt], litres: f64| {
        salts.iter().map(|s| (s.formula.clone(), s.g / litres)).collect::<Vec<_>>()
    };
    let mut one = per_l(&report.salts, report.makes_litres);
    let mut several: Vec<_> = bottles.iter().flat_map(|b| per_l(&b.salts, b.litres)).collect();
    one.sort_by(|a, b| a.0.cmp(&b.0));
    several.sort_by(|a, b| a.0.cmp(&b.0));
    for ((a, g), (b, h)) in one.iter().zip(&several) {
        assert_eq!(a, b);
        // The one bottle is that of its weighed masses, the parts are those of the plan.
        assert!((g / h - 1.0).abs() < 5e-3, "{a}: {g} and {h}");
    }
    assert!(report.advice.label.iter().any(|line| line.contains("SHAKE")));
    for (n, bottle) in bottles.iter().enumerate() {
        let first = bottle.advice.label.first().ok_or("no label")?;
        assert!(first.contains(&format!("bottle {} of 2", n + 1)), "{first}");
        assert_eq!(bottle.advice.clarity, Clarity::Clear);
    }
    Ok(())
}

/// 20 L with 10 mg/L of magnesium from Epsom salt. One mole, 246.466 g, holds 24.305 g of Mg
/// (24.305 + 32.06 + 4·15.999 + 7·18.015), so 0.200 g of Mg need 0.2 · 246.466/24.305 = 2.0281 g;
/// on a balance with steps of 0.01 g: 2.03 g. At a purity of 98 % it is 2.0695 g: 2.07 g.
#[test]
fn a_batch_worked_by_hand() -> Fallible {
    let place = Place::new()?;
    for (purity, ideal, weighed) in [(1.0, 2.0281, 2.03), (0.98, 2.0695, 2.07)] {
        let mut wanted = place.wanted(&[(Measure::Magnesium, "10 mg/L")], &["MgSO4·7H2O"])?;
        for salt in &mut wanted.salts {
            salt.lot.purity = Fraction::new(purity);
        }
        let within = Fraction::new(0.01);
        let prices: (&[_], &ReadyProduct) = (&[], &place.ready_product);
        let report = BatchReport::new(&wanted, 20.0, within, &place.tools, &place.lab, prices)?;
        let salt = report.salts.first().ok_or("no salt")?;
        assert!((salt.g_without_steps - ideal).abs() < 1e-4, "{}", salt.g_without_steps);
        assert!((salt.g - weighed).abs() < 1e-9, "{}", salt.g);
        // The default balance weighs 2.4495 g to 1 %, and a tenth of the tolerance of 10 % may be
        // used for that; the litres are rounded up to three figures.
        let least = report.least_litres.ok_or("no least batch")?;
        let by_hand = 2.4495 / (1.01 * ideal / 20.0);
        assert!((by_hand..by_hand + 0.15).contains(&least), "{least} {by_hand}");
        assert_eq!(report.least_by.as_deref(), Some("MgSO4·7H2O"));
        // By hand: u² of the weighing (2.45 g · 0.5 %)²/2.03², purity 0.5 %/√3, volume 0.5 %/√3.
        let expanded = report.goals.first().and_then(|g| g.expanded).ok_or("no ±")?;
        let parts = [2.4495 * 0.005 / weighed, 0.005 / 3_f64.sqrt() / purity, 0.005 / 3_f64.sqrt()];
        let relative = 2.0 * parts.iter().map(|p| p * p).sum::<f64>().sqrt();
        let got = report.goals.first().and_then(|g| g.got).ok_or("nothing")?;
        assert!((expanded / got / relative - 1.0).abs() < 1e-3, "{expanded} {relative}");
    }
    Ok(())
}

#[test]
fn a_goal_out_of_reach_is_named() -> Fallible {
    let place = Place::new()?;
    // No potassium comes with these salts.
    let goals = [(Measure::Magnesium, "8 mg/L"), (Measure::Potassium, "at least 10 mg/L")];
    let wanted = place.wanted(&goals, &["MgSO4·7H2O"])?;
    let report = ConcentrateReport::new(&wanted, TO_200_G, DoseBy::Volume(4.0), &place.around())?;
    let missed: Vec<&str> = report.missed.iter().map(|m| m.measure.as_str()).collect();
    assert_eq!(missed, ["potassium"]);
    Ok(())
}
