//! The ± of a flight as text.

use crate::mix::SpreadReport;
use crate::mix::spread::{Expanded, WaterSpread};
use crate::quantities::show;
use crate::text::table::{Side, inner_table, text as table_text, wrapped};

/// Of one of a water's doses, the ± in mL per bottle.
pub(crate) fn of_dose(water: Option<&WaterSpread>, stock: &str) -> String {
    let line = water.and_then(|w| w.doses.iter().find(|d| d.of == stock));
    line.map_or(String::new(), |d| show::plus_minus(d.expanded))
}

/// What a water has of the goal of that place, ending where its ± does.
pub(crate) fn got(water: Option<&WaterSpread>, place: usize, got: f64) -> String {
    show::beside_plus_minus(got, water.and_then(|w| w.goals.get(place)).map(|g| g.expanded))
}

/// The ± of the goal of that place.
pub(crate) fn of_goal(water: Option<&WaterSpread>, place: usize) -> String {
    let line = water.and_then(|w| w.goals.get(place));
    line.map_or(String::new(), |g| show::plus_minus_of(g.value, g.expanded))
}

/// The ± of every measure of a water, and what most of it comes from.
pub(crate) fn of_water(water: &WaterSpread) -> String {
    let ions: Vec<String> = water
        .mg_per_l_expanded
        .0
        .iter()
        .map(|(key, mg)| (key, show::plus_minus(*mg)))
        // What is nothing when it is printed is not worth printing.
        .filter(|(_, mg)| mg.contains(|c: char| matches!(c, '1'..='9')))
        .map(|(key, mg)| format!("{key} {mg}"))
        .collect();
    if ions.is_empty() {
        return String::new();
    }
    let known =
        |name: &str, value: Option<f64>| Some(format!("{name} {}", show::plus_minus(value?)));
    let sums: Vec<String> = [
        known("hardness", water.hardness_mg_per_l_caco3_expanded),
        known("alkalinity", water.alkalinity_mg_per_l_caco3_expanded),
    ]
    .into_iter()
    .flatten()
    .collect();
    let sums = if sums.is_empty() {
        String::new()
    } else {
        format!("; {} mg/L as CaCO3", sums.join(", "))
    };
    let solids = known("; dissolved solids", water.dissolved_solids_mg_per_l_expanded);
    let solids = solids.map_or(String::new(), |solids| format!("{solids} mg/L"));
    let mut out = wrapped(&format!("  ±: {} mg/L{sums}{solids}", ions.join(", ")), 4);
    if let Some(goal) = least_certain(water)
        && let Some(first) = goal.budget.first()
    {
        out.push_str(&wrapped(
            &format!(
                "  least certain: {}, ± {}; {} % of it from {}. Half of that leaves ± {}: {}.",
                goal.of.replace('_', " "),
                show::plus_minus(goal.expanded),
                show::fixed(first.percent, 0),
                first.source,
                show::plus_minus(first.expanded_if_halved),
                first.to_halve,
            ),
            4,
        ));
    }
    out
}

/// The goal whose ± is the largest part of its value.
fn least_certain(water: &WaterSpread) -> Option<&Expanded> {
    let part = |g: &Expanded| if g.value > 0.0 { g.expanded / g.value } else { 0.0 };
    water.goals.iter().max_by(|a, b| part(a).total_cmp(&part(b)))
}

/// What the ± counts, and what it does not.
pub(crate) fn counted(report: &SpreadReport) -> String {
    let exact = &report.exact_analyses;
    let k = show::plain(report.coverage_factor);
    if exact.is_empty() {
        return format!("* ± (k = {k}) counts stocks, doses, filling and analyses of base waters.");
    }
    format!(
        "* ± (k = {k}) counts stocks, doses and filling; {} taken as exact: {} (`within: \"5 %\"` in the \
         file of a water says how far its analysis may be off).",
        if exact.len() == 1 { "one analysis is" } else { "analyses are" },
        exact.join(", ")
    )
}

/// The whole budget of every goal.
pub(crate) fn budgets(report: &SpreadReport) -> String {
    let mut out = String::from("\nWhere the ± comes from, and what would be left of it\n");
    for water in &report.waters {
        out.push_str(&format!("{}\n", water.target));
        for goal in &water.goals {
            let mut rows = inner_table(&[
                ("  source", Side::Left),
                ("% of it", Side::Right),
                ("± if halved", Side::Right),
            ]);
            for line in &goal.budget {
                rows.add_row([
                    format!("  {}", line.source),
                    show::fixed(line.percent, 1),
                    show::plus_minus(line.expanded_if_halved),
                ]);
            }
            out.push_str(&format!(
                "  {}: {}\n",
                goal.of.replace('_', " "),
                show::with_plus_minus(goal.value, goal.expanded)
            ));
            out.push_str(&table_text(&rows));
        }
    }
    out
}

/// What a Monte Carlo run gave, beside the sensitivities.
pub(crate) fn drawn(report: &SpreadReport) -> String {
    let mut out = String::from("\nMonte Carlo beside the sensitivities (both with the same k)\n");
    let mut rows = inner_table(&[
        ("water, goal", Side::Left),
        ("±", Side::Right),
        ("± drawn", Side::Right),
        ("95 % of the draws", Side::Left),
    ]);
    for water in &report.waters {
        for goal in &water.goals {
            if let Some(drawn) = goal.drawn {
                rows.add_row([
                    format!("{}, {}", water.target, goal.of.replace('_', " ")),
                    show::plus_minus(goal.expanded),
                    show::plus_minus(drawn.expanded),
                    format!(
                        "{} to {}",
                        show::beside_plus_minus(drawn.low, Some(drawn.expanded)),
                        show::beside_plus_minus(drawn.high, Some(drawn.expanded))
                    ),
                ]);
            }
        }
    }
    out.push_str(&table_text(&rows));
    out
}
