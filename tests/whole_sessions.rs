//! Whole sessions, from the goal to the words: what is said when waters differ, and when they do not.
//!
//! A little above 400 lines: one session after the other, each a whole one.

use std::collections::BTreeMap;
use std::error::Error;

use waterflight::session::analysis::power::forecast;
use waterflight::session::analysis::recipe_scores::{never_tasted, recipe_scores};
use waterflight::session::analysis::{ModelChoice, Results, analyse};
use waterflight::session::plan::Method;
use waterflight::session::plan::Plan;
use waterflight::session::plan::session::plan;
use waterflight::session::plan::{Aim, Direction, Draw, Purpose, Seed};
use waterflight::session::plan::{Blinding, Request};
use waterflight::session::plan::{Code, Forecast};
use waterflight::session::plan::{Key, Nonce};
use waterflight::session::results::results_page::SessionResults;
use waterflight::session::score::tidy_rows::COLUMNS;
use waterflight::session::score::{
    Answer, Entry, Revealed, ScoreLog, reveal_entry, revealed, tidy_rows,
};

use crate::common::requests::{attribute, numbered, request as common_request};

type Outcome = Result<(), Box<dyn Error>>;

fn drawn(
    method: Method,
    waters: &[&str],
    tasters: usize,
    rounds: usize,
) -> Result<(Plan, Key), Box<dyn Error>> {
    drawn_with(method, waters, (tasters, rounds), None)
}

fn drawn_with(
    method: Method,
    waters: &[&str],
    (tasters, rounds): (usize, usize),
    per_tray: Option<usize>,
) -> Result<(Plan, Key), Box<dyn Error>> {
    let request = Request {
        rounds,
        per_tray,
        blinding: Blinding::Double,
        ..common_request(
            method,
            waters.iter().map(|&w| w.into()).collect(),
            numbered("taster", tasters),
        )
    };
    Ok(plan(&request, &Seed::from_phrase("whole"), &Nonce::from_phrase("nonce"))?)
}

fn add(score_log: &mut ScoreLog, entry: Entry) -> Outcome {
    let line = score_log.next_line("2031-05-04T10:00:00Z", entry)?;
    score_log.accept(line)?;
    Ok(())
}

fn body() -> Method {
    Method::Scoring { attributes: vec![attribute("body")] }
}

const WATERS: [&str; 4] = ["Soft", "Middle", "Hard", "Salty"];

/// A session in which every step between waters is worth so many points, with some noise.
fn scored(step: f64) -> Result<(Revealed, String), Box<dyn Error>> {
    let (public, key) = drawn(body(), &WATERS, 5, 2)?;
    let mut score_log = ScoreLog::new(&public);
    let mut draw = Draw::new(&Seed::from_phrase("noise"), Purpose::Labels);
    for tray in &public.trays {
        for &code in &tray.cups {
            let water = &key.cup(code).ok_or("no cup")?.water;
            let place = u32::try_from(WATERS.iter().position(|w| w == water).ok_or("no water")?)?;
            let noise = f64::from(u32::try_from(draw.below(5))?) / 2.0 - 1.0;
            let value = (3.0 + step * f64::from(place) + noise).clamp(0.0, 10.0);
            let answer = Answer::Scores {
                taster: tray.taster.clone(),
                code,
                values: [("body".to_owned(), (value * 2.0).round() / 2.0)].into(),
                note: (place == 3).then(|| "a little salty".into()),
            };
            add(&mut score_log, Entry::Answer(answer))?;
        }
    }
    let reveal = reveal_entry(&score_log, &key.to_text()?, None)?;
    add(&mut score_log, reveal)?;
    let first = public.trays.first().ok_or("no tray")?;
    let late = Answer::Scores {
        taster: first.taster.clone(),
        code: *first.cups.first().ok_or("no cup")?,
        values: [("body".to_owned(), 10.0)].into(),
        note: None,
    };
    add(&mut score_log, Entry::Late { answer: late })?;
    Ok((revealed(&score_log, &key.to_text()?)?, key.to_text()?))
}

