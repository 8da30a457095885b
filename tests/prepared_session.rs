//! From a goal to the pourer's sheet: what is said beforehand, what is poured, who may see what.

use std::collections::BTreeMap;
use std::error::Error;

use waterflight::quantities::{Litres, Millilitres, MillilitresPerLitre};
use waterflight::session::analysis::power::forecast;
use waterflight::session::plan::DosedWater;
use waterflight::session::plan::Plan;
use waterflight::session::plan::method::starter_attributes;
use waterflight::session::plan::preparation::{Margin, StockLine, prepare};
use waterflight::session::plan::session::plan;
use waterflight::session::plan::solo::{OpenPage, Role, procedure};
use waterflight::session::plan::{AssumedScatter, Forecast, ScoreDesign};
use waterflight::session::plan::{Blinding, Brewing, Duplicates, Request, Serving};
use waterflight::session::plan::{CodeScope, Seed};
use waterflight::session::plan::{DuoTrioReference, Method, Question};
use waterflight::session::plan::{Key, Nonce};

use crate::common::requests::{numbered, request as common_request};

type Outcome = Result<(), Box<dyn Error>>;

fn request(method: Method, tasters: usize, rounds: usize) -> Request {
    Request {
        question: Question::HowDoTheyDiffer.words().into(),
        rounds,
        serving: Serving { cup_ml: 30.0, served_c: Some(55.0), brewing: None, notes: vec![] },
        ..common_request(
            method,
            vec!["Soft".into(), "Hard".into(), "Magnesium".into()],
            numbered("taster", tasters),
        )
    }
}

fn drawn(request: &Request) -> Result<(Plan, Key), Box<dyn Error>> {
    Ok(plan(request, &Seed::from_phrase("prepared"), &Nonce::from_phrase("nonce"))?)
}

fn doses() -> Vec<DosedWater> {
    let dosed = |water: &str, doses: &[(&str, f64)]| DosedWater {
        water: water.into(),
        doses: doses
            .iter()
            .map(|&(stock, ml)| (stock.into(), MillilitresPerLitre::new(ml)))
            .collect(),
        base: vec![("rain".into(), 0.75), ("well".into(), 0.25)],
    };
    vec![
        dosed("Soft", &[("bicarb", 2.0)]),
        dosed("Hard", &[("bicarb", 4.0), ("calcium", 10.0)]),
        dosed("Magnesium", &[("epsom", 8.0)]),
    ]
}

fn scoring() -> Method {
    Method::Scoring { attributes: starter_attributes() }
}

#[test]
fn the_sheet_adds_up() -> Outcome {
    let mut wanted = request(scoring(), 4, 2);
    wanted.duplicates = Duplicates::Named(vec!["Hard".into()]);
    wanted.reference = Some("Soft".into());
    wanted.warm_up = Some("Soft".into());
    let (public, key) = drawn(&wanted)?;
    let left =
        [("bicarb".to_owned(), Millilitres::new(3.0)), ("epsom".into(), Millilitres::new(50.0))];
    let sheet = prepare(&public, &key, &doses(), &left, Margin::of(0.25), &[]);
    // 8 trays: Soft once scored, once as reference, once to warm up; Hard twice.
    let cups: Vec<(&str, usize, usize)> =
        sheet.bottles.iter().map(|b| (b.water.as_str(), b.cups, b.named_cups)).collect();
    assert_eq!(cups, [("Soft", 24, 16), ("Hard", 16, 0), ("Magnesium", 8, 0)]);
    for bottle in &sheet.bottles {
        let poured: usize = bottle.codes.iter().map(|code| code.cups).sum();
        assert_eq!(poured + bottle.named_cups, bottle.cups);
        // One code for each round, and two for the water that is hidden twice.
        assert_eq!(bottle.codes.len(), if bottle.water == "Hard" { 4 } else { 2 });
    }
    // 16 coded cups of each water, as Hard has them, and the 16 named ones of Soft: 64 cups of 30 mL and
    // a quarter spare.
    assert!((sheet.water.value() - 64.0 * 0.030 * 1.25).abs() < 1e-12);
    let stock = |name: &str| sheet.stocks.iter().find(|line| line.stock == name);
    // Soft 1.2 L × 2 mL/L + Hard 0.6 L × 4 mL/L
    let bicarb = stock("bicarb").ok_or("no bicarb")?;
    assert!((bicarb.needed.value() - (1.2 * 2.0 + 0.6 * 4.0)).abs() < 1e-12);
    let missing = bicarb.missing().ok_or("nothing missing")?;
    assert!((missing.value() - 1.8).abs() < 1e-12);
    assert_eq!(stock("epsom").and_then(StockLine::missing), None);
    // What is left of it is not known, so nothing is claimed.
    assert_eq!(stock("calcium").and_then(StockLine::missing), None);
    assert!(sheet.without_doses.is_empty());
    // Three quarters of 2.4 L, and what goes into the bottle of Hard alone.
    let rain = sheet.base.iter().find(|(name, _)| name == "rain").ok_or("no rain")?;
    assert!((rain.1.value() - 0.75 * 2.4).abs() < 1e-12);
    let hard = sheet.bottles.iter().find(|b| b.water == "Hard").ok_or("no bottle")?;
    assert!(hard.doses.iter().any(|(s, ml)| s == "calcium" && (ml.value() - 6.0).abs() < 1e-12));
    assert_eq!(sheet.seal, public.seal);
    // Three quarters of a litre at least: Soft stays at its 1.2 L.
    let margin = Margin { share: 0.25, least: Litres::new(0.75) };
    let sheet = prepare(&public, &key, &doses(), &left, margin, &[]);
    let litres: Vec<f64> = sheet.bottles.iter().map(|b| b.with_spare.value()).collect();
    assert!(litres.iter().zip([1.2, 0.75, 0.75]).all(|(a, b)| (a - b).abs() < 1e-12), "{litres:?}");
    Ok(())
}

