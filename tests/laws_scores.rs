//! The score log: what is confirmed stays, what is wrong is refused, codes become the right waters.
//!
//! Above 400 lines: what one log may and may not take, on the plans that are drawn here.

use std::collections::BTreeMap;
use std::error::Error;

use proptest::prelude::*;
use waterflight::session::plan::Plan;
use waterflight::session::plan::session::plan;
use waterflight::session::plan::{Blinding, CodeScope, Duplicates, Request};
use waterflight::session::plan::{Code, Seed};
use waterflight::session::plan::{DuoTrioReference, Method, Sides};
use waterflight::session::plan::{Key, Nonce};
use waterflight::session::score::{
    Answer, Entry, Line, OpenedFor, PendingKind, Refusal, RevealError, ScoreLog, Status, TurnedCup,
    replay, reveal_entry, revealed, stickers_belong,
};

use crate::common::requests::{attribute, request as common_request};

/// What a refusal should be.
type Kind = fn(&Refusal) -> bool;
type Outcome = Result<(), Box<dyn Error>>;

fn session(
    method: Method,
    blinding: Blinding,
    tasters: &[&str],
) -> Result<(Plan, Key), Box<dyn Error>> {
    let scoring = !method.compares_two();
    let waters = ["Soft", "Hard", "Magnesium"];
    let request = Request {
        rounds: 2,
        duplicates: if scoring { Duplicates::Named(vec!["Hard".into()]) } else { Duplicates::None },
        break_after: Some(2),
        blinding,
        ..common_request(
            method,
            waters.iter().take(if scoring { 3 } else { 2 }).map(|&name| name.into()).collect(),
            tasters.iter().map(|&name| name.into()).collect(),
        )
    };
    Ok(plan(&request, &Seed::from_phrase("scores"), &Nonce::from_phrase("nonce"))?)
}

fn scoring() -> Method {
    Method::Scoring { attributes: vec![attribute("body"), attribute("sweetness")] }
}

fn scores(taster: &str, code: Code, values: &[(&str, f64)]) -> Answer {
    Answer::Scores {
        taster: taster.into(),
        code,
        values: values.iter().map(|&(name, value)| (name.into(), value)).collect(),
        note: None,
    }
}

fn add(score_log: &mut ScoreLog, entry: Entry) -> Result<u64, Refusal> {
    let line = score_log.next_line("2031-05-04T10:00:00Z", entry)?;
    let n = line.n;
    score_log.accept(line)?;
    Ok(n)
}

fn log_of(score_log: &ScoreLog) -> String {
    score_log.lines().iter().map(|recorded| recorded.line.to_text().unwrap_or_default()).collect()
}

/// What a taster of perfect memory scores: each water its own value.
fn true_score(water: &str) -> f64 {
    match water {
        "Soft" => 2.0,
        "Hard" => 5.5,
        _ => 9.0,
    }
}

#[test]
fn codes_become_the_waters_that_were_poured() -> Outcome {
    for (blinding, tasters) in [
        (Blinding::Pourer, vec!["Ann", "Bob", "Cem"]),
        (Blinding::Double, vec!["Ann", "Bob"]),
        (Blinding::Solo, vec!["Ann"]),
    ] {
        let (public, key) = session(scoring(), blinding, &tasters)?;
        let mut score_log = ScoreLog::new(&public);
        let mut turnings = Vec::new();
        for tray in &public.trays {
            // Alone, a shuffle decides which sticker lies under which cup: here, in turn.
            let under: Vec<Code> = key
                .cups
                .iter()
                .filter(|cup| cup.tray == Some(tray.number))
                .map(|cup| cup.code)
                .rev()
                .collect();
            let mut turned = Vec::new();
            for (at, &top) in tray.cups.iter().enumerate() {
                let sealed = under.get(at).copied().unwrap_or(top);
                let water = key.cup(sealed).ok_or("no such cup")?.water.clone();
                let value = true_score(&water);
                let answer = scores(&tray.taster, top, &[("body", value), ("sweetness", 1.0)]);
                add(&mut score_log, Entry::Answer(answer))?;
                turned.push(TurnedCup { top, under: sealed });
            }
            if blinding == Blinding::Solo {
                let (taster, tray) = (tray.taster.clone(), tray.number);
                turnings.push(Entry::Turned { taster, tray, cups: turned });
            }
        }
        for turned in turnings {
            add(&mut score_log, turned)?;
        }
        assert_eq!(score_log.missing_answers(), 0);
        let reveal = reveal_entry(&score_log, &key.to_text()?, None)?;
        add(&mut score_log, reveal)?;
        let named = revealed(&score_log, &key.to_text()?)?;
        assert_eq!(named.scores.len(), tasters.len() * 2 * 4 * 2);
        for row in named.scores.iter().filter(|row| row.attribute == 0) {
            let water = named.waters.get(row.cup.water).ok_or("no such water")?;
            assert_eq!(row.value, Some(true_score(water)));
        }
        // A break after two cups of four: the first and the third follow nothing.
        for row in &named.scores {
            assert_eq!(row.cup.previous.is_none(), row.cup.position % 2 == 1);
        }
    }
    Ok(())
}

