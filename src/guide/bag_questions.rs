//! Which bags there are: salt and hydrate by what the label says.

use crate::bench::OWN_SALT;
use crate::guide::talk::{Question, Stop, Talk, is_nothing};
use crate::quantities::name::check_new;
use crate::quantities::spelling::bare_number;
use crate::quantities::{Dimension, Within, show};
use crate::stock::{Catalogue, LookupError, Salt};
use crate::text::names;

/// A bag of salt, and the name of the bottle that its stock goes into.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Bag {
    /// Name on the bottle.
    pub(super) name: String,
    /// The salt as a file says it: its formula, with the word where no water is in it.
    pub(super) salt: String,
    /// Its full name.
    pub(super) full_name: String,
    /// Purity as the label states it; empty where it states none.
    pub(super) purity: String,
}

/// Our choice: more bags than this are entered in files.
const MOST_BAGS: usize = 24;

/// The bags, at least one.
pub(super) fn bags(talk: &mut Talk<'_>, salts: &Catalogue) -> Result<Vec<Bag>, Stop> {
    let mut bags: Vec<Bag> = Vec::new();
    for n in 1..=MOST_BAGS {
        let Some(bag) = bag(talk, salts, &format!("bag {n}"), n == 1, &taken(&bags))? else {
            break;
        };
        bags.push(bag);
    }
    Ok(bags)
}

fn taken(bags: &[Bag]) -> Vec<String> {
    bags.iter().map(|bag| bag.name.clone()).collect()
}

/// One bag; nothing for an empty answer where one may be given.
pub(super) fn bag(
    talk: &mut Talk<'_>,
    salts: &Catalogue,
    key: &str,
    needed: bool,
    taken: &[String],
) -> Result<Option<Bag>, Stop> {
    let text = if needed {
        "Which salt is in the bag? Write what its label says, a name or a formula."
    } else {
        "Which salt is in the next bag?"
    };
    let words = salts.iter().flat_map(|s| [s.name.clone(), s.formula.to_string()]).collect();
    let mut question = Question::new(
        key,
        text,
        format!(
            "Known salts: {}. Another one is one file of the bench: {OWN_SALT}.",
            salts
                .iter()
                .map(|s| format!("{} ({})", s.name, s.formula))
                .collect::<Vec<_>>()
                .join(", ")
        ),
    )
    .words(words);
    if !needed {
        question = question.or_none("no more bags");
    }
    let hydrates = talk.ask(&question, |text| {
        if text.is_empty() {
            return Ok(None);
        }
        of_label(salts, text).map(Some)
    })?;
    let Some((hydrates, is_sure)) = hydrates else { return Ok(None) };
    let salt = match hydrates.as_slice() {
        [one] if is_sure => one.clone(),
        several => which_hydrate(talk, key, several)?,
    };
    if let Some(looks) = &salt.looks {
        talk.say(&format!("{}, {}: {looks}.", salt.name, salt.formula));
    }
    let purity = talk.ask(
        &Question::new(
            format!("{key} purity"),
            "What purity does its label state?",
            "As a certificate gives it: `99 %`, `99 ± 0.5 %`, `98 to 100 %`, `at least 99 %`.",
        )
        .or_none("none is stated"),
        |text| {
            if text.is_empty() {
                return Ok(String::new());
            }
            // A bare 99 can only be percent; a bare 1 may be all of it, or next to nothing.
            let text = match bare_number(text) {
                Ok(number) if number > 1.0 => format!("{text} %"),
                Ok(_) => {
                    return Err(format!(
                        "`{text}` may be a part of one or per cent: write `{text} %`, or all of it as `100 %`"
                    ));
                }
                _ => text.to_owned(),
            };
            Within::parse_as(&text, &[Dimension::Percent, Dimension::MassFraction])
                .map_err(|error| format!("{error}; write it as in `99 %` or `990 g/kg`"))
                .and_then(|within| {
                    let low = within.value - within.half_width.unwrap_or(0.0);
                    if within.value > 1.0 || low <= 0.0 {
                        return Err("a purity lies between 0 and 100 %".to_owned());
                    }
                    match misread_purity(&salt, &text, within.value) {
                        Some(why) => Err(why),
                        None => Ok(text),
                    }
                })
        },
    )?;
    let usual = short_name(&salt, taken);
    let name = talk.ask(
        &Question::new(
            format!("{key} name"),
            "What stands on the bottle of its stock?",
            "A short name, as `epsom`: it heads the column of its doses, and commands call \
             the stock by it.",
        )
        .or(usual),
        |text| new_name(text, taken),
    )?;
    Ok(Some(Bag { name, salt: as_written(salts, &salt), full_name: salt.name.clone(), purity }))
}

