//! The pour sheet of a flight: bottle by bottle, with boxes to tick.

use maud::{Markup, html};

use crate::assessment::unknowns_text::sums;
use crate::flight::Convention;
use crate::mix::order_report::{DispenserReport, SteppedDose};
use crate::mix::water_mix::WaterMix;
use crate::mix::{MixReport, mix_text};
use crate::page::labels::Label;
use crate::page::parts::{Cell, notes, rows_of, table};
use crate::page::shell;
use crate::quantities::show;
use crate::svg::Drawing;
use crate::text::cautions;

/// The sheet; `on` is the day of printing, `pictures` stand at its end.
#[must_use]
pub fn page(report: &MixReport, on: &str, pictures: &[Drawing]) -> String {
    let below = format!(
        "Pour sheet, printed {on}. Bottles of {} mL, doses {}.",
        show::plain(report.bottle_ml),
        report.convention
    );
    let body = html! {
        (order_of_work(report))
        @for (n, water) in report.waters.iter().enumerate() { (one_water(report, n, water)) }
        @for one in &report.unanswered {
            section.water {
                h2 { (one.number) " " (one.target) }
                p.warn { "No answer: " (one.reason) "." }
            }
        }
        (remains(report))
        @for picture in pictures { (crate::page::parts::figure(picture)) }
        footer {
            (notes(&report.notes))
            p { (cautions::DRINKING) }
        }
    };
    shell::document(&report.flight, &below, &body)
}

fn is_added(report: &MixReport) -> bool {
    report.convention == Convention::AddedToALitre.describe()
}

/// Common practice: stocks meet in much water and never at full strength, where some of them would
/// precipitate.
fn order_of_work(report: &MixReport) -> Markup {
    let first = if is_added(report) {
        "Fill the base water in first, all of it."
    } else {
        "Fill the bottle half with base water first."
    };
    let last = if is_added(report) {
        "Close the bottle and turn it ten times."
    } else {
        "Fill up to the mark with base water, close the bottle and turn it ten times."
    };
    html! {
        ol {
            li { (first) " Stocks must not meet undiluted." }
            li { "Add the doses in the order of the table, calcium last, and swirl after each. Tick what is in." }
            li { (last) }
        }
    }
}

fn dispenser(report: &MixReport) -> Option<&DispenserReport> {
    report.order.as_ref()?.dispenser.as_ref()
}

/// Steps of a dose in words: `12 drops`, `8 marks`.
fn counted(with: &DispenserReport, dose: &SteppedDose) -> String {
    let what = with.counted.unwrap_or(if with.unit == "g" { "steps" } else { "marks" });
    let what = if dose.steps == 1 { what.trim_end_matches('s') } else { what };
    format!("{} {what}", dose.steps)
}

fn one_water(report: &MixReport, place: usize, water: &WaterMix) -> Markup {
    let stepped = dispenser(report).and_then(|with| {
        let found = with.waters.iter().position(|w| w.number == water.number)?;
        Some((with, found, with.waters.get(found)?))
    });
    let mut in_order: Vec<_> = water.doses.iter().enumerate().collect();
    in_order.sort_by_key(|(_, dose)| dose.pour_order);
    let rows: Vec<Vec<Cell>> = in_order
        .into_iter()
        .map(|(n, dose)| {
            let at = format!("/waters/{place}/doses/{n}");
            let mut row = vec![
                Cell::Tick(dose.stock.clone()),
                Cell::Number(format!("{at}/pour_order"), dose.pour_order.to_string()),
                Cell::Head(dose.stock.clone()),
                Cell::Number(format!("{at}/ml_per_bottle"), show::fixed(dose.ml_per_bottle, 2)),
                Cell::Number(format!("{at}/g_per_bottle"), show::fixed(dose.g_per_bottle, 2)),
            ];
            if let Some((with, w, steps)) = &stepped {
                let found = steps.doses.iter().position(|d| d.stock == dose.stock);
                let dose = found.and_then(|d| Some((d, steps.doses.get(d)?)));
                row.push(dose.map_or(Cell::Words("–".to_owned()), |(d, dose)| {
                    let at = format!("/order/dispenser/waters/{w}/doses/{d}/steps");
                    Cell::Number(at, counted(with, dose))
                }));
            }
            row
        })
        .collect();
    let mut heads = vec!["", "", "add", "mL", "g"];
    if let Some((with, ..)) = &stepped {
        heads.push(with.name.as_str());
    }
    html! {
        section.water {
            h2 { (water.number) " " (water.target) }
            @if !water.reached { p.warn { "Out of reach: this is the nearest water." } }
            @if rows.is_empty() {
                p { "No stock: base water alone." }
            }
            (table(&format!("doses of {}", water.target), "big", &heads, &rows))
            (fill(report, place, water))
            p.note { (holds(water)) }
        }
    }
}

