//! A planned session: the same everywhere, secret where it must be, verifiable afterwards.
//!
//! Above 400 lines: the laws of one plan on the same random requests.

use std::collections::{BTreeMap, BTreeSet};
use std::error::Error;

use proptest::prelude::*;
use waterflight::session::analysis::Ranked;
use waterflight::session::analysis::power::forecast;
use waterflight::session::analysis::ranked::places;
use waterflight::session::analysis::ranks::rank_test;
use waterflight::session::plan::key::{open, seal};
use waterflight::session::plan::least_p::least_p;
use waterflight::session::plan::method::starter_attributes;
use waterflight::session::plan::ranking_blocks::{RankingBlock, ranking_blocks};
use waterflight::session::plan::session::{plan, verify};
use waterflight::session::plan::solo::procedure;
use waterflight::session::plan::{Blinding, CodeScope, Duplicates, Request, RequestError, Serving};
use waterflight::session::plan::{Code, Forecast, Seed};
use waterflight::session::plan::{DuoTrioReference, Method, Sides};
use waterflight::session::plan::{Key, KeyError, Nonce};
use waterflight::session::plan::{Plan, Verified};
use waterflight::session::serve::sheets::cautions;

use crate::common::requests::{numbered, request as common_request};

fn request(method: Method, waters: usize, tasters: usize, rounds: usize) -> Request {
    Request {
        rounds,
        serving: Serving { cup_ml: 30.0, served_c: Some(60.0), brewing: None, notes: vec![] },
        ..common_request(
            method,
            (0..waters).map(|n| format!("water-{n}-{}", n * 7)).collect(),
            numbered("taster", tasters),
        )
    }
}

fn scoring() -> Method {
    Method::Scoring { attributes: starter_attributes() }
}

fn methods() -> impl Strategy<Value = Method> {
    prop_oneof![
        Just(scoring()),
        Just(Method::Ranking { criterion: "liking".into() }),
        Just(Method::Triangle),
        Just(Method::DuoTrio { reference: DuoTrioReference::Balanced }),
        Just(Method::DuoTrio { reference: DuoTrioReference::Constant }),
        Just(Method::Paired { criterion: "sweetness".into(), sides: Sides::Two }),
        Just(Method::Tetrad),
    ]
}

fn requests() -> impl Strategy<Value = Request> {
    (methods(), 2_usize..7, 1_usize..7, 1_usize..4, 0_usize..3, any::<bool>(), any::<bool>())
        .prop_map(|(method, waters, tasters, rounds, doubled, alone, own_codes)| {
            let mut wanted = request(method, waters, tasters, rounds);
            if wanted.method.compares_two() {
                wanted.waters.truncate(3);
            } else {
                wanted.duplicates = Duplicates::Drawn(doubled.min(waters));
                wanted.reference = wanted.waters.first().cloned();
            }
            wanted.break_after = Some(3);
            wanted.warm_up = Some("house water".into());
            if alone {
                wanted.blinding = Blinding::Solo;
                wanted.tasters.truncate(1);
            } else if own_codes {
                wanted.codes = Some(CodeScope::PerTaster);
            }
            wanted
        })
}

fn planned(request: &Request, phrase: &str) -> Result<(Plan, Key), RequestError> {
    let nonce = Nonce::from_hex(&"07".repeat(32)).unwrap_or_else(|_| Nonce::from_phrase("none"));
    plan(request, &Seed::from_phrase(phrase), &nonce)
}

