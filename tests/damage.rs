//! Damage stays where it is: what is garbled stops only what needs it, `check` lists it all, and nothing
//! that a user writes or a table holds becomes a fault of the program.
//!
//! Above 400 lines: every file of a bench garbled, and what still works.
#![expect(clippy::indexing_slicing, reason = "a missing value is an error of the check")]

use std::error::Error;
use std::fs;
use std::path::Path;

use serde_json::Value;

use crate::common::answers::{ended, words};
use crate::common::{starter_bench, state};

type Fallible = Result<(), Box<dyn Error>>;

/// Exit status, answer and mistakes of a command; quotes hold words together.
fn run(bench: &Path, line: &str, input: &str) -> Result<(i32, String, String), Box<dyn Error>> {
    ended(bench, &words(line), input)
}

fn done(bench: &Path, line: &str) -> Result<String, Box<dyn Error>> {
    let (status, out, errors) = run(bench, line, "")?;
    assert_eq!(status, 0, "{line}: {errors}");
    Ok(out)
}

fn refused(bench: &Path, line: &str) -> Result<String, Box<dyn Error>> {
    let (status, _, errors) = run(bench, line, "")?;
    assert!(!matches!(status, 0 | 1 | 70 | 101), "{line}: {status} {errors}");
    Ok(errors)
}

fn check(bench: &Path) -> Result<(i32, Value), Box<dyn Error>> {
    let (status, out, _) = run(bench, "check --json", "")?;
    Ok((status, serde_json::from_str(&out)?))
}

const SESSION: &str = "session plan first-flight --name night --tasters ann,bo --water soft --water hard \
                       --attribute body";

/// A bench with batches, pours and a session, in which nothing is wrong.
fn full_bench() -> Result<(tempfile::TempDir, std::path::PathBuf), Box<dyn Error>> {
    let (folder, bench) = starter_bench()?;
    for line in [
        "weighed epsom --salt '40 g' --total '1000 g'",
        "weighed soda --salt '30 g' --total '1000 g'",
        "poured",
        "poured",
        SESSION,
        "session poured night",
    ] {
        done(&bench, line)?;
    }
    Ok((folder, bench))
}

#[test]
fn a_garbled_pour_stops_only_what_counts_pours() -> Fallible {
    let (_folder, bench) = full_bench()?;
    let log = bench.join("records/pours.jsonl");
    let text = fs::read_to_string(&log)?;
    for garbled in ["{\"v\":3,\"n\":2,\"day\":", "\u{0}\u{0}", "{\"v\":3}", "\"", "\u{fffd}"] {
        let mut lines: Vec<&str> = text.lines().collect();
        lines.get_mut(1).map(|line| *line = garbled).ok_or("no second line")?;
        fs::write(&log, lines.join("\n") + "\n")?;
        for line in [
            "salts",
            "water",
            "why soft",
            "export targets",
            "export planned",
            "export analyses",
            "stock",
            "session sheet night --for pourer",
            "session progress night",
            "journal",
        ] {
            done(&bench, line)?;
        }
        assert!(done(&bench, "mix")?.contains("line 2 is no record"), "{garbled}");
        for line in ["stocktake", "session poured night"] {
            let said = refused(&bench, line)?;
            assert!(said.contains("line 2") || said.contains("already"), "{line}: {said}");
        }
        let (status, found) = check(&bench)?;
        assert_eq!(status, 1);
        assert_eq!(found["damage"].as_array().map(Vec::len), Some(1), "{found}");
    }
    // Bytes that are no text are a line as any other.
    let bytes = [text.as_bytes(), b"\xff\xfe\n"].concat();
    fs::write(&log, bytes)?;
    done(&bench, "salts")?;
    assert!(refused(&bench, "stocktake")?.contains("line 4"));
    Ok(())
}

