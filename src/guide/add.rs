//! Another stock, base water or target for a bench that is there, by the same questions.

use std::path::PathBuf;

use crate::bench::Bench;
use crate::bench::flight_writer::quoted;
use crate::bench::ready_targets::{FOLDER, own as own_targets, published};
use crate::files::{Diagnostic, Fault};
use crate::guide::bag_questions::bag;
use crate::guide::talk::{Asker, Question, Stop, conduct};
use crate::guide::tool_questions::{STOCK_BOTTLE, volume};
use crate::guide::write_bench::{file_stem, stock_text};
use crate::guide::{Script, strengths, target_questions, water_questions};
use crate::quantities::{Dimension, Quantity, show};

/// Names in files that cannot be read, which are taken all the same.
fn names_unread(bench: &Bench) -> impl Iterator<Item = String> {
    bench.unread.iter().filter_map(|unread| unread.name.clone())
}

/// Asks for a stock and writes its file.
///
/// # Errors
/// When it is left, or something is wrong.
pub fn stock(bench: &Bench, script: &mut Script, asker: &mut dyn Asker) -> Result<PathBuf, Stop> {
    let own = bench.stocks.iter().map(|s| s.value.name().to_owned());
    let taken: Vec<String> = own.chain(names_unread(bench)).collect();
    let (name, text) = conduct(script, asker, |talk| {
        let bag = bag(talk, &bench.salts, "bag 1", true, &taken)?.ok_or(Stop::Left)?;
        let salt = bench
            .salts
            .find(&bag.salt)
            .map_err(|error| Diagnostic::new(Fault::Internal, error.to_string()))?;
        let usual = format!("{} g/kg", show::plain(strengths::usual(salt)));
        let question = Question::new(
            "strength",
            "How strong, in grams of salt in a kilogram of stock?",
            "`waterflight advise` says afterwards how strong it should be for your flights.",
        )
        .or(usual);
        let grams = talk.ask(&question, |text| {
            let text =
                if text.parse::<f64>().is_ok() { format!("{text} g/kg") } else { text.to_owned() };
            let share = Quantity::parse_as(&text, &[Dimension::MassFraction])
                .map_err(|error| error.to_string())?;
            let grams = 1000.0 * share;
            let stock = strengths::stock(&bag.name, salt, grams)
                .ok_or_else(|| format!("no stock of {} can be that strong", salt.name))?;
            crate::stock::solubility::check(&stock, stock.recipe().temperature)
                .map_err(|error| error.to_string())?;
            Ok(grams)
        })?;
        let size =
            Question::new("stock bottle", "How large is its bottle?", STOCK_BOTTLE).or("500 mL");
        let millilitres = volume(talk, &size)?;
        Ok((bag.name.clone(), stock_text(&bag, grams, millilitres)))
    })?;
    Ok(bench.write_new("stocks", &file_stem(&name), &text)?)
}

/// Asks for a base water and writes its file.
///
/// # Errors
/// When it is left, or something is wrong.
pub fn water(bench: &Bench, script: &mut Script, asker: &mut dyn Asker) -> Result<PathBuf, Stop> {
    let own = bench.waters.iter().map(|w| w.value.name.clone());
    let taken: Vec<String> = own.chain(names_unread(bench)).collect();
    let (name, text) = conduct(script, asker, |talk| {
        water_questions::water(talk, "water 1", true, &taken)?.ok_or(Stop::Left)
    })?;
    Ok(bench.write_new("waters", &file_stem(&name), &text)?)
}

/// Asks for a target and writes its file into the folder of ready targets.
///
/// # Errors
/// When it is left, or something is wrong.
pub fn target(bench: &Bench, script: &mut Script, asker: &mut dyn Asker) -> Result<PathBuf, Stop> {
    let (own, _) = own_targets(&bench.root)?;
    let taken: Vec<String> = published()?.iter().chain(&own).map(|t| t.name().to_owned()).collect();
    let (name, text) = conduct(script, asker, |talk| {
        let target =
            target_questions::own(talk, "own water 1", true, &taken, &[])?.ok_or(Stop::Left)?;
        let name = target.name().to_owned();
        let text = format!(
            "// A target of this bench; `waterflight targets {} --into NAME` puts it into a flight.\n{}",
            quoted(&name),
            target_questions::text_of(&name, &target.written.goals)
        );
        Ok((name, text))
    })?;
    Ok(bench.write_new(FOLDER, &file_stem(&name), &text)?)
}
