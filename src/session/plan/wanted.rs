//! What is wanted of the waters: which attribute or criterion, and which way.
//!
//! An intensity tells how much of something there is, and nothing of whether it is good (hedonic and
//! descriptive attributes: Lawless & Heymann 2010, chapter 1; from memory). What is best is therefore
//! said by the session, or by an attribute whose very name says that more of it is better.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};
use thiserror::Error;

use crate::session::plan::method::is_score_sized;
use crate::session::plan::{Attribute, Method, Question};

/// Which way something is wanted.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Direction {
    /// The more the better.
    More,
    /// The less the better.
    Less,
    /// The nearer to this score the better.
    Near(f64),
}

/// What is wanted of the waters of a session.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Aim {
    /// The attribute, or the criterion of a ranking or a paired test.
    pub of: String,
    /// Which way.
    pub direction: Direction,
}

/// Why something cannot be wanted so.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum AimError {
    /// It is no direction.
    #[error("`{found}` does not say which way something is wanted")]
    Unreadable {
        /// The text.
        found: String,
    },
    /// Nothing of that name is judged.
    #[error("nothing called `{of}` is judged in this session, so it cannot be wanted")]
    NotJudged {
        /// The name.
        of: String,
        /// What is judged.
        judged: Vec<String>,
    },
    /// Several attributes are judged, and none is named.
    #[error("several attributes are judged: say which of them is wanted")]
    NotNamed {
        /// What is judged.
        judged: Vec<String>,
    },
    /// A test of two waters has nothing that there is more or less of.
    #[error("a {method} asks which cups are alike, so that more or less of it cannot be wanted")]
    NothingToWant {
        /// The method.
        method: &'static str,
    },
    /// A value off the scale.
    #[error("the score {wanted} lies outside the scale of `{of}`, {low} to {high}")]
    OffScale {
        /// The attribute.
        of: String,
        /// The value.
        wanted: f64,
        /// Lowest score.
        low: f64,
        /// Highest score.
        high: f64,
    },
    /// Which is best is asked of nothing that says what is good.
    #[error("which is best is asked, and nothing that is judged says what is good")]
    BestOfWhat {
        /// What is judged.
        judged: Vec<String>,
    },
    /// A rank is not near a value.
    #[error("cups put in order have no score to be near to; `{of}` can be wanted more or less")]
    NoScores {
        /// The criterion.
        of: String,
    },
}

impl AimError {
    /// What was expected.
    #[must_use]
    pub fn expected(&self) -> String {
        match self {
            Self::NotJudged { judged, .. } if !judged.is_empty() => judged.join(", "),
            Self::NotNamed { judged } => {
                format!(
                    "NAME: more, NAME: less or NAME: near=VALUE, with one of {}",
                    judged.join(", ")
                )
            }
            Self::BestOfWhat { judged } => format!(
                "a liking, or what is wanted, as in --wanted \"{}: less\"",
                judged.first().map_or("liking", String::as_str)
            ),
            Self::OffScale { low, high, .. } => format!("a score from {low} to {high}"),
            Self::NoScores { .. } => "more or less".to_owned(),
            _ => "\"liking: more\", \"bitterness: less\" or \"body: near=6\"".to_owned(),
        }
    }
}

/// Words any of which makes a name that of a liking: our choice of what panels call it.
const HEDONIC: [&str; 9] = [
    "liking",
    "preference",
    "overall",
    "hedonic",
    "acceptance",
    "acceptability",
    "pleasantness",
    "enjoyment",
    "quality",
];

/// Words that may stand beside those, and make it no attribute of its own ("overall score", "liking of
/// the water"): our choice. Any other word does, as in "overall bitterness".
const BESIDE: [&str; 11] =
    ["of", "the", "a", "water", "cup", "brew", "general", "impression", "score", "rating", "total"];

/// Words by which the high end of a scale is the bad one: our choice.
const BAD_ENDS: [&str; 5] = ["dislike", "worst", "bad", "poor", "unpleasant"];

/// Whether a name says that more of it is better, whatever else is judged.
///
/// ```
/// use waterflight::session::plan::wanted::is_hedonic;
/// assert!(is_hedonic("Liking") && is_hedonic("overall liking") && is_hedonic("preference"));
/// assert!(!is_hedonic("bitterness") && !is_hedonic("overall bitterness") && !is_hedonic("body"));
/// ```
#[must_use]
pub fn is_hedonic(name: &str) -> bool {
    let lower = name.to_lowercase();
    let words = || lower.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty());
    words().any(|word| HEDONIC.contains(&word))
        && words().all(|word| HEDONIC.contains(&word) || BESIDE.contains(&word))
}