#[test]
fn waters_that_differ_are_said_to_differ() -> Outcome {
    let (named, _) = scored(2.0)?;
    let Results::Scores(found) = analyse(&named, ModelChoice::default()) else {
        return Err("no scores".into());
    };
    let body = found.first().ok_or("no attribute")?;
    let verdict = &body.verdict;
    assert!(!verdict.cannot_tell);
    assert_eq!(verdict.headline, "body: 6 of 6 pairs of waters differ");
    // Effects with intervals come first, the highest water before the others.
    assert!(
        verdict.findings.first().is_some_and(|f| f.starts_with("Salty: ") && f.contains(" to "))
    );
    let all = Results::Scores(found);
    // Body is an intensity: the water with the most of it has not won before someone wants it.
    let journal = recipe_scores(&named, &all);
    let salty = journal.iter().find(|entry| entry.water == "Salty").ok_or("not tasted")?;
    assert!(salty.above.len() == 3 && salty.place == 1 && salty.differs_from.len() == 3);
    assert!(journal.iter().all(|entry| !entry.won));
    let least = journal.iter().find(|entry| entry.place == 4).ok_or("no fourth")?.water.clone();
    for (direction, winner) in [(Direction::More, "Salty"), (Direction::Less, least.as_str())] {
        let aim = Aim { of: "body".to_owned(), direction };
        let wanted = Revealed { wanted: Some(aim), ..named.clone() };
        for entry in recipe_scores(&wanted, &all) {
            assert_eq!(entry.won, entry.water == winner, "{direction}: {entry:?}");
            assert_eq!(entry.place == 1, entry.water == winner);
        }
    }
    let wanted = ["Soft".into(), "Rain".into(), "Rain".into()];
    assert_eq!(never_tasted(&wanted, &["Soft".into()]), ["Rain"]);
    Ok(())
}

#[test]
fn a_panel_that_cannot_tell_says_so() -> Outcome {
    let (named, _) = scored(0.0)?;
    let Results::Scores(found) = analyse(&named, ModelChoice::default()) else {
        return Err("no scores".into());
    };
    let verdict = &found.first().ok_or("no verdict")?.verdict;
    assert!(verdict.cannot_tell);
    assert!(verdict.headline.contains("this panel cannot tell the waters apart"));
    assert!(verdict.headline.contains("may be there unseen"), "{}", verdict.headline);
    Ok(())
}

/// A session of liking, wanted, in which each taster gives each water what is said, or nothing.
fn liked(
    waters: &[&str],
    tasters: usize,
    value: impl Fn(usize, &str) -> Option<f64>,
) -> Result<Revealed, Box<dyn Error>> {
    let method = Method::Scoring { attributes: vec![attribute("liking")] };
    let (public, key) = drawn(method, waters, tasters, 1)?;
    let mut score_log = ScoreLog::new(&public);
    for tray in &public.trays {
        let taster = public.tasters.iter().position(|t| *t == tray.taster).ok_or("no taster")?;
        for &code in &tray.cups {
            let Some(value) = value(taster, &key.cup(code).ok_or("no cup")?.water) else {
                continue;
            };
            let answer = Answer::Scores {
                taster: tray.taster.clone(),
                code,
                values: [("liking".to_owned(), value)].into(),
                note: None,
            };
            add(&mut score_log, Entry::Answer(answer))?;
        }
    }
    let reveal = reveal_entry(&score_log, &key.to_text()?, Some("the guests left".to_owned()))?;
    add(&mut score_log, reveal)?;
    let aim = Aim { of: "liking".to_owned(), direction: Direction::More };
    Ok(Revealed { wanted: Some(aim), ..revealed(&score_log, &key.to_text()?)? })
}

