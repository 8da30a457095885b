//! A tasting as it is read, word for word; every mistake with its way out; plans that never
//! change; and that nothing a taster or server reads betrays the key.
//!
//! `WATERFLIGHT_BLESS=1 cargo test --test all session_texts` writes the texts anew, but never the plans
//! in `golden/plans`: a seed gives its plan for ever.

use std::error::Error;
use std::ffi::OsStr;
use std::fmt::Debug;
use std::fs;
use std::path::Path;

use crate::common::answers::{ended, words};
use crate::common::{key_text, starter_bench, state};
use waterflight::session::plan::Verified;
use waterflight::session::plan::session::verify;
use waterflight::session::plan::{Key, Plan};

type Fallible = Result<(), Box<dyn Error>>;

fn done<Word: AsRef<OsStr> + Debug>(
    bench: &Path,
    arguments: &[Word],
    typed: &str,
) -> Result<String, Box<dyn Error>> {
    let (status, out, errors) = ended(bench, arguments, typed)?;
    assert_eq!(status, 0, "{arguments:?}: {errors}");
    Ok(out)
}

/// Days and times are another on each run.
fn without_times(text: &str) -> String {
    let shape = |text: &str, shape: &str| {
        text.len() == shape.len()
            && text.chars().zip(shape.chars()).all(|(c, s)| match s {
                '0' => c.is_ascii_digit(),
                _ => c == s,
            })
    };
    let mut out = String::new();
    let mut rest = text;
    while let Some(c) = rest.chars().next() {
        let cut = |n: usize| rest.get(..n).unwrap_or_default();
        if shape(cut(16), "0000-00-00 00:00") {
            out.push_str("SOME DAY, AT  ..");
            rest = rest.get(16..).unwrap_or_default();
        } else {
            out.push(c);
            rest = rest.get(c.len_utf8()..).unwrap_or_default();
        }
    }
    out
}

fn compare(said: &str, beside: &str) -> Fallible {
    let beside = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests").join(beside);
    let said = said.replace(&state().display().to_string(), "STATE");
    if std::env::var_os("WATERFLIGHT_BLESS").is_some() {
        fs::write(&beside, &said)?;
    }
    assert_eq!(said, fs::read_to_string(&beside).unwrap_or_default(), "{}", beside.display());
    let widest = said.lines().map(|l| l.chars().count()).max().unwrap_or_default();
    let mistake = beside.to_string_lossy().contains("mistakes");
    assert!(mistake || widest <= 80, "{} is {widest} columns wide", beside.display());
    Ok(())
}

const PLAN: &str = "session plan --name autumn --tasters ann,bo --rounds 2 --water soft --water hard \
     --water middle --attribute 'body, 0 to 10 by 0.5, thin to heavy' --attribute liking \
     --reference soft --warm-up soft --breaks-after 2 --served '60 °C' --same 'grinder at 18' \
     --brew 'coffee: 15 g on 250 mL at 94 °C gives 220 mL' --seed 'a seed for texts'";

/// What is typed at the prompt: `[n]` is the code of ann's nth cup, `(n)` that of bo's.
const TYPED: &str = "ann\nhelp\n[0] 4 6 thin at first\n5\n7\nlike tin\n[4]\n4.5\nskip\n[3] 3\nenough\n\
     [0] 2 2\ncorrect [0] liking=5\nundo\n40 3\n4,,5 3\nundp\nbo\n(0) 5 5; 2 minutes late\nbo (9) 4 4\n\
     note the room is cold\nmissing\nentries\nann [2] 7\nend\n";

fn planned(bench: &Path) -> Result<Plan, Box<dyn Error>> {
    done(bench, &words(PLAN), "")?;
    Ok(Plan::from_text(&fs::read_to_string(bench.join("sessions/autumn/plan.json"))?)?)
}

