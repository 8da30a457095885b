//! A limit that a maker sets on the water of a machine, as its sheet words it:
//! `50 to 100 mg/L as CaCO3`, `max. 30 mg/L`, `6.5-8`, `at most 400 µS/cm`.

use thiserror::Error;

use crate::flight::band_words::{BandWords, split_once_of, worded};
use crate::flight::{Band, Goal, GoalError};
use crate::quantities::spelling::leading_number;
use crate::quantities::{QuantityError, show};
use crate::water::Measure;

/// What a limit is set on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LimitSubject {
    /// A measure, in its native unit.
    Measure(Measure),
    /// pH.
    Ph,
    /// Conductivity at 25 °C, µS/cm.
    Conductivity,
}

impl LimitSubject {
    /// The key in files and reports.
    #[must_use]
    pub fn key(self) -> &'static str {
        match self {
            LimitSubject::Measure(measure) => measure.key(),
            LimitSubject::Ph => "ph",
            LimitSubject::Conductivity => "conductivity",
        }
    }

    /// What a key means; measures as in goals.
    #[must_use]
    pub fn from_key(key: &str) -> Option<Self> {
        match key.trim().to_ascii_lowercase().as_str() {
            "ph" => Some(LimitSubject::Ph),
            "conductivity" => Some(LimitSubject::Conductivity),
            other => Measure::from_key(other).map(LimitSubject::Measure),
        }
    }

    /// Every key that a file may use.
    pub fn keys() -> impl Iterator<Item = &'static str> {
        Measure::KEYS
            .iter()
            .copied()
            .chain([LimitSubject::Ph.key(), LimitSubject::Conductivity.key()])
    }
}

/// Why a text is no limit.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum LimitError {
    /// It is no goal either.
    #[error(transparent)]
    Goal(#[from] GoalError),
    /// One value without a side.
    #[error("`{text}` does not say which side of it is meant")]
    NoSide {
        /// The text as written.
        text: String,
    },
    /// A limit is kept or not.
    #[error("a limit has no weight")]
    Weight,
    /// A conductivity in another unit, or a pH with one.
    #[error("`{unit}` is not a unit of {}", limited.key())]
    Unit {
        /// The unit as written.
        unit: String,
        /// What the limit is set on.
        limited: LimitSubject,
    },
}

impl From<QuantityError> for LimitError {
    fn from(error: QuantityError) -> Self {
        LimitError::Goal(error.into())
    }
}

/// What a maker allows of one subject.
#[derive(Debug, Clone, PartialEq)]
pub struct Limit {
    /// What it is set on.
    pub limited: LimitSubject,
    /// What is allowed, its tolerance counted in; native unit, plain pH, µS/cm.
    pub allowed: Band,
    /// The unit it was written in.
    pub unit: &'static str,
    /// What one of that unit is natively.
    pub native_per_unit: f64,
}

/// What is this near to an edge is on it, relative to it: our choice, far above the rounding of
/// the planner and far below what any analysis tells.
const ON_THE_EDGE: f64 = 1e-6;

const MICROSIEMENS: &str = "µS/cm";

impl Limit {
    /// Reads a limit.
    ///
    /// ```
    /// use waterflight::flight::{Band, Limit, LimitSubject};
    /// use waterflight::water::Measure;
    /// let chloride = LimitSubject::Measure(Measure::Chloride);
    /// let limit = Limit::parse(chloride, "max. 30 mg/L").unwrap();
    /// assert_eq!(limit.words(), "at most 30 mg/L");
    /// assert!(Limit::parse(chloride, "30 mg/L").is_err());
    /// assert_eq!(Limit::parse(LimitSubject::Ph, "6.5-8").unwrap().allowed, Band::Between(6.5, 8.0));
    /// ```
    ///
    /// # Errors
    /// As for a goal; and for a value that does not say on which side of it the water has to be.
    pub fn parse(limited: LimitSubject, text: &str) -> Result<Self, LimitError> {
        match limited {
            LimitSubject::Measure(measure) => Self::of_goal(measure, text),
            LimitSubject::Ph | LimitSubject::Conductivity => plain(limited, text),
        }
    }

    fn of_goal(measure: Measure, text: &str) -> Result<Self, LimitError> {
        let goal = Goal::parse(measure, text)?;
        let says = |words: &[&str]| words.iter().any(|word| text.contains(word));
        if says(&["weight"]) {
            return Err(LimitError::Weight);
        }
        if matches!(goal.band, Band::Near(_)) && !says(&["±", "+/-", "+-", "tolerance"]) {
            return Err(LimitError::NoSide { text: text.trim().to_owned() });
        }
        Ok(Self {
            limited: LimitSubject::Measure(measure),
            allowed: widened(goal.band, goal.tolerance),
            unit: goal.unit.symbol(),
            native_per_unit: goal.native_per_unit,
        })
    }

    /// How far a value lies outside, native: negative below, positive above; 0 inside and on the
    /// edge.
    #[must_use]
    pub fn outside_by(&self, value: f64) -> f64 {
        let by = self.allowed.miss(value);
        let edge = value - by;
        if by.abs() <= ON_THE_EDGE * edge.abs() { 0.0 } else { by }
    }

    /// A native amount in the unit that the limit was written in.
    #[must_use]
    pub fn in_unit(&self, native: f64) -> f64 {
        native / self.native_per_unit
    }

    /// What is allowed, as text.
    #[must_use]
    pub fn words(&self) -> String {
        let text = self.allowed.words(|native| show::plain(self.in_unit(native)));
        format!("{text} {}", self.unit).trim_end().to_owned()
    }
}

