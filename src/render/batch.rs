//! A dry batch as text.

use crate::quantities::show;
use crate::render::cautions;
use crate::render::spread::two_figures;
use crate::render::table::{Side, table, text as table_text, wrapped};
use crate::render::unknowns;
use crate::report::everyday_cost::PaidBack;
use crate::report::{BatchReport, Clouding, EverydayCost, Keyed, Outlook};

/// What to weigh and what it gives.
#[must_use]
pub fn text(report: &BatchReport) -> String {
    let mut out = format!("{}: dry salts for {} L\n", report.name, show::plain(report.litres));
    out.push_str(&notes(&report.notes));
    out.push('\n');
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
            two_figures(salt.expanded_percent),
            show::three_figures(salt.stock_ml_per_l),
        ]);
    }
    let is_salted = !report.salts.is_empty();
    let is_reached = report.goals.iter().all(|goal| goal.reached);
    out.push_str(&match (is_salted, is_reached) {
        (true, _) => table_text(&rows),
        (false, true) => "It needs no salt.\n".to_owned(),
        (false, false) => wrapped(
            "No salt that it needs can be weighed for so little on this balance: make more at once, \
             or pour the stocks of the shelf (`waterflight mix`).",
            2,
        ),
    });
    let base: Vec<String> = report
        .base
        .iter()
        .map(|base| format!("{} L of {}", show::three_figures(base.litres), base.water))
        .collect();
    out.push_str(&wrapped(&format!("into {}, made up to the volume", base.join(" and ")), 2));
    let best = if report.proved { "proved to be the best" } else { "the best found" };
    if is_salted {
        let steps = format!("Whole steps of the balance, {best}; nothing was rounded.");
        out.push_str(&wrapped(&steps, 2));
    }
    out.push('\n');
    for goal in &report.goals {
        let got = goal.got.map_or("–".to_owned(), |got| match goal.expanded {
            Some(expanded) if goal.reached => show::with_plus_minus(got, expanded),
            Some(expanded) => {
                format!("{} ± {}", reached(got, goal.miss, false), two_figures(expanded))
            }
            None => reached(got, goal.miss, goal.reached),
        });
        let missed = if goal.reached { String::new() } else { missed_by(goal.miss) };
        let name = goal.measure.replace('_', " ");
        out.push_str(&wrapped(&format!("  {name}: wanted {}, got {got}{missed}", goal.want), 4));
    }
    let sums: Vec<String> = report
        .measures
        .iter()
        .map(|m| {
            let name = m.measure.replace('_', " ");
            format!("{name} {} {}", show::with_plus_minus(m.value, m.expanded), m.unit)
        })
        .collect();
    let ions: Vec<String> = report
        .mg_per_l
        .0
        .iter()
        .zip(&report.expanded_mg_per_l.0)
        .filter(|((_, mg), _)| *mg > 0.0)
        .map(|((key, mg), (_, pm))| format!("{key} {}", show::with_plus_minus(*mg, *pm)))
        .collect();
    out.push_str(&wrapped(&format!("  water: {} mg/L", ions.join(", ")), 4));
    out.push_str(&unknowns::lines(&report.unknowns));
    out.push_str(&wrapped(&format!("  {}; every ± is k = 2", sums.join(", ")), 4));
    if !report.exact_analyses.is_empty() {
        let names = report.exact_analyses.join(", ");
        let text = format!("  the analysis of {names} is taken as exact (`within` in its file)");
        out.push_str(&wrapped(&text, 4));
    }
    let clouds = outlook(report.clouding.outlook);
    let text = format!("  in the bottle: {clouds}{}", not_judged(&report.clouding));
    out.push_str(&wrapped(&text, 4));
    out.push_str(&least(report));
    out.push_str(&cost(report.cost.as_ref()));
    out.push_str(&wrapped(cautions::SALTS, 0));
    out.push_str(&wrapped(cautions::DRINKING, 0));
    out
}

/// Our choice: a miss is shown with two figures, and no finer than this.
const MISS_DECIMALS: usize = 6;

/// What was reached, with enough digits that a miss is seen.
pub(super) fn reached(got: f64, miss: f64, is_reached: bool) -> String {
    if is_reached {
        return show::three_figures(got);
    }
    let usual = show::decimals_for(got, 3, 3);
    show::fixed(got, usual.max(show::decimals_for(miss, 2, MISS_DECIMALS)))
}

/// `, MISSED by 0.041`.
fn missed_by(miss: f64) -> String {
    if miss.abs() <= 0.0 {
        return ", MISSED".to_owned();
    }
    let by = show::fixed(miss.abs(), show::decimals_for(miss, 2, MISS_DECIMALS));
    format!(", MISSED by {by}")
}

/// What is to be said of a water itself.
pub(super) fn notes(notes: &[String]) -> String {
    notes.iter().map(|note| wrapped(&format!("  {note}"), 4)).collect()
}

fn least(report: &BatchReport) -> String {
    if report.salts.is_empty() {
        return String::new();
    }
    let percent = show::plain(report.within_percent);
    let (Some(litres), Some(by)) = (report.least_litres, &report.least_by) else {
        let text =
            format!("  no batch: of no recipe does this balance weigh every salt to ± {percent} %");
        return wrapped(&text, 4);
    };
    let mut out = wrapped(
        &format!(
            "  least batch: {} L, of {}, set by {by}; below that no recipe keeps the goals as well \
             with every salt weighed to ± {percent} %",
            show::three_figures(litres),
            report.least_with.join(", ")
        ),
        4,
    );
    if !report.worse_than_wished.is_empty() {
        out.push_str(&wrapped(
            &format!(
                "  worse than that in this batch: {}; or pour their stocks (last column)",
                report.worse_than_wished.join(", ")
            ),
            4,
        ));
    }
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

/// Minerals that the outlook leaves out.
pub(super) fn not_judged(clouding: &Clouding) -> String {
    if clouding.not_judged.is_empty() || clouding.outlook == Outlook::NotJudged {
        return String::new();
    }
    let minerals = clouding.not_judged.join(", ");
    format!("; not judged: {minerals} (an ion of it was not measured)")
}

/// What the eye will see.
pub(super) fn outlook(outlook: Outlook) -> &'static str {
    match outlook {
        Outlook::Clear => "stays clear, nothing is oversaturated",
        Outlook::SlowIfAtAll => "a little oversaturated, may stay clear for long",
        Outlook::Cloudy => "CLOUDS",
        Outlook::NotJudged => "not judged, since calcium or alkalinity was not measured",
    }
}

/// Cost lines; nothing when there are no prices.
pub(super) fn cost(cost: Option<&EverydayCost>) -> String {
    let Some(cost) = cost else { return String::new() };
    if cost.mixed_money {
        return wrapped(
            &format!(
                "  ! prices are in {}: nothing is added up; state them in one money",
                cost.moneys.join(" and in ")
            ),
            4,
        );
    }
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
    if let (Some(ready), Some(saves)) = (cost.instead_per_l, cost.saves_per_l) {
        let beside = if saves > 0.0 {
            format!("this water saves {}", show::four_figures(saves))
        } else {
            format!("this water costs {} more", show::four_figures(-saves))
        };
        let paid = match cost.scale_paid_back {
            Some(PaidBack::AfterLitres(litres)) => {
                format!("; the balance is paid back after {} L", show::fixed(litres, 0))
            }
            Some(PaidBack::Never) => "; the balance is never paid back".to_owned(),
            None => String::new(),
        };
        out.push_str(&wrapped(
            &format!("  ready product: {} per litre; {beside}{paid}", show::four_figures(ready)),
            4,
        ));
    }
    out
}
