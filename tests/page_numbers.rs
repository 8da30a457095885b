//! What pages say is what their commands say in JSON: every number of every table, who came first, and
//! the commands that a page asks to type.

use std::error::Error;
use std::fs;

use serde_json::Value;

use crate::common::answers::{number, words};
use crate::common::pages::{all, between, json, run, tasted_bench};

type Fallible = Result<(), Box<dyn Error>>;

/// Text without tags and entities.
fn plain(markup: &str) -> String {
    let mut out = String::new();
    let mut inside = false;
    for c in markup.chars() {
        match c {
            '<' => inside = true,
            '>' => inside = false,
            c if !inside => out.push(c),
            _ => {}
        }
    }
    let entities = [("&lt;", "<"), ("&gt;", ">"), ("&quot;", "\""), ("&amp;", "&")];
    entities.into_iter().fold(out, |text, (entity, c)| text.replace(entity, c))
}

/// The numbers in a text, as they are written.
fn numbers(text: &str) -> Vec<String> {
    let is_part = |c: char| c.is_ascii_digit() || c == '.';
    let pieces = text.split(|c: char| !is_part(c)).map(|piece| piece.trim_matches('.'));
    pieces.filter(|piece| piece.parse::<f64>().is_ok()).map(str::to_owned).collect()
}

/// All numbers of a document, those within its texts too.
fn collected(of: &Value, into: &mut Vec<f64>) {
    match of {
        Value::Number(number) => into.extend(number.as_f64()),
        Value::String(text) => {
            into.extend(numbers(text).iter().filter_map(|number| number.parse::<f64>().ok()));
        }
        Value::Array(list) => list.iter().for_each(|one| collected(one, into)),
        Value::Object(map) => {
            for (key, value) in map {
                into.extend(numbers(key).iter().filter_map(|number| number.parse::<f64>().ok()));
                collected(value, into);
            }
        }
        Value::Null | Value::Bool(_) => {}
    }
}

/// Whether a number as it is shown is one of these, as it stands or in per cent.
fn is_among(shown: &str, exact: &[f64]) -> Result<bool, Box<dyn Error>> {
    let read: f64 = shown.parse()?;
    let decimals = shown.split_once('.').map_or(0, |(_, d)| d.len());
    let half = 0.5 * 10_f64.powi(-i32::try_from(decimals)?) * 1.000_001;
    let is_it = |exact: &f64| {
        [1.0, 100.0].into_iter().any(|scale| (exact.abs() * scale - read).abs() <= half)
    };
    Ok(exact.iter().any(is_it))
}