/// A band with its tolerance counted in.
fn widened(band: Band, by: f64) -> Band {
    match band {
        Band::Near(v) => Band::Between((v - by).max(0.0), v + by),
        Band::AtMost(v) => Band::AtMost(v + by),
        Band::AtLeast(v) => Band::AtLeast((v - by).max(0.0)),
        Band::Between(low, high) => Band::Between((low - by).max(0.0), high + by),
    }
}

/// A limit on something that is no measure: pH, conductivity.
fn plain(limited: LimitSubject, text: &str) -> Result<Limit, LimitError> {
    let (wanted, tolerance) = match split_once_of(text, &["±", "+/-", "+-"]) {
        Some((wanted, tolerance)) => (wanted, Some(tolerance)),
        None => (text, None),
    };
    let tolerance = tolerance.map(|text| amount(limited, text, None)).transpose()?;
    let shared = tolerance.map(|(_, factor)| factor);
    let by = tolerance.map_or(0.0, |(value, _)| value);
    let words = worded(wanted.trim())?;
    if matches!(words, BandWords::Near(_)) && by <= 0.0 {
        return Err(LimitError::NoSide { text: text.trim().to_owned() });
    }
    let (band, factor) = words.read(shared, |text, shared| amount(limited, text, shared))?;
    let unit = match limited {
        LimitSubject::Conductivity if factor > 1.0 => "mS/cm",
        LimitSubject::Conductivity => MICROSIEMENS,
        _ => "",
    };
    Ok(Limit { limited, allowed: widened(band, by), unit, native_per_unit: factor })
}

/// One amount with what one of its unit is natively; a conductivity without a unit takes the one
/// that stands elsewhere in the same limit.
fn amount(
    limited: LimitSubject,
    text: &str,
    shared: Option<f64>,
) -> Result<(f64, f64), LimitError> {
    let text = text.trim();
    let (value, unit) = leading_number(text)?;
    if value < 0.0 {
        return Err(QuantityError::Negative { text: text.to_owned() }.into());
    }
    let folded = unit.replace('μ', "µ").to_lowercase().replace(' ', "");
    let factor = match (limited, folded.as_str()) {
        (LimitSubject::Ph, "" | "ph") | (LimitSubject::Conductivity, "µs/cm" | "us/cm") => 1.0,
        (LimitSubject::Conductivity, "ms/cm") => 1000.0,
        (LimitSubject::Conductivity, "") => {
            shared.ok_or_else(|| QuantityError::NoUnit { text: text.to_owned() })?
        }
        _ => return Err(LimitError::Unit { unit: unit.to_owned(), limited }),
    };
    Ok((value * factor, factor))
}

#[cfg(test)]
mod tests {
    use super::*;

    const CHLORIDE: LimitSubject = LimitSubject::Measure(Measure::Chloride);
    const HARDNESS: LimitSubject = LimitSubject::Measure(Measure::Hardness);

    #[test]
    fn sheets_are_read_as_they_are_worded() {
        for (limited, text, words) in [
            (CHLORIDE, "< 30 ppm", "at most 30 ppm"),
            (CHLORIDE, "not more than 30 mg/L", "at most 30 mg/L"),
            (HARDNESS, "3-6 °dH", "3 to 6 °dH"),
            (HARDNESS, "70 ± 20 mg/L as CaCO3", "50 to 90 mg/L as CaCO3"),
            (LimitSubject::Ph, "between 6.5 and 8 pH", "6.5 to 8"),
            (LimitSubject::Ph, "7 ± 0.5", "6.5 to 7.5"),
            (LimitSubject::Ph, "> 6.5", "at least 6.5"),
            (LimitSubject::Conductivity, "100 to 400 µS/cm", "100 to 400 µS/cm"),
            (LimitSubject::Conductivity, "at most 0.4 mS/cm", "at most 0.4 mS/cm"),
        ] {
            let limit = Limit::parse(limited, text);
            assert_eq!(limit.map(|l| l.words()), Ok(words.to_owned()), "{text}");
        }
    }

    #[test]
    fn mistakes_are_named() {
        assert!(matches!(Limit::parse(CHLORIDE, "30 mg/L"), Err(LimitError::NoSide { .. })));
        assert!(matches!(Limit::parse(LimitSubject::Ph, "7"), Err(LimitError::NoSide { .. })));
        assert!(matches!(
            Limit::parse(LimitSubject::Ph, "at most 8 mg/L"),
            Err(LimitError::Unit { .. })
        ));
        let no_unit = Limit::parse(LimitSubject::Conductivity, "at most 400");
        assert!(matches!(no_unit, Err(LimitError::Goal(_))));
        assert!(matches!(
            Limit::parse(CHLORIDE, "at most 30 mg/L, weight 3"),
            Err(LimitError::Weight)
        ));
        assert!(matches!(Limit::parse(LimitSubject::Ph, "8 to 7"), Err(LimitError::Goal(_))));
        assert!(Limit::parse(LimitSubject::Ph, "at most 8,0").is_ok());
        assert!(Limit::parse(LimitSubject::Conductivity, "at most 1,234 µS/cm").is_err());
    }

    #[test]
    fn what_lies_on_the_edge_is_inside() {
        let limit = Limit::parse(LimitSubject::Conductivity, "100 to 400 µS/cm");
        let by = |value: f64| limit.as_ref().map_or(f64::NAN, |l| l.outside_by(value));
        assert!([100.0, 399.0, 400.0 + 1e-9].into_iter().all(|value| by(value).abs() < 1e-15));
        assert!((by(412.5) - 12.5).abs() < 1e-9 && (by(90.0) + 10.0).abs() < 1e-9);
    }
}