proptest! {
    #![proptest_config(crate::common::cases(60))]

    #[test]
    fn plan_and_key_come_again_and_verify(wanted in requests(), phrase in "[a-z]{6}") {
        let (public, key) = planned(&wanted, &phrase)?;
        prop_assert_eq!(planned(&wanted, &phrase), Ok((public.clone(), key.clone())));
        let back = Plan::from_text(&public.to_text()?);
        prop_assert_eq!(back.as_ref(), Ok(&public));
        prop_assert_eq!(verify(&public, &key.to_text()?), Ok((key, Verified::DrawnAgain)));
    }

    #[test]
    fn the_plan_betrays_nothing(wanted in requests(), phrase in "[a-z]{6}") {
        let (public, key) = planned(&wanted, &phrase)?;
        let text = public.to_text()?;
        for secret in wanted.waters.iter().chain([&key.seed, &key.nonce, &"house water".to_owned()]) {
            prop_assert!(!text.contains(secret.as_str()), "{secret}");
        }
        // The waters in another order change the key and its seal, and nothing else of the plan:
        // so nothing in the plan can tell which water stands where.
        let mut turned = wanted.clone();
        turned.waters.reverse();
        turned.reference = wanted.reference.as_ref().and(turned.waters.first().cloned());
        let (mut other, _) = planned(&turned, &phrase)?;
        other.seal.clone_from(&public.seal);
        prop_assert_eq!(other, public);
    }

    #[test]
    fn codes_are_never_used_twice_for_different_cups(wanted in requests(), phrase in "[a-z]{6}") {
        let (public, key) = planned(&wanted, &phrase)?;
        let sealed: BTreeSet<Code> = key.cups.iter().map(|cup| cup.code).collect();
        prop_assert_eq!(sealed.len(), key.cups.len());
        for tray in &public.trays {
            let mut on_tray: BTreeSet<Code> = tray.cups.iter().copied().collect();
            on_tray.extend(tray.reference);
            prop_assert_eq!(on_tray.len(), tray.cups.len() + usize::from(tray.reference.is_some()));
            let alone = wanted.blinding == Blinding::Solo;
            prop_assert!(tray.cups.iter().all(|code| sealed.contains(code) != alone));
        }
        if wanted.blinding == Blinding::Solo || public.codes == CodeScope::PerTaster {
            let cups: Vec<Code> = public.trays.iter().flat_map(|t| t.cups.clone()).collect();
            let distinct: BTreeSet<Code> = cups.iter().copied().collect();
            prop_assert_eq!(distinct.len(), cups.len());
        }
        // One taster never meets a code again, or a duplicate would be known by it.
        for taster in &public.tasters {
            let cups: Vec<Code> =
                public.trays_of(taster).flat_map(|tray| tray.cups.clone()).collect();
            let distinct: BTreeSet<Code> = cups.iter().copied().collect();
            prop_assert_eq!(distinct.len(), cups.len());
        }
    }

    #[test]
    fn a_changed_key_or_plan_is_found_out(wanted in requests(), at in any::<prop::sample::Index>()) {
        let (public, key) = planned(&wanted, "sealed")?;
        let text = key.to_text()?;
        let mut bytes = text.clone().into_bytes();
        let place = at.index(bytes.len());
        if let Some(byte) = bytes.get_mut(place) {
            *byte = if *byte == b'1' { b'2' } else { b'1' };
        }
        let changed = String::from_utf8(bytes)?;
        let broken = matches!(verify(&public, &changed), Err(KeyError::SealBroken { .. }));
        prop_assert!(broken, "byte {place}");
        let mut moved = public.clone();
        if let Some(tray) = moved.trays.first_mut() {
            tray.cups.reverse();
        }
        let found_out = matches!(verify(&moved, &text), Err(KeyError::OtherPlan { .. }));
        prop_assert!(found_out);
    }
}

#[test]
fn every_taster_gets_every_water_and_its_duplicate() -> Result<(), Box<dyn Error>> {
    let mut wanted = request(scoring(), 5, 6, 2);
    wanted.duplicates = Duplicates::Named(vec!["water-3-21".into()]);
    let (public, key) = planned(&wanted, "all")?;
    assert_eq!(public.cups_per_tray, 6);
    for tray in &public.trays {
        let mut waters: Vec<(String, usize)> = Vec::new();
        for code in &tray.cups {
            let cup = key.cup(*code).ok_or("a code that is not in the key")?;
            assert_eq!(cup.round, tray.round);
            waters.push((cup.water.clone(), cup.copy));
        }
        waters.sort();
        let mut all: Vec<(String, usize)> = wanted.waters.iter().map(|w| (w.clone(), 1)).collect();
        all.push(("water-3-21".into(), 2));
        all.sort();
        assert_eq!(waters, all);
    }
    // Six cups and twelve trays: two whole Williams designs.
    assert!(public.balance.ok_or("no balance")?.is_even());
    Ok(())
}

