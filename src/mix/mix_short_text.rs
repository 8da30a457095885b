//! A planned flight on one screen: what to pour for a bottle of each water, what it is filled up with,
//! and what is missed. [`mix_text`](crate::mix::mix_text) has the rest.

use crate::mix::cost_text::no_price;
use crate::mix::kept_out::missed_words;
use crate::mix::order_report::LeftReport;
use crate::mix::water_mix::{BasePart, WaterMix};
use crate::mix::{MixReport, dose_table, order_text};
use crate::quantities::show;
use crate::stock::{Note, note_text};
use crate::text::cautions;
use crate::text::table::{each, wrapped};

/// The flight.
#[must_use]
pub fn text(report: &MixReport) -> String {
    let set = report.order.as_ref().and_then(|order| order.stock_set.as_ref());
    // Which stocks are opened stands in the heads of the table.
    let opened = set.map_or(String::new(), |set| {
        let proof = if set.proved { "proved" } else { "NOT PROVED in the time given" };
        format!("; {} ({proof})", set.asked)
    });
    let mut out = wrapped(&format!("{}{opened}", report.flight), 0);
    let dispenser = report.order.as_ref().and_then(|order| order.dispenser.as_ref());
    let steps = dispenser.map_or(String::new(), |dispenser| {
        let what = if dispenser.counted.is_some() { "drops" } else { "steps" };
        format!(", in {what} of `{}`", dispenser.name)
    });
    out.push_str(&wrapped(
        &format!(
            "Bottles of {} mL, {}{steps}; the rest: --full",
            show::plain(report.bottle_ml),
            report.convention
        ),
        0,
    ));
    out.push_str(&match dispenser {
        Some(dispenser) => dose_table::of_steps(dispenser, report.bottles),
        None => dose_table::of_volumes(report),
    });
    for line in fills(report) {
        out.push_str(&wrapped(&line, 4));
    }
    for one in &report.unanswered {
        out.push_str(&wrapped(
            &format!("{} {}: NO ANSWER, {}", one.number, one.target, one.reason),
            4,
        ));
    }
    let order = report.order.as_ref();
    let left = order.and_then(|order| order.left.as_ref());
    if let Some(gap) = left.and_then(LeftReport::not_proved) {
        out.push_str(&wrapped(&format!("* Doses changed to make do with what is left; {gap}."), 2));
    }
    let failed = order.and_then(|order| order.style.as_ref()).filter(|style| style.failed());
    if let Some(style) = failed {
        out.push_str(&wrapped(&format!("* {}", order_text::of_style(style)), 2));
    }
    out.push_str(&each("* ", report.notes.iter().filter(|note| is_for_the_bench(note))));
    if let Some(cost) = report.cost.as_ref().filter(|_| report.chosen_by_cost)
        && !cost.without_price.is_empty()
    {
        let said = format!("* chosen by cost; {}", no_price(&cost.without_price));
        out.push_str(&wrapped(&said, 2));
    }
    out.push_str(&note_text::against_files(report.notes.iter()));
    out.push_str(&changed(report));
    out.push_str(&wrapped(cautions::DRINKING_IN_A_LINE, 0));
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
            | Note::Crystals { .. }
            | Note::DamagedRecord { .. }
            | Note::TornRecord { .. }
    )
}

/// Which waters are no longer what the last session tasted under their names, by their numbers; in one
/// line a session.
fn changed(report: &MixReport) -> String {
    let mut sessions: Vec<(&str, Vec<String>, bool)> = Vec::new();
    for change in &report.changed_since_session {
        let numbered = report.waters.iter().find(|water| water.target == change.target);
        let water = numbered.map_or(change.target.clone(), |water| water.number.to_string());
        match sessions.iter_mut().find(|(session, ..)| *session == change.session) {
            Some((_, waters, other)) => {
                waters.push(water);
                *other |= change.other_salts;
            }
            None => sessions.push((&change.session, vec![water], change.other_salts)),
        }
    }
    let each = sessions.into_iter().map(|(session, waters, other)| {
        let what = if other { "MADE OF OTHER SALTS than" } else { "not what it was" };
        let line = format!("* {what} in the session {session} (--full): {}", waters.join(", "));
        wrapped(&line, 2)
    });
    each.collect()
}

/// What fills the bottles up, and what is missed: a line for waters of which that is the same. Where
/// these are many, the amounts stand together, and then what is missed.
fn fills(report: &MixReport) -> Vec<String> {
    /// Our choice: so many lines have room below the table.
    const LINES: usize = 6;
    let mut fills: Vec<(String, Vec<String>)> = Vec::new();
    for water in &report.waters {
        let (named, fill) = (format!("{} {}", water.number, water.target), fill(water));
        match fills.iter_mut().find(|(same, _)| *same == fill) {
            Some((_, waters)) => waters.push(named),
            None => fills.push((fill, vec![named])),
        }
    }
    if fills.len() <= LINES {
        let line = |(fill, waters): (String, Vec<String>)| format!("{}: {fill}", waters.join("; "));
        return fills.into_iter().map(line).collect();
    }
    let each = report.waters.iter().map(|water| {
        let base = poured(water).map(|b| format!("{} {}", fixed(b), b.water));
        let base = base.collect::<Vec<_>>().join(" and ");
        format!("{} {}: {base}", water.number, water.target)
    });
    let all = format!("fill up with, mL: {}", each.collect::<Vec<_>>().join("; "));
    let misses = report.waters.iter().filter_map(|water| {
        Some(format!("{} {}: {}", water.number, water.target, verdict(water)?))
    });
    std::iter::once(all).chain(misses).collect()
}

fn fill(water: &WaterMix) -> String {
    let base: Vec<String> = poured(water).map(|b| format!("{} mL {}", fixed(b), b.water)).collect();
    let verdict = verdict(water).map_or(String::new(), |verdict| format!("; {verdict}"));
    format!("fill up with {}{verdict}", base.join(" and "))
}

fn poured(water: &WaterMix) -> impl Iterator<Item = &BasePart> {
    water.base.iter().filter(|base| base.is_poured())
}

fn fixed(base: &BasePart) -> String {
    show::fixed(base.ml_per_bottle, 0)
}

/// What a water misses; nothing of one in reach.
fn verdict(water: &WaterMix) -> Option<String> {
    let missed: Vec<String> = water
        .goals
        .iter()
        .filter(|goal| !goal.reached)
        .map(|goal| missed_words(&goal.measure, goal.got, &goal.in_words))
        .collect();
    match (water.reached, missed.is_empty()) {
        (true, _) => None,
        (false, true) => Some("OUT OF REACH".to_owned()),
        (false, false) => Some(format!("OUT OF REACH: {}", missed.join("; "))),
    }
}
