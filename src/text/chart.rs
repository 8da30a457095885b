//! Values with their intervals on one axis, ready to be drawn.

use serde::Serialize;

use crate::quantities::show::fixed;

/// A value with its interval, and words beside it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ChartRow {
    /// What it is of.
    pub label: String,
    /// The numbers in words.
    pub words: String,
    /// Low end, value, high end.
    pub at: (f64, f64, f64),
}

/// Rows on one axis.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Chart {
    /// What the rows are, and what the numbers are.
    pub heads: (&'static str, String),
    /// The rows, in the order of drawing.
    pub rows: Vec<ChartRow>,
    /// Ends of the axis.
    pub ends: (f64, f64),
    /// Marks of the axis, ascending, each with its number in words.
    pub ticks: Vec<(f64, String)>,
    /// A value to be seen across all rows, such as that of guessing.
    pub mark: Option<f64>,
}

/// Our choice: about so many steps between marks; more do not fit on a small terminal.
const STEPS: f64 = 5.0;

impl Chart {
    /// A chart whose axis holds all rows, `mark` where there is one, and `hold`. `None` without
    /// rows, or where a number is not finite.
    #[must_use]
    pub fn new(
        heads: (&'static str, String),
        rows: Vec<ChartRow>,
        mark: Option<f64>,
        hold: &[f64],
    ) -> Option<Self> {
        let hold = || hold.iter().copied();
        let all = || rows.iter().flat_map(|r| [r.at.0, r.at.1, r.at.2]).chain(mark).chain(hold());
        if rows.is_empty() || !all().all(f64::is_finite) {
            return None;
        }
        let low = all().fold(f64::INFINITY, f64::min);
        let high = all().fold(f64::NEG_INFINITY, f64::max);
        let RoundAxis { ends, ticks } = RoundAxis::new(low, high, STEPS);
        Some(Self { heads, rows, ends, ticks, mark })
    }
}

/// The ends and marks of an axis, all of them round numbers.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RoundAxis {
    /// Lower and upper end.
    pub ends: (f64, f64),
    /// Marks, ascending, each with its number in words.
    pub ticks: Vec<(f64, String)>,
}

impl RoundAxis {
    /// An axis that holds everything from `low` to `high`, with about so many steps between marks.
    #[must_use]
    pub fn new(low: f64, high: f64, steps: f64) -> Self {
        let step = round_step((high - low) / steps);
        let (first, last) = ((low / step).floor(), (high / step).ceil());
        let last = if last > first { last } else { first + 1.0 };
        let decimals = (0..4).find(|d| whole(step * 10_f64.powi(*d))).unwrap_or(4);
        let mut ticks = Vec::new();
        let mut at = first;
        while at <= last {
            ticks.push((at * step, fixed(at * step, usize::try_from(decimals).unwrap_or(0))));
            at += 1.0;
        }
        Self { ends: (first * step, last * step), ticks }
    }
}

/// The next larger step that people count in: 1, 2 or 5 times a power of ten.
fn round_step(least: f64) -> f64 {
    if least <= 0.0 {
        return 1.0;
    }
    let power = 10_f64.powf(least.log10().floor());
    let steps = [1.0, 2.0, 5.0].map(|step| step * power);
    // Rounding must not push a step that just fits to the next.
    steps.into_iter().find(|step| *step >= least * (1.0 - f64::EPSILON)).unwrap_or(10.0 * power)
}

fn whole(value: f64) -> bool {
    (value - value.round()).abs() < 1e-6
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_axis_holds_every_row_and_is_marked_in_round_numbers() -> Result<(), &'static str> {
        for (low, high) in [(3.5, 7.4), (-1.2, 0.3), (41.0, 88.0), (0.31, 0.36), (5.0, 5.0)] {
            let at = (low, f64::midpoint(low, high), high);
            let row = ChartRow { label: String::new(), words: String::new(), at };
            let chart =
                Chart::new(("water", String::new()), vec![row], None, &[]).ok_or("no chart")?;
            assert!(chart.ends.0 <= low && chart.ends.1 >= high && chart.ends.0 < chart.ends.1);
            assert!((2..=8).contains(&chart.ticks.len()), "{:?}", chart.ticks);
            assert!(chart.ticks.iter().all(|(at, words)| {
                words.parse::<f64>().is_ok_and(|said| (said - at).abs() < 1e-9)
            }));
        }
        Ok(())
    }

    #[test]
    fn what_has_no_end_is_not_drawn() {
        let row =
            |high| ChartRow { label: String::new(), words: String::new(), at: (0.0, 1.0, high) };
        assert_eq!(Chart::new(("", String::new()), vec![row(f64::INFINITY)], None, &[]), None);
        assert_eq!(Chart::new(("", String::new()), Vec::new(), None, &[]), None);
    }
}