#[test]
fn a_brew_gives_whole_cups() -> Outcome {
    let mut wanted = request(scoring(), 4, 2);
    wanted.serving.brewing = Some(Brewing {
        what: "coffee".into(),
        dose_g: 15.0,
        water_ml: 250.0,
        water_c: 94.0,
        yield_ml: 90.0,
    });
    let (public, key) = drawn(&wanted)?;
    let sheet = prepare(&public, &key, &doses(), &[], Margin::of(0.0), &[]);
    // Three cups of 30 mL to a brew; four cups a round need two brews, in each of two rounds.
    assert!(sheet.bottles.iter().all(|bottle| bottle.brews_by_round == [2, 2]));
    assert!((sheet.water.value() - 3.0 * 4.0 * 0.250).abs() < 1e-12);
    assert!(sheet.brewed_g.is_some_and(|g| (g - 12.0 * 15.0).abs() < 1e-12));
    let brewing = public.serving.brewing.ok_or("not recorded")?;
    assert!((brewing.ratio() - 250.0 / 15.0).abs() < 1e-12);
    Ok(())
}

#[test]
fn alone_every_sticker_is_poured_once_and_named_by_tray() -> Outcome {
    let mut wanted = request(Method::Triangle, 1, 4);
    wanted.waters.pop();
    wanted.blinding = Blinding::Solo;
    let (public, key) = drawn(&wanted)?;
    let sheet = prepare(&public, &key, &[], &[], Margin::of(0.1), &[]);
    let stickers: Vec<_> = sheet.bottles.iter().flat_map(|bottle| &bottle.codes).collect();
    assert_eq!(stickers.len(), 12);
    assert!(stickers.iter().all(|code| code.cups == 1));
    for number in 1..=4 {
        let tray = format!("tray {number}");
        let on_tray = stickers
            .iter()
            .filter(|c| c.whose.as_ref().is_some_and(|whose| whose.ends_with(&tray)));
        assert_eq!(on_tray.count(), 3);
    }
    assert_eq!(sheet.without_doses, ["Soft", "Hard"]);
    Ok(())
}

#[test]
fn the_reference_of_a_duo_trio_is_marked() -> Outcome {
    let mut wanted = request(Method::DuoTrio { reference: DuoTrioReference::Balanced }, 4, 1);
    wanted.waters.pop();
    let (public, key) = drawn(&wanted)?;
    let sheet = prepare(&public, &key, &[], &[], Margin::of(0.0), &[]);
    for bottle in &sheet.bottles {
        // Each water is held up for half of the tasters and stands once on every tray.
        assert_eq!(bottle.codes.iter().filter(|code| code.reference).count(), 2);
        assert_eq!(bottle.cups, 6);
    }
    assert_eq!(public.codes, CodeScope::PerTaster);
    Ok(())
}

