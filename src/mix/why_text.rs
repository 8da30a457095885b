//! Why a water cannot be made, or which goals bind, as text.

use crate::mix::WhyReport;
use crate::mix::kept_out::any_size;
use crate::mix::reach_report::ReachReport;
use crate::mix::why_report::{
    ChargeLine, MovedLine, NO_CHANGE, ReasonLine, RemedyLine, RemedySalt,
};
use crate::quantities::show;
use crate::text::screen::{Extent, Screen};
use crate::text::table::{Side, each, table, text as table_text, wrapped};

/// Remedies shown; the JSON report has all.
const REMEDIES: usize = 5;

/// The whole answer.
#[must_use]
pub fn text(report: &WhyReport, extent: Extent) -> String {
    if report.reached { in_reach(report) } else { out_of_reach(report, extent) }
}

fn out_of_reach(report: &WhyReport, extent: Extent) -> String {
    let mut screen = Screen::new(extent);
    screen.push(&format!("{}: out of reach\n\n", report.target));
    if let Some(reason) = &report.no_answer {
        screen.push(&wrapped(&format!("It has no answer: {reason}."), 0));
        return screen.end();
    }
    if let Some(kept) = &report.kept_out {
        screen.push(&wrapped(&kept.sentence(), 0));
        if kept.goals_are_possible() {
            return screen.end();
        }
        screen.push("\n");
    }
    let asked = any_size(&report.not_counted);
    if let Some(words) = &asked {
        let tried = "What would bring it into reach was tried with these as well.";
        screen.push(&wrapped(&format!("{words} {tried}"), 0));
        screen.push("\n");
    }
    screen.push(match report.conflict.len() {
        0 => "All goals can be kept but for rounding.\n",
        1 => "This goal cannot be kept, whatever becomes of the others:\n",
        2 => "These goals cannot both be kept; either can:\n",
        _ => "These goals cannot all be kept together:\n",
    });
    screen.push(&each("  ", &report.conflict));
    let left_out = left_out(report);
    if !left_out.is_empty() {
        let made = asked.as_ref().map(|_| "As the flight is made, ");
        screen.push(&wrapped(&behind(made, &left_out), 0));
    }
    screen.push("\n");
    // What the flight leaves out is the reason, and it stands above.
    if report.kept_out.is_none() || !report.charges.can_cancel {
        screen.push(&wrapped(&charges(&report.charges), 0));
        let is_strength = report.strongest_tried_g_per_kg.is_some()
            && report.reach.iter().any(|reach| reach.at_limit.iter().any(|l| l.limit == "stocks"));
        let reason = report.reason.map(|reason| reason_words(reason, is_strength, &report.charges));
        if let Some(reason) = reason.filter(|words| !words.is_empty()) {
            let any = asked.as_ref().map(|_| "In doses of any size ");
            screen.push(&wrapped(&behind(any, &reason), 0));
        }
        screen.push("\n");
    }
    let sentences = report.reach.as_ref().map(ReachReport::sentences).unwrap_or_default();
    screen.push(&each("! ", &sentences));
    if !sentences.is_empty() {
        screen.push("\n");
    }
    let mut rows = table(&[
        ("all other goals first, then", Side::Left),
        ("wanted", Side::Left),
        ("nearest", Side::Right),
        ("", Side::Left),
    ]);
    for line in &report.nearest {
        rows.add_row([
            line.measure.replace('_', " "),
            line.in_words.clone(),
            line.got.map_or("undefined".to_owned(), show::three_figures),
            match (line.reached, line.others_kept) {
                (true, true) => "kept",
                (true, false) => "kept; the others are not",
                (false, true) => "missed; the others are kept",
                (false, false) => "missed, and others too",
            }
            .to_owned(),
        ]);
    }
    screen.rest(&format!("{}\n", table_text(&rows)));
    push_remedies(&mut screen, report);
    screen.end()
}

