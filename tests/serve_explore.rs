//! A water moved by hand on the local page: what it says is what `mix` says, what it writes is read back,
//! and nothing is ever written over.

use std::error::Error;
use std::fs;

use serde_json::Value;

use crate::common::answers::{json, run, tried};
use crate::common::starter_bench;
use crate::common::table::{ServedTable, form};

type Fallible = Result<(), Box<dyn Error>>;

const GOALS: [(&str, &str); 4] = [
    ("flight", "first-flight"),
    ("hardness", "60 mg/L as CaCO3"),
    ("alkalinity", "35 mg/L as CaCO3"),
    ("sulfate", "at least 20 mg/L"),
];

fn asked(more: &[(&str, &str)]) -> String {
    form(&[&GOALS[..], more].concat())
}

#[test]
fn what_the_page_says_is_what_mix_says() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let page = ServedTable::explore(&bench)?;
    let found = page.get(&format!("{}/answer?{}", page.host, asked(&[])))?;
    assert_eq!(found.status, 200);
    assert!(found.body.contains("In reach"), "{}", found.body);
    // The same goals as a file of their own.
    let name = [("name", "by-hand")];
    let written = page.submit(&page.host, &[&GOALS[..], &name].concat())?;
    assert_eq!(written.status, 201, "{}", written.body);
    assert!(written.body.contains("Written: flights/by-hand.ron"));
    let mix = json(&bench, &["mix", "by-hand"])?;
    let water = mix.pointer("/waters/0").ok_or("no water")?;
    assert_eq!(water.get("reached"), Some(&Value::Bool(true)));
    let mut compared = 0;
    let doses = water.get("doses").and_then(Value::as_array).into_iter().flatten();
    for dose in doses {
        let ml = dose.get("ml_per_l").and_then(Value::as_f64).ok_or("no dose")?;
        let stock = dose.get("stock").and_then(Value::as_str).unwrap_or_default();
        let row = format!("<th scope=\"row\">{stock}</th><td>{}</td>", three_figures(ml));
        assert!(found.body.contains(&row), "{row} is not in {}", found.body);
        compared += 1;
    }
    let ions = water.get("mg_per_l").and_then(Value::as_object).ok_or("no ions")?;
    for (ion, amount) in ions {
        let amount = amount.as_f64().ok_or("no amount")?;
        if amount >= 1.0 {
            let row = format!("<th scope=\"row\">{ion}</th><td>{}</td>", three_figures(amount));
            assert!(found.body.contains(&row), "{row}");
            compared += 1;
        }
    }
    // The base water is a part of the recipe.
    let base = water.get("base").and_then(Value::as_array).into_iter().flatten();
    for part in base {
        let share = part.get("share").and_then(Value::as_f64).ok_or("no share")?;
        let name = part.get("water").and_then(Value::as_str).unwrap_or_default();
        let row =
            format!("<th scope=\"row\">{name}</th><td>{}</td>", three_figures(1000.0 * share));
        assert!(found.body.contains(&row), "{row} is not in {}", found.body);
        compared += 1;
    }
    assert!(compared > 6, "{compared}");
    assert!(found.body.contains("<svg") && found.body.contains("pH as mixed"));
    Ok(())
}

#[test]
fn a_stock_that_no_water_may_have_is_in_none() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let shown = |bench: &std::path::Path| -> Result<String, Box<dyn Error>> {
        let page = ServedTable::explore(bench)?;
        Ok(page.get(&format!("{}/answer?{}", page.host, asked(&[])))?.body)
    };
    let dosed = |body: &str, stock: &str| body.contains(&format!("<th scope=\"row\">{stock}</th>"));
    let before = shown(&bench)?;
    let used = ["epsom", "calcium", "magchlor", "potash", "soda"];
    let excluded = *used.iter().find(|stock| dosed(&before, stock)).ok_or("no stock is dosed")?;
    let file = bench.join("flights/first-flight.ron");
    let text = fs::read_to_string(&file)?;
    fs::write(&file, text.replace("goals: (", &format!("without: [\"{excluded}\"], goals: (")))?;
    let after = shown(&bench)?;
    assert!(!dosed(&after, excluded), "{excluded} is in {after}");
    assert!(used.iter().any(|stock| dosed(&after, stock)), "{after}");
    Ok(())
}

/// A number with three figures, reckoned here and not by the program.
fn three_figures(value: f64) -> String {
    let (mut decimals, mut least) = (0_usize, 100.0);
    while value.abs() < least && decimals < 9 {
        decimals += 1;
        least /= 10.0;
    }
    format!("{value:.decimals$}")
}