/// Puts codes of the plan where a script names them.
fn with_codes(plan: &Plan, script: &str) -> String {
    let mut text = script.to_owned();
    for (taster, (left, right)) in plan.tasters.iter().zip([('[', ']'), ('(', ')')]) {
        let cups: Vec<_> = plan.trays_of(taster).flat_map(|tray| &tray.cups).collect();
        for (n, code) in cups.iter().enumerate() {
            text = text.replace(&format!("{left}{n}{right}"), &code.to_string());
        }
    }
    text.replace("(9)", "918")
}

#[test]
fn a_tasting_reads_well() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    for (name, line) in [
        ("help-session.txt", "session --help"),
        ("help-session-plan.txt", "session plan --help"),
        ("help-session-score.txt", "session score --help"),
    ] {
        compare(&done(&bench, &words(line), "")?, &format!("golden/{name}"))?;
    }
    done(&bench, &words("weighed potash --salt '20 g' --total '500 g' --date 2026-03-01"), "")?;
    done(&bench, &words("weighed soda --salt '0.02 g' --total '1 g' --date 2026-03-01"), "")?;
    let full = words(&format!("{PLAN} --full"));
    compare(&done(&bench, &full, "")?, "golden/session-plan.txt")?;
    let plan = Plan::from_text(&fs::read_to_string(bench.join("sessions/autumn/plan.json"))?)?;
    for (name, line) in [
        ("pourer", "session sheet autumn --for pourer --full"),
        ("pourer-short", "session sheet autumn --for pourer"),
        ("server", "session sheet autumn --for server"),
        ("taster", "session sheet autumn --for taster --taster ann"),
    ] {
        compare(&done(&bench, &words(line), "")?, &format!("golden/session-sheet-{name}.txt"))?;
    }
    let poured = done(&bench, &words("session poured autumn --date 2026-03-02"), "")?;
    compare(&poured, "golden/session-poured.txt")?;
    let typed = with_codes(&plan, TYPED);
    compare(&done(&bench, &words("session score autumn"), &typed)?, "golden/session-prompt.txt")?;
    done(&bench, &words("weighed calcium --salt '15 g' --total '500 g' --date 2026-03-03"), "")?;
    let file = bench.join("flights/first-flight.ron");
    fs::write(&file, fs::read_to_string(&file)? + "\n")?;
    let progress = done(&bench, &words("session progress autumn --entries"), "")?;
    compare(&without_times(&progress), "golden/session-progress.txt")?;
    let reveal = words("session reveal autumn --force 'bo had to leave'");
    compare(&done(&bench, &reveal, "")?, "golden/session-reveal.txt")?;
    let results = done(&bench, &words("session results autumn"), "")?;
    assert!(results.contains("bo had to leave") && results.contains("the room is cold"));
    Ok(())
}

/// A refused command, with what it said; the folder of the session stays as it is.
fn refused(bench: &Path, line: &str, name: &str) -> Fallible {
    let log = bench.join("sessions/autumn/scores.jsonl");
    let before = fs::read(&log).unwrap_or_default();
    let (status, out, errors) = ended(bench, &words(line), "")?;
    assert!(status != 0 && out.is_empty(), "{line}: {out}");
    assert_eq!(fs::read(&log).unwrap_or_default(), before, "{line} was recorded");
    let root = fs::canonicalize(bench)?;
    let errors = errors.replace(&root.display().to_string(), "BENCH");
    compare(&format!("exit {status}\n{errors}"), &format!("mistakes/session-{name}.txt"))
}

