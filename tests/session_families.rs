//! More attributes and more tasters are no more chances to see what is not there: sessions drawn by
//! chance, beside the same rates from another program.

use std::error::Error;

use waterflight::numerics::normal_quantile;
use waterflight::session::analysis::ModelChoice;
use waterflight::session::analysis::design::Wanted;
use waterflight::session::analysis::repeatability::OutlierFlag;
use waterflight::session::analysis::test_family::selected;
use waterflight::session::analysis::{AttributeResults, Tested, family_results};
use waterflight::session::analysis::{Observation, ScoreTable};
use waterflight::session::plan::{Draw, Purpose, Seed};
use waterflight::session::results::score_numbers::ScoreNumbers;

type Outcome = Result<(), Box<dyn Error>>;

/// Normal numbers that are the same in every run.
struct Normal(Draw);

impl Normal {
    fn new(phrase: &str) -> Self {
        Self(Draw::new(&Seed::from_phrase(phrase), Purpose::Forecast))
    }

    fn next(&mut self) -> f64 {
        const STEPS: u32 = 1 << 30;
        let drawn = u32::try_from(self.0.below(1 << 30)).unwrap_or(0);
        normal_quantile((f64::from(drawn) + 0.5) / f64::from(STEPS))
    }
}

/// One attribute: `step` points from water to water, tasters who use the scale higher or lower, and
/// noise of tastes and cups alike; `own` changes what a taster gives.
fn attribute(
    normal: &mut Normal,
    name: &str,
    (tasters, waters, rounds): (usize, usize, usize),
    step: f64,
    own: impl Fn(usize, f64, f64) -> f64,
) -> ScoreTable {
    let mut rows = Vec::new();
    for taster in 0..tasters {
        let level = normal.next();
        for water in 0..waters {
            let taste = 0.7 * normal.next();
            let place = u32::try_from(water).map_or(0.0, f64::from);
            for round in 1..=rounds {
                let noise = level + taste + 0.7 * normal.next();
                let value = 5.0 + own(taster, step * place, noise);
                let position = (water + taster + round) % waters + 1;
                rows.push(Observation { taster, water, round, position, previous: None, value });
            }
        }
    }
    ScoreTable {
        attribute: name.to_owned(),
        tasters: (0..tasters).map(|n| format!("taster {n}")).collect(),
        waters: (0..waters).map(|n| format!("water {n}")).collect(),
        rows,
        missing: 0,
    }
}

fn seven(normal: &mut Normal, size: (usize, usize, usize), steps: [f64; 7]) -> Vec<ScoreTable> {
    let names = ["a", "b", "c", "d", "e", "f", "g"];
    let each = names.into_iter().zip(steps);
    each.map(|(name, step)| attribute(normal, name, size, step, |_, wanted, noise| wanted + noise))
        .collect()
}

fn says_differ(one: &AttributeResults) -> bool {
    !one.verdict.cannot_tell
}

fn marks(found: &[AttributeResults]) -> usize {
    found.iter().flat_map(|one| &one.panel.tasters).map(|taster| taster.marks.len()).sum()
}