#[test]
fn a_file_is_never_written_over_and_only_into_the_bench() -> Fallible {
    let (folder, bench) = starter_bench()?;
    let page = ServedTable::explore(&bench)?;
    let before = fs::read_to_string(bench.join("flights/first-flight.ron"))?;
    let too_long = "x".repeat(300);
    for name in ["first-flight", "../outside", "a/b", "", "x\u{0}y", &too_long] {
        let reply = page.submit(&page.host, &[&GOALS[..], &[("name", name)]].concat())?;
        assert_eq!(reply.status, 409, "{name}: {}", reply.body);
        assert!(reply.body.contains("Not written: "), "{name}");
    }
    assert_eq!(fs::read_to_string(bench.join("flights/first-flight.ron"))?, before);
    assert_eq!(fs::read_dir(bench.join("flights"))?.count(), 1);
    assert!(!folder.path().join("outside.ron").exists());
    // Nothing else of the bench is changed by looking.
    assert_eq!(page.get(&page.host)?.status, 200);
    assert_eq!(run(&bench, &["mix", "--json"])?, run(&bench, &["mix", "--json"])?);
    Ok(())
}

#[test]
fn waters_are_pinned_and_compared() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let page = ServedTable::explore(&bench)?;
    let pinned = page.get(&format!("{}?{}", page.host, asked(&[("pin", "yes")])))?.body;
    let line =
        "hardness: 60 mg/L as CaCO3; alkalinity: 35 mg/L as CaCO3; sulfate: at least 20 mg/L";
    assert!(pinned.contains(line) && pinned.contains("differs by"), "{pinned}");
    // Moved away from what is pinned.
    let moved = [("hardness", "90 mg/L as CaCO3"), ("pinned", line), ("flight", "first-flight")];
    let found = page.get(&format!("{}/answer?{}", page.host, form(&moved)))?.body;
    assert!(found.contains("<th scope=\"col\">A</th>") && found.contains("+30"), "{found}");
    // The share of magnesium is a goal as well, and a tolerance counts where none is stated.
    let share = asked(&[("share", "0.5"), ("tolerance", "1")]);
    let found = page.get(&format!("{}/answer?{share}", page.host))?.body;
    assert!(found.contains("0.5 ± 0.005 meq/meq"), "{found}");
    Ok(())
}

#[test]
fn what_cannot_be_read_is_said_and_escaped() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let page = ServedTable::explore(&bench)?;
    for (goal, why) in [
        ("much", "hardness: "),
        ("80 bananas", "hardness: "),
        ("between 9 and 4 mg/L as CaCO3", "no value lies between"),
        ("\"><script>alert(1)</script>", "hardness: "),
    ] {
        for path in ["/answer", ""] {
            let fields = form(&[("flight", "first-flight"), ("hardness", goal)]);
            let reply = page.get(&format!("{}{path}?{fields}", page.host))?;
            assert_eq!(reply.status, 200, "{goal}");
            assert!(
                reply.body.contains(why) && !reply.body.contains("<script>alert"),
                "{}",
                reply.body
            );
        }
    }
    let none = form(&[("flight", "no-such-flight")]);
    assert_eq!(page.get(&format!("{}?{none}", page.host))?.status, 409);
    assert_eq!(page.get("/e/0000000000000000000a")?.status, 404);
    // A goal that no shelf can make is said to be out of reach, with the nearest.
    let far = form(&[
        ("flight", "first-flight"),
        ("sodium", "at most 0 mg/L"),
        ("alkalinity", "900 mg/L as CaCO3"),
    ]);
    assert!(page.get(&format!("{}/answer?{far}", page.host))?.body.contains("Out of reach"));
    Ok(())
}

#[test]
fn the_bench_is_shown_to_this_machine_alone() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    for more in [&["--on", "lan"][..], &["--key", "k"]] {
        let (done, _, error) = tried(&bench, &[&["serve"], more].concat())?;
        assert!(!done && error.contains("SESSION"), "{error}");
    }
    let page = ServedTable::explore(&bench)?;
    assert!(page.at.starts_with("127.0.0.1:"));
    for host in ["evil.example", "192.168.1.20:8420"] {
        assert_eq!(page.ask("GET", &page.host, &[("Host", host)], "")?.status, 421);
    }
    let origin = [("Origin", "http://evil.example")];
    assert_eq!(page.ask("POST", &page.host, &origin, &asked(&[("name", "stolen")]))?.status, 403);
    assert!(!bench.join("flights/stolen.ron").exists());
    Ok(())
}