#[test]
fn a_garbled_batch_stops_only_what_needs_strengths() -> Fallible {
    let (_folder, bench) = full_bench()?;
    let log = bench.join("records/batches.jsonl");
    let text = fs::read_to_string(&log)?;
    for garbled in
        [text.replacen("\"salt_g\":40.0", "\"salt_g\":", 1), text.replacen("40.0", "1e300", 1)]
    {
        assert_ne!(garbled, text);
        fs::write(&log, &garbled)?;
        for line in
            ["salts", "export analyses", "water 'hill spring'", "session progress night", "journal"]
        {
            done(&bench, line)?;
        }
        for line in ["mix", "stock", "water soft", "stocktake"] {
            let said = refused(&bench, line)?;
            assert!(said.contains("batches.jsonl"), "{line}: {said}");
        }
        assert_eq!(check(&bench)?.0, 1);
    }
    Ok(())
}

#[test]
fn a_line_lost_or_doubled_is_seen() -> Fallible {
    let (_folder, bench) = full_bench()?;
    let left = |bench: &Path| -> Result<Option<f64>, Box<dyn Error>> {
        let stocks: Value = serde_json::from_str(&done(bench, "stocktake --json")?)?;
        Ok(stocks
            .pointer("/bottles/1/taken_ml")
            .or(stocks.pointer("/stocks/1/taken_ml"))
            .and_then(Value::as_f64))
    };
    let whole = left(&bench)?;
    for name in ["pours", "batches"] {
        let log = bench.join(format!("records/{name}.jsonl"));
        let text = fs::read_to_string(&log)?;
        let lines: Vec<&str> = text.lines().collect();
        let (Some(first), Some(second)) = (lines.first(), lines.get(1)) else {
            return Err("two".into());
        };
        let number = |line: &str| -> Result<u64, Box<dyn Error>> {
            let line: Value = serde_json::from_str(line)?;
            Ok(line.get("n").and_then(Value::as_u64).ok_or("no number")?)
        };
        let (one, two) = (number(first)?, number(second)?);
        let doubled = text.replacen(second, &format!("{second}\n{second}"), 1);
        let lost = text.replacen(&format!("{first}\n"), "", 1);
        let far = text.replacen(&format!("\"n\":{two}"), "\"n\":999999", 1);
        let moved: Vec<&str> =
            [*second, *first].into_iter().chain(lines.iter().skip(2).copied()).collect();
        let moved = moved.join("\n") + "\n";
        for (changed, said) in [
            (doubled, format!("line 3 has the number {two}, which was there before")),
            (lost, format!("record {one} is lost, before line 1")),
            (far, "to 999998 are lost, before line 2".to_owned()),
            (moved, format!("line 2 has the number {one} and stands behind number {two}")),
        ] {
            fs::write(&log, &changed)?;
            let (status, found) = check(&bench)?;
            assert_eq!(status, 1, "{name}: {said}");
            assert!(found.to_string().contains(&said), "{found}");
            assert!(done(&bench, "mix")?.contains("waterflight check"), "{name}: {said}");
            if !said.contains("is lost") {
                assert_eq!(left(&bench)?, whole, "{name}: {said}: each line counts once");
            }
            // The next record goes on from there, and is no damage itself.
            let damage = found["damage"].as_array().map(Vec::len);
            done(&bench, "poured")?;
            assert_eq!(check(&bench)?.1["damage"].as_array().map(Vec::len), damage);
            fs::write(&log, &text)?;
            if name == "batches" {
                let pours = bench.join("records/pours.jsonl");
                let kept: Vec<String> =
                    fs::read_to_string(&pours)?.lines().take(3).map(str::to_owned).collect();
                fs::write(&pours, kept.join("\n") + "\n")?;
            }
        }
    }
    Ok(())
}

#[test]
fn a_damaged_session_stops_nothing_but_itself() -> Fallible {
    let (_folder, bench) = full_bench()?;
    done(&bench, "session reveal night --force 'a rehearsal'")?;
    done(&bench, &SESSION.replace("night", "other"))?;
    for (file, text) in [
        ("plan.json", "{}"),
        ("waters.json", ""),
        ("scores.jsonl", "{\"v\":1}\n"),
        ("key.json", "{}"),
    ] {
        let path = bench.join("sessions/night").join(file);
        let before = fs::read(&path)?;
        fs::write(&path, text)?;
        for line in
            ["journal", "journal --csv", "mix", "next --between 'hardness=20..120 mg/L as CaCO3'"]
        {
            let (status, out, errors) = run(&bench, line, "")?;
            assert_eq!(status, 0, "{file}: {line}: {errors}");
            let says = out.contains("cannot be read") || errors.contains("cannot be read");
            assert!(says || line == "mix", "{file}: {line} is silent");
        }
        done(&bench, "session progress other")?;
        refused(&bench, "session results night")?;
        let (status, found) = check(&bench)?;
        assert_eq!(status, 1, "{file}");
        assert!(found.to_string().contains(file) || found.to_string().contains("night"), "{found}");
        fs::write(&path, before)?;
    }
    let (status, found) = check(&bench)?;
    assert_eq!((status, &found["damage"]), (0, &Value::Array(vec![])));
    Ok(())
}

