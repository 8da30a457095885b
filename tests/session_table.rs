//! A session at work: the prompt, corrections, files of scores, a tasting alone, a key kept
//! elsewhere, a forced reveal, late scores, what is poured, what changed meanwhile.
//!
//! Above 400 lines: one session at work, with the few helpers that type into it.

use std::error::Error;
use std::fs;
use std::path::Path;

use crate::common::answers::{ended, words};
use crate::common::{key_text, program, starter_bench};
use serde_json::Value;
use waterflight::bench::session_folder::SessionFolder;
use waterflight::files::Diagnostic;
use waterflight::session::plan::{Key, Plan};
use waterflight::session::score::{Entry, ScoreLog, revealed};

type Fallible = Result<(), Box<dyn Error>>;

fn tried(bench: &Path, line: &str, typed: &str) -> Result<(bool, String, String), Box<dyn Error>> {
    let (status, out, errors) = ended(bench, &words(&format!("session {line}")), typed)?;
    Ok((status == 0, out, errors))
}

fn run(bench: &Path, line: &str) -> Result<String, Box<dyn Error>> {
    typed(bench, line, "")
}

fn typed(bench: &Path, line: &str, typed: &str) -> Result<String, Box<dyn Error>> {
    let (done, out, errors) = tried(bench, line, typed)?;
    assert!(done, "{line}: {errors}");
    Ok(out)
}

fn json(bench: &Path, line: &str) -> Result<Value, Box<dyn Error>> {
    Ok(serde_json::from_str(&run(bench, &format!("{line} --json"))?)?)
}

fn session(bench: &Path, name: &str) -> Result<(SessionFolder, ScoreLog), Diagnostic> {
    let session = SessionFolder::open(bench, name)?;
    let score_log = session.score_log()?;
    Ok((session, score_log))
}

/// Codes of a taster, in the order of serving.
fn codes(plan: &Plan, taster: &str) -> Vec<String> {
    plan.trays_of(taster).flat_map(|t| &t.cups).map(ToString::to_string).collect()
}

const SCORING: &str = "plan --name night --tasters 'ann, bo li' --water soft --water hard --water middle \
                       --attribute 'body, 0 to 10 by 0.5, thin to heavy' --attribute liking";

fn scoring(bench: &Path) -> Result<[Vec<String>; 2], Box<dyn Error>> {
    run(bench, SCORING)?;
    let plan = session(bench, "night")?.0.plan;
    Ok([codes(&plan, "ann"), codes(&plan, "bo li")])
}

fn scores(bench: &Path, taster: &str, code: &str) -> Result<String, Box<dyn Error>> {
    let (session, score_log) = session(bench, "night")?;
    let tray = session.plan.trays.iter().position(|t| t.taster == taster).ok_or("no tray")?;
    let scores = score_log.scores_of(tray, code.parse()?);
    let scores = scores.into_iter().flatten().map(|(name, s)| format!("{name} {}", s.value));
    Ok(scores.collect::<Vec<_>>().join(", "))
}