#[test]
fn a_taster_who_can_tell_is_always_right() -> Outcome {
    let methods = [
        Method::Triangle,
        Method::DuoTrio { reference: DuoTrioReference::Balanced },
        Method::Tetrad,
        Method::Paired { criterion: "body".into(), sides: Sides::One },
    ];
    for method in methods {
        let (public, key) = session(method.clone(), Blinding::Pourer, &["Ann", "Bob", "Cem"])?;
        let water = |code: Code| key.cup(code).map(|cup| cup.water.clone()).unwrap_or_default();
        for told in [true, false] {
            let mut score_log = ScoreLog::new(&public);
            for tray in &public.trays {
                let mut by_water: BTreeMap<String, Vec<Code>> = BTreeMap::new();
                for &code in &tray.cups {
                    by_water.entry(water(code)).or_default().push(code);
                }
                let reference = tray.reference.map(water);
                let (soft, hard) = (by_water.get("Soft"), by_water.get("Hard"));
                let (soft, hard) = (soft.ok_or("no soft")?, hard.ok_or("no hard")?);
                let right: Vec<Code> = match &method {
                    Method::Triangle => if soft.len() == 1 { soft } else { hard }.clone(),
                    Method::DuoTrio { .. } => {
                        if reference.as_deref() == Some("Soft") { soft } else { hard }.clone()
                    }
                    Method::Tetrad => hard.clone(),
                    _ => soft.clone(),
                };
                let wrong: Vec<Code> = match &method {
                    Method::Tetrad => soft.iter().chain(hard).skip(1).take(2).copied().collect(),
                    _ => tray.cups.iter().filter(|c| !right.contains(c)).take(1).copied().collect(),
                };
                let chosen = if told { right } else { wrong };
                let (taster, tray) = (tray.taster.clone(), tray.number);
                add(
                    &mut score_log,
                    Entry::Answer(Answer::Choice { taster, tray, chosen, note: None }),
                )?;
            }
            let reveal = reveal_entry(&score_log, &key.to_text()?, None)?;
            add(&mut score_log, reveal)?;
            let named = revealed(&score_log, &key.to_text()?)?;
            assert_eq!(named.choices.len(), 6);
            assert!(named.choices.iter().all(|row| row.right == Some(told)), "{method:?} {told}");
        }
    }
    Ok(())
}

#[test]
fn rankings_come_out_in_waters() -> Outcome {
    let (public, key) =
        session(Method::Ranking { criterion: "body".into() }, Blinding::Pourer, &["Ann", "Bob"])?;
    let mut score_log = ScoreLog::new(&public);
    for tray in &public.trays {
        let mut order = tray.cups.clone();
        order.sort_by_key(|&code| key.cup(code).map(|cup| (cup.water.clone(), cup.copy)));
        let (taster, tray) = (tray.taster.clone(), tray.number);
        add(&mut score_log, Entry::Answer(Answer::Ranking { taster, tray, order, note: None }))?;
    }
    let reveal = reveal_entry(&score_log, &key.to_text()?, None)?;
    add(&mut score_log, reveal)?;
    for row in revealed(&score_log, &key.to_text()?)?.rankings {
        let order: Vec<(usize, usize)> =
            row.order.ok_or("owed")?.iter().map(|cup| (cup.water, cup.copy)).collect();
        assert_eq!(order, [(1, 1), (1, 2), (2, 1), (0, 1)]);
    }
    Ok(())
}

