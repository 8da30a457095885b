//! The stocks that stand on the shelf: a list to hang beside it, and the labels of their bottles.

use maud::html;

use crate::page::labels::Label;
use crate::page::parts::{Cell, notes, rows_of, table};
use crate::page::shell;
use crate::quantities::show;
use crate::stock::StockReport;
use crate::text::cautions;

/// The list; `on` is the day of printing.
#[must_use]
pub fn page(stocks: &[StockReport], on: &str) -> String {
    let rows = rows_of(stocks, |n, stock| {
        let number = |key: &str, text: String| Cell::Number(format!("/{n}/{key}"), text);
        let percent = stock.keeping.as_ref().map_or(Cell::Words("–".to_owned()), |keeping| {
            let percent = keeping.strength.g_per_kg_expanded_percent;
            number("keeping/strength/g_per_kg_expanded_percent", show::fixed(percent, 2))
        });
        vec![
            Cell::Head(stock.name.clone()),
            Cell::Words(stock.formula.clone()),
            number("g_per_kg", show::fixed(stock.g_per_kg, 2)),
            percent,
            number("meq_per_ml", show::fixed(stock.meq_per_ml, 4)),
            number("density_g_per_ml", show::fixed(stock.density_g_per_ml, 4)),
        ]
    });
    let heads = ["stock", "salt", "g/kg", "± %, k = 2", "meq/mL", "g/mL"];
    let body = html! {
        (table("stocks", "", &heads, &rows))
        @if stocks.is_empty() { p { "There is no stock on this bench yet." } }
        @for stock in stocks {
            @if let Some((name, rest)) = stock.label.split_first() {
                section.card {
                    h2 { (name) }
                    @for line in rest { p.in { (line) } }
                }
            }
        }
        footer {
            @for stock in stocks { (notes(&stock.notes)) }
            p { (cautions::SALTS) }
        }
    };
    shell::document("Stocks", &format!("As they are in their bottles, printed {on}."), &body)
}

/// The labels of their bottles.
#[must_use]
pub fn labels(stocks: &[StockReport]) -> Vec<Label> {
    let one = |stock: &StockReport| {
        let lines = stock.label.get(1..)?.to_vec();
        Some(Label { name: stock.name.clone(), lines })
    };
    stocks.iter().filter_map(one).collect()
}
