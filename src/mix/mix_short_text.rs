//! A planned flight on one screen: what to pour for a bottle of each water, what it is filled up with,
//! and what is missed. [`mix_text`](crate::mix::mix_text) has the rest.

use crate::mix::MixReport;
use crate::mix::mix_report::{GoalLine, WaterMix};
use crate::mix::order_text;
use crate::quantities::show;
use crate::stock::Note;
use crate::text::cautions;
use crate::text::table::{Side, columns, table, text as table_text, wrapped};

/// The flight.
#[must_use]
pub fn text(report: &MixReport) -> String {
    let mut out = wrapped(&report.flight, 0);
    out.push_str(&wrapped(
        &format!(
            "Bottles of {} mL, doses {}; the rest: --full",
            show::plain(report.bottle_ml),
            report.convention
        ),
        0,
    ));
    let dispenser = report.order.as_ref().and_then(|order| order.dispenser.as_ref());
    match dispenser {
        Some(dispenser) => {
            let what = if dispenser.counted.is_some() { "in drops" } else { "in its steps" };
            out.push_str(&wrapped(
                &format!("With the {} `{}`, {what}.", dispenser.kind, dispenser.name),
                0,
            ));
            out.push_str(&order_text::amounts(dispenser));
        }
        None => out.push_str(&doses(report)),
    }
    let set = report.order.as_ref().and_then(|order| order.stock_set.as_ref());
    if let Some(set) = set {
        let proof = if set.proved { "proved" } else { "NOT PROVED in the time given" };
        let opened = format!("Opened, {} ({proof}): {}.", set.asked, set.stocks.join(", "));
        out.push_str(&wrapped(&opened, 2));
    }
    for water in &report.waters {
        out.push_str(&wrapped(&line(water), 4));
    }
    for one in &report.unanswered {
        out.push_str(&wrapped(
            &format!("{} {}: NO ANSWER, {}", one.number, one.target, one.reason),
            4,
        ));
    }
    for note in report.notes.iter().filter(|note| is_for_the_bench(note)) {
        out.push_str(&wrapped(&format!("* {note}"), 2));
    }
    out.push_str(&wrapped(cautions::DRINKING, 0));
    out
}

/// What has to be known before anything is poured; the other notes say what the numbers rest on.
fn is_for_the_bench(note: &Note) -> bool {
    matches!(
        note,
        Note::NeedsCarbonation { .. }
            | Note::Doubtful { .. }
            | Note::BottleTooEmpty { .. }
            | Note::KeptTooLong { .. }
            | Note::BatchOfAnotherSalt { .. }
            | Note::BatchOfNoStock { .. }
            | Note::AgainstFile { .. }
            | Note::Crystals { .. }
            | Note::Changed(_)
            | Note::TornRecord { .. }
    )
}

/// mL for a bottle of each water, and for all of them.
fn doses(report: &MixReport) -> String {
    let names: Vec<&str> = report.stocks_used.iter().map(|s| s.stock.as_str()).collect();
    let together = match report.bottles {
        1 => "one of each".to_owned(),
        n => format!("{n} of each"),
    };
    let mut out = String::new();
    for group in across(report, &names) {
        let mut heads = vec![("mL for a bottle", Side::Left)];
        heads.extend(group.iter().map(|name| (*name, Side::Right)));
        let mut rows = table(&heads);
        for water in &report.waters {
            let dose = |name: &&str| {
                let dose = water.doses.iter().find(|d| d.stock == **name);
                dose.map_or("·".to_owned(), |d| show::fixed(d.ml_per_bottle, 2))
            };
            let mut cells = vec![format!("{} {}", water.number, water.target)];
            cells.extend(group.iter().map(dose));
            rows.add_row(cells);
        }
        let mut cells = vec![together.clone()];
        cells.extend(group.iter().map(|name| {
            let used = report.stocks_used.iter().find(|s| s.stock == **name);
            used.map_or(String::new(), |s| show::fixed(s.ml, 2))
        }));
        rows.add_row(cells);
        out.push_str(&table_text(&rows));
    }
    out
}

/// The stocks in groups that fit beside the longest name of a water.
fn across<'n>(report: &MixReport, names: &'n [&'n str]) -> Vec<Vec<&'n str>> {
    /// Blanks between columns, and the digits of a dose.
    const BETWEEN: usize = 2;
    const DOSE: usize = 6;
    let label = |w: &WaterMix| format!("{} {}", w.number, w.target).chars().count();
    let longest = report.waters.iter().map(label).max().unwrap_or(0).max("mL for a bottle".len());
    // A name longer than half of a line is broken between its words.
    let room = columns().saturating_sub(longest.min(columns() / 2) + BETWEEN);
    let mut groups: Vec<Vec<&str>> = Vec::new();
    let mut used = usize::MAX;
    for name in names {
        let width = name.chars().count().max(DOSE) + BETWEEN;
        let fits = used.checked_add(width).is_some_and(|sum| sum <= room + BETWEEN);
        match groups.last_mut() {
            Some(group) if fits => {
                group.push(name);
                used += width;
            }
            _ => {
                groups.push(vec![name]);
                used = width;
            }
        }
    }
    groups
}

/// What fills the bottle up, and what is missed.
fn line(water: &WaterMix) -> String {
    let base: Vec<String> = water
        .base
        .iter()
        .map(|b| format!("{} mL {}", show::fixed(b.ml_per_bottle, 0), b.water))
        .collect();
    let missed: Vec<String> = water.goals.iter().filter(|g| !g.reached).map(missed).collect();
    let verdict = match (water.reached, missed.is_empty()) {
        (true, _) => String::new(),
        (false, true) => "; OUT OF REACH".to_owned(),
        (false, false) => format!("; OUT OF REACH: {}", missed.join("; ")),
    };
    format!("{} {}: fill up with {}{verdict}", water.number, water.target, base.join(" and "))
}

fn missed(goal: &GoalLine) -> String {
    let got = goal.got.map_or("undefined".to_owned(), show::three_figures);
    format!("{} {got}, wanted {}", goal.measure.replace('_', " "), goal.wish)
}