#[test]
fn what_is_wrong_is_refused_with_the_way_out() -> Outcome {
    let (public, _) = session(scoring(), Blinding::Pourer, &["Ann", "Bob"])?;
    let mut own = public.clone();
    own.codes = CodeScope::PerTaster;
    let mut score_log = ScoreLog::new(&public);
    let tray = public.trays.first().ok_or("no tray")?;
    let (first, second) = match tray.cups.as_slice() {
        [first, second, ..] => (*first, *second),
        _ => return Err("no cups".into()),
    };
    let unknown: Code = (100..1000)
        .filter_map(|n| n.to_string().parse::<Code>().ok())
        .find(|code| public.trays.iter().all(|tray| !tray.cups.contains(code)))
        .ok_or("all codes used")?;
    add(&mut score_log, Entry::Answer(scores("Ann", first, &[("body", 3.0)])))?;

    let both = [("body", 3.0), ("sweetness", 4.0)];
    let cases: [(Entry, Kind); 13] = [
        (
            Entry::Answer(scores("An", second, &both)),
            |r| matches!(r, Refusal::UnknownTaster { nearest: Some(n), .. } if n == "Ann"),
        ),
        (Entry::Answer(scores("Ann", unknown, &both)), |r| {
            matches!(r, Refusal::UnknownCode { .. })
        }),
        (Entry::Answer(scores("Ann", first, &both)), |r| {
            matches!(r, Refusal::Duplicate { line: 1, .. })
        }),
        (Entry::Answer(scores("Ann", second, &[("body", 10.5)])), |r| {
            matches!(r, Refusal::OffScale { .. })
        }),
        (Entry::Answer(scores("Ann", second, &[("body", f64::NAN)])), |r| {
            matches!(r, Refusal::OffScale { .. })
        }),
        (Entry::Answer(scores("Ann", second, &[("body", 3.3)])), |r| {
            matches!(r, Refusal::BetweenSteps { .. })
        }),
        (Entry::Answer(scores("Ann", second, &[("salt", 3.0)])), |r| {
            matches!(r, Refusal::UnknownAttribute { .. })
        }),
        (Entry::Answer(scores("Ann", second, &[])), |r| matches!(r, Refusal::Empty { .. })),
        (
            Entry::Answer(Answer::Ranking {
                taster: "Ann".into(),
                tray: 1,
                order: tray.cups.clone(),
                note: None,
            }),
            |r| matches!(r, Refusal::OtherMethod { .. }),
        ),
        (Entry::Undo { of: 9 }, |r| matches!(r, Refusal::NothingToChange { of: 9 })),
        (Entry::Correction { of: 1, answer: scores("Ann", second, &both) }, |r| {
            matches!(r, Refusal::OtherSubject { .. })
        }),
        (Entry::Late { answer: scores("Ann", second, &both) }, |r| matches!(r, Refusal::NotLate)),
        (Entry::Turned { taster: "Ann".into(), tray: 1, cups: vec![] }, |r| {
            matches!(r, Refusal::NothingUnderneath)
        }),
    ];
    for (entry, kind) in cases {
        let before = score_log.clone();
        let refused = add(&mut score_log, entry.clone());
        let Err(refusal) = refused else { return Err(format!("taken in: {entry:?}").into()) };
        assert!(kind(&refusal), "{entry:?}: {refusal:?}");
        assert!(!refusal.remedy().is_empty() && !refusal.to_string().is_empty());
        assert_eq!(before.lines(), score_log.lines());
    }
    Ok(())
}