/// A tasting goes on without the file that says what its waters are; what is made of it names the file.
#[test]
fn damaged_waters_stop_no_tasting() -> Fallible {
    let (_folder, bench) = full_bench()?;
    let waters = bench.join("sessions/night/waters.json");
    let text = fs::read_to_string(&waters)?;
    for damaged in ["", "\u{0}", text.get(..text.len() / 2).unwrap_or_default()] {
        fs::write(&waters, damaged)?;
        for line in [
            "session note night hello",
            "session progress night",
            "session sheet night --for server",
            "session sheet night --for taster",
        ] {
            done(&bench, line)?;
        }
        assert!(refused(&bench, "session sheet night --for pourer")?.contains("waters.json"));
        let (status, found) = check(&bench)?;
        assert!(status != 0 && found["damage"].to_string().contains("waters.json"), "{found}");
    }
    Ok(())
}

#[test]
fn check_lists_every_damage_with_its_remedy() -> Fallible {
    let (_folder, bench) = full_bench()?;
    let append = |file: &str, text: &str| -> Fallible {
        let path = bench.join(file);
        let before = fs::read_to_string(&path).unwrap_or_default();
        Ok(fs::write(path, before + text)?)
    };
    fs::write(bench.join("stocks/bad.ron"), "Stock(name: 3)")?;
    fs::write(bench.join("waters/bad.ron"), "Water(")?;
    append("records/pours.jsonl", "garbled\n")?;
    append("records/batches.jsonl", "{\"v\":99,\"n\":6}\n{\"v\":3")?;
    fs::remove_file(bench.join("sessions/night/key.sealed"))?;
    let (status, found) = check(&bench)?;
    assert_eq!(status, 1);
    let damage = found["damage"].as_array().ok_or("no list")?;
    for file in ["stocks/bad.ron", "waters/bad.ron", "pours.jsonl", "batches.jsonl", "key.sealed"] {
        let of = |d: &&Value| d["file"].as_str().is_some_and(|f| f.ends_with(file));
        let one = damage.iter().find(of).ok_or_else(|| format!("{file} is not listed: {found}"))?;
        let way = one["remedy"].is_string() || one["expected"].is_string();
        assert!(way, "{one}");
    }
    assert_eq!(damage.len(), 6, "{found}");
    let (status, out, errors) = run(&bench, "check", "")?;
    assert_eq!((status, errors.as_str()), (1, ""));
    assert!(out.contains("6 things are damaged") && out.contains("fix"), "{out}");
    Ok(())
}

#[test]
fn files_of_editors_and_systems_stop_nothing() -> Fallible {
    let (folder, bench) = full_bench()?;
    for place in
        ["", "stocks", "waters", "flights", "salts", "records", "sessions", "sessions/night"]
    {
        let at = bench.join(place);
        for name in [
            "._epsom.ron",
            "~$epsom.ron",
            "epsom.ron~",
            "#epsom.ron#",
            ".epsom.ron.swp",
            "._plan.json",
            "plan.json~",
            ".DS_Store",
        ] {
            fs::write(at.join(name), "\u{0}\u{5}\u{16}\u{7}")?;
        }
        #[cfg(unix)]
        for name in [".#epsom.ron", ".#plan.json", ".#bench.ron"] {
            std::os::unix::fs::symlink("user@host.1234:5678", at.join(name))?;
        }
    }
    for line in [
        "mix",
        "stock",
        "water",
        "stocktake",
        "salts",
        "journal",
        "export targets",
        "check",
        "session progress night",
        "poured",
        "weighed soda --salt '29 g' --total '1000 g'",
        "session plan first-flight --tasters ann",
        "session reveal night --force why",
    ] {
        done(&bench, line)?;
    }
    let new = folder.path().join("new");
    fs::create_dir(&new)?;
    for name in [".DS_Store", "._x", "notes.ron~"] {
        fs::write(new.join(name), "x")?;
    }
    done(&bench, "new ../new")?;
    // Anything else is still never written over.
    let taken = folder.path().join("taken");
    fs::create_dir_all(taken.join("stocks"))?;
    fs::write(taken.join("stocks/epsom.ron"), "Stock()")?;
    refused(&bench, "new ../taken")?;
    assert_eq!(fs::read_to_string(taken.join("stocks/epsom.ron"))?, "Stock()");
    assert!(!taken.join("bench.ron").exists());
    Ok(())
}

