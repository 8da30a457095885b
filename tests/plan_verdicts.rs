//! What `mix` and its neighbours say of plans: limits, waters without an answer, digits, ratios.

use std::error::Error;
use std::fs;
use std::path::Path;

use serde_json::Value;

use crate::common::{program, starter_bench};

type Fallible<T> = Result<T, Box<dyn Error>>;

struct Answer {
    status: Option<i32>,
    out: String,
    errors: String,
}

fn run(bench: &Path, arguments: &[&str]) -> Fallible<Answer> {
    let output = program()?.args(arguments).arg("--bench").arg(bench).output()?;
    Ok(Answer {
        status: output.status.code(),
        out: String::from_utf8(output.stdout)?,
        errors: String::from_utf8(output.stderr)?,
    })
}

/// Text without its line breaks.
fn one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn write(bench: &Path, name: &str, text: &str) -> Fallible<()> {
    Ok(fs::write(bench.join(format!("flights/{name}.ron")), text)?)
}

fn json(bench: &Path, arguments: &[&str]) -> Fallible<(Option<i32>, Value)> {
    let answer = run(bench, &[arguments, &["--json"]].concat())?;
    let document = serde_json::from_str(&answer.out)
        .map_err(|e| format!("{e}: {} {}", answer.out, answer.errors))?;
    Ok((answer.status, document))
}

fn at<'a>(of: &'a Value, pointer: &str) -> Fallible<&'a Value> {
    of.pointer(pointer).ok_or_else(|| format!("nothing at {pointer} of {of}").into())
}

fn number(of: &Value, pointer: &str) -> Fallible<f64> {
    at(of, pointer)?.as_f64().ok_or_else(|| format!("no number at {pointer}").into())
}

/// Water of 252 mg/L hardness cannot be thinned to 70 by pouring in brine: that is out of reach, and
/// what helps is said after it was tried.
#[test]
fn brine_is_not_success() -> Fallible<()> {
    let (_folder, bench) = starter_bench()?;
    let hard = |base: &str, limits: &str| {
        format!(
            "Flight(title: \"hard\", base: [{base}], bottle: \"500 mL\", {limits} stocks: [\"table \
             salt\"], targets: [Target(name: \"softer\", goals: (hardness: \"70 mg/L as \
             CaCO3\"))])"
        )
    };
    write(&bench, "hard", &hard("\"harbour tap\"", ""))?;
    let (status, plan) = json(&bench, &["mix", "--full", "hard"])?;
    assert_eq!(status, Some(0));
    assert_eq!(at(&plan, "/waters/0/reached")?, &Value::Bool(false));
    let solids = number(&plan, "/waters/0/dissolved_solids_mg_per_l")?;
    assert!((solids - 1500.0).abs() < 0.01, "{solids}");
    assert_eq!(at(&plan, "/waters/0/reach/at_limit/0/limit")?, "dissolved_solids");
    assert_eq!(at(&plan, "/waters/0/reach/distilled_reaches")?, &Value::Bool(true));
    // Without limits it is a litre of brine.
    let ml = number(&plan, "/waters/0/reach/without_limits_stocks_ml_per_l")?;
    assert!(ml > 700.0, "{ml}");
    for command in [vec!["mix", "--full", "hard"], vec!["why", "softer", "--flight", "hard"]] {
        let text = one_line(&run(&bench, &command)?.out);
        for said in ["add distilled water to the base", "`--most-solids` set"] {
            assert!(text.contains(said), "{said}: {text}");
        }
    }
    // The limits can be lifted, in the file and on the command line.
    write(
        &bench,
        "free",
        &hard("\"harbour tap\"", "limits: (stocks: \"none\", dissolved_solids: \"none\"),"),
    )?;
    let options = ["mix", "--full", "hard", "--most-stocks", "none", "--most-solids", "none"];
    for command in [vec!["mix", "--full", "free"], options.to_vec()] {
        let (_, plan) = json(&bench, &command)?;
        assert_eq!(at(&plan, "/waters/0/reached")?, &Value::Bool(true));
        assert!(number(&plan, "/waters/0/doses/0/ml_per_l")? > 700.0);
    }
    // With distilled water in the base nothing stands in the way.
    write(&bench, "thin", &hard("\"distilled\", \"harbour tap\"", ""))?;
    let (_, plan) = json(&bench, &["mix", "--full", "thin"])?;
    assert_eq!(at(&plan, "/waters/0/reached")?, &Value::Bool(true));
    assert!(plan.pointer("/waters/0/reach").is_none());
    Ok(())
}