#[test]
fn a_cup_of_another_taster_is_named_as_such() -> Outcome {
    let (public, _) = session(Method::Triangle, Blinding::Pourer, &["Ann", "Bob"])?;
    assert_eq!(public.codes, CodeScope::PerTaster);
    let score_log = ScoreLog::new(&public);
    let of_bob = public.trays_of("Bob").next().and_then(|t| t.cups.first()).ok_or("no cup")?;
    let answer =
        Answer::Choice { taster: "Ann".into(), tray: 1, chosen: vec![*of_bob], note: None };
    let refusal = score_log.check(&Entry::Answer(answer)).err().ok_or("taken in")?;
    assert!(matches!(&refusal, Refusal::WrongTaster { owners, .. } if owners == &["Bob"]));
    assert!(refusal.to_string().contains("Bob"));
    Ok(())
}

#[test]
fn a_slip_of_the_finger_gets_a_proposal() -> Outcome {
    let (public, _) = session(scoring(), Blinding::Pourer, &["Ann", "Bob"])?;
    let score_log = ScoreLog::new(&public);
    let meant = *public.trays.first().and_then(|t| t.cups.first()).ok_or("no cup")?;
    let digits: Vec<char> = meant.to_string().chars().collect();
    let [a, b, c] = digits.as_slice() else { return Err("no code".into()) };
    let slipped: Code = format!("{a}{c}{b}").parse()?;
    let answer = scores("Ann", slipped, &[("body", 1.0)]);
    let refusal = score_log.check(&Entry::Answer(answer)).err().ok_or("taken in")?;
    assert!(matches!(&refusal, Refusal::UnknownCode { near, .. } if near.contains(&meant)));
    assert!(refusal.remedy().contains(&meant.to_string()));
    Ok(())
}

#[test]
fn corrections_and_undoing_keep_the_old_lines() -> Outcome {
    let (public, _) = session(scoring(), Blinding::Pourer, &["Ann", "Bob"])?;
    let mut score_log = ScoreLog::new(&public);
    let code = *public.trays.first().and_then(|t| t.cups.first()).ok_or("no cup")?;
    let body = |score_log: &ScoreLog| {
        score_log.scores_of(0, code).and_then(|s| s.get("body")).map(|s| s.value)
    };
    let said = add(&mut score_log, Entry::Answer(scores("Ann", code, &[("body", 3.0)])))?;
    let corrected = add(
        &mut score_log,
        Entry::Correction { of: said, answer: scores("Ann", code, &[("body", 4.0)]) },
    )?;
    assert_eq!(body(&score_log), Some(4.0));
    let again = add(
        &mut score_log,
        Entry::Correction { of: corrected, answer: scores("Ann", code, &[("body", 5.0)]) },
    )?;
    assert_eq!(body(&score_log), Some(5.0));
    assert_eq!(score_log.last_of(None), Some(again));
    // A line that was corrected cannot be corrected once more beside its correction.
    let stale = Entry::Correction { of: said, answer: scores("Ann", code, &[("body", 6.0)]) };
    assert_eq!(add(&mut score_log, stale), Err(Refusal::NothingToChange { of: said }));
    add(&mut score_log, Entry::Undo { of: again })?;
    assert_eq!(body(&score_log), Some(4.0));
    add(&mut score_log, Entry::Undo { of: corrected })?;
    assert_eq!(body(&score_log), Some(3.0));
    add(&mut score_log, Entry::Undo { of: said })?;
    assert_eq!(body(&score_log), None);
    assert_eq!(score_log.last_of(None), None);
    assert_eq!(score_log.lines().len(), 6);
    let undone =
        score_log.lines().iter().filter(|r| matches!(r.status, Status::Undone { .. })).count();
    assert_eq!(undone, 3);
    Ok(())
}

#[test]
fn an_undo_that_would_leave_two_answers_is_refused() -> Outcome {
    let (public, _) = session(scoring(), Blinding::Pourer, &["Ann", "Bob"])?;
    let mut score_log = ScoreLog::new(&public);
    let code = *public.trays.first().and_then(|t| t.cups.first()).ok_or("no cup")?;
    let both = [("body", 3.0), ("sweetness", 4.0)];
    let said = add(&mut score_log, Entry::Answer(scores("Ann", code, &both)))?;
    let fixed = add(
        &mut score_log,
        Entry::Correction { of: said, answer: scores("Ann", code, &[("body", 1.0)]) },
    )?;
    let later = add(&mut score_log, Entry::Answer(scores("Ann", code, &[("sweetness", 9.0)])))?;
    let undo = add(&mut score_log, Entry::Undo { of: fixed });
    assert_eq!(undo, Err(Refusal::WouldStandTwice { of: fixed, stands: later }));
    Ok(())
}

