//! What a flight costs, as text.

use crate::mix::CostReport;
use crate::quantities::show;
use crate::text::table::{Side, table, text as table_text, wrapped};

/// The cost of every water and of the flight.
pub(crate) fn text(report: &CostReport) -> String {
    let unit = if report.money.is_empty() { "cost" } else { report.money.as_str() };
    let mut rows = table(&[
        (&format!("{unit} per litre"), Side::Left),
        ("salts", Side::Right),
        ("water", Side::Right),
        ("together", Side::Right),
    ]);
    for water in &report.waters {
        rows.add_row([
            water.target.clone(),
            show::fixed(water.salts_per_l, 4),
            show::fixed(water.water_per_l, 4),
            show::fixed(water.per_l, 4),
        ]);
    }
    let mut out = format!("\n{}", table_text(&rows));
    out.push_str(&format!("one bottle of each: {}\n", show::fixed(report.flight, 3)));
    if !report.without_price.is_empty() {
        let names = report.without_price.join(", ");
        out.push_str(&wrapped(&format!("* no price is stated for {names}: counted as nothing"), 2));
    }
    if report.mixed_money {
        out.push_str("* the prices are in different currencies: the sums mean nothing\n");
    }
    out
}