#[test]
fn every_mistake_names_the_way_out() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let plan = planned(&bench)?;
    let own: Vec<String> =
        plan.trays_of("ann").flat_map(|tray| &tray.cups).map(ToString::to_string).collect();
    let [cup, next, ..] = own.as_slice() else { return Err("no cups".into()) };
    let refuse = |line: &str, name: &str| {
        refused(&bench, &line.replace("CUP", cup).replace("NEXT", next), name)
    };
    done(&bench, &["session", "score", "autumn", "ann", cup, "body=4", "liking=6"], "")?;
    for (name, line) in [
        ("name-taken", PLAN),
        ("no-such", "session progress autum"),
        ("unknown-code", "session score autumn ann 918 4 5"),
        ("no-code", "session score autumn ann 12 4 5"),
        ("off-scale", "session score autumn ann NEXT body=40"),
        ("between-steps", "session score autumn ann NEXT body=4.2"),
        ("comma", "session score autumn ann NEXT body=4,,5"),
        ("unknown-attribute", "session score autumn ann NEXT bdy=4"),
        ("too-many-scores", "session score autumn ann NEXT 4 5 6"),
        ("unknown-taster", "session score autumn anne NEXT 4 5"),
        ("duplicate", "session score autumn ann CUP body=5"),
        ("no-such-line", "session score autumn ann CUP body=5 --correct 9"),
        ("correct-another", "session score autumn ann NEXT body=5 --correct 1"),
        ("late-too-early", "session score autumn ann NEXT body=5 --late"),
        ("turned-not-alone", "session turned autumn 1 317=542"),
        ("results-too-early", "session results autumn"),
        ("reveal-owed", "session reveal autumn"),
        ("key-not-there", "session reveal autumn --key elsewhere"),
        ("empty-note", "session note autumn ' '"),
        ("no-csv", "session score autumn --csv nothing.csv"),
        ("sheet-of-nobody", "session sheet autumn --for taster --taster anne"),
    ] {
        refuse(line, name)?;
    }
    let file = bench.join("sessions/autumn/key.sealed");
    let (key, plain) = (fs::read_to_string(&file)?, key_text(&bench, "autumn")?);
    fs::write(&file, key.replacen("\"text\":\"", "\"text\":\"00", 1))?;
    refuse("session reveal autumn --force why", "key-damaged")?;
    // A key of earlier days is plain text.
    fs::write(&file, plain.replacen("\"hard\"", "\"soft\"", 1))?;
    refuse("session reveal autumn --force why", "key-changed")?;
    fs::remove_file(&file)?;
    refuse("session reveal autumn --force why", "key-gone")?;
    fs::write(&file, &key)?;
    let file = bench.join("sessions/autumn/plan.json");
    let text = fs::read_to_string(&file)?;
    fs::write(&file, text.replace("\"break_after\": 2", "\"break_after\": 1"))?;
    refuse("session reveal autumn --force why", "plan-changed")?;
    fs::write(&file, text.replace("\"rounds\": 2", "\"rounds\": two"))?;
    refuse("session reveal autumn --force why", "plan-damaged")?;
    fs::write(&file, &text)?;
    done(&bench, &words("session reveal autumn --force 'a rehearsal'"), "")?;
    refuse("session score autumn ann NEXT 4 5", "closed")?;
    refuse("session reveal autumn", "revealed-before")
}