#[test]
fn the_reveal_waits_or_is_forced_and_closes() -> Outcome {
    let (public, key) = session(scoring(), Blinding::Pourer, &["Ann", "Bob"])?;
    let mut score_log = ScoreLog::new(&public);
    let text = key.to_text()?;
    assert_eq!(revealed(&score_log, &text), Err(RevealError::NotRevealed));
    let waits = reveal_entry(&score_log, &text, None);
    assert!(matches!(
        waits,
        Err(RevealError::Refused { refusal: Refusal::Incomplete { missing_answers: 16 } })
    ));
    let tray = public.trays.first().ok_or("no tray")?;
    let (first, second) = match tray.cups.as_slice() {
        [first, second, ..] => (*first, *second),
        _ => return Err("no cups".into()),
    };
    let both = [("body", 3.0), ("sweetness", 4.0)];
    add(&mut score_log, Entry::Answer(scores("Ann", first, &both)))?;
    add(&mut score_log, Entry::Opened { purpose: OpenedFor::PouringSheet, why: "pouring".into() })?;
    add(&mut score_log, Entry::Opened { purpose: OpenedFor::AnotherReason, why: "a peek".into() })?;
    assert_eq!(score_log.missing_answers(), 15);
    let forced = reveal_entry(&score_log, &text, Some("guests left".into()))?;
    let at = add(&mut score_log, forced)?;
    let closed = add(&mut score_log, Entry::Answer(scores("Ann", second, &both)));
    assert_eq!(closed, Err(Refusal::Closed { line: at }));
    assert!(matches!(closed, Err(refusal) if refusal.remedy().contains("late")));
    assert!(matches!(add(&mut score_log, Entry::Undo { of: 1 }), Err(Refusal::Closed { .. })));
    add(&mut score_log, Entry::Late { answer: scores("Ann", second, &both) })?;
    let named = revealed(&score_log, &text)?;
    assert_eq!(named.forced.as_deref(), Some("guests left"));
    assert_eq!(named.opened_early, ["a peek"]);
    assert_eq!((named.left_out.late, named.left_out.missing_answers), (1, 15));
    let given = named.scores.iter().filter(|row| row.value.is_some()).count();
    assert_eq!(given, 2);
    assert_eq!(named.scores.len(), 32);
    Ok(())
}

#[test]
fn an_empty_reason_forces_nothing() -> Outcome {
    let (public, key) = session(scoring(), Blinding::Pourer, &["Ann", "Bob"])?;
    for why in ["", "  "] {
        let refused = reveal_entry(&ScoreLog::new(&public), &key.to_text()?, Some(why.into()));
        assert_eq!(refused, Err(RevealError::NoReason));
    }
    Ok(())
}

