//! What can be known before the reveal: from the files of the bench, from a tray that was turned over,
//! and from what the program says.
//!
//! Above 400 lines: every place that could give a code away.

use std::collections::{BTreeMap, BTreeSet};
use std::error::Error;
use std::fs;

use proptest::prelude::*;
use serde_json::Value;
use waterflight::bench::session_folder::SessionFolder;
use waterflight::quantities::{Litres, MillilitresPerLitre};
use waterflight::session::plan::Nonce;
use waterflight::session::plan::preparation::{Margin, prepare};
use waterflight::session::plan::session::plan;
use waterflight::session::plan::solo::procedure;
use waterflight::session::plan::{
    Attribute, Blinding, Brewing, Code, DosedWater, Duplicates, Key, Method, Plan, Request, Seed,
    Serving,
};
use waterflight::session::score::{
    Answer, Entry, Line, Refusal, RevealError, ScoreLog, TurnedCup, replay, reveal_entry, revealed,
};

use crate::common::answers::run;
use crate::common::{key_text, starter_bench};

use crate::common::requests::{numbered, request as common_request};

type Fallible = Result<(), Box<dyn Error>>;

fn body() -> Method {
    let body = Attribute {
        name: "body".into(),
        low: 0.0,
        high: 10.0,
        step: 0.5,
        low_word: "thin".into(),
        high_word: "heavy".into(),
    };
    Method::Scoring { attributes: vec![body] }
}

fn request(waters: usize, tasters: usize, rounds: usize) -> Request {
    Request {
        session: "evening".into(),
        rounds,
        serving: Serving { cup_ml: 40.0, served_c: None, brewing: None, notes: vec![] },
        ..common_request(body(), numbered("water", waters), numbered("taster", tasters))
    }
}

/// All orders of the numbers below `n`.
fn orders(n: usize) -> Vec<Vec<usize>> {
    if n == 0 {
        return vec![Vec::new()];
    }
    let mut all = Vec::new();
    for order in orders(n - 1) {
        for at in 0..n {
            let mut longer = order.clone();
            longer.insert(at, n - 1);
            all.push(longer);
        }
    }
    all
}

/// What the bench records of a pour, to the last digit: stocks and millilitres.
fn recorded(public: &Plan, key: &Key, doses: &[DosedWater]) -> Vec<(String, u64)> {
    let margin = Margin { share: 0.1, least: Litres::new(0.0) };
    let sheet = prepare(public, key, doses, &[], margin);
    sheet.stocks.iter().map(|line| (line.stock.clone(), line.needed.value().to_bits())).collect()
}

/// Everything that may be read before the reveal is the plan, the doses, and what was poured. Whoever
/// has the program can try every way in which the waters may stand behind the codes and keep those that
/// lead to the very records of the bench; gives the waters that each code may still hold.
fn candidates(wanted: &Request) -> Result<BTreeMap<Code, BTreeSet<String>>, Box<dyn Error>> {
    let (seed, nonce) = (Seed::from_phrase("attacked"), Nonce::from_bytes([5; 32]));
    let (public, key) = plan(wanted, &seed, &nonce)?;
    let dose = |n: usize| MillilitresPerLitre::new(f64::from(u32::try_from(n).unwrap_or(0)) + 1.0);
    // A stock for each water, as a bench may have them: the volume of each water can be read off.
    let doses: Vec<DosedWater> = wanted
        .waters
        .iter()
        .enumerate()
        .map(|(n, water)| DosedWater {
            water: water.clone(),
            doses: vec![(format!("stock {n}"), dose(n)), ("all".into(), dose(2 * n))],
            base: vec![("rain".into(), 1.0)],
        })
        .collect();
    let seen = recorded(&public, &key, &doses);
    let mut found: BTreeMap<Code, BTreeSet<String>> = BTreeMap::new();
    for order in orders(wanted.waters.len()) {
        let name = |water: &String| {
            let at = wanted.waters.iter().position(|w| w == water)?;
            wanted.waters.get(*order.get(at)?).cloned()
        };
        let mut other = key.clone();
        for cup in &mut other.cups {
            cup.water = name(&cup.water).ok_or("a water that is not in the flight")?;
        }
        if recorded(&public, &other, &doses) == seen {
            for cup in other.cups {
                found.entry(cup.code).or_default().insert(cup.water);
            }
        }
    }
    Ok(found)
}

