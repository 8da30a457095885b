//! Goals as people write them:
//! `70 mg/L as CaCO3`, `70 ± 5 mg/L as CaCO3`, `at most 10 mg/L`, `at least 20 mg/L, weight 3`,
//! `between 40 and 60 mg/L`, `2 meq/meq ± 10 %`.

use crate::flight::band_words::{split_once_of, strip_word, worded};
use crate::flight::goal_error::{LEAST_WEIGHT, MOST_WEIGHT};
use crate::flight::{Band, Goal, GoalError, Subject};
use crate::quantities::spelling::{leading_number, with_decimal_points};
use crate::quantities::{Dimension, QuantityError, Unit};
use crate::water::measure::NativeUnit;
use crate::water::{Measure, MeasureError};

/// Tolerance of a `near` goal that states none, and the unit of misses where it is 0: 5 % of the
/// amount wanted, at least 1 mg/L (as CaCO3 for hardness and alkalinity). Our choice: what a pipette and a
/// kitchen balance can keep.
const DEFAULT_TOLERANCE_SHARE: f64 = 0.05;
const DEFAULT_TOLERANCE_USUAL_UNITS: f64 = 1.0;

/// Smallest tolerance above zero and largest, in the native unit of the measure. Our choice: a smaller
/// one is lost in the digits of the number that it belongs to; above the most, no water fails it.
const LEAST_TOLERANCE: f64 = 1e-12;
const MOST_TOLERANCE: f64 = 1e6;

/// The same for a ratio: 5 % of it, at least 0.05.
const DEFAULT_RATIO_TOLERANCE: f64 = 0.05;

/// What a goal is being read for.
#[derive(Debug, Clone, Copy)]
enum Asked {
    Measure(Measure),
    Ratio(Measure, Measure),
}

impl Goal {
    /// Reads a goal on one measure.
    ///
    /// # Errors
    /// Says which part of the text was not understood or does not fit the measure.
    ///
    /// ```
    /// use waterflight::flight::{Band, Goal};
    /// use waterflight::water::Measure;
    /// let goal = Goal::parse(Measure::Sodium, "at most 10 mg/L, weight 3").unwrap();
    /// assert!(matches!(goal.band, Band::AtMost(_)));
    /// assert_eq!(goal.weight, 3.0);
    /// assert!(Goal::parse(Measure::Sodium, "between 9 and 4 mg/L").is_err());
    /// ```
    pub fn parse(measure: Measure, text: &str) -> Result<Self, GoalError> {
        read(Asked::Measure(measure), text)
    }

    /// As near as possible to an amount, with the tolerance that a goal has which states none.
    ///
    /// # Errors
    /// When the unit does not fit the measure.
    pub fn near(measure: Measure, native: f64, unit: Unit) -> Result<Self, MeasureError> {
        let band = Band::Near(native);
        let tolerance = default_tolerance(Asked::Measure(measure), band);
        Ok(Self {
            subject: Subject::Measure(measure),
            band,
            tolerance,
            miss_unit: tolerance,
            weight: 1.0,
            unit,
            native_per_unit: measure.native_per(unit)?,
        })
    }

    /// Whether its tolerance is the one that a goal has which states none.
    pub(super) fn has_usual_tolerance(&self) -> bool {
        let asked = match self.subject {
            Subject::Measure(measure) => Asked::Measure(measure),
            Subject::Ratio { of, to, .. } => Asked::Ratio(of, to),
        };
        let usual = match self.band {
            Band::Near(_) => default_tolerance(asked, self.band),
            _ => 0.0,
        };
        (self.tolerance - usual).abs() <= f64::EPSILON * usual
    }

    /// Reads a goal on the ratio of two measures: `2 meq/meq`, `at least 1.5 mol/mol`.
    ///
    /// # Errors
    /// As [`Goal::parse`], and when the unit cannot compare the two measures.
    pub fn parse_ratio(of: Measure, to: Measure, text: &str) -> Result<Self, GoalError> {
        read(Asked::Ratio(of, to), text)
    }
}