#[test]
fn no_difference_that_may_be_there_is_larger_than_is_said() -> Outcome {
    // Hard was scored by one taster only, so that its differences are known worst and are no small ones.
    let named = liked(&WATERS[..3], 4, |taster, water| match water {
        "Soft" => Some([3.0, 6.0, 4.0, 5.0].get(taster).copied()?),
        "Middle" => Some([5.0, 4.0, 6.0, 4.0].get(taster).copied()?),
        _ => (taster == 0).then_some(7.0),
    })?;
    let Results::Scores(found) = analyse(&named, ModelChoice::default()) else {
        return Err("no scores".into());
    };
    let liking = found.first().ok_or("no attribute")?;
    let model = liking.model.as_ref().map_err(ToString::to_string)?;
    let headline = &liking.verdict.headline;
    let said = headline.split("up to about ").nth(1).and_then(|rest| rest.split(' ').next());
    let said: f64 = said.ok_or_else(|| headline.clone())?.parse()?;
    for pair in &model.differences {
        let (low, high) = pair.interval;
        assert!(low.abs().max(high.abs()) <= 1.01 * said, "{pair:?}, {headline}");
    }
    Ok(())
}

#[test]
fn no_water_comes_first_where_several_share_it_or_nobody_compared_them() -> Outcome {
    let three = &WATERS[..3];
    let first = |named: &Revealed| {
        let results = SessionResults::new(named, &analyse(named, ModelChoice::default()));
        (results.leading.as_ref().map(|one| one.water.clone()), results.shared_first)
    };
    let none = (None, Vec::new());
    let shared = |waters: &[&str]| (None, waters.iter().map(|w| (*w).to_owned()).collect());
    let alike = liked(three, 4, |_, _| Some(5.0))?;
    assert_eq!(first(&alike), shared(three));
    // The same mean, from other scores.
    let tied = liked(three, 4, |taster, water| {
        let three_of = match water {
            "Soft" => [3.0, 4.0, 3.0, 3.0],
            "Middle" => [7.0, 6.0, 8.0, 7.0],
            _ => [6.0, 7.0, 7.0, 8.0],
        };
        three_of.get(taster).copied()
    })?;
    assert_eq!(first(&tied), shared(&["Middle", "Hard"]));
    // Two who score high had one water, the two others the rest.
    let apart = liked(three, 4, |taster, water| {
        ((water == "Soft") == (taster < 2)).then_some(if taster < 2 { 9.0 } else { 4.0 })
    })?;
    assert_eq!(first(&apart), none);
    // One taster who compared them has a first water, tested or not.
    let alone = liked(three, 1, |_, water| Some(if water == "Hard" { 7.0 } else { 5.0 }))?;
    assert_eq!(first(&alone), (Some("Hard".to_owned()), Vec::new()));
    Ok(())
}

#[test]
fn a_pair_that_divides_the_tasters_is_said_to_differ_with_care() -> Outcome {
    // Soft and Hard divide the tasters 8 to 2 by large differences; the rest scatters little.
    let divided = |against: usize| {
        move |taster: usize, water: &str| {
            let noise = f64::from(u32::try_from((taster * 7 + water.len()) % 3).ok()?) / 2.0 - 0.5;
            let side = if taster < against { -1.0 } else { 1.0 };
            let own = match water {
                "Soft" => 2.0 * side,
                "Hard" => -2.0 * side,
                _ => 0.0,
            };
            Some(5.0 + own + noise)
        }
    };
    for (against, cautioned) in [(2, true), (0, false)] {
        let named = liked(&WATERS, 10, divided(against))?;
        let Results::Scores(found) = analyse(&named, ModelChoice::default()) else {
            return Err("no scores".into());
        };
        let liking = found.first().ok_or("no attribute")?;
        let model = liking.model.as_ref().map_err(ToString::to_string)?;
        let clear = model.differences.iter().any(|d| (d.first, d.second) == (0, 2) && d.p <= 0.05);
        assert!(clear, "{against}: {:?}", model.differences);
        let said = liking.verdict.cautions.iter().any(|caution| {
            caution.starts_with(
                "tasters are divided on Soft and Hard: 8 of 10 put Soft above, 2 below",
            )
        });
        assert_eq!(said, cautioned, "{against}: {:?}", liking.verdict.cautions);
    }
    Ok(())
}

