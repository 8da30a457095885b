//! What a flight costs, as text.

use crate::mix::CostReport;
use crate::quantities::show;
use crate::text::table::{Side, table, text as table_text, wrapped};
use crate::water::base_water::DISTILLED;

/// That things without a price count as nothing, and where a price is written.
pub(crate) fn no_price(names: &[String]) -> String {
    let is_distilled = |name: &String| name == DISTILLED;
    let mut ways = Vec::new();
    if names.iter().any(is_distilled) {
        ways.push("`distilled_price: \"0.40 per L\"` in bench.ron");
    }
    if !names.iter().all(is_distilled) {
        ways.push(
            "`price: \"0.40 per L\"` in the file of a water, `lot: (price: \"7.90 per kg\")` in that of a stock",
        );
    }
    let names = names.join(", ");
    format!("no price is stated for {names}: counted as nothing; write {}", ways.join(", "))
}

/// The cost of every water and of the flight.
pub(crate) fn text(report: &CostReport) -> String {
    if report.mixed_money {
        return "\n* the prices are in different currencies, so no cost is added up\n".to_owned();
    }
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
        let said = format!("* {}", no_price(&report.without_price));
        out.push_str(&wrapped(&said, 2));
    }
    out
}
