//! What stands on the label of a stock bottle.

use crate::quantities::show;
use crate::stock::bottle_pressure;
use crate::stock::carbonated::needs_carbon_dioxide;
use crate::stock::strength_line::StrengthLine;
use crate::stock::{Bottle, Stock};

/// What was filled into the bottle.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Filled {
    /// The stock as its file means it, still to be made: what is not known yet is left blank.
    ToBeMade,
    /// The batch that is in the bottle.
    Recorded,
}

/// The lines, the name first. The hydrate is part of the formula, and every number has its unit.
pub(crate) fn lines(
    stock: &Stock,
    strength: &StrengthLine,
    bottle: &Bottle,
    filled: Filled,
) -> Vec<String> {
    let holds = strength.mg_per_ml.listed(|mg| show::fixed(mg, 2));
    let mut lines = vec![
        stock.name().to_uppercase(),
        format!("{} in water", stock.recipe().salt.formula),
        format!("{:.2} g/kg   {:.4} meq/mL", strength.g_per_kg, strength.meq_per_ml),
    ];
    let batch = bottle.batch.as_ref().filter(|_| matches!(filled, Filled::Recorded));
    if let Some(batch) = batch {
        let percent = show::plus_minus(strength.g_per_kg_expanded_percent);
        lines.push(match batch.verified {
            Some(verified) => format!("as verified on {}: ± {percent} % (k = 2)", verified.day),
            None => format!("as weighed: ± {percent} % (k = 2)"),
        });
    }
    lines.push(format!("1 mL: {holds} mg"));
    lines.push(format!(
        "{:.4} g/mL at {:.0} °C",
        stock.density().value.value(),
        stock.recipe().temperature.value()
    ));
    let kept = format!("keep at {:.0} °C", bottle.storage.value());
    if let Some(batch) = batch {
        let lot = batch.lot_label.as_ref().map_or(BLANK, String::as_str);
        lines.push(format!("made on {}  batch {}  lot {lot}", batch.day, batch.number));
        let until = bottle.keeps_until().map_or(BLANK.to_owned(), |day| day.to_string());
        lines.push(format!("{kept}, until {until}"));
    } else {
        lines.push(format!("made on {BLANK}  lot {BLANK}"));
        let days = bottle.keeps_days.map_or(String::new(), |days| format!(" ({days} days)"));
        lines.push(format!("{kept}, until {BLANK}{days}"));
    }
    if needs_carbon_dioxide(&stock.recipe().salt) {
        lines.push(bottle_pressure::ON_A_LABEL.to_owned());
    }
    lines.push("stock solution: not to drink as it is".to_owned());
    lines
}

/// Room to write in.
const BLANK: &str = "__________";