/// Amounts that no bench can mean are refused where they stand, with a reason.
#[test]
fn amounts_that_no_bench_can_mean_are_refused_in_their_place() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let flight = fs::read_to_string(bench.join("flights/first-flight.ron"))?;
    let stock = fs::read_to_string(bench.join("stocks/epsom.ron"))?;
    let goal = |text: &str| flight.replacen("at least 70 mg/L", text, 1);
    let bottle = |text: &str| flight.replacen("500 mL", text, 1);
    for (text, reason) in [
        (goal("1e10 mg/L"), "no solution of salts holds so much"),
        (goal("1e-9 mg/L"), "no laboratory sees so little"),
        (goal("1e308 mg/L"), "too large"),
        (goal("50 mg/L, weight 1e300"), "weight"),
        (goal("50 mg/L, weight 1e-300"), "weight"),
        (goal("50 ± 1e-300 mg/L"), "too small"),
        (goal("50 mg/L, tolerance 1e11"), "so little, or so much"),
        (bottle("1e-300 mL"), "too small"),
        (bottle("0.01 mL"), "so small a bottle"),
        (bottle("1e9 L"), "ten cubic metres"),
    ] {
        fs::write(bench.join("flights/odd.ron"), &text)?;
        let said = refused(&bench, "mix odd")?;
        assert!(said.contains(reason) && said.contains("odd.ron:"), "{reason}: {said}");
    }
    let (salt, total) = ("20 g", "480 g");
    let made = |salt: &str, water: &str| {
        format!(
            "Stock(name: \"odd\", salt: \"NaCl\", made: IntoWater(salt: \"{salt}\", water: \"{water}\"))"
        )
    };
    assert!(!stock.is_empty());
    for (salt, water, reason) in [
        ("1e-15 g", total, "too small"),
        ("1e-7 g", total, "no balance shows so little"),
        (salt, "1e300 g", "too large"),
        (salt, "1e9 kg", "ten tonnes"),
        ("1 mg", "9 kg", "less than the waters made of it"),
        ("1e308 g", "1e308 g", "too large"),
    ] {
        fs::write(bench.join("stocks/odd.ron"), made(salt, water))?;
        let said = refused(&bench, "stock odd")?;
        assert!(said.contains(reason) && said.contains("odd.ron:"), "{reason}: {said}");
    }
    fs::remove_file(bench.join("stocks/odd.ron"))?;
    fs::remove_file(bench.join("flights/odd.ron"))?;
    for line in [
        "ladder middle --vary 'hardness=1..1e308 mg/L as CaCO3' --into x",
        "ladder middle --vary 'hardness=1e-300..10 mg/L as CaCO3' --into x",
        "weighed epsom --salt '1e-15 g' --total '1 g'",
        "batch middle --make '1e-300 L'",
        "concentrate middle --total '1e300 g' --dose '4 mL'",
        "session plan --tasters ann --cup '1e300 mL'",
        "session plan --tasters ann --attribute 'body, 0 to 1e300 by 1e-300'",
        "session plan --tasters ann --brew 'coffee: 1e-300 g on 250 mL at 94 °C gives 220 mL'",
        "water '1e-300 mL/L epsom'",
        "water '1e300x middle'",
        "verify epsom --read '1e300 µS/cm'",
        "mix --dispenser syringe --left 'calcium=1e300 mL'",
    ] {
        let said = refused(&bench, line)?;
        assert!(!said.contains("inf") && !said.contains("NaN"), "{line}: {said}");
    }
    Ok(())
}

