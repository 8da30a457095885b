//! Stocks as tables.

use crate::quantities::show;
use crate::stock::{StockReport, keeping_text, note_text};
use crate::text::cautions;
use crate::text::table::{Side, each, table, text as table_text, wrapped};

/// All stocks of a bench.
#[must_use]
pub fn list(stocks: &[StockReport]) -> String {
    if stocks.is_empty() {
        return "There is no stock on this bench yet.\n".to_owned();
    }
    let mut rows = table(&[
        ("stock", Side::Left),
        ("salt", Side::Left),
        ("g/kg", Side::Right),
        ("g/mL", Side::Right),
        ("meq/mL", Side::Right),
        ("mg/mL", Side::Left),
    ]);
    for stock in stocks {
        rows.add_row([
            stock.name.clone(),
            stock.formula.clone(),
            show::fixed(stock.g_per_kg, 2),
            show::fixed(stock.density_g_per_ml, 4),
            show::fixed(stock.meq_per_ml, 4),
            stock.mg_per_ml.listed(show::four_figures),
        ]);
    }
    let mut out = table_text(&rows);
    out.push('\n');
    out.push_str(&note_text::list(stocks.iter().flat_map(|s| &s.notes)));
    out.push_str(&wrapped(cautions::SALTS, 0));
    out
}

/// One stock.
#[must_use]
pub fn detail(stock: &StockReport) -> String {
    let mut out = format!("{}: {} ({})\n", stock.name, stock.salt, stock.formula);
    out.push_str(&format!("  made        {}\n", stock.made));
    let grade = stock.grade.as_ref().map(|g| format!(", {g}")).unwrap_or_default();
    out.push_str(&format!(
        "  lot         purity {} %, moisture {} %{grade}\n",
        show::plain(stock.purity_percent),
        show::plain(stock.moisture_percent)
    ));
    out.push_str(&format!(
        "  strength    {} g/kg, {} mg/mL, {} meq/mL\n",
        show::fixed(stock.g_per_kg, 2),
        show::fixed(stock.mg_salt_per_ml, 2),
        show::fixed(stock.meq_per_ml, 4)
    ));
    let basis = if stock.density_is_published { "published" } else { "estimated" };
    out.push_str(&format!(
        "  density     {} g/mL at {} °C, {basis}\n",
        show::with_plus_minus(stock.density_g_per_ml, stock.density_expanded_g_per_ml),
        show::plain(stock.celsius),
    ));
    out.push_str(&format!(
        "  1 mL holds  {} mg (alkalinity as HCO3)\n",
        stock.mg_per_ml.listed(show::four_figures)
    ));
    if let Some(report) = &stock.keeping {
        out.push_str(&keeping_text::text(report));
    }
    out.push_str(&each("  ! ", &stock.cautions));
    out.push_str(&each("  * ", &stock.notes));
    out.push_str(&wrapped(cautions::SALTS, 0));
    out
}
