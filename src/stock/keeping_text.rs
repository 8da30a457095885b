//! How a stock keeps, as text.

use crate::quantities::show;
use crate::stock::KeepingReport;
use crate::stock::budget_text::sources;
use crate::stock::carbonated::AIR_BAR;
use crate::stock::solubility::SENSIBLE;
use crate::text::table::wrapped;

/// The lines below those of the stock itself.
#[must_use]
pub(crate) fn text(report: &KeepingReport) -> String {
    let mut out = String::new();
    let strength = &report.strength;
    out.push_str(&format!(
        "  ±           {} % by mass, {} % by volume (k = {})\n",
        show::plus_minus(strength.g_per_kg_expanded_percent),
        show::plus_minus(strength.meq_per_ml_expanded_percent),
        show::plain(strength.coverage_factor),
    ));
    out.push_str(&wrapped(&format!("  ± comes from: {}", sources(&strength.budget)), 4));
    if let Some(batch) = &report.batch {
        let lot = batch.lot.as_ref().map(|l| format!(", lot {l}")).unwrap_or_default();
        let verified =
            batch.verified_on.as_ref().map(|d| format!(", verified {d}")).unwrap_or_default();
        out.push_str(&format!("  batch       {} of {}{lot}{verified}\n", batch.number, batch.day));
    }
    let strongest = match report.strongest_g_per_kg {
        Some(g_per_kg) => {
            let under = report.strongest_co2_bar.map_or(String::new(), |bar| {
                format!(" under carbon dioxide at {} bar", show::plain(bar))
            });
            let sure = show::three_figures(g_per_kg);
            if strength.g_per_kg > g_per_kg {
                // What is refused is more than the table says; so near to it the table decides nothing.
                let most = show::three_figures(g_per_kg / SENSIBLE);
                format!(
                    "; ! crystals are likely there: up to {sure} g/kg stays dissolved{under}, up to \
                     {most} g/kg may"
                )
            } else {
                format!("; up to {sure} g/kg stays dissolved there{under}")
            }
        }
        None => "; how much stays dissolved there is not known here".to_owned(),
    };
    let days = report.keeps_days.map(|d| format!(", {d} days")).unwrap_or_default();
    out.push_str(&wrapped(
        &format!("  kept at {} °C{days}{strongest}", show::plain(report.storage_celsius)),
        4,
    ));
    if let Some(open) = &report.left_open {
        let doubt = if open.extrapolated { ", an extrapolation at this strength" } else { "" };
        out.push_str(&wrapped(
            &format!(
                "  left open: CO2 goes ({} g/L in the end), pH rises from {} to {}, {} % of the \
                 carbon stays, a part of it as carbonate (25 °C{doubt}). The alkalinity stays {} meq/mL, \
                 and so does the dose.",
                show::fixed(open.lost_g_per_l, 1),
                show::fixed(open.ph_fresh, 1),
                show::fixed(open.ph_open, 1),
                show::fixed(100.0 * open.carbon_left, 0),
                show::fixed(open.alkalinity_meq_per_ml, 4),
            ),
            4,
        ));
    }
    if let Some(taken_up) = report.co2_taken_up_g_per_l {
        let at = show::plain(report.storage_celsius);
        let held = match report.co2_needed_bar {
            Some(bar) if bar <= AIR_BAR => {
                format!("So little of it stays dissolved at {at} °C in the open as well.")
            }
            Some(bar) => format!(
                "It stays dissolved at {at} °C under {} bar of it or more. Once opened, it loses it \
                 and clouds.",
                show::three_figures(bar)
            ),
            None => "Once opened, it loses it and clouds.".to_owned(),
        };
        out.push_str(&wrapped(
            &format!(
                "  carbonation: dissolves only under carbon dioxide and takes up {} g of it per \
                 litre. {held}",
                show::fixed(taken_up, 2)
            ),
            4,
        ));
    }
    out
}