fn read(asked: Asked, text: &str) -> Result<Goal, GoalError> {
    let text = with_decimal_points(text)?;
    let mut clauses = text.split(',').map(str::trim);
    let main = clauses.next().unwrap_or_default();
    let mut weight = 1.0;
    let (wanted, mut tolerance_text) = match split_once_of(main, &["±", "+/-", "+-"]) {
        Some((wanted, tolerance)) => (wanted.trim(), Some(tolerance.trim().to_owned())),
        None => (main, None),
    };
    for clause in clauses {
        if let Some(number) = strip_word(clause, "weight") {
            weight = number
                .parse()
                .ok()
                .filter(|w: &f64| (LEAST_WEIGHT..=MOST_WEIGHT).contains(w))
                .ok_or_else(|| GoalError::Weight { text: number.to_owned() })?;
        } else if let Some(amount) = strip_word(clause, "tolerance") {
            tolerance_text = Some(amount.to_owned());
        } else {
            return Err(GoalError::UnknownClause { clause: clause.to_owned() });
        }
    }
    let tolerance_number = tolerance_text.as_deref().map(leading_number);
    if let Some(Err(error @ QuantityError::OutOfBounds { .. })) = tolerance_number {
        return Err(error.into());
    }
    // `70 ± 5 mg/L`: the unit stands once, behind the tolerance.
    let shared_unit = tolerance_text.as_deref().and_then(unit_of).filter(|u| *u != Unit::Percent);
    let (band, unit) = worded(wanted)?.read(shared_unit, |text, unit| amount(asked, text, unit))?;
    let (subject, native_per_unit) = subject_of(asked, unit)?;
    let default = default_tolerance(asked, band);
    let tolerance = match (&tolerance_text, band) {
        (Some(text), _) => read_tolerance(asked, text, native_per_unit, band)?,
        (None, Band::Near(_)) => default,
        (None, _) => 0.0,
    };
    let miss_unit = if tolerance > 0.0 { tolerance } else { default };
    Ok(Goal { subject, band, tolerance, miss_unit, weight, unit, native_per_unit })
}

/// One amount; a number without a unit takes the one that stands elsewhere in the same goal.
fn amount(asked: Asked, text: &str, shared: Option<Unit>) -> Result<(f64, Unit), GoalError> {
    let text = text.trim();
    let (_, rest) = leading_number(text)?;
    let completed = match shared {
        Some(unit) if rest.is_empty() => format!("{text} {}", unit.symbol()),
        _ => text.to_owned(),
    };
    match asked {
        Asked::Measure(measure) => Ok(measure.parse(&completed)?),
        Asked::Ratio(..) => {
            let (value, rest) = leading_number(&completed)?;
            if rest.is_empty() {
                return Err(QuantityError::NoUnit { text: completed }.into());
            }
            let unit = Unit::parse(rest)?;
            if unit.dimension() != Dimension::Ratio {
                return Err(QuantityError::WrongDimension { text: completed, unit }.into());
            }
            if value < 0.0 {
                return Err(QuantityError::Negative { text: completed }.into());
            }
            if let Some(why) = unit.dimension().out_of_bounds(value) {
                return Err(QuantityError::OutOfBounds { text: completed, why }.into());
            }
            Ok((value, unit))
        }
    }
}

fn subject_of(asked: Asked, unit: Unit) -> Result<(Subject, f64), GoalError> {
    match asked {
        Asked::Measure(measure) => Ok((Subject::Measure(measure), measure.native_per(unit)?)),
        Asked::Ratio(of, to) => {
            let factor =
                |m: Measure| ratio_factor(m, unit).ok_or(GoalError::Ratio { of, to, unit });
            let subject = Subject::Ratio { of, to, of_factor: factor(of)?, to_factor: factor(to)? };
            Ok((subject, 1.0))
        }
    }
}

/// What one native unit of a measure counts in a ratio of that unit.
fn ratio_factor(measure: Measure, unit: Unit) -> Option<f64> {
    let in_unit = |u: Unit| measure.native_per(u).ok().map(|native| 1.0 / native);
    match (unit, measure.native_unit()) {
        (Unit::MassRatio, _) => in_unit(Unit::MgPerL),
        (Unit::MoleRatio, NativeUnit::MeqPerL | NativeUnit::MmolPerL) => in_unit(Unit::MmolPerL),
        (Unit::EquivalentRatio, NativeUnit::MeqPerL) => Some(1.0),
        _ => None,
    }
}

fn default_tolerance(asked: Asked, band: Band) -> f64 {
    let share = DEFAULT_TOLERANCE_SHARE * band.size();
    match asked {
        Asked::Measure(m) => share.max(DEFAULT_TOLERANCE_USUAL_UNITS * m.native_per_usual_unit()),
        Asked::Ratio(..) => share.max(DEFAULT_RATIO_TOLERANCE),
    }
}

/// A tolerance without a unit is in that of the goal; every digit counts.
fn read_tolerance(
    asked: Asked,
    text: &str,
    native_per_unit: f64,
    band: Band,
) -> Result<f64, GoalError> {
    let fail = |reason: String| GoalError::Tolerance { text: text.to_owned(), reason };
    let (value, rest) = leading_number(text).map_err(|e| fail(e.to_string()))?;
    if value < 0.0 {
        return Err(fail("it is below zero".to_owned()));
    }
    let tolerance = match Unit::parse(rest) {
        _ if rest.is_empty() => value * native_per_unit,
        Ok(Unit::Percent) => value / 100.0 * band.size(),
        // Finer than what a laboratory sees may well be wanted.
        Ok(unit) => value * subject_of(asked, unit).map_err(|e| fail(e.to_string()))?.1,
        Err(error) => return Err(fail(error.to_string())),
    };
    if tolerance == 0.0 || (LEAST_TOLERANCE..=MOST_TOLERANCE).contains(&tolerance) {
        Ok(tolerance)
    } else {
        Err(fail("no water can be told by so little, or so much".to_owned()))
    }
}