#[test]
fn concentrates_of_concentrates_and_tampered_plans_end_in_a_mistake() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    refused(&bench, &format!("water '{}middle'", "1x".repeat(4000)))?;
    done(&bench, SESSION)?;
    let file = bench.join("sessions/night/plan.json");
    let text = fs::read_to_string(&file)?;
    let huge = u64::MAX.to_string();
    for count in ["waters", "rounds", "cups_per_tray", "hidden_duplicates", "pairs"] {
        let plan: Value = serde_json::from_str(&text)?;
        let was = format!("\"{count}\": {}", plan[count]);
        for now in [huge.as_str(), "4294967296", "9223372036854775807"] {
            fs::write(&file, text.replacen(&was, &format!("\"{count}\": {now}"), 1))?;
            for line in [
                "session sheet night --for server",
                "session progress night",
                "session score night ann",
            ] {
                let said = refused(&bench, line)?;
                assert!(said.contains("plan.json"), "{count}: {said}");
            }
        }
    }
    Ok(())
}

#[test]
fn a_last_line_without_its_end_is_no_answer() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    done(&bench, SESSION)?;
    let plan: Value =
        serde_json::from_str(&fs::read_to_string(bench.join("sessions/night/plan.json"))?)?;
    let code = plan.pointer("/trays/0/cups/0").ok_or("no cup")?.to_string().replace('"', "");
    let (status, out, _) = run(&bench, "session score night ann", &format!("{code} 1"))?;
    assert_eq!(status, 0);
    assert!(out.contains("no line end") && out.contains("0 entered, 1 refused"), "{out}");
    let (_, out, _) = run(&bench, "session score night ann", &format!("{code} 10\n"))?;
    assert!(out.contains("1 entered, 0 refused"), "{out}");
    Ok(())
}

#[test]
fn an_import_never_writes_what_the_bench_refuses() -> Fallible {
    let (folder, bench) = starter_bench()?;
    let table = folder.path().join("t.csv");
    let listed = || fs::read_dir(bench.join("flights")).map(Iterator::count);
    let before = listed()?;
    for text in [
        "name,hardness [°dH],hardness [mg/L as CaCO3]\na,3,50\n",
        "name,Hardness [°dH],hardness [°dH]\na,3,\n",
        "name,name,hardness [°dH]\na,b,3\n",
        "name,calcium : magnesium [mol/mol],calcium : magnesium [meq/meq]\na,2,2\n",
        "name,calcium [mg/L]\na,1e10\n",
    ] {
        fs::write(&table, text)?;
        refused(&bench, "import targets ../t.csv --into x")?;
        refused(&bench, "import analyses ../t.csv")?;
        assert_eq!(listed()?, before);
    }
    // What is written opens: names with whatever letters are kept.
    fs::write(&table, "name,hardness [°dH]\n\"a \"\"b\"\" \\n\",3\n\"#1, 'x'\",4\n'=1+1,5\n")?;
    done(&bench, "import targets ../t.csv --into kept --like first-flight")?;
    let again = done(&bench, "export targets kept")?;
    fs::write(&table, &again)?;
    done(&bench, "import targets ../t.csv --into twice --like first-flight")?;
    assert_eq!(done(&bench, "export targets twice")?, again);
    assert!(again.contains("'=1+1") && again.contains("\"#1, 'x'\""), "{again}");
    assert!(done(&bench, "mix twice")?.contains("=1+1:"));
    Ok(())
}

