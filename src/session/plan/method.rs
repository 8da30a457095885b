//! The ways of tasting: what is asked of a taster, and the words and scales to answer with.

use serde::{Deserialize, Serialize};
use thiserror::Error;

/// What the tasting is to find out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Question {
    /// Which water is best?
    WhichIsBest,
    /// Can we tell them apart?
    CanWeTell,
    /// How do they differ?
    HowDoTheyDiffer,
}

/// A method by its name, without its details.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MethodKind {
    /// Every cup on several attributes.
    Scoring,
    /// All cups in order.
    Ranking,
    /// Which of three is odd?
    Triangle,
    /// Which of two is like the reference?
    DuoTrio,
    /// Which of two has more?
    Paired,
    /// Which of four belong together?
    Tetrad,
}

impl Question {
    /// The method that answers the question with the fewest cups for a small untrained panel.
    ///
    /// The tetrad needs about a third of the triangle's assessors at the same difference (Ennis
    /// J. M., Jesionka V., J. Sens. Stud. 26 (2011) 371–382); three waters and more are ranked.
    #[must_use]
    pub fn suggested(self, waters: usize) -> MethodKind {
        match self {
            Question::WhichIsBest if waters > 2 => MethodKind::Ranking,
            Question::WhichIsBest => MethodKind::Paired,
            Question::CanWeTell => MethodKind::Tetrad,
            Question::HowDoTheyDiffer => MethodKind::Scoring,
        }
    }

    /// The question in words.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Question::WhichIsBest => "which is best",
            Question::CanWeTell => "can we tell them apart",
            Question::HowDoTheyDiffer => "how do they differ",
        }
    }
}

/// One thing to score, with its scale.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Attribute {
    /// The word on the score sheet.
    pub name: String,
    /// Lowest score.
    pub low: f64,
    /// Highest score.
    pub high: f64,
    /// Scores are multiples of this, counted from the lowest.
    pub step: f64,
    /// What the lowest score means.
    pub low_word: String,
    /// What the highest score means.
    pub high_word: String,
}

/// Least size of a step of a scale, and of an end that is not zero. Our choice, as are the next two: the
/// trade scores in whole or half points.
const LEAST_SIZE: f64 = 0.001;
/// Greatest size of either.
const MOST_SIZE: f64 = 1e6;
/// Most steps of a scale.
const MOST_STEPS: f64 = 10_000.0;

/// Whether a number is of a size that scores have.
pub(crate) fn is_score_sized(number: f64) -> bool {
    (LEAST_SIZE..=MOST_SIZE).contains(&number.abs())
}

/// Why numbers are no scale.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
pub enum ScaleFault {
    /// A number that no score sheet has.
    #[error("its step is to be from {LEAST_SIZE} to {MOST_SIZE}, and each end 0 or of such a size")]
    Size,
    /// The ends stand the wrong way round, or are one.
    #[error("it must rise from its first end to its second")]
    Falls,
    /// A step that goes down.
    #[error("its step must be above zero")]
    StepBelowZero,
    /// More steps than anybody can tell apart.
    #[error("it has more than {MOST_STEPS} steps; take a larger step")]
    TooManySteps,
    /// The second end is not on a step.
    #[error("it must rise in whole steps")]
    NotWhole,
}

/// Whether a value stands on a scale.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum OnScale {
    /// It does.
    Yes,
    /// It lies outside the ends, or is no number.
    Outside,
    /// It lies between two steps.
    BetweenSteps,
}

impl Attribute {
    /// Whether the scale can be used.
    #[must_use]
    pub fn is_sound(&self) -> bool {
        self.fault().is_none() && !self.name.trim().is_empty()
    }

    /// Why its numbers are no scale, if they are none.
    #[must_use]
    pub fn fault(&self) -> Option<ScaleFault> {
        let steps = (self.high - self.low) / self.step;
        if ![self.low, self.high].into_iter().all(|end| end == 0.0 || is_score_sized(end))
            || !is_score_sized(self.step)
        {
            Some(ScaleFault::Size)
        } else if self.high <= self.low {
            Some(ScaleFault::Falls)
        } else if self.step < 0.0 {
            Some(ScaleFault::StepBelowZero)
        } else if steps > MOST_STEPS {
            Some(ScaleFault::TooManySteps)
        } else if steps.round() < 1.0 || !on_step(steps) {
            Some(ScaleFault::NotWhole)
        } else {
            None
        }
    }

