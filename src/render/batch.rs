//! A dry batch as text.

use crate::quantities::show;
use crate::render::cautions;
use crate::render::table::{Side, table, text as table_text, wrapped};
use crate::report::{BatchReport, EverydayCost, Keyed, Outlook};

/// What to weigh and what it gives.
#[must_use]
pub fn text(report: &BatchReport) -> String {
    let mut out = format!("{}: dry salts for {} L\n\n", report.name, show::plain(report.litres));
    let mut rows = table(&[
        ("salt", Side::Left),
        ("formula", Side::Left),
        ("g", Side::Right),
        ("± %", Side::Right),
        ("or stock, mL/L", Side::Right),
    ]);
    for salt in &report.salts {
        rows.add_row([
            salt.name.clone(),
            salt.formula.clone(),
            show::fixed(salt.g, show::decimals_for(salt.step_g, 1, 4)),
            show::fixed(salt.expanded_percent, 1),
            show::three_figures(salt.stock_ml_per_l),
        ]);
    }
    out.push_str(&table_text(&rows));
    let base: Vec<String> = report
        .base
        .iter()
        .map(|(name, share)| format!("{} L of {name}", show::three_figures(share * report.litres)))
        .collect();
    out.push_str(&wrapped(&format!("into {}, made up to the volume", base.join(" and ")), 2));
    let best = if report.proved { "proved to be the best" } else { "the best found" };
    out.push_str(&wrapped(&format!("Whole steps of the balance, {best}; nothing was rounded."), 2));
    out.push('\n');
    for goal in &report.goals {
        let got = goal.got.map_or("–".to_owned(), show::three_figures);
        let pm = goal.expanded.map_or(String::new(), |e| format!(" ± {}", show::three_figures(e)));
        let missed = if goal.reached { "" } else { ", MISSED" };
        out.push_str(&wrapped(
            &format!("  {}: wanted {}, got {got}{pm}{missed}", goal.measure, goal.want),
            4,
        ));
    }
    out.push_str(&wrapped(&format!("  water: {} mg/L", ions(&report.mg_per_l)), 4));
    out.push_str(&wrapped(&format!("  ± (k = 2): {} mg/L", ions(&report.expanded_mg_per_l)), 4));
    out.push_str(&wrapped(&format!("  in the bottle: {}", outlook(report.clouding.outlook)), 4));
    if let (Some(litres), Some(by)) = (report.least_litres, &report.least_by) {
        out.push_str(&wrapped(
            &format!(
                "  least batch: {} L; below that the balance weighs {by} worse than ± {} %",
                show::three_figures(litres),
                show::plain(report.within_percent)
            ),
            4,
        ));
    }
    out.push_str(&cost(report.cost.as_ref()));
    out.push_str(&wrapped(cautions::SALTS, 0));
    out.push_str(&wrapped(cautions::DRINKING, 0));
    out
}

/// Ions with their amounts, those that are there.
pub(super) fn ions(keyed: &Keyed) -> String {
    let there = keyed.0.iter().filter(|(_, mg)| *mg > 0.0);
    there
        .map(|(key, mg)| format!("{key} {}", show::three_figures(*mg)))
        .collect::<Vec<_>>()
        .join(", ")
}

/// What the eye will see.
pub(super) fn outlook(outlook: Outlook) -> &'static str {
    match outlook {
        Outlook::Clear => "stays clear, nothing is oversaturated",
        Outlook::SlowIfAtAll => "a little oversaturated, may stay clear for long",
        Outlook::Cloudy => "CLOUDS",
    }
}

/// Cost lines; nothing when there are no prices.
pub(super) fn cost(cost: Option<&EverydayCost>) -> String {
    let Some(cost) = cost else { return String::new() };
    // Prices need not name a money.
    let head = format!("cost {}", cost.money);
    let mut out = wrapped(
        &format!(
            "  {}: salts {} and water {} per litre, together {}; {} for {} L",
            head.trim_end(),
            show::four_figures(cost.salts_per_l),
            show::four_figures(cost.water_per_l),
            show::four_figures(cost.per_l),
            show::three_figures(cost.together),
            show::three_figures(cost.litres)
        ),
        4,
    );
    if !cost.without_price.is_empty() {
        out.push_str(&wrapped(
            &format!("  without a price, counted as nothing: {}", cost.without_price.join(", ")),
            4,
        ));
    }
    if cost.mixed_money {
        out.push_str("  ! prices name different moneys: the sums mean nothing\n");
    }
    if let Some(ready) = cost.instead_per_l {
        let paid =
            cost.scale_paid_after_l.map_or("no saving that pays for a scale".to_owned(), |l| {
                format!("the scale is paid back after {} L", show::fixed(l, 0))
            });
        out.push_str(&wrapped(
            &format!("  ready product: {} per litre; {paid}", show::four_figures(ready)),
            4,
        ));
    }
    out
}
