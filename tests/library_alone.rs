//! A bench worked on by the library alone, without a command line: it says and records what commands say
//! and record.

use std::error::Error;
use std::fs;
use std::path::Path;

use crate::common::answers::run;
use crate::common::starter_bench;
use serde_json::{Value, json};
use waterflight::app::Watch;
use waterflight::app::bottles::{bottle, take_stock};
use waterflight::app::changed_bottle::RecordedBottle;
use waterflight::app::poured_flight::{PourRequest, record_pour};
use waterflight::app::recorded_batch::{WeighedBatch, record_batch};
use waterflight::app::verified_stock::verify_stock;
use waterflight::bench::Bench;
use waterflight::bench::record_log::log_entries;
use waterflight::bench::records::BottleChange;
use waterflight::bench::taken_back::undo;
use waterflight::quantities::{Day, Grams, Millilitres};
use waterflight::stock::Making;
use waterflight::stock::reading::Reading;
use waterflight::stock::verify::Dilution;
use waterflight::text::json::document;

type Fallible<T = ()> = Result<T, Box<dyn Error>>;

/// The lines of a log without the times at which they were written.
fn lines(bench: &Path, log: &str) -> Fallible<Vec<Value>> {
    let text = fs::read_to_string(bench.join("records").join(log))?;
    let line = |text: &str| {
        let mut line: Value = serde_json::from_str(text)?;
        line.as_object_mut().map(|line| line.remove("at"));
        Ok(line)
    };
    text.lines().map(line).collect()
}

#[test]
fn the_library_says_and_records_what_commands_do() -> Fallible {
    let (_one, typed) = starter_bench()?;
    let (_other, called) = starter_bench()?;
    let same = |command: &str, report: Value| -> Fallible {
        let words: Vec<&str> = command.split('|').collect();
        assert_eq!(run(&typed, &words)?, document(&report)?, "{command}");
        Ok(())
    };
    let day = Day::parse("2031-01-02").ok_or("no day")?;
    let bench = || Bench::open(&called);

    let making = Making::ToTotalMass { salt: Grams::new(40.02), total: Grams::new(1001.0) };
    let weighed = WeighedBatch {
        making,
        temperature: None,
        day,
        lot_label: Some("A17".to_owned()),
        instead_of: None,
    };
    let on = bench()?;
    let batch = record_batch(&on, &bottle(&on, "epsom")?, weighed)?;
    same(
        "weighed|epsom|--salt|40.02 g|--total|1001 g|--lot|A17|--date|2031-01-02|--json",
        json!(batch),
    )?;

    let on = bench()?;
    let dilution = Dilution::new(Millilitres::new(5.0), Millilitres::new(1000.0))?;
    let filled = bottle(&on, "epsom")?;
    let readings = [Reading::meter("178 µS/cm")?];
    let mut verified = verify_stock(&on, &filled, dilution, 0.0, &readings)?;
    assert_eq!(verified.record, None);
    verified.record(&on, &filled, day, None)?;
    same("verify|epsom|--read|178 µS/cm|--record|--date|2031-01-02|--json", json!(verified))?;

    let on = bench()?;
    let bottle = RecordedBottle::of(&on, "epsom")?;
    let changed = bottle.record(&on, BottleChange::SpilledMl(20.0), day, None)?;
    same("bottle|epsom|--spilled|20 mL|--date|2031-01-02|--json", json!(changed))?;

    let asked = PourRequest {
        flight: None,
        waters: &["soft".to_owned()],
        dispenser: None,
        bottle: None,
        bottles: 2,
        day,
        instead_of: None,
    };
    let poured = record_pour(&bench()?, &asked, Watch::default())?;
    same("poured|--water|soft|--bottles|2|--date|2031-01-02|--json", json!(poured))?;

    let back = undo(&called, Some("3"), day, Some("it was the other one".to_owned()))?;
    same("undo|3|--why|it was the other one|--date|2031-01-02|--json", back.data())?;
    same("log|--json", json!(log_entries(&called)?))?;
    same("stocktake|--on|2031-01-02|--json", json!(take_stock(&bench()?, day)?))?;

    for log in ["batches.jsonl", "pours.jsonl"] {
        assert_eq!(lines(&typed, log)?, lines(&called, log)?, "{log}");
    }
    assert!(lines(&called, "batches.jsonl")?.len() > 1);
    Ok(())
}
