//! How much limescale there is: least and most over the states of a boiler, or the least alone where what
//! it depends on was not measured.

use crate::assessment::Withheld;
use crate::quantities::show;

/// Grams of limescale over some states.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct ScaleRange {
    /// Least and most of the minerals that a water was measured for.
    pub(crate) between: [f64; 2],
    /// Why more may precipitate than is counted.
    pub(crate) least_since: Option<Withheld>,
}

impl ScaleRange {
    /// The range over several states; nothing where there are none, or one of them cannot be computed.
    pub(crate) fn over(states: impl Iterator<Item = Option<Self>>) -> Option<Self> {
        states
            .reduce(|one, other| {
                let (one, other) = (one?, other?);
                let ([a, b], [c, d]) = (one.between, other.between);
                Some(Self {
                    between: [a.min(c), b.max(d)],
                    least_since: Withheld::either(one.least_since, other.least_since),
                })
            })
            .flatten()
    }

    /// The same for so many times as much water.
    pub(crate) fn times(self, factor: f64) -> Self {
        Self { between: self.between.map(|g| g * factor), ..self }
    }

    /// The grams: `14 to 20`, or `at least 14`; nothing where it is none, or cannot be said.
    pub(crate) fn grams(self) -> Option<String> {
        /// Our choice: less than half a gram is none that could be called the least.
        const NEGLIGIBLE_G: f64 = 0.5;
        let [least, most] = self.between;
        match self.least_since {
            None => grams(least, most),
            Some(_) if least < NEGLIGIBLE_G => None,
            Some(_) => grams(least, least).map(|g| format!("at least {g}")),
        }
    }

    /// `14 to 20 g of limescale per 1,000 L`, with what the grams are of behind it.
    pub(crate) fn in_words(self, of: &str) -> String {
        let since = self.least_since.map_or(String::new(), |since| format!(", since {since}"));
        match (self.grams(), self.least_since) {
            (Some(grams), _) => format!("{grams} g of limescale{of}{since}"),
            (None, None) => "no limescale".to_owned(),
            (None, Some(_)) => format!("how much limescale is not known{since}"),
        }
    }
}

/// `14 to 20`, one figure where both ends look the same; `None` when it is nothing.
fn grams(least: f64, most: f64) -> Option<String> {
    if most <= 0.0 {
        return None;
    }
    if most < 0.5 {
        return Some("less than 1".to_owned());
    }
    let (low, high) = (show::fixed(least, 0), show::fixed(most, 0));
    Some(if low == high { high } else { format!("{low} to {high}") })
}