/// Whether the high end of a scale is not the bad one.
fn rises(attribute: &Attribute) -> bool {
    let high = attribute.high_word.to_lowercase();
    !high.split(|c: char| !c.is_alphanumeric()).any(|word| BAD_ENDS.contains(&word))
}

/// Everything that a method judges by more and less, in its order; nothing where only alike or different is asked.
#[must_use]
pub fn attributes_of(method: &Method) -> Vec<&str> {
    match method {
        Method::Scoring { attributes } => attributes.iter().map(|a| a.name.as_str()).collect(),
        Method::Ranking { criterion } | Method::Paired { criterion, .. } => vec![criterion],
        Method::Triangle | Method::DuoTrio { .. } | Method::Tetrad => Vec::new(),
    }
}

impl Aim {
    /// What is wanted of a method that does not say so: more of the first thing it judges whose name is
    /// that of a liking. Nothing else is wanted unasked.
    #[must_use]
    pub fn by_name(method: &Method) -> Option<Self> {
        attributes_of(method).into_iter().find_map(|name| Self::of_name(method, name))
    }

    /// What is wanted as it was asked for; nothing where the names of what is judged say it, or nobody does.
    ///
    /// # Errors
    /// As [`Aim::read`]; also when it is asked which is best, and nothing that is judged says what
    /// is good.
    pub fn asked(
        text: Option<&str>,
        question: Option<Question>,
        method: &Method,
    ) -> Result<Option<Self>, AimError> {
        if let Some(text) = text {
            return Self::read(text, method).map(Some);
        }
        let judged: Vec<String> = attributes_of(method).into_iter().map(str::to_owned).collect();
        let best = question == Some(Question::WhichIsBest);
        if best && !judged.is_empty() && Self::by_name(method).is_none() {
            return Err(AimError::BestOfWhat { judged });
        }
        Ok(None)
    }

    /// What is wanted unasked of one thing that is judged.
    #[must_use]
    pub fn of_name(method: &Method, name: &str) -> Option<Self> {
        let scale = method.attributes().iter().find(|a| a.name == name);
        let wanted =
            attributes_of(method).contains(&name) && is_hedonic(name) && scale.is_none_or(rises);
        wanted.then(|| Self { of: name.to_owned(), direction: Direction::More })
    }

    /// Reads `liking: more`, `bitterness: less`, `body: near=6`; or the direction alone where `method`
    /// judges one thing.
    ///
    /// ```
    /// use waterflight::session::plan::{Aim, Direction, Method};
    /// let ranking = Method::Ranking { criterion: "bitterness".into() };
    /// let aim = Aim::read("less", &ranking)?;
    /// assert_eq!((aim.of.as_str(), aim.direction), ("bitterness", Direction::Less));
    /// # Ok::<(), waterflight::session::plan::AimError>(())
    /// ```
    ///
    /// # Errors
    /// When it does not say what is wanted of this method.
    pub fn read(text: &str, method: &Method) -> Result<Self, AimError> {
        let aim = if let Some((of, direction)) = text.rsplit_once(':') {
            Self { of: of.trim().to_owned(), direction: direction.parse()? }
        } else {
            let direction = text.parse()?;
            match attributes_of(method).as_slice() {
                [of] => Self { of: (*of).to_owned(), direction },
                [] => return Err(AimError::NothingToWant { method: method.name() }),
                several => {
                    let judged = several.iter().map(|name| (*name).to_owned()).collect();
                    return Err(AimError::NotNamed { judged });
                }
            }
        };
        aim.check(method)?;
        Ok(aim)
    }

    /// Tests that a method judges it, and that it can be wanted so.
    ///
    /// # Errors
    /// The first thing that is wrong.
    pub fn check(&self, method: &Method) -> Result<(), AimError> {
        let judged = attributes_of(method);
        if judged.is_empty() {
            return Err(AimError::NothingToWant { method: method.name() });
        }
        if !judged.contains(&self.of.as_str()) {
            let judged = judged.into_iter().map(str::to_owned).collect();
            return Err(AimError::NotJudged { of: self.of.clone(), judged });
        }
        let Direction::Near(wanted) = self.direction else { return Ok(()) };
        match method.attributes().iter().find(|a| a.name == self.of) {
            Some(scale) if !(scale.low..=scale.high).contains(&wanted) => {
                let (low, high) = (scale.low, scale.high);
                Err(AimError::OffScale { of: self.of.clone(), wanted, low, high })
            }
            Some(_) => Ok(()),
            None => Err(AimError::NoScores { of: self.of.clone() }),
        }
    }
}