proptest! {
    #![proptest_config(crate::common::cases(24))]

    /// Uneven incomplete trays, hidden duplicates, a reference, brews: every code may hold every water.
    #[test]
    fn nothing_that_can_be_read_narrows_a_code(
        (waters, tasters, rounds) in (3_usize..=5, 2_usize..=5, 1_usize..=2),
        per_tray in 2_usize..=4,
        doubled in 0_usize..=1,
        brewed in any::<bool>(),
        letters in any::<bool>(),
    ) {
        let mut wanted = request(waters, tasters, rounds);
        wanted.per_tray = (per_tray < waters).then_some(per_tray);
        if wanted.per_tray.is_none() {
            wanted.duplicates = Duplicates::Drawn(doubled);
        }
        if letters {
            wanted.reference = wanted.waters.first().cloned();
            wanted.warm_up = wanted.waters.last().cloned();
        }
        wanted.serving.brewing = brewed.then(|| Brewing {
            what: "coffee".into(), dose_g: 15.0, water_ml: 250.0, water_c: 94.0, yield_ml: 90.0,
        });
        let found = candidates(&wanted).map_err(|error| TestCaseError::fail(error.to_string()))?;
        prop_assert!(!found.is_empty());
        for (code, may_hold) in found {
            prop_assert_eq!(may_hold.len(), waters, "{} is one of {:?}", code, may_hold);
        }
    }
}

/// The least dose of the starter bench's tools, mL.
const LEAST_ML: f64 = 0.1;

/// The files themselves, as the program writes them: none but the key names a water beside a code, and
/// what was poured is as much of each water.
#[test]
fn the_files_of_a_bench_tell_nothing_of_the_codes() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let plan = ["session", "plan", "--name", "uneven", "--tasters", "ann,bo,cy", "--per-tray", "3"];
    let waters = ["soft", "middle", "hard", "sulfate side", "chloride side"];
    let chosen = waters.iter().flat_map(|water| ["--water", water]);
    let said = run(&bench, &plan.into_iter().chain(chosen).collect::<Vec<_>>())?;
    let said = said.split_whitespace().collect::<Vec<_>>().join(" ");
    let kept = said.contains("key.sealed, encrypted") && said.contains("not from whoever uses");
    assert!(kept, "{said}");
    let balance = said.contains("each water is served 1 to 2 times");
    assert!(balance, "the trays should be uneven for this check:\n{said}");
    run(&bench, &["session", "poured", "uneven", "--date", "2031-05-04"])?;
    let folder = bench.join("sessions/uneven");
    let public = Plan::from_text(&fs::read_to_string(folder.join("plan.json"))?)?;
    let codes: Vec<String> =
        public.trays.iter().flat_map(|t| &t.cups).map(ToString::to_string).collect();
    let text = fs::read_to_string(folder.join("plan.json"))?;
    assert!(waters.iter().all(|water| !text.contains(water)));
    for file in ["sessions/uneven/waters.json", "records/pours.jsonl"] {
        let text = fs::read_to_string(bench.join(file))?;
        assert!(codes.iter().all(|code| !text.contains(&format!("\"{code}\""))), "{file}");
    }
    // As much is made of each water, however often it is served, or what its smallest dose needs: both
    // follow from what anyone may read. What was taken is the doses of that.
    let sheet = ["session", "sheet", "uneven", "--for", "pourer", "--json"];
    let sheet: Value = serde_json::from_str(&run(&bench, &sheet)?)?;
    let bottles = sheet.pointer("/bottles").and_then(Value::as_array).ok_or("no bottles")?;
    let volume = |bottle: &Value| bottle.pointer("/l_with_spare").and_then(Value::as_f64);
    let common = bottles.iter().filter_map(volume).fold(f64::INFINITY, f64::min);
    let mut cups = Vec::new();
    for bottle in bottles {
        let doses = bottle.pointer("/doses").and_then(Value::as_array).ok_or("no doses")?;
        let doses = doses.iter().filter_map(|dose| dose.pointer("/ml")?.as_f64());
        let smallest = doses.fold(f64::INFINITY, f64::min);
        let volume = volume(bottle).ok_or("no volume")?;
        let is_common = (volume / common - 1.0).abs() < 1e-9;
        assert!(is_common || (smallest - LEAST_ML).abs() < 1e-9, "{bottle}");
        cups.extend(bottle.pointer("/cups").and_then(Value::as_u64));
    }
    assert!(cups.contains(&1) && cups.contains(&2), "{cups:?}");
    let pours = fs::read_to_string(bench.join("records/pours.jsonl"))?;
    let pour: Value = serde_json::from_str(pours.lines().last().ok_or("no pour")?)?;
    for taken in pour.pointer("/taken").and_then(Value::as_array).ok_or("nothing taken")? {
        let doses = bottles.iter().filter_map(|b| b.pointer("/doses")?.as_array()).flatten();
        let own = doses.filter(|dose| dose.pointer("/stock") == taken.pointer("/stock"));
        let sum: f64 = own.filter_map(|dose| dose.pointer("/ml")?.as_f64()).sum();
        let ml = taken.pointer("/ml").and_then(Value::as_f64).ok_or("no volume")?;
        assert!((ml - sum).abs() < 1e-6, "{taken}: {sum}");
    }
    let help = run(&bench, &["session", "plan", "--help"])?;
    let help = help.split_whitespace().collect::<Vec<_>>().join(" ");
    let says = ["encrypted with XChaCha20-Poly1305", "It does not keep it from whoever uses this"];
    assert!(says.iter().all(|words| help.contains(words)), "{help}");
    let json = run(&bench, &["session", "plan", "--tasters", "ann,bo", "--json"])?;
    let json: Value = serde_json::from_str(&json)?;
    assert_eq!(json.pointer("/key/encrypted"), Some(&Value::Bool(true)));
    Ok(())
}

