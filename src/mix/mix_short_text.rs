//! A planned flight on one screen: what to pour for a bottle of each water, what it is filled up with,
//! and what is missed. [`mix_text`](crate::mix::mix_text) has the rest.

use crate::mix::MixReport;
use crate::mix::mix_report::{GoalLine, WaterMix};
use crate::mix::order_text;
use crate::quantities::show;
use crate::stock::Note;
use crate::text::cautions;
use crate::text::table::{columns, wrapped};

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
    out.push_str(&changed(report));
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
            | Note::TornRecord { .. }
    )
}

/// Which waters are no longer what the last session tasted under their names; in one line a session.
fn changed(report: &MixReport) -> String {
    let mut sessions: Vec<(&str, Vec<&str>, bool)> = Vec::new();
    for change in &report.changed_since_session {
        match sessions.iter_mut().find(|(session, ..)| *session == change.session) {
            Some((_, waters, other)) => {
                waters.push(&change.target);
                *other |= change.other_salts;
            }
            None => sessions.push((&change.session, vec![&change.target], change.other_salts)),
        }
    }
    let each = sessions.into_iter().map(|(session, waters, other)| {
        let what = if other { "MADE OF OTHER SALTS than" } else { "not what it was" };
        let line =
            format!("* {what} in the session {session} (--full says how): {}", waters.join("; "));
        wrapped(&line, 2)
    });
    each.collect()
}

/// Blanks between columns.
const BETWEEN: usize = 2;
/// Our choice: the letters that a dose takes at least, as in `12.34`.
const DOSE: usize = 5;
const HEAD: &str = "mL for a bottle";

/// mL for a bottle of each water, and for all of them. The columns stand closer than in other tables, so
/// that six stocks fit beside the names of the waters.
fn doses(report: &MixReport) -> String {
    let names: Vec<&str> = report.stocks_used.iter().map(|s| s.stock.as_str()).collect();
    let together = match report.bottles {
        1 => "one of each".to_owned(),
        n => format!("{n} of each"),
    };
    let label = |w: &WaterMix| format!("{} {}", w.number, w.target);
    let labels = report.waters.iter().map(|w| letters(&label(w)));
    let first = labels.max().unwrap_or(0).max(letters(HEAD)).min(columns() / 2);
    let mut out = String::new();
    for group in across(&names, columns().saturating_sub(first)) {
        let widths: Vec<usize> = group.iter().map(|name| letters(name).max(DOSE)).collect();
        let heads: Vec<String> = group.iter().map(|name| (*name).to_owned()).collect();
        out.push_str(&row(HEAD, &heads, first, &widths));
        let wide = first + widths.iter().map(|w| w + BETWEEN).sum::<usize>();
        out.push_str(&"─".repeat(wide.min(columns())));
        out.push('\n');
        for water in &report.waters {
            let dose = |name: &&str| {
                let dose = water.doses.iter().find(|d| d.stock == **name);
                dose.map_or("·".to_owned(), |d| show::fixed(d.ml_per_bottle, 2))
            };
            out.push_str(&row(
                &label(water),
                &group.iter().map(dose).collect::<Vec<_>>(),
                first,
                &widths,
            ));
        }
        let used = |name: &&str| {
            let used = report.stocks_used.iter().find(|s| s.stock == **name);
            used.map_or(String::new(), |s| show::fixed(s.ml, 2))
        };
        out.push_str(&row(&together, &group.iter().map(used).collect::<Vec<_>>(), first, &widths));
    }
    out
}

fn letters(text: &str) -> usize {
    text.chars().count()
}

/// A row; a name that is longer than its column goes on in the next line.
fn row(label: &str, cells: &[String], first: usize, widths: &[usize]) -> String {
    let mut lines = vec![String::new()];
    for word in label.split(' ') {
        match lines.last_mut() {
            Some(line) if line.is_empty() => line.push_str(word),
            Some(line) if letters(line) + 1 + letters(word) <= first => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(format!("  {word}")),
        }
    }
    let mut out = String::new();
    for (n, line) in lines.iter().enumerate() {
        out.push_str(line);
        if n == 0 {
            out.push_str(&" ".repeat(first.saturating_sub(letters(line))));
            for (cell, width) in cells.iter().zip(widths) {
                out.push_str(&" ".repeat(BETWEEN + width.saturating_sub(letters(cell))));
                out.push_str(cell);
            }
        }
        out.push('\n');
    }
    out
}

/// The stocks in groups that fit into a width.
fn across<'n>(names: &'n [&'n str], room: usize) -> Vec<Vec<&'n str>> {
    let mut groups: Vec<Vec<&str>> = Vec::new();
    let mut used = 0;
    for name in names {
        let width = letters(name).max(DOSE) + BETWEEN;
        match groups.last_mut() {
            Some(group) if used + width <= room => {
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