/// Seven attributes of pure noise. By themselves they would say that waters differ in three sessions of
/// ten (`families` of the oracle), and tasters were named in every second one.
#[test]
fn seven_attributes_of_noise_rarely_say_that_waters_differ() -> Outcome {
    const SESSIONS: usize = 240;
    let oracle: serde_json::Value =
        serde_json::from_str(include_str!("oracle/session_power.json"))?;
    let rate =
        |key: &str| oracle.pointer(&format!("/families/{key}")).and_then(serde_json::Value::as_f64);
    assert!(rate("alone").ok_or("no rate")? > 0.25 && rate("together").ok_or("no rate")? <= 0.055);
    let mut normal = Normal::new("seven attributes of noise");
    let (mut wrong, mut named, mut alone) = (0, 0, 0);
    for session in 0..SESSIONS {
        let rounds = 1 + session % 2;
        let tables = seven(&mut normal, (5, 4, rounds), [0.0; 7]);
        let found = family_results(tables, ModelChoice::default(), None);
        wrong += usize::from(found.iter().any(says_differ));
        named += usize::from(marks(&found) > 0);
        // What each would have said by itself.
        let by_itself = |one: &AttributeResults| {
            let share = one.tested.share();
            let pairs = one.model.iter().flat_map(|model| &model.differences);
            pairs.map(|d| d.p * share).any(|p| p <= 0.05)
        };
        alone += usize::from(found.iter().any(by_itself));
        for one in &found {
            let differing = found.iter().filter(|one| says_differ(one)).count();
            assert_eq!(one.tested, Tested::Together { attributes: 7, differing });
            // Headline, pairs and intervals say the same.
            for pair in one.model.iter().flat_map(|model| &model.differences) {
                let outside = pair.interval.0 > 0.0 || pair.interval.1 < 0.0;
                assert!((pair.p - 0.05).abs() < 1e-6 || outside == (pair.p < 0.05), "{pair:?}");
            }
        }
    }
    // 5 % of 240 is 12; three standard deviations of that count are 10.
    assert!(wrong <= 22, "{wrong} of {SESSIONS} sessions see a difference that is not there");
    assert!(named <= 12, "{named} of {SESSIONS} sessions name a taster");
    assert!(alone > 48, "the check has lost its teeth: {alone} of {SESSIONS}");
    Ok(())
}

/// Where the waters of three attributes differ a great deal, few of the other four are said to.
#[test]
fn of_the_attributes_said_to_differ_few_are_false() {
    const SESSIONS: usize = 80;
    let mut normal = Normal::new("three of seven");
    let (mut right, mut false_share) = (0, 0.0);
    for _ in 0..SESSIONS {
        let tables = seven(&mut normal, (5, 4, 1), [4.0, 4.0, 4.0, 0.0, 0.0, 0.0, 0.0]);
        let found = family_results(tables, ModelChoice::default(), None);
        let said: Vec<bool> = found.iter().map(says_differ).collect();
        let count = |said: &[bool]| said.iter().filter(|said| **said).count();
        let (truly, falsely) = said.split_at(3);
        right += count(truly);
        let (falsely, all) = (count(falsely), count(&said).max(1));
        let part = |n: usize| u32::try_from(n).map_or(0.0, f64::from);
        false_share += part(falsely) / part(all) / 80.0;
    }
    assert!(right > 3 * SESSIONS - 8, "{right}");
    assert!(false_share <= 0.07, "{false_share}");
    assert_eq!(selected(&[]), 0);
}

#[test]
fn the_attribute_named_beforehand_is_tested_and_the_others_are_described() -> Outcome {
    const SESSIONS: usize = 200;
    let mut normal = Normal::new("named beforehand");
    let mut wrong = 0;
    for _ in 0..SESSIONS {
        let tables = seven(&mut normal, (4, 3, 1), [0.0, 9.0, 0.0, 0.0, 0.0, 0.0, 0.0]);
        let found = family_results(tables, ModelChoice::default(), Some("a"));
        let (primary, others) = found.split_first().ok_or("nothing")?;
        assert_eq!(primary.tested, Tested::Alone);
        wrong += usize::from(says_differ(primary));
        for other in others {
            // Not even waters nine points apart are said to differ where nobody asked.
            assert!(other.tested == Tested::Described && !says_differ(other), "{other:?}");
            let model = other.model.as_ref().map_err(|error| *error)?;
            assert!(model.differences.iter().all(|pair| pair.p >= 1.0));
            assert!(model.means.iter().all(|mean| mean.interval.0 < mean.interval.1));
            let verdict = &other.verdict;
            assert!(verdict.headline.contains("described, not tested"), "{}", verdict.headline);
        }
    }
    // 10 expected, standard deviation 3.1.
    assert!((2..=19).contains(&wrong), "{wrong} of {SESSIONS}");
    Ok(())
}