#[test]
fn the_prompt_walks_the_cups_and_writes_whole_ones() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let [ann, bo] = scoring(&bench)?;
    let [first, second, third] = ann.as_slice() else { return Err("three cups".into()) };
    let other = bo.last().ok_or("no cup")?;
    // In one line; attribute by attribute with a note; out of turn; another taster, who has a
    // blank in the name; and a cup that is left half typed.
    let said = typed(
        &bench,
        "score night",
        &format!("ann\n4 6 like tin\n{third}\n5.5\n7\n\nbo li {other} 3 3\nann\n8\n"),
    )?;
    assert!(said.contains(&format!("cup {second} was half typed and is not written")), "{said}");
    assert_eq!(scores(&bench, "ann", first)?, "body 4, liking 6");
    assert_eq!(scores(&bench, "ann", third)?, "body 5.5, liking 7");
    assert_eq!(scores(&bench, "bo li", other)?, "body 3, liking 3");
    assert_eq!(scores(&bench, "ann", second)?, "");
    let (_, score_log) = session(&bench, "night")?;
    assert_eq!((score_log.lines().len(), score_log.missing_answers()), (3, 3));

    // The next run says where the last one ended and asks for the cup that is owed.
    let said = typed(&bench, "score night ann", "skip\n")?;
    assert!(said.contains("the last entry: line 3") && said.contains(&format!(": {second} (")));
    // Undo takes back one's own, not what another entered since; it is kept.
    typed(&bench, "score night ann", "undo\n")?;
    assert_eq!(scores(&bench, "ann", third)?, "");
    assert_eq!(scores(&bench, "bo li", other)?, "body 3, liking 3");
    // A correction keeps what it does not name; one that lacks a cup is refused.
    typed(&bench, "score night ann", &format!("correct {first} liking=5\n"))?;
    assert_eq!(scores(&bench, "ann", first)?, "body 4, liking 5");
    let said = typed(&bench, "score night ann", &format!("correct {second} 5 5\n"))?;
    assert!(said.contains("refused: nothing is entered about cup"), "{said}");
    // A refusal leaves what is typed so far, and the session, as it was.
    let said = typed(&bench, "score night ann", &format!("{second} 5\n40\n{third}\n6\n\n"))?;
    assert!(said.contains("off the scale") && said.contains("is half typed"), "{said}");
    assert_eq!(scores(&bench, "ann", second)?, "body 5, liking 6");
    // What is left out on purpose stays owed.
    typed(&bench, "score night ann", &format!("{third} 5\nenough\n"))?;
    let pending = run(&bench, "progress night")?;
    assert!(pending.contains(&format!("ann      2      {third}")), "{pending}");
    Ok(())
}

#[test]
fn the_command_corrects_and_takes_back() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let [ann, bo] = scoring(&bench)?;
    let (cup, other) = (ann.first().ok_or("no cup")?, bo.first().ok_or("no cup")?);
    run(&bench, &format!("score night ann {cup} 4 6 --note tin"))?;
    run(&bench, &format!("score night 'bo li' {other} 5 5"))?;
    let said = run(&bench, &format!("score night ann {cup} body=4.5 --correct 1"))?;
    assert!(said.contains("body 4.5, liking 6; tin, instead of line 1"), "{said}");
    run(&bench, "score night 'bo li' --undo")?;
    assert_eq!(scores(&bench, "bo li", other)?, "");
    run(&bench, "score night --undo")?;
    assert_eq!(scores(&bench, "ann", cup)?, "body 4, liking 6");
    let progress = json(&bench, "progress night")?;
    assert_eq!(progress.pointer("/entries").and_then(Value::as_array).map(Vec::len), Some(5));
    Ok(())
}