fn unit_of(text: &str) -> Option<Unit> {
    leading_number(text).ok().and_then(|(_, rest)| Unit::parse(rest).ok())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn goal(measure: Measure, text: &str) -> Result<Goal, GoalError> {
        Goal::parse(measure, text)
    }

    #[test]
    fn every_way_to_write_a_tolerance_means_the_same() {
        let texts = [
            "80 ± 4 mg/L as CaCO3",
            "80 mg/L as CaCO3 ± 5 %",
            "near 80 mg/L as CaCO3 +/- 4 mg/L as CaCO3",
            "80 mg/L as CaCO3, tolerance 4",
            "80 mg/L as CaCO3",
        ];
        for text in texts {
            let read = goal(Measure::Hardness, text);
            let tolerance = read.as_ref().map_or(f64::NAN, |g| g.in_unit(g.tolerance));
            assert!((tolerance - 4.0).abs() < 1e-9, "{text}: {read:?}");
        }
    }

    #[test]
    fn bands_are_read() {
        let band = |text| goal(Measure::Calcium, text).map(|g| g.band);
        assert_eq!(band("at most 2 meq/L"), Ok(Band::AtMost(2.0)));
        assert_eq!(band("At Least 2 meq/L"), Ok(Band::AtLeast(2.0)));
        assert_eq!(band("between 1 and 2 meq/L"), Ok(Band::Between(1.0, 2.0)));
        assert_eq!(band("1 to 2 meq/L"), Ok(Band::Between(1.0, 2.0)));
        assert_eq!(band("1 meq/L to 2 meq/L"), Ok(Band::Between(1.0, 2.0)));
        for text in ["1-2 meq/L", "1 - 2 meq/L", "1–2 meq/L", "between 1-2 meq/L"] {
            assert_eq!(band(text), Ok(Band::Between(1.0, 2.0)), "{text}");
        }
        for text in ["max. 2 meq/L", "Maximum 2 meq/L", "max 2 meq/L", "up to 2 meq/L", "< 2 meq/L"]
        {
            assert_eq!(band(text), Ok(Band::AtMost(2.0)), "{text}");
        }
        for text in ["min. 2 meq/L", "minimum 2 meq/L", "more than 2 meq/L", "> 2 meq/L"] {
            assert_eq!(band(text), Ok(Band::AtLeast(2.0)), "{text}");
        }
        assert_eq!(band("0 meq/L"), Ok(Band::Near(0.0)));
    }

    #[test]
    fn ratios_know_masses_moles_and_equivalents() {
        // 1 mol/mol of Ca : Mg is 1 meq/meq and 40.078 / 24.305 by mass
        let mass = Goal::parse_ratio(Measure::Calcium, Measure::Magnesium, "1.5 mg/mg");
        let Ok(Goal { subject: Subject::Ratio { of_factor, to_factor, .. }, .. }) = mass else {
            unreachable!("{mass:?}")
        };
        assert!((of_factor / to_factor - 40.078 / 24.305).abs() < 1e-12);
        assert!(matches!(
            Goal::parse_ratio(Measure::Hardness, Measure::Alkalinity, "2 mg/mg"),
            Err(GoalError::Ratio { .. })
        ));
        assert!(Goal::parse_ratio(Measure::Hardness, Measure::Alkalinity, "2 meq/meq").is_ok());
        assert!(Goal::parse_ratio(Measure::Hardness, Measure::Alkalinity, "2").is_err());
    }

    #[test]
    fn mistakes_are_named() {
        assert!(matches!(
            goal(Measure::Sodium, "3 °dH"),
            Err(GoalError::Amount(MeasureError::UnitDoesNotFit { .. }))
        ));
        assert!(matches!(
            goal(Measure::Sodium, "12"),
            Err(GoalError::Amount(MeasureError::Quantity(QuantityError::NoUnit { .. })))
        ));
        assert!(matches!(
            goal(Measure::Sodium, "at most -2 mg/L"),
            Err(GoalError::Amount(MeasureError::Quantity(QuantityError::Negative { .. })))
        ));
        assert!(matches!(
            goal(Measure::Sodium, "between 5 mg/L"),
            Err(GoalError::NotTwoValues { .. })
        ));
        assert!(matches!(
            goal(Measure::Sodium, "5 mg/L, often"),
            Err(GoalError::UnknownClause { .. })
        ));
        assert!(matches!(goal(Measure::Sodium, "5 mg/L, weight 0"), Err(GoalError::Weight { .. })));
        assert!(matches!(
            goal(Measure::Sodium, "5 mg/L ± 3 °dH"),
            Err(GoalError::Tolerance { .. })
        ));
    }
}
