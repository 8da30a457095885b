//! Pages to print and to keep: exact, whole in themselves, blind where they have to be.

use std::error::Error;
use std::fs;

use serde_json::Value;

use crate::common::pages::{PICTURES, all, between, json, run, tasted_bench};
use crate::common::{program, starter_bench};

type Fallible = Result<(), Box<dyn Error>>;

/// What a reader sees: no style, no tags.
fn visible(page: &str) -> String {
    let body = page.split_once("<body>").map_or(page, |(_, body)| body);
    let mut out = String::new();
    let mut inside = false;
    for c in body.chars() {
        match c {
            '<' => inside = true,
            '>' => {
                inside = false;
                out.push(' ');
            }
            c if !inside => out.push(c),
            _ => {}
        }
    }
    out
}

#[test]
fn every_number_of_a_table_is_that_of_the_json() -> Fallible {
    let (folder, bench) = tasted_bench()?;
    let mut compared = 0;
    for page in all(&bench, folder.path())? {
        // Page and JSON of one run: a search that time ends may find something else in the next.
        let whole: Vec<&str> = page.whole.iter().map(String::as_str).collect();
        let report = json(&bench, &whole)?;
        let text = fs::read_to_string(&page.path)?;
        for cell in between(&text, "data-from=\"", "</td>") {
            let (from, shown) = cell.split_once("\">").ok_or("a number without its place")?;
            let exact = report.pointer(from).and_then(Value::as_f64);
            let exact = exact.ok_or(format!("{}: no {from} in the JSON", page.name))?;
            // `12 drops` is a number with a word.
            let number = shown.split(' ').next().unwrap_or(shown);
            let read: f64 = number.parse().map_err(|_| format!("{}: `{shown}`", page.name))?;
            let decimals = number.split_once('.').map_or(0, |(_, d)| d.len());
            let half = 0.5 * 10_f64.powi(-i32::try_from(decimals)?);
            assert!(
                (read - exact).abs() <= half * 1.000_001,
                "{} {from}: {shown} for {exact}",
                page.name
            );
            compared += 1;
        }
    }
    assert!(compared > 200, "{compared}");
    Ok(())
}

#[test]
fn every_number_of_a_text_table_stands_in_the_text_of_the_command() -> Fallible {
    let (folder, bench) = tasted_bench()?;
    for page in all(&bench, folder.path())?
        .iter()
        .filter(|p| ["pouring.html", "verdict.html", "journal.html"].contains(&p.name))
    {
        let said = run(&bench, &[&page.command[..], &["--full"]].concat())?;
        let said: String = said.split_whitespace().collect();
        let text = fs::read_to_string(&page.path)?;
        for cell in between(&text, "<td>", "</td>") {
            let cell =
                visible(cell).replace("&lt;", "<").replace("&gt;", ">").replace("&amp;", "&");
            let cell: String = cell.split_whitespace().collect();
            assert!(said.contains(&cell), "{}: `{cell}` is not said", page.name);
        }
    }
    Ok(())
}

#[test]
fn a_page_needs_nothing_but_itself() -> Fallible {
    let (folder, bench) = tasted_bench()?;
    for page in all(&bench, folder.path())? {
        let text = fs::read_to_string(&page.path)?;
        let name = page.name;
        assert!(text.starts_with("<!DOCTYPE html><html lang=\"en\">"), "{name}");
        for foreign in ["<script", "<link", "<img", "@import", "url(", " src=", "<iframe"] {
            assert!(!text.contains(foreign), "{name} has {foreign}");
        }
        assert!(!text.contains("://"), "{name} names an address");
        let pictures = text.matches("<svg ").count();
        assert_eq!(text.matches("role=\"img\" aria-labelledby=").count(), pictures, "{name}");
        assert!(between(&text, "<desc ", "</desc>").iter().all(|d| d.len() > 20), "{name}");
        let mut ids = between(&text, " id=\"", "\"");
        let all = ids.len();
        ids.sort_unstable();
        ids.dedup();
        assert_eq!(ids.len(), all, "{name} has an id twice");
    }
    Ok(())
}

#[test]
fn pictures_are_written_as_files_of_their_own() -> Fallible {
    let (folder, bench) = tasted_bench()?;
    for (name, command) in PICTURES {
        let path = folder.path().join(name);
        let target = path.to_str().ok_or("a path that is no text")?;
        let arguments: Vec<&str> = command.iter().copied().chain(["--svg", target]).collect();
        run(&bench, &arguments)?;
        let text = fs::read_to_string(&path)?;
        assert!(text.contains("<svg xmlns=\"http://www.w3.org/2000/svg\""), "{name}");
        assert!(text.contains("prefers-color-scheme:dark") && text.trim_end().ends_with("</svg>"));
        assert!(!text.contains("NaN") && !text.contains("inf"), "{name}");
    }
    Ok(())
}

