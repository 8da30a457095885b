//! Cards of what is made every day: a batch of dry salts, a bottle of concentrate.

use maud::{Markup, html};

use crate::everyday::batch_text::cost_lines;
use crate::everyday::concentrate::ConcentrateReport;
use crate::everyday::{BatchReport, EverydayCost, SaltCautions};
use crate::page::labels::Label;
use crate::page::parts::{Cell, fact, notes, rows_of, steps, table};
use crate::page::shell;
use crate::quantities::show;
use crate::text::cautions;

/// The card of a batch; `on` is the day of printing.
#[must_use]
pub fn batch(report: &BatchReport, on: &str) -> String {
    let rows = rows_of(&report.salts, |n, salt| {
        let digits = show::decimals_for(salt.step_g, 1, 4);
        vec![
            Cell::Tick(salt.name.clone()),
            Cell::Head(format!("{}, {}", salt.name, salt.formula)),
            Cell::Number(format!("/salts/{n}/g"), show::fixed(salt.g, digits)),
            Cell::Words(format!("± {} %", show::plus_minus(salt.expanded_percent))),
        ]
    });
    let base = rows_of(&report.base, |n, base| {
        vec![
            Cell::Tick(base.water.clone()),
            Cell::Head(base.water.clone()),
            Cell::Number(format!("/base/{n}/litres"), show::three_figures(base.litres)),
        ]
    });
    let goals = rows_of(&report.goals, |n, goal| {
        vec![
            Cell::Head(goal.measure.replace('_', " ")),
            Cell::Words(goal.want.clone()),
            goal.got.map_or(Cell::Words("–".to_owned()), |got| {
                Cell::Number(format!("/goals/{n}/got"), show::three_figures(got))
            }),
            Cell::Words(if goal.reached { "kept" } else { "missed" }.to_owned()),
        ]
    });
    let body = html! {
        section.card {
            h2 { "Weigh" }
            @if rows.is_empty() { p { "It needs no salt." } }
            (table("salts to weigh", "big", &["", "salt", "g", "k = 2"], &rows))
            @for salt in &report.not_weighed { p.warn { (salt.name) " is not weighed: less than the balance can do." } }
            h2 { "Into" }
            (table("base water", "", &["", "base water", "L"], &base))
            p.fill { "Make up to " strong { (show::plain(report.litres)) " L" } " and stir until all is dissolved." }
        }
        section.card {
            h2 { "What it then is" }
            (table("goals", "", &["goal", "wanted", "got", ""], &goals))
            p.note { "Made on " span.blank {} " lot " span.blank {} " by " span.blank {} }
        }
        (costs(report.cost.as_ref()))
        (mind(&report.cautions))
        footer {
            (notes(&report.notes))
            p { (cautions::SALTS) " " (cautions::DRINKING) }
        }
    };
    let title = format!("{}: {} L", report.name, show::plain(report.litres));
    shell::document(&title, &format!("Batch card, printed {on}."), &body)
}

/// What it costs; nothing where nothing has a price.
fn costs(cost: Option<&EverydayCost>) -> Markup {
    html! {
        @if let Some(cost) = cost {
            section.card {
                h2 { "Cost" }
                @for line in cost_lines(cost) { p.in { (line) } }
            }
        }
    }
}

/// What to mind with each salt; nothing where there is nothing.
fn mind(cautions: &[SaltCautions]) -> Markup {
    html! {
        @if !cautions.is_empty() {
            section.card {
                h2 { "Mind" }
                ul { @for salt in cautions { li { (salt.formula) ": " (salt.cautions.join(" ")) } } }
            }
        }
    }
}

/// The card of a concentrate; `on` is the day of printing.
#[must_use]
pub fn concentrate(report: &ConcentrateReport, on: &str) -> String {
    let rows = rows_of(&report.salts, |n, salt| {
        vec![
            Cell::Tick(salt.name.clone()),
            Cell::Head(format!("{}, {}", salt.name, salt.formula)),
            Cell::Number(format!("/salts/{n}/g"), salt.g_shown.clone()),
        ]
    });
    let facts = [
        fact("water", "water_g", show::fixed(report.water_g, 1), "g"),
        fact("together", "total_g", show::fixed(report.total_g, 1), "g"),
        fact(
            "volume",
            "volume_ml",
            show::fixed(report.volume_ml, 1),
            &format!("mL at {} °C", show::plain(report.volume_celsius)),
        ),
        fact("dose", "dose_ml_per_l", show::three_figures(report.dose_ml_per_l), "mL for a litre"),
        fact("or", "dose_g_per_l", show::three_figures(report.dose_g_per_l), "g for a litre"),
        fact("enough for", "makes_litres", show::three_figures(report.makes_litres), "L"),
    ];
    let body = html! {
        section.card {
            h2 { "Weigh" }
            (table("salts to weigh", "big", &["", "salt", "g"], &rows))
            p.fill { (report.filled) }
            (table("amounts", "", &["", "", "unit"], &facts))
        }
        section.card { h2 { "In this order" } (steps(&report.advice.method)) }
        section.card { h2 { "Label" } @for line in &report.advice.label { p.in { (line) } } }
        @if let Some(bottles) = report.split.as_deref().filter(|b| b.len() > 1) {
            @for (n, bottle) in bottles.iter().enumerate() {
                section.card {
                    h2 { "Or in " (bottles.len()) " bottles: bottle " (n + 1) }
                    ul { @for salt in &bottle.salts { li { (salt.name) ", " (salt.formula) ": " (salt.g_shown) " g" } } }
                    @for line in &bottle.advice.label { p.in { (line) } }
                }
            }
        }
        (costs(report.cost.as_ref()))
        (mind(&report.advice.cautions))
        footer {
            (notes(&report.notes))
            p { (cautions::SALTS) " " (cautions::DRINKING) }
        }
    };
    shell::document(
        &format!("{}: concentrate", report.name),
        &format!("Concentrate card, printed {on}."),
        &body,
    )
}

/// The labels of a concentrate: of the one bottle, and of each of several where it may be divided.
#[must_use]
pub fn concentrate_labels(report: &ConcentrateReport) -> Vec<Label> {
    let split = report.split.as_deref().filter(|bottles| bottles.len() > 1).unwrap_or_default();
    let all = std::iter::once(&report.advice).chain(split.iter().map(|bottle| &bottle.advice));
    let one = |lines: &[String]| {
        let (first, rest) = lines.split_first()?;
        // What it is called is read from afar, the rest of that line from near.
        let (name, what) = first.split_once(", concentrate").unwrap_or((first, ""));
        let what = format!("concentrate{what}");
        let lines = std::iter::once(what).chain(rest.iter().cloned()).collect();
        Some(Label { name: name.to_owned(), lines })
    };
    all.filter_map(|advice| one(&advice.label)).collect()
}

/// The label of a batch; `on` is the day it is made.
#[must_use]
pub fn batch_labels(report: &BatchReport, on: &str) -> Vec<Label> {
    let salts: Vec<String> = report
        .salts
        .iter()
        .map(|s| {
            let digits = show::decimals_for(s.step_g, 1, 4);
            format!("{} {} g", s.formula, show::fixed(s.g, digits))
        })
        .collect();
    let sums = crate::assessment::unknowns_text::sums;
    let measure = |name: &str| report.measures.iter().find(|m| m.measure == name).map(|m| m.value);
    let lines = vec![
        format!("{} L, made on {on}, lot ________", show::plain(report.litres)),
        "keep until __________".to_owned(),
        salts.join(", "),
        sums(measure("hardness"), measure("alkalinity"), ""),
    ];
    vec![Label { name: report.name.clone(), lines }]
}
