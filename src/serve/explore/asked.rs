//! What is wanted on the page, read from its fields: goals by the keys of a flight's file.

use thiserror::Error;

use crate::flight::ladder::WrittenTarget;
use crate::flight::{Goal, GoalError, Subject, Target};
use crate::quantities::spelling::bare_number;
use crate::quantities::{QuantityError, show};
use crate::water::{Measure, MeasureError};

/// The field of magnesium's share in hardness.
pub(super) const SHARE: &str = "share";

/// The unit of that share: charge by charge.
const SHARE_UNIT: &str = "meq/meq";

/// Most waters beside the one that is moved. Our choice: what a page shows side by side.
pub(super) const MOST_PINNED: usize = 3;

/// Name of the water that is moved.
pub(super) const MOVED: &str = "this water";

/// What the fields ask for.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Asked {
    /// Goals as they are typed, by the keys of measures and [`SHARE`], empty ones left out.
    pub(super) goals: Vec<(&'static str, String)>,
    /// A tolerance for goals that state none, per cent.
    pub(super) tolerance: Option<String>,
    /// Pinned waters, as goals behind each other.
    pub(super) pinned: Vec<String>,
}

/// Why what is asked for cannot be.
#[derive(Debug, Clone, PartialEq, Error)]
#[error("{of}: {reason}")]
pub struct AskedError {
    /// Which goal.
    pub of: String,
    /// Why.
    pub reason: String,
}

impl Asked {
    /// Reads the fields of the page.
    #[must_use]
    pub fn read(fields: &[(String, String)]) -> Self {
        let mut asked = Self::default();
        let mut pins = false;
        for (name, value) in fields {
            let value = value.trim();
            match name.as_str() {
                _ if value.is_empty() => {}
                "tolerance" => asked.tolerance = Some(value.to_owned()),
                "pinned" if asked.pinned.len() < MOST_PINNED => asked.pinned.push(value.to_owned()),
                "pin" => pins = true,
                name => {
                    let key = keys().find(|key| *key == name);
                    asked.goals.extend(key.map(|key| (key, value.to_owned())));
                }
            }
        }
        if pins && asked.pinned.len() < MOST_PINNED {
            let now = asked.in_one_line();
            if !now.is_empty() && !asked.pinned.contains(&now) {
                asked.pinned.push(now);
            }
        }
        asked
    }

    /// The goals behind each other, as they are pinned.
    fn in_one_line(&self) -> String {
        let one = |(key, text): &(&str, String)| format!("{key}: {}", self.whole(key, text));
        self.goals.iter().map(one).collect::<Vec<_>>().join("; ")
    }

    /// A goal with the unit that a share need not name, and the tolerance of the page where it states
    /// none itself and can have one.
    fn whole(&self, key: &str, text: &str) -> String {
        let share = of_one(text);
        let with_unit = format!("{share} {SHARE_UNIT}");
        let text = if key == SHARE && !text.contains('/') { with_unit.as_str() } else { text };
        let own = ["±", "+/-", "+-", "at most", "at least", "between", "within", ","];
        match &self.tolerance {
            Some(tolerance) if !own.iter().any(|word| text.contains(word)) => {
                format!("{text} ± {} %", tolerance.trim_end_matches(['%', ' ']))
            }
            _ => text.to_owned(),
        }
    }

    /// The water that is moved, as it would be written; its name is `name`.
    ///
    /// # Errors
    /// The first goal that cannot be read, or that there is none.
    pub fn target(&self, name: &str) -> Result<WrittenTarget, AskedError> {
        let goals = self.goals.iter().map(|(key, text)| (*key, self.whole(key, text)));
        written(name, goals.collect())
    }

    /// The pinned waters.
    ///
    /// # Errors
    /// The first goal that cannot be read.
    pub(super) fn pinned_targets(&self) -> Result<Vec<WrittenTarget>, AskedError> {
        let letters = ["A", "B", "C"];
        let target = |(letter, line): (&str, &String)| {
            let goals = line.split("; ").filter_map(|goal| {
                let (key, text) = goal.split_once(": ")?;
                Some((keys().find(|known| *known == key)?, text.to_owned()))
            });
            written(letter, goals.collect())
        };
        letters.into_iter().zip(&self.pinned).map(target).collect()
    }
}