#[test]
fn no_word_of_a_user_commands_a_terminal() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let flight = fs::read_to_string(bench.join("flights/first-flight.ron"))?;
    let named = flight.replace("name: \"soft\"", "name: \"soft\u{9b}1m\\u{1b}[2J\u{85}\"");
    assert_ne!(named, flight);
    fs::write(bench.join("flights/odd.ron"), named)?;
    let bad = |text: &str| text.chars().any(|c| c.is_control() && !matches!(c, '\n' | '\t'));
    for line in
        ["mix odd", "water", "why 1 --flight odd", "mix 'o\u{1b}[2Jdd'", "water '\u{1b}]0;x\u{7}'"]
    {
        let (_, out, errors) = run(&bench, line, "")?;
        assert!(!bad(&out) && !bad(&errors), "{line}: {out:?} {errors:?}");
    }
    // No name of a water holds one.
    let said = refused(&bench, "mix odd")?;
    assert!(said.contains("control character") && said.contains("odd.ron:"), "{said}");
    fs::remove_file(bench.join("flights/odd.ron"))?;
    done(&bench, SESSION)?;
    done(&bench, "session note night 'so\u{1b}[1A\u{1b}[2K'")?;
    assert!(!bad(&done(&bench, "session progress night --entries")?));
    Ok(())
}

/// A search of the folder of a session, or of the whole bench, finds no water beside its codes.
#[test]
fn a_search_of_the_bench_tells_no_water_of_a_code() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    done(&bench, SESSION)?;
    done(&bench, "session expect night 'hard > soft'")?;
    done(&bench, "session poured night")?;
    let session = bench.join("sessions/night");
    for entry in fs::read_dir(&session)? {
        let path = entry?.path();
        let text = String::from_utf8_lossy(&fs::read(&path)?).into_owned();
        let names = ["soft", "hard"].iter().any(|name| text.contains(name));
        let name = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
        // The waters name no codes; the note is a taster's own.
        assert!(!names || name == "waters.json" || name == "scores.jsonl", "{name}: {text}");
    }
    let key = fs::read_to_string(session.join("key.sealed"))?;
    assert!(key.contains("\"cipher\":\"XChaCha20-Poly1305\"") && !key.contains("water"), "{key}");
    let secret = fs::read_to_string(state().join("waterflight/session-secret"))?;
    assert!(!secret.contains("soft"));
    // Until the reveal the expected order is kept back.
    for line in [
        "session progress night",
        "session progress night --entries",
        "session progress night --json",
    ] {
        let said = done(&bench, line)?;
        let names = ["soft", "hard"].iter().any(|name| said.contains(name));
        assert!(!names, "{line}: {said}");
        assert!(said.contains("expected") || !line.ends_with("--entries"), "{line}: {said}");
    }
    done(&bench, "session reveal night --force why")?;
    assert!(done(&bench, "session progress night --entries")?.contains("hard > soft"));
    Ok(())
}

/// Records and keys as programs of earlier days wrote them are read.
#[test]
fn what_earlier_programs_wrote_is_read() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    fs::create_dir_all(bench.join("records"))?;
    fs::write(
        bench.join("records/pours.jsonl"),
        "{\"v\":1,\"day\":\"2026-01-01\",\"flight\":\"f\",\"taken\":[{\"stock\":\"epsom\",\"batch\":0,\"ml\":1.5}]}\n\
         {\"v\":2,\"day\":\"2026-01-02\",\"flight\":\"f\",\"taken\":[]}\n",
    )?;
    done(&bench, "poured")?;
    let log = fs::read_to_string(bench.join("records/pours.jsonl"))?;
    assert!(log.lines().nth(2).is_some_and(|line| line.contains("\"v\":5,\"n\":3,")), "{log}");
    assert_eq!(check(&bench)?.0, 0);
    done(&bench, SESSION)?;
    let sealed = bench.join("sessions/night/key.sealed");
    let plain = crate::common::key_text(&bench, "night")?;
    fs::write(&sealed, plain)?;
    assert_eq!(check(&bench)?.0, 0);
    done(&bench, "session sheet night --for pourer")?;
    done(&bench, "session reveal night --force why")?;
    done(&bench, "session results night")?;
    assert!(!bench.join("sessions/night/key.json").exists(), "it lay open from the start");
    Ok(())
}

