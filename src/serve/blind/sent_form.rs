//! The form of a cup or a tray as it was sent, read into an answer; and what stands in the log, as the
//! fields of that form.

use std::collections::BTreeMap;

use thiserror::Error;

use crate::serve::blind::places::{Kind, Place};
use crate::serve::blind::scale::Keys;
use crate::session::plan::{Attribute, Code, Method, Plan};
use crate::session::score::{Answer, Sent, Standing, TurnedCup};

/// Longest note, characters. Our choice: a page of a notebook.
pub const LONGEST_NOTE: usize = 500;

/// A form that is no answer yet.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum FormError {
    /// An attribute without a score.
    #[error("{attribute} has no score yet")]
    NoScore {
        /// The attribute.
        attribute: String,
    },
    /// Something that is no number.
    #[error("`{found}` is no score for {attribute}")]
    NotAScore {
        /// What was sent.
        found: String,
        /// The attribute.
        attribute: String,
    },
    /// A cup without a place in a ranking.
    #[error("cup {code} has no place yet")]
    NoPlace {
        /// The cup.
        code: Code,
    },
    /// Two cups at one place.
    #[error("two cups have place {place}: there are no ties")]
    Tie {
        /// The place.
        place: usize,
    },
    /// Too few or too many cups chosen.
    #[error("choose {wanted}, not {found}")]
    Chosen {
        /// Cups to be chosen.
        wanted: usize,
        /// Cups chosen.
        found: usize,
    },
    /// A sticker that is no code.
    #[error("under cup {code}: `{found}` is no code of three different digits")]
    NoSticker {
        /// The cup.
        code: Code,
        /// What was sent.
        found: String,
    },
    /// A note that is too long.
    #[error("the note is longer than {LONGEST_NOTE} characters")]
    LongNote,
}

/// Fields by their names, as they were sent.
#[derive(Debug, Clone, Copy)]
pub struct Form<'a>(pub &'a [(String, String)]);

impl<'a> Form<'a> {
    /// The last of that name that is not empty.
    #[must_use]
    pub fn get(self, name: &str) -> Option<&'a str> {
        self.all(name).last()
    }

    fn all(self, name: &str) -> impl Iterator<Item = &'a str> {
        let named = self.0.iter().filter(move |(key, _)| key == name);
        named.map(|(_, value)| value.trim()).filter(|value| !value.is_empty())
    }

    fn note(self) -> Result<Option<String>, FormError> {
        let Some(text) = self.get("note") else { return Ok(None) };
        let line = text.split_whitespace().collect::<Vec<_>>().join(" ");
        if line.chars().count() > LONGEST_NOTE {
            return Err(FormError::LongNote);
        }
        Ok(Some(line).filter(|line| !line.is_empty()))
    }
}

/// Reads the form of a place.
///
/// # Errors
/// The first thing that is missing or cannot be read.
pub fn understood(plan: &Plan, place: &Place, form: Form<'_>) -> Result<Sent, FormError> {
    let cups = plan.trays.get(place.tray).map_or(&[][..], |tray| tray.cups.as_slice());
    let taster = plan.trays.get(place.tray).map_or_else(String::new, |tray| tray.taster.clone());
    let tray = place.number;
    if place.kind == Kind::Turning {
        return Ok(Sent::Turned { taster, tray, cups: stickers(cups, form)? });
    }
    let note = form.note()?;
    Ok(Sent::Answer(match (&plan.method, place.kind) {
        (Method::Scoring { attributes }, Kind::Cup(code)) => {
            Answer::Scores { taster, code, values: scores(attributes, form)?, note }
        }
        (Method::Ranking { .. }, _) => {
            Answer::Ranking { taster, tray, order: ranking(cups, form)?, note }
        }
        (method, _) => {
            let wanted = if *method == Method::Tetrad { 2 } else { 1 };
            Answer::Choice { taster, tray, chosen: chosen(cups, wanted, form)?, note }
        }
    }))
}