#[test]
fn of_a_file_all_rows_are_entered_or_none() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let [ann, bo] = scoring(&bench)?;
    let [a, b, c] = ann.as_slice() else { return Err("three cups".into()) };
    let other = bo.first().ok_or("no cup")?;
    let wrong = format!(
        "taster,code,body,liking,note\nann,{a},4,6,good\nann,{b},40,6,\nbo,{other},4,6,\nann,{c},4,,\nann,{c},5,5,\n"
    );
    fs::write(bench.join("scores.csv"), wrong)?;
    let (done, _, errors) = tried(&bench, "score night --csv scores.csv", "")?;
    assert!(!done);
    for part in [
        "line 3: body 40 is off",
        "line 4: `bo` is no taster",
        "line 6: line 5 of the file is about the same",
        "nothing of the file",
    ] {
        assert!(errors.contains(part), "{part}: {errors}");
    }
    assert!(!errors.contains("line 2:") && !errors.contains("line 5:"));
    assert_eq!(session(&bench, "night")?.1.lines().len(), 0);
    let right = format!("taster,code,body,liking,note\nann,{a},4,6,good\n\nann,{b},4,6,\n'x'\n");
    fs::write(bench.join("scores.csv"), &right)?;
    assert!(!tried(&bench, "score night --csv scores.csv", "")?.0, "a row is too short");
    fs::write(bench.join("scores.csv"), right.replace("'x'\n", ""))?;
    let said = run(&bench, "score night --csv scores.csv")?;
    assert!(said.contains("2 entries are on disk") && said.contains("4 answers are missing"));
    assert!(run(&bench, "score night --csv scores.csv")?.contains("2 rows were there already"));
    // What stands twice is refused: only one of the two can be meant.
    let [.., second] = bo.as_slice() else { return Err("no cup".into()) };
    for twice in [
        format!("taster,code,body,liking,liking\nbo li,{second},4,6,7\n"),
        format!("taster,code,body,liking,note,Note\nbo li,{second},4,6,a,b\n"),
        format!("taster,taster,code,body,liking\nbo li,ann,{second},4,6\n"),
    ] {
        fs::write(bench.join("scores.csv"), &twice)?;
        let (done, _, errors) = tried(&bench, "score night --csv scores.csv", "")?;
        assert!(!done && errors.contains("two columns of this table are the same"), "{errors}");
    }
    let line = format!("score night 'bo li' {second} 4 6 body=5");
    let (done, _, errors) = tried(&bench, &line, "")?;
    assert!(!done && errors.contains("body is given twice"), "{errors}");
    // Trays have their codes in one cell.
    run(&bench, "plan --name rank --tasters ann,bo --water soft --water hard --method ranking")?;
    let plan = session(&bench, "rank")?.0.plan;
    let mut table = "taster,codes,note\n".to_owned();
    for taster in &plan.tasters {
        table += &format!("{taster},{},\n", codes(&plan, taster).join(" "));
    }
    fs::write(bench.join("scores.csv"), table)?;
    assert!(run(&bench, "score rank --csv scores.csv")?.contains("no answer is missing"));
    Ok(())
}

#[test]
fn notes_are_kept_with_their_time() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    scoring(&bench)?;
    run(&bench, "note night 'second brew ran 20 s longer' --taster ann")?;
    typed(&bench, "score night", "note doors open\n")?;
    let progress = json(&bench, "progress night")?;
    assert_eq!(progress.pointer("/notes/0/taster"), Some(&"ann".into()));
    assert_eq!(progress.pointer("/notes/1/text"), Some(&"doors open".into()));
    run(&bench, "note night 'bo saw the pourer' --unblinded")?;
    run(&bench, "reveal night --force rehearsal")?;
    run(&bench, "note night 'after the reveal'")?;
    let results = json(&bench, "results night")?;
    assert_eq!(results.pointer("/notes").and_then(Value::as_array).map(Vec::len), Some(3));
    assert!(
        results.pointer("/notes/0/at").and_then(Value::as_str).is_some_and(|at| at.len() == 20)
    );
    Ok(())
}

#[test]
fn a_forced_reveal_is_recorded_and_late_scores_are_left_out() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let [ann, _] = scoring(&bench)?;
    let [a, b, _] = ann.as_slice() else { return Err("three cups".into()) };
    run(&bench, &format!("score night ann {a} 4 6"))?;
    let said = run(&bench, "reveal night --force 'the kettle broke'")?;
    assert!(said.contains("forced with 5 missing, which is recorded: the kettle broke"), "{said}");
    let results = json(&bench, "results night")?;
    assert_eq!(results.pointer("/forced"), Some(&"the kettle broke".into()));
    assert_eq!(results.pointer("/missing_answers"), Some(&5.into()));
    assert!(!tried(&bench, &format!("score night ann {b} 5 5"), "")?.0);
    let said = run(&bench, &format!("score night ann {b} 5 5 --late"))?;
    assert!(said.contains("late, unblinded and left out"), "{said}");
    let after = json(&bench, "results night")?;
    assert_eq!(after.pointer("/late"), Some(&1.into()));
    assert_eq!(after.pointer("/standings"), results.pointer("/standings"));
    // The prompt does not ask for anything any more.
    assert!(typed(&bench, "score night ann", "")?.contains("its scores are closed"));
    Ok(())
}

