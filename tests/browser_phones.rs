//! What a phone does by itself: it sends what waits when it wakes, whatever tells it so, and in a second
//! engine as in the first. Where no browser is installed a line says so.

use std::error::Error;
use std::thread::sleep;
use std::time::Duration;

use serde_json::json;
use waterflight::bench::session_folder::SessionFolder;

use crate::browser_table::log;
use crate::common::phone::Phone;
use crate::common::starter_bench;
use crate::common::table::{SCORED, ServedTable, own, planned};

type Fallible = Result<(), Box<dyn Error>>;

/// Each of the events that tell a page of its waking sends what waits, without the clock that also does.
#[test]
fn every_way_of_waking_sends_what_waits() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    planned(&bench, "ann", &[&SCORED[..], &["--rounds", "2", "--code-each-cup"]].concat())?;
    let plan = SessionFolder::open(&bench, "evening")?.plan;
    let mut table = ServedTable::start(&bench)?;
    let address = format!("http://{}{}", table.at, table.taster(0));
    let Some(phone) = Phone::new(address)? else { return Ok(()) };
    let still = json!({"source": "window.setInterval = () => 0;"});
    phone.browser.own("Page.addScriptToEvaluateOnNewDocument", &still)?;
    phone.browser.visit(&phone.address)?;
    let cups = own(&plan, "ann");
    let events = [
        "window.dispatchEvent(new Event('online'))",
        "window.dispatchEvent(new PageTransitionEvent('pageshow', {persisted: true}))",
        "document.dispatchEvent(new Event('visibilitychange'))",
    ];
    assert!(cups.len() > events.len());
    for ((at, _), event) in cups.iter().zip(events) {
        table.kill()?;
        phone.answer(at, "6", "7", 1)?;
        phone.until_said(at, "waiting")?;
        table = ServedTable::start(&bench)?;
        sleep(Duration::from_millis(500));
        assert!(phone.said(at)?.contains("waiting"), "{event}: sent without it");
        phone.script(event)?;
        phone.until_said(at, "on disk, line")?;
    }
    assert_eq!(log(&bench)?.lines().len(), events.len());
    // With its clock it needs no event.
    let Some(phone) = Phone::new(phone.address.clone())? else { return Ok(()) };
    let (at, _) = cups.last().ok_or("no cups")?;
    table.kill()?;
    phone.answer(at, "6", "7", 1)?;
    phone.until_said(at, "waiting")?;
    let _table = ServedTable::start(&bench)?;
    phone.until_said(at, "on disk, line")?;
    Ok(())
}

/// Three tasters one after the other in WebKit: double presses, a program killed and started again, a
/// half-typed cup, the reveal, an answer that comes too late, the results.
#[test]
fn a_whole_session_in_webkit() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    planned(&bench, "ann, bo, cy", &SCORED)?;
    let plan = SessionFolder::open(&bench, "evening")?.plan;
    let mut table = ServedTable::start(&bench)?;
    let address = |table: &ServedTable, n: usize| format!("http://{}{}", table.at, table.taster(n));
    let Some(phone) = Phone::in_webkit(address(&table, 0))? else { return Ok(()) };
    for (n, taster) in ["ann", "bo", "cy"].into_iter().enumerate() {
        phone.browser.visit(&address(&table, n))?;
        let cups = own(&plan, taster);
        let (last, others) = cups.split_last().ok_or("no cups")?;
        for (at, _) in others {
            phone.answer(at, "6", "7", 2)?;
            phone.until_said(at, "on disk, line")?;
        }
        // The network is gone, the page is closed and opened again, the network is back.
        table.kill()?;
        phone.answer(&last.0, "4", "3", 1)?;
        phone.until_said(&last.0, "waiting")?;
        table = ServedTable::start(&bench)?;
        phone.browser.visit(&address(&table, n))?;
        phone.until_said(&last.0, "on disk, line")?;
        phone.until("all done", "!document.getElementById('all-done').hidden")?;
        // A draft stays one.
        phone.go_to(&last.0)?;
        phone.tap("v0", "9")?;
        phone.until_said(&last.0, "draft")?;
        phone.browser.visit(&address(&table, n))?;
        phone.until_said(&last.0, "draft")?;
    }
    let lines = log(&bench)?.lines().len();
    assert_eq!(lines, own(&plan, "ann").len() * 3, "each cup once, no draft");
    phone.browser.visit(&format!("http://{}{}/reveal", table.at, table.host))?;
    phone.script("document.querySelector('[name=sure]').click(); document.querySelector('button.main').click()")?;
    phone.until("revealed", "document.body.innerText.includes('What was learnt')")?;
    phone.browser.visit(&address(&table, 2))?;
    phone.until("the results", "!document.getElementById('revealed').hidden")?;
    phone.script("document.querySelector('#revealed a').click()")?;
    phone.until("the results", "document.title.includes('Results of evening')")?;
    assert_eq!(log(&bench)?.lines().len(), lines + 1, "the reveal alone");
    Ok(())
}