#[test]
fn triangles_use_every_order_equally_often() -> Result<(), Box<dyn Error>> {
    let (public, key) = planned(&request(Method::Triangle, 2, 6, 2), "odd ones")?;
    let mut seen = BTreeMap::new();
    for tray in &public.trays {
        let row: Vec<Option<&str>> =
            tray.cups.iter().map(|c| key.cup(*c).map(|cup| cup.water.as_str())).collect();
        *seen.entry(row).or_insert(0) += 1;
    }
    assert_eq!(seen.len(), 6);
    assert!(seen.values().all(|&times| times == 2));
    Ok(())
}

#[test]
fn a_block_design_serves_part_of_the_waters() -> Result<(), Box<dyn Error>> {
    let mut wanted = request(scoring(), 7, 7, 1);
    wanted.per_tray = Some(3);
    let (public, key) = planned(&wanted, "seven in threes")?;
    let balance = public.balance.ok_or("no balance")?;
    assert_eq!((balance.servings, balance.places, balance.meetings), ((3, 3), (1, 1), (1, 1)));
    assert_eq!(verify(&public, &key.to_text()?), Ok((key, Verified::DrawnAgain)));
    Ok(())
}

#[test]
fn breaks_stand_between_cups() -> Result<(), Box<dyn Error>> {
    let mut wanted = request(scoring(), 7, 1, 1);
    wanted.break_after = Some(3);
    let (public, _) = planned(&wanted, "pause")?;
    assert!(public.trays.iter().all(|tray| tray.breaks_after == [3, 6]));
    wanted.waters.pop();
    let (public, _) = planned(&wanted, "pause")?;
    assert!(public.trays.iter().all(|tray| tray.breaks_after == [3]));
    // Six triangles of three cups: a break after every second, none after the last of a round.
    let mut test = request(Method::Triangle, 4, 2, 2);
    test.break_after = Some(6);
    let (public, _) = planned(&test, "pause")?;
    for tray in &public.trays {
        let place = (tray.number - 1) % 6 + 1;
        let wanted: &[usize] = if place.is_multiple_of(2) && place < 6 { &[3] } else { &[] };
        assert_eq!(tray.breaks_after, wanted, "tray {}", tray.number);
    }
    Ok(())
}

#[test]
fn a_break_that_never_comes_is_said_and_not_promised() -> Result<(), Box<dyn Error>> {
    let mut wanted = request(scoring(), 4, 2, 1);
    for (every, shown) in [(3, true), (4, false), (9, false)] {
        wanted.break_after = Some(every);
        let (public, _) = planned(&wanted, "pause")?;
        let promised = procedure(&public).iter().any(|step| step.what.contains("take the break"));
        let said = cautions(&public).iter().any(|line| line.contains("no break falls"));
        assert_eq!((promised, said), (shown, !shown), "{every}");
    }
    // Between rounds there is always one, and the score sheet shows where.
    wanted.rounds = 2;
    let (public, _) = planned(&wanted, "pause")?;
    assert!(cautions(&public).iter().any(|line| line.contains("between rounds")));
    let sheet = format!("{:?}", waterflight::session::serve::sheets::taster(&public, "taster 0"));
    assert_eq!(sheet.matches("| break |").count(), 1, "{sheet}");
    Ok(())
}

#[test]
fn more_cups_than_a_sitting_bears_are_cautioned() -> Result<(), Box<dyn Error>> {
    for (waters, warned) in [(8, false), (9, true)] {
        let (public, _) = planned(&request(scoring(), waters, 2, 1), "tired")?;
        assert_eq!(cautions(&public).iter().any(|line| line.contains("a sitting")), warned);
    }
    Ok(())
}