#[test]
fn a_secret_kept_elsewhere_opens_the_session() -> Fallible {
    let (folder, bench) = starter_bench()?;
    let secret = folder.path().join("apart.secret");
    let path = secret.display().to_string();
    run(&bench, &format!("{SCORING} --key {path}"))?;
    let open = bench.join("sessions/night/key.json");
    let text = fs::read_to_string(&secret)?;
    assert!(!text.contains("soft") && !open.exists());
    for line in ["sheet night --for pourer", "poured night", "reveal night --force why"] {
        let (done, _, errors) = tried(&bench, line, "")?;
        assert!(!done && errors.contains("--key FILE"), "{errors}");
    }
    for line in ["sheet night --for pourer", "poured night", "reveal night --force why"] {
        run(&bench, &format!("{line} --key {path}"))?;
    }
    // Once revealed it is no secret: the key lies open with the session, and its sum is the seal.
    let plan = session(&bench, "night")?.0.plan;
    assert_eq!(waterflight::session::plan::key::seal(&fs::read_to_string(&open)?), plan.seal);
    run(&bench, "results night")?;
    // A secret serves again, and no other file is taken for one or written over.
    let other = SCORING.replace("night", "other");
    run(&bench, &format!("{other} --key {path}"))?;
    assert_eq!(fs::read_to_string(&secret)?, text);
    let third = SCORING.replace("night", "third");
    let bench_file = bench.join("bench.ron");
    let before = fs::read(&bench_file)?;
    assert!(!tried(&bench, &format!("{third} --key {}", bench_file.display()), "")?.0);
    assert_eq!(fs::read(&bench_file)?, before);
    assert!(!bench.join("sessions/third").exists());
    Ok(())
}

/// A run stopped after the log had the reveal and before the folder had the open key.
#[test]
fn a_reveal_that_was_stopped_is_finished() -> Fallible {
    let (folder, bench) = starter_bench()?;
    let secret = folder.path().join("apart.secret");
    let path = secret.display().to_string();
    run(&bench, &format!("{SCORING} --key {path}"))?;
    let whole = run(&bench, &format!("reveal night --force why --key {path}"))?;
    let open = bench.join("sessions/night/key.json");
    let key = fs::read(&open)?;
    fs::remove_file(&open)?;
    let (done, _, errors) = tried(&bench, "results night", "")?;
    assert!(!done && errors.contains("--key FILE"), "{errors}");
    let log = fs::read(bench.join("sessions/night/scores.jsonl"))?;
    // Another secret does not finish it, nor does a key of earlier days that was changed.
    let other = folder.path().join("other.secret");
    run(&bench, &format!("{} --key {}", SCORING.replace("night", "other"), other.display()))?;
    assert!(!tried(&bench, &format!("reveal night --key {}", other.display()), "")?.0);
    let changed = folder.path().join("changed.key");
    fs::write(&changed, String::from_utf8(key.clone())?.replacen("\"hard\"", "\"soft\"", 1))?;
    assert!(!tried(&bench, &format!("reveal night --key {}", changed.display()), "")?.0);
    assert!(!open.exists());
    assert_eq!(run(&bench, &format!("reveal night --key {path}"))?, whole);
    assert_eq!(fs::read(&open)?, key);
    assert_eq!(fs::read(bench.join("sessions/night/scores.jsonl"))?, log);
    run(&bench, "results night")?;
    assert!(!tried(&bench, &format!("reveal night --key {path}"), "")?.0, "it is revealed now");
    Ok(())
}

