//! What a water is placed by: a measure, or the share of magnesium in the hardness.

use crate::chemistry::{Composition, ConservedSet};
use crate::flight::GoalError;
use crate::flight::ladder::{LadderError, Range};
use crate::flight::{Goal, Target};
use crate::numerics::ends;
use crate::quantities::{Unit, show};
use crate::water::Measure;

/// One axis of the region that waters are sought in.
#[derive(Debug, Clone, PartialEq)]
pub struct Axis {
    /// What it is.
    pub of: Placed,
    /// Unit of its ends.
    pub unit: Unit,
    /// Lower end, in the unit.
    pub low: f64,
    /// Upper end, in the unit.
    pub high: f64,
}

/// What a water is placed by.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Placed {
    /// A measure.
    By(Measure),
    /// Magnesium as a part of the hardness, in equivalents.
    MagnesiumShare,
}

/// Key of [`Placed::MagnesiumShare`].
pub const MAGNESIUM_SHARE: &str = "magnesium_share";

/// Tolerance of a proposed goal, as a part of the axis: our choice, far below what is tasted.
const TOLERANCE: f64 = 0.02;

/// The finest tolerance of a proposed goal, as a part of the largest value: our choice, what doses that are
/// poured with care keep to.
const FINEST: f64 = 0.01;

/// The shortest axis, as a part of the largest value: our choice, several times what doses may be off, so
/// that waters differ by what was meant and not by how they were poured.
const SHORTEST: f64 = 0.05;

/// Most decimals of a proposed goal: our choice.
const MOST_DECIMALS: usize = 4;

/// Most decimals of its tolerance: our choice, so many that no axis is too short for one.
const MOST_TOLERANCE_DECIMALS: usize = 9;

impl Placed {
    /// Reads a key.
    ///
    /// # Errors
    /// When it names nothing known.
    pub fn parse(key: &str) -> Result<Self, LadderError> {
        if key.trim() == MAGNESIUM_SHARE {
            return Ok(Placed::MagnesiumShare);
        }
        Measure::from_key(key.trim())
            .map(Placed::By)
            .ok_or_else(|| LadderError::Measure { text: key.trim().to_owned() })
    }

    /// Its name.
    #[must_use]
    pub fn label(self) -> String {
        match self {
            Placed::By(measure) => measure.label(),
            Placed::MagnesiumShare => "magnesium share".to_owned(),
        }
    }

    /// The unit it is usually said in.
    #[must_use]
    pub fn usual_unit(self) -> Unit {
        match self {
            Placed::By(measure) => measure.usual_unit(),
            Placed::MagnesiumShare => Unit::Percent,
        }
    }

    /// Its value for a water, in the usual unit; nothing where it was not measured, or where a water
    /// has no hardness to share.
    #[must_use]
    pub fn of(self, water: &Composition) -> Option<f64> {
        match self {
            Placed::By(measure) => measure.measured_usual(water),
            Placed::MagnesiumShare => {
                let hardness = Measure::Hardness.measured(water)?;
                let share = 100.0 * Measure::MagnesiumHardness.of(water) / hardness;
                (hardness > 0.0).then_some(share)
            }
        }
    }

    /// Highest value there is.
    fn ceiling(self) -> f64 {
        if self == Placed::MagnesiumShare { 100.0 } else { f64::INFINITY }
    }

    /// What a part of an axis up to this value is a part of.
    fn scale(self, high: f64) -> f64 {
        if self == Placed::MagnesiumShare { 100.0 } else { high }
    }

    /// What of it was not measured of a water.
    #[must_use]
    pub fn not_measured_of(self, water: &Composition) -> ConservedSet {
        match self {
            Placed::By(measure) => measure.not_measured_of(water),
            Placed::MagnesiumShare => Measure::Hardness.not_measured_of(water),
        }
    }
}

impl Axis {
    /// The axis through waters, longer at both ends by a part of their range; `None` where they hardly
    /// differ.
    #[must_use]
    pub fn through(of: Placed, values: &[f64], beyond: f64) -> Option<Self> {
        let (low, high) = ends(values.iter().copied())?;
        let beyond = beyond * (high - low);
        let axis = Self {
            of,
            unit: of.usual_unit(),
            low: (low - beyond).max(0.0),
            high: (high + beyond).min(of.ceiling()),
        };
        (high > low && high - low >= SHORTEST * of.scale(high)).then_some(axis)
    }