#[test]
fn stickers_of_another_tray_are_refused_and_a_tray_is_turned_anew() -> Outcome {
    let (public, key) = session(scoring(), Blinding::Solo, &["Ann"])?;
    let mut score_log = ScoreLog::new(&public);
    let both = [("body", 3.0), ("sweetness", 4.0)];
    let [first, second, ..] = public.trays.as_slice() else { return Err("too few trays".into()) };
    for code in first.cups.iter().chain(&second.cups) {
        add(&mut score_log, Entry::Answer(scores("Ann", *code, &both)))?;
    }
    let under = |number: usize| -> Vec<Code> {
        key.cups.iter().filter(|c| c.tray == Some(number)).map(|c| c.code).collect()
    };
    let turned = |tops: &[Code], tray: usize, under: &[Code]| {
        let cups = tops.iter().zip(under).map(|(&top, &under)| TurnedCup { top, under });
        Entry::Turned { taster: "Ann".into(), tray, cups: cups.collect() }
    };
    let (one, two) = (under(1), under(2));
    // Only the key knows that these belong to the second tray; it says so and no more.
    let cups: Vec<TurnedCup> =
        first.cups.iter().zip(&two).map(|(&top, &under)| TurnedCup { top, under }).collect();
    let stranger = stickers_belong(&public, &key.to_text()?, 1, &cups);
    assert!(matches!(stranger, Err(RevealError::UnknownSticker { tray: 1, .. })), "{stranger:?}");
    assert_eq!(stickers_belong(&public, &key.to_text()?, 2, &cups), Ok(()));
    // Where the key is elsewhere they are taken in, and the second tray then finds it out.
    let wrong = add(&mut score_log, turned(&first.cups, 1, &two))?;
    let again = add(&mut score_log, turned(&second.cups, 2, &two));
    assert!(
        matches!(again, Err(Refusal::StickerOfAnotherTray { tray: 1, line, .. }) if line == wrong),
        "{again:?}"
    );
    let right = add(&mut score_log, turned(&first.cups, 1, &one))?;
    assert_eq!(score_log.line(wrong).map(|r| r.status), Some(Status::Corrected { by: right }));
    add(&mut score_log, turned(&second.cups, 2, &two))?;
    assert_eq!(
        score_log.turned(0).map(|cups| cups.iter().map(|c| c.under).collect()),
        Some(one.clone())
    );
    assert_eq!(score_log.missing_answers(), 0);
    // A turning is final: what was read before does not come back.
    let undo = add(&mut score_log, Entry::Undo { of: right });
    assert!(matches!(undo, Err(Refusal::TurningIsFinal { tray: 1, .. })), "{undo:?}");
    let twice = vec![*one.first().ok_or("no sticker")?; first.cups.len()];
    let named_twice = add(&mut score_log, turned(&first.cups, 1, &twice));
    assert!(matches!(named_twice, Err(Refusal::StickerTwice { .. })), "{named_twice:?}");
    let tops = add(&mut score_log, turned(&first.cups, 1, &second.cups));
    assert!(matches!(tops, Err(Refusal::StickerOnTop { .. })), "{tops:?}");
    assert_eq!(replay(&public, log_of(&score_log).as_bytes())?.lines(), score_log.lines());
    assert!(reveal_entry(&score_log, &key.to_text()?, None).is_ok());
    Ok(())
}

#[test]
fn progress_names_what_is_owed() -> Outcome {
    let (public, _) = session(scoring(), Blinding::Solo, &["Ann"])?;
    let mut score_log = ScoreLog::new(&public);
    let first = *public.trays.first().and_then(|t| t.cups.first()).ok_or("no cup")?;
    add(&mut score_log, Entry::Answer(scores("Ann", first, &[("body", 3.0)])))?;
    let progress = score_log.progress();
    let ann = progress.first().ok_or("nobody")?;
    assert_eq!((ann.done, ann.pending.len()), (0, 10));
    assert_eq!(
        ann.pending.first().map(|pending| &pending.what),
        Some(&PendingKind::Cup { code: first, attributes: vec!["sweetness".into()] })
    );
    let early = Entry::Turned {
        taster: "Ann".into(),
        tray: 1,
        cups: public
            .trays
            .first()
            .ok_or("no tray")?
            .cups
            .iter()
            .zip(["235", "236", "237", "238"])
            .map(|(&top, under)| Ok(TurnedCup { top, under: under.parse()? }))
            .collect::<Result<_, Box<dyn Error>>>()?,
    };
    assert!(matches!(add(&mut score_log, early), Err(Refusal::TurnedTooSoon { .. })));
    Ok(())
}