#[test]
fn who_did_not_answer_did_not_taste() -> Outcome {
    let named = liked(&WATERS[..2], 6, |taster, water| {
        let own = f64::from(u32::try_from(taster).ok()?) / 2.0;
        (taster < 3).then_some(own + if water == "Soft" { 3.0 } else { 6.0 - 2.0 * own })
    })?;
    let all = recipe_scores(&named, &analyse(&named, ModelChoice::default()));
    assert!(!all.is_empty());
    assert!(
        all.iter().all(|score| Some(score.tasters.as_slice()) == named.tasters.get(..3)),
        "{all:?}"
    );
    Ok(())
}

#[test]
fn late_scores_are_kept_marked_and_not_analysed() -> Outcome {
    let (named, _) = scored(2.0)?;
    assert_eq!((named.left_out.late, named.late_scores.len(), named.scores.len()), (1, 1, 40));
    let rows = tidy_rows(&named);
    assert_eq!(rows.len(), 41);
    let column = |name: &str| COLUMNS.iter().position(|c| *c == name).ok_or("no such column");
    let (unblinded, value, water, note) =
        (column("unblinded")?, column("value")?, column("water")?, column("note")?);
    let late: Vec<_> =
        rows.iter().filter(|r| r.cells.get(unblinded).is_some_and(|c| c == "true")).collect();
    assert_eq!(late.len(), 1);
    assert_eq!(late.first().and_then(|r| r.cells.get(value)).map(String::as_str), Some("10"));
    for row in &rows {
        let named_water = row.water.and_then(|w| named.waters.get(w));
        assert_eq!(named_water, row.cells.get(water));
        let salty = row.cells.get(water).is_some_and(|w| w == "Salty");
        let late = row.cells.get(unblinded).is_some_and(|c| c == "true");
        assert!(late || salty == row.cells.get(note).is_some_and(|n| n == "a little salty"));
    }
    Ok(())
}

/// A triangle session with so many right answers.
fn triangles(tasters: usize, right: usize) -> Result<Results, Box<dyn Error>> {
    let (public, key) = drawn(Method::Triangle, &["Soft", "Hard"], tasters, 1)?;
    let mut score_log = ScoreLog::new(&public);
    for (at, tray) in public.trays.iter().enumerate() {
        let water = |code| key.cup(code).map(|cup| cup.water.clone());
        let odd = |code: &&_| tray.cups.iter().filter(|c| water(**c) == water(**code)).count() == 1;
        let chosen = tray.cups.iter().find(|code| odd(code) == (at < right)).ok_or("no cup")?;
        let (taster, number) = (tray.taster.clone(), tray.number);
        let answer = Answer::Choice { taster, tray: number, chosen: vec![*chosen], note: None };
        add(&mut score_log, Entry::Answer(answer))?;
    }
    let reveal = reveal_entry(&score_log, &key.to_text()?, None)?;
    add(&mut score_log, reveal)?;
    Ok(analyse(&revealed(&score_log, &key.to_text()?)?, ModelChoice::default()))
}

#[test]
fn a_triangle_is_judged_exactly_and_spoken_of_with_care() -> Outcome {
    let Results::Choices(found) = triangles(6, 5)? else { return Err("no choices".into()) };
    let (pair, verdict) = found.first().ok_or("no pair")?;
    // 13/729: five or more right of six at chance one third.
    assert!((pair.result.p - 13.0 / 729.0).abs() < 1e-12);
    assert!(verdict.headline.starts_with("Soft and Hard differ"));
    assert!(verdict.cautions.iter().any(|c| c.contains("people in general")));

    let Results::Choices(found) = triangles(6, 3)? else { return Err("no choices".into()) };
    let (pair, verdict) = found.first().ok_or("no pair")?;
    assert!(verdict.cannot_tell && verdict.headline.contains("does not show them to be alike"));
    // Six triangles find half who can tell about one time in three.
    assert!((pair.result.power_for_half - 0.35).abs() < 0.005, "{}", pair.result.power_for_half);
    Ok(())
}

