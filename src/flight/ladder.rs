//! Flights made from one target: some of its goals moved through a region, the others kept.
//!
//! Goals are made as the text that a flight file holds and read back from it, so that what is
//! checked is what is written.

use thiserror::Error;

use crate::chemistry::Composition;
use crate::flight::design::Point;
use crate::flight::{Band, Goal, GoalError, Subject, Target};
use crate::quantities::{Unit, show};
use crate::water::{Measure, MeasureError};

/// A measure with the range it is moved through.
#[derive(Debug, Clone, PartialEq)]
pub struct Range {
    /// The measure.
    pub measure: Measure,
    /// The unit of the range.
    pub unit: Unit,
    /// From here, in the unit.
    pub low: f64,
    /// To here, in the unit.
    pub high: f64,
}

/// A target with its goals as text.
#[derive(Debug, Clone, PartialEq)]
pub struct WrittenTarget {
    /// The target as read back from the text.
    pub target: Target,
    /// Keys and goals.
    pub goals: Vec<(&'static str, String)>,
    /// Ratios: numerator, denominator, goal.
    pub ratios: Vec<(&'static str, &'static str, String)>,
    /// Constituents and amounts of a target that is pinned; its goals are then not written.
    pub composition: Vec<(&'static str, String)>,
}

/// Why a range or share is none.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum LadderError {
    /// No `measure=low..high unit`.
    #[error("`{text}` is no range of a measure")]
    NoRange {
        /// The text as written.
        text: String,
    },
    /// A measure that is not known.
    #[error("`{text}` is not a measure known here")]
    Measure {
        /// The text as written.
        text: String,
    },
    /// A measure that is named twice.
    #[error("{} is named twice", measure.label())]
    Twice {
        /// The measure.
        measure: Measure,
    },
    /// Shares are taken of equivalents.
    #[error("{} is not counted in equivalents, so it has no share", measure.label())]
    NoEquivalents {
        /// The measure.
        measure: Measure,
    },
    /// The amounts are wrong.
    #[error(transparent)]
    Goal(#[from] GoalError),
    /// The unit is wrong.
    #[error(transparent)]
    Unit(#[from] MeasureError),
}

impl Range {
    /// Reads `hardness=20..120 mg/L as CaCO3`.
    ///
    /// # Errors
    /// When it names no measure or no two amounts of it.
    ///
    /// ```
    /// use waterflight::flight::ladder::Range;
    /// let range = Range::parse("hardness=20..120 mg/L as CaCO3").unwrap();
    /// assert!((range.high - 120.0).abs() < 1e-9);
    /// assert!(Range::parse("hardness").is_err());
    /// ```
    pub fn parse(text: &str) -> Result<Self, LadderError> {
        let none = || LadderError::NoRange { text: text.to_owned() };
        let (key, amounts) = text.split_once('=').ok_or_else(none)?;
        let measure = measure_of(key)?;
        let goal = Goal::parse(measure, amounts)?;
        let Band::Between(low, high) = goal.band else { return Err(none()) };
        Ok(Self { measure, unit: goal.unit, low: goal.in_unit(low), high: goal.in_unit(high) })
    }
}

impl Range {
    /// The value at a place from 0 to 1: the ends as they were written, in between three figures.
    fn at(&self, place: f64) -> String {
        if place <= 0.0 {
            show::as_written(self.low, 1.0)
        } else if place >= 1.0 {
            show::as_written(self.high, 1.0)
        } else {
            plainly(self.low + place * (self.high - self.low))
        }
    }
}

/// The measure of a key.
///
/// # Errors
/// When there is none.
pub fn measure_of(key: &str) -> Result<Measure, LadderError> {
    Measure::from_key(key).ok_or_else(|| LadderError::Measure { text: key.trim().to_owned() })
}

/// One target for each point: the ranges' measures where the point says, all other goals of the
/// centre as they are.
///
/// # Errors
/// When a measure is named twice.
pub fn ladder(
    centre: &Target,
    ranges: &[Range],
    points: &[Point],
) -> Result<Vec<WrittenTarget>, LadderError> {
    let measures: Vec<Measure> = ranges.iter().map(|r| r.measure).collect();
    distinct(&measures)?;
    points
        .iter()
        .map(|point| {
            let moved: Vec<(Measure, String, String)> = ranges
                .iter()
                .zip(point)
                .map(|(range, at)| {
                    let value = range.at(*at);
                    let name = format!("{} {value}", range.measure.label());
                    (range.measure, goal_words(centre, range.measure, &value, range.unit), name)
                })
                .collect();
            written(centre, &measures, &moved, |_| false)
        })
        .collect()
}

/// One target for each point: the measures share `total_meq_per_l` as the point says, all other
/// goals of the centre as they are.
///
/// # Errors
/// When a measure is named twice or not counted in equivalents.
pub fn mixtures(
    centre: &Target,
    measures: &[Measure],
    total_meq_per_l: f64,
    points: &[Point],
) -> Result<Vec<WrittenTarget>, LadderError> {
    distinct(measures)?;
    for measure in measures {
        measure
            .native_per(Unit::MeqPerL)
            .map_err(|_| LadderError::NoEquivalents { measure: *measure })?;
    }
    // Where calcium or magnesium is shared out, a goal for their sum would contradict the shares.
    let split = measures.iter().any(|m| {
        let calcium = matches!(m, Measure::Calcium | Measure::CalciumHardness);
        calcium || matches!(m, Measure::Magnesium | Measure::MagnesiumHardness)
    });
    points
        .iter()
        .map(|point| {
            let moved: Vec<(Measure, String, String)> = measures
                .iter()
                .zip(point)
                .map(|(measure, share)| {
                    let value = show::plain(share * total_meq_per_l);
                    let name = format!("{} {} %", measure.label(), show::fixed(100.0 * share, 0));
                    (*measure, goal_words(centre, *measure, &value, Unit::MeqPerL), name)
                })
                .collect();
            written(centre, measures, &moved, |m| m == Measure::Hardness && split)
        })
        .collect()
}

fn distinct(measures: &[Measure]) -> Result<(), LadderError> {
    for (n, measure) in measures.iter().enumerate() {
        if measures.iter().take(n).any(|m| m == measure) {
            return Err(LadderError::Twice { measure: *measure });
        }
    }
    Ok(())
}

/// A near goal with the tolerance and weight that the centre has for this measure.
fn goal_words(centre: &Target, measure: Measure, value: &str, unit: Unit) -> String {
    let own = centre.goals.iter().find(|g| g.subject == Subject::Measure(measure));
    let per_unit = measure.native_per(unit).unwrap_or(1.0);
    let tolerance = own
        .filter(|goal| matches!(goal.band, Band::Near(_)))
        .map(|goal| format!(" ± {}", show::as_written(goal.tolerance, per_unit)));
    let weight = own.map(weight).unwrap_or_default();
    format!("{value}{} {}{weight}", tolerance.unwrap_or_default(), unit.symbol())
}

fn weight(goal: &Goal) -> String {
    if (goal.weight - 1.0).abs() < f64::EPSILON {
        String::new()
    } else {
        format!(", weight {}", goal.weight)
    }
}

/// A goal as a flight file would hold it.
#[must_use]
pub fn words(goal: &Goal) -> String {
    let wanted = match goal.band {
        // Without a tolerance the file would mean the usual one.
        Band::Near(v) if goal.tolerance <= 0.0 => {
            let value = show::as_written(v, goal.native_per_unit);
            format!("{value} ± 0 {}", goal.unit.symbol())
        }
        _ => goal.exact_words(),
    };
    wanted + &weight(goal)
}

/// A value of a ladder as a person would choose it: three figures.
fn plainly(value: f64) -> String {
    show::plain(show::three_figures(value).parse().unwrap_or(value))
}

/// The centre with the moved goals in the place of its own, named after what was moved. A ratio
/// of a moved measure is left out, and so is what `contradicts` the moved ones.
fn written(
    centre: &Target,
    measures: &[Measure],
    moved: &[(Measure, String, String)],
    contradicts: impl Fn(Measure) -> bool,
) -> Result<WrittenTarget, LadderError> {
    let name: Vec<&str> = moved.iter().map(|(_, _, name)| name.as_str()).collect();
    let mut goals: Vec<(&'static str, String)> =
        moved.iter().map(|(m, text, _)| (m.key(), text.clone())).collect();
    let mut read =
        moved.iter().map(|(m, text, _)| Goal::parse(*m, text)).collect::<Result<Vec<Goal>, _>>()?;
    let mut ratios = Vec::new();
    for goal in &centre.goals {
        match goal.subject {
            Subject::Measure(m) if measures.contains(&m) || contradicts(m) => {}
            Subject::Ratio { of, to, .. } if measures.contains(&of) || measures.contains(&to) => {}
            Subject::Measure(m) => {
                let text = words(goal);
                read.push(Goal::parse(m, &text)?);
                goals.push((m.key(), text));
            }
            Subject::Ratio { of, to, .. } => {
                let text = words(goal);
                read.push(Goal::parse_ratio(of, to, &text)?);
                ratios.push((of.key(), to.key(), text));
            }
        }
    }
    let target = Target { name: name.join(", "), goals: read };
    Ok(WrittenTarget { target, goals, ratios, composition: Vec::new() })
}

/// The constituents of a water as a flight file would hold them, mg/L.
#[must_use]
pub fn composition_words(water: &Composition) -> Vec<(&'static str, String)> {
    /// Our choice: less is no constituent, mg/L.
    const NEGLIGIBLE: f64 = 0.001;
    let amount = |measure: Measure| measure.of(water) / measure.native_per_usual_unit();
    Measure::constituents()
        .filter(|measure| amount(*measure) > NEGLIGIBLE)
        .map(|measure| (measure.key(), format!("{} mg/L", show::four_figures(amount(measure)))))
        .collect()
}

/// A target as a flight file would hold it.
///
/// # Errors
/// When a goal cannot be read back from its own text.
pub fn rewritten(target: &Target) -> Result<WrittenTarget, LadderError> {
    let mut written = written(target, &[], &[], |_| false)?;
    written.target.name.clone_from(&target.name);
    Ok(written)
}