    /// Reads `hardness=20..120 mg/L as CaCO3` or `magnesium_share=20..80 %`; the ends are kept in the
    /// usual unit.
    ///
    /// # Errors
    /// When it is no range of anything known.
    pub fn parse(text: &str) -> Result<Self, LadderError> {
        let none = || LadderError::NoRange { text: text.to_owned() };
        let (key, amounts) = text.split_once('=').ok_or_else(none)?;
        if Placed::parse(key)? == Placed::MagnesiumShare {
            let amounts = amounts.trim().strip_suffix('%').ok_or_else(none)?;
            let (low, high) = amounts.split_once("..").ok_or_else(none)?;
            let number = |text: &str| text.trim().parse::<f64>().map_err(|_| none());
            let (low, high) = (number(low)?, number(high)?);
            if !(0.0 <= low && low < high && high <= 100.0) {
                return Err(none());
            }
            return Ok(Self { of: Placed::MagnesiumShare, unit: Unit::Percent, low, high });
        }
        let range = Range::parse(text)?;
        let of = Placed::By(range.measure);
        let per_usual =
            range.measure.native_per(range.unit)? / range.measure.native_per_usual_unit();
        let axis = Self {
            of,
            unit: of.usual_unit(),
            low: range.low * per_usual,
            high: range.high * per_usual,
        };
        if axis.high > axis.low { Ok(axis) } else { Err(none()) }
    }

    /// Where a water lies, 0 at the lower end and 1 at the upper.
    #[must_use]
    pub fn place(&self, water: &Composition) -> Option<f64> {
        Some((self.of.of(water)? - self.low) / (self.high - self.low))
    }

    /// The value at a place.
    #[must_use]
    pub fn value(&self, place: f64) -> f64 {
        self.low + place * (self.high - self.low)
    }

    /// A value with its unit.
    #[must_use]
    pub fn words(&self, value: f64) -> String {
        format!("{} {}", show::three_figures(value), self.unit.symbol())
    }

    /// How far a proposed water may be from its place, in the unit.
    fn tolerance(&self) -> f64 {
        (TOLERANCE * (self.high - self.low)).max(FINEST * self.of.scale(self.high))
    }

    /// The value at a place with the digits that its tolerance deserves, none beyond an end of the axis.
    fn digits(&self, place: f64) -> String {
        /// What rounding leaves of an end that is a whole number of steps: our choice.
        const ROUNDING: f64 = 1e-6;
        let decimals = show::decimals_for(self.tolerance(), 1, MOST_DECIMALS);
        let per_step = (0..decimals).fold(1.0, |power, _| 10.0 * power);
        let low = (self.low * per_step - ROUNDING).ceil() / per_step;
        let high = (self.high * per_step + ROUNDING).floor() / per_step;
        let value = self.value(place);
        // An axis shorter than a step has no such value within.
        show::fixed(if low <= high { value.clamp(low, high) } else { value }, decimals)
    }

    /// The goal that brings a water to this place.
    fn goal(&self, place: f64) -> Result<Goal, GoalError> {
        let figures = |v: f64| show::fixed(v, show::decimals_for(v, 3, MOST_TOLERANCE_DECIMALS));
        let tolerance = figures(self.tolerance());
        match self.of {
            Placed::By(measure) => {
                let text = format!("{} ± {tolerance} {}", self.digits(place), self.unit.symbol());
                Goal::parse(measure, &text)
            }
            Placed::MagnesiumShare => {
                let share = show::fixed(self.value(place) / 100.0, MOST_DECIMALS);
                let tolerance = figures(self.tolerance() / 100.0);
                let text = format!("{share} ± {tolerance} meq/meq");
                Goal::parse_ratio(Measure::MagnesiumHardness, Measure::Hardness, &text)
            }
        }
    }
}

/// The target that brings a water to a point of a region.
///
/// # Errors
/// When an axis cannot be a goal.
pub fn target_at(axes: &[Axis], point: &[f64]) -> Result<Target, GoalError> {
    let mut goals = Vec::new();
    let mut name = Vec::new();
    for (axis, place) in axes.iter().zip(point) {
        goals.push(axis.goal(*place)?);
        let unit = if axis.of == Placed::MagnesiumShare { " %" } else { "" };
        // Waters of one flight lie several tolerances apart, so that these digits distinguish them.
        name.push(format!("{} {}{unit}", axis.of.label(), axis.digits(*place)));
    }
    Ok(Target { name: name.join(", "), goals })
}