/// Salts that would reach it: those that do as the flight is made, where there are any.
fn push_remedies(screen: &mut Screen, report: &WhyReport) {
    if report.remedies.is_empty() {
        let strength = report.strongest_tried_g_per_kg.map_or(String::new(), |most| {
            format!(", as strong as it dissolves and at most {} g/kg", show::plain(most))
        });
        let none = "No salt of the catalogue, and no two of them, would reach it: each was tried";
        screen.push(&wrapped(&format!("{none}{strength}."), 0));
        return;
    }
    let made: Vec<&RemedyLine> =
        report.remedies.iter().filter(|remedy| remedy.as_the_flight_is_made).collect();
    let shown = if made.is_empty() { report.remedies.iter().collect() } else { made };
    screen.push(&wrapped(
        match shown.first() {
            Some(first) if !first.as_the_flight_is_made => {
                "Added to the stocks, each of these would reach it in doses of any size; none was \
                 found to do so as the flight is made:"
            }
            _ => "Added to the stocks, each of these would reach it (each was tried):",
        },
        0,
    ));
    for remedy in shown.iter().take(REMEDIES) {
        let salts: Vec<String> = remedy.salts.iter().map(RemedySalt::words).collect();
        let price = remedy.price_per_l.map(|p| format!("; {} per litre", show::four_figures(p)));
        screen
            .push(&wrapped(&format!("  {}{}", salts.join(" and "), price.unwrap_or_default()), 4));
    }
    if let Some(more) = shown.len().checked_sub(REMEDIES).filter(|n| *n > 0) {
        screen.push(&format!("  and {more} more (all of them with --json)\n"));
    }
}

/// A sentence behind words that it begins with, if any.
fn behind(words: Option<&str>, sentence: &str) -> String {
    let mut letters = sentence.chars();
    match (words, letters.next()) {
        (Some(words), Some(first)) => {
            format!("{words}{}{}", first.to_lowercase(), letters.as_str())
        }
        _ => sentence.to_owned(),
    }
}

/// What leaving out a goal of the conflict does to the whole target.
fn left_out(report: &WhyReport) -> String {
    let (conflict, enough) = (&report.conflict, &report.enough_to_leave_out);
    match (conflict.len(), enough.len()) {
        (0, _) => String::new(),
        (1, 0) => "Without it other goals still cannot all be kept.".to_owned(),
        (1, _) => "Without it all other goals of the target can be kept.".to_owned(),
        (2, 0) => "To leave out one of them is not enough: other goals of the target then still \
                   cannot all be kept."
            .to_owned(),
        (_, 0) => "Without any one of them the others listed can be kept, and still not all other goals of the \
                   target."
            .to_owned(),
        (all, some) if all == some => {
            "Without any one of them all other goals of the target can be kept.".to_owned()
        }
        _ => format!(
            "All other goals of the target can be kept without {}; to leave out another one of these alone is \
             not enough.",
            enough.join(", or without ")
        ),
    }
}

/// What is proved to be the reason; nothing where nothing is.
fn reason_words(reason: ReasonLine, is_strength: bool, charges: &ChargeLine) -> String {
    let ReasonLine { limits, base_water, salts, goals_exclude_each_other } = reason;
    let said = match (salts, base_water, limits) {
        (true, false, false) => {
            "The reason is the salts on the shelf: each brings its cation and its anion together."
        }
        (true, _, _) if is_strength => {
            "The stocks on the shelf are one reason: with other salts of the catalogue, or stronger \
             stocks, it is in reach."
        }
        (true, _, _) => {
            "The salts on the shelf are one reason: with others of the catalogue it is in reach."
        }
        (false, true, false) => {
            "The reason is the base water: with distilled water added it is in reach."
        }
        (false, false, true) => "The reason is the limits: without them it is in reach.",
        (false, true, true) => {
            "The reason is the base water and the limits: with distilled water added, or \
             without limits, it is in reach."
        }
        (false, false, false) if goals_exclude_each_other => {
            "The goals exclude each other whatever is stocked: no salts at all, with distilled \
             water and without limits, keep them all."
        }
        (false, false, false) if charges.can_cancel => {
            "Neither other salts of the catalogue nor distilled water nor other limits would reach \
             it alone."
        }
        (false, false, false) => "",
    };
    said.to_owned()
}

