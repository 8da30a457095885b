//! What is left in each bottle, as text.

use crate::mix::StocktakeReport;
use crate::mix::stocktake::State;
use crate::quantities::show;
use crate::stock::note_text;
use crate::text::table::{Side, table, text as table_text, wrapped};

/// All bottles.
#[must_use]
pub fn text(report: &StocktakeReport) -> String {
    let mut rows = table(&[
        ("stock", Side::Left),
        ("batch", Side::Right),
        ("made", Side::Left),
        ("mL", Side::Right),
        ("taken", Side::Right),
        ("left", Side::Right),
        ("days", Side::Right),
        ("keeps", Side::Left),
    ]);
    let ml = |value: Option<f64>| value.map_or(String::new(), |v| show::fixed(v, 1));
    for bottle in &report.bottles {
        let state = match (bottle.state, &bottle.keeps_until) {
            (State::NotRecorded, _) => "–".to_owned(),
            (State::Good, Some(until)) => format!("until {until}"),
            (State::Good, None) => String::new(),
            (State::TooOld, _) => "TOO OLD".to_owned(),
            (State::Empty, _) => "EMPTY".to_owned(),
            (State::NotYetMade, _) => "made later".to_owned(),
        };
        rows.add_row([
            bottle.stock.clone(),
            bottle.batch.map_or(String::new(), |n| n.to_string()),
            bottle.made.clone().unwrap_or_default(),
            ml(bottle.made_ml),
            ml(bottle.taken_ml),
            ml(bottle.left_ml),
            bottle.age_days.map_or(String::new(), |d| d.to_string()),
            state,
        ]);
    }
    let mut out = format!("On the shelf on {}\n\n{}", report.day, table_text(&rows));
    let unrecorded: Vec<&str> = report
        .bottles
        .iter()
        .filter(|b| b.state == State::NotRecorded)
        .map(|b| b.stock.as_str())
        .collect();
    if !unrecorded.is_empty() {
        let names = unrecorded.join(", ");
        out.push_str(&wrapped(
            &format!("* no batch was recorded of {names}: `waterflight weighed` records one"),
            2,
        ));
    }
    out.push_str(&note_text::list(report.notes.iter()));
    out
}