/// Very weak stocks are a right of their owner: which limit binds, what it would take and how to have
/// it is said.
#[test]
fn weak_stocks_are_told_their_limit() -> Fallible<()> {
    let (_folder, bench) = starter_bench()?;
    fs::write(
        bench.join("stocks/drop.ron"),
        "Stock(name: \"faint\", salt: \"NaHCO3\", made: ToTotalMass(salt: \"0.4 g\", total: \"1000 \
         g\"))",
    )?;
    for convention in ["MadeUpToALitre", "AddedToALitre"] {
        let text = format!(
            "Flight(title: \"faint\", base: [\"distilled\"], bottle: \"1 L\", convention: \
             {convention}, stocks: [\"faint\"], targets: [Target(name: \"soft\", goals: (alkalinity: \
             \"40 mg/L as CaCO3\"))])"
        );
        write(&bench, "faint", &text)?;
        let (_, plan) = json(&bench, &["mix", "--full", "faint"])?;
        assert_eq!(at(&plan, "/waters/0/reached")?, &Value::Bool(false));
        assert_eq!(at(&plan, "/waters/0/reach/at_limit/0/limit")?, "stocks");
        let ml = number(&plan, "/waters/0/doses/0/ml_per_l")?;
        assert!((ml - 100.0).abs() < 1e-6, "{convention}: {ml}");
        let text = one_line(&run(&bench, &["mix", "--full", "faint"])?.out);
        assert!(
            text.contains("limit on all stocks together keeps it out of reach (100 mL/L)"),
            "{text}"
        );
        assert!(text.contains("without limits it would take"), "{text}");
        let (_, plan) = json(&bench, &["mix", "faint", "--most-stocks", "400 mL/L"])?;
        assert_eq!(at(&plan, "/waters/0/reached")?, &Value::Bool(true));
    }
    Ok(())
}

/// A share limit holds for what is printed, in both conventions.
#[test]
fn shares_keep_their_limits_as_they_are_printed() -> Fallible<()> {
    let (_folder, bench) = starter_bench()?;
    for convention in ["MadeUpToALitre", "AddedToALitre"] {
        for dispenser in ["", "dispenser: \"syringe\","] {
            let text = format!(
                "Flight(title: \"half\", base: [\"distilled\", \"harbour tap, at most 40 %\"], bottle: \
                 \"500 mL\", convention: {convention}, {dispenser} targets: [Target(name: \"hard\", \
                 goals: (hardness: \"140 mg/L as CaCO3\", alkalinity: \"90 mg/L as CaCO3\"))])"
            );
            write(&bench, "half", &text)?;
            let (_, plan) = json(&bench, &["mix", "--full", "half"])?;
            let base = at(&plan, "/waters/0/base")?.as_array().ok_or("no base")?;
            let tap = base.iter().find(|b| b.get("water").is_some_and(|w| w == "harbour tap"));
            let share = number(tap.ok_or("no tap")?, "/share")?;
            assert!(share <= 0.4 + 1e-9, "{convention} {dispenser}: {share}");
            assert!(!dispenser.is_empty() || share > 0.39, "{convention}: {share}");
        }
    }
    Ok(())
}