/// A tasting that is gone is damage, and both ways out work: a copy, or to say that it was meant.
#[test]
fn a_session_that_is_lost_is_named() -> Fallible {
    let (folder, bench) = full_bench()?;
    let (session, copy) = (bench.join("sessions/night"), folder.path().join("copy.json"));
    let titles = |bench: &Path| -> Result<Vec<String>, Box<dyn Error>> {
        let (status, found) = check(bench)?;
        let all = found["damage"].as_array().ok_or("no list")?;
        assert_eq!(status != 0, !all.is_empty(), "{found}");
        let said = |one: &Value| format!("{} {}", one["what"], one["remedy"]);
        Ok(all.iter().map(said).collect())
    };
    assert_eq!(titles(&bench)?, Vec::<String>::new());
    fs::rename(session.join("plan.json"), &copy)?;
    let lost = titles(&bench)?;
    assert_eq!(lost.len(), 1, "{lost:?}");
    assert!(lost[0].contains("the plan of this session is lost"), "{lost:?}");
    assert!(done(&bench, "journal")?.contains("left out of this"));
    fs::rename(&copy, session.join("plan.json"))?;
    assert_eq!(titles(&bench)?, Vec::<String>::new());
    fs::remove_dir_all(&session)?;
    let lost = titles(&bench)?;
    assert_eq!(lost.len(), 1, "{lost:?}");
    assert!(lost[0].contains("the folder of this session is lost"), "{lost:?}");
    assert!(lost[0].contains("`waterflight undo night`"), "{lost:?}");
    done(&bench, "undo night")?;
    assert_eq!(titles(&bench)?, Vec::<String>::new());
    Ok(())
}

/// Of a plan and its log the one is to blame that is not as it was sealed.
#[test]
fn a_changed_plan_and_an_opened_key_are_named() -> Fallible {
    let (_folder, bench) = full_bench()?;
    let at = |name: &str| bench.join("sessions/night").join(name);
    let only = |bench: &Path| -> Result<String, Box<dyn Error>> {
        let (status, found) = check(bench)?;
        assert_eq!((status, found["damage"].as_array().map(Vec::len)), (1, Some(1)), "{found}");
        Ok(found["damage"][0].to_string())
    };
    let plan = fs::read_to_string(at("plan.json"))?;
    let first = serde_json::from_str::<Value>(&plan)?;
    let code = first.pointer("/trays/0/cups/0").ok_or("no cup")?.to_string().replace('"', "");
    done(&bench, &format!("session score night ann {code} 5"))?;
    let taster = "\"taster\": \"ann\"";
    assert!(plan.contains(taster), "{plan}");
    fs::write(at("plan.json"), plan.replacen(taster, "\"taster\": \"anna\"", 1))?;
    let said = only(&bench)?;
    assert!(said.contains("the plan was changed") && !said.contains("scores.jsonl"), "{said}");
    // Changed throughout, it can be drawn again: then either file may be meant.
    fs::write(at("plan.json"), plan.replace("\"ann\"", "\"anna\""))?;
    assert!(only(&bench)?.contains("`plan.json`"));
    fs::write(at("plan.json"), &plan)?;
    done(&bench, "session reveal night --force why")?;
    // A copy that ended too early has no reveal, and the key lies open beside it.
    let log = fs::read_to_string(at("scores.jsonl"))?;
    let kept = log.lines().count() - 1;
    let cut: String = log.split_inclusive('\n').take(kept).collect();
    fs::write(at("scores.jsonl"), cut)?;
    let said = only(&bench)?;
    assert!(said.contains("no reveal any more"), "{said}");
    assert!(said.contains("`waterflight session reveal night`"), "{said}");
    Ok(())
}

/// The remedy of a line that is no record works: without it all else is read.
#[test]
fn a_line_that_is_no_record_may_be_taken_out() -> Fallible {
    let (_folder, bench) = full_bench()?;
    done(&bench, "weighed epsom --salt '41 g' --total '1000 g'")?;
    done(&bench, "bottle epsom --spilled '5 mL'")?;
    let log = bench.join("records/batches.jsonl");
    let text = fs::read_to_string(&log)?;
    let last = text.lines().last().ok_or("no line")?;
    fs::write(&log, text.replace(last, "garbled"))?;
    assert!(refused(&bench, "stock")?.contains("take this line out of it"));
    fs::write(&log, text.replace(&format!("{last}\n"), ""))?;
    done(&bench, "stock")?;
    // What was spilled of the lost batch is not taken from the next.
    assert!(done(&bench, "weighed epsom --salt '42 g' --total '1000 g'")?.contains("batch 3 of"));
    Ok(())
}