/// Tasters who all follow are rarely named although the waters differ; one who scores the other way
/// round is.
#[test]
fn a_taster_is_named_for_a_reason() {
    const SESSIONS: usize = 60;
    let mut normal = Normal::new("who follows");
    let (mut wrongly, mut found_out, mut others) = (0, 0, 0);
    for _ in 0..SESSIONS {
        let size = (5, 4, 2);
        let follow = attribute(&mut normal, "body", size, 3.0, |_, wanted, noise| wanted + noise);
        let found = family_results(vec![follow], ModelChoice::default(), None);
        wrongly += marks(&found);
        let against = attribute(&mut normal, "body", size, 3.0, |taster, wanted, noise| {
            if taster == 2 { 9.0 - wanted + noise } else { wanted + noise }
        });
        let found = family_results(vec![against], ModelChoice::default(), None);
        let marked = |taster: usize| {
            let check = found.first().and_then(|one| one.panel.tasters.get(taster));
            check.is_some_and(|check| check.marks.contains(&OutlierFlag::AgainstTheOthers))
        };
        found_out += usize::from(marked(2));
        others += (0..5).filter(|taster| *taster != 2 && marked(*taster)).count();
    }
    assert!(wrongly <= 7, "{wrongly} marks in {SESSIONS} sessions in which everyone follows");
    assert!(found_out >= 30 && others <= 3, "{found_out}, {others}");
}

/// Place effects that nobody asked to be corrected for are looked at, allow for their number, and leave
/// the means as they were scored.
#[test]
fn places_are_looked_at_without_moving_a_mean() -> Outcome {
    let mut normal = Normal::new("places");
    let mut seen = 0;
    for _ in 0..60 {
        let tables = seven(&mut normal, (6, 4, 2), [0.0; 7]);
        let found = family_results(tables, ModelChoice::default(), None);
        for one in &found {
            let model = one.model.as_ref().map_err(|error| *error)?;
            assert!(model.means.iter().all(|mean| (mean.mean - mean.raw).abs() < 1e-9));
            assert!(one.terms.iter().all(|term| !term.corrected));
            assert!(one.terms.iter().any(|term| term.p.is_some()));
        }
        let terms = found.iter().flat_map(|one| &one.terms);
        seen += usize::from(terms.filter_map(|term| term.p).any(|p| p <= 0.05));
    }
    assert!(seen <= 9, "{seen} of 60 sessions see an effect of places that is not there");
    Ok(())
}

/// The columns say what they are: raw means, or raw and adjusted means and for what.
#[test]
fn means_say_whether_they_are_raw_or_adjusted() -> Outcome {
    let mut normal = Normal::new("columns");
    let follow = |_: usize, wanted: f64, noise: f64| wanted + noise;
    let complete = attribute(&mut normal, "body", (4, 4, 2), 1.0, follow);
    let mut gaps = complete.clone();
    gaps.rows.truncate(gaps.rows.len() - 3);
    let place = ModelChoice { order: Wanted::Yes, ..ModelChoice::default() };
    for (table, choice, wanted) in [
        (complete.clone(), ModelChoice::default(), vec![]),
        (complete, place, vec!["place on the tray"]),
        (gaps.clone(), ModelChoice::default(), vec!["who scored what"]),
        (gaps, place, vec!["who scored what", "place on the tray"]),
    ] {
        let found = family_results(vec![table.clone()], choice, None);
        let numbers = ScoreNumbers::new(found.first().ok_or("nothing")?);
        assert_eq!(numbers.means_adjusted_for, wanted);
        for mean in &numbers.means {
            let at = table.waters.iter().position(|water| *water == mean.water);
            let own: Vec<f64> =
                table.rows.iter().filter(|r| Some(r.water) == at).map(|r| r.value).collect();
            let cups = u32::try_from(own.len()).map_or(1.0, f64::from);
            assert!((mean.raw_mean - own.iter().sum::<f64>() / cups).abs() < 1e-9);
            assert!(!wanted.is_empty() || (mean.raw_mean - mean.mean).abs() < 1e-9);
        }
    }
    Ok(())
}