/// A log of a session in which everything happens: answers, corrections, undoing, notes.
fn busy_log(steps: &[(u8, usize)]) -> Result<(Plan, ScoreLog), Box<dyn Error>> {
    let (public, _) = session(scoring(), Blinding::Pourer, &["Ann", "Bob"])?;
    let mut score_log = ScoreLog::new(&public);
    let cups: Vec<(String, Code)> = public
        .trays
        .iter()
        .flat_map(|tray| tray.cups.iter().map(|&code| (tray.taster.clone(), code)))
        .collect();
    for &(kind, at) in steps {
        let (taster, code) = cups.get(at % cups.len()).ok_or("no cups")?;
        let of = u64::try_from(at % (score_log.lines().len() + 1))?;
        let value = f64::from(kind % 21) / 2.0;
        let entry = match kind % 4 {
            0 | 1 => Entry::Answer(scores(taster, *code, &[("body", value)])),
            2 => match score_log.line(of).map(|r| &r.line.entry) {
                Some(Entry::Answer(Answer::Scores { taster, code, .. })) => {
                    Entry::Correction { of, answer: scores(taster, *code, &[("body", value)]) }
                }
                _ => Entry::Note { taster: None, text: "line\nfeed \"and\" quotes é".into() },
            },
            _ => Entry::Undo { of },
        };
        // What is refused simply does not happen.
        let _ = add(&mut score_log, entry);
    }
    Ok((public, score_log))
}

proptest! {
    #![proptest_config(crate::common::cases(48))]

    #[test]
    fn a_log_cut_anywhere_keeps_every_confirmed_line(
        steps in prop::collection::vec((any::<u8>(), 0_usize..64), 1..40),
        cut in any::<prop::sample::Index>(),
    ) {
        let (public, score_log) = busy_log(&steps).map_err(|e| TestCaseError::fail(e.to_string()))?;
        let log = log_of(&score_log).into_bytes();
        let cut = cut.index(log.len() + 1);
        let kept = log.get(..cut).unwrap_or_default();
        let back = replay(&public, kept)?;
        let confirmed = kept.split(|&byte| byte == b'\n').count() - 1;
        let lines = back.lines().len();
        // A last line that only lacks its line break was never confirmed either.
        prop_assert_eq!(lines, confirmed);
        for (was, is) in score_log.lines().iter().zip(back.lines()) {
            prop_assert_eq!(&was.line, &is.line);
        }
        // Taking up where it was cut gives the same log.
        let mut resumed = back;
        for recorded in score_log.lines().iter().skip(lines) {
            resumed.accept(recorded.line.clone())?;
        }
        prop_assert_eq!(resumed.lines(), score_log.lines());
        prop_assert_eq!(resumed.missing_answers(), score_log.missing_answers());
    }

    #[test]
    fn no_bytes_make_it_panic(noise in prop::collection::vec(any::<u8>(), 0..200)) {
        let (public, score_log) = busy_log(&[(0, 1), (1, 2)]).map_err(|e| TestCaseError::fail(e.to_string()))?;
        let mut log = log_of(&score_log).into_bytes();
        log.extend(&noise);
        if let Ok(back) = replay(&public, &log) {
            prop_assert_eq!(back.lines().len(), 2);
        }
    }
}

#[test]
fn a_line_changed_by_hand_is_found() -> Outcome {
    let (public, score_log) = busy_log(&[(0, 1), (4, 2), (8, 3)])?;
    let log = log_of(&score_log);
    assert_eq!(score_log.lines().len(), 3);
    let mut lines: Vec<&str> = log.split_inclusive('\n').collect();
    lines.remove(1);
    let without_second = lines.concat();
    let error = replay(&public, without_second.as_bytes()).err().ok_or("taken in")?;
    assert_eq!(error.line, 2);
    let newer = log.replacen("\"v\":1", "\"v\":9", 1);
    let error = replay(&public, newer.as_bytes()).err().ok_or("taken in")?;
    assert!(error.to_string().contains("newer program"), "{error}");
    Ok(())
}

#[test]
fn a_line_survives_the_log() -> Outcome {
    let line = Line {
        v: 1,
        n: 7,
        at: "2031-05-04T10:00:00Z".into(),
        entry: Entry::Answer(Answer::Scores {
            taster: "Ann \"the nose\"\n".into(),
            code: "418".parse()?,
            values: BTreeMap::from([("body".into(), 0.1 + 0.2)]),
            note: Some("späte Süße".into()),
        }),
    };
    assert_eq!(Line::all_from_text(&line.to_text()?)?, [line]);
    Ok(())
}