/// A log of a tasting alone as a program of earlier days could write it: one tray turned before the next
/// was tasted, a turning taken back, a score changed, the tray turned anew.
#[test]
fn what_changed_after_a_turning_is_refused_now_and_marked_in_old_logs() -> Fallible {
    let mut wanted = request(2, 1, 2);
    wanted.blinding = Blinding::Solo;
    let (seed, nonce) = (Seed::from_phrase("alone"), Nonce::from_bytes([6; 32]));
    let (public, key) = plan(&wanted, &seed, &nonce)?;
    let [first, second] = public.trays.as_slice() else { return Err("two trays".into()) };
    let score = |code: Code, value: f64| Answer::Scores {
        taster: "taster 0".into(),
        code,
        values: [("body".to_owned(), value)].into(),
        note: None,
    };
    let turned = |tray: &waterflight::session::plan::Tray| Entry::Turned {
        taster: "taster 0".into(),
        tray: tray.number,
        cups: {
            let under = key.cups.iter().filter(|cup| cup.tray == Some(tray.number));
            tray.cups.iter().zip(under).map(|(&top, u)| TurnedCup { top, under: u.code }).collect()
        },
    };
    let (one, two) = match first.cups.as_slice() {
        [one, two] => (*one, *two),
        _ => return Err("two cups".into()),
    };
    // Today: the first tray is not turned over before the second is tasted, and never taken back.
    let mut score_log = ScoreLog::new(&public);
    let next = |score_log: &mut ScoreLog, entry: Entry| -> Result<(), Refusal> {
        let line = score_log.next_line("2031-05-04T10:00:00Z", entry)?;
        score_log.accept(line)
    };
    for (code, value) in [(one, 3.0), (two, 6.0)] {
        next(&mut score_log, Entry::Answer(score(code, value)))?;
    }
    let early = next(&mut score_log, turned(first));
    assert!(matches!(early, Err(Refusal::TurnedBeforeOthers { tray: 1, open: 2 })), "{early:?}");
    assert!(early.is_err_and(|refusal| refusal.remedy().contains("--unblinded")));
    for &code in &second.cups {
        next(&mut score_log, Entry::Answer(score(code, 5.0)))?;
    }
    next(&mut score_log, turned(first))?;
    let back = next(&mut score_log, Entry::Undo { of: 5 });
    assert!(matches!(back, Err(Refusal::TurningIsFinal { tray: 1, .. })), "{back:?}");
    let changed = next(&mut score_log, Entry::Correction { of: 1, answer: score(one, 9.0) });
    assert!(matches!(changed, Err(Refusal::AlreadyTurned { .. })), "{changed:?}");
    next(&mut score_log, turned(second))?;
    let reveal = reveal_entry(&score_log, &key.to_text()?, None)?;
    next(&mut score_log, reveal)?;
    assert!(revealed(&score_log, &key.to_text()?)?.after_turning.is_empty());

    // Before: all of this was taken in, so it still is read, and the results say so.
    let mut text = String::new();
    let mut entries = vec![
        Entry::Answer(score(one, 3.0)),
        Entry::Answer(score(two, 6.0)),
        turned(first),
        Entry::Undo { of: 3 },
        Entry::Correction { of: 1, answer: score(one, 9.0) },
        turned(first),
    ];
    entries.extend(second.cups.iter().map(|&code| Entry::Answer(score(code, 5.0))));
    entries.push(turned(second));
    for (n, entry) in (1..).zip(entries) {
        text += &Line { v: 1, n, at: "2030-01-01T10:00:00Z".into(), entry }.to_text()?;
    }
    let mut score_log = replay(&public, text.as_bytes())?;
    let reveal = reveal_entry(&score_log, &key.to_text()?, None)?;
    next(&mut score_log, reveal)?;
    let named = revealed(&score_log, &key.to_text()?)?;
    let said: Vec<(u64, &str)> =
        named.after_turning.iter().map(|one| (one.line, one.what.as_str())).collect();
    assert_eq!(
        said,
        [
            (4, "the turning of tray 1 was taken back"),
            (5, "an answer about tray 1 was entered"),
            (6, "the stickers of tray 1 were entered anew"),
            (7, "tray 2 was tasted after another had been turned over"),
        ]
    );
    Ok(())
}