impl Direction {
    /// How good a value is: of two values the better one has more.
    #[must_use]
    pub fn desirability(self, value: f64) -> f64 {
        match self {
            Self::More => value,
            Self::Less => -value,
            Self::Near(wanted) => -(value - wanted).abs(),
        }
    }
}

impl FromStr for Direction {
    type Err = AimError;

    fn from_str(text: &str) -> Result<Self, AimError> {
        let unreadable = || AimError::Unreadable { found: text.trim().to_owned() };
        let words = text.trim();
        let words = words.strip_suffix("is better").unwrap_or(words).trim();
        match words {
            "more" => return Ok(Self::More),
            "less" => return Ok(Self::Less),
            _ => {}
        }
        let value = words.strip_prefix("near").ok_or_else(unreadable)?;
        let value = value.trim_start_matches(|c: char| c == '=' || c.is_whitespace());
        // A decimal comma is a decimal point.
        let value: f64 = value.trim().replace(',', ".").parse().map_err(|_| unreadable())?;
        if value == 0.0 || is_score_sized(value) {
            Ok(Self::Near(value))
        } else {
            Err(unreadable())
        }
    }
}

impl fmt::Display for Direction {
    /// As it is typed.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::More => f.write_str("more"),
            Self::Less => f.write_str("less"),
            Self::Near(wanted) => write!(f, "near={wanted}"),
        }
    }
}

impl fmt::Display for Aim {
    /// In words: `more liking`, `less bitterness`, `body near 6`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.direction {
            Direction::More => write!(f, "more {}", self.of),
            Direction::Less => write!(f, "less {}", self.of),
            Direction::Near(wanted) => write!(f, "{} near {wanted}", self.of),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::session::plan::method::starter_attributes;

    fn scoring() -> Method {
        Method::Scoring { attributes: starter_attributes() }
    }

    #[test]
    fn of_the_starter_set_liking_alone_is_wanted() {
        let aim = Aim::by_name(&scoring());
        assert_eq!(aim, Some(Aim { of: "liking".into(), direction: Direction::More }));
        for attribute in starter_attributes().into_iter().filter(|a| a.name != "liking") {
            let alone = Method::Scoring { attributes: vec![attribute] };
            assert_eq!(Aim::by_name(&alone), None);
        }
        assert_eq!(Aim::by_name(&Method::Ranking { criterion: "bitterness".into() }), None);
        assert_eq!(Aim::by_name(&Method::Tetrad), None);
    }

    #[test]
    fn a_scale_that_ends_in_the_worst_is_not_taken_for_granted() {
        let turned = Attribute {
            name: "liking".into(),
            low: 1.0,
            high: 9.0,
            step: 1.0,
            low_word: "the best".into(),
            high_word: "the worst".into(),
        };
        assert_eq!(Aim::by_name(&Method::Scoring { attributes: vec![turned] }), None);
    }

    #[test]
    fn directions_are_read_as_they_are_written() {
        for (text, wanted) in [
            ("more", Direction::More),
            (" more is better", Direction::More),
            ("less", Direction::Less),
            ("near=6", Direction::Near(6.0)),
            ("near 6,5", Direction::Near(6.5)),
        ] {
            assert_eq!(text.parse::<Direction>(), Ok(wanted), "{text}");
            let again = wanted.to_string().parse::<Direction>();
            assert_eq!(again, Ok(wanted));
        }
        for text in ["", "better", "near", "near=ten", "near=inf", "near=1e-300", "6"] {
            assert!(text.parse::<Direction>().is_err(), "{text}");
        }
    }

    #[test]
    fn what_cannot_be_wanted_is_refused() {
        assert!(matches!(Aim::read("more", &scoring()), Err(AimError::NotNamed { .. })));
        assert!(matches!(Aim::read("boddy: more", &scoring()), Err(AimError::NotJudged { .. })));
        assert!(matches!(Aim::read("body: near=11", &scoring()), Err(AimError::OffScale { .. })));
        assert!(matches!(Aim::read("more", &Method::Tetrad), Err(AimError::NothingToWant { .. })));
        let ranking = Method::Ranking { criterion: "body".into() };
        assert!(matches!(Aim::read("near=2", &ranking), Err(AimError::NoScores { .. })));
        assert!(Aim::read("body: less", &scoring()).is_ok());
    }
}