/// Cells without a place of their own in the JSON: words, and tables as they stand at the terminal.
#[test]
fn every_number_of_every_cell_stands_in_the_json() -> Fallible {
    let (folder, bench) = tasted_bench()?;
    let mut compared = 0;
    let mut wrong = Vec::new();
    for page in all(&bench, folder.path())? {
        let whole: Vec<&str> = page.whole.iter().map(String::as_str).collect();
        let mut exact = Vec::new();
        collected(&json(&bench, &whole)?, &mut exact);
        let text = fs::read_to_string(&page.path)?;
        let cells = between(&text, "<td", "</td>").into_iter();
        for cell in cells.filter(|cell| !cell.contains("data-from")) {
            let cell = plain(&format!("<td{cell}"));
            for shown in numbers(&cell) {
                if !is_among(&shown, &exact)? {
                    wrong.push(format!("{}: {shown} of `{cell}`", page.name));
                }
                compared += 1;
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(compared > 100, "{compared}");
    Ok(())
}

/// The sentence at the top of a verdict names the water with the best mean, and as near ties those whose
/// difference from it is not significant.
#[test]
fn the_verdict_says_who_came_first_and_who_was_near() -> Fallible {
    let (folder, bench) = tasted_bench()?;
    let page = folder.path().join("verdict.html");
    let target = page.to_str().ok_or("a path that is no text")?;
    let report = json(&bench, &["session", "results", "evening", "--page", target])?;
    let scores = report.pointer("/scores").and_then(Value::as_array).ok_or("no scores")?;
    let liking = scores.iter().find(|s| s.get("attribute").is_some_and(|a| a == "liking"));
    let liking = liking.ok_or("no liking")?;
    let list = |key: &str| liking.get(key).and_then(Value::as_array).ok_or("no list");
    let mut best = ("", f64::NEG_INFINITY);
    for mean in list("means")? {
        let (water, mean_score) =
            (mean.get("water").and_then(Value::as_str), number(mean, "/mean")?);
        if mean_score > best.1 {
            best = (water.ok_or("no water")?, mean_score);
        }
    }
    let (mut told, mut near) = (Vec::new(), Vec::new());
    for pair in list("differences")? {
        let name = |key: &str| pair.get(key).and_then(Value::as_str).unwrap_or_default();
        let other = match (name("higher"), name("lower")) {
            (a, b) if a == best.0 => b,
            (a, b) if b == best.0 => a,
            _ => continue,
        };
        let list = if number(pair, "/p")? <= 0.05 { &mut told } else { &mut near };
        list.push(other.to_owned());
    }
    let leading = report.get("leading").ok_or("no leading water")?;
    let sorted = |mut list: Vec<String>| {
        list.sort();
        list
    };
    let said = |key: &str| -> Vec<String> {
        let list = leading.get(key).and_then(Value::as_array);
        sorted(list.into_iter().flatten().filter_map(|w| w.as_str().map(str::to_owned)).collect())
    };
    assert_eq!(leading.get("water").and_then(Value::as_str), Some(best.0));
    assert_eq!(
        (said("differs_from"), said("not_found_to_differ_from")),
        (sorted(told), sorted(near.clone()))
    );
    let text = fs::read_to_string(&page)?;
    let lead = plain(between(&text, "<p class=\"lead\">", "</p>").first().ok_or("no lead")?);
    assert!(lead.starts_with(&format!("{} came first in liking", best.0)), "{lead}");
    assert!(near.iter().all(|water| lead.contains(water.as_str())), "{lead}");
    Ok(())
}

/// Cost of the water that came first: what `mix` says of the same doses.
#[test]
fn the_verdict_says_what_the_first_water_costs() -> Fallible {
    let (folder, bench) = tasted_bench()?;
    let page = folder.path().join("verdict.html");
    let target = page.to_str().ok_or("a path that is no text")?;
    let report = json(&bench, &["session", "results", "evening", "--page", target])?;
    let water = report.pointer("/leading/water").and_then(Value::as_str).ok_or("no water")?;
    let mix = json(&bench, &["mix"])?;
    let costs = mix.pointer("/cost/waters").and_then(Value::as_array).ok_or("no costs")?;
    let own = costs.iter().find(|c| c.get("target").is_some_and(|t| t == water));
    let (want, got) = (
        number(own.ok_or("no cost of it")?, "/per_l")?,
        number(&report, "/first_water/cost/per_l")?,
    );
    assert!((got / want - 1.0).abs() < 1e-9 && want > 0.0, "{got} for {want}");
    assert!(
        report.pointer("/first_water/machine/verdicts").is_some()
            || report.pointer("/first_water/machine").is_some_and(Value::is_object)
    );
    let text = fs::read_to_string(&page)?;
    assert!(text.contains("/first_water/cost/per_l") && text.contains("In the machine"));
    Ok(())
}

#[test]
fn every_command_that_the_verdict_asks_for_can_be_typed() -> Fallible {
    let (folder, bench) = tasted_bench()?;
    let page = folder.path().join("verdict.html");
    run(&bench, &["session", "results", "evening", "--page", page.to_str().ok_or("no path")?])?;
    let text = fs::read_to_string(&page)?;
    let mut typed = 0;
    for command in between(&text, "<code>waterflight ", "</code>") {
        let words = words(&plain(command));
        let words: Vec<&str> = words.iter().map(String::as_str).collect();
        run(&bench, &words)?;
        typed += 1;
    }
    assert_eq!(typed, 5);
    // The journal that it asks for has the surface through all scores.
    let journal = fs::read_to_string(bench.join("journal.html"))?;
    assert!(journal.contains("All scores together") && journal.contains("id=\"surface-t\""));
    Ok(())
}

/// The label of a recorded batch has the day, the lot, the day it keeps until, and the strength that was
/// measured; without a record there are blanks.
#[test]
fn labels_of_a_recorded_batch_are_filled_in() -> Fallible {
    let (folder, bench) = tasted_bench()?;
    let file = bench.join("stocks/calcium.ron");
    let text = fs::read_to_string(&file)?;
    let end = text.trim_end().strip_suffix(')').ok_or("no end")?;
    fs::write(&file, format!("{end}    keeps: \"90 days\",\n)\n"))?;
    let weigh = ["weighed", "calcium", "--salt", "30.02 g", "--total", "1002 g"];
    let more = ["--lot", "A18", "--date", "2026-06-01"];
    run(&bench, &weigh.into_iter().chain(more).collect::<Vec<_>>())?;
    let page = folder.path().join("labels.html");
    let target = page.to_str().ok_or("a path that is no text")?;
    let report = json(&bench, &["stock", "--labels", "3x7", "--print", target])?;
    let stocks = report.as_array().ok_or("no stocks")?;
    let text = plain(&fs::read_to_string(&page)?.replace("</span>", " "));
    let calcium = stocks.iter().find(|s| s.get("name").is_some_and(|n| n == "calcium"));
    let strength = format!("{:.2} g/kg", number(calcium.ok_or("no calcium")?, "/g_per_kg")?);
    let squeezed: String = text.split_whitespace().collect::<Vec<_>>().join(" ");
    for said in [
        strength.as_str(),
        "made on 2026-06-01 batch 2 lot A18",
        // 90 days later.
        "until 2026-08-30",
        "CaCl2·2H2O in water",
        "as weighed: ±",
        "not to drink as it is",
    ] {
        assert!(squeezed.contains(said), "no `{said}` on the labels: {squeezed}");
    }
    assert!(squeezed.contains("made on __________ lot __________"), "{squeezed}");
    run(&bench, &["verify", "calcium", "--read", "250 µS/cm", "--record", "--date", "2026-06-02"])?;
    run(&bench, &["stock", "calcium", "--labels", "3x7", "--print", target])?;
    let text = plain(&fs::read_to_string(&page)?);
    assert!(text.contains("as verified on 2026-06-02: ±"), "{text}");
    Ok(())
}

/// Doses are poured in an order that keeps calcium for the end, numbered in page and JSON alike.
#[test]
fn doses_are_poured_calcium_last() -> Fallible {
    let (_folder, bench) = tasted_bench()?;
    let mix = json(&bench, &["mix"])?;
    let stocks = json(&bench, &["stock"])?;
    let holds = |stock: &Value, ion: &str| -> bool {
        let own = stocks.as_array().into_iter().flatten().find(|s| s.get("name") == Some(stock));
        own.is_some_and(|s| s.pointer(&format!("/mg_per_ml/{ion}")).is_some())
    };
    let mut looked = 0;
    for water in mix.pointer("/waters").and_then(Value::as_array).ok_or("no waters")? {
        let doses = water.get("doses").and_then(Value::as_array).ok_or("no doses")?;
        let mut turns = Vec::new();
        for dose in doses {
            let stock = dose.get("stock").ok_or("no stock")?;
            turns.push((number(dose, "/pour_order")?, holds(stock, "Ca"), holds(stock, "HCO3")));
        }
        turns.sort_by(|a, b| a.0.total_cmp(&b.0));
        for (n, (turn, _, _)) in (1_u32..).zip(&turns) {
            assert!((turn - f64::from(n)).abs() < 1e-9, "{turns:?}");
        }
        for pair in turns.windows(2) {
            let [(_, calcium, alkaline), (_, next_calcium, next_alkaline)] = pair else { continue };
            assert!(!calcium || *next_calcium, "{turns:?}");
            assert!(!next_alkaline || *alkaline, "{turns:?}");
            looked += 1;
        }
    }
    assert!(looked > 5, "{looked}");
    Ok(())
}