/// One water that cannot be answered leaves the others theirs: it is named in text and JSON, and the
/// exit status says that something is missing.
#[test]
fn a_water_without_an_answer_takes_nothing_from_the_others() -> Fallible<()> {
    let (_folder, bench) = starter_bench()?;
    // Made of stocks alone: there is no litre to add them to.
    let two = |extra: &str| {
        format!(
            "Flight(title: \"two\", base: [\"harbour tap\"], bottle: \"500 mL\", {extra} targets: [\n\
             Target(name: \"brine\", goals: (alkalinity: \"0 mg/L as CaCO3 ± 0 mg/L as CaCO3\", nitrate: \
             \"0 mg/L ± 0 mg/L\")),\n Target(name: \"plain\", goals: (hardness: \"252 mg/L as CaCO3\"))])"
        )
    };
    let free = "convention: AddedToALitre, limits: (stocks: \"none\", dissolved_solids: \"none\"),";
    write(&bench, "two", &two(free))?;
    let (status, plan) = json(&bench, &["mix", "--full", "two"])?;
    assert_eq!(status, Some(1));
    assert_eq!(at(&plan, "/unanswered/0/target")?, "brine");
    assert_eq!(at(&plan, "/unanswered/0/number")?, 1);
    assert_eq!(at(&plan, "/waters/0/target")?, "plain");
    assert_eq!(at(&plan, "/waters/0/number")?, 2);
    assert_eq!(at(&plan, "/waters/0/reached")?, &Value::Bool(true));
    let answer = run(&bench, &["mix", "--full", "two"])?;
    assert_eq!(answer.status, Some(1));
    let text = one_line(&answer.out);
    assert!(text.contains("1 brine: NO ANSWER. The best answer is made of stocks alone"), "{text}");
    assert!(text.contains("2 plain: every goal within tolerance"), "{text}");
    // With the usual limits it is out of reach like any other.
    write(&bench, "two", &two("convention: AddedToALitre,"))?;
    let (status, plan) = json(&bench, &["mix", "--full", "two"])?;
    assert_eq!(status, Some(0));
    assert!(plan.pointer("/unanswered").is_none());
    assert_eq!(at(&plan, "/waters/0/reached")?, &Value::Bool(false));
    // A dose that must be in it and does not fit into the bottle.
    let text = "Flight(title: \"full\", base: [\"distilled\"], bottle: \"2 mL\", dispenser: \"syringe\", \
                targets: [Target(name: \"full\", with: [\"epsom\"], goals: (hardness: \"70 mg/L as \
                CaCO3\")), Target(name: \"free\", goals: (hardness: \"70 mg/L as CaCO3\"))])";
    write(&bench, "full", text)?;
    let (status, plan) = json(&bench, &["mix", "--full", "full"])?;
    assert_eq!(status, Some(1));
    assert_eq!(at(&plan, "/unanswered/0/target")?, "full");
    assert_eq!(at(&plan, "/waters/0/target")?, "free");
    assert_eq!(at(&plan, "/order/dispenser/waters/0/number")?, 2);
    Ok(())
}

/// A tolerance has the digits it was written with, and keeps them through tables, ladders and new
/// flights.
#[test]
fn goals_keep_their_digits() -> Fallible<()> {
    let (_folder, bench) = starter_bench()?;
    let text = "Flight(title: \"digits\", base: [\"distilled\"], bottle: \"333.3333 mL\", targets: [\n\
                Target(name: \"fine\", goals: (hardness: \"180 ± 103.4479 mg/L as CaCO3\", sodium: \"at \
                most 9.87654321 mg/L ± 0.0000000004, weight 0.123456789\", sulfate: \"between 1.2345678 \
                and 30.000001 mg/L\"), ratios: [(of: \"calcium\", to: \"magnesium\", goal: \"1.23456789 ± \
                0.1234567 meq/meq\")])])";
    write(&bench, "digits", text)?;
    let tolerances = |flight: &str| -> Fallible<Vec<f64>> {
        let (_, plan) = json(&bench, &["mix", flight])?;
        let goals = at(&plan, "/waters/0/goals")?.as_array().ok_or("no goals")?;
        goals.iter().map(|g| number(g, "/tolerance")).collect()
    };
    let same = |found: &[f64], wanted: &[f64]| {
        found.len() == wanted.len()
            && found.iter().zip(wanted).all(|(a, b)| (a - b).abs() <= 1e-14 * b.abs())
    };
    let written = [103.447_9, 0.000_000_000_4, 0.0, 0.123_456_7];
    let read = tolerances("digits")?;
    assert!(same(&read, &written), "{read:?}");
    let text = run(&bench, &["mix", "--full", "digits"])?.out;
    for digits in ["180 ± 103.4479", "± 0.0000000004", "1.2345678 to 30.000001", "1.23456789"] {
        assert!(text.contains(digits), "{digits}: {text}");
    }
    // Out as a table and in again as a flight.
    let table = run(&bench, &["export", "targets", "digits"])?.out;
    assert!(table.contains("103.4479") && table.contains("0.0000000004"), "{table}");
    let path = bench.join("table.csv");
    fs::write(&path, &table)?;
    let path = path.to_string_lossy().into_owned();
    let import = ["import", "targets", &path, "--into", "again", "--like", "digits"];
    assert_eq!(run(&bench, &import)?.status, Some(0));
    assert!(same(&tolerances("again")?, &written));
    let again = fs::read_to_string(bench.join("flights/again.ron"))?;
    for kept in ["weight 0.123456789", "9.87654321", "333.3333 mL", "1.23456789 ± 0.1234567"] {
        assert!(again.contains(kept), "{kept}: {again}");
    }
    // A ladder keeps what it does not move, and the tolerance of what it does.
    let ladder =
        ["ladder", "fine", "--flight", "digits", "--vary", "hardness=150..200 mg/L as CaCO3"];
    let into = ["--steps", "2", "--into", "rungs"];
    assert_eq!(run(&bench, &[&ladder[..], &into[..]].concat())?.status, Some(0));
    let rungs = fs::read_to_string(bench.join("flights/rungs.ron"))?;
    for kept in ["± 103.4479 mg/L as CaCO3", "± 0.0000000004", "weight 0.123456789"] {
        assert!(rungs.contains(kept), "{kept}: {rungs}");
    }
    Ok(())
}

