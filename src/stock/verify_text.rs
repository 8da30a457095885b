//! A verification as text.

use crate::quantities::show;
use crate::quantities::uncertain::COVERAGE;
use crate::stock::VerifyReport;
use crate::stock::budget_text::two_figures;
use crate::stock::verify_report::FoundLine;
use crate::text::table::wrapped;

/// What a dilution should show, and what was found.
#[must_use]
pub fn text(report: &VerifyReport) -> String {
    let batch = report.batch.map(|n| format!(", batch {n}")).unwrap_or_default();
    let mut out = format!(
        "{}{batch}: dilute {} mL to {} mL with distilled water and mix\n",
        report.stock,
        show::plain(report.taken_ml),
        show::plain(report.to_ml)
    );
    let expected = &report.expected;
    out.push_str(&format!(
        "If the label is right it holds {} meq/L and shows (± with k = {})\n",
        show::four_figures(expected.meq_per_l),
        show::plain(COVERAGE)
    ));
    match (expected.us_per_cm, expected.us_per_cm_expanded) {
        (Some(us), Some(expanded)) => {
            out.push_str(&format!(
                "  conductivity      {} µS/cm at 25 °C\n",
                show::with_plus_minus(us, expanded)
            ));
            for [scale, ppm] in &expected.ppm_by_scale {
                let name = format!("factor {}", show::plain(*scale));
                out.push_str(&format!(
                    "  {name:<16}  {} ppm\n",
                    show::with_plus_minus(*ppm, scale * expanded)
                ));
            }
        }
        _ => out.push_str("  conductivity      cannot be computed for this salt\n"),
    }
    if expected.too_strong_for_a_meter {
        out.push_str("  ! too strong for a meter: dilute further\n");
    }
    for (name, value) in [
        ("hardness", expected.hardness_mg_per_l_caco3),
        ("alkalinity", expected.alkalinity_mg_per_l_caco3),
    ] {
        if let Some(value) = value {
            out.push_str(&format!(
                "  {name:<16}  {} mg/L as CaCO3 by titration\n",
                show::three_figures(value)
            ));
        }
    }
    for note in &report.notes {
        out.push_str(&wrapped(&format!("* {note}"), 2));
    }
    if let Some(found) = &report.found {
        out.push('\n');
        out.push_str(&what_was_found(found));
    }
    out
}

fn what_was_found(found: &FoundLine) -> String {
    let mut out = format!(
        "Read: {} meq/mL, {} g/kg\nLabel: {} meq/mL\n",
        show::with_plus_minus(found.meq_per_ml, found.meq_per_ml_expanded),
        show::with_plus_minus(found.g_per_kg, COVERAGE * found.g_per_kg_standard),
        show::with_plus_minus(found.label_meq_per_ml, found.label_meq_per_ml_expanded),
    );
    let sources: Vec<String> = found
        .sources
        .iter()
        .map(|s| format!("{} {} %", s.source, show::fixed(s.percent, 0)))
        .collect();
    out.push_str(&wrapped(&format!("± of what was read comes from: {}", sources.join(", ")), 2));
    let sign = if found.off_by_percent < 0.0 { "-" } else { "+" };
    let off = format!("{sign}{} %", two_figures(found.off_by_percent.abs()));
    let open = two_figures(found.open_percent);
    if !found.can_judge {
        out.push_str(&wrapped(
            "These readings cannot test the label: they are too uncertain. Dilute less, or read \
             again.",
            0,
        ));
    } else if found.label_believed {
        out.push_str(&wrapped(
            &format!(
                "The readings agree with the label: {off}, and they are uncertain by {open} %."
            ),
            0,
        ));
    } else {
        out.push_str(&wrapped(
            &format!(
                "THE LABEL IS NOT RIGHT: {off}, and the readings are uncertain by only {open} \
                      %."
            ),
            0,
        ));
        out.push_str("Each of these alone would explain it:\n");
        for explanation in &found.explanations {
            out.push_str(&wrapped(&format!("  - {explanation}"), 4));
        }
    }
    if !found.readings_agree {
        out.push_str(
            "The readings contradict each other: repeat them before you trust the mean.\n",
        );
    }
    if let Some(day) = &found.recorded_on {
        let both = if found.label_believed {
            format!(
                " {} g/kg, label and reading each by its uncertainty;",
                show::with_plus_minus(
                    found.to_record_g_per_kg,
                    COVERAGE * found.to_record_g_per_kg_standard
                )
            )
        } else {
            String::new()
        };
        out.push_str(&wrapped(
            &format!("Recorded on {day}:{both} every dose from now on follows from it."),
            0,
        ));
    }
    out
}