#[test]
fn the_least_p_of_incomplete_rankings_is_that_of_the_best_order() -> Result<(), Box<dyn Error>> {
    let ranking = Method::Ranking { criterion: "liking".into() };
    let mut wanted = request(ranking.clone(), 5, 4, 1);
    wanted.per_tray = Some(3);
    let (public, key) = planned(&wanted, "threes")?;
    let water = |code: &Code| {
        let name = &key.cup(*code)?.water;
        key.waters.iter().position(|water| water == name)
    };
    let trays: Vec<Vec<usize>> =
        public.trays.iter().map(|tray| tray.cups.iter().filter_map(water).collect()).collect();
    let mut least = 1.0_f64;
    // Every order of five waters, as the digits of a number.
    for number in 0..5_usize.pow(5) {
        let place = |w: &usize| number / 5_usize.pow(u32::try_from(*w).unwrap_or(0)) % 5;
        if (0..5).map(|w| place(&w)).collect::<BTreeSet<_>>().len() < 5 {
            continue;
        }
        let ranked: Vec<Ranked> = trays
            .iter()
            .map(|tray| {
                let mut order = tray.clone();
                order.sort_by_key(place);
                Ranked::from_values(&places(order))
            })
            .collect();
        least = least.min(rank_test(&ranked, 5).and_then(|t| t.p_exact).ok_or("no exact p")?);
    }
    let each_once = |trays: Vec<Vec<usize>>| -> Vec<RankingBlock> {
        ranking_blocks(&trays.into_iter().enumerate().collect::<Vec<_>>())
    };
    let found = least_p(&each_once(trays), 5);
    assert!((found - least).abs() < 1e-12, "{found} {least}");
    // Eight waters in fours before four tasters: far from 1/24³, as if all had ranked all.
    let mut eight = request(ranking, 8, 4, 1);
    eight.per_tray = Some(4);
    let (public, key) = planned(&eight, "fours")?;
    let Forecast::Ranking { smallest_p: p, .. } = forecast(&public, &key, &BTreeMap::new()) else {
        return Err("no forecast of rankings".into());
    };
    assert!(p > 1e-4 && p < 0.05, "{p}");
    Ok(())
}

#[test]
fn many_cups_of_their_own_need_more_codes_than_there_are() -> Result<(), Box<dyn Error>> {
    let mut wanted = request(scoring(), 8, 100, 1);
    wanted.codes = Some(CodeScope::PerTaster);
    let refused = planned(&wanted, "crowd");
    assert!(matches!(refused, Err(RequestError::TooManyCodes(_))), "{refused:?}");
    // Which of two has more: no cup of such a tray is like another, so codes may be shared.
    let sides = Method::Paired { criterion: "body".into(), sides: Sides::Two };
    let test = request(sides, 2, 150, 3);
    assert_eq!(planned(&test, "crowd")?.0.codes, CodeScope::PerSession);
    Ok(())
}

#[test]
fn no_code_of_two_trays_tells_which_cups_are_alike() -> Result<(), Box<dyn Error>> {
    let duo_trio = Method::DuoTrio { reference: DuoTrioReference::Balanced };
    for method in [Method::Triangle, duo_trio, Method::Tetrad] {
        // All pairs of eight waters before eight tasters: there are not so many codes.
        let crowd = planned(&request(method.clone(), 8, 8, 1), "all pairs").err();
        let message = crowd.ok_or("shared without a word")?.to_string();
        assert!(message.contains("fewer pairs, or with fewer tasters or rounds"), "{message}");
        let shared =
            Request { codes: Some(CodeScope::PerSession), ..request(method.clone(), 2, 8, 2) };
        let message = planned(&shared, "shared").err().ok_or("shared as asked for")?.to_string();
        assert!(message.contains("give each cup its own"), "{message}");
        // As many trays as can be told apart.
        let (public, key) = planned(&request(method.clone(), 4, 8, 3), "own").or_else(|error| {
            assert!(matches!(error, RequestError::TooManyTrays { .. }), "{error}");
            planned(&request(method.clone(), 4, 8, 1), "own")
        })?;
        let seen: Vec<Code> =
            public.trays.iter().flat_map(|t| t.cups.iter().copied().chain(t.reference)).collect();
        let distinct: BTreeSet<Code> = seen.iter().copied().collect();
        assert_eq!((seen.len(), distinct.len()), (key.cups.len(), key.cups.len()));
    }
    Ok(())
}

#[test]
fn a_number_in_a_name_is_no_code() -> Result<(), Box<dyn Error>> {
    let mut wanted = request(scoring(), 2, 2, 1);
    wanted.waters = vec!["Hard 150".into(), "Soft".into()];
    for n in 0..300 {
        let (public, _) = planned(&wanted, &format!("name {n}"))?;
        assert!(public.trays.iter().flat_map(|t| &t.cups).all(|code| code.to_string() != "150"));
    }
    Ok(())
}

