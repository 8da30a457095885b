//! A dry batch as text.

use crate::assessment::{Clouding, Outlook, unknowns_text};
use crate::chemistry::KeyedAmounts;
use crate::everyday::batch_limit::LeftOutAt;
use crate::everyday::batch_poured::{ByDispenser, ByStock, PouredDose};
use crate::everyday::cost::PaidBack;
use crate::everyday::salt_cautions::{everything, while_dissolving};
use crate::everyday::{BatchReport, EverydayCost};
use crate::mix::cost_text::no_price;
use crate::quantities::show;
use crate::text::cautions;
use crate::text::screen::{Extent, Screen};
use crate::text::table::{Side, each, table, text as table_text, wrapped};

/// What to weigh and what it gives.
#[must_use]
pub fn text(report: &BatchReport, extent: Extent) -> String {
    let mut out = Screen::new(extent);
    out.push(&format!("{}: dry salts for {} L\n", report.name, show::plain(report.litres)));
    out.rest(&each("  ", &report.notes));
    out.push(&each("  ! ", &report.bags));
    out.push("\n");
    let mut rows = table(&[
        ("salt", Side::Left),
        ("formula", Side::Left),
        ("g", Side::Right),
        ("± %", Side::Right),
        ("or its stock, mL", Side::Right),
        ("g", Side::Right),
    ]);
    let by_stock = |of: &ByStock| match of.stock_ml {
        ml if ml > 0.0 => [show::three_figures(ml), show::three_figures(of.stock_g)],
        _ => ["–", "–"].map(str::to_owned),
    };
    for salt in &report.salts {
        let [ml, stock_g] = by_stock(&salt.by_stock);
        rows.add_row([
            salt.name.clone(),
            salt.formula.clone(),
            show::in_steps_of(salt.step_g, salt.g),
            show::plus_minus(salt.expanded_percent),
            ml,
            stock_g,
        ]);
    }
    for salt in &report.not_weighed {
        let [ml, stock_g] = by_stock(&salt.by_stock);
        let none = ["–", ""].map(str::to_owned);
        rows.add_row(
            [&[salt.name.clone(), salt.formula.clone()], &none[..], &[ml, stock_g]].concat(),
        );
    }
    let is_salted = !report.salts.is_empty();
    out.push(&if is_salted || !report.not_weighed.is_empty() {
        table_text(&rows)
    } else {
        "It needs no salt.\n".to_owned()
    });
    let base: Vec<String> = report
        .base
        .iter()
        .map(|base| format!("{} L of {}", show::three_figures(base.litres), base.water))
        .collect();
    out.push(&wrapped(&format!("into {}, made up to the volume", base.join(" and ")), 2));
    out.instead(&while_dissolving(report.cautions.iter()));
    out.push(&searched(report));
    out.rest("\n");
    for goal in &report.goals {
        let got = goal.got.map_or("–".to_owned(), |got| match goal.expanded {
            Some(expanded) if goal.reached => show::with_plus_minus(got, expanded),
            Some(expanded) => {
                format!("{} ± {}", reached(got, goal.miss, false), show::plus_minus(expanded))
            }
            None => reached(got, goal.miss, goal.reached),
        });
        let missed = if goal.reached { String::new() } else { missed_by(goal.miss) };
        let name = goal.measure.replace('_', " ");
        let line = wrapped(&format!("  {name}: wanted {}, got {got}{missed}", goal.want), 4);
        if goal.reached {
            out.rest(&line);
        } else {
            out.push(&line);
        }
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
    out.rest(&wrapped(&format!("  water: {} mg/L", ions.join(", ")), 4));
    out.push(&unknowns_text::lines(&report.unknowns));
    out.push(&wrapped(&format!("  {}; every ± is k = 2", sums.join(", ")), 4));
    if !report.exact_analyses.is_empty() {
        let names = report.exact_analyses.join(", ");
        let text = format!("  the analysis of {names} is taken as exact (`within` in its file)");
        out.push(&wrapped(&text, 4));
    }
    let clouds = outlook(report.clouding.outlook);
    let text = format!("  in the bottle: {clouds}{}", not_judged(&report.clouding));
    out.push(&wrapped(&text, 4));
    out.push(&least(report));
    out.push(&cost(report.cost.as_ref()));
    out.rest(&to_mind(report));
    out.rest(&wrapped(cautions::SALTS, 0));
    out.drinking();
    out.end()
}

/// What to mind with each salt.
fn to_mind(report: &BatchReport) -> String {
    let all = everything(report.cautions.iter());
    if all.is_empty() { all } else { format!("\nCautions\n{all}") }
}

/// What was searched, what was left out, and what gives it exactly.
fn searched(report: &BatchReport) -> String {
    if report.salts.is_empty() && report.not_weighed.is_empty() {
        return String::new();
    }
    let mut out = String::new();
    let best = match (report.goals.iter().all(|goal| goal.reached), report.proved) {
        (true, _) => "every goal is kept",
        (false, true) => "no other weighing misses the goals by less (proved)",
        (false, false) => "the best found before time ran out",
    };
    let step = show::plain(report.step_g);
    let limit = report.at_worst_percent.map_or(String::new(), |percent| {
        format!(", nothing weighed worse than to ± {} %", show::plain(percent))
    });
    let line = format!("Whole steps of the balance from {step} g on{limit}; {best}.");
    out.push_str(&wrapped(&line, 2));
    if !report.missed_for_the_limit.is_empty() {
        let line = format!(
            "Missed only for the limit on how exactly each salt is weighed: {}. Without that limit {} kept as \
             well.",
            report.missed_for_the_limit.join(", "),
            if report.missed_for_the_limit.len() == 1 { "it is" } else { "they are" }
        );
        out.push_str(&wrapped(&line, 2));
    }
    for salt in &report.not_weighed {
        let line = format!(
            "{}: {} g would be needed, and is not weighed: {}.",
            salt.name,
            show::three_figures(salt.g_without_steps),
            match report.at_worst_g {
                _ if salt.g_without_steps < report.step_g => {
                    format!("the balance shows {step} g at least")
                }
                Some(least) if salt.g_without_steps < least => {
                    format!("the limit leaves {} g at least", show::three_figures(least))
                }
                _ => "in whole steps the water comes nearer without it".to_owned(),
            }
        );
        out.push_str(&wrapped(&line, 2));
    }
    if !report.worse_than_wanted.is_empty() {
        let open = match (report.at_worst_percent, &report.left_out_at) {
            (Some(_), _) => String::new(),
            (None, None) => " Nothing is left out for that.".to_owned(),
            (None, Some(LeftOutAt { percent, salts })) => format!(
                " Nothing is left out for that; `--at-worst \"{} %\"` would leave out {}.",
                show::plain(*percent),
                salts.join(", ")
            ),
        };
        let line = format!(
            "Weighed worse than to ± {} %: {}.{open}",
            show::plain(report.within_percent),
            report.worse_than_wanted.join(", ")
        );
        out.push_str(&wrapped(&line, 2));
    }
    if let Some(by) = &report.by_dispenser {
        out.push_str(&wrapped(&poured(by), 2));
    }
    out
}

/// `With the dropper `dropper`: calcium 65 drops (3.25 mL); every goal is kept.`
fn poured(by: &ByDispenser) -> String {
    let amount = |dose: &PouredDose| {
        let measured = format!("{} {}", show::plain(dose.amount), by.unit);
        match by.counted {
            Some(counted) => format!("{} {} {counted} ({measured})", dose.stock, dose.steps),
            None => format!("{} {measured}", dose.stock),
        }
    };
    let doses: Vec<String> = by.doses.iter().map(amount).collect();
    let missed = if by.missed.is_empty() {
        "every goal is kept".to_owned()
    } else {
        format!("misses {}", by.missed.join(", "))
    };
    let doses = if doses.is_empty() { "no dose".to_owned() } else { doses.join(", ") };
    format!("Or the stocks with the {} `{}`: {doses}; {missed}.", by.kind, by.dispenser)
}

/// Our choice: a miss is shown with two figures, and no finer than this.
const MISS_DECIMALS: usize = 6;

/// What was reached, with enough digits that a miss is seen.
pub(crate) fn reached(got: f64, miss: f64, is_reached: bool) -> String {
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

fn least(report: &BatchReport) -> String {
    if report.salts.is_empty() {
        return String::new();
    }
    let percent = show::plain(report.within_percent);
    let (Some(litres), Some(by)) = (report.least_litres, &report.least_by) else {
        let text = format!(
            "  least batch: none; there is no recipe of which this balance weighs every \
                     salt to ± {percent} %"
        );
        return wrapped(&text, 4);
    };
    wrapped(
        &format!(
            "  least batch: {} L, of {}, set by {by}; the best recipe of a smaller one weighs a salt \
             worse than to ± {percent} %",
            show::three_figures(litres),
            report.least_with.join(", ")
        ),
        4,
    )
}

/// Ions with their amounts, those that are there.
pub(crate) fn ions(keyed: &KeyedAmounts) -> String {
    unknowns_text::present(&keyed.0).unwrap_or_default()
}

/// Minerals that the outlook leaves out.
pub(crate) fn not_judged(clouding: &Clouding) -> String {
    if clouding.not_judged.is_empty() || clouding.outlook == Outlook::NotJudged {
        return String::new();
    }
    let minerals = clouding.not_judged.join(", ");
    format!("; not judged: {minerals} (an ion of it was not measured)")
}

/// What the eye will see.
pub(crate) fn outlook(outlook: Outlook) -> &'static str {
    match outlook {
        Outlook::Clear => "stays clear, nothing is oversaturated",
        Outlook::SlowIfAtAll => "a little oversaturated, may stay clear for long",
        Outlook::Cloudy => "CLOUDS",
        Outlook::NotJudged => "not judged, since calcium or alkalinity was not measured",
    }
}

/// Cost lines; nothing when there are no prices.
pub(crate) fn cost(cost: Option<&EverydayCost>) -> String {
    each("  ", cost.map_or(Vec::new(), cost_lines))
}

/// What it costs, and what it saves beside a ready product, a line each.
pub(crate) fn cost_lines(cost: &EverydayCost) -> Vec<String> {
    if cost.mixed_money {
        return vec![format!(
            "! prices are in {}: nothing is added up; state them in one currency",
            cost.moneys.join(" and in ")
        )];
    }
    // Prices need not name a money.
    let in_money = |head: &str| format!("{head} {}", cost.money).trim_end().to_owned();
    let mut lines = vec![format!(
        "{}: salts {} and water {} per litre, together {}; {} for {} L",
        in_money("cost"),
        show::four_figures(cost.salts_per_l),
        show::four_figures(cost.water_per_l),
        show::four_figures(cost.per_l),
        show::three_figures(cost.together),
        show::three_figures(cost.litres)
    )];
    if !cost.without_price.is_empty() {
        lines.push(no_price(&cost.without_price));
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
        let (head, ready) = (in_money("ready product"), show::four_figures(ready));
        lines.push(format!("{head}: {ready} per litre; {beside}{paid}"));
    }
    lines
}