#[test]
fn the_next_cup_is_no_note_on_the_one_before() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let [ann, _] = scoring(&bench)?;
    let [first, second, third] = ann.as_slice() else { return Err("three cups".into()) };
    let said = typed(
        &bench,
        "score night ann",
        &format!("4\n6\n{second} 7 8\n\n{second} 7 8\n5\n5\n; {first} was sweeter\n"),
    )?;
    assert!(said.contains("refused: the cup") && said.contains("is half typed"), "{said}");
    assert_eq!(scores(&bench, "ann", second)?, "body 7, liking 8");
    let (session, score_log) = session(&bench, "night")?;
    let notes: Vec<_> = score_log
        .lines()
        .iter()
        .map(|recorded| match &recorded.line.entry {
            Entry::Answer(answer) => answer.note(),
            _ => None,
        })
        .collect();
    let note = format!("{first} was sweeter");
    assert_eq!(notes, [None, None, Some(note.as_str())], "{third} in {}", session.name);
    Ok(())
}

#[test]
fn a_line_in_another_encoding_is_refused_and_the_prompt_goes_on() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let [ann, _] = scoring(&bench)?;
    let [first, second, _] = ann.as_slice() else { return Err("three cups".into()) };
    let mut program = program()?;
    let lines: [&[u8]; 3] = [b"4 6 s\xfc\xdf\n", b"4 6 sweet\n", b"5 5\n"];
    let output = program
        .current_dir(&bench)
        .args(["session", "score", "night", "ann"])
        .write_stdin(lines.concat())
        .output()?;
    let said = String::from_utf8(output.stdout)?;
    assert!(output.status.success() && said.contains("refused: the line is not UTF-8"), "{said}");
    assert!(said.contains("2 entered, 1 refused"), "{said}");
    assert_eq!(scores(&bench, "ann", first)?, "body 4, liking 6");
    assert_eq!(scores(&bench, "ann", second)?, "body 5, liking 5");
    Ok(())
}

/// A session planned before it was kept whether a batch was verified, and files of newer programs.
#[test]
fn formats_are_read_first_and_older_ones_as_they_are() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let program = |line: &str| -> Result<(bool, String), Box<dyn Error>> {
        let mut program = program()?;
        let output = program.current_dir(&bench).args(line.split(' ')).output()?;
        Ok((output.status.success(), String::from_utf8(output.stderr)?))
    };
    program("weighed calcium --salt 15g --total 500g --date 2026-03-01")?;
    let log = bench.join("records/batches.jsonl");
    let weighed = fs::read_to_string(&log)?;
    let verified = |day: &str| -> Fallible {
        let line = format!(
            "{{\"kind\":\"verified\",\"v\":1,\"stock\":\"calcium\",\"batch\":1,\"day\":\"{day}\",\
             \"g_per_kg\":29.0,\"standard_g_per_kg\":0.1}}\n"
        );
        Ok(fs::write(&log, format!("{weighed}{line}"))?)
    };
    verified("2026-03-02")?;
    scoring(&bench)?;
    let file = bench.join("sessions/night/waters.json");
    let text = fs::read_to_string(&file)?;
    let mut waters: Value = serde_json::from_str(&text)?;
    assert_eq!(waters.pointer("/format"), Some(&4.into()));
    let object = waters.as_object_mut().ok_or("no waters")?;
    object.insert("format".into(), 1.into());
    object.insert("day".into(), "2026-03-05".into());
    object.remove("flight_sum");
    let mut forgotten = 0;
    for water in object.get_mut("waters").and_then(Value::as_array_mut).ok_or("no waters")? {
        for dose in water.get_mut("doses").and_then(Value::as_array_mut).ok_or("no doses")? {
            let dose = dose.as_object_mut().ok_or("no dose")?;
            forgotten += usize::from(dose.remove("verified_g_per_kg").is_some());
        }
    }
    assert!(forgotten > 0);
    fs::write(&file, serde_json::to_string(&waters)?)?;
    // Verified before it was planned, as far as the days tell: nothing changed since.
    assert_eq!(json(&bench, "progress night")?.pointer("/warnings"), Some(&serde_json::json!([])));
    verified("2026-03-06")?;
    let said = json(&bench, "progress night")?;
    let warning = said.pointer("/warnings/0").and_then(Value::as_str).unwrap_or_default();
    assert!(warning.contains("was verified since"), "{said}");
    fs::write(
        &file,
        text.replacen("\"format\": 4,", "\"format\": 9,\n  \"weather\": \"dry\",", 1),
    )?;
    let (done, _, errors) = tried(&bench, "sheet night --for pourer", "")?;
    assert!(!done && errors.contains("format 9") && errors.contains("newer program"), "{errors}");
    fs::write(&file, &text)?;

    let pours = bench.join("records/pours.jsonl");
    let older = "{\"v\":1,\"day\":\"2026-03-01\",\"flight\":\"first-flight\",\"taken\":[]}\n";
    fs::write(&pours, older)?;
    run(&bench, "poured night --date 2026-03-02")?;
    let now = fs::read_to_string(&pours)?;
    assert!(now.starts_with(older) && now.contains("\"v\":5"), "{now}");
    assert!(program("stocktake")?.0);
    fs::write(&pours, now.replace("\"v\":5", "\"v\":9,\"by\":\"ann\""))?;
    let (done, errors) = program("stocktake")?;
    assert!(!done && errors.contains("format 9") && errors.contains("newer program"), "{errors}");
    Ok(())
}