/// The charge argument in plain words.
fn charges(line: &ChargeLine) -> String {
    let meq = show::three_figures;
    if line.can_cancel {
        let room = |of: &str, most: Option<f64>| most.map(|v| format!("{} meq/L of {of}", meq(v)));
        let rooms = [
            room("cations", line.cations_most_meq_per_l),
            room("anions", line.anions_most_meq_per_l),
        ];
        let rooms: Vec<String> = rooms.into_iter().flatten().collect();
        let allowed = match rooms.as_slice() {
            [] => "limit neither".to_owned(),
            some => format!("allow up to {}", some.join(" and ")),
        };
        return format!(
            "The charges are not the reason: all goals together ask for at least {} meq/L of cations and {} \
             meq/L of anions, and {allowed}.",
            meq(line.cations_least_meq_per_l),
            meq(line.anions_least_meq_per_l),
        );
    }
    let (more, less, asked, left) =
        if line.cations_least_meq_per_l > line.anions_most_meq_per_l.unwrap_or(f64::INFINITY) {
            ("cations", "anions", line.cations_least_meq_per_l, line.anions_most_meq_per_l)
        } else {
            ("anions", "cations", line.anions_least_meq_per_l, line.cations_most_meq_per_l)
        };
    format!(
        "All goals together ask for at least {} meq/L of {more} and leave room for {} of {less}. \
         In every water the two are equal, so no salt of these ions can keep them all.",
        meq(asked),
        meq(left.unwrap_or_default()),
    )
}

fn in_reach(report: &WhyReport) -> String {
    let mut out = format!("{}: in reach\n\n", report.target);
    let mut rows = table(&[
        ("move a goal by one unit", Side::Left),
        ("wanted", Side::Left),
        ("one more", Side::Left),
        ("one less", Side::Left),
    ]);
    for line in &report.shifts {
        rows.add_row([
            line.measure.replace('_', " "),
            line.in_words.clone(),
            moved(line.more),
            moved(line.less),
        ]);
    }
    out.push_str(&table_text(&rows));
    let binding: Vec<String> =
        report.shifts.iter().filter(|s| s.binds).map(|s| s.measure.replace('_', " ")).collect();
    let words = if binding.is_empty() {
        "No goal binds: moving any of them by one unit changes nothing.".to_owned()
    } else {
        format!(
            "Goals that bind: {}. The others could move by one unit at no cost.",
            binding.join(", ")
        )
    };
    out.push_str(&wrapped(&words, 0));
    if let Some(words) = any_size(&report.not_counted) {
        out.push_str(&wrapped(&words, 0));
    }
    out
}

fn moved(line: Option<MovedLine>) -> String {
    /// Our choice: less than this of a mL or a tolerance is not shown.
    const SHOWN: f64 = 5e-4;
    let Some(line) = line else { return "–".to_owned() };
    let signed = |v: f64| show::signed(v, |size| show::fixed(size, 3));
    let mut parts = Vec::new();
    if !line.reached {
        parts.push("out of reach".to_owned());
    }
    if line.ml_per_l.abs() > SHOWN {
        parts.push(format!("{} mL/L", signed(line.ml_per_l)));
    }
    let preferred = [
        (line.cost_per_l, "cost per litre"),
        (line.sodium_mg_per_l, "mg/L sodium"),
        (line.stocks, "in the number of stocks"),
    ];
    for (by, what) in preferred {
        parts.extend(
            by.filter(|v| v.abs() > NO_CHANGE)
                .map(|v| format!("{} {what}", show::signed(v, show::four_figures))),
        );
    }
    if line.misses.abs() > SHOWN {
        parts.push(format!("{} tolerances missed", signed(line.misses)));
    }
    if parts.is_empty() { "nothing".to_owned() } else { parts.join(", ") }
}
