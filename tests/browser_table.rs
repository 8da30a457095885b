//! A table in real browsers, three tasters with a phone each: networks that go, phones that sleep,
//! buttons pressed twice, a program that is killed, a second hand at the terminal, a reveal with
//! something unsent. Where no browser is installed a line says so.

use std::error::Error;
use std::path::Path;
use std::thread::sleep;
use std::time::Duration;

use serde_json::json;
use waterflight::bench::session_folder::SessionFolder;
use waterflight::session::plan::Plan;
use waterflight::session::score::{Answer, Entry, ScoreLog};

use crate::common::answers::run;
use crate::common::phone::Phone;
use crate::common::starter_bench;
use crate::common::table::{SCORED, ServedTable, own, planned};
use crate::common::webdriver::{Browser, axe};

type Fallible = Result<(), Box<dyn Error>>;

/// What sticks out of a narrow page, and what a thumb cannot hit: under 44 px (WCAG 2.2, 2.5.5).
const NARROW: &str = r"
const found = [], name = e => e.tagName + '.' + e.className + ' ' + e.textContent.trim().slice(0, 40);
const wide = document.documentElement.scrollWidth;
if (wide > window.innerWidth + 1) found.push('the page is ' + wide + ' wide in ' + window.innerWidth);
for (const e of document.querySelectorAll('main *')) {
  if (e.closest('.scroll, svg') || !e.getClientRects().length) continue;
  const box = e.getBoundingClientRect();
  if (box.right > window.innerWidth + 1 || box.left < -1) found.push(name(e) + ' sticks out');
}
for (const e of document.querySelectorAll('a, button, input, textarea, .key, select')) {
  if (e.type === 'hidden' || !e.getClientRects().length) continue;
  const box = e.getBoundingClientRect();
  if (box.width < 44 || box.height < 44) found.push(name(e) + ' is ' + box.width + ' by ' + box.height);
}
return found;";

pub(crate) fn log(bench: &Path) -> Result<ScoreLog, Box<dyn Error>> {
    Ok(SessionFolder::open(bench, "evening")?.score_log()?)
}

/// What is wrong with the page as it is now, on a narrow screen and by axe-core.
fn looked_at(phone: &Browser, what: &str) -> Fallible {
    phone.settled()?;
    let found = phone.script(NARROW, &[])?;
    assert_eq!(found, json!([]), "{what}");
    let Some(axe) = axe("the checks of the table")? else { return Ok(()) };
    for scheme in ["light", "dark"] {
        assert_eq!(phone.axe_violations(&axe, scheme)?, json!([]), "{what}, {scheme}");
    }
    Ok(())
}

