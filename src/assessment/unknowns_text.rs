//! What is not known of a water, as text.

use std::fmt::Display;

use crate::assessment::Unknowns;
use crate::assessment::unknowns::Bound;
use crate::quantities::show;
use crate::text::table::wrapped;

/// An amount, or the word that there is none.
pub(crate) fn amount(value: Option<f64>) -> String {
    value.map_or("not measured".to_owned(), show::three_figures)
}

/// The amounts that are there, as in `Ca 12.0, Mg 1.23`; nothing where there are none.
pub(crate) fn present<K: Display>(amounts: &[(K, f64)]) -> Option<String> {
    let amounts = amounts.iter().filter(|(_, amount)| *amount > 0.0);
    let words: Vec<String> =
        amounts.map(|(key, amount)| format!("{key} {}", show::three_figures(*amount))).collect();
    (!words.is_empty()).then(|| words.join(", "))
}

/// Hardness and alkalinity, mg/L as CaCO3; `beside` is what follows the alkalinity.
pub(crate) fn sums(hardness: Option<f64>, alkalinity: Option<f64>, beside: &str) -> String {
    const UNIT: &str = "mg/L as CaCO3";
    let known = |value: f64| show::three_figures(value);
    match (hardness, alkalinity) {
        (Some(h), Some(a)) => {
            format!("hardness {}, alkalinity {}{beside} {UNIT}", known(h), known(a))
        }
        (Some(h), None) => format!("hardness {} {UNIT}, alkalinity not measured", known(h)),
        (None, Some(a)) => format!("hardness not measured, alkalinity {}{beside} {UNIT}", known(a)),
        (None, None) => "hardness and alkalinity not measured".to_owned(),
    }
}

/// Dissolved solids: of all ions, and of silica where it was measured; otherwise what they are at
/// least.
pub(crate) fn solids(mg_per_l: Option<f64>, unknowns: &Unknowns) -> String {
    match (mg_per_l, unknowns.dissolved_solids_at_least_mg_per_l) {
        (Some(sum), _) if unknowns.not_measured.contains(&SILICA) => {
            format!("{} mg/L without silica", show::three_figures(sum))
        }
        (Some(sum), _) => format!("{} mg/L", show::three_figures(sum)),
        (None, Some(least)) => format!("at least {} mg/L", show::three_figures(least)),
        (None, None) => "not measured".to_owned(),
    }
}

const SILICA: &str = "SiO2";

/// Lines on what was not measured, what was looked for and not found, and what is assumed; nothing
/// for a water of which everything was measured.
pub(crate) fn lines(unknowns: &Unknowns) -> String {
    let mut parts = Vec::new();
    let of =
        |measured: bool| unknowns.bounds_mg_per_l.iter().filter(move |b| b.measured == measured);
    let unmeasured: Vec<String> = of(false).map(between).collect();
    let bounded = unmeasured.iter().any(|words| words.contains('('));
    if !unmeasured.is_empty() {
        let unit = if bounded { "; bounds in mg/L" } else { "" };
        parts.push(format!("not measured: {}{unit}", unmeasured.join(", ")));
    }
    // What a dose, or the rest of a hardness, brings is there whatever the limit hides.
    let is_below = |bound: &&Bound| bound.at_least < NEGLIGIBLE_MG_PER_L;
    let below: Vec<String> = of(true).filter(is_below).map(between).collect();
    if !below.is_empty() {
        parts.push(format!("below a limit of detection: {} mg/L", below.join(", ")));
    }
    let limited: Vec<String> = of(true).filter(|bound| !is_below(bound)).map(between).collect();
    if !limited.is_empty() {
        parts.push(format!("known between limits: {} mg/L", limited.join(", ")));
    }
    if !unknowns.assumed.is_empty() {
        parts.push(format!("assumed, not measured: {}", unknowns.assumed.join(", ")));
    }
    if parts.is_empty() { String::new() } else { wrapped(&format!("  {}", parts.join("; ")), 4) }
}

/// Our choice: a bound below this is no news, mg/L.
const NEGLIGIBLE_MG_PER_L: f64 = 0.005;

fn between(bound: &Bound) -> String {
    let least =
        (bound.at_least >= NEGLIGIBLE_MG_PER_L).then(|| show::three_figures(bound.at_least));
    let most = bound.at_most.map(show::three_figures);
    match (least, most) {
        (Some(least), Some(most)) => format!("{} ({least} to {most})", bound.key),
        (Some(least), None) => format!("{} (at least {least})", bound.key),
        (None, Some(most)) => format!("{} (at most {most})", bound.key),
        (None, None) => bound.key.to_owned(),
    }
}

/// A conductivity: one value, or the range that unmeasured salt leaves open, µS/cm.
pub(crate) fn conductivity(us_per_cm: f64, between: Option<[f64; 2]>) -> String {
    match between {
        Some([low, high]) => format!("{}–{}", show::fixed(low, 0), show::fixed(high, 0)),
        None => show::fixed(us_per_cm, 0),
    }
}