#[test]
fn alone_the_cups_are_turned_and_the_answers_find_their_waters() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    run(
        &bench,
        "plan --name me --tasters ann --alone --rounds 2 --water soft --water hard --attribute body",
    )?;
    let plan = session(&bench, "me")?.0.plan;
    let key = Key::from_text(&key_text(&bench, "me")?)?;
    let (done, _, errors) = tried(&bench, "turned me 1 317=542", "")?;
    assert!(!done, "{errors}");
    // Hard is scored 8 and soft 2, whatever sticker came to stand where.
    let (mut script, mut turnings) = (String::new(), String::new());
    for tray in &plan.trays {
        let mut stickers: Vec<_> =
            key.cups.iter().filter(|c| c.tray == Some(tray.number)).collect();
        stickers.reverse();
        for (top, under) in tray.cups.iter().zip(&stickers) {
            script += &format!("{top} {}\n", if under.water == "hard" { 8 } else { 2 });
        }
        let pairs = tray.cups.iter().zip(&stickers).map(|(t, u)| format!("{t}={}", u.code));
        turnings += &(pairs.collect::<Vec<_>>().join(" ") + "\n");
    }
    // Both trays first, and then both are turned over.
    script += &turnings;
    let said = typed(&bench, "score me ann", &script)?;
    assert!(said.contains("turn its cups over") && said.contains("no answer is missing"), "{said}");
    // A turning is not taken back; a sticker read wrongly is read again, and the results say so.
    let (done, _, errors) = tried(&bench, "score me --undo", "")?;
    assert!(!done && errors.contains("cannot be taken back"), "{errors}");
    let last = script.lines().last().ok_or("no turning")?;
    run(&bench, &format!("turned me 2 {last}"))?;
    run(&bench, "reveal me")?;
    let (_, score_log) = session(&bench, "me")?;
    let text = key_text(&bench, "me")?;
    let found = revealed(&score_log, &text)?;
    for row in &found.scores {
        let water = found.waters.get(row.cup.water).ok_or("no water")?;
        assert_eq!(row.value, Some(if water == "hard" { 8.0 } else { 2.0 }));
    }
    assert_eq!(found.scores.len(), 4);
    let said = run(&bench, "results me")?;
    assert!(said.contains("Not blind") && said.contains("entered anew"), "{said}");
    Ok(())
}