#[test]
fn the_seal_is_the_sum_of_the_file_that_is_kept() -> Result<(), Box<dyn Error>> {
    let (public, key) = planned(&request(scoring(), 3, 3, 1), "sum")?;
    let text = key.to_text()?;
    assert_eq!(seal(&text), public.seal);
    assert_eq!(open(&text, &public.seal)?, key);
    // Another nonce hides the same key behind another seal.
    let (other, _) = plan(
        &request(scoring(), 3, 3, 1),
        &Seed::from_phrase("sum"),
        &Nonce::from_phrase("another"),
    )?;
    assert_ne!(other.seal, public.seal);
    assert_eq!(other.trays, public.trays);
    Ok(())
}

#[test]
fn what_cannot_be_planned_says_what_to_change() {
    type Change = fn(&mut Request);
    let changes: [(Change, &str); 13] = [
        (|r| r.waters.truncate(1), "add one"),
        (|r| r.tasters.clear(), "name at least one"),
        (|r| r.tasters.push("taster 0".into()), "named twice"),
        (|r| r.waters.push(" ".into()), "give it one"),
        (|r| r.rounds = 0, "at least one"),
        (|r| r.per_tray = Some(9), "from 2 to 4"),
        (|r| r.break_after = Some(0), "six to eight"),
        (|r| r.reference = Some("rain".into()), "not among the waters"),
        (|r| r.blinding = Blinding::Solo, "name one"),
        (|r| r.method = Method::Scoring { attributes: vec![] }, "at least one attribute"),
        (|r| r.serving.cup_ml = f64::NAN, "positive number"),
        (
            |r| {
                let mut attributes = starter_attributes();
                attributes.iter_mut().take(1).for_each(|a| a.name = "note".into());
                r.method = Method::Scoring { attributes };
            },
            "take a word",
        ),
        (|r| r.rounds = 100_000, "use fewer"),
    ];
    for (change, words) in changes {
        let mut wanted = request(scoring(), 4, 3, 1);
        change(&mut wanted);
        let message = planned(&wanted, "no").err().map(|error| error.to_string());
        assert!(message.as_ref().is_some_and(|m| m.contains(words)), "{words}: {message:?}");
    }
}

#[test]
fn the_plan_of_a_seed_never_changes() -> Result<(), Box<dyn Error>> {
    // Written down when the drawing rules were fixed; a change of the rules must raise their number.
    let mut wanted = request(scoring(), 4, 4, 1);
    wanted.duplicates = Duplicates::Drawn(1);
    let (public, key) = planned(&wanted, "for ever")?;
    let rows: Vec<String> = public
        .trays
        .iter()
        .map(|tray| tray.cups.iter().map(Code::to_string).collect::<Vec<_>>().join(" "))
        .collect();
    assert_eq!(
        rows,
        [
            "930 530 901 498 512",
            "530 498 930 512 901",
            "512 901 498 930 530",
            "498 512 530 901 930"
        ]
    );
    assert_eq!(key.doubled, ["water-1-7"]);
    assert_eq!(public.seal, "c72aed1be2bdd4bc6a123e46d991d9e9c82ccfae5722ac43bfb2d555b5006287");
    Ok(())
}

/// What is planned can be read again; where there are fewer cups than waters nothing is planned.
#[test]
fn a_plan_with_fewer_cups_than_waters_is_refused() -> Result<(), Box<dyn Error>> {
    for method in [scoring(), Method::Ranking { criterion: "liking".into() }] {
        let mut wanted = request(method, 8, 3, 1);
        wanted.per_tray = Some(2);
        let refused = planned(&wanted, "few cups");
        let expected = RequestError::TooFewCups { cups: 6, waters: 8 };
        assert_eq!(refused.err(), Some(expected));
        wanted.per_tray = Some(3);
        let (public, _) = planned(&wanted, "few cups")?;
        assert_eq!(Plan::from_text(&public.to_text()?)?, public);
    }
    Ok(())
}