/// Every key that a field may have.
fn keys() -> impl Iterator<Item = &'static str> {
    Measure::ALL.into_iter().map(Measure::key).chain([SHARE])
}

/// A share in per cent as a part of one: `at most 50 %` as `at most 0.5`. Behind a `±` it is a tolerance.
fn of_one(text: &str) -> String {
    let Some(shares) = text.trim().strip_suffix('%') else { return text.to_owned() };
    if shares.contains(['±', ',']) || shares.contains("+-") || shares.contains("+/-") {
        return text.to_owned();
    }
    let word = |word: &str| match bare_number(word.trim_end_matches('%')) {
        Ok(percent) => show::plain(percent / 100.0),
        Err(_) => word.to_owned(),
    };
    let words = shares.split_whitespace().filter(|text| *text != "%");
    words.map(word).collect::<Vec<_>>().join(" ")
}

/// What to do about a goal whose unit is missing or fits nothing.
fn way_out(error: &GoalError, measure: Option<Measure>) -> String {
    match (error, measure) {
        (
            GoalError::Amount(
                MeasureError::Quantity(
                    QuantityError::NoUnit { .. } | QuantityError::UnknownUnit { .. },
                )
                | MeasureError::UnitDoesNotFit { .. },
            ),
            Some(measure),
        ) => format!("; write one of the units {} behind it", measure.choices().join(", ")),
        (_, None) => "; write it as in 0.4 or 40 %".to_owned(),
        _ => String::new(),
    }
}

fn written(name: &str, goals: Vec<(&'static str, String)>) -> Result<WrittenTarget, AskedError> {
    let bad = |of: &str, error: GoalError| AskedError {
        of: of.replace('_', " "),
        reason: format!("{error}{}", way_out(&error, Measure::from_key(of))),
    };
    let mut target = Target { name: name.to_owned(), goals: Vec::new() };
    let (mut kept, mut ratios) = (Vec::new(), Vec::new());
    for (key, text) in goals {
        if let Some(measure) = Measure::from_key(key) {
            target.goals.push(Goal::parse(measure, &text).map_err(|error| bad(key, error))?);
            kept.push((key, text));
        } else {
            let (of, to) = (Measure::MagnesiumHardness, Measure::Hardness);
            let goal = Goal::parse_ratio(of, to, &text)
                .map_err(|error| bad("share of magnesium", error))?;
            target.goals.push(goal);
            ratios.push((of.key(), to.key(), text));
        }
    }
    if target.goals.is_empty() {
        let reason = "give at least one goal".to_owned();
        return Err(AskedError { of: "nothing is wanted".to_owned(), reason });
    }
    Ok(WrittenTarget { target, goals: kept, ratios, composition: Vec::new() })
}

/// The fields that ask for the goals of a target.
pub(super) fn fields_of(target: &Target) -> Vec<(&'static str, String)> {
    let field = |goal: &Goal| match goal.subject {
        Subject::Measure(measure) => Some((measure.key(), goal.exact_words())),
        Subject::Ratio { of: Measure::MagnesiumHardness, to: Measure::Hardness, .. } => {
            Some((SHARE, goal.exact_words()))
        }
        Subject::Ratio { .. } => None,
    };
    target.goals.iter().filter_map(field).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_share_may_be_typed_in_per_cent() {
        for (typed, share) in [
            ("50 %", "0.5"),
            ("at most 40%", "at most 0.4"),
            ("between 30 and 50 %", "between 0.3 and 0.5"),
            ("0.4 ± 5 %", "0.4 ± 5 %"),
            ("0,4", "0,4"),
        ] {
            assert_eq!(of_one(typed), share, "{typed}");
        }
    }
}