#[test]
fn a_whole_session_by_three_phones() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    planned(&bench, "ann, bo, cy", &[&SCORED[..], &["--rounds", "2", "--code-each-cup"]].concat())?;
    let plan = SessionFolder::open(&bench, "evening")?.plan;
    let table = ServedTable::start(&bench)?;
    let mut phones = Vec::new();
    for n in 0..3 {
        let address = format!("http://{}{}", table.at, table.taster(n));
        let Some(phone) = Phone::new(address)? else { return Ok(()) };
        phones.push(phone);
    }
    let [ann, bo, cy] = phones.as_slice() else { return Err("phones".into()) };
    let cups: Vec<Vec<String>> = plan
        .tasters
        .iter()
        .map(|taster| own(&plan, taster).into_iter().map(|(at, _)| at).collect())
        .collect();
    let [of_ann, of_bo, of_cy] = cups.as_slice() else { return Err("cups".into()) };
    let cup = |of: &[String], n: usize| of.get(n).cloned().unwrap_or_default();
    looked_at(&ann.browser, "a fresh cup")?;

    network_cut(ann, &bench, of_ann)?;
    pressed_twice(bo, &bench, &cup(of_bo, 0))?;
    half_typed(cy, &bench, &cup(of_cy, 0))?;
    asleep(cy, &bench, &cup(of_cy, 0))?;

    // The program is killed while bo's phone holds an answer, and started again.
    bo.network(false)?;
    bo.answer(&cup(of_bo, 1), "2", "2", 1)?;
    bo.until_said(&cup(of_bo, 1), "waiting")?;
    table.kill()?;
    bo.network(true)?;
    sleep(Duration::from_millis(300));
    assert!(bo.said(&cup(of_bo, 1))?.contains("waiting"), "confirmed by nobody");
    let table = ServedTable::start(&bench)?;
    bo.until_said(&cup(of_bo, 1), "on disk, line")?;

    second_hand(ann, &bench, &plan, &cup(of_ann, 0))?;

    // The rest, each on the own phone.
    for (phone, cups) in [(ann, of_ann), (bo, of_bo), (cy, of_cy)] {
        for at in cups {
            if phone.said(at)?.contains("open") {
                phone.answer(at, "5", "6", 1)?;
            }
        }
    }
    for (phone, cups) in [(ann, of_ann), (bo, of_bo)] {
        for at in cups {
            phone.until_said(at, "on disk, line")?;
        }
        phone.until("all done", "!document.getElementById('all-done').hidden")?;
    }
    unsent_at_the_reveal(cy, &table, &bench, of_cy)?;
    for phone in [ann, bo] {
        phone.browser.visit(&phone.address)?;
        phone.until("the results", "!document.getElementById('revealed').hidden")?;
        looked_at(&phone.browser, "after the reveal")?;
        phone.script("document.querySelector('#revealed a').click()")?;
        phone.until("the results", "document.title.includes('Results of evening')")?;
    }
    Ok(())
}

/// Three cups without a network: they wait, nothing of them is on disk, and all are when it is back.
fn network_cut(ann: &Phone, bench: &Path, cups: &[String]) -> Fallible {
    let [first, second, third, ..] = cups else { return Err("cups".into()) };
    ann.answer(first, "6", "7", 1)?;
    ann.until_said(first, "on disk, line 1")?;
    ann.network(false)?;
    ann.answer(second, "4", "7", 1)?;
    ann.answer(third, "3", "2", 1)?;
    ann.until_said(second, "waiting to be sent")?;
    ann.until_said(third, "waiting to be sent")?;
    // A mistake corrected while nothing could be sent: the two go one behind the other.
    ann.answer(second, "5", "7", 1)?;
    sleep(Duration::from_millis(500));
    assert_eq!(log(bench)?.lines().len(), 1);
    ann.network(true)?;
    ann.until_said(third, "on disk, line")?;
    ann.until_said(second, "on disk, line")?;
    let log = log(bench)?;
    assert_eq!(log.lines().len(), 4, "two cups and a correction");
    let corrected = log.lines().iter().filter(|r| matches!(r.line.entry, Entry::Correction { .. }));
    assert_eq!(corrected.count(), 1);
    Ok(())
}

fn pressed_twice(bo: &Phone, bench: &Path, at: &str) -> Fallible {
    let before = log(bench)?.lines().len();
    bo.answer(at, "8", "3", 1)?;
    // Back to it and sent once more as it is, several times.
    bo.go_to(at)?;
    bo.script(&"document.querySelector('button.main').click();".repeat(3))?;
    bo.until_said(at, "on disk, line")?;
    bo.go_to(at)?;
    bo.script("document.querySelector('button.main').click()")?;
    sleep(Duration::from_millis(300));
    assert_eq!(log(bench)?.lines().len(), before + 1);
    Ok(())
}

