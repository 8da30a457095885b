//! What is not known of a water, as text.

use crate::quantities::show;
use crate::render::table::wrapped;
use crate::report::Unknowns;
use crate::report::unknowns::Bound;

/// An amount, or the word that there is none.
pub(super) fn amount(value: Option<f64>) -> String {
    value.map_or("not measured".to_owned(), show::three_figures)
}

/// Dissolved solids: of all ions, and of silica where it was measured; otherwise what they are at
/// least.
pub(super) fn solids(mg_per_l: Option<f64>, unknowns: &Unknowns) -> String {
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
pub(super) fn lines(unknowns: &Unknowns) -> String {
    let mut parts = Vec::new();
    let open = |bound: &&Bound| bound.at_most.is_none() && bound.at_least < NOTHING_MG_PER_L;
    let unmeasured = || unknowns.bounds_mg_per_l.iter().filter(|bound| !bound.measured);
    let bare: Vec<&str> = unmeasured().filter(open).map(|bound| bound.key).collect();
    let bounded: Vec<String> =
        unmeasured().filter(|bound| !open(bound)).map(|bound| between(bound)).collect();
    if !bare.is_empty() {
        parts.push(format!("not measured: {}", bare.join(", ")));
    }
    if !bounded.is_empty() {
        parts.push(format!("not measured, and bounded: {} mg/L", bounded.join(", ")));
    }
    let below: Vec<String> =
        unknowns.bounds_mg_per_l.iter().filter(|b| b.measured).map(between).collect();
    if !below.is_empty() {
        parts.push(format!("below a limit of detection: {} mg/L", below.join(", ")));
    }
    if !unknowns.assumed.is_empty() {
        parts.push(format!("assumed, not measured: {}", unknowns.assumed.join(", ")));
    }
    if parts.is_empty() { String::new() } else { wrapped(&format!("  {}", parts.join("; ")), 4) }
}

/// Our choice: a bound below this is no news, mg/L.
const NOTHING_MG_PER_L: f64 = 0.005;

fn between(bound: &Bound) -> String {
    let least = (bound.at_least >= NOTHING_MG_PER_L).then(|| show::three_figures(bound.at_least));
    let most = bound.at_most.map(show::three_figures);
    match (least, most) {
        (Some(least), Some(most)) => format!("{} {least} to {most}", bound.key),
        (Some(least), None) => format!("{} at least {least}", bound.key),
        (None, Some(most)) => format!("{} at most {most}", bound.key),
        (None, None) => bound.key.to_owned(),
    }
}

/// A conductivity: one value, or the range that unmeasured salt leaves open, µS/cm.
pub(super) fn conductivity(us_per_cm: f64, between: Option<[f64; 2]>) -> String {
    match between {
        Some([low, high]) => format!("{}–{}", show::fixed(low, 0), show::fixed(high, 0)),
        None => show::fixed(us_per_cm, 0),
    }
}
