//! The work sheet of a stock.

use maud::html;

use crate::page::labels::Label;
use crate::page::parts::{Cell, fact, notes, steps, table};
use crate::page::shell;
use crate::quantities::show;
use crate::stock::WeighReport;
use crate::text::cautions;
use crate::text::command_line::typed;

/// The sheet; `on` is the day of printing.
#[must_use]
pub fn page(report: &WeighReport, on: &str) -> String {
    let digits = show::decimals_for(report.weighing.resolution_g, 1, 4);
    let row = |what: &str, at: &str, text: String, unit: &str| {
        [vec![Cell::Tick(what.to_owned())], fact(what, at, text, unit), vec![Cell::Blank]].concat()
    };
    let weigh = [
        row(
            &format!("{} from the bag", report.formula),
            "salt_g",
            show::fixed(report.salt_g, digits),
            "g",
        ),
        row("water", "water_g", show::fixed(report.water_g, 1), "g"),
        row("together", "total_g", show::fixed(report.total_g, 1), "g"),
    ];
    let strength = &report.strength;
    let gives = [
        fact(
            "salt without what is not salt",
            "pure_salt_g",
            show::fixed(report.pure_salt_g, digits),
            "g",
        ),
        fact(
            "volume",
            "volume_ml",
            show::fixed(report.volume_ml, 1),
            &format!("mL at {} °C", show::plain(report.celsius)),
        ),
        fact("density", "density_g_per_ml", show::fixed(report.density_g_per_ml, 4), "g/mL"),
        fact("strength", "strength/g_per_kg", show::four_figures(strength.g_per_kg), "g/kg"),
        fact("strength", "strength/meq_per_ml", show::four_figures(strength.meq_per_ml), "meq/mL"),
        fact(
            "±, k = 2",
            "strength/meq_per_ml_expanded_percent",
            show::fixed(strength.meq_per_ml_expanded_percent, 2),
            "% of meq/mL",
        ),
    ];
    let weighing = &report.weighing;
    let body = html! {
        p.lead { (report.salt) " (" (report.formula) "). The hydrate on the bag must be this one." }
        @if !weighing.sensible {
            p.warn { "This is too little for the balance: make at least " (show::plain(show::up_to_two_figures(weighing.least_stock_ml))) " mL." }
        }
        section.card {
            h2 { "Weigh" }
            (table("what to weigh", "big", &["", "what", "wanted", "", "as weighed"], &weigh))
            p.note { "Lot of the bag: " span.blank {} "  Date: " span.blank {} "  By: " span.blank {} }
        }
        section.card { h2 { "In this order" } (steps(&report.steps)) }
        section.card {
            h2 { "Mind" }
            ul { @for caution in &report.cautions { li { (caution) } } }
            p { (cautions::SALTS) }
        }
        div.pair {
            section.card {
                h2 { "What it gives" }
                (table("what it gives", "", &["", "", "unit"], &gives))
            }
            section.card {
                h2 { "Label" }
                @for line in &report.label { p.in { (line) } }
            }
        }
        section {
            p.note { "Then record it: " code { "waterflight weighed " (typed(&report.stock)) " --salt … --total …" }
                "; its label, filled in: " code { "waterflight stock " (typed(&report.stock)) " --labels 3x7 --print label.html" } }
        }
        @if !report.notes.is_empty() {
            footer { (notes(&report.notes)) }
        }
    };
    shell::document(
        &format!("Stock: {}", report.stock),
        &format!("Work sheet, printed {on}."),
        &body,
    )
}

/// The label of the bottle.
#[must_use]
pub fn labels(report: &WeighReport) -> Vec<Label> {
    let lines = report.label.iter().skip(1).cloned().collect();
    vec![Label { name: report.stock.clone(), lines }]
}
