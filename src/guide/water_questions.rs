//! Which base waters there are: distilled water, and others with what their labels or reports say.

use crate::bench::check_text;
use crate::bench::flight_writer::quoted;
use crate::bench::trade_answer::AskedIn;
use crate::guide::bag_questions::new_name;
use crate::guide::talk::{Question, Stop, Talk, why_refused};
use crate::guide::typed_measures::{ASSUMED, split};
use crate::quantities::QuantityError;
use crate::text::names;
use crate::water::base_water::DISTILLED;
use crate::water::{Amount, Measure, MeasureError};

/// The base waters.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Waters {
    /// Whether there is distilled water.
    pub(super) distilled: bool,
    /// The others: name and text of the file.
    pub(super) others: Vec<(String, String)>,
}

/// Our choice: more waters than this are entered in files.
const MOST_WATERS: usize = 8;

pub(super) fn waters(talk: &mut Talk<'_>) -> Result<Waters, Stop> {
    let distilled = talk.yes(
        &Question::new(
            "distilled",
            "Do you have distilled or deionised water to begin with?",
            "Water out of reverse osmosis is no distilled water: enter it with what a meter shows.",
        )
        .or("yes"),
    )?;
    let mut others: Vec<(String, String)> = Vec::new();
    for n in 1..=MOST_WATERS {
        let needed = !distilled && n == 1;
        let taken: Vec<String> = others.iter().map(|(name, _)| name.clone()).collect();
        match water(talk, &format!("water {n}"), needed, &taken)? {
            Some(water) => others.push(water),
            None => break,
        }
    }
    Ok(Waters { distilled, others })
}

/// One water: its name and the text of its file; nothing for an empty answer.
pub(super) fn water(
    talk: &mut Talk<'_>,
    key: &str,
    needed: bool,
    taken: &[String],
) -> Result<Option<(String, String)>, Stop> {
    let mut question = Question::new(
        key,
        "Another water to mix with, from the tap or from a bottle: what do you call it?",
        "Any name that you know it by. Its analysis is asked next.",
    );
    if needed {
        "What do you call the water that you begin with?".clone_into(&mut question.text);
    } else {
        question = question.or_none("no other water");
    }
    let name = talk.ask(&question, |text| {
        if text.is_empty() {
            return Ok(String::new());
        }
        if names::alike(text, DISTILLED) {
            return Err("distilled water is always there; name another".to_owned());
        }
        new_name(text, taken)
    })?;
    if name.is_empty() {
        return Ok(None);
    }
    let question = Question::new(
        format!("{key} analysis"),
        "What do its label or the supplier's report say? In one line, as in `Ca 44, Mg 6, Na 12, Cl 20, \
         SO4 30, HCO3 130, pH 7.4`; mg/L where no unit is written.",
        "Hardness and alkalinity need their unit: `hardness 14 °dH, alkalinity 11.2 °dH, calcium 80 \
         mg/L`. What is left out was not measured, which is not zero. `conductivity 560 µS/cm`, or \
         what a pocket meter shows, `conductivity 280 ppm factor 0.5`, bounds the rest.",
    );
    let text = talk.ask(&question, |line| file(&name, line))?;
    Ok(Some((name, text)))
}

/// The text of a water's file, read back before it is taken.
fn file(name: &str, line: &str) -> Result<String, String> {
    let (mut measured, mut assumed) = (String::new(), String::new());
    let mut beside = String::new();
    for (key, amount) in split(line, AskedIn::Analysis)? {
        if amount.contains('±') {
            return Err(format!("`{key} {amount}`: one amount is wanted here; leave the ± out"));
        }
        // A label's `about` is as good as the number behind it.
        let amount = amount.trim_start_matches(['~', '≈', ' ']).to_owned();
        let (list, key) = match key.strip_prefix(ASSUMED) {
            Some(key) => (&mut assumed, key.trim().to_owned()),
            None => (&mut measured, key),
        };
        match Measure::from_key(&key) {
            Some(measure) => {
                let amount = with_unit(measure, &amount);
                list.push_str(&format!("        {key}: {},\n", quoted(&amount)));
            }
            None => beside.push_str(&format!("    {key}: {},\n", quoted(&amount))),
        }
    }
    if !assumed.is_empty() {
        assumed = format!("    assumed: (\n{assumed}    ),\n");
    }
    let text = format!(
        "// {name}: what is left out was not measured, which is not zero.\nWater(\n    name: {},\n    \
         analysis: (\n{measured}    ),\n{assumed}{beside})\n",
        quoted(name)
    );
    check_text::water(&text).map_err(|mistakes| why_refused(&mistakes.into_first()))?;
    Ok(text)
}

/// A bare number of an ion is milligrams per litre, as the question says; what is wrong with it is then
/// said of the whole amount.
fn with_unit(measure: Measure, amount: &str) -> String {
    let lacks_unit = matches!(
        Amount::parse(measure, amount),
        Err(MeasureError::Quantity(QuantityError::NoUnit { .. }))
    );
    let in_mg = format!("{amount} mg/L");
    let fits = !matches!(Amount::parse(measure, &in_mg), Err(MeasureError::UnitDoesNotFit { .. }));
    if lacks_unit && fits { in_mg } else { amount.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bare_number_is_milligrams_whatever_else_is_wrong_with_it() {
        for (line, why) in [
            ("Ca -4", "below zero"),
            ("Ca 4400000", "no amount for a bench"),
            ("hardness 7", "has no unit"),
        ] {
            let said = file("w", line).err().unwrap_or_default();
            assert!(said.contains(why), "{line}: {said}");
        }
        assert!(file("w", "Ca 44").is_ok_and(|text| text.contains("\"44 mg/L\"")));
    }
}
