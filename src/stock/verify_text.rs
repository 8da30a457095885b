//! A verification as text.

use crate::chemistry::conductivity::REFERENCE_CELSIUS;
use crate::quantities::show;
use crate::quantities::uncertain::COVERAGE;
use crate::stock::VerifyReport;
use crate::stock::verify::Expected;
use crate::stock::verify_report::FoundLine;
use crate::text::table::{each, wrapped};

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
    let if_right = match &report.verified_on {
        None => "the label is right".to_owned(),
        Some(day) => format!("the strength that was verified on {day} still holds"),
    };
    out.push_str(&wrapped(
        &format!(
            "If {if_right} it holds {} meq/L and shows (± with k = {})",
            show::four_figures(expected.meq_per_l),
            show::plain(COVERAGE)
        ),
        0,
    ));
    match (expected.us_per_cm, expected.us_per_cm_expanded) {
        (Some(us), Some(expanded)) => {
            out.push_str(&format!(
                "  conductivity      {} µS/cm {}\n",
                show::with_plus_minus(us, expanded),
                sample(expected)
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
    out.push_str(&each("* ", &report.notes));
    if let Some(found) = &report.found {
        out.push('\n');
        out.push_str(&what_was_found(found, report.verified_on.as_deref()));
    }
    out
}

/// The temperature that a meter's conductivity is that of.
fn sample(expected: &Expected) -> String {
    let celsius = show::plain(expected.sample_celsius);
    let is_at_25 = (expected.sample_celsius - REFERENCE_CELSIUS).abs() < f64::EPSILON;
    match (is_at_25, expected.is_compensated) {
        (true, _) => "at 25 °C".to_owned(),
        (false, true) => format!("on your meter, sample at {celsius} °C, compensated to 25 °C"),
        (false, false) => format!("on your meter, sample at {celsius} °C, not compensated"),
    }
}

/// What readings say of the label, or of the strength that was verified on a day.
fn what_was_found(found: &FoundLine, verified_on: Option<&str>) -> String {
    let tested = if verified_on.is_some() { "Verified" } else { "Label" };
    let mut out = format!(
        "Read: {} meq/mL, {} g/kg\n{tested}: {} meq/mL\n",
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
    let off = format!("{} %", show::signed(found.off_by_percent, show::plus_minus));
    let open = show::plus_minus(found.open_percent);
    let what =
        verified_on.map_or("the label".to_owned(), |day| format!("what was verified on {day}"));
    let together = match verified_on {
        None => "readings and label together",
        Some(_) => "both strengths together",
    };
    let verdict = match (found.can_judge, found.label_believed) {
        (false, _) if !found.readings_agree => {
            format!(
                "The readings contradict each other, so nothing follows of {what}: repeat them."
            )
        }
        (false, _) => format!(
            "These readings cannot test {what}: they are too uncertain. Dilute less, or read again."
        ),
        (true, true) => {
            format!(
                "The readings agree with {what}: {off}, and {together} are uncertain by {open} %."
            )
        }
        (true, false) => {
            let wrong = match verified_on {
                None => "THE LABEL IS NOT RIGHT".to_owned(),
                Some(day) => format!("IT IS NOT THE STRENGTH OF {day}"),
            };
            format!("{wrong}: {off}, and {together} are uncertain by only {open} %.")
        }
    };
    out.push_str(&wrapped(&verdict, 0));
    if found.can_judge && !found.label_believed {
        out.push_str("Each of these alone would explain it:\n");
        out.push_str(&each("  - ", &found.explanations));
    }
    if let Some(day) = &found.recorded_on {
        let both = if found.label_believed {
            format!(
                " {} g/kg, {} and reading each by its uncertainty;",
                show::with_plus_minus(
                    found.to_record_g_per_kg,
                    COVERAGE * found.to_record_g_per_kg_standard
                ),
                tested.to_lowercase()
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