#[test]
fn answers_about_trays_are_entered_corrected_and_taken_back() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    for (name, method, answers) in [
        ("rank", "ranking", 3),
        ("tri", "triangle --pair soft hard", 1),
        ("tet", "tetrad --pair soft hard", 2),
    ] {
        let waters = if name == "rank" { "--water soft --water hard --water middle" } else { "" };
        run(&bench, &format!("plan --name {name} --tasters ann,bo {waters} --method {method}"))?;
        let plan = session(&bench, name)?.0.plan;
        let cups = codes(&plan, "ann");
        let answer = cups.iter().take(answers).cloned().collect::<Vec<_>>().join(" ");
        let mut turned = cups.iter().skip(cups.len() - answers).cloned().collect::<Vec<_>>();
        turned.reverse();
        let other = turned.join(" ");
        let said = typed(
            &bench,
            &format!("score {name} ann"),
            &format!("{answer} dull\ncorrect {other}\nundo\nundo\n{other}; 2 sips\n"),
        )?;
        assert!(said.contains(&format!("tray 1: {other}; dull, instead of line 1")), "{said}");
        let (_, score_log) = session(&bench, name)?;
        assert_eq!(score_log.lines().len(), 5, "{said}");
        let stands = score_log.answer_about(0).ok_or("no answer")?;
        assert_eq!(stands.note(), Some("2 sips"));
        assert!(score_log.progress_of("ann").pending.is_empty());
    }
    Ok(())
}

#[test]
fn what_a_session_takes_leaves_the_bottles() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let program = |line: &str| -> Result<String, Box<dyn Error>> {
        let output = program()?.current_dir(&bench).args(line.split(' ')).output()?;
        Ok(String::from_utf8(output.stdout)?)
    };
    program("weighed calcium --salt 15g --total 500g --date 2026-03-01")?;
    program("weighed soda --salt 0.03g --total 1g --date 2026-03-01")?;
    let plan = json(&bench, SCORING)?;
    assert_eq!(plan.pointer("/short_of"), Some(&serde_json::json!([])));
    let sheet = json(&bench, "sheet night --for pourer --spare '50 %'")?;
    let stocks = sheet.pointer("/stocks").and_then(Value::as_array).ok_or("no stocks")?;
    let of = |name: &str| stocks.iter().find(|s| s.get("stock") == Some(&name.into()));
    let calcium = of("calcium").and_then(|s| s.get("ml")?.as_f64()).ok_or("no calcium")?;
    run(&bench, "poured night --spare '50 %' --date 2026-03-02")?;
    let shelf: Value = serde_json::from_str(&program("stocktake --json")?)?;
    let bottles = shelf.pointer("/bottles").and_then(Value::as_array).ok_or("no bottles")?;
    let bottle = bottles.iter().find(|b| b.get("stock") == Some(&"calcium".into()));
    let poured = bottle.and_then(|b| b.get("taken_ml")?.as_f64()).ok_or("nothing poured")?;
    assert!((poured - calcium).abs() < 1e-9, "{poured} {calcium}");
    let (done, _, errors) = tried(&bench, "poured night", "")?;
    assert!(!done && errors.contains("--again"), "{errors}");
    run(&bench, "poured night --again --least '2 L'")?;
    let sheet = json(&bench, "sheet night --for pourer --least '2 L'")?;
    assert_eq!(sheet.pointer("/bottles/0/l_with_spare"), Some(&2.0.into()));
    // What belongs to the sheet of somebody else is not passed over.
    for line in ["pourer --ballots --print z.html", "server --taster ann", "taster --least '1 L'"] {
        let (done, _, errors) = tried(&bench, &format!("sheet night --for {line}"), "")?;
        assert!(!done && errors.contains("is for another sheet"), "{line}: {errors}");
    }
    // With larger cups a bottle is short: said when it is planned, with what to make on the sheet.
    let large = SCORING.replace("night", "large") + " --cup '400 mL'";
    assert_eq!(json(&bench, &large)?.pointer("/short_of"), Some(&serde_json::json!(["soda"])));
    let sheet = json(&bench, "sheet large --for pourer")?;
    let stocks = sheet.pointer("/stocks").and_then(Value::as_array).ok_or("no stocks")?;
    let soda = stocks.iter().find(|s| s.get("stock") == Some(&"soda".into())).ok_or("no soda")?;
    let number = |key: &str| soda.get(key).and_then(Value::as_f64).unwrap_or(f64::NAN);
    assert!((number("ml") - number("left_ml") - number("missing_ml")).abs() < 1e-9);
    assert!(number("make_ml") >= number("missing_ml"));
    Ok(())
}