    /// Where a value stands.
    #[must_use]
    pub fn place(&self, value: f64) -> OnScale {
        if !value.is_finite() || value < self.low || value > self.high {
            OnScale::Outside
        } else if on_step((value - self.low) / self.step) {
            OnScale::Yes
        } else {
            OnScale::BetweenSteps
        }
    }
}

/// Whether a number of steps is whole, up to the rounding of decimal steps such as 0.1.
fn on_step(steps: f64) -> bool {
    /// Our choice: a thousandth of a step is never a step of its own.
    const SLACK: f64 = 1e-3;
    (steps - steps.round()).abs() < SLACK
}

/// Words to start with: what tasters of brewed drinks say that water changes, from 0 to 10, and
/// liking on the nine points of Peryam D. R., Pilgrim F. J., Food Technol. 11 (1957) 9–14.
///
/// The words are common practice of the trade; every session can have its own.
#[must_use]
pub fn starter_attributes() -> Vec<Attribute> {
    let intensity = |name: &str, low_word: &str, high_word: &str| Attribute {
        name: name.to_owned(),
        low: 0.0,
        high: 10.0,
        step: 0.5,
        low_word: low_word.to_owned(),
        high_word: high_word.to_owned(),
    };
    vec![
        intensity("acidity", "flat", "piercing"),
        intensity("sweetness", "none", "very sweet"),
        intensity("bitterness", "none", "very bitter"),
        intensity("body", "thin", "heavy"),
        intensity("clarity", "muddled", "every note apart"),
        intensity("aftertaste", "gone at once", "very long"),
        Attribute {
            name: "liking".to_owned(),
            low: 1.0,
            high: 9.0,
            step: 1.0,
            low_word: "dislike extremely".to_owned(),
            high_word: "like extremely".to_owned(),
        },
    ]
}

/// Which reference a duo-trio test holds up.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum DuoTrioReference {
    /// Always the first water of the pair: for tasters who know it.
    Constant,
    /// Each water of the pair equally often.
    Balanced,
}

/// Whether the direction of a paired test was fixed before tasting.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Sides {
    /// The first water of the pair was expected to have more: one-sided.
    One,
    /// Either may have more: two-sided.
    Two,
}

/// What is asked of a taster.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Method {
    /// Each cup is scored on every attribute.
    Scoring {
        /// The attributes, in the order of the score sheet.
        attributes: Vec<Attribute>,
    },
    /// The cups of a tray are put in order, most first, no ties (ISO 8587, from memory).
    Ranking {
        /// Most of what.
        criterion: String,
    },
    /// Three cups, two alike: which is the odd one (ISO 4120, from memory).
    Triangle,
    /// A reference and two cups: which is like the reference (ISO 10399, from memory).
    DuoTrio {
        /// Which water is the reference.
        reference: DuoTrioReference,
    },
    /// Two cups: which has more (ISO 5495, from memory).
    Paired {
        /// More of what.
        criterion: String,
        /// One-sided or two-sided.
        sides: Sides,
    },
    /// Four cups, two and two alike: which two belong together (ASTM E3009, from memory).
    Tetrad,
}

