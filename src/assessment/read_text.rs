//! A meter reading against a bottle, as text.

use crate::assessment::{MeterVerdict, Slip};
use crate::quantities::show;
use crate::text::table::{each, wrapped};
use crate::water::MeterSettings;

/// The verdict, and what explains the reading when it does not agree.
#[must_use]
pub fn text(name: &str, meter: &MeterSettings, verdict: &MeterVerdict) -> String {
    let unit = meter.scale.label();
    let verdict_word = if verdict.agrees { "agrees with" } else { "does NOT agree with" };
    let mut out = wrapped(
        &format!(
            "{} {unit} {verdict_word} `{name}`: expected {} (k = {}), off by {}.",
            show::plain(verdict.read),
            show::with_plus_minus(verdict.expected, verdict.expanded),
            show::plain(verdict.coverage_factor),
            show::beside_plus_minus(
                (verdict.read - verdict.expected).abs(),
                Some(verdict.expanded)
            ),
        ),
        2,
    );
    if let Some([low, high]) = verdict.expected_between {
        out.push_str(&wrapped(
            &format!(
                "The ± is wide because salt of its base water was not measured: anything from {} to \
                 {} may be right, and a forgotten stock may go unseen.",
                show::fixed(low, 0),
                show::fixed(high, 0)
            ),
            2,
        ));
    }
    out.push_str(&each("", &verdict.notes));
    if verdict.agrees {
        return out;
    }
    if verdict.explanations.is_empty() {
        out.push_str(&wrapped(
            match verdict.doses {
                Some(1..) => {
                    "No single slip of the hand explains it: check the meter, the sample and the \
                     stocks."
                }
                Some(0) => {
                    "Nothing is poured into it that a hand could have slipped with: check the meter, \
                     the sample and the analysis."
                }
                None => {
                    "Its doses are not known here, so that no slip of the hand was looked for: check \
                     the meter, the sample and what was poured."
                }
            },
            2,
        ));
        return out;
    }
    let sure = if verdict.clear {
        "Best explained by"
    } else {
        "Several slips explain it about \
                                                                equally well, nearest first"
    };
    out.push_str(&format!("{sure}:\n"));
    for explanation in &verdict.explanations {
        out.push_str(&wrapped(
            &format!(
                "  {}: would show {}, off by {}",
                in_words(&explanation.slip),
                show::beside_plus_minus(explanation.expected, Some(verdict.expanded)),
                show::beside_plus_minus(
                    (verdict.read - explanation.expected).abs(),
                    Some(verdict.expanded)
                )
            ),
            4,
        ));
    }
    out
}

fn in_words(slip: &Slip) -> String {
    match slip {
        Slip::Forgotten { stock } => format!("{stock} forgotten"),
        Slip::Doubled { stock } => format!("{stock} poured twice"),
        Slip::Swapped { stock, with } => format!("{stock} and {with} swapped"),
    }
}