#[test]
fn a_bench_that_moved_on_is_said() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let program = |line: &str| -> Fallible {
        let mut program = program()?;
        let done = program.current_dir(&bench).args(line.split(' ')).output()?.status.success();
        if done { Ok(()) } else { Err(line.into()) }
    };
    program("weighed calcium --salt 15g --total 500g --date 2026-03-01")?;
    program("weighed table-salt --salt 15g --total 500g --date 2026-03-01")?;
    scoring(&bench)?;
    let warnings = |line: &str| -> Result<Vec<String>, Box<dyn Error>> {
        let said = json(&bench, line)?;
        let list = said.pointer("/warnings").and_then(Value::as_array).ok_or("no warnings")?;
        Ok(list.iter().filter_map(Value::as_str).map(str::to_owned).collect())
    };
    assert!(warnings("progress night")?.is_empty());
    // Table salt is in none of these waters, so its new batch is nobody's business.
    program("weighed table-salt --salt 16g --total 500g --date 2026-03-04")?;
    assert!(warnings("progress night")?.is_empty());
    program("weighed calcium --salt 16g --total 500g --date 2026-03-04")?;
    let said = warnings("progress night")?;
    assert!(matches!(said.as_slice(), [one] if one.starts_with("calcium: batch 2 was recorded")));
    program("weighed soda --salt 15g --total 500g --date 2026-03-04")?;
    let flight = bench.join("flights/first-flight.ron");
    fs::write(&flight, fs::read_to_string(&flight)? + "// another thought\n")?;
    let said = warnings("sheet night --for pourer")?;
    let changes = said.iter().filter(|one| !one.contains("meant to keep"));
    assert_eq!(changes.count(), 3, "{said:?}");
    fs::remove_file(&flight)?;
    let log = bench.join("records/batches.jsonl");
    let records = fs::read_to_string(&log)?;
    fs::write(&log, "nonsense\n")?;
    assert!(matches!(warnings("progress night")?.as_slice(), [one] if one.contains("not known")));
    fs::write(&log, records)?;
    // Neither scoring nor the reveal needs the flight.
    let said = warnings("reveal night --force why")?;
    assert!(said.iter().any(|one| one.contains("cannot be found any more")), "{said:?}");
    Ok(())
}

#[test]
fn a_correction_never_touches_what_another_said() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let [ann, bo] = scoring(&bench)?;
    let (a, b) = (ann.first().ok_or("no cup")?, bo.first().ok_or("no cup")?);
    run(&bench, &format!("score night ann {a} 4 6"))?;
    let (done, _, errors) = tried(&bench, &format!("score night 'bo li' {b} 3 3 --correct 1"), "")?;
    assert!(!done && errors.contains("line 1 is ann's, not bo li's"), "{errors}");
    assert!(errors.contains("`waterflight session progress night --entries`"), "{errors}");
    // An order that comes too late is not asked for in full first.
    let (done, _, errors) = tried(&bench, "expect night 'liking: soft > hard'", "")?;
    assert!(!done && errors.contains("before the first answer"), "{errors}");
    // Words of the guided start are words of this prompt.
    let out = typed(&bench, "score night 'bo li'", &format!("{b} 4\nback\nleave\n"))?;
    assert!(out.contains("what was typed is dropped") && out.contains("0 refused"), "{out}");
    Ok(())
}