/// From the first cup to the results, a person alone types what the program says.
#[test]
fn alone_the_next_command_is_always_named() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let plan = "session plan --name me --tasters ann --alone --rounds 2 --water soft --water hard \
                --attribute body --seed alone";
    run(&bench, &plan.split_whitespace().collect::<Vec<_>>())?;
    let folder = bench.join("sessions/me");
    let public = Plan::from_text(&fs::read_to_string(folder.join("plan.json"))?)?;
    let key = Key::from_text(&key_text(&bench, "me")?)?;
    let sheet = run(&bench, &["session", "sheet", "me", "--for", "taster"])?;
    for tray in &public.trays {
        let top = tray.cups.first().ok_or("no cup")?;
        let command = format!("waterflight session turned me {} {top}=…", tray.number);
        assert!(sheet.contains(&command), "{command} is not in\n{sheet}");
    }
    assert!(sheet.contains("waterflight session score me ann"), "{sheet}");
    let (mut typed, mut kinds) = (0, Vec::new());
    loop {
        let progress = run(&bench, &["session", "progress", "me", "--json"])?;
        let progress: Value = serde_json::from_str(&progress)?;
        let next = progress.pointer("/next").and_then(Value::as_str).ok_or("nothing named")?;
        let page = run(&bench, &["session", "progress", "me"])?;
        let page = page.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(page.contains(&format!("next: {next}")), "{next} is not in\n{page}");
        let mut words: Vec<String> = next.split_whitespace().skip(1).map(str::to_owned).collect();
        let mut stickers: Vec<String> = Vec::new();
        for word in &mut words {
            if let Some(top) = word.strip_suffix("=…") {
                if top == "body" {
                    *word = "body=5".into();
                    continue;
                }
                if stickers.is_empty() {
                    let holds = |t: &&waterflight::session::plan::Tray| {
                        t.cups.iter().any(|code| code.to_string() == top)
                    };
                    let tray = public.trays.iter().find(holds).ok_or("no tray")?.number;
                    let under = key.cups.iter().filter(|cup| cup.tray == Some(tray));
                    stickers = under.map(|cup| cup.code.to_string()).collect();
                }
                *word = format!("{top}={}", stickers.pop().ok_or("no sticker left")?);
            }
        }
        kinds.push(words.get(1).cloned().unwrap_or_default());
        let arguments: Vec<&str> = words.iter().map(String::as_str).collect();
        run(&bench, &arguments)?;
        typed += 1;
        if kinds.last().is_some_and(|kind| kind == "results") {
            break;
        }
        assert!(typed < 20, "{kinds:?}");
    }
    // All cups of both rounds before the first is turned over.
    let kinds: Vec<&str> = kinds.iter().map(String::as_str).collect();
    assert_eq!(
        kinds,
        ["score", "score", "score", "score", "turned", "turned", "reveal", "results"]
    );
    Ok(())
}

