//! The answer to a word from another list: what it is called here, and the line to write, with the amount
//! that was typed behind it.

use crate::flight::Goal;
use crate::quantities::spelling::leading_number;
use crate::water::trade_words::{METER_SOLIDS, Meaning, meaning};
use crate::water::{Amount, Measure};

/// Where a word stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum AskedIn {
    /// In what was measured of a water.
    Analysis,
    /// In what is wanted or allowed of one.
    Goal,
}

/// What a word is called here and the line to write, with the amount that was typed where that can be
/// meant; nothing for words that are not known.
///
/// ```
/// use waterflight::bench::trade_answer::{AskedIn, answer};
/// let said = answer("GH", "max 7 °dH", AskedIn::Goal).unwrap();
/// assert!(said.ends_with("write `hardness: \"max 7 °dH\"`"));
/// let said = answer("KH", "40 ppm", AskedIn::Analysis).unwrap();
/// assert!(said.ends_with("write `alkalinity: \"40 ppm as CaCO3\"`"));
/// let said = answer("KH", "5", AskedIn::Goal).unwrap();
/// assert!(said.ends_with("write `alkalinity: \"5 °dH\"`"));
/// ```
#[must_use]
pub fn answer(word: &str, typed: &str, asked_in: AskedIn) -> Option<String> {
    let Meaning { word, means, write } = meaning(word)?;
    let typed = typed.trim();
    if word == METER_SOLIDS.word {
        return Some(meter_solids(typed, asked_in));
    }
    let key = write.split_once(':').map_or(write, |(key, _)| key);
    let as_caco3 = format!("{typed} as CaCO3");
    // Without a unit it is that of the example, which the reader sees.
    let unit = write.trim_end_matches('"').rsplit_once(' ').map_or("", |(_, unit)| unit);
    let with_unit = format!("{typed} {unit}");
    let can_be = |text: &&str| Measure::from_key(key).is_some_and(|m| reads(m, text, asked_in));
    let amount = [typed, as_caco3.as_str(), with_unit.as_str()].into_iter().find(can_be);
    let line = amount.map_or(write.to_owned(), |amount| format!("{key}: \"{amount}\""));
    Some(format!("{word} is {means}: write `{line}`"))
}

fn reads(measure: Measure, text: &str, asked_in: AskedIn) -> bool {
    match asked_in {
        AskedIn::Analysis => Amount::parse(measure, text).is_ok(),
        AskedIn::Goal => Goal::parse(measure, text).is_ok(),
    }
}

/// What a meter calls dissolved solids is no measure of them; a goal counts what is really dissolved.
fn meter_solids(typed: &str, asked_in: AskedIn) -> String {
    let Meaning { word, means, write } = METER_SOLIDS;
    if asked_in == AskedIn::Goal {
        let reads = Goal::parse(Measure::DissolvedSolids, typed).is_ok();
        let amount = if reads { typed } else { "150 mg/L" };
        return format!(
            "{word} is {means}; for what is really dissolved write `dissolved_solids: \"{amount}\"`"
        );
    }
    match leading_number(typed) {
        Ok((_, unit)) => {
            let number = typed.strip_suffix(unit).unwrap_or(typed).trim();
            format!("{word} is {means}: write `conductivity: \"{number} ppm factor 0.5\"`")
        }
        Err(_) => format!("{word} is {means}: write `{write}`"),
    }
}