/// `at least 2 ± 0.5` means 2 where 2 can be had, for a ratio as for a measure; `at most` likewise.
#[test]
fn a_ratio_comes_to_its_wish_and_not_to_its_edge() -> Fallible<()> {
    let (_folder, bench) = starter_bench()?;
    // Calcium takes less volume, so the edge of the tolerance would be cheaper each time.
    for (kind, of, to, wanted) in [
        ("at least 2", "magnesium", "calcium", 2.0),
        ("at most 0.5", "calcium", "magnesium", 0.5),
        ("2", "magnesium", "calcium", 2.0),
    ] {
        let text = format!(
            "Flight(title: \"ratio\", base: [\"distilled\"], bottle: \"1 L\", stocks: [\"calcium\", \
             \"epsom\"], targets: [Target(name: \"one\", goals: (hardness: \"100 mg/L as CaCO3 ± 0 mg/L as \
             CaCO3\"), ratios: [(of: \"{of}\", to: \"{to}\", goal: \"{kind} ± 0.4 meq/meq\")])])"
        );
        write(&bench, "ratio", &text)?;
        for dispenser in [&[][..], &["--dispenser", "syringe"]] {
            let (_, plan) = json(&bench, &[&["mix", "--full", "ratio"][..], dispenser].concat())?;
            // Nothing to divide by is more than any ratio.
            let got = at(&plan, "/waters/0/goals/1/got")?.as_f64().unwrap_or(f64::INFINITY);
            // In steps the hardness, which has no tolerance, comes first.
            let near = if dispenser.is_empty() { 1e-6 } else { 0.4 + 1e-6 };
            let kept = match kind.split_once(' ') {
                Some(("at", rest)) if rest.starts_with("least") => got >= wanted - near,
                Some(("at", _)) => got <= wanted + near,
                _ => (got - wanted).abs() <= near,
            };
            assert!(kept, "{kind} of {of} to {to}: {got}");
        }
    }
    Ok(())
}

/// More stocks asked for than may be opened is a mistake, and is said as one.
#[test]
fn stocks_that_must_be_in_it_count() -> Fallible<()> {
    let (_folder, bench) = starter_bench()?;
    let with = ["--with", "soft=epsom", "--with", "hard=soda", "--dispenser", "syringe"];
    let answer = run(&bench, &[&["mix", "--full", "--at-most", "1"], &with[..]].concat())?;
    assert_eq!(answer.status, Some(2));
    assert!(answer.errors.contains("2 stocks must be in the waters"), "{}", answer.errors);
    let (status, plan) = json(&bench, &[&["mix", "--full", "--at-most", "3"], &with[..]].concat())?;
    assert_eq!(status, Some(0));
    let opened = at(&plan, "/order/stock_set/stocks")?.as_array().ok_or("no set")?;
    assert_eq!(opened.len(), 3, "{opened:?}");
    assert!(["epsom", "soda"].iter().all(|name| opened.iter().any(|o| o == name)), "{opened:?}");
    Ok(())
}