#[test]
fn mistakes_with_trays_and_wishes_name_the_way_out() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let rank = "session plan --name autumn --tasters ann,bo --water soft --water hard --water middle \
                --method ranking --code-each-cup --seed 'a seed for trays'";
    done(&bench, &words(rank), "")?;
    let plan = Plan::from_text(&fs::read_to_string(bench.join("sessions/autumn/plan.json"))?)?;
    let cups = |taster: &str| -> Vec<String> {
        plan.trays_of(taster).flat_map(|t| &t.cups).map(ToString::to_string).collect()
    };
    let (ann, bo) = (cups("ann").join(" "), cups("bo").join(" "));
    let two = ann.get(..7).unwrap_or_default();
    let score = "session score autumn ann";
    refused(&bench, &format!("{score} {two}"), "too-few-cups")?;
    refused(&bench, &format!("{score} {two} {}", two.get(..3).unwrap_or_default()), "cup-twice")?;
    refused(&bench, &format!("{score} {bo}"), "wrong-taster")?;
    done(&bench, &words(&format!("{score} {ann}")), "")?;
    refused(&bench, &format!("{score} {ann}"), "tray-twice")?;
    let plan = "session plan --name other --tasters ann,bo,cy";
    for (name, more) in [
        ("plan-name", "--name a/b --tasters ann"),
        ("plan-attribute", "--attribute 'body, ten'"),
        ("plan-attribute-name", "--attribute note"),
        ("plan-scale", "--attribute 'body, 0 to 10 by 3'"),
        ("plan-brew", "--brew coffee"),
        ("plan-brew-amount", "--brew 'coffee: 15 mL on 250 mL at 94 °C gives 220 mL'"),
        ("plan-no-such-water", "--water sfot"),
        ("plan-criterion", "--criterion body"),
        ("plan-one-sided", "--method triangle --one-sided"),
        ("plan-alone", "--alone"),
        ("plan-tray-size", "--per-tray 9"),
        ("plan-tray-of-one", "--per-tray 1"),
        ("plan-best-of-triangle", "--method triangle --question best"),
        ("plan-reference-not-tasted", "--reference middle --water soft --water hard"),
        ("plan-blocks-doubled", "--per-tray 4 --duplicates 1"),
        ("plan-pair", "--method tetrad --pair soft soft"),
        ("plan-taster-twice", "--method ranking --tasters ann"),
    ] {
        refused(
            &bench,
            &format!("{plan} {more}").replace("other --tasters ann,bo,cy --name ", ""),
            name,
        )?;
    }
    assert!(!bench.join("sessions/other").exists());
    Ok(())
}

/// Plans written down once; the same seed must give them on every machine, for ever. A change of
/// the drawing rules gets a new number of rules and new files beside these.
#[test]
fn a_seed_gives_its_plan_for_ever() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    for (name, more) in [
        ("scoring", "--rounds 2 --duplicates 1 --reference middle --warm-up soft --breaks-after 3"),
        ("ranking-blocks", "--method ranking --per-tray 3 --tasters cy,di,ed"),
        ("triangle", "--method triangle --pair soft hard --pair soft middle --breaks-after 6"),
        ("short-breaks", "--method triangle --pair soft hard --pair soft middle --breaks-after 2"),
        ("duo-trio", "--method duo-trio --pair soft hard --double-blind --code-each-cup"),
        ("paired", "--method paired --criterion body --one-sided --pair hard soft --rounds 2"),
        ("tetrad", "--question tell-apart --pair soft hard"),
    ] {
        let line = format!("session plan --name {name} --tasters ann,bo --seed 'for ever' {more}");
        done(&bench, &words(&line), "")?;
        same_for_ever(&bench, name)?;
    }
    let alone = "session plan --name alone --tasters ann --alone --water soft --water hard --rounds 3 \
                 --attribute body --seed 'for ever'";
    done(&bench, &words(alone), "")?;
    same_for_ever(&bench, "alone")
}

fn same_for_ever(bench: &Path, name: &str) -> Fallible {
    let golden = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/golden/plans/rules-2");
    let plan = fs::read_to_string(bench.join("sessions").join(name).join("plan.json"))?;
    for (now, ending) in [(plan, "plan.json"), (key_text(bench, name)?, "key.json")] {
        let then = fs::read_to_string(golden.join(format!("{name}.{ending}")))?;
        assert_eq!(now, then, "{name}.{ending}");
    }
    Ok(())
}