/// Why a purity is hardly that of this salt: labels of hydrates often state how much dry salt is in them.
fn misread_purity(salt: &Salt, stated: &str, purity: f64) -> Option<String> {
    /// Our choice: no salt for food is less pure.
    const LEAST: f64 = 0.8;
    /// Our choice: so near to the dry part of a hydrate a label states that part.
    const NEAR: f64 = 0.03;
    let dry = salt.anhydrous_fraction().value();
    let holds_water = dry < 1.0 - NEAR;
    if holds_water && (purity - dry).abs() <= NEAR {
        return Some(format!(
            "pure {} is {} % dry salt, so `{stated}` is the dry salt in a pure one: leave the purity \
             out, or write that of {}",
            salt.name,
            show::three_figures(100.0 * dry),
            salt.formula
        ));
    }
    (purity < LEAST).then(|| {
        format!(
            "`{stated}` is low for a salt for food. Where the label states the dry salt in a hydrate, \
             the bag holds that hydrate, nearly pure: go `back` and choose it. A salt that is really so \
             impure is stated in the file of its stock"
        )
    })
}

/// A name that is not taken and can be the name of a file.
pub(super) fn new_name(text: &str, taken: &[String]) -> Result<String, String> {
    let plain = text.chars().all(|c| c.is_alphanumeric() || matches!(c, '-' | '_' | ' '));
    if !plain || text.is_empty() {
        return Err("a name here has letters, digits, blanks, - and _".to_owned());
    }
    check_new(text).map_err(|fault| format!("`{text}` is no name for it: {fault}"))?;
    if is_nothing(text) {
        return Err(format!("`{text}` is no name; one is needed here"));
    }
    if taken.iter().any(|name| names::alike(name, text)) {
        return Err(format!("`{text}` is there already; names have to differ"));
    }
    Ok(text.to_owned())
}

/// The salts that a label may mean, and whether it names them.
fn of_label(salts: &Catalogue, text: &str) -> Result<(Vec<Salt>, bool), String> {
    match salts.find(text) {
        Ok(salt) => Ok((vec![salt.clone()], true)),
        Err(LookupError::WhichHydrate { .. } | LookupError::OtherHydrate { .. }) => {
            let all = salts.all_of(text).map_err(|error| error.to_string())?;
            Ok((all.into_iter().cloned().collect(), true))
        }
        Err(error @ LookupError::Unknown { .. }) => {
            let alike: Vec<Salt> = salts.candidates(text).into_iter().cloned().collect();
            match (alike.is_empty(), &error) {
                (false, _) => Ok((alike, false)),
                (true, LookupError::Unknown { near: Some(near), .. }) => {
                    Err(format!("{error}; did you mean {near}? `?` lists the salts"))
                }
                _ => Err(format!("{error}; `?` lists the salts")),
            }
        }
    }
}

fn which_hydrate(talk: &mut Talk<'_>, key: &str, hydrates: &[Salt]) -> Result<Salt, Stop> {
    let choices: Vec<String> = hydrates
        .iter()
        .map(|s| {
            let looks = s.looks.as_ref().map(|l| format!("; {l}")).unwrap_or_default();
            format!("{}, {}{looks}", s.name, s.formula)
        })
        .chain(["none of these".to_owned()])
        .collect();
    let question = Question::new(
        format!("{key} salt"),
        "Which one is it? Only the label is sure; a gram of one is not a gram of another.",
        "Look for the word hydrate or anhydrous, or for the water in the formula, as in ·2H2O.",
    )
    .of(choices);
    let many = hydrates.len();
    let chosen = talk.choose(&question)?.unwrap_or(many);
    match hydrates.get(chosen) {
        Some(salt) => Ok(salt.clone()),
        None => Err(Stop::Back),
    }
}

/// A name short enough for the head of a column.
fn short_name(salt: &Salt, taken: &[String]) -> String {
    let usual = salt.also.first().unwrap_or(&salt.compound).to_lowercase();
    if taken.contains(&usual) { salt.name.to_lowercase().replace(',', "") } else { usual }
}

/// The formula as a file has to say it.
fn as_written(salts: &Catalogue, salt: &Salt) -> String {
    let formula = salt.formula.to_string();
    match salts.find(&formula) {
        Ok(found) if found.name == salt.name => formula,
        _ => format!("{formula}, anhydrous"),
    }
}