#[test]
fn a_water_that_always_wins_has_a_strength_without_limit() -> Outcome {
    let (public, key) = drawn(Method::Ranking { criterion: "liking".into() }, &WATERS, 4, 1)?;
    let mut score_log = ScoreLog::new(&public);
    for (at, tray) in public.trays.iter().enumerate() {
        let mut order = tray.cups.clone();
        order.sort_by_key(|&code| {
            let water = key.cup(code).map(|cup| cup.water.clone()).unwrap_or_default();
            let place = WATERS.iter().position(|w| *w == water).unwrap_or(0);
            // The first water always wins; the others take turns.
            if place == 0 { 0 } else { 1 + (place + at) % 3 }
        });
        let (taster, tray) = (tray.taster.clone(), tray.number);
        add(&mut score_log, Entry::Answer(Answer::Ranking { taster, tray, order, note: None }))?;
    }
    let reveal = reveal_entry(&score_log, &key.to_text()?, None)?;
    add(&mut score_log, reveal)?;
    let found = analyse(&revealed(&score_log, &key.to_text()?)?, ModelChoice::default());
    let Results::Ranking(ranking) = found else { return Err("no ranking".into()) };
    let strengths = ranking.strengths?;
    assert!(strengths.penalised && strengths.never_beaten == [0]);
    let verdict = ranking.verdict;
    assert!(
        verdict
            .cautions
            .iter()
            .any(|c| c.contains("Soft always won") && c.contains("no upper limit"))
    );
    let test = ranking.ranks.ok_or("no test")?;
    assert!(test.p_exact.is_some());
    Ok(())
}

/// Three people who each keep to a taste of their own, asked four times: three tasters and not twelve,
/// whatever stands on a tray.
#[test]
fn a_taster_ranking_again_is_no_further_taster() -> Outcome {
    let tastes = [
        ["Soft", "Middle", "Hard", "Salty"],
        ["Soft", "Salty", "Middle", "Hard"],
        ["Salty", "Middle", "Soft", "Hard"],
    ];
    for per_tray in [None, Some(3)] {
        let method = Method::Ranking { criterion: "liking".into() };
        let (public, key) = drawn_with(method, &WATERS, (3, 4), per_tray)?;
        let planned = forecast(&public, &key, &BTreeMap::new());
        assert!(matches!(planned, Forecast::Ranking { blocks: 3, .. }), "{planned:?}");
        let mut score_log = ScoreLog::new(&public);
        for tray in &public.trays {
            let taster = public.tasters.iter().position(|name| *name == tray.taster);
            let taste = taster.and_then(|taster| tastes.get(taster)).ok_or("no taste")?;
            let place = |code: &Code| {
                let water = key.cup(*code).map(|cup| cup.water.as_str());
                taste.iter().position(|name| Some(*name) == water)
            };
            let mut order = tray.cups.clone();
            order.sort_by_key(place);
            let (taster, tray) = (tray.taster.clone(), tray.number);
            let answer = Answer::Ranking { taster, tray, order, note: None };
            add(&mut score_log, Entry::Answer(answer))?;
        }
        let reveal = reveal_entry(&score_log, &key.to_text()?, None)?;
        add(&mut score_log, reveal)?;
        let named = revealed(&score_log, &key.to_text()?)?;
        let Results::Ranking(found) = analyse(&named, ModelChoice::default()) else {
            return Err("no ranking".into());
        };
        assert!(found.verdict.cannot_tell, "{per_tray:?}: {}", found.verdict.headline);
        let test = found.ranks.ok_or("no test")?;
        assert!(test.blocks == 3 && test.complete && test.p() > 0.2, "{test:?}");
    }
    Ok(())
}