/// A session planned by rules 1, which counted breaks otherwise, is revealed by its seal.
#[test]
fn a_plan_of_older_rules_is_still_revealed() -> Fallible {
    let golden = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/golden/plans/rules-1");
    let mut seen = 0;
    for file in fs::read_dir(&golden)? {
        let file = file?.path();
        let name = file.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
        let Some(name) = name.strip_suffix(".plan.json") else { continue };
        let plan = Plan::from_text(&fs::read_to_string(&file)?)?;
        let key = fs::read_to_string(golden.join(format!("{name}.key.json")))?;
        assert!(plan.generator.ends_with("rules 1"));
        let verified = verify(&plan, &key).map(|(_, verified)| verified);
        assert_eq!(verified, Ok(Verified::SealOnly), "{name}");
        seen += 1;
    }
    assert_eq!(seen, 7);
    let (_folder, bench) = starter_bench()?;
    let plan = "session plan --name triangle --tasters ann,bo --method triangle --pair soft hard \
                --pair soft middle";
    done(&bench, &words(plan), "")?;
    for (from, to) in [("triangle.plan.json", "plan.json"), ("triangle.key.json", "key.sealed")] {
        fs::copy(golden.join(from), bench.join("sessions/triangle").join(to))?;
    }
    let said = done(&bench, &words("session reveal triangle --force why"), "")?;
    assert!(said.contains("names other drawing rules and was not drawn again"), "{said}");
    Ok(())
}

/// Whatever a taster or a server can read is free of waters, seed and nonce, until the reveal.
#[test]
fn nothing_betrays_the_key() -> Fallible {
    const NAMES: [&str; 3] = ["Quellgrund", "Zinnberg", "Wiesental"];
    let (_folder, bench) = starter_bench()?;
    let targets = NAMES.map(|name| {
        let hardness = 20 + 10 * name.len();
        format!("Target(name: \"{name}\", goals: (hardness: \"{hardness} mg/L as CaCO3\"))")
    });
    let flight =
        format!("Flight(title: \"secret\", bottle: \"1 L\", targets: [{}])\n", targets.join(", "));
    fs::write(bench.join("flights/secret.ron"), flight)?;
    for (n, more) in [
        "--method scoring --attribute body --duplicates 1 --reference Quellgrund --warm-up Zinnberg",
        "--method ranking --double-blind",
        "--method duo-trio --pair Quellgrund Zinnberg",
        "--method triangle --alone --tasters ann",
    ]
    .iter()
    .enumerate()
    {
        let name = format!("s{n}");
        let tasters = if more.contains("--alone") { "" } else { "--tasters ann,bo" };
        let plan = format!("session plan secret --name {name} {tasters} {more}");
        let folder = bench.join("sessions").join(&name);
        let mut read = vec![done(&bench, &words(&plan), "")?];
        let key = Key::from_text(&key_text(&bench, &name)?)?;
        let codes: Vec<String> = Plan::from_text(&fs::read_to_string(folder.join("plan.json"))?)?
            .trays_of("ann")
            .flat_map(|tray| &tray.cups)
            .map(ToString::to_string)
            .collect();
        let typed = format!("ann\nhelp\n{} 5 fine\n{}\nmissing\nentries\nfoo\n", codes.join(" "), codes.join("\n4\n"));
        read.push(done(&bench, &["session", "score", &name], &typed)?);
        for line in ["sheet NAME --for server", "sheet NAME --for taster", "progress NAME --entries"] {
            let line = format!("session {line}").replace("NAME", &name);
            read.push(done(&bench, &words(&line), "")?);
            read.push(done(&bench, &words(&format!("{line} --json")), "")?);
        }
        for line in ["reveal NAME", "results NAME", "score NAME ann 918 5"] {
            let line = format!("session {line}").replace("NAME", &name);
            read.push(ended(&bench, &words(&line), "")?.2);
        }
        read.push(fs::read_to_string(folder.join("plan.json"))?);
        read.push(fs::read_to_string(folder.join("scores.jsonl")).unwrap_or_default());
        for text in &read {
            for secret in NAMES.iter().copied().chain([key.seed.as_str(), key.nonce.as_str()]) {
                assert!(!text.contains(secret), "{more}: this tells {secret}:\n{text}");
            }
        }
    }
    Ok(())
}