fn fill(report: &MixReport, place: usize, water: &WaterMix) -> Markup {
    let poured = water.base.iter().enumerate().filter(|(_, base)| base.is_poured());
    let rows = poured.map(|(n, base)| {
        let at = format!("/waters/{place}/base/{n}");
        vec![
            Cell::Tick(base.water.clone()),
            Cell::Head(format!("{} water", base.water.trim_end_matches(" water"))),
            Cell::Number(format!("{at}/ml_per_bottle"), show::fixed(base.ml_per_bottle, 0)),
            Cell::Number(format!("{at}/g_per_bottle"), show::fixed(base.g_per_bottle, 0)),
        ]
    });
    let rows: Vec<Vec<Cell>> = rows.collect();
    html! {
        (table(&format!("base water of {}", water.target), "", &["", "base water in all", "mL", "g"], &rows))
        @if !is_added(report) {
            p.fill { "Fill up to the mark: " strong { (show::plain(report.bottle_ml)) " mL" } }
        }
    }
}

fn holds(water: &WaterMix) -> String {
    format!("Holds {} mg/L; {}.", mix_text::held(water), sums_of(water))
}

fn sums_of(water: &WaterMix) -> String {
    sums(water.hardness_mg_per_l_caco3, water.alkalinity_mg_per_l_caco3, "")
}

fn remains(report: &MixReport) -> Markup {
    let known = |ml: Option<f64>, at: String| {
        ml.map_or(Cell::Words("not recorded".to_owned()), |ml| Cell::Number(at, show::fixed(ml, 1)))
    };
    let rows = rows_of(&report.stocks_used, |n, used| {
        let at = format!("/stocks_used/{n}");
        vec![
            Cell::Head(used.stock.clone()),
            Cell::Number(format!("{at}/ml"), show::fixed(used.ml, 2)),
            Cell::Number(format!("{at}/g"), show::fixed(used.g, 2)),
            known(used.left_ml, format!("{at}/left_ml")),
            known(used.left_after_ml, format!("{at}/left_after_ml")),
        ]
    });
    let base = rows_of(&report.base_used, |n, used| {
        vec![
            Cell::Head(used.water.clone()),
            Cell::Number(format!("/base_used/{n}/ml"), show::fixed(used.ml, 0)),
        ]
    });
    html! {
        section.card {
            h2 { "For one bottle of each" }
            (table("stocks used", "", &["stock", "mL", "g", "left, mL", "after, mL"], &rows))
            (table("base water used", "", &["base water", "mL"], &base))
            p.note { "When it is poured: " code { "waterflight poured" } " takes it from the bottles." }
        }
    }
}

/// A label for the bottle of each water, with its name open; `on` is the day it is made.
#[must_use]
pub fn bottle_labels(report: &MixReport, on: &str) -> Vec<Label> {
    let one = |water: &WaterMix| {
        let salts: Vec<String> = water
            .salts
            .iter()
            .map(|salt| format!("{} {} mg/L", salt.formula, show::three_figures(salt.mg_per_l)))
            .collect();
        let salts = if salts.is_empty() { "no salts added".to_owned() } else { salts.join(", ") };
        Label {
            name: water.target.clone(),
            lines: vec![
                format!("{}, water {}", report.flight, water.number),
                salts,
                sums_of(water),
                format!("{} mL, mixed on {on}", show::plain(report.bottle_ml)),
                "keep until __________".to_owned(),
            ],
        }
    };
    report.waters.iter().map(one).collect()
}