fn scores(attributes: &[Attribute], form: Form<'_>) -> Result<BTreeMap<String, f64>, FormError> {
    let score = |(n, attribute): (usize, &Attribute)| {
        let name = attribute.name.clone();
        let Some(text) = form.get(&format!("v{n}")) else {
            return Err(FormError::NoScore { attribute: name });
        };
        let bad = || FormError::NotAScore { found: text.to_owned(), attribute: name.clone() };
        let number = text.replace(',', ".").parse::<f64>().map_err(|_| bad())?;
        if !number.is_finite() {
            return Err(bad());
        }
        let half = if form.get(&format!("h{n}")).is_some() { 0.5 } else { 0.0 };
        Ok((name, number + half))
    };
    attributes.iter().enumerate().map(score).collect()
}

fn ranking(cups: &[Code], form: Form<'_>) -> Result<Vec<Code>, FormError> {
    let mut places: Vec<Option<Code>> = vec![None; cups.len()];
    for (n, &code) in cups.iter().enumerate() {
        let text = form.get(&format!("p{n}"));
        let place = text.and_then(|text| text.parse::<usize>().ok());
        let slot = place.and_then(|place| places.get_mut(place.checked_sub(1)?));
        match (slot, place) {
            (Some(Some(_)), Some(place)) => return Err(FormError::Tie { place }),
            (Some(slot), _) => *slot = Some(code),
            (None, _) => return Err(FormError::NoPlace { code }),
        }
    }
    Ok(places.into_iter().flatten().collect())
}

fn chosen(cups: &[Code], wanted: usize, form: Form<'_>) -> Result<Vec<Code>, FormError> {
    let mut at: Vec<usize> = form.all("c").filter_map(|text| text.parse().ok()).collect();
    at.sort_unstable();
    at.dedup();
    let chosen: Vec<Code> = at.into_iter().filter_map(|n| cups.get(n).copied()).collect();
    if chosen.len() != wanted {
        return Err(FormError::Chosen { wanted, found: chosen.len() });
    }
    Ok(chosen)
}

fn stickers(cups: &[Code], form: Form<'_>) -> Result<Vec<TurnedCup>, FormError> {
    let sticker = |(n, &top): (usize, &Code)| {
        let text = form.get(&format!("u{n}")).unwrap_or_default();
        let under =
            text.parse().map_err(|_| FormError::NoSticker { code: top, found: text.to_owned() })?;
        Ok(TurnedCup { top, under })
    };
    cups.iter().enumerate().map(sticker).collect()
}

/// The fields of the form of a place that say what stands.
#[must_use]
pub fn fields(plan: &Plan, place: &Place, standing: &Standing) -> Vec<(String, String)> {
    let cups = plan.trays.get(place.tray).map_or(&[][..], |tray| tray.cups.as_slice());
    let at = |code: &Code| cups.iter().position(|cup| cup == code);
    let mut fields = Vec::new();
    let note = match standing {
        Standing::Nothing => None,
        Standing::Scores { values, note } => {
            for (n, attribute) in plan.method.attributes().iter().enumerate() {
                let Some(&value) = values.get(&attribute.name) else { continue };
                let (key, half) = Keys::of(attribute).fields_of(value);
                fields.push((format!("v{n}"), key));
                if half {
                    fields.push((format!("h{n}"), "0.5".to_owned()));
                }
            }
            note.clone()
        }
        Standing::Codes { codes, note } => {
            for (rank, code) in codes.iter().enumerate() {
                let Some(cup) = at(code) else { continue };
                fields.push(match plan.method {
                    Method::Ranking { .. } => (format!("p{cup}"), (rank + 1).to_string()),
                    _ => ("c".to_owned(), cup.to_string()),
                });
            }
            note.clone()
        }
        Standing::Turned(turned) => {
            for cup in turned {
                if let Some(n) = at(&cup.top) {
                    fields.push((format!("u{n}"), cup.under.to_string()));
                }
            }
            None
        }
    };
    fields.extend(note.map(|note| ("note".to_owned(), note)));
    fields
}
