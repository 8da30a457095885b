//! A goal: what is wanted of a measure, or of the ratio of two, with its tolerance and weight.

use crate::quantities::{Unit, show};
use crate::water::Measure;

/// What a goal is set on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Subject {
    /// One measure, in its native unit.
    Measure(Measure),
    /// The ratio of two measures, each weighed in the unit of the ratio.
    Ratio {
        /// Numerator.
        of: Measure,
        /// Denominator.
        to: Measure,
        /// What one native unit of the numerator counts.
        of_factor: f64,
        /// What one native unit of the denominator counts.
        to_factor: f64,
    },
}

impl Subject {
    /// Key in reports.
    #[must_use]
    pub fn key(self) -> String {
        match self {
            Subject::Measure(m) => m.key().to_owned(),
            Subject::Ratio { of, to, .. } => format!("{} : {}", of.key(), to.key()),
        }
    }

    /// Name in tables.
    #[must_use]
    pub fn label(self) -> String {
        match self {
            Subject::Measure(m) => m.label(),
            Subject::Ratio { of, to, .. } => format!("{} : {}", of.label(), to.label()),
        }
    }
}

/// The wanted band, in the native unit of a measure or as a plain ratio.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Band {
    /// As near as possible to one value.
    Near(f64),
    /// Not above.
    AtMost(f64),
    /// Not below.
    AtLeast(f64),
    /// Anywhere from the first to the second.
    Between(f64, f64),
}

impl Band {
    /// Lower edge; −∞ when there is none.
    #[must_use]
    pub fn low(self) -> f64 {
        match self {
            Band::Near(v) | Band::AtLeast(v) | Band::Between(v, _) => v,
            Band::AtMost(_) => f64::NEG_INFINITY,
        }
    }

    /// Upper edge; +∞ when there is none.
    #[must_use]
    pub fn high(self) -> f64 {
        match self {
            Band::Near(v) | Band::AtMost(v) | Band::Between(_, v) => v,
            Band::AtLeast(_) => f64::INFINITY,
        }
    }

    /// The edge that stands for the size of the goal.
    #[must_use]
    pub fn size(self) -> f64 {
        match self {
            Band::Near(v) | Band::AtMost(v) | Band::AtLeast(v) => v,
            Band::Between(_, high) => high,
        }
    }

    /// The band in words, its amounts as they are to be shown.
    pub(super) fn words(self, show: impl Fn(f64) -> String) -> String {
        match self {
            Band::Near(v) => show(v),
            Band::AtMost(v) => format!("at most {}", show(v)),
            Band::AtLeast(v) => format!("at least {}", show(v)),
            Band::Between(low, high) => format!("{} to {}", show(low), show(high)),
        }
    }

    /// How far a value lies outside: negative below, positive above, 0 inside.
    #[must_use]
    pub fn miss(self, value: f64) -> f64 {
        if value < self.low() {
            value - self.low()
        } else if value > self.high() {
            value - self.high()
        } else {
            0.0
        }
    }
}

/// What is wanted of one subject, with its tolerance and weight.
#[derive(Debug, Clone, PartialEq)]
pub struct Goal {
    /// What it is set on.
    pub subject: Subject,
    /// What is wanted, in the native unit.
    pub band: Band,
    /// Misses up to this are forgiven, native.
    pub tolerance: f64,
    /// What a miss is counted in: the tolerance, or what it would be by default when it is 0.
    pub miss_unit: f64,
    /// Weight of its misses against those of the other goals.
    pub weight: f64,
    /// The unit it was written in.
    pub unit: Unit,
    /// What one of that unit is natively.
    pub native_per_unit: f64,
}

impl Goal {
    /// A native amount in the unit the goal was written in.
    #[must_use]
    pub fn in_unit(&self, native: f64) -> f64 {
        native / self.native_per_unit
    }

    /// What is wanted as people read it, in its own unit.
    #[must_use]
    pub fn words(&self) -> String {
        self.with_amounts(|native| show::for_reading(native, self.native_per_unit))
    }

    /// What is wanted with every digit it has: reads back as it is, but for the weight. The usual tolerance
    /// is left out where nobody would write it: 1 mg/L as CaCO3 in a degree.
    ///
    /// ```
    /// use waterflight::flight::Goal;
    /// use waterflight::water::Measure;
    /// let words = |text| Goal::parse(Measure::Alkalinity, text).unwrap().exact_words();
    /// assert_eq!(words("0 °dH"), "0 °dH");
    /// assert_eq!(words("3 °dH"), "3 ± 0.15 °dH");
    /// ```
    #[must_use]
    pub fn exact_words(&self) -> String {
        if let Band::Near(v) = self.band
            && self.has_usual_tolerance()
            && show::as_written(self.tolerance, self.native_per_unit)
                != show::for_reading(self.tolerance, self.native_per_unit)
        {
            let value = show::as_written(v, self.native_per_unit);
            return format!("{value} {}", self.unit.symbol());
        }
        self.with_amounts(|native| show::as_written(native, self.native_per_unit))
    }

    fn with_amounts(&self, show: impl Fn(f64) -> String) -> String {
        let unit = self.unit.symbol();
        let forgiven = if self.tolerance > 0.0 {
            format!(" ± {}", show(self.tolerance))
        } else {
            String::new()
        };
        format!("{}{forgiven} {unit}", self.band.words(show))
    }
}
