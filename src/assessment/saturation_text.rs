//! How near a water is to precipitating something, as text: an index, and what comes out in the bottle.

use crate::assessment::{Outlook, WaterAnswer};
use crate::quantities::show;
use crate::text::table::wrapped;

/// A saturation index with its sign.
pub(crate) fn index(value: Option<f64>) -> String {
    value.map_or("n/a".to_owned(), |v| format!("{}{}", plus(v), show::fixed(v, 2)))
}

fn plus(value: f64) -> &'static str {
    if value > 0.0 { "+" } else { "" }
}

/// What becomes of a water in its closed bottle.
pub(crate) fn clouding(answer: &WaterAnswer) -> String {
    let clouding = &answer.clouding;
    let solids: Vec<String> = clouding
        .solids
        .iter()
        .map(|s| {
            format!("{} mg/L of {} ({})", show::three_figures(s.mg_per_l), s.mineral, s.formula)
        })
        .collect();
    let outlook = match clouding.outlook {
        Outlook::NotJudged => return String::new(),
        Outlook::Clear if clouding.not_judged.is_empty() => {
            "stays clear, nothing is oversaturated".to_owned()
        }
        Outlook::Clear => {
            let minerals = clouding.not_judged.join(", ");
            format!(
                "nothing that can be judged is oversaturated; not judged: {minerals} (an ion of it \
                 was not measured)"
            )
        }
        Outlook::SlowIfAtAll => {
            format!("may stay clear for long; in the end {}", solids.join(", "))
        }
        Outlook::Cloudy => format!("CLOUDS: {}", solids.join(", ")),
    };
    let pressure = clouding.co2_atm.filter(|_| clouding.is_under_pressure()).map_or(
        String::new(),
        |co2_atm| {
            let atm = show::fixed(co2_atm, show::decimals_for(co2_atm, 2, 1));
            format!("; PRESSURE of up to {atm} atm of CO2 when it is closed: open it slowly")
        },
    );
    let celsius = show::plain(clouding.celsius);
    wrapped(&format!("  in the bottle at {celsius} °C: {outlook}{pressure}"), 4)
}