/// A cup of which one scale is tapped is a draft: it is kept over a page loaded again, and never sent.
fn half_typed(cy: &Phone, bench: &Path, at: &str) -> Fallible {
    let before = log(bench)?.lines().len();
    cy.go_to(at)?;
    cy.tap("v0", "4")?;
    cy.tap("h0", "0.5")?;
    cy.until_said(at, "draft")?;
    // The button does not send it, and neither does the network coming back.
    cy.script(
        "document.querySelector('button.main').click(); window.dispatchEvent(new Event('online'))",
    )?;
    cy.browser.visit(&format!("{}?at={at}", cy.address))?;
    cy.until_said(at, "draft")?;
    let kept = cy.script(
        "return [...document.querySelectorAll('input:checked')].map(i => i.name + i.value)",
    )?;
    assert_eq!(kept, json!(["v04", "h00.5"]));
    sleep(Duration::from_millis(300));
    assert_eq!(log(bench)?.lines().len(), before);
    cy.tap("v1", "5")?;
    cy.script("document.querySelector('button.main').click()")?;
    cy.until_said(at, "on disk, line")?;
    let log = log(bench)?;
    let line = log.lines().last().map(|recorded| &recorded.line.entry);
    assert!(
        matches!(line, Some(Entry::Answer(Answer::Scores { values, .. })) if values.get("body") == Some(&4.5)),
        "{line:?}"
    );
    Ok(())
}

/// A phone that falls asleep with something unsent sends it when it wakes.
fn asleep(cy: &Phone, bench: &Path, at: &str) -> Fallible {
    let before = log(bench)?.lines().len();
    cy.network(false)?;
    cy.answer(at, "9", "5", 1)?;
    cy.until_said(at, "waiting")?;
    cy.browser.own("Page.setWebLifecycleState", &json!({"state": "frozen"}))?;
    cy.network(true)?;
    cy.browser.own("Page.setWebLifecycleState", &json!({"state": "active"}))?;
    cy.until_said(at, "on disk, line")?;
    let log = log(bench)?;
    assert_eq!(log.lines().len(), before + 1);
    assert!(matches!(log.lines().last().map(|r| &r.line.entry), Some(Entry::Correction { .. })));
    Ok(())
}

/// The terminal corrects a cup while the phone, which has not seen that, holds another opinion.
fn second_hand(ann: &Phone, bench: &Path, plan: &Plan, at: &str) -> Fallible {
    let code = own(plan, "ann").first().map(|(_, code)| code.to_string()).unwrap_or_default();
    ann.go_to(at)?;
    ann.network(false)?;
    ann.tap("v0", "1")?;
    ann.script("document.querySelector('button.main').click()")?;
    ann.until_said(at, "waiting")?;
    let line = log(bench)?.lines().iter().find_map(|recorded| match &recorded.line.entry {
        Entry::Answer(Answer::Scores { taster, code: of, .. })
            if taster == "ann" && of.to_string() == code =>
        {
            Some(recorded.line.n.to_string())
        }
        _ => None,
    });
    let line = line.ok_or("no line")?;
    run(bench, &["session", "score", "evening", "ann", &code, "body=9", "--correct", &line])?;
    let lines = log(bench)?.lines().len();
    ann.network(true)?;
    ann.until_said(at, "refused: something else was entered meanwhile")?;
    assert_eq!(log(bench)?.lines().len(), lines, "what was not seen is written over");
    ann.go_to(at)?;
    looked_at(&ann.browser, "a refused cup")?;
    // What was typed is still there; sent again, it is a correction that knows the other.
    ann.script("document.querySelector('button.main').click()")?;
    ann.until_said(at, "on disk, line")?;
    let log = log(bench)?;
    assert!(matches!(log.lines().last().map(|r| &r.line.entry), Some(Entry::Correction { .. })));
    Ok(())
}