/// With several trays every cup is poured and shuffled before any is tasted, and turned when all are.
#[test]
fn alone_the_pours_come_first_and_the_turnings_last() -> Fallible {
    for (rounds, brewed) in [(1, false), (2, false), (3, true)] {
        let mut wanted = request(3, 1, rounds);
        wanted.blinding = Blinding::Solo;
        wanted.serving.brewing = brewed.then(|| Brewing {
            what: "coffee".into(),
            dose_g: 15.0,
            water_ml: 250.0,
            water_c: 94.0,
            yield_ml: 90.0,
        });
        let (public, _) = plan(&wanted, &Seed::from_phrase("steps"), &Nonce::from_bytes([8; 32]))?;
        let steps: Vec<String> = procedure(&public).into_iter().map(|step| step.what).collect();
        let at = |words: &str| {
            let found = steps.iter().position(|step| step.contains(words));
            found.ok_or_else(|| words.to_owned())
        };
        let (pour, away) = (at("then pour the water")?, at("face down")?);
        let (shuffle, taste, turn) = (at("Shuffle")?, at("Score each cup")?, at("turn the")?);
        let last = steps.iter().position(|step| step.contains("A turning is final")).ok_or("no")?;
        assert!(pour < away && away < shuffle && shuffle < taste && taste < last, "{steps:?}");
        assert!(turn <= last || steps.get(turn).is_some_and(|step| step.contains("Shuffle")));
        let all = steps.join(" ");
        assert_eq!(all.contains("every tray is written down"), rounds > 1, "{all}");
        assert_eq!(all.contains("brew the water of each vessel"), brewed, "{all}");
        assert!(!all.contains("fresh cups"), "{all}");
    }
    Ok(())
}

/// A damaged session of another day does not change a forecast without a word.
#[test]
fn a_session_that_cannot_be_read_is_named_beside_the_forecast() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let plan = |name: &str| {
        let words = format!(
            "session plan --name {name} --tasters ann,bo,cy --rounds 2 --water soft --water hard \
             --attribute body"
        );
        words.split_whitespace().map(str::to_owned).collect::<Vec<_>>()
    };
    let plan_of = |name: &str| -> Result<String, Box<dyn Error>> {
        let mut words = plan(name);
        words.push("--full".to_owned());
        run(&bench, &words.iter().map(String::as_str).collect::<Vec<_>>())
    };
    plan_of("first")?;
    let session = SessionFolder::open(&bench, "first")?;
    let mut rows = String::from("taster,code,body\n");
    for (n, tray) in session.plan.trays.iter().enumerate() {
        for (m, code) in tray.cups.iter().enumerate() {
            rows += &format!("{},{code},{}\n", tray.taster, 2 + (3 * n + 5 * m) % 7);
        }
    }
    let file = bench.join("first.csv");
    fs::write(&file, rows)?;
    run(&bench, &["session", "score", "first", "--csv", &file.display().to_string()])?;
    run(&bench, &["session", "reveal", "first"])?;
    let sound = plan_of("second")?;
    assert!(sound.contains("from your own session") && !sound.contains("cannot be read"));
    let broken = bench.join("sessions/first/plan.json");
    let text = fs::read_to_string(&broken)?;
    fs::write(&broken, text.get(..40).ok_or("too short")?)?;
    let said = plan_of("third")?;
    let said = said.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(said.contains("assumed, since no session of this bench has measured it"), "{said}");
    assert!(said.contains("an earlier session cannot be read") && said.contains("first"), "{said}");
    Ok(())
}

/// An answer is never given to another taster than the one on the tray.
#[test]
fn a_tray_of_nobody_is_not_the_first_taster_s() -> Fallible {
    let (mut public, mut key) =
        plan(&request(3, 2, 1), &Seed::from_phrase("nobody"), &Nonce::from_bytes([4; 32]))?;
    // Drawn by rules of another day, so that only the seal holds.
    key.generator = "another generator".into();
    public.generator = key.generator.clone();
    public.seal = waterflight::session::plan::key::seal(&key.to_text()?);
    if let Some(tray) = public.trays.last_mut() {
        tray.taster = "stranger".into();
    }
    let mut score_log = ScoreLog::new(&public);
    let entry = Entry::Reveal {
        seal: public.seal.clone(),
        missing_answers: score_log.missing_answers(),
        forced: Some("x".into()),
    };
    let line = score_log.next_line("2031-05-04T10:00:00Z", entry)?;
    score_log.accept(line)?;
    let found = revealed(&score_log, &key.to_text()?);
    assert!(
        matches!(&found, Err(RevealError::TrayOfNobody { taster, .. }) if taster == "stranger"),
        "{found:?}"
    );
    Ok(())
}