#[test]
fn only_the_pourer_sees_the_pouring_sheet() -> Outcome {
    for blinding in [Blinding::Pourer, Blinding::Double] {
        let mut wanted = request(scoring(), 3, 2);
        wanted.blinding = blinding;
        wanted.warm_up = Some("Soft".into());
        wanted.break_after = Some(6);
        let steps = procedure(&drawn(&wanted)?.0);
        for step in &steps {
            assert!(
                step.sees != OpenPage::PouringSheet || step.who == Role::Pourer,
                "{}",
                step.what
            );
        }
        assert_eq!(blinding == Blinding::Double, steps.iter().any(|step| step.who == Role::Server));
    }
    let mut alone = request(scoring(), 1, 1);
    alone.blinding = Blinding::Solo;
    let steps = procedure(&drawn(&alone)?.0);
    // Alone, the sheet is closed before the shuffle and never opened again.
    let closed = steps.iter().position(|step| step.what.contains("face down")).ok_or("no")?;
    let shuffled = steps.iter().position(|step| step.what.contains("Shuffle")).ok_or("no")?;
    let last = steps.iter().rposition(|step| step.sees == OpenPage::PouringSheet).ok_or("no")?;
    assert!(last < closed && closed < shuffled);
    Ok(())
}

#[test]
fn smallest_differences_agree_with_other_programs() -> Outcome {
    let noise = AssumedScatter { cup: 0.9, taste: 1.2 };
    let pair = |tasters| ScoreDesign { waters: 2, tasters, rounds: 1, per_tray: 2 };
    // statsmodels 0.15.0, TTestPower: effect found with power 0.8 at 0.05, times √(2(1.2² + 0.9²)).
    for (tasters, wanted) in [(4, 4.514_062), (8, 2.452_321), (12, 1.885_121)] {
        let found = pair(tasters).smallest_difference(noise, 0.05, 0.8).ok_or("none")?;
        assert!((found - wanted).abs() < 1e-5, "{tasters}: {found}");
    }
    // scipy 1.17.1: non-central t beyond Tukey's critical value, 28 degrees of freedom.
    let five = ScoreDesign { waters: 5, tasters: 8, rounds: 2, per_tray: 5 };
    assert_eq!(five.degrees(), 28);
    let found = five.smallest_difference(noise, 0.05, 0.8).ok_or("none")?;
    assert!((found - 2.573_915).abs() < 1e-5, "{found}");
    // More tasters find less; the number found is the first that does.
    let needed = five.tasters_needed(1.5, noise, (0.05, 0.8), 200).ok_or("never")?;
    let with = |tasters| ScoreDesign { tasters, ..five }.smallest_difference(noise, 0.05, 0.8);
    assert!(with(needed).is_some_and(|d| d <= 1.5) && with(needed - 1).is_some_and(|d| d > 1.5));
    // A single cup of each water leaves nothing to judge by.
    assert_eq!(pair(1).smallest_difference(noise, 0.05, 0.8), None);
    Ok(())
}

#[test]
fn what_the_panel_can_find_is_said_beforehand() -> Outcome {
    let (public, key) = drawn(&request(scoring(), 6, 2))?;
    let Forecast::Scores { attributes, degrees, one_taster } =
        forecast(&public, &key, &BTreeMap::new())
    else {
        return Err("no forecast of scores".into());
    };
    assert_eq!((attributes.len(), degrees, one_taster), (7, 10, false));
    assert!(attributes.iter().all(|found| found.smallest.is_some_and(|d| d > 0.0)));

    let mut wanted = request(Method::Tetrad, 6, 1);
    wanted.waters.pop();
    let (public, key) = drawn(&wanted)?;
    let Forecast::Choice { answers, least_right, smallest_discriminators, .. } =
        forecast(&public, &key, &BTreeMap::new())
    else {
        return Err("no forecast of choices".into());
    };
    assert_eq!((answers, least_right), (6, Some(5)));
    // Six tasters find only what most can tell.
    assert!(smallest_discriminators.is_some_and(|share| share > 0.7 && share < 1.0));

    let (public, key) = drawn(&request(Method::Ranking { criterion: "liking".into() }, 2, 1))?;
    let Forecast::Ranking { smallest_p, apart, .. } = forecast(&public, &key, &BTreeMap::new())
    else {
        return Err("no forecast of rankings".into());
    };
    // Two tasters who agree on three waters: one chance in six, never significant.
    assert!((smallest_p - 1.0 / 6.0).abs() < 1e-12);
    assert_eq!(apart, None);
    Ok(())
}