/// The host reveals while an answer waits on a phone without a network: it is refused with the reason.
fn unsent_at_the_reveal(
    cy: &Phone,
    table: &ServedTable,
    bench: &Path,
    cups: &[String],
) -> Fallible {
    for at in cups {
        cy.until_said(at, "on disk, line")?;
    }
    let at = cups.last().cloned().unwrap_or_default();
    cy.network(false)?;
    cy.answer(&at, "1", "1", 1)?;
    cy.until_said(&at, "waiting")?;
    let Some(host) = Phone::new(format!("http://{}{}", table.at, table.host))? else {
        return Ok(());
    };
    host.until(
        "complete",
        "document.getElementById('missing').textContent.startsWith('Complete')",
    )?;
    looked_at(&host.browser, "the host's page")?;
    host.script("document.querySelector('[href$=\"/links\"]').click()")?;
    host.until("links", "document.querySelectorAll('.qr').length === 3")?;
    looked_at(&host.browser, "the links")?;
    host.browser.visit(&format!("{}/reveal", host.address))?;
    looked_at(&host.browser, "the question before the reveal")?;
    host.script("document.querySelector('[name=sure]').click(); document.querySelector('button.main').click()")?;
    host.until("revealed", "document.body.innerText.includes('What was learnt')")?;
    let lines = log(bench)?.lines().len();
    cy.network(true)?;
    cy.until_said(&at, "refused: the session was revealed")?;
    assert_eq!(log(bench)?.lines().len(), lines);
    Ok(())
}

/// Without script the same page is a plain form, which says from which page it comes.
#[test]
fn a_phone_without_script_answers_by_plain_forms() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    planned(&bench, "ann, bo, cy", &SCORED)?;
    let table = ServedTable::start(&bench)?;
    let address = format!("http://{}{}", table.at, table.taster(0));
    let Some(phone) = Phone::new(address.clone())? else { return Ok(()) };
    phone.browser.own("Emulation.setScriptExecutionDisabled", &json!({"value": true}))?;
    phone.browser.visit(&address)?;
    for n in 1..=3 {
        phone.tap("v0", "3")?;
        phone.tap("v1", "4")?;
        phone.script("document.querySelector('form').requestSubmit()")?;
        phone.until(
            "on disk",
            &format!("document.body.innerText.includes('is on disk, line {n}')"),
        )?;
    }
    assert_eq!(log(&bench)?.lines().len(), 3);
    // What looks at the page is a script; the page's own has not run.
    phone.browser.own("Emulation.setScriptExecutionDisabled", &json!({"value": false}))?;
    looked_at(&phone.browser, "without script")?;
    Ok(())
}

/// Ranking and the tetrad as they are tapped: no ties, and no third cup of two.
#[test]
fn taps_exclude_what_cannot_be() -> Fallible {
    for (more, taps, checked) in [
        (["--method", "ranking"], [("p0", "1"), ("p1", "2"), ("p2", "1")], json!(["p1=2", "p2=1"])),
        (["--method", "tetrad"], [("c", "0"), ("c", "2"), ("c", "3")], json!(["c=2", "c=3"])),
    ] {
        let (_folder, bench) = starter_bench()?;
        planned(&bench, "ann, bo", &more)?;
        let table = ServedTable::start(&bench)?;
        let Some(phone) = Phone::new(format!("http://{}{}", table.at, table.taster(0)))? else {
            return Ok(());
        };
        for (field, value) in taps {
            phone.tap(field, value)?;
        }
        let now = phone.script("return [...document.querySelectorAll('input:checked')].map(i => i.name + '=' + i.value)")?;
        if more.contains(&"tetrad") {
            assert_eq!(now.as_array().map(Vec::len), Some(2), "{now}");
            assert!(now.to_string().contains("c=3"), "{now}");
        } else {
            assert_eq!(now, checked);
        }
        looked_at(&phone.browser, &format!("{more:?}"))?;
        if more.contains(&"ranking") {
            phone.tap("p0", "3")?;
        }
        phone.script("document.querySelector('button.main').click()")?;
        phone.until(
            "sent",
            "document.querySelector('.status').textContent.includes('on disk, line 1')",
        )?;
        assert_eq!(log(&bench)?.lines().len(), 1);
    }
    Ok(())
}