impl Method {
    /// Its name.
    #[must_use]
    pub fn name(&self) -> &'static str {
        match self {
            Method::Scoring { .. } => "scoring",
            Method::Ranking { .. } => "ranking",
            Method::Triangle => "triangle",
            Method::DuoTrio { .. } => "duo-trio",
            Method::Paired { .. } => "paired comparison",
            Method::Tetrad => "tetrad",
        }
    }

    /// Whether each tray compares two waters and has one answer.
    #[must_use]
    pub fn compares_two(&self) -> bool {
        !matches!(self, Method::Scoring { .. } | Method::Ranking { .. })
    }

    /// Whether cups of a tray, the reference among them, hold the same water and the taster is asked
    /// which: a code that is known from another tray could give the answer away.
    #[must_use]
    pub fn hides_two_alike(&self) -> bool {
        matches!(self, Method::Triangle | Method::DuoTrio { .. } | Method::Tetrad)
    }

    /// Cups on a tray whose answer is a choice; `None` where all waters stand on the tray.
    #[must_use]
    pub fn cups_of_choice(&self) -> Option<usize> {
        match self {
            Method::Scoring { .. } | Method::Ranking { .. } => None,
            Method::Triangle => Some(3),
            Method::DuoTrio { .. } | Method::Paired { .. } => Some(2),
            Method::Tetrad => Some(4),
        }
    }

    /// The attributes scored; none for the other methods.
    #[must_use]
    pub fn attributes(&self) -> &[Attribute] {
        match self {
            Method::Scoring { attributes } => attributes,
            _ => &[],
        }
    }

    /// What the taster is asked, as it stands on the score sheet.
    #[must_use]
    pub fn instruction(&self) -> String {
        match self {
            Method::Scoring { .. } => "Score each cup on every attribute.".to_owned(),
            Method::Ranking { criterion } => {
                format!("Put the cups in order of {criterion}, most first. No ties.")
            }
            Method::Triangle => "Two cups are the same. Which is the odd one?".to_owned(),
            Method::DuoTrio { .. } => "One cup is the same as the reference. Which one?".to_owned(),
            Method::Paired { criterion, .. } => format!("Which cup has more {criterion}?"),
            Method::Tetrad => {
                "The cups are two pairs of the same water. Which two belong together?".to_owned()
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_value_is_off_the_scale_between_two_steps_or_on_it() {
        for attribute in starter_attributes() {
            assert!(attribute.is_sound(), "{}", attribute.name);
            assert_eq!(attribute.place(attribute.high), OnScale::Yes);
            assert_eq!(
                attribute.place(attribute.low + attribute.step / 3.0),
                OnScale::BetweenSteps
            );
            for outside in [attribute.low - 1.0, attribute.high + 1.0, f64::NAN, f64::INFINITY] {
                assert_eq!(attribute.place(outside), OnScale::Outside);
            }
        }
    }

    #[test]
    fn decimal_steps_are_whole_steps() {
        let tenth = Attribute {
            name: "salt".into(),
            low: 0.0,
            high: 1.0,
            step: 0.1,
            low_word: String::new(),
            high_word: String::new(),
        };
        assert!(tenth.is_sound());
        assert!((0..=10).all(|n| tenth.place(f64::from(n) * 0.1) == OnScale::Yes));
    }

    #[test]
    fn a_scale_that_cannot_be_used_says_why() {
        let scale = |low, high, step| Attribute {
            name: "x".into(),
            low,
            high,
            step,
            low_word: String::new(),
            high_word: String::new(),
        };
        for (low, high, step, why) in [
            (0.0, 0.0, 1.0, ScaleFault::Falls),
            (5.0, 1.0, 1.0, ScaleFault::Falls),
            (0.0, 10.0, 0.0, ScaleFault::Size),
            (0.0, 10.0, -1.0, ScaleFault::StepBelowZero),
            (0.0, 10.0, 3.0, ScaleFault::NotWhole),
            (0.0, 1.0, 100_000.0, ScaleFault::NotWhole),
            (0.0, f64::NAN, 1.0, ScaleFault::Size),
            (0.0, 5e-324, 1.0, ScaleFault::Size),
            (0.0, 1e-300, 0.5, ScaleFault::Size),
            (1e-300, 1.0, 1.0, ScaleFault::Size),
            (0.0, 1.0, 1e-4, ScaleFault::Size),
            (0.0, 1e7, 1e6, ScaleFault::Size),
            (0.0, 1e6, 1.0, ScaleFault::TooManySteps),
        ] {
            assert_eq!(scale(low, high, step).fault(), Some(why), "{low} to {high} by {step}");
            assert!(!scale(low, high, step).is_sound());
        }
        assert_eq!(scale(-5.0, 5.0, 0.001).fault(), None);
        assert_eq!(scale(0.0, 1e6, 1e6).fault(), None);
    }
}