/// Nobody who tastes or serves may see which water has which code, nor tell it by an amount.
#[test]
fn no_page_for_tasters_or_servers_names_a_water_or_an_amount_of_one() -> Fallible {
    let (folder, bench) = tasted_bench()?;
    let flight: Value = json(&bench, &["mix"])?;
    let named = |key: &str, list: &str| -> Vec<String> {
        let all = flight.pointer(list).and_then(Value::as_array);
        all.into_iter()
            .flatten()
            .filter_map(|one| one.get(key)?.as_str().map(str::to_owned))
            .collect()
    };
    let mut secret = named("target", "/waters");
    secret.extend(named("stock", "/stocks_used"));
    secret.extend(["hardness", "alkalinity", "mg/L", "mL/L", "Ca ", "epsom"].map(str::to_owned));
    let blind = ["serving.html", "cups.html", "scores.html", "ballots.html"];
    let mut looked = 0;
    for page in all(&bench, folder.path())?.iter().filter(|p| blind.contains(&p.name)) {
        let text = visible(&fs::read_to_string(&page.path)?);
        let words: Vec<&str> = text.split(|c: char| !c.is_alphanumeric()).collect();
        for name in &secret {
            let is_there = if name.contains([' ', '/', ',']) {
                text.contains(name.as_str())
            } else {
                words.contains(&name.as_str())
            };
            assert!(!is_there, "{} says `{name}`", page.name);
        }
        looked += 1;
    }
    assert_eq!(looked, blind.len());
    // The pourer's sheet does name them, and says who may see it.
    let text = visible(&fs::read_to_string(folder.path().join("pouring.html"))?);
    assert!(text.contains("sulfate side") && text.contains("Keep it from everyone who tastes"));
    Ok(())
}

#[test]
fn a_file_of_another_kind_is_never_written_over() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let tried = |arguments: &[&str]| -> Result<(Option<i32>, String), Box<dyn Error>> {
        let output = program()?.current_dir(&bench).args(arguments).output()?;
        Ok((output.status.code(), String::from_utf8(output.stderr)?))
    };
    fs::write(bench.join("letter.html"), "<p>Dear friend</p>")?;
    let (status, errors) = tried(&["weigh", "epsom", "--print", "letter.html"])?;
    assert_eq!(status, Some(73), "{errors}");
    assert!(errors.contains("another file is there"), "{errors}");
    assert_eq!(fs::read_to_string(bench.join("letter.html"))?, "<p>Dear friend</p>");
    // A file of the bench is no page, whatever it is called.
    let before = fs::read_to_string(bench.join("bench.ron"))?;
    let (status, _) = tried(&["weigh", "epsom", "--print", "bench.ron"])?;
    assert_eq!(status, Some(2));
    assert_eq!(fs::read_to_string(bench.join("bench.ron"))?, before);
    // What waterflight wrote itself is made anew.
    run(&bench, &["weigh", "epsom", "--print", "sheet.html"])?;
    run(&bench, &["weigh", "soda", "--print", "sheet.html"])?;
    assert!(fs::read_to_string(bench.join("sheet.html"))?.contains("Stock: soda"));
    run(&bench, &["mix", "--svg", "map.svg"])?;
    run(&bench, &["mix", "--svg", "map.svg", "--axes", "calcium,magnesium"])?;
    let (status, _) = tried(&["mix", "--print", "none/pour.html"])?;
    assert_eq!(status, Some(73));
    Ok(())
}

#[test]
fn sheets_of_labels_are_refused_when_they_cannot_be() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    for (arguments, said) in [
        (vec!["--labels", "3by7"], "is no sheet of labels"),
        (vec!["--labels", "3x7", "--start", "22"], "there is no label 22"),
        (vec!["--labels", "3x7", "--start", "0"], "there is no label 0"),
    ] {
        let base = ["mix", "--print", "labels.html"];
        let all: Vec<&str> = base.into_iter().chain(arguments).collect();
        let output = program()?.current_dir(&bench).args(all).output()?;
        let errors = String::from_utf8(output.stderr)?;
        assert!(!output.status.success() && errors.contains(said), "{errors}");
        assert!(!bench.join("labels.html").exists());
    }
    let settings = fs::read_to_string(bench.join("bench.ron"))?;
    let end = settings.trim_end().strip_suffix(')').ok_or("no end")?;
    let wide = "    labels: [(name: \"wide\", columns: 3, rows: 7, width: \"80 mm\", height: \"38 mm\", \
                left: \"0 mm\", top: \"0 mm\")],\n)";
    fs::write(bench.join("bench.ron"), format!("{end}{wide}\n"))?;
    let output = program()?.current_dir(&bench).arg("mix").output()?;
    let errors = String::from_utf8(output.stderr)?;
    assert!(errors.contains("beyond the paper") && output.status.code() == Some(65), "{errors}");
    Ok(())
}
